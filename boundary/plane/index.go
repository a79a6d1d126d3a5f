package plane

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// overlappingPairs calls visit once for every unordered pair i < j whose
// closed boxes overlap, in an order that depends on the boxes only. A box with
// a NaN or an infinite coordinate, or with its minimum above its maximum,
// overlaps nothing.
func overlappingPairs(boxes []orb.Bound, visit func(i, j int)) {
	overlappingPairsUntil(boxes, func(i, j int) bool {
		visit(i, j)
		return true
	})
}

// overlappingPairsUntil is overlappingPairs that ends when visit returns false.
//
// Boxes go into a hashed grid of cells two to four times the mean box. Those
// that would touch many cells are kept for a coarser grid, made the same way.
// Fewer than a third can be left over each time, since fewer than a sixth are
// wider and a sixth higher than six mean boxes (Markov's inequality); so there
// are few grids, and each box looks itself up in the coarser ones.
func overlappingPairsUntil(boxes []orb.Bound, visit func(i, j int) bool) {
	rest := make([]int32, 0, len(boxes))
	for i, b := range boxes {
		if boxIsUsable(b) {
			rest = append(rest, int32(i))
		}
	}
	var levels []*boxLevel
	var floorX, floorY float64
	for len(rest) > 0 {
		var level *boxLevel
		level, rest = newBoxLevel(boxes, rest, floorX, floorY)
		floorX, floorY = level.cellX, level.cellY
		levels = append(levels, level)
	}
	ordered := func(i, j int32) bool { return visit(int(min(i, j)), int(max(i, j))) }
	for k, level := range levels {
		if !level.pairsWithin(ordered) {
			return
		}
		for _, coarser := range levels[k+1:] {
			for _, i := range level.members {
				if !coarser.pairsWith(i, ordered) {
					return
				}
			}
		}
	}
}

const (
	maxCellsAcross  = 4       // a box touching more cells than this goes one level up
	sweepFrom       = 24      // entries in a cell from which a sweep beats trying all pairs
	maxCellsOfLevel = 1 << 30 // along one axis, so that cell numbers fit an int32
)

// boxCell names one cell of a level.
type boxCell struct{ x, y int32 }

// boxEntry is one box in one of the cells that it touches.
type boxEntry struct {
	cell boxCell
	box  int32
}

// boxLevel is a hashed grid; the entries of bucket h are
// entries[starts[h]:starts[h+1]].
type boxLevel struct {
	boxes        []orb.Bound
	members      []int32
	origin       orb.Point
	cellX, cellY float64
	mask         uint32
	starts       []int32
	entries      []boxEntry
}

func boxIsUsable(b orb.Bound) bool {
	return b.Min[0] <= b.Max[0] && b.Min[1] <= b.Max[1] &&
		!math.IsInf(b.Min[0], 0) && !math.IsInf(b.Min[1], 0) &&
		!math.IsInf(b.Max[0], 0) && !math.IsInf(b.Max[1], 0)
}

func boxesOverlap(a, b orb.Bound) bool {
	return a.Min[0] <= b.Max[0] && b.Min[0] <= a.Max[0] &&
		a.Min[1] <= b.Max[1] && b.Min[1] <= a.Max[1]
}

// newBoxLevel makes the grid for the candidates and returns those that are too
// big for it. Its cells are no smaller than floorX, floorY, so that no box of a
// finer level touches many of them.
func newBoxLevel(boxes []orb.Bound, candidates []int32, floorX, floorY float64) (*boxLevel, []int32) {
	extent := boxes[candidates[0]]
	var sumX, sumY float64
	n := float64(len(candidates))
	for _, i := range candidates {
		b := boxes[i]
		extent = extent.Union(b)
		sumX += b.Max[0]/n - b.Min[0]/n
		sumY += b.Max[1]/n - b.Min[1]/n
	}
	l := &boxLevel{
		boxes:  boxes,
		origin: extent.Min,
		cellX:  max(floorX, cellSize(sumX, extent.Max[0]/2-extent.Min[0]/2, n)),
		cellY:  max(floorY, cellSize(sumY, extent.Max[1]/2-extent.Min[1]/2, n)),
	}
	var tooBig []int32
	touched := 0
	for _, i := range candidates {
		low, high := l.cellsOf(boxes[i])
		if high.x-low.x >= maxCellsAcross || high.y-low.y >= maxCellsAcross {
			tooBig = append(tooBig, i)
			continue
		}
		l.members = append(l.members, i)
		touched += int(high.x-low.x+1) * int(high.y-low.y+1)
	}
	l.fill(touched)
	return l, tooBig
}

// cellSize returns a power of two between two and four times the mean size,
// but never so small that cell numbers overflow, given half the extent.
func cellSize(mean, halfExtent, n float64) float64 {
	size := 2 * mean
	switch {
	case halfExtent == 0:
		return 1
	case mean == 0:
		size = 2 * halfExtent / math.Sqrt(n)
	}
	size = min(max(size, halfExtent/(maxCellsOfLevel/2), 0x1p-1000), 0x1p1022)
	_, exponent := math.Frexp(size)
	return math.Ldexp(1, exponent)
}

