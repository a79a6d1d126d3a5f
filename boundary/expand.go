package boundary

import (
	"errors"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Flight is the flight area: the site area extended by its margin.
type Flight struct {
	Areas       []Area  // one polygon each
	Area        float64 // m²
	MinDistance float64 // least distance in metres from its boundary to the site area's
	Vertices    int
	Simplified  float64     // m² that having fewer vertices has added
	Short       []ShortEdge // where keep-out areas take the site's edge its margin
	Findings    []finding.Finding
}

// ShortEdge is a stretch of the site area's boundary without its whole margin.
type ShortEdge struct {
	Part, Ring int     // count from 1, over the polygons of Site.Shape
	From, To   float64 // chainage in metres from the ring's first vertex
	Lost       bool    // it lies in a keep-out area and cannot be captured at all
	Path       orb.LineString
}

// Shape returns all areas as one multi-polygon.
func (f Flight) Shape() orb.MultiPolygon {
	var mp orb.MultiPolygon
	for _, a := range f.Areas {
		mp = append(mp, a.Shape...)
	}
	return mp
}

const (
	// flightDecimals is the precision of the flight area: 1e-8 degrees is 1.1 mm.
	flightDecimals = 8
	// deviation is how far, in metres, a straight side in the plane may leave
	// the straight side between the same longitudes and latitudes.
	deviation = 0.002
	// slack is added to the buffer, so that the deviation (2 mm), the rounding
	// to decimals (0.8 mm along the diagonal) and the cells of the plane's grid
	// (0.1 mm each way) cannot make it fall short.
	slack = 0.003
	// shortfall is the most that a distance may be under the buffer.
	shortfall = 0.01
	// mostBuffer is more than any job needs; a larger number is a slip.
	mostBuffer = 10_000.0
)

// ErrVanished is returned when nothing is left of a site that is shrunk.
var ErrVanished = errors.New("nothing is left of the site area")

// Expand extends the site area by the margin and proves the result: it is
// valid, contains the site area, and keeps each part's buffer to 1 cm everywhere;
// where keep-out areas prevent that, the stretches are in Flight.Short. A part
// with a negative buffer contains its flight area, which keeps that distance, but
// for what simplifying it takes, and holds all that lies as far inside. It is an
// error if the proof fails, if a number makes no sense, or if the site is wider
// than 200 km.
func Expand(s Site, m Margin) (Flight, error) {
	if err := m.check(s); err != nil {
		return Flight{}, err
	}
	frame, err := plane.FrameFor(s.Shape())
	if err != nil {
		return Flight{}, err
	}
	e := expander{site: s, margin: m, frame: frame}
	e.keepOut = e.keptOut()
	groups := e.groups()
	f := Flight{Findings: append(m.sayDiffering(s), e.passed()...)}
	for i, ground := range groups {
		of := s // whose names the polygons get
		if len(groups) == len(s.Areas) {
			of = Site{Areas: s.Areas[i : i+1]}
		}
		shape := e.simplify(e.finish(e.clear(e.fill(ground, &f))), &f)
		if len(shape) == 0 {
			continue
		}
		f.Area += plane.GeodesicArea(shape)
		f.Vertices += corners(shape)
		f.name(of, shape)
	}
	if len(f.Areas) == 0 {
		return f, ErrVanished
	}
	f.Findings = append(f.Findings, e.vanished(f)...)
	if !m.FillHoles {
		f.Findings = append(f.Findings, filled(e.extended(), f.Shape())...)
	}
	return f, e.prove(&f)
}

// expander holds what all steps of Expand need. Ground is in plane metres.
type expander struct {
	site    Site
	margin  Margin
	frame   plane.Frame
	keepOut orb.MultiPolygon             // ground
	grown   []orb.MultiPolygon           // the extended or shrunk ground of each area, once it was asked for
	reach   map[float64]orb.MultiPolygon // by buffer: ground to which keep-out areas can take it
	filled  orb.MultiPolygon             // the ground to fly with holes filled, before keep-out areas, once it was asked for
	near    []orb.MultiPolygon           // ground near the lines of each Margin.Along, once it was asked for
}

func (e *expander) style() plane.Style {
	style := plane.Style{Join: e.margin.Join, MitreLimit: e.margin.MitreLimit, ArcTolerance: e.margin.ArcTolerance}
	if style.ArcTolerance == 0 {
		style.ArcTolerance = 0.005
	}
	return style
}

func (e *expander) keptOut() orb.MultiPolygon {
	var all []orb.MultiPolygon
	for _, k := range e.margin.KeepOut {
		ground := e.frame.ToMetres(plane.Unwrap(k.Shape), deviation)
		// Corners may reach a tenth further, for fewer vertices.
		all = append(all, plane.Offset(ground, k.Margin+slack, plane.Style{ArcTolerance: max(0.05, k.Margin/10)}))
	}
	return unionGround(all)
}

func unionGround(all []orb.MultiPolygon) orb.MultiPolygon {
	var together orb.MultiPolygon
	for _, shape := range all {
		together = append(together, shape...)
	}
	if len(together) == 0 {
		return nil
	}
	return plane.Union(plane.MetreGrid(together.Bound()), all...)
}

// extended returns the areas whose buffer is over 0, shrunk the others.
func (e *expander) extended() []Area {
	return slices.DeleteFunc(slices.Clone(e.site.Areas), func(a Area) bool { return e.margin.BufferOf(a) < 0 })
}

func (e *expander) shrunk() []Area {
	return slices.DeleteFunc(slices.Clone(e.site.Areas), func(a Area) bool { return e.margin.BufferOf(a) > 0 })
}

// groups returns the ground to fly, as one shape or, where areas stay apart, as
// many as there are areas.
func (e *expander) groups() []orb.MultiPolygon {
	if e.margin.KeepSeparate || len(e.extended()) == 0 {
		return slices.Clone(e.grow())
	}
	return []orb.MultiPolygon{unionGround(e.grow())}
}

// grow returns the extended or shrunk ground of each area.
func (e *expander) grow() []orb.MultiPolygon {
	if e.grown != nil {
		return e.grown
	}
	all := []orb.MultiPolygon{}
	for _, a := range e.site.Areas {
		ground := e.frame.ToMetres(a.Shape, deviation)
		buffer := e.margin.BufferOf(a)
		if len(e.margin.Along) == 0 || buffer < 0 {
			all = append(all, plane.Offset(ground, buffer+slack*math.Copysign(1, buffer), e.style()))
			continue
		}
		pieces := []orb.MultiPolygon{ground}
		lines := map[float64][]orb.LineString{}
		for _, polygon := range ground {
			for _, ring := range polygon {
				for _, s := range e.stretches(orb.LineString(ring), buffer) {
					lines[s.buffer] = append(lines[s.buffer], plane.Piece(orb.LineString(ring), s.Interval))
				}
			}
		}
		for _, buffer := range slices.Sorted(maps.Keys(lines)) {
			pieces = append(pieces, plane.OffsetLines(lines[buffer], buffer+slack, e.style()))
		}
		all = append(all, unionGround(pieces))
	}
	e.grown = all
	return all
}

// stretch is a piece of a ring, by chainage, and the buffer that it has.
type stretch struct {
	plane.Interval
	buffer float64
	along  int // which of Margin.Along gives the buffer, -1 for none
}

// stretches divides a ring by the lines that it lies along. Where several are
// near, the first counts.
func (e *expander) stretches(ring orb.LineString, buffer float64) []stretch {
	var all []stretch
	rest := []plane.Interval{{From: 0, To: lineLength(ring)}}
	for i, near := range e.nearLines() {
		inside := plane.Inside(ring, near)
		var left []plane.Interval
		for _, r := range rest {
			for _, in := range overlaps(inside, r) {
				all = append(all, stretch{in, e.margin.Along[i].Buffer, i})
			}
			left = append(left, overlaps(plane.Outside(inside, r.To), r)...)
		}
		rest = left
	}
	for _, r := range rest {
		all = append(all, stretch{r, buffer, -1})
	}
	return all
}

// nearLines returns the ground near the lines of each Margin.Along.
func (e *expander) nearLines() []orb.MultiPolygon {
	if e.near == nil {
		for _, along := range e.margin.Along {
			var lines []orb.LineString
			for _, line := range along.Lines {
				var xy orb.LineString
				for _, p := range line {
					xy = append(xy, e.frame.Metres(p))
				}
				lines = append(lines, xy)
			}
			e.near = append(e.near, plane.OffsetLines(lines, along.Near, plane.Style{ArcTolerance: 0.1}))
		}
	}
	return e.near
}

func lineLength(line orb.LineString) float64 {
	var sum float64
	for i := 1; i < len(line); i++ {
		sum += math.Hypot(line[i][0]-line[i-1][0], line[i][1]-line[i-1][1])
	}
	return sum
}

// fill closes holes as the margin asks.
func (e *expander) fill(ground orb.MultiPolygon, f *Flight) orb.MultiPolygon {
	if e.margin.FillHoles || e.margin.HoleMin > 0 {
		ground = slices.Clone(ground)
		for i, polygon := range ground {
			kept := polygon[:1:1]
			for _, hole := range polygon[1:] {
				shape := e.frame.ToDegrees(orb.MultiPolygon{{hole}})
				area := plane.GeodesicArea(shape)
				if !e.margin.FillHoles && area >= e.margin.HoleMin {
					kept = append(kept, hole)
					continue
				}
				p := plane.WrapPoint(shape[0][0][0])
				f.Findings = append(f.Findings, finding.Finding{Code: finding.HoleFilled, Severity: finding.Note, Place: finding.Place{}.At(p[0], p[1]), Amount: area, Unit: "m²",
					Text: finding.Say("A hole of the flight area of %s is filled, as asked; it will be flown over.", finding.Area(area))})
			}
			ground[i] = kept
		}
	}
	return ground
}

// clear takes the keep-out areas away.
func (e *expander) clear(ground orb.MultiPolygon) orb.MultiPolygon {
	if len(e.keepOut) == 0 || len(ground) == 0 {
		return ground
	}
	bound := ground.Bound().Union(e.keepOut.Bound())
	return plane.Difference(plane.MetreGrid(bound), ground, e.keepOut)
}

// finish brings ground back to degrees, valid on the decimals that are written.
func (e *expander) finish(ground orb.MultiPolygon) orb.MultiPolygon {
	if len(ground) == 0 {
		return nil
	}
	return asWritten(e.frame.ToDegrees(ground))
}

func asWritten(shape orb.MultiPolygon) orb.MultiPolygon {
	return plane.Union(plane.DegreeGrid(shape.Bound(), flightDecimals), shape)
}

func transformed(mp orb.MultiPolygon, by func(orb.Point) orb.Point) orb.MultiPolygon {
	mp = mp.Clone()
	for _, polygon := range mp {
		for _, ring := range polygon {
			for i, p := range ring {
				ring[i] = by(p)
			}
		}
	}
	return mp
}

// name makes one area of each polygon, named after the parts that it holds.
func (f *Flight) name(s Site, shape orb.MultiPolygon) {
	for _, polygon := range shape {
		var names []string
		pieces := 0
		whole, bound := orb.MultiPolygon{polygon}, polygon.Bound()
		inside := plane.NewLocator(whole)
		for _, a := range s.Areas {
			if !a.Shape.Bound().Intersects(bound) || !overlap(a.Shape, whole, inside) {
				continue
			}
			pieces++
			if a.Name != "" && !slices.Contains(names, a.Name) {
				names = append(names, a.Name)
			}
		}
		f.Areas = append(f.Areas, Area{Name: strings.Join(names, " + "), Shape: whole})
		if pieces > 1 {
			p := plane.WrapPoint(polygon[0][0])
			f.Findings = append(f.Findings, finding.Finding{Code: finding.PartsMerged, Severity: finding.Note, Place: finding.Place{}.At(p[0], p[1]), Amount: float64(pieces), Unit: "parts",
				Text: finding.Say("With their buffers %s parts meet and are flown as one area: %s.", finding.Whole(pieces), strings.Join(names, ", "))})
		}
	}
}

// overlap reports whether two areas have ground in common.
func overlap(a, b orb.MultiPolygon, inB plane.Locator) bool {
	if len(a) > 0 && inB.Contains(a[0][0][0]) && inB.Contains(a[0][0][len(a[0][0])/2]) {
		return true // as nearly always, and quickly told
	}
	return len(plane.Intersection(plane.DegreeGrid(a.Bound().Union(b.Bound()), flightDecimals), a, b)) > 0
}

// vanished lists the areas of which the flight area has nothing.
func (e *expander) vanished(f Flight) []finding.Finding {
	var found []finding.Finding
	shape := f.Shape()
	inside := plane.NewLocator(shape)
	for i, a := range e.site.Areas {
		if len(e.keepOut) == 0 && e.margin.BufferOf(a) >= 0 {
			continue // it lies in the flight area
		}
		some := overlap(a.Shape, shape, inside)
		if some && len(e.grow()[i]) > 0 {
			continue
		}
		area := plane.GeodesicArea(a.Shape)
		text := finding.Say("Nothing of %s (%s) is left in the flight area.", areaName(a), finding.Area(area))
		if some {
			text = finding.Say("%s (%s) is too narrow for its buffer of %s; only the buffers of other parts reach into it.", finding.Start(areaName(a)), finding.Area(area), bufferWords(e.margin.BufferOf(a)))
		}
		p := plane.WrapPoint(a.Shape[0][0][0])
		found = append(found, finding.Finding{Code: finding.PartVanished, Severity: finding.NeedsAnswer, Place: finding.Place{Name: a.Name}.At(p[0], p[1]), Amount: area, Unit: "m²", Text: text})
	}
	return found
}

// filled lists the site area's holes that the flight area covers altogether.
func filled(areas []Area, flight orb.MultiPolygon) []finding.Finding {
	var found []finding.Finding
	var starts []orb.Point // of the flight area's rings
	for _, polygon := range flight {
		for _, ring := range polygon {
			starts = append(starts, ring[0])
		}
	}
	for _, a := range areas {
		for _, polygon := range a.Shape {
			for _, hole := range polygon[1:] {
				shape, bound := orb.MultiPolygon{{hole}}, hole.Bound()
				ends := func(p orb.Point) bool {
					return bound.Contains(p) && plane.Contains(shape, p) && plane.BoundaryDistance(shape, p) > 0
				}
				// A ring that begins within the hole is quickly told.
				if slices.ContainsFunc(starts, ends) || len(plane.Difference(plane.DegreeGrid(bound, flightDecimals), shape, flight)) > 0 {
					continue
				}
				area := plane.GeodesicArea(shape)
				centre := plane.WrapPoint(bound.Center())
				found = append(found, finding.Finding{Code: finding.HoleFilled, Severity: finding.Note, Place: finding.Place{Name: a.Name}.At(centre[0], centre[1]), Amount: area, Unit: "m²",
					Text: finding.Say("The buffer fills a hole of %s in %s; it will be flown over.", finding.Area(area), areaName(a))})
			}
		}
	}
	return found
}
