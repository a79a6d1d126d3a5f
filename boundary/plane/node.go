package plane

import (
	"cmp"
	"math"
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
func (c *curves) node(n *noder) bool {
	n.curves = c
	for range maxPasses {
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
	runs   []run
	bins   bins
	breaks []breakAt
	looks  int // how often one segment or run was held against another
	// A round with more looks or breaks is given up; 0: never.
	mostLooks, mostBreaks int
}

// findBreaks looks at all pairs of segments of which at least one is new.
func (n *noder) findBreaks() {
	n.runs, n.breaks, n.looks = n.curves.runs(n.runs), n.breaks[:0], 0
	b := &n.bins
	b.fill(n.points, n.runs)
	var start int32
	for _, end := range b.starts[1 : b.mask+2] {
		items := b.items[start:end]
		start = end
		if len(items) > 32 {
			n.sweep(items)
			continue
		}
		for len(items) > 1 {
			n.meet(items[0], items[1:])
			items = items[1:]
		}
	}
	if b.all || n.givenUp() {
		return
	}
	var keys []uint32
	for i := range n.runs {
		r := &n.runs[i]
		if r.fresh || !b.mayMeet(r.low, r.high) {
			continue
		}
		keys = b.coverRun(keys[:0], n.points, r)
		for _, k := range keys {
			n.meet(int32(i), b.items[b.starts[k]:b.starts[k+1]])
		}
	}
}

// sweep pairs the many runs of one bin by their extent along x.
func (n *noder) sweep(items []int32) {
	left := func(i int32) int32 { return n.runs[i].low.x }
	slices.SortFunc(items, func(i, j int32) int { return cmp.Compare(left(i), left(j)) })
	for x, i := range items {
		right := n.runs[i].high.x
		end := x + 1
		for end < len(items) && left(items[end]) <= right {
			end++
		}
		if n.meet(i, items[x+1:end]); n.givenUp() {
			return
		}
	}
}

func (n *noder) givenUp() bool {
	return n.mostLooks > 0 && (n.looks > n.mostLooks || len(n.breaks) > n.mostBreaks)
}

// meet pairs the segments of a run with those of others where extents meet.
func (n *noder) meet(i int32, others []int32) {
	runs := n.runs
	r := runs[i]
	n.looks += len(others)
	for _, j := range others {
		s := &runs[j]
		if !overlap(r.low, r.high, s.low, s.high) || i == j || s.met == i+1 {
			continue
		}
		s.met = i + 1
		for k := r.first; k < r.end; k++ {
			low, high := extent(n.points[k], n.points[k+1])
			if !overlap(low, high, s.low, s.high) {
				continue
			}
			n.looks += int(s.end - s.first)
			for l := s.first; l < s.end; l++ {
				if from, to := extent(n.points[l], n.points[l+1]); overlap(low, high, from, to) {
					n.pair(k, l)
				}
			}
		}
	}
}

// extent returns the lower left and the upper right corner of what two cells span.
func extent(p, q cell) (low, high cell) {
	return cell{min(p.x, q.x), min(p.y, q.y)}, cell{max(p.x, q.x), max(p.y, q.y)}
}

// overlap reports whether two extents have a cell in common.
func overlap(low, high, from, to cell) bool {
	return low.x <= to.x && from.x <= high.x && low.y <= to.y && from.y <= high.y
}

// pair notes where two segments break each other, and makes nodes of common
// endpoints unless one segment merely follows the other.
func (n *noder) pair(i, j int32) {
	if i > j {
		i, j = j, i
	}
	a, b, c, d := n.points[i], n.points[i+1], n.points[j], n.points[j+1]
	follows := j == i+1
	if (b == c || d == a) && dot(a, b, c, d) >= 0 {
		// One goes on from the other, within a right angle: neither can reach back.
		if !follows {
			n.markCommon(i, j)
		}
		return
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
		n.markCommon(i, j)
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

// markCommon makes nodes of the endpoints that two segments have in common.
func (n *noder) markCommon(i, j int32) {
	c, d := n.points[j], n.points[j+1]
	for _, p := range n.points[i : i+2] {
		if p == c || p == d {
			n.mark(i, p)
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
