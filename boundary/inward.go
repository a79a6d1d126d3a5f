package boundary

import (
	"fmt"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// strips returns the ground along the edges of the areas that are shrunk, as
// wide as their buffers, that is not part of the given ground.
func (e *expander) strips(but orb.MultiPolygon) orb.MultiPolygon {
	var all []orb.MultiPolygon
	for _, a := range e.shrunk() {
		all = append(all, e.strip(e.whole(a), 0, -e.margin.BufferOf(a)))
	}
	together := unionGround(all)
	if len(together) == 0 || len(but) == 0 {
		return together
	}
	return plane.Difference(plane.MetreGrid(together.Bound().Union(but.Bound())), together, but)
}

// strip returns the ground between two distances inside the edge of an area.
func (e *expander) strip(ground orb.MultiPolygon, from, to float64) orb.MultiPolygon {
	if to <= from {
		return nil
	}
	style := plane.Style{ArcTolerance: 0.001}
	if from > 0 {
		ground, to = plane.Offset(ground, -from, style), to-from
	}
	inside := plane.Offset(ground, -to, style)
	if len(ground) == 0 || len(inside) == 0 {
		return ground
	}
	return plane.Difference(plane.MetreGrid(ground.Bound()), ground, inside)
}

// granted returns the ground that areas which are extended may take, and what
// is filled between areas as asked, with a little about it.
func (e *expander) granted() orb.MultiPolygon {
	var all []orb.MultiPolygon
	for i, a := range e.site.Areas {
		if e.margin.BufferOf(a) > 0 {
			all = append(all, e.grow()[i])
		}
	}
	if e.margin.FillHoles || e.margin.HoleMin > 0 {
		all = append(all, beyond(e.filledGround(), unionGround(e.grow())))
	}
	together := unionGround(all)
	if len(together) == 0 {
		return nil
	}
	return plane.Offset(together, 0.05, plane.Style{ArcTolerance: 0.01})
}

// passed tells of areas that are shrunk over whose edge the buffers of others
// reach.
func (e *expander) passed() []finding.Finding {
	shrunk, extended := e.shrunk(), e.extended()
	if len(shrunk) == 0 || len(extended) == 0 {
		return nil
	}
	var taken []orb.MultiPolygon
	for i, a := range e.site.Areas {
		if e.margin.BufferOf(a) > 0 {
			taken = append(taken, e.grow()[i])
		}
	}
	var found []finding.Finding
	for _, a := range shrunk {
		edge := e.strip(e.frame.ToMetres(a.Shape, deviation), shortfall, -e.margin.BufferOf(a)-shortfall)
		if len(edge) == 0 {
			continue
		}
		inside := unionGround(taken)
		grid := plane.MetreGrid(edge.Bound().Union(inside.Bound()))
		over := plane.Intersection(grid, edge, inside)
		if len(over) > 0 && len(e.keepOut) > 0 {
			over = plane.Difference(grid, over, e.keepOut)
		}
		area := 0.0
		for _, p := range over {
			area += planeArea(p)
		}
		if area < noise {
			continue
		}
		at := plane.WrapPoint(e.frame.Degrees(over[0][0][0]))
		found = append(found, finding.Finding{Code: finding.EdgePassed, Severity: finding.NeedsAnswer, Place: finding.Place{Name: a.Name}.At(at[0], at[1]), Amount: area, Unit: "m²",
			Text: finding.Say("The flight area is to stay %s inside the edge of %s, but the buffers of other parts reach over %s of that strip; they are flown.",
				finding.Close(-e.margin.BufferOf(a)), areaName(a), finding.Area(area))})
	}
	return found
}

// proveInward holds the flight area against every area that is shrunk. Each of
// its polygons lies in such an area and keeps the distance from its edge, or
// the edge alone where it had to be simplified; or it belongs to areas that are
// extended, and then takes no ground along the edge of one that is shrunk but
// what their buffers give. All ground that lies far enough inside is flown.
func (e *expander) proveInward(f *Flight, flight orb.MultiPolygon) error {
	ground := e.frame.ToMetres(flight, deviation/2)
	granted := e.granted()
	fault := func(format string, pieces orb.MultiPolygon, a Area) error {
		return fmt.Errorf(format, areaName(a), latLon(e.frame.Degrees(pieces[0][0][0])))
	}
	for i, a := range e.site.Areas {
		buffer := -e.margin.BufferOf(a)
		if buffer < 0 {
			continue
		}
		core := plane.Offset(e.frame.ToMetres(a.Shape, deviation), -buffer-shortfall-e.style().ArcTolerance, e.style())
		if len(core) > 0 {
			if lost := beyond(core, clipped(ground, core.Bound()), plane.Offset(e.keepOut, shortfall, plane.Style{})); len(lost) > 0 {
				return fault("the flight area leaves out ground of %s that lies far enough inside, at %s", lost, a)
			}
		}
		least := buffer - shortfall
		if e.tooMany(e.finish(e.clear(e.fill(e.grow()[i], &Flight{})))) {
			least = min(leastInside, buffer) / 2
		}
		own := e.whole(a)
		for _, polygon := range f.Areas {
			piece := e.frame.ToMetres(polygon.Shape, deviation/2)
			if !piece.Bound().Intersects(own.Bound()) || len(granted) > 0 && len(beyond(piece, granted)) == 0 {
				continue
			}
			if len(beyond(piece, own)) == 0 {
				if d := plane.LeastDistance(piece, own); d < least {
					return fault("the flight area comes too near to the edge of %s, at %s", piece, a)
				}
				continue
			}
			edge := e.strip(own, shortfall, buffer-shortfall)
			if len(edge) == 0 {
				continue
			}
			over := plane.Intersection(plane.MetreGrid(edge.Bound().Union(piece.Bound())), edge, piece)
			if over = beyond(over, granted); len(over) > 0 {
				return fault("the flight area passes the edge of %s at %s", over, a)
			}
		}
	}
	for _, polygon := range f.Areas {
		piece := e.frame.ToMetres(polygon.Shape, deviation/2)
		if _, inside := e.within(polygon.Shape); !inside && !touches(piece, granted) {
			return fmt.Errorf("the flight area has a polygon outside the site area and its margin, at %s", latLon(e.frame.Degrees(piece[0][0][0])))
		}
	}
	return nil
}

// touches reports whether two areas have ground in common.
func touches(a, b orb.MultiPolygon) bool {
	if b = clipped(b, a.Bound()); len(b) == 0 {
		return false
	}
	return len(plane.Intersection(plane.MetreGrid(a.Bound().Union(b.Bound())), a, b)) > 0
}
