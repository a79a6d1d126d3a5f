package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Footprints on level ground are convex, and so simple that they are dealt with
// as half-planes. Those on terrain need not be: here is what serves any simple
// ring.

// isConvex tells whether a simple closed counter-clockwise ring nowhere turns
// to the right, by more than a nanometre.
func isConvex(ring orb.Ring) bool {
	last := len(ring) - 1
	for i := range last {
		p, q, r := ring[i], ring[i+1], ring[1]
		if i+2 <= last {
			r = ring[i+2]
		}
		x, y := r[0]-p[0], r[1]-p[1]
		if left := x*(q[1]-p[1]) - y*(q[0]-p[0]); left > 1e-9*math.Hypot(x, y) {
			return false
		}
	}
	return true
}

// appendInside appends the pieces of the segment from p to q, as shares of its
// length in order, that lie inside a simple closed ring or within slack of it.
func appendInside(pieces []span, p, q orb.Point, ring orb.Ring, slack float64) []span {
	x, y := q[0]-p[0], q[1]-p[1]
	length := math.Hypot(x, y)
	if length == 0 {
		return pieces
	}
	left := func(v orb.Point) float64 { return (x*(v[1]-p[1]) - y*(v[0]-p[0])) / length }
	ahead := func(v orb.Point) float64 { return (x*(v[0]-p[0]) + y*(v[1]-p[1])) / (length * length) }
	var held [16]float64
	at := append(held[:0], 0, 1)
	mark := func(t float64) {
		if t > 0 && t < 1 {
			at = append(at, t)
		}
	}
	for k := 1; k < len(ring); k++ {
		a, b := ring[k-1], ring[k]
		da, db := left(a), left(b)
		if math.Abs(da) <= slack {
			mark(ahead(a))
		}
		if da < 0 && db > 0 || da > 0 && db < 0 {
			mark(ahead(between(a, b, da/(da-db))))
		}
	}
	slices.Sort(at)
	for k := 1; k < len(at); k++ {
		from, to := at[k-1], at[k]
		if from == to || !holds(ring, between(p, q, (from+to)/2), slack) {
			continue
		}
		if n := len(pieces); n > 0 && pieces[n-1].to == from {
			pieces[n-1].to = to
		} else {
			pieces = append(pieces, span{from, to})
		}
	}
	return pieces
}

// holds tells whether a simple closed ring goes around a point or passes
// within slack of it.
func holds(ring orb.Ring, p orb.Point, slack float64) bool {
	inside := false
	for k := 1; k < len(ring); k++ {
		a, b := ring[k-1], ring[k]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			inside = !inside
		}
	}
	for k := 1; k < len(ring) && !inside; k++ {
		inside = offChord(p, ring[k-1], ring[k]) <= slack
	}
	return inside
}

// commonArea returns the area that two simple closed rings share.
func commonArea(a, b orb.Ring) float64 {
	if len(a) == 0 || len(b) == 0 || !a.Bound().Intersects(b.Bound()) {
		return 0
	}
	grid := plane.MetreGrid(a.Bound().Union(b.Bound()))
	return areaOf(plane.Intersection(grid, orb.MultiPolygon{{a}}, orb.MultiPolygon{{b}}))
}
