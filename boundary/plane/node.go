package plane

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// maxPasses bounds the rounds of noding. Every round breaks segments at cells
// of their own path and a segment has no more cells than its length, so that
// the rounds end by themselves; a handful is usual.
const maxPasses = 64

// node breaks segments until they meet in nodes only: wherever two cross, at
// the cell nearest to the crossing, and wherever one passes through the pixel
// of another's endpoint, there (iterated snap rounding). Afterwards every point
// is at least half a cell from every segment that does not end in it, and is a
// node if more than its own ring passes. It returns false when that took more
// than maxPasses.
func (c *curves) node() bool {
	for range maxPasses {
		n := noder{curves: c}
		n.findBreaks()
		if len(n.breaks) == 0 {
			return true
		}
		c.insert(n.sorted())
	}
	return false
}

// breakAt says that a segment must be broken at a cell.
type breakAt struct {
	segment int32
	at      cell
}

// noder is one round of noding.
type noder struct {
	*curves
	breaks []breakAt
}

// findBreaks looks at all pairs of segments of which at least one is new.
func (n *noder) findBreaks() {
	b := n.newBins()
	for k := range b.starts[1:] {
		items := b.items[b.starts[k]:b.starts[k+1]]
		if len(items) > 32 {
			n.sweep(items)
			continue
		}
		for x, i := range items {
			for _, j := range items[x+1:] {
				n.pair(i, j)
			}
		}
	}
	if b.all {
		return
	}
	var keys []uint32
	for i := range n.segments() {
		if n.flags[i]&(isNew|isLast) != 0 || !b.mayMeet(n.points[i], n.points[i+1]) {
			continue
		}
		keys = b.cover(keys[:0], n.points[i], n.points[i+1])
		for _, k := range keys {
			for _, j := range b.items[b.starts[k]:b.starts[k+1]] {
				n.pair(int32(i), j)
			}
		}
	}
}

// sweep pairs the many segments of one bin by their extent along x.
func (n *noder) sweep(items []int32) {
	left := func(i int32) int32 { return min(n.points[i].x, n.points[i+1].x) }
	slices.SortFunc(items, func(i, j int32) int { return cmp.Compare(left(i), left(j)) })
	for x, i := range items {
		right := max(n.points[i].x, n.points[i+1].x)
		for _, j := range items[x+1:] {
			if left(j) > right {
				break
			}
			n.pair(i, j)
		}
	}
}

// pair notes where two segments break each other, and makes nodes of common
// endpoints unless one segment merely follows the other.
func (n *noder) pair(i, j int32) {
	if i > j {
		i, j = j, i
	}
	a, b, c, d := n.points[i], n.points[i+1], n.points[j], n.points[j+1]
	if min(a.x, b.x) > max(c.x, d.x) || min(c.x, d.x) > max(a.x, b.x) ||
		min(a.y, b.y) > max(c.y, d.y) || min(c.y, d.y) > max(a.y, b.y) || i == j {
		return
	}
	follows := j == i+1
	if follows && dot(a, b, c, d) > 0 {
		return // goes on, within a right angle: neither can reach back to the other
	}
	found := len(n.breaks)
	s, t := segment{a, b}, segment{c, d}
	n.breakThrough(i, s, j, c)
	n.breakThrough(i, s, j, d)
	n.breakThrough(j, t, i, a)
	n.breakThrough(j, t, i, b)
	switch {
	case follows && a == d: // out and back
		n.flags[i] |= isNode
		n.flags[j] |= isNode
		n.flags[j+1] |= isNode
	case follows:
	default:
		for _, p := range [2]cell{a, b} {
			if p == c || p == d {
				n.mark(i, p)
				n.mark(j, p)
			}
		}
	}
	if len(n.breaks) > found {
		return // a crossing that is still there shows in the next round
	}
	if p, crosses := s.crossing(t); crosses {
		if p != a && p != b {
			n.breaks = append(n.breaks, breakAt{i, p})
		} else {
			n.mark(i, p)
		}
		if p != c && p != d {
			n.breaks = append(n.breaks, breakAt{j, p})
		} else {
			n.mark(j, p)
		}
	}
}

// breakThrough breaks segment i where it passes the endpoint p of segment j.
func (n *noder) breakThrough(i int32, s segment, j int32, p cell) {
	if s.through(p) {
		n.breaks = append(n.breaks, breakAt{i, p})
		n.mark(j, p)
	}
}

