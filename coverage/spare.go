package coverage

import (
	"math"

	"github.com/paulmach/orb"
)

// needed leaves out footprints that could not change where the views are
// fewer than enough: everywhere on such a footprint at least that many others,
// all of them kept, see the ground. Square tiles make that certain without
// knowing the views exactly.
func needed(footprints []orb.Ring, enough int) []orb.Ring {
	tiles := tilesFor(footprints)
	views := map[tile]int{} // footprints, not left out, that hold all of a tile
	for _, ring := range footprints {
		tiles.each(ring, func(at tile, whole bool) bool {
			views[at] += one(whole)
			return true
		})
	}
	var kept []orb.Ring
	for _, ring := range footprints {
		spare := true
		tiles.each(ring, func(at tile, whole bool) bool {
			spare = views[at]-one(whole) >= enough
			return spare
		})
		if !spare {
			kept = append(kept, ring)
			continue
		}
		tiles.each(ring, func(at tile, whole bool) bool {
			views[at] -= one(whole)
			return true
		})
	}
	return kept
}

type tile [2]int

// tiling divides the plane into squares, many to a usual footprint.
type tiling struct{ size float64 }

func tilesFor(footprints []orb.Ring) tiling {
	const across = 12
	return tiling{max(0.1, usualExtent(footprints)/across)}
}

// each visits the tiles that a convex footprint touches, and says which of
// them it holds whole, until visit returns false. A millimetre in doubt counts
// as touched and as not held.
func (t tiling) each(ring orb.Ring, visit func(at tile, whole bool) bool) {
	const doubt = 0.001
	bound := ring.Bound()
	index := func(v float64) int { return int(math.Floor(v / t.size)) }
	for row := index(bound.Min[1] - doubt); row <= index(bound.Max[1]+doubt); row++ {
		low, high := float64(row)*t.size, float64(row+1)*t.size
		lowLeft, lowRight := levelSpan(ring, low)
		highLeft, highRight := levelSpan(ring, high)
		left, right := min(lowLeft, highLeft), max(lowRight, highRight)
		for _, p := range ring {
			if p[1] > low-doubt && p[1] < high+doubt {
				left, right = min(left, p[0]), max(right, p[0])
			}
		}
		wholeLeft, wholeRight := max(lowLeft, highLeft)+doubt, min(lowRight, highRight)-doubt
		for column := index(left - doubt); column <= index(right+doubt); column++ {
			whole := float64(column)*t.size >= wholeLeft && float64(column+1)*t.size <= wholeRight
			if !visit(tile{column, row}, whole) {
				return
			}
		}
	}
}

// levelSpan returns where a convex ring begins and ends at height y; infinite
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

// usualExtent returns the quadratic mean of the footprints' extents, so that
// the number of squares of that size that they touch keeps in proportion to
// their own even when one of them is huge.
func usualExtent(footprints []orb.Ring) float64 {
	var square float64
	for _, ring := range footprints {
		b := ring.Bound()
		extent := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
		square += extent * extent
	}
	return math.Sqrt(square / float64(max(1, len(footprints))))
}
