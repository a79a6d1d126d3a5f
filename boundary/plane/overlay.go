package plane

import (
	"slices"

	"github.com/paulmach/orb"
)

// Union returns the ground that at least one of the areas holds. The areas
// must be valid each by itself; their rings may run either way.
func Union(g Grid, areas ...orb.MultiPolygon) orb.MultiPolygon {
	var rings []orb.Ring
	for _, mp := range areas {
		rings = append(rings, Oriented(mp)...)
	}
	return keep(g, func(w []int32) bool { return w[0] > 0 }, rings)
}

// Intersection returns the ground that both areas hold.
func Intersection(g Grid, a, b orb.MultiPolygon) orb.MultiPolygon {
	return keep(g, func(w []int32) bool { return w[0] > 0 && w[1] > 0 }, Oriented(a), Oriented(b))
}

// Difference returns the ground of a that b does not hold.
func Difference(g Grid, a, b orb.MultiPolygon) orb.MultiPolygon {
	return keep(g, func(w []int32) bool { return w[0] > 0 && w[1] <= 0 }, Oriented(a), Oriented(b))
}

// Repair returns the ground that a possibly defective polygon means, as valid
// polygons. Each ring means what it winds around at least once, either way;
// the polygon means what its outline means less what any of its holes means.
// So a hole never adds ground, and ground that is enclosed twice stays.
func Repair(g Grid, p orb.Polygon) orb.MultiPolygon {
	if len(p) == 0 {
		return nil
	}
	shell := enclosed(g, p[0])
	if len(p) == 1 {
		return shell
	}
	var holes []orb.Ring
	for _, ring := range p[1:] {
		holes = append(holes, Oriented(enclosed(g, ring))...)
	}
	return keep(g, func(w []int32) bool { return w[0] > 0 && w[1] <= 0 }, Oriented(shell), holes)
}

// enclosed returns what the ring winds around at all.
func enclosed(g Grid, ring orb.Ring) orb.MultiPolygon {
	return keep(g, func(w []int32) bool { return w[0] != 0 }, []orb.Ring{ring})
}

// Oriented returns all rings of an area, outlines counter-clockwise and holes
// clockwise. Rings that run the other way are copied.
func Oriented(mp orb.MultiPolygon) []orb.Ring {
	rings := slices.Grow([]orb.Ring(nil), countRings(mp))
	for _, p := range mp {
		for i, ring := range p {
			rings = append(rings, oriented(ring, i > 0))
		}
	}
	return rings
}

// oriented returns an outline counter-clockwise or a hole clockwise, copied if
// it runs the other way.
func oriented(ring orb.Ring, hole bool) orb.Ring {
	want := orb.CCW
	if hole {
		want = orb.CW
	}
	if ring.Orientation() != want {
		ring = slices.Clone(ring)
		slices.Reverse(ring)
	}
	return ring
}

func countRings(mp orb.MultiPolygon) int {
	n := 0
	for _, p := range mp {
		n += len(p)
	}
	return n
}