// sorted returns the breaks by segment and along each segment, without repeats.
func (n *noder) sorted() []breakAt {
	slices.SortFunc(n.breaks, func(p, q breakAt) int {
		if p.segment != q.segment {
			return cmp.Compare(p.segment, q.segment)
		}
		// Cells that a segment passes lie in one order along x and along y.
		a, b := n.points[p.segment], n.points[p.segment+1]
		if c := cmp.Compare(p.at.x, q.at.x); c != 0 {
			if b.x < a.x {
				return -c
			}
			return c
		}
		if b.y < a.y {
			return cmp.Compare(q.at.y, p.at.y)
		}
		return cmp.Compare(p.at.y, q.at.y)
	})
	return slices.Compact(n.breaks)
}

// dot returns the scalar product of ab and cd.
func dot(a, b, c, d cell) int64 {
	return (int64(b.x)-int64(a.x))*(int64(d.x)-int64(c.x)) + (int64(b.y)-int64(a.y))*(int64(d.y)-int64(c.y))
}

type segment struct{ a, b cell }

// through reports whether s passes through the pixel of p and does not end
// there. The test is strict: a unit diagonal would otherwise break at cells
// beside it for ever, and two cells that pass it lie in the same order along x
// and along y.
func (s segment) through(p cell) bool {
	if p == s.a || p == s.b || p.x < min(s.a.x, s.b.x) || p.x > max(s.a.x, s.b.x) || p.y < min(s.a.y, s.b.y) || p.y > max(s.a.y, s.b.y) {
		return false
	}
	return 2*absolute(turn(s.a, s.b, p)) < absolute(int64(s.b.x)-int64(s.a.x))+absolute(int64(s.b.y)-int64(s.a.y))
}

func absolute(v int64) int64 {
	if v < 0 {
		return -v
	}
	return v
}

// crossing returns the cell nearest to where s and t cross in the inside of
// both. The four turns are exact; the quotient and product round by parts in
// 2^52, so that the cell may be the neighbour of the nearest when the crossing
// lies within 2^-20 of a cell's rim. Both segments are broken at the same cell,
// so that this does no harm.
func (s segment) crossing(t segment) (cell, bool) {
	ta, tb := turn(s.a, s.b, t.a), turn(s.a, s.b, t.b)
	if ta == 0 || tb == 0 || (ta > 0) == (tb > 0) {
		return cell{}, false
	}
	sa, sb := turn(t.a, t.b, s.a), turn(t.a, t.b, s.b)
	if sa == 0 || sb == 0 || (sa > 0) == (sb > 0) {
		return cell{}, false
	}
	share := float64(sa) / (float64(sa) - float64(sb))
	return cell{
		s.a.x + int32(math.Round(share*float64(s.b.x-s.a.x))),
		s.a.y + int32(math.Round(share*float64(s.b.y-s.a.y))),
	}, true
}

// bins sorts the new segments of curves by square bins of the grid that they
// pass. Segments that come within a cell of each other share a bin.
type bins struct {
	shift  uint
	mask   uint32
	starts []int32 // of each bin's items, and the end
	items  []int32 // segments
	all    bool    // whether every segment is new
	// blocks has a bit for each block of bins that the extent of a new segment
	// touches; several blocks share one. Most segments are far from all new ones.
	blocks [1 << 10]uint64
}

func (c *curves) newBins() *bins {
	var length, fresh float64
	for i := range c.segments() {
		if c.flags[i]&isLast == 0 {
			length += max(math.Abs(float64(c.points[i+1].x)-float64(c.points[i].x)), math.Abs(float64(c.points[i+1].y)-float64(c.points[i].y)))
			if c.flags[i]&isNew != 0 {
				fresh++
			}
		}
	}
	total := float64(len(c.points) - len(c.layers))
	b := &bins{all: fresh == total, shift: uint(bits.Len64(uint64(1.5 * length / max(total, 1))))}
	b.mask = 1<<max(6, bits.Len64(uint64(fresh))) - 1
	keys := make([]uint32, 0, int(2.5*fresh))
	segments := make([]int32, 0, int(2.5*fresh))
	b.starts = make([]int32, b.mask+2)
	for i := range c.segments() {
		if c.flags[i]&(isNew|isLast) != isNew {
			continue
		}
		keys = b.cover(keys, c.points[i], c.points[i+1])
		if !b.all {
			b.occupy(c.points[i], c.points[i+1])
		}
		for range len(keys) - len(segments) {
			segments = append(segments, int32(i))
		}
	}
	for _, k := range keys {
		b.starts[k+1]++
	}
	for k := range b.mask + 1 {
		b.starts[k+1] += b.starts[k]
	}
	b.items = make([]int32, len(keys))
	for x := len(keys) - 1; x >= 0; x-- {
		k := keys[x] + 1
		b.starts[k]--
		b.items[b.starts[k]] = segments[x]
	}
	copy(b.starts, b.starts[1:])
	b.starts[b.mask+1] = int32(len(keys))
	return b
}

