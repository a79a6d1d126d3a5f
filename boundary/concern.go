package boundary

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Expected is what is known of the job beforehand, for a file to be held
// against. A zero field is not known.
type Expected struct {
	Near        *orb.Point // lon, lat: the job lies within 50 km of it
	Area        float64    // m², within a tenth
	MinWidth    float64    // metres; 0 means 1
	MaxVertices int        // that the controller takes; 0 means 200 (common practice, no source)
}

// What is out of the ordinary for a site that a drone maps in one job. Our own
// choices, from common practice; no source.
const (
	nearEnough     = 50_000.0 // m
	areaTolerance  = 0.1
	smallArea      = 100.0 // m²
	largeArea      = 100e6 // m²
	farApart       = 5_000.0
	narrowGap      = 1.0 // m between parts that probably should touch
	clutterWidth   = 0.01
	fewestDecimals = 6 // 11 cm
	nearPole       = 85.0
)

// concerns lists what no rule of geometry forbids, but a careful reader would
// ask about.
func concerns(f *File, site Site, e Expected) []finding.Finding {
	c := concernList{file: f, site: site, expected: e}
	c.names()
	c.precision()
	c.vertices()
	if len(site.Areas) > 0 {
		c.position()
		c.size()
		c.apart()
		c.widths()
		c.holes()
	}
	return c.found
}

type concernList struct {
	file     *File
	site     Site
	expected Expected
	found    []finding.Finding
}

func (c *concernList) add(code finding.Code, severity finding.Severity, place finding.Place, amount float64, unit string, text finding.Text) {
	c.found = append(c.found, finding.Finding{Code: code, Severity: severity, Place: place, Amount: amount, Unit: unit, Text: text})
}

func (c *concernList) names() {
	seen := map[string]int{}
	var unnamed, doubled []finding.Place
	named := map[int]bool{}
	for _, part := range c.file.Parts {
		if named[part.Place.Feature] {
			continue
		}
		named[part.Place.Feature] = true
		switch {
		case part.Name == "":
			unnamed = append(unnamed, part.Place)
		case seen[part.Name] > 0:
			doubled = append(doubled, part.Place)
		}
		seen[part.Name]++
	}
	if len(unnamed) > 0 && len(named) > 1 {
		c.add(finding.Unnamed, finding.Note, unnamed[0], float64(len(unnamed)), "features",
			finding.Say("%s of %s features have no name, first feature %d.", finding.Whole(len(unnamed)), finding.Whole(len(named)), unnamed[0].Feature))
	}
	if len(doubled) > 0 {
		c.add(finding.SameName, finding.Note, doubled[0], float64(len(doubled)), "features",
			finding.Say("%s the name of another, first feature %d, “%s”.", finding.Counted(len(doubled), "feature has", "features have"), doubled[0].Feature, doubled[0].Name))
	}
}

// precision looks for the most decimals that any coordinate has.
func (c *concernList) precision() {
	most := -1
	for _, part := range c.file.Parts {
		if f, usable := inRange(part); !usable && f.Code == finding.OutOfRange {
			continue // no degrees
		}
		for _, ring := range part.Polygon {
			for _, p := range ring {
				for _, v := range p {
					if text := strconv.FormatFloat(v, 'f', -1, 64); strings.Contains(text, ".") {
						most = max(most, len(text)-strings.IndexByte(text, '.')-1)
					} else {
						most = max(most, 0)
					}
					if most >= fewestDecimals {
						return
					}
				}
			}
		}
	}
	if most < 0 {
		return
	}
	// A last decimal place of latitude: RFC 7946, 11.2, reckons the same way.
	step := 111_320 * math.Pow10(-most)
	c.add(finding.FewDecimals, finding.Note, finding.Place{File: c.file.Name}, step/2, "m",
		finding.Say("The coordinates have %s at most, so that each vertex is known to %s only.", finding.Counted(most, "decimal", "decimals"), finding.Close(step/2)))
}

func (c *concernList) vertices() {
	limit := c.expected.MaxVertices
	if limit == 0 {
		limit = 200
	}
	for _, part := range c.file.Parts {
		n := corners(orb.MultiPolygon{part.Polygon})
		if n > limit {
			c.add(finding.ManyVertices, finding.Note, part.Place, float64(n), "vertices",
				finding.Say("%s has %s vertices; many flight controllers take %s at most.", finding.Start(partName(part.Place)), finding.Whole(n), finding.Whole(limit)))
		}
		if straight, first := clutter(part.Polygon); straight > 0 {
			place := part.Place.At(first.Point[0], first.Point[1])
			place.Vertex = first.number
			c.add(finding.Clutter, finding.Note, place, float64(straight), "vertices",
				sayClutter(straight, part.Place, first.number))
		}
	}
}

