package boundary

import (
	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// settle finishes what a repair or union has made of drawn: the file's own
// coordinates come back where it kept them, and pieces, holes and spikes that
// enclose nothing go. Cutting a spike can make rings touch anew, and a hole that
// goes can have held a piece, so that this is done until nothing changes; a few
// rounds at most have been seen.
func settle(grid plane.Grid, shape, drawn orb.MultiPolygon) orb.MultiPolygon {
	shape = restore(grid, shape, drawn)
	for range 16 {
		tidy, dropped := withoutSlivers(shape)
		tidy, cut := withoutSpikes(tidy)
		if !dropped && !cut {
			return shape
		}
		if plane.Valid(tidy) != nil {
			var parts []orb.MultiPolygon
			for _, polygon := range tidy {
				parts = append(parts, plane.Repair(grid, polygon))
			}
			tidy = restore(grid, plane.Union(grid, parts...), drawn)
		}
		shape = tidy
	}
	return shape
}

// restore puts the file's own coordinates back where the grid holds one of its
// vertices, bit for bit. Those lie up to 0.7 cells from the grid's, which keeps
// half a cell between its edges: if a ring should come to cross another by
// that, the grid's coordinates stay.
func restore(grid plane.Grid, shape, drawn orb.MultiPolygon) orb.MultiPolygon {
	original := map[orb.Point]orb.Point{}
	for _, polygon := range drawn {
		for _, ring := range polygon {
			for _, p := range ring {
				if key := grid.Snap(p); original[key] == (orb.Point{}) {
					original[key] = p
				}
			}
		}
	}
	restored := shape.Clone()
	for _, polygon := range restored {
		for _, ring := range polygon {
			for i, p := range ring {
				if q, known := original[p]; known {
					ring[i] = q
				}
			}
		}
	}
	if plane.Valid(restored) != nil {
		return shape
	}
	return restored
}

// withoutSlivers drops pieces and holes that enclose nothing.
func withoutSlivers(shape orb.MultiPolygon) (kept orb.MultiPolygon, changed bool) {
	local := localAt(shape.Bound().Center())
	for _, polygon := range shape {
		if enclosesNothing(polygon[0], local) {
			changed = true
			continue
		}
		rings := polygon[:1:1]
		for _, hole := range polygon[1:] {
			if enclosesNothing(hole, local) {
				changed = true
			} else {
				rings = append(rings, hole)
			}
		}
		kept = append(kept, rings)
	}
	return kept, changed
}

func withoutSpikes(shape orb.MultiPolygon) (tidy orb.MultiPolygon, changed bool) {
	local := localAt(shape.Bound().Center())
	for _, polygon := range shape {
		rings := make(orb.Polygon, len(polygon))
		for i, ring := range polygon {
			vertices, _ := tidyRing(ring, finding.Place{})
			vertices, spikes := cutSpikes(vertices, finding.Place{}, local)
			rings[i] = ring
			if len(spikes) > 0 {
				rings[i], changed = points(vertices), true
			}
		}
		tidy = append(tidy, rings)
	}
	return tidy, changed
}
