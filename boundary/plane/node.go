package plane

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// segment runs from the lesser cell a to the greater b. Its weight is how often
// its layer's rings run along it from a to b, less how often from b to a.
type segment struct {
	a, b   cell
	layer  int32
	weight int32
}

func directed(from, to cell, layer int) segment {
	if to.before(from) {
		return segment{to, from, int32(layer), -1}
	}
	return segment{from, to, int32(layer), 1}
}

func compareCells(p, q cell) int {
	return cmp.Or(cmp.Compare(p.x, q.x), cmp.Compare(p.y, q.y))
}

func compareSegments(s, t segment) int {
	return cmp.Or(compareCells(s.a, t.a), compareCells(s.b, t.b), cmp.Compare(s.layer, t.layer))
}

// merged sorts segments and adds up those that coincide in place and layer.
// One that is walked as often each way stays, weightless: it may still hold
// the only vertex at which others must break.
func merged(segments []segment) []segment {
	slices.SortFunc(segments, compareSegments)
	out := segments[:0]
	for _, s := range segments {
		if n := len(out); n > 0 && compareSegments(out[n-1], s) == 0 {
			out[n-1].weight += s.weight
			continue
		}
		out = append(out, s)
	}
	return out
}

// maxPasses bounds the rounds of noding. Every round splits segments at cells
// of their own path and a segment has no more cells than its length, so that
// the rounds end by themselves; a handful is usual.
const maxPasses = 64

// noded splits segments until they meet in common endpoints only: wherever
// two cross, at the cell nearest to the crossing, and wherever one passes
// through the pixel of another's endpoint, there (iterated snap rounding). In
// the result every endpoint is at least half a cell from every segment that
// does not end in it. ok is false when that took more than maxPasses.
func noded(segments []segment) (_ []segment, ok bool) {
	segments = merged(segments)
	fresh := make([]bool, len(segments))
	for i := range fresh {
		fresh[i] = true
	}
	for range maxPasses {
		breaks := findBreaks(segments, fresh)
		if len(breaks) == 0 {
			return segments, true
		}
		segments, fresh = split(segments, breaks)
	}
	return nil, false
}

// breakAt says that segment number i must be split at p.
type breakAt struct {
	i int
	p cell
}

// findBreaks looks at all pairs of which at least one segment is fresh, that
// is, was not there in the round before.
func findBreaks(segments []segment, fresh []bool) []breakAt {
	boxes := make([]orb.Bound, len(segments))
	for i, s := range segments {
		boxes[i] = orb.Bound{
			Min: orb.Point{float64(s.a.x), float64(min(s.a.y, s.b.y))},
			Max: orb.Point{float64(s.b.x), float64(max(s.a.y, s.b.y))},
		}
	}
	var breaks []breakAt
	overlappingPairs(boxes, func(i, j int) {
		if !fresh[i] && !fresh[j] {
			return
		}
		s, t := segments[i], segments[j]
		if s.a == t.a && s.b == t.b {
			return
		}
		found := len(breaks)
		for _, p := range [2]cell{t.a, t.b} {
			if s.through(p) {
				breaks = append(breaks, breakAt{i, p})
			}
		}
		for _, p := range [2]cell{s.a, s.b} {
			if t.through(p) {
				breaks = append(breaks, breakAt{j, p})
			}
		}
		if len(breaks) > found {
			return // a crossing that is still there shows in the next round
		}
		if p, crosses := meetingCell(s, t); crosses {
			if p != s.a && p != s.b {
				breaks = append(breaks, breakAt{i, p})
			}
			if p != t.a && p != t.b {
				breaks = append(breaks, breakAt{j, p})
			}
		}
	})
	return breaks
}

// through reports whether s passes through the pixel of p and does not end
// there. The test is strict: a unit diagonal would otherwise break at cells
// beside it for ever, and two cells that pass it lie in the same order along x
// and along y.
func (s segment) through(p cell) bool {
	if p == s.a || p == s.b || p.x < s.a.x || p.x > s.b.x || p.y < min(s.a.y, s.b.y) || p.y > max(s.a.y, s.b.y) {
		return false
	}
	t := turn(s.a, s.b, p)
	if t < 0 {
		t = -t
	}
	dx := int64(s.b.x) - int64(s.a.x)
	dy := int64(s.b.y) - int64(s.a.y)
	if dy < 0 {
		dy = -dy
	}
	return 2*t < dx+dy
}

// meetingCell returns the cell nearest to where s and t cross in the inside of
// both. The four turns are exact; the quotient and product round by parts in
// 2^52, so that the cell may be the neighbour of the nearest when the crossing
// lies within 2^-20 of a cell's rim. Both segments are broken at the same cell,
// so that this does no harm.
func meetingCell(s, t segment) (cell, bool) {
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

// split breaks the segments and says which of the result are fresh.
func split(segments []segment, breaks []breakAt) ([]segment, []bool) {
	slices.SortFunc(breaks, func(p, q breakAt) int {
		if c := cmp.Compare(p.i, q.i); c != 0 {
			return c
		}
		// Along the segment: x first, then y the way the segment runs.
		if p.p.x != q.p.x {
			return cmp.Compare(p.p.x, q.p.x)
		}
		if s := segments[p.i]; s.a.y > s.b.y {
			return cmp.Compare(q.p.y, p.p.y)
		}
		return cmp.Compare(p.p.y, q.p.y)
	})
	breaks = slices.Compact(breaks)

	var old, pieces []segment
	for i, b := 0, 0; i < len(segments); i++ {
		s := segments[i]
		if b == len(breaks) || breaks[b].i != i {
			old = append(old, s)
			continue
		}
		from := s.a
		for ; b < len(breaks) && breaks[b].i == i; b++ {
			pieces = append(pieces, s.piece(from, breaks[b].p))
			from = breaks[b].p
		}
		pieces = append(pieces, s.piece(from, s.b))
	}
	pieces = merged(pieces)

	// Both lists are sorted: merge them, adding up where a piece falls on an
	// old segment, which then is not fresh.
	out := make([]segment, 0, len(old)+len(pieces))
	fresh := make([]bool, 0, cap(out))
	for len(old) > 0 || len(pieces) > 0 {
		c := 0
		switch {
		case len(pieces) == 0:
			c = -1
		case len(old) == 0:
			c = 1
		default:
			c = compareSegments(old[0], pieces[0])
		}
		switch {
		case c < 0:
			out, fresh, old = append(out, old[0]), append(fresh, false), old[1:]
		case c > 0:
			out, fresh, pieces = append(out, pieces[0]), append(fresh, true), pieces[1:]
		default:
			s := old[0]
			s.weight += pieces[0].weight
			out, fresh, old, pieces = append(out, s), append(fresh, false), old[1:], pieces[1:]
		}
	}
	return out, fresh
}

// piece returns the part of s between two of its cells, the weight turned
// where rounding has made the piece run backwards in the order of cells.
func (s segment) piece(from, to cell) segment {
	if to.before(from) {
		return segment{to, from, s.layer, -s.weight}
	}
	return segment{from, to, s.layer, s.weight}
}
