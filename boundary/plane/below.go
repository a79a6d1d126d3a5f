package plane

import "math"

// below finds the edges under a point. A ray runs straight down, a trifle to
// the right of the point: it meets an edge whose left end is at the point's x,
// and not one whose right end is there.
type below struct {
	halves  []half
	first   float64 // x of the first column
	width   float64
	columns [][]int32 // halves that run to the right, by the columns they touch
}

// newBelow indexes the halves that pass keep and run to the right.
func newBelow(halves []half, keep func(half) bool) *below {
	b := &below{halves: halves}
	least, most := int32(math.MaxInt32), int32(math.MinInt32)
	var length float64
	n := 0
	for _, h := range halves {
		if h.from.x < h.to.x && keep(h) {
			n++
			least, most = min(least, h.from.x), max(most, h.to.x)
			length += float64(h.to.x) - float64(h.from.x)
		}
	}
	if n == 0 {
		return b
	}
	// Columns half as wide as the mean edge hold about three entries an edge.
	total := float64(most) - float64(least) + 1
	count := min(max(1, int(2*total*float64(n)/length)), 4*n, 1<<20)
	b.first, b.width = float64(least), total/float64(count)
	b.columns = make([][]int32, count)
	for i, h := range halves {
		if h.from.x < h.to.x && keep(h) {
			for c := b.column(h.from.x); c <= b.column(h.to.x); c++ {
				b.columns[c] = append(b.columns[c], int32(i))
			}
		}
	}
	return b
}

func (b *below) column(x int32) int {
	return min(int((float64(x)-b.first)/b.width), len(b.columns)-1)
}

// each visits the edges strictly below p.
func (b *below) each(p cell, visit func(half int32)) {
	if len(b.columns) == 0 || float64(p.x) < b.first {
		return
	}
	for _, i := range b.columns[b.column(p.x)] {
		if h := b.halves[i]; h.from.x <= p.x && p.x < h.to.x && turn(h.from, h.to, p) > 0 {
			visit(i)
		}
	}
}

// highest returns the uppermost edge strictly below p, -1 when there is none.
func (b *below) highest(p cell) int32 {
	best := int32(-1)
	b.each(p, func(i int32) {
		if best < 0 || above(b.halves[i], b.halves[best]) {
			best = i
		}
	})
	return best
}

// above reports whether h lies over k where both pass one x. They do not
// cross, and run to the right.
func above(h, k half) bool {
	if h.from.x >= k.from.x {
		if t := turn(k.from, k.to, h.from); t != 0 {
			return t > 0
		}
		return turn(k.from, k.to, h.to) > 0
	}
	if t := turn(h.from, h.to, k.from); t != 0 {
		return t < 0
	}
	return turn(h.from, h.to, k.to) < 0
}
