package plane

import (
	"slices"

	"github.com/paulmach/orb"
)

// curves holds rings as one list of cells. A ring begins at its lowest, then
// leftmost, vertex and ends with the same; segment i runs from points[i] to
// points[i+1], and none begins at the last point of a ring.
type curves struct {
	points []cell
	flags  []uint8 // of each point
	layers []int32 // of each ring
	starts []int32 // of each ring, and the end of the last
}

const (
	isNode = 1 << iota // something else meets the ring here
	isMade             // no vertex as given, but a break
	isLast             // the last point of its ring: no segment begins here
	isNew              // the segment that begins here was not there a round ago
)

func (c *curves) lay(g Grid, layers [][]orb.Ring) {
	n, rings := 0, 0
	for _, layer := range layers {
		rings += len(layer)
		for _, ring := range layer {
			n += len(ring) + 1
		}
	}
	c.points, c.flags = room(c.points, n), room(c.flags, n)
	c.layers, c.starts = room(c.layers, rings), room(c.starts, rings+1)
	for l, layer := range layers {
		for _, ring := range layer {
			c.add(g, ring, int32(l))
		}
	}
	c.starts = append(c.starts, int32(len(c.points)))
}

// add appends a ring without repeated cells; one of a single cell is nothing.
func (c *curves) add(g Grid, ring orb.Ring, layer int32) {
	start := len(c.points)
	for _, p := range ring {
		if q := g.cell(p); len(c.points) == start || q != c.points[len(c.points)-1] {
			c.points = append(c.points, q)
		}
	}
	for len(c.points) > start+1 && c.points[len(c.points)-1] == c.points[start] {
		c.points = c.points[:len(c.points)-1]
	}
	if len(c.points) < start+2 {
		c.points = c.points[:start]
		return
	}
	own := c.points[start:]
	rotate(own, lowestOf(own))
	c.points = append(c.points, c.points[start])
	for range own {
		c.flags = append(c.flags, isNew)
	}
	c.flags[start] |= isNode
	c.flags = append(c.flags, isNode|isLast)
	c.starts = append(c.starts, int32(start))
	c.layers = append(c.layers, layer)
}

// lowestOf returns the index of the lowest, then leftmost, point.
func lowestOf(points []cell) int {
	lowest := 0
	for i, p := range points {
		if p.lower(points[lowest]) {
			lowest = i
		}
	}
	return lowest
}

// rotate makes points[first] the first, in the same cyclic order.
func rotate[T any](points []T, first int) {
	if first > 0 {
		slices.Reverse(points[:first])
		slices.Reverse(points[first:])
		slices.Reverse(points)
	}
}

// segments returns how many places there are for segments; the last point of
// a ring holds none.
func (c *curves) segments() int { return len(c.points) - 1 }

// mark makes a node of p, at which segment i begins or ends.
func (c *curves) mark(i int32, p cell) {
	if c.points[i] == p {
		c.flags[i] |= isNode
	} else {
		c.flags[i+1] |= isNode
	}
}

// insert breaks segments: breaks must be sorted by segment and along it. The
// pieces are new, all other segments are not.
func (c *curves) insert(breaks []breakAt) {
	points := make([]cell, 0, len(c.points)+len(breaks))
	flags := make([]uint8, 0, len(c.points)+len(breaks))
	ring, b := 0, 0
	for i := range c.points {
		if ring < len(c.layers) && int32(i) == c.starts[ring] {
			c.starts[ring] = int32(len(points))
			ring++
		}
		points = append(points, c.points[i])
		flags = append(flags, c.flags[i]&^isNew)
		for ; b < len(breaks) && breaks[b].segment == int32(i); b++ {
			flags[len(flags)-1] |= isNew
			points = append(points, breaks[b].at)
			flags = append(flags, isNode|isMade|isNew)
		}
	}
	c.points, c.flags = points, flags
	c.starts[len(c.starts)-1] = int32(len(points))
}
