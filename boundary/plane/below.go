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
	filled        bool
	points        []cell
	segments      []underpass
	last          []int32 // of each bin's items, 0 for none
	items         []item  // from 1
}

// underpass is a segment, by the index of its left end, and the half that runs
// to the right along it.
type underpass struct{ left, right, half int32 }

// item is a segment in a bin.
type item struct {
	segment int32
	before  int32 // the item before it in the same bin, 0 for none
}

func (b *below) fill(a *Arrangement) {
	points := a.curves.points
	all := room(b.segments, len(points))
	left, right, bottom, top := int32(math.MaxInt32), int32(math.MinInt32), int32(math.MaxInt32), int32(math.MinInt32)
	var length int64
	for _, c := range a.chains {
		for i := c.first; i < c.last; i++ {
			p, q, u := points[i], points[i+1], underpass{i, i + 1, c.halves[0]}
			if q.x < p.x {
				p, q, u = q, p, underpass{i + 1, i, c.halves[1]}
			}
			if p.x == q.x {
				continue
			}
			all = append(all, u)
			left, right = min(left, p.x), max(right, q.x)
			bottom, top = min(bottom, p.y, q.y), max(top, p.y, q.y)
			length += int64(q.x) - int64(p.x) + absolute(int64(q.y)-int64(p.y))
		}
	}
	b.filled, b.points, b.segments, b.items = true, points, all, b.items[:0]
	if len(all) == 0 {
		return
	}
	b.left, b.bottom = float64(left), float64(bottom)
	// Bins as wide as the mean segment, and no more of them than twice the segments.
	wide, high := float64(right)-b.left+1, float64(top)-b.bottom+1
	b.width = max(float64(length)/float64(len(all)), math.Sqrt(wide/float64(2*len(all))*high), max(wide, high)/float64(2*len(all)))
	b.perWidth = 1 / b.width
	b.columns, b.rows = int(wide*b.perWidth)+1, int(high*b.perWidth)+1
	b.last = sized(b.last, b.columns*b.rows)
	b.items = append(room(b.items, 3*len(all)), item{})
	for i, u := range all {
		b.cover(segment{points[u.left], points[u.right]}, int32(i))
	}
}

func (b *below) column(x float64) int { return min(max(int((x-b.left)*b.perWidth), 0), b.columns-1) }

func (b *below) row(y float64) int { return min(max(int((y-b.bottom)*b.perWidth), 0), b.rows-1) }

// cover puts a segment into the bins that it passes, with a cell to spare.
func (b *below) cover(s segment, number int32) {
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
		if from > to {
			from, to = to, from
		}
		upper := c*b.rows + b.row(to+1)
		for bin := c*b.rows + b.row(from-1); bin <= upper; bin++ {
			b.items = append(b.items, item{number, b.last[bin]})
			b.last[bin] = int32(len(b.items) - 1)
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
			u := b.segments[b.items[i].segment]
			s := segment{b.points[u.left], b.points[u.right]}
			if s.a.x <= p.x && p.x < s.b.x && min(s.a.y, s.b.y) <= p.y && turn(s.a, s.b, p) > 0 &&
				keep(u.half) && (best < 0 || s.above(top)) {
				best, top = u.half, s
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