func sayClutter(straight int, part finding.Place, first int) finding.Text {
	if straight == 1 {
		return finding.Say("1 vertex of %s lies less than %s from the straight line between its neighbours, vertex %d; it says nothing.",
			partName(part), finding.Close(clutterWidth), first)
	}
	return finding.Say("%s vertices of %s lie less than %s from the straight line between their neighbours, first vertex %d; they say nothing.",
		finding.Whole(straight), partName(part), finding.Close(clutterWidth), first)
}

// clutter counts the vertices that lie on the straight line between their neighbours.
func clutter(polygon orb.Polygon) (straight int, first vertex) {
	local := localAt(orb.MultiPolygon{polygon}.Bound().Center())
	for _, ring := range polygon {
		vertices, _ := tidyRing(ring, finding.Place{})
		n := len(vertices)
		for i, v := range vertices {
			a, p, b := local.metres(vertices[(i+n-1)%n].Point), local.metres(v.Point), local.metres(vertices[(i+1)%n].Point)
			base := math.Hypot(b[0]-a[0], b[1]-a[1])
			if base == 0 || (p[0]-a[0])*(b[0]-p[0])+(p[1]-a[1])*(b[1]-p[1]) <= 0 {
				continue // not between them
			}
			if math.Abs((b[0]-a[0])*(p[1]-a[1])-(b[1]-a[1])*(p[0]-a[0]))/base < clutterWidth {
				if straight++; straight == 1 {
					first = v
				}
			}
		}
	}
	return straight, first
}

// position holds the site against where it should be, and names the exchange
// or change of sign that would bring it there.
func (c *concernList) position() {
	bound := c.site.Shape().Bound()
	centre := plane.WrapPoint(bound.Center())
	if bound.Min[0] < -180 || bound.Max[0] > 180 {
		c.add(finding.CrossesAntimeridian, finding.Note, finding.Place{}.At(180, centre[1]), 0, "",
			finding.Say("The site lies across the 180th meridian; its area is cut in two there when it is written."))
	}
	if math.Abs(centre[1]) > nearPole {
		c.add(finding.NearPole, finding.NeedsAnswer, finding.Place{}.At(centre[0], centre[1]), centre[1], "degrees",
			finding.Say("The site lies at latitude %.4f, near a pole; please confirm the position.", centre[1]))
	}
	if c.expected.Near == nil {
		return
	}
	near := *c.expected.Near
	distance := plane.GeodesicDistance(centre, near)
	if distance <= nearEnough {
		return
	}
	text := finding.Say("The site lies at %s, %s from where it should be.", latLon(centre), finding.Far(distance))
	lon, lat := centre[0], centre[1]
	for _, way := range []struct {
		with finding.Text
		p    orb.Point
	}{
		{finding.Say("longitude and latitude exchanged"), orb.Point{lat, lon}},
		{finding.Say("the longitude’s sign changed"), orb.Point{-lon, lat}},
		{finding.Say("the latitude’s sign changed"), orb.Point{lon, -lat}},
		{finding.Say("both signs changed"), orb.Point{-lon, -lat}},
		{finding.Say("longitude and latitude exchanged and one sign changed"), orb.Point{-lat, lon}},
		{finding.Say("longitude and latitude exchanged and one sign changed"), orb.Point{lat, -lon}},
		{finding.Say("longitude and latitude exchanged and both signs changed"), orb.Point{-lat, -lon}},
	} {
		if math.Abs(way.p[1]) <= 90 && plane.GeodesicDistance(way.p, near) <= nearEnough {
			text = finding.Sentences(text, finding.Say("With %s it would lie at %s, which fits; is that meant?", way.with, latLon(way.p)))
			break
		}
	}
	c.add(finding.FarFromExpected, finding.NeedsAnswer, finding.Place{}.At(lon, lat), distance, "m", text)
}

func (c *concernList) size() {
	area := c.site.Area
	place := finding.Place{File: c.file.Name}
	if want := c.expected.Area; want > 0 && math.Abs(area-want) > areaTolerance*want {
		c.add(finding.AreaDiffers, finding.NeedsAnswer, place, area, "m²",
			finding.Say("The site area is %s, expected were %s: %s %% of that. Is the file complete, and is it the right one?", finding.Area(area), finding.Area(want), finding.Decimal("%.0f", 100*area/want)))
	}
	switch {
	case area < smallArea:
		c.add(finding.AreaSmall, finding.NeedsAnswer, place, area, "m²", finding.Say("The site area is %s only; please confirm that nothing is missing.", finding.Area(area)))
	case area > largeArea:
		c.add(finding.AreaLarge, finding.NeedsAnswer, place, area, "m²", finding.Say("The site area is %s, more than a drone maps in one job; please confirm the file.", finding.Area(area)))
	}
}

