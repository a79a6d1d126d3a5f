package report

import (
	"html/template"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// closeUp is a pair of pictures, before and after, of a place that the map
// shows too small.
type closeUp struct {
	Faults, Text string
	Across       string
	SVG          template.HTML

	middle  orb.Point
	reach   float64 // metres from the middle to the side
	indexes []int
}

const (
	mostCloseUps = 6
	panelWidth   = 232.0
	panelHeight  = 176.0
	panelTop     = 22.0
	panelGap     = 12.0
	panelBelow   = 30.0
	leastZoom    = 2.0 // below this the map itself shows as much
)

// closeUps are those of the first faults that need an answer or were mended.
func drawCloseUps(r Receipt) []closeUp {
	v, ok := r.receiptView()
	if !ok {
		return nil
	}
	var out []closeUp
	count, parts := map[finding.Code]int{}, r.polygons()
	for i, f := range r.Receipt.Findings {
		p := orb.Point{f.Place.Lon, f.Place.Lat}
		if severityOf(f) == finding.Note || !f.Place.Located || !v.holds(p) {
			continue
		}
		wide := math.Max(reach(f, parts), 0.02)
		if !finite(wide) || panelWidth/2/wide < leastZoom*v.perMetre {
			continue
		}
		if shared := sharing(out, p, wide); shared != nil {
			shared.indexes = append(shared.indexes, i)
			continue
		}
		if count[f.Code]++; count[f.Code] <= mostCloseUps { // of more, none is shown
			out = append(out, closeUp{Text: r.Units.toClient(f.Text), middle: p, reach: wide, indexes: []int{i}})
		}
	}
	out = r.varied(out)
	for i := range out {
		out[i].Faults = faultNames(out[i].indexes)
		out[i].Across = r.Units.Length(2 * out[i].reach)
		out[i].SVG = r.drawCloseUp(out[i], i)
	}
	return out
}

// varied keeps mostCloseUps, at first two of a kind and then of any.
func (r Receipt) varied(all []closeUp) []closeUp {
	const ofAKind = 2
	taken := make([]bool, len(all))
	total, count := 0, map[finding.Code]int{}
	for _, most := range []int{ofAKind, mostCloseUps} {
		for i, c := range all {
			code := r.Receipt.Findings[c.indexes[0]].Code
			if !taken[i] && total < mostCloseUps && count[code] < most {
				taken[i] = true
				total++
				count[code]++
			}
		}
	}
	var out []closeUp
	for i, c := range all {
		if taken[i] {
			out = append(out, c)
		}
	}
	return out
}

// sharing is the close-up that shows a place well enough already.
func sharing(all []closeUp, p orb.Point, reach float64) *closeUp {
	for i := range all {
		c := &all[i]
		mLon, mLat := metresPerDegree(c.middle.Lat())
		dx, dy := math.Abs(near(p.Lon(), c.middle.Lon())-c.middle.Lon())*mLon, math.Abs(p.Lat()-c.middle.Lat())*mLat
		if dx < 0.8*c.reach && dy < 0.8*c.reach*panelHeight/panelWidth && reach > c.reach/4 {
			return c
		}
	}
	return nil
}

// reach is how far from its place a fault is to be shown, in metres: about its
// own size where the finding gives that, else to the next vertices. +Inf stands
// for a fault that no close-up shows better.
func reach(f finding.Finding, parts polygons) float64 {
	switch f.Code {
	case finding.WrongWinding, finding.RepeatedVertex, finding.DuplicatePart, finding.OutOfRange, finding.SwappedCoordinates,
		finding.FarFromExpected, finding.NearPole, finding.PartsFarApart:
		return math.Inf(1)
	}
	switch {
	case f.Unit == "m" && f.Amount > 0:
		return 1.5 * f.Amount
	case f.Unit == "m²" && f.Amount > 0:
		return 1.8 * math.Sqrt(f.Amount)
	}
	return 1.4 * parts.toNeighbours(f.Place)
}

// polygons are those of the file by feature and part.
type polygons map[[2]int]orb.Polygon

func (r Receipt) polygons() polygons {
	out := polygons{}
	for _, part := range r.File.Parts {
		out[[2]int{part.Place.Feature, part.Place.Part}] = part.Polygon
	}
	return out
}

// toNeighbours is the distance from a vertex to the farther of its neighbours,
// for drawing only; +Inf where the place names no vertex.
func (all polygons) toNeighbours(p finding.Place) float64 {
	polygon := all[[2]int{p.Feature, p.Part}]
	if p.Ring < 1 || p.Ring > len(polygon) {
		return math.Inf(1)
	}
	ring := polygon[p.Ring-1]
	if n := len(ring); n > 1 && ring[0] == ring[n-1] {
		ring = ring[:n-1]
	}
	n := len(ring)
	if p.Vertex < 1 || p.Vertex > n {
		return math.Inf(1)
	}
	mLon, mLat := metresPerDegree(p.Lat)
	at := func(i int) float64 {
		q := ring[(i+n)%n]
		return math.Hypot((near(q.Lon(), p.Lon)-p.Lon)*mLon, (q.Lat()-p.Lat)*mLat)
	}
	return math.Max(at(p.Vertex-2), at(p.Vertex))
}

func (r Receipt) drawCloseUp(u closeUp, number int) template.HTML {
	panel := func(left float64) *view {
		return viewAt(left, panelTop, panelWidth, panelHeight, u.middle, panelWidth/2/u.reach)
	}
	before, after := panel(1), panel(1+panelWidth+panelGap)
	c := &canvas{}
	c.addf(`<svg class="pair" viewBox="0 0 %s %s" role="img" aria-labelledby="close-%d">`,
		px(2*panelWidth+panelGap+2), px(panelTop+panelHeight+panelBelow), number)
	c.addf(`<title id="close-%d">%s</title>`, number, template.HTMLEscapeString(r.Units.Say("%s, before and after", u.Faults)))
	c.addf(`<defs><clipPath id="before-%d"><rect %s/></clipPath><clipPath id="after-%d"><rect %s/></clipPath></defs>`,
		number, before.box(), number, after.box())
	c.text("strong", before.left, 14, r.Units.Say("before|mending"))
	c.text("strong", after.left, 14, r.Units.Say("after|mending"))

	c.addf(`<rect class="sheet" %s/><g clip-path="url(#before-%d)">`, before.box(), number)
	r.drawGround(c, before)
	r.drawOutlines(c, before, "outline")
	r.drawVertices(c, before, u)
	c.addf(`</g><rect class="frame" %s/>`, before.box())

	c.addf(`<rect class="sheet" %s/><g clip-path="url(#after-%d)">`, after.box(), number)
	var site, corners path
	site.nearArea(after, r.siteShapes())
	for _, polygon := range r.siteShapes() {
		for _, ring := range polygon {
			for _, p := range ring {
				if after.holds(p) {
					corners.dot(after.tenths(p))
				}
			}
		}
	}
	c.addf(`<g transform="scale(.1)"><path class="site-fill" d="%s"/><path class="site-edge" d="%s"/><path class="vertex" d="%s"/></g>`, &site, &site, &corners)
	r.drawOutlines(c, after, "drawn")
	c.addf(`</g><rect class="frame" %s/>`, after.box())
	drawBar(c, before, r.Units, panelTop+panelHeight+14)
	c.addf(`</svg>`)
	return template.HTML(c.String())
}

// drawGround whitens the ground within the client's lines.
func (r Receipt) drawGround(c *canvas, v *view) {
	parts, _ := r.drawn()
	for _, part := range parts {
		var p path
		p.nearArea(v, orb.MultiPolygon{part.Polygon})
		if p.Len() > 0 {
			c.addf(`<g transform="scale(.1)"><path class="ground" d="%s"/></g>`, &p)
		}
	}
}

// drawOutlines draws the client's lines as they were received.
func (r Receipt) drawOutlines(c *canvas, v *view, class string) {
	var p path
	parts, _ := r.drawn()
	for _, part := range parts {
		for _, ring := range part.Polygon {
			p.near(v, orb.LineString(ring), false)
		}
	}
	c.addf(`<g transform="scale(.1)"><path class="%s" d="%s"/></g>`, class, &p)
}

// More numbers of vertices than this would hide a close-up.
const mostNumbers = 14

// drawVertices marks the vertices in a close-up, numbers those of the ring at
// fault, and marks the faults.
func (r Receipt) drawVertices(c *canvas, v *view, u closeUp) {
	var dots path
	var numbered []numberedVertex
	fault := r.Receipt.Findings[u.indexes[0]].Place
	parts, _ := r.drawn()
	for _, part := range parts {
		for i, ring := range part.Polygon {
			for k, p := range ring {
				if !v.holds(p) {
					continue
				}
				dots.dot(v.tenths(p))
				closing := k > 0 && k == len(ring)-1 && p == ring[0]
				if part.Place.Feature == fault.Feature && part.Place.Part == fault.Part && fault.Ring == i+1 && !closing {
					numbered = addNumber(numbered, v, p, k+1)
				}
			}
		}
	}
	c.addf(`<g transform="scale(.1)"><path class="vertex" d="%s"/></g>`, &dots)
	for _, i := range u.indexes {
		f := r.Receipt.Findings[i]
		x, y := v.at(orb.Point{f.Place.Lon, f.Place.Lat})
		drawSpot(c, x, y, f.Severity)
	}
	if len(numbered) <= mostNumbers {
		drawNumbers(c, v, numbered)
	}
}

// drawNumbers writes numbers beside their vertices, away from the middle of the
// picture but within it.
func drawNumbers(c *canvas, v *view, numbered []numberedVertex) {
	for _, n := range numbered {
		text := strings.Join(n.names, ", ")
		class, x, y := "vertex-number", n.x+7, n.y-7
		wide := 8 + 7*float64(len(text))
		if left := n.x < v.midX-1; left && n.x-wide > v.left || !left && n.x+wide > v.left+v.width {
			class, x = class+" end", n.x-7
		}
		if below := n.y > v.midY+1; below && n.y+20 < v.top+v.height || n.y-20 < v.top {
			y = n.y + 16
		}
		c.text(class, x, y, text)
	}
}

// numberedVertex is a place in a picture and the numbers of the vertices there.
type numberedVertex struct {
	x, y  float64
	names []string
}

func addNumber(all []numberedVertex, v *view, p orb.Point, number int) []numberedVertex {
	x, y := v.at(p)
	for i := range all {
		if math.Abs(all[i].x-x) < 12 && math.Abs(all[i].y-y) < 12 {
			all[i].names = append(all[i].names, strconv.Itoa(number))
			return all
		}
	}
	return append(all, numberedVertex{x, y, []string{strconv.Itoa(number)}})
}
