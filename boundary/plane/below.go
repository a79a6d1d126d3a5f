package plane

import "math"

// below finds the segments under a point, by square bins that the segments
// pass. A ray runs straight down, a trifle to the right of the point: it meets
// a segment whose left end is at the point's x, and not one whose right end is
// there.
type below struct {
	left, bottom  float64 // of the first bin
	width         float64
	perWidth      float64 // 1 / width
	columns, rows int
	segments      []underpass
	last          []int32 // of each bin's items, 0 for none
	items         []item  // from 1
}

// underpass is a segment from left to right, and the half that runs that way.
type underpass struct {
	segment
	half int32
}

// item is a segment in a bin.
type item struct {
	segment int32
	before  int32 // the item before it in the same bin, 0 for none
}

func newBelow(a *Arrangement) *below {
	all := make([]underpass, 0, len(a.curves.points))
	left, right, bottom, top := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	var length float64
	for _, c := range a.chains {
		for i := c.first; i < c.last; i++ {
			p, q, h := a.curves.points[i], a.curves.points[i+1], c.halves[0]
			if q.x < p.x {
				p, q, h = q, p, c.halves[1]
			}
			if p.x == q.x {
				continue
			}
			all = append(all, underpass{segment: segment{p, q}, half: h})
			left, right = min(left, float64(p.x)), max(right, float64(q.x))
			bottom, top = min(bottom, float64(p.y), float64(q.y)), max(top, float64(p.y), float64(q.y))
			length += math.Abs(float64(q.x)-float64(p.x)) + math.Abs(float64(q.y)-float64(p.y))
		}
	}
	b := &below{left: left, bottom: bottom, segments: all}
	if len(all) == 0 {
		return b
	}
	// Bins as wide as the mean segment, and no more of them than twice the segments.
	wide, high := right-left+1, top-bottom+1
	b.width = max(length/float64(len(all)), math.Sqrt(wide/float64(2*len(all))*high), max(wide, high)/float64(2*len(all)))
	b.perWidth = 1 / b.width
	b.columns, b.rows = int(wide*b.perWidth)+1, int(high*b.perWidth)+1
	b.last = make([]int32, b.columns*b.rows)
	b.items = make([]item, 1, 3*len(all))
	for i := range all {
		b.cover(all[i].segment, func(bin int) {
			b.items = append(b.items, item{int32(i), b.last[bin]})
			b.last[bin] = int32(len(b.items) - 1)
		})
	}
	return b
}

func (b *below) column(x float64) int { return min(max(int((x-b.left)*b.perWidth), 0), b.columns-1) }

func (b *below) row(y float64) int { return min(max(int((y-b.bottom)*b.perWidth), 0), b.rows-1) }

// cover visits the bins that a segment passes, with a cell to spare.
func (b *below) cover(s segment, visit func(bin int)) {
	first, last := b.column(float64(s.a.x)), b.column(float64(s.b.x))
	slope := (float64(s.b.y) - float64(s.a.y)) / (float64(s.b.x) - float64(s.a.x))
	for c := first; c <= last; c++ {
		from, to := float64(s.a.y), float64(s.b.y)
		if c > first {
			from = s.height(b.left+float64(c)*b.width, slope)
		}
		if c < last {
			to = s.height(b.left+float64(c+1)*b.width, slope)
		}
		for r := b.row(min(from, to) - 1); r <= b.row(max(from, to)+1); r++ {
			visit(c*b.rows + r)
		}
	}
}

// height is that of the segment's line at x.
func (s segment) height(x, slope float64) float64 {
	return float64(s.a.y) + slope*(x-float64(s.a.x))
}

// highest returns the half that runs rightward along the uppermost segment
// strictly below p of those that pass keep, -1 when there is none.
func (b *below) highest(p cell, keep func(half int32) bool) int32 {
	if len(b.items) == 0 || float64(p.x) < b.left {
		return -1
	}
	best := int32(-1)
	var top segment
	least := 0 // the row that the best passes below p
	c := b.column(float64(p.x)) * b.rows
	for r := b.row(float64(p.y)); r >= least; r-- {
		for i := b.last[c+r]; i > 0; i = b.items[i].before {
			u := &b.segments[b.items[i].segment]
			if u.a.x <= p.x && p.x < u.b.x && min(u.a.y, u.b.y) <= p.y && turn(u.a, u.b, p) > 0 &&
				keep(u.half) && (best < 0 || u.above(top)) {
				best, top = u.half, u.segment
			}
		}
		if best >= 0 {
			slope := (float64(top.b.y) - float64(top.a.y)) / (float64(top.b.x) - float64(top.a.x))
			least = b.row(top.height(float64(p.x), slope) - 1)
		}
	}
	return best
}

// above reports whether s lies over t where both pass one x. They do not
// cross, and run to the right.
func (s segment) above(t segment) bool {
	if s.a.x >= t.a.x {
		if side := turn(t.a, t.b, s.a); side != 0 {
			return side > 0
		}
		return turn(t.a, t.b, s.b) > 0
	}
	if side := turn(s.a, s.b, t.a); side != 0 {
		return side < 0
	}
	return turn(s.a, s.b, t.b) < 0
}
