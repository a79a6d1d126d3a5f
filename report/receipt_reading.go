package report

import (
	"fmt"
	"html/template"
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

const (
	readingWidth  = 240.0
	leastReading  = 130.0
	mostReading   = 240.0
	readingBelow  = 30.0
	mostDrawn     = 24 // questions; a page with more pictures would be slow to open
	leastFocus    = 1.6
	readingDigits = 9 // decimals of a degree at which readings are compared
)

// drawReadings draws the readings of a question side by side, all in one view:
// that of the whole part, or of where they differ when that is a small piece
// of it. Focused says that it is a piece.
func (r Receipt) drawReadings(q question, number int) (pictures []template.HTML, focused bool) {
	var drawn orb.MultiPolygon
	for _, part := range r.File.Parts {
		if part.Place.Feature == q.Place.Feature && part.Place.Part == q.Place.Part && onEarth(part.Polygon) {
			drawn = append(drawn, part.Polygon)
		}
	}
	var whole []orb.Ring
	for _, polygon := range drawn {
		whole = append(whole, polygon...)
	}
	for _, o := range q.Options {
		for _, polygon := range o.candidate.Shape {
			whole = append(whole, polygon...)
		}
	}
	fit := func(rings []orb.Ring, share float64) (*view, bool) {
		v, ok := newView(4, 4, readingWidth-8, leastReading, mostReading, rings)
		if !ok {
			return nil, false
		}
		return viewAt(4, 4, v.width, v.height, orb.Point{v.lon, v.lat}, share*v.perMetre), true
	}
	v, ok := fit(whole, 0.86) // which leaves room for the numbers of vertices
	if !ok {
		return make([]template.HTML, len(q.Options)), false
	}
	contested := contestedGround(q.Options)
	var pieces []orb.Ring
	for _, ground := range contested {
		for _, polygon := range ground {
			pieces = append(pieces, polygon...)
		}
	}
	if closer, ok := fit(pieces, 0.6); ok && leastFocus*v.perMetre < closer.perMetre {
		v, focused = closer, true
	}
	for i, o := range q.Options {
		c := &canvas{}
		id := fmt.Sprintf("%d-%d", number, i)
		c.addf(`<svg class="reading" viewBox="0 0 %s %s" role="img" aria-labelledby="reading-%s">`, px(readingWidth), px(4+v.height+readingBelow), id)
		c.addf(`<title id="reading-%s">%s</title>`, id, template.HTMLEscapeString(o.Text))
		c.addf(`<defs><clipPath id="clip-%s"><rect %s/></clipPath></defs>`, id, v.box())
		c.addf(`<rect class="sheet" %s/><g clip-path="url(#clip-%s)">`, v.box(), id)
		var shape, own, outline path
		shape.nearArea(v, o.candidate.Shape)
		own.nearArea(v, contested[i])
		for _, polygon := range drawn {
			for _, ring := range polygon {
				outline.near(v, orb.LineString(ring), false)
			}
		}
		c.addf(`<g transform="scale(.1)"><path class="site-fill" d="%s"/><path class="contested" d="%s"/><path class="site-edge" d="%s"/><path class="drawn" d="%s"/></g>`,
			&shape, &own, &shape, &outline)
		drawRingNumbers(c, v, drawn)
		c.addf(`</g><rect class="frame" %s/>`, v.box())
		drawBar(c, v, r.Units, 4+v.height+14)
		c.addf(`</svg>`)
		pictures = append(pictures, template.HTML(c.String()))
	}
	return pictures, focused
}

// drawRingNumbers numbers the vertices of the outline in the view, when they
// are few enough to be read.
func drawRingNumbers(c *canvas, v *view, drawn orb.MultiPolygon) {
	var numbered []numberedVertex
	for _, polygon := range drawn {
		for k, p := range first(polygon, 1)[0] {
			if v.holds(p) && !(k > 0 && k == len(polygon[0])-1 && p == polygon[0][0]) {
				numbered = addNumber(numbered, v, p, k+1)
			}
			if len(numbered) > mostNumbers {
				return
			}
		}
	}
	drawNumbers(c, v, numbered)
}

// contestedGround is, for each option, the ground that it has and not all of
// the others have.
func contestedGround(options []option) []orb.MultiPolygon {
	out := make([]orb.MultiPolygon, len(options))
	var bound orb.Bound
	var shapes []orb.MultiPolygon
	for _, o := range options {
		if len(o.candidate.Shape) == 0 {
			continue
		}
		if b := o.candidate.Shape.Bound(); len(shapes) == 0 {
			bound = b
		} else {
			bound = bound.Union(b)
		}
		shapes = append(shapes, o.candidate.Shape)
	}
	if len(shapes) < len(options) {
		return out
	}
	grid := plane.DegreeGrid(bound, readingDigits)
	common := shapes[0]
	for _, shape := range shapes[1:] {
		common = plane.Intersection(grid, common, shape)
	}
	largest := 0.0
	for i, shape := range shapes {
		out[i] = plane.Difference(grid, shape, common)
		for _, polygon := range out[i] {
			largest = math.Max(largest, math.Abs(planarArea(polygon[0])))
		}
	}
	// Rounding to the grid leaves slivers along what is the same in all.
	for i, ground := range out {
		var kept orb.MultiPolygon
		for _, polygon := range ground {
			if math.Abs(planarArea(polygon[0])) > largest/1000 {
				kept = append(kept, polygon)
			}
		}
		out[i] = kept
	}
	return out
}

// planarArea is twice the area of a ring in square degrees, to compare pieces
// of one place by.
func planarArea(r orb.Ring) float64 {
	var sum float64
	for i := 1; i < len(r); i++ {
		a, b := orb.Point{r[i-1][0] - r[0][0], r[i-1][1] - r[0][1]}, orb.Point{r[i][0] - r[0][0], r[i][1] - r[0][1]}
		sum += a[0]*b[1] - a[1]*b[0]
	}
	return sum
}
