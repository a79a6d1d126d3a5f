package plane

import "math/bits"

// run is a piece of a ring that keeps to one direction along x and to one along
// y, so that its segments meet at their common ends only, and need not be
// looked at together.
type run struct {
	first, end int32 // segments
	low, high  cell  // its extent
	fresh      bool  // whether one of its segments is new
	met        int32 // the run that it was paired with last, plus one
}

// longestRun keeps the extents of runs small.
const longestRun = 8

// runs cuts all rings into runs, in the memory of out.
func (c *curves) runs(out []run) []run {
	out = room(out, c.segments()/2)
	var r run
	var right, up int64 // a step of the run along x, and one along y; 0 as long as there is none
	for i, p := range c.points {
		if c.flags[i]&isLast != 0 {
			continue
		}
		q := c.points[i+1]
		x, y := int64(q.x)-int64(p.x), int64(q.y)-int64(p.y)
		low, high := extent(p, q)
		if r.end == int32(i) && r.end-r.first < longestRun && x*right >= 0 && y*up >= 0 && i > 0 {
			r.low, r.high = cell{min(r.low.x, low.x), min(r.low.y, low.y)}, cell{max(r.high.x, high.x), max(r.high.y, high.y)}
		} else {
			if i > 0 {
				out = append(out, r)
			}
			r = run{first: int32(i), low: low, high: high}
			right, up = 0, 0
		}
		r.end = int32(i) + 1
		r.fresh = r.fresh || c.flags[i]&isNew != 0
		if x != 0 {
			right = x
		}
		if y != 0 {
			up = y
		}
	}
	if len(c.points) > 0 {
		out = append(out, r)
	}
	return out
}

// bins sorts the fresh runs by square bins of the grid that they pass. Runs that
// come within a cell of each other share a bin.
type bins struct {
	keys   []uint32 // of the bins of each fresh run
	shift  uint
	mask   uint32
	starts []int32 // of each bin's items, and the end of the last's
	items  []int32 // runs
	all    bool    // whether every run is fresh
	// blocks has a bit for each block of bins that the extent of a fresh run
	// touches; several blocks share one. Most runs are far from all fresh ones.
	blocks [1 << 10]uint64
}

func (b *bins) fill(points []cell, runs []run) {
	var width int64
	fresh := 0
	for i := range runs {
		r := &runs[i]
		width += max(int64(r.high.x)-int64(r.low.x), int64(r.high.y)-int64(r.low.y))
		if r.fresh {
			fresh++
		}
	}
	mean := float64(width) / float64(max(len(runs), 1))
	b.all, b.shift = fresh == len(runs), uint(bits.Len64(uint64(2*mean)))
	b.mask = 1<<max(6, bits.Len(uint(fresh))) - 1
	if !b.all {
		clear(b.blocks[:])
	}
	keys := room(b.keys, 5*fresh/2)
	const opens = 1 << 31 // marks the first key of a run
	for i := range runs {
		r := &runs[i]
		if !r.fresh {
			continue
		}
		first := len(keys)
		keys = b.coverRun(keys, points, r)
		keys[first] |= opens
		if !b.all {
			b.occupy(r.low, r.high)
		}
	}
	// Filling a bin moves its start to its end, which is the next bin's start:
	// so the starts stand one place further on at first.
	b.keys = keys
	b.starts = sized(b.starts, int(b.mask)+3)
	for _, k := range keys {
		b.starts[k&^opens+2]++
	}
	for k := range b.mask + 1 {
		b.starts[k+2] += b.starts[k+1]
	}
	b.items = room(b.items, len(keys))[:len(keys)]
	i := int32(-1)
	for _, k := range keys {
		if k&opens != 0 {
			for i++; !runs[i].fresh; i++ {
			}
		}
		end := &b.starts[k&^opens+1]
		b.items[*end] = i
		*end++
	}
}

// occupy sets the bits of the blocks that a fresh run's extent touches.
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

// mayMeet reports whether a run is near enough to a fresh one to look closer.
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

// mostBlocks is how many blocks of a run's extent are looked at.
const mostBlocks = 64

// extent returns the blocks of 8 by 8 bins that a run's extent touches, with a cell to spare.
func (b *bins) extent(p, q cell) (left, right, low, high int64) {
	return b.bin(min(p.x, q.x)-1) >> 3, b.bin(max(p.x, q.x)+1) >> 3, b.bin(min(p.y, q.y)-1) >> 3, b.bin(max(p.y, q.y)+1) >> 3
}

func block(x, y int64) uint32 {
	h := uint32(x)*0x9E3779B1 ^ uint32(y)*0x85EBCA77
	return (h ^ h>>15) & (1<<16 - 1)
}

// coverRun appends the bins that a run passes: those of its extent where these are few.
func (b *bins) coverRun(keys []uint32, points []cell, r *run) []uint32 {
	left, right, low, high := b.bin(r.low.x), b.bin(r.high.x), b.bin(r.low.y-1), b.bin(r.high.y+1)
	if right-left > 1 || high-low > 1 {
		for i := r.first; i < r.end; i++ {
			keys = b.cover(keys, points[i], points[i+1])
		}
		return keys
	}
	for x := left; x <= right; x++ {
		for y := low; y <= high; y++ {
			keys = append(keys, b.key(x, y))
		}
	}
	return keys
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