// cellOf grows with x and y, which is all that the grid needs of it.
func (l *boxLevel) cellOf(x, y float64) boxCell {
	return boxCell{
		int32(min(max(x/l.cellX-l.origin[0]/l.cellX, 0), maxCellsOfLevel)),
		int32(min(max(y/l.cellY-l.origin[1]/l.cellY, 0), maxCellsOfLevel)),
	}
}

func (l *boxLevel) cellsOf(b orb.Bound) (low, high boxCell) {
	return l.cellOf(b.Min[0], b.Min[1]), l.cellOf(b.Max[0], b.Max[1])
}

func (l *boxLevel) bucketOf(c boxCell) uint32 {
	h := uint64(uint32(c.x))<<32 | uint64(uint32(c.y))
	h *= 0x9e3779b97f4a7c15 // 2^64 / golden ratio: Fibonacci hashing, Knuth vol. 3, 6.4
	h ^= h >> 29
	h *= 0xbf58476d1ce4e5b9
	return uint32(h>>32) & l.mask
}

func (l *boxLevel) eachCell(b orb.Bound, do func(boxCell)) {
	low, high := l.cellsOf(b)
	for x := low.x; x <= high.x; x++ {
		for y := low.y; y <= high.y; y++ {
			do(boxCell{x, y})
		}
	}
}

// fill counting-sorts the members' entries into buckets.
func (l *boxLevel) fill(touched int) {
	buckets := 1
	for buckets < touched {
		buckets *= 2
	}
	l.mask = uint32(buckets - 1)
	l.starts = make([]int32, buckets+1)
	for _, i := range l.members {
		l.eachCell(l.boxes[i], func(c boxCell) { l.starts[l.bucketOf(c)+1]++ })
	}
	for h := range buckets {
		l.starts[h+1] += l.starts[h]
	}
	next := slices.Clone(l.starts[:buckets])
	l.entries = make([]boxEntry, l.starts[buckets])
	for _, i := range l.members {
		l.eachCell(l.boxes[i], func(c boxCell) {
			h := l.bucketOf(c)
			l.entries[next[h]] = boxEntry{c, i}
			next[h]++
		})
	}
}

// owns says whether a pair is reported in cell c: it is in just one of the
// cells that both boxes touch, the one with the lower left corner of their
// common part.
func (l *boxLevel) owns(c boxCell, a, b orb.Bound) bool {
	return c == l.cellOf(max(a.Min[0], b.Min[0]), max(a.Min[1], b.Min[1]))
}

// pairsWithin visits the pairs of boxes of l; false means visit did not want
// to go on.
func (l *boxLevel) pairsWithin(visit func(i, j int32) bool) bool {
	for h := 0; h+1 < len(l.starts); h++ {
		entries := l.entries[l.starts[h]:l.starts[h+1]]
		axis, sorted := 0, len(entries) >= sweepFrom
		if sorted {
			axis = l.sortForSweep(entries)
		}
		for k, e := range entries {
			a := l.boxes[e.box]
			for _, f := range entries[k+1:] {
				b := l.boxes[f.box]
				if sorted && b.Min[axis] > a.Max[axis] {
					break
				}
				if e.cell == f.cell && boxesOverlap(a, b) && l.owns(e.cell, a, b) && !visit(e.box, f.box) {
					return false
				}
			}
		}
	}
	return true
}

// sortForSweep orders the entries of a bucket by their minimum along the axis
// on which the boxes are less crowded, which it returns.
func (l *boxLevel) sortForSweep(entries []boxEntry) int {
	extent := l.boxes[entries[0].box]
	var sum orb.Point
	for _, e := range entries {
		b := l.boxes[e.box]
		extent = extent.Union(b)
		sum[0] += b.Max[0] - b.Min[0]
		sum[1] += b.Max[1] - b.Min[1]
	}
	axis := 0
	if sum[0]*(extent.Max[1]-extent.Min[1]) > sum[1]*(extent.Max[0]-extent.Min[0]) {
		axis = 1
	}
	slices.SortFunc(entries, func(e, f boxEntry) int {
		return cmp.Or(
			cmp.Compare(l.boxes[e.box].Min[axis], l.boxes[f.box].Min[axis]),
			cmp.Compare(e.box, f.box),
			cmp.Compare(e.cell.x, f.cell.x),
			cmp.Compare(e.cell.y, f.cell.y))
	})
	return axis
}

// pairsWith visits the pairs of box i, of a finer level, with boxes of l;
// false means visit did not want to go on.
func (l *boxLevel) pairsWith(i int32, visit func(i, j int32) bool) bool {
	a := l.boxes[i]
	low, high := l.cellsOf(a)
	for x := low.x; x <= high.x; x++ {
		for y := low.y; y <= high.y; y++ {
			c := boxCell{x, y}
			h := l.bucketOf(c)
			for _, e := range l.entries[l.starts[h]:l.starts[h+1]] {
				if e.cell != c {
					continue
				}
				if b := l.boxes[e.box]; boxesOverlap(a, b) && l.owns(c, a, b) && !visit(i, e.box) {
					return false
				}
			}
		}
	}
	return true
}
