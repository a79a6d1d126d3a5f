package boundary

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// simplify takes vertices from every polygon that has too many.
func (e *expander) simplify(shape orb.MultiPolygon, f *Flight) orb.MultiPolygon {
	most := e.margin.MaxVertices
	if !e.tooMany(shape) {
		return shape
	}
	before, area := corners(shape), make(chan float64, 1)
	go func() { area <- plane.GeodesicArea(shape) }()
	var simple orb.MultiPolygon
	for _, polygon := range shape {
		piece := orb.MultiPolygon{polygon}
		if e.tooMany(piece) {
			piece = e.fewer(piece)
		}
		simple = append(simple, piece...)
	}
	size := <-area
	if e.margin.KeepSeparate {
		shape = nil
		for _, polygon := range simple {
			shape = append(shape, asWritten(orb.MultiPolygon{polygon})...)
		}
	} else {
		shape = asWritten(simple)
	}
	added := plane.GeodesicArea(shape) - size
	f.Simplified += added
	f.Findings = append(f.Findings, finding.Finding{Code: finding.Simplified, Severity: finding.Note, Amount: added, Unit: "m²",
		Text: finding.Say("The flight area is drawn with %s vertices instead of %s, always outwards; that adds %s (%s).",
			finding.Whole(corners(shape)), finding.Whole(before), finding.Area(added), finding.Share(added/size))})
	for _, polygon := range shape {
		piece := orb.MultiPolygon{polygon}
		a, inward := e.within(piece)
		if inward {
			e.sayNearer(piece, a, f)
		}
		if n := corners(piece); n > most {
			reason := finding.Say("its keep-out areas and holes leave no fewer")
			if inward {
				reason = finding.Say("the edge of the site area, which it must not pass, leaves no fewer")
			} else if len(e.shrunk()) > 0 {
				reason = finding.Say("its keep-out areas and holes, and the parts that are shrunk, leave no fewer")
			}
			p := plane.WrapPoint(polygon[0][0])
			f.Findings = append(f.Findings, finding.Finding{Code: finding.ManyVertices, Severity: finding.NeedsAnswer, Place: finding.Place{}.At(p[0], p[1]), Amount: float64(n), Unit: "vertices",
				Text: finding.Say("A polygon of the flight area keeps %s vertices, more than the %s asked: %s.", finding.Whole(n), finding.Whole(most), reason)})
		}
	}
	return shape
}

// tooMany reports whether a polygon has more vertices than are asked for.
func (e *expander) tooMany(shape orb.MultiPolygon) bool {
	most := e.margin.MaxVertices
	return most > 0 && slices.ContainsFunc(shape, func(p orb.Polygon) bool { return corners(orb.MultiPolygon{p}) > most })
}

// fewer simplifies one polygon outwards. It works in degrees stretched to
// metres, where a straight side is straight in the file.
func (e *expander) fewer(piece orb.MultiPolygon) orb.MultiPolygon {
	local := localAt(piece.Bound().Center())
	drawn := transformed(piece, local.metres)
	simplified := func(avoid ...orb.MultiPolygon) orb.MultiPolygon {
		for i, ground := range avoid {
			avoid[i] = transformed(e.frame.ToDegrees(ground), local.metres)
		}
		together := avoid[0]
		if len(avoid) > 1 {
			together = unionGround(avoid)
		}
		return transformed(plane.SimplifyOutward(drawn, e.margin.MaxVertices, together), local.degrees)
	}
	a, inward := e.within(piece)
	if !inward {
		if len(e.shrunk()) == 0 {
			return simplified(e.keepOut)
		}
		return simplified(e.keepOut, e.strips(e.frame.ToMetres(piece, deviation)))
	}
	// As much of the distance from the edge is kept as the number of vertices allows.
	var simple orb.MultiPolygon
	own := e.whole(a)
	for _, share := range []float64{0.75, 0.5, 0.25, 0} {
		buffer := -e.margin.BufferOf(a)
		core := plane.Offset(own, -max(share*buffer, min(leastInside, buffer/2)), plane.Style{ArcTolerance: 0.01})
		simple = simplified(e.keepOut, around(core))
		if !e.tooMany(asWritten(simple)) {
			break
		}
	}
	return simple
}

