package plane

import "math"

// below finds the segments under a point. A ray runs straight down, a trifle
// to the right of the point: it meets a segment whose left end is at the
// point's x, and not one whose right end is there.
type below struct {
	first  float64 // x of the first column
	width  float64
	starts []int32     // of each column's entries, and the end
	items  []underpass // by column
}

// underpass is a segment from left to right, and the half that runs that way.
type underpass struct {
	segment
	half int32
}

func newBelow(a *Arrangement) *below {
	all := make([]underpass, 0, len(a.curves.points))
	least, most := math.Inf(1), math.Inf(-1)
	var length float64
	for _, c := range a.chains {
		for i := c.first; i < c.last; i++ {
			p, q, h := a.curves.points[i], a.curves.points[i+1], c.halves[0]
			if q.x < p.x {
				p, q, h = q, p, c.halves[1]
			}
			if p.x < q.x {
				all = append(all, underpass{segment{p, q}, h})
				least, most = min(least, float64(p.x)), max(most, float64(q.x))
				length += float64(q.x) - float64(p.x)
			}
		}
	}
	b := &below{first: least}
	if len(all) == 0 {
		return b
	}
	// Columns half as wide as the mean segment hold about three entries a segment.
	total := most - least + 1
	count := min(max(1, int(2*total*float64(len(all))/length)), 4*len(all), 1<<20)
	b.width = total / float64(count)
	b.starts = make([]int32, count+2)
	for _, u := range all {
		for c := b.column(u.a.x); c <= b.column(u.b.x); c++ {
			b.starts[c+2]++
		}
	}
	for c := range count {
		b.starts[c+2] += b.starts[c+1]
	}
	b.items = make([]underpass, b.starts[count+1])
	for _, u := range all {
		for c := b.column(u.a.x); c <= b.column(u.b.x); c++ {
			b.items[b.starts[c+1]] = u
			b.starts[c+1]++
		}
	}
	return b
}

func (b *below) column(x int32) int {
	return min(int((float64(x)-b.first)/b.width), len(b.starts)-3)
}

// each visits the segments strictly below p.
func (b *below) each(p cell, visit func(half int32, s segment)) {
	if len(b.items) == 0 || float64(p.x) < b.first {
		return
	}
	c := b.column(p.x)
	for i := range b.items[b.starts[c]:b.starts[c+1]] {
		u := &b.items[b.starts[c]+int32(i)]
		if u.a.x <= p.x && p.x < u.b.x && min(u.a.y, u.b.y) <= p.y && turn(u.a, u.b, p) > 0 {
			visit(u.half, u.segment)
		}
	}
}

// highest returns the half that runs rightward along the uppermost segment
// strictly below p of those that pass keep, -1 when there is none.
func (b *below) highest(p cell, keep func(half int32) bool) int32 {
	best := int32(-1)
	var top segment
	b.each(p, func(h int32, s segment) {
		if keep(h) && (best < 0 || s.above(top)) {
			best, top = h, s
		}
	})
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