// occupy sets the bits of the blocks that a new segment's extent touches.
func (b *bins) occupy(p, q cell) {
	left, right, low, high := b.extent(p, q)
	if (right-left+1)*(high-low+1) > mostBlocks {
		for i := range b.blocks {
			b.blocks[i] = ^uint64(0)
		}
		return
	}
	for x := left; x <= right; x++ {
		for y := low; y <= high; y++ {
			bit := block(x, y)
			b.blocks[bit>>6] |= 1 << (bit & 63)
		}
	}
}

// mayMeet reports whether a segment is near enough to a new one to look closer.
func (b *bins) mayMeet(p, q cell) bool {
	left, right, low, high := b.extent(p, q)
	if (right-left+1)*(high-low+1) > mostBlocks {
		return true
	}
	for x := left; x <= right; x++ {
		for y := low; y <= high; y++ {
			if bit := block(x, y); b.blocks[bit>>6]>>(bit&63)&1 != 0 {
				return true
			}
		}
	}
	return false
}

// mostBlocks is how many blocks of a segment's extent are looked at.
const mostBlocks = 64

// extent returns the blocks of 8 by 8 bins that a segment's extent touches, with a cell to spare.
func (b *bins) extent(p, q cell) (left, right, low, high int64) {
	return b.bin(min(p.x, q.x)-1) >> 3, b.bin(max(p.x, q.x)+1) >> 3, b.bin(min(p.y, q.y)-1) >> 3, b.bin(max(p.y, q.y)+1) >> 3
}

func block(x, y int64) uint32 {
	h := uint32(x)*0x9E3779B1 ^ uint32(y)*0x85EBCA77
	return (h ^ h>>15) & (1<<16 - 1)
}

// cover appends the bins that a segment passes, with a cell to spare above and below.
func (b *bins) cover(keys []uint32, p, q cell) []uint32 {
	if q.x < p.x {
		p, q = q, p
	}
	left, right := b.bin(p.x), b.bin(q.x)
	low, high := b.bin(min(p.y, q.y)-1), b.bin(max(p.y, q.y)+1)
	if left == right || low == high {
		for x := left; x <= right; x++ {
			for y := low; y <= high; y++ {
				keys = append(keys, b.key(x, y))
			}
		}
		return keys
	}
	slope := (float64(q.y) - float64(p.y)) / (float64(q.x) - float64(p.x))
	for x := left; x <= right; x++ {
		// The segment's extent along y within this column. 1.5 leaves a cell
		// to spare, and half a cell for rounding.
		from := max(float64(x<<b.shift)-span, float64(p.x))
		to := min(float64((x+1)<<b.shift)-span, float64(q.x))
		y1 := float64(p.y) + slope*(from-float64(p.x))
		y2 := float64(p.y) + slope*(to-float64(p.x))
		top := b.bin(int32(max(y1, y2) + 2.5))
		for y := b.bin(int32(min(y1, y2) - 2.5)); y <= top; y++ {
			keys = append(keys, b.key(x, y))
		}
	}
	return keys
}

func (b *bins) bin(v int32) int64 { return (int64(v) + span) >> b.shift }

// key spreads blocks of 8 by 8 bins over the table; within a block neighbours
// stay together.
func (b *bins) key(x, y int64) uint32 {
	h := uint32(x>>3)*0x9E3779B1 ^ uint32(y>>3)*0x85EBCA77
	h ^= h >> 15
	return (h<<6 | uint32(x&7)<<3 | uint32(y&7)) & b.mask
}