// apart looks at areas far from all others, and at thin gaps between areas.
func (c *concernList) apart() {
	areas := c.site.Areas
	if len(areas) < 2 || len(areas) > 200 { // every pair is measured
		return
	}
	grounds := make([]orb.MultiPolygon, len(areas))
	frame := plane.NewFrame(c.site.Shape().Bound().Center())
	for i, a := range areas {
		grounds[i] = frame.ToMetres(a.Shape, deviation)
	}
	for i, a := range areas {
		p := a.Shape[0][0][0]
		place := finding.Place{Name: a.Name}.At(p[0], p[1])
		nearest := math.Inf(1)
		for j := range areas {
			if i == j {
				continue
			}
			d := plane.LeastDistance(grounds[i], grounds[j])
			nearest = min(nearest, d)
			if j > i && d > 0.001 && d < narrowGap {
				c.add(finding.GapBetweenParts, finding.Note, place, d, "m",
					finding.Say("%s and %s leave a gap of %s between them; should they touch?", finding.Start(areaName(a)), areaName(areas[j]), finding.Close(d)))
			}
		}
		if nearest > farApart {
			c.add(finding.PartsFarApart, finding.NeedsAnswer, place, nearest, "m",
				finding.Say("%s lies %s from every other part; is it left over from another job?", finding.Start(areaName(a)), finding.Far(nearest)))
		}
	}
}

func areaName(a Area) finding.Text {
	if a.Name == "" {
		return finding.Say("an unnamed part")
	}
	return finding.Say("“%s”", a.Name)
}

// widths finds ground narrower than the least width: what is left of an area
// after it has been shrunk by half that width and grown again.
func (c *concernList) widths() {
	width := c.expected.MinWidth
	if width == 0 {
		width = 1
	}
	for _, a := range c.site.Areas {
		frame, err := plane.FrameFor(a.Shape)
		if err != nil {
			continue // too wide for a job, as the area says
		}
		ground := frame.ToMetres(a.Shape, deviation)
		style := plane.Style{ArcTolerance: width / 100}
		core := plane.Offset(ground, -width/2, style)
		broad := plane.Offset(core, width/2+width/100, style)
		grid := plane.MetreGrid(ground.Bound().Pad(width))
		// The two sides of one arrangement, so that they share the vertices
		// where they touch.
		both := plane.Arrange(grid, plane.Oriented(ground), plane.Oriented(broad))
		pieces := both.Keep(func(w []int32) bool { return w[0] > 0 && w[1] > 0 })
		if len(pieces) == 1 && len(both.Keep(func(w []int32) bool { return w[0] > 0 })) == 1 {
			continue // all in one piece, with narrow tips and corners at most
		}
		narrow := both.Keep(func(w []int32) bool { return w[0] > 0 && w[1] <= 0 })
		broadAt := piecesAt(narrow, pieces)
		for _, piece := range narrow {
			// What touches two pieces of broad ground joins them; what touches
			// none stands alone; a tip or corner touches one.
			touched := map[int]bool{}
			for _, ring := range piece {
				for _, p := range ring {
					if i := broadAt[p]; i > 0 {
						touched[i] = true
					}
				}
			}
			if len(touched) == 1 {
				continue
			}
			p := plane.WrapPoint(frame.Degrees(piece[0][0]))
			place := finding.Place{Name: a.Name}.At(p[0], p[1])
			switch {
			case len(touched) == 0:
				area := plane.GeodesicArea(frame.ToDegrees(orb.MultiPolygon{piece}))
				c.add(finding.Sliver, finding.NeedsAnswer, place, area, "m²",
					finding.Say("A piece of %s with %s is nowhere wider than %s; is it left over from drawing?", areaName(a), finding.Area(area), finding.Close(width)))
			default:
				c.add(finding.NarrowNeck, finding.Note, place, width, "m",
					finding.Say("%s is joined by a neck narrower than %s here.", finding.Start(areaName(a)), finding.Close(width)))
			}
		}
	}
}

// piecesAt returns, for each vertex of ground, which of the pieces has it too,
// counted from 1; 0 for none.
func piecesAt(ground, pieces orb.MultiPolygon) map[orb.Point]int {
	at := make(map[orb.Point]int, corners(ground))
	for _, polygon := range ground {
		for _, ring := range polygon {
			for _, p := range ring {
				at[p] = 0
			}
		}
	}
	for i, piece := range pieces {
		for _, ring := range piece {
			for _, p := range ring {
				if _, has := at[p]; has {
					at[p] = i + 1
				}
			}
		}
	}
	return at
}

// holes points out holes that touch the outline in a vertex, which is valid
// but seldom meant.
func (c *concernList) holes() {
	for _, a := range c.site.Areas {
		for _, polygon := range a.Shape {
			if len(polygon) == 1 {
				continue
			}
			outline := map[orb.Point]bool{}
			for _, p := range polygon[0] {
				outline[p] = true
			}
			for h, hole := range polygon[1:] {
				if i := slices.IndexFunc(hole, func(p orb.Point) bool { return outline[p] }); i >= 0 {
					c.add(finding.HoleTouches, finding.Note, finding.Place{Name: a.Name}.At(hole[i][0], hole[i][1]), 0, "",
						finding.Say("Hole %d of %s touches the outline in a point.", h+1, areaName(a)))
				}
			}
		}
	}
}
