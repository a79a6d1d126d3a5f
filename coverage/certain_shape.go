package coverage

import (
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/views"
)

// mostReach is how far a corner of a grown footprint may reach, as a multiple
// of the radius that it grows by: a right angle's mitre reaches √2 of it, with
// or without rounding.
const mostReach = math.Sqrt2 * (1 + rounding)

// rounding is a share, or the cosine of an angle, that is nothing but rounding.
const rounding = 1e-9

// shrunk returns the ground of a simple closed counter-clockwise ring that lies
// further than r from its rim, nil where there is none; less of it at corners
// that open inwards.
func shrunk(ring orb.Ring, r float64) views.Footprint {
	if !isConvex(ring) {
		return outlines(plane.Offset(orb.MultiPolygon{{ring}}, -r, plane.Style{Join: plane.Mitre, MitreLimit: mostReach}))
	}
	origin := ring[0]
	points := moved(ring[:len(ring)-1], -origin[0], -origin[1])
	for _, h := range halfPlanes(ring, origin) {
		h.c -= r
		if points = clip(points, h); len(points) < 3 {
			return nil
		}
	}
	points = moved(points, origin[0], origin[1])
	return views.Footprint{append(points, points[0])}
}

// grown returns a shape that holds all ground within r of a simple closed
// counter-clockwise ring, and more of it only at corners and where the ring
// nearly closes about other ground.
func grown(ring orb.Ring, r float64) views.Footprint {
	if !isConvex(ring) {
		return outlines(plane.Offset(orb.MultiPolygon{{ring}}, r, plane.Style{Join: plane.Mitre, MitreLimit: mostReach}))
	}
	sides := halfPlanes(ring, ring[0]) // their a and b are the unit normals, inwards
	corners := make([]orb.Point, 0, len(sides))
	for k := 1; k < len(ring); k++ {
		if ring[k] != ring[k-1] {
			corners = append(corners, ring[k])
		}
	}
	out := make(orb.Ring, 0, len(ring)+4)
	for k, p := range corners { // where side k ends
		h, next := sides[k], sides[(k+1)%len(sides)]
		cos := h.a*next.a + h.b*next.b
		if cos >= -rounding {
			out = append(out, orb.Point{p[0] - r*(h.a+next.a)/(1+cos), p[1] - r*(h.b+next.b)/(1+cos)})
			continue
		}
		// A sharp corner is cut off square, as far out as r.
		further := r * math.Tan(math.Acos(max(-1, cos))/4)
		out = append(out,
			orb.Point{p[0] - r*h.a + further*h.b, p[1] - r*h.b - further*h.a},
			orb.Point{p[0] - r*next.a - further*next.b, p[1] - r*next.b + further*next.a})
	}
	return views.Footprint{append(out, out[0])}
}

// outlines returns the outlines of an area.
func outlines(mp orb.MultiPolygon) views.Footprint {
	var out views.Footprint
	for _, p := range mp {
		out = append(out, p[0])
	}
	return out
}
