package coverage

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// halfPlane holds the points p with a·x + b·y + c >= 0. Where a² + b² = 1 the
// left side is the distance of p from its rim.
type halfPlane struct{ a, b, c float64 }

func (h halfPlane) inside(p orb.Point) float64 { return h.a*p[0] + h.b*p[1] + h.c }

// leftOf returns the half-plane to the left of the line from p to q, with
// coordinates counted from origin so that far places lose no precision.
func leftOf(p, q, origin orb.Point) (halfPlane, bool) {
	length := math.Hypot(q[0]-p[0], q[1]-p[1])
	if length == 0 {
		return halfPlane{}, false
	}
	h := halfPlane{a: (p[1] - q[1]) / length, b: (q[0] - p[0]) / length}
	h.c = -h.a*(p[0]-origin[0]) - h.b*(p[1]-origin[1])
	return h, true
}

// halfPlanes returns the sides of a closed convex counter-clockwise ring.
func halfPlanes(ring orb.Ring, origin orb.Point) []halfPlane {
	sides := make([]halfPlane, 0, len(ring))
	for i := 1; i < len(ring); i++ {
		if h, ok := leftOf(ring[i-1], ring[i], origin); ok {
			sides = append(sides, h)
		}
	}
	return sides
}

// clip returns the part of a convex polygon inside h. The points are not closed.
func clip(points []orb.Point, h halfPlane) []orb.Point {
	var out []orb.Point
	for i, p := range points {
		q := points[(i+1)%len(points)]
		dp, dq := h.inside(p), h.inside(q)
		if dp >= 0 {
			out = append(out, p)
		}
		if dp > 0 && dq < 0 || dp < 0 && dq > 0 {
			t := dp / (dp - dq)
			out = append(out, orb.Point{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1])})
		}
	}
	return out
}

// convexIntersection returns the ground that two closed convex
// counter-clockwise rings share, nil where they share no area.
func convexIntersection(a, b orb.Ring) orb.Ring {
	if len(a) == 0 || len(b) == 0 || !a.Bound().Intersects(b.Bound()) {
		return nil
	}
	origin := a[0]
	points := moved(a[:len(a)-1], -origin[0], -origin[1])
	sides := halfPlanes(b, origin)
	if len(sides) < 3 {
		return nil
	}
	for _, h := range sides {
		if points = clip(points, h); len(points) < 3 {
			return nil
		}
	}
	points = moved(points, origin[0], origin[1])
	return append(points, points[0])
}

// sharedWith returns the share of a's ground that b holds too; simple rings will do.
func sharedWith(a, b orb.Ring) float64 {
	if !isConvex(a) || !isConvex(b) {
		return min(1, commonArea(a, b)/math.Abs(planar.Area(a)))
	}
	common := convexIntersection(a, b)
	if common == nil {
		return 0
	}
	return min(1, math.Abs(planar.Area(common))/math.Abs(planar.Area(a)))
}

func moved(points []orb.Point, dx, dy float64) []orb.Point {
	out := make([]orb.Point, len(points), len(points)+1)
	for i, p := range points {
		out[i] = orb.Point{p[0] + dx, p[1] + dy}
	}
	return out
}

// within returns the piece of the segment from p to q, as shares of its
// length, that lies inside all half-planes, each moved out by slack. Fewer than
// three bound nothing.
func within(p, q orb.Point, sides []halfPlane, slack float64) (from, to float64, ok bool) {
	from, to = 0, 1
	if len(sides) < 3 {
		return 0, 0, false
	}
	for _, h := range sides {
		dp, dq := h.inside(p)+slack, h.inside(q)+slack
		switch {
		case dp < 0 && dq < 0:
			return 0, 0, false
		case dp < 0:
			from = max(from, dp/(dp-dq))
		case dq < 0:
			to = min(to, dp/(dp-dq))
		}
	}
	return from, to, from <= to
}

// levelSpan returns where a ring first begins and last ends at height y; infinite
// and the wrong way round where it does not reach it.
func levelSpan(ring orb.Ring, y float64) (left, right float64) {
	left, right = math.Inf(1), math.Inf(-1)
	for k := 1; k < len(ring); k++ {
		a, b := ring[k-1], ring[k]
		if (a[1] < y) != (b[1] < y) {
			x := mix(a[0], b[0], (y-a[1])/(b[1]-a[1]))
			left, right = min(left, x), max(right, x)
		}
	}
	return left, right
}