// leastInside is how near, in metres, simplifying takes a shrunk area to the
// edge at most, so that rounding cannot take it past.
const leastInside = 0.02

// around returns the ground about an area, as far as what simplifying adds
// could begin in it.
func around(ground orb.MultiPolygon) orb.MultiPolygon {
	box := ground.Bound().Pad(10)
	return plane.Difference(plane.MetreGrid(box), orb.MultiPolygon{{box.ToRing()}}, ground)
}

// within returns the area that is shrunk in which a polygon of the flight area
// lies.
func (e *expander) within(piece orb.MultiPolygon) (Area, bool) {
	shrunk := e.shrunk()
	if len(shrunk) == 0 {
		return Area{}, false
	}
	ground := e.frame.ToMetres(piece, deviation)
	for _, a := range shrunk {
		own := e.whole(a)
		if own.Bound().Intersects(ground.Bound()) && len(beyond(ground, own)) == 0 {
			return a, true
		}
	}
	return Area{}, false
}

// whole returns the ground of an area in the plane, without those of its holes
// that are filled as asked.
func (e *expander) whole(a Area) orb.MultiPolygon {
	ground := e.frame.ToMetres(a.Shape, deviation)
	if !e.margin.FillHoles && e.margin.HoleMin == 0 {
		return ground
	}
	filled := e.filledGround()
	for i, polygon := range ground {
		kept := polygon[:1:1]
		for _, hole := range polygon[1:] {
			if len(beyond(orb.MultiPolygon{{hole}}, filled)) > 0 {
				kept = append(kept, hole)
			}
		}
		ground[i] = kept
	}
	return ground
}

// filledGround returns the ground to fly with its holes filled as asked, before
// keep-out areas are taken away.
func (e *expander) filledGround() orb.MultiPolygon {
	if e.filled == nil {
		var filled []orb.MultiPolygon
		for _, group := range e.groups() {
			filled = append(filled, e.fill(group, &Flight{}))
		}
		e.filled = unionGround(filled)
	}
	return e.filled
}

// beyond returns the pieces of ground that lie in none of the others.
func beyond(ground orb.MultiPolygon, others ...orb.MultiPolygon) orb.MultiPolygon {
	grid := plane.MetreGrid(ground.Bound().Pad(1))
	for _, other := range others {
		if len(ground) > 0 && len(other) > 0 {
			ground = plane.Difference(grid, ground, clipped(other, ground.Bound()))
		}
	}
	return slices.DeleteFunc(slices.Clone(ground), func(p orb.Polygon) bool { return planeArea(p) < noise })
}

// clipped drops the polygons that lie wholly off a bound.
func clipped(mp orb.MultiPolygon, bound orb.Bound) orb.MultiPolygon {
	return slices.DeleteFunc(slices.Clone(mp), func(p orb.Polygon) bool { return !p.Bound().Intersects(bound) })
}

func planeArea(p orb.Polygon) float64 {
	var sum float64
	for i, ring := range p {
		var twice float64
		for k := 1; k < len(ring); k++ {
			a, b := ring[k-1], ring[k]
			twice += (a[0]-ring[0][0])*(b[1]-ring[0][1]) - (b[0]-ring[0][0])*(a[1]-ring[0][1])
		}
		if twice = math.Abs(twice); i > 0 {
			twice = -twice
		}
		sum += twice / 2
	}
	return sum
}

// sayNearer tells where simplifying has taken a polygon nearer to the edge of
// an area that is shrunk than was asked.
func (e *expander) sayNearer(piece orb.MultiPolygon, a Area, f *Flight) {
	ground := e.frame.ToMetres(piece, deviation/2)
	asked := -e.margin.BufferOf(a)
	near := plane.LeastDistance(ground, e.whole(a))
	if near >= asked-shortfall {
		return
	}
	p := plane.WrapPoint(piece[0][0][0])
	f.Findings = append(f.Findings, finding.Finding{Code: finding.EdgeNearer, Severity: finding.NeedsAnswer, Place: finding.Place{Name: a.Name}.At(p[0], p[1]), Amount: near, Unit: "m",
		Text: finding.Say("With at most %s vertices the flight area of %s comes as near as %s to its edge, but not past it; %s was asked for.",
			finding.Whole(e.margin.MaxVertices), areaName(a), finding.Close(near), finding.Close(asked))})
}
