package plane

import (
	"cmp"
	"math/bits"
	"slices"

	"github.com/paulmach/orb"
)

// Arrangement is the division of the plane by rings: where no two chains cross
// and each side of each chain knows how often every layer winds around it.
type Arrangement struct {
	grid   Grid
	layers int
	curves *curves
	chains []chain
	// halves holds every chain twice, once from each end, by the node it starts
	// at and counter-clockwise around that node.
	halves []half
	// around[n] to around[n+1] are the halves that start at node n.
	around []int32
	left   []int32 // layers values a half: the windings on its left
	under  *below  // made when it is needed
}

// chain is a piece of a ring between two nodes: points[first] to points[last].
type chain struct {
	first, last int32
	lowest      int32 // the lowest, then leftmost, of its points
	halves      [2]int32
}

// half is a chain seen from one of its ends.
type half struct {
	chain    int32
	backward bool
	node     int32 // number of the node it starts at
	twin     int32 // the same chain seen from its other end
}

// Arrange lays the rings of all layers into one arrangement on the grid. Each
// ring winds its layer once around what it encloses: +1 where it runs
// counter-clockwise, -1 where clockwise, and as often as it goes around where
// it crosses itself. Rings need not be closed; numbers must be finite and
// within the bound that the grid was made for.
func Arrange(g Grid, layers ...[]orb.Ring) *Arrangement {
	for ; ; g = g.coarser() {
		c := newCurves(g, layers)
		if !c.node() {
			continue
		}
		a := &Arrangement{grid: g, layers: len(layers), curves: c}
		weights := a.link()
		a.flood(weights)
		return a
	}
}

// weights says, for each chain and layer, how often the layer's rings run along
// the chain from its first point to its last, less how often the other way.
type weights struct {
	layers int
	values []int32
}

// across returns how much the winding of layer l grows from the right to the left of h.
func (w weights) across(h half, l int) int32 {
	v := w.values[int(h.chain)*w.layers+l]
	if h.backward {
		return -v
	}
	return v
}

// link cuts the rings into chains at their nodes and sorts the halves. Rings
// that run along each other have a node at each vertex there, so that what
// coincides are chains of one segment each, which become one chain; one that
// is walked as often each way divides nothing and goes.
func (a *Arrangement) link() weights {
	w := weights{layers: a.layers}
	c := a.curves
	var single []singleChain
	for r, layer := range c.layers {
		first := c.starts[r]
		lowest := first
		for i := first + 1; i < c.starts[r+1]; i++ {
			if c.points[i].lower(c.points[lowest]) {
				lowest = i
			}
			if c.flags[i]&isNode == 0 {
				continue
			}
			if i == first+1 {
				single = append(single, newSingleChain(c.points[first], c.points[i], first, layer))
			} else {
				a.chains = append(a.chains, chain{first: first, last: i, lowest: lowest})
				w.add(layer, 1)
			}
			first, lowest = i, i
		}
	}
	slices.SortFunc(single, func(s, t singleChain) int {
		return cmp.Or(compareCells(s.a, t.a), compareCells(s.b, t.b), cmp.Compare(s.first, t.first))
	})
	for i := 0; i < len(single); {
		s := single[i]
		w.add(0, 0)
		sums := w.values[len(w.values)-a.layers:]
		counts := false
		for ; i < len(single) && single[i].a == s.a && single[i].b == s.b; i++ {
			sums[single[i].layer] += single[i].weight
		}
		for l := range sums {
			counts = counts || sums[l] != 0
			if s.weight < 0 { // the chain's own direction is from b to a
				sums[l] = -sums[l]
			}
		}
		if !counts {
			w.values = w.values[:len(w.values)-a.layers]
			continue
		}
		lowest := s.first
		if c.points[lowest+1].lower(c.points[lowest]) {
			lowest++
		}
		a.chains = append(a.chains, chain{first: s.first, last: s.first + 1, lowest: lowest})
	}
	a.sortHalves()
	return w
}

func (w *weights) add(layer, weight int32) {
	w.values = append(w.values, make([]int32, w.layers)...)
	w.values[len(w.values)-w.layers+int(layer)] = weight
}

// singleChain is a chain of one segment between the lesser cell a and the
// greater b; its weight is -1 where its ring runs from b to a.
type singleChain struct {
	a, b          cell
	first         int32
	layer, weight int32
}

func newSingleChain(from, to cell, first, layer int32) singleChain {
	if to.before(from) {
		return singleChain{to, from, first, layer, -1}
	}
	return singleChain{from, to, first, layer, 1}
}

func compareCells(p, q cell) int {
	return cmp.Or(cmp.Compare(p.x, q.x), cmp.Compare(p.y, q.y))
}

// from returns the cell at which h starts, next the one after it.
func (a *Arrangement) from(h half) cell {
	if h.backward {
		return a.curves.points[a.chains[h.chain].last]
	}
	return a.curves.points[a.chains[h.chain].first]
}

func (a *Arrangement) next(h half) cell {
	if h.backward {
		return a.curves.points[a.chains[h.chain].last-1]
	}
	return a.curves.points[a.chains[h.chain].first+1]
}

func (a *Arrangement) sortHalves() {
	nodes := newNodeNumbers(2 * len(a.chains))
	starts := make([]int32, 2*len(a.chains)) // the node of each half, chain by chain
	for i, c := range a.chains {
		starts[2*i] = nodes.of(a.curves.points[c.first])
		starts[2*i+1] = nodes.of(a.curves.points[c.last])
	}
	a.around = make([]int32, nodes.count+1)
	for _, n := range starts {
		a.around[n]++
	}
	var end int32
	for n := range a.around {
		a.around[n], end = end, end+a.around[n]
	}
	a.halves = make([]half, len(starts))
	next := slices.Clone(a.around)
	for i, n := range starts {
		a.halves[next[n]] = half{chain: int32(i / 2), backward: i%2 == 1, node: n}
		next[n]++
	}
	for n := range nodes.count {
		here := a.halves[a.around[n]:a.around[n+1]]
		slices.SortFunc(here, func(h, k half) int {
			return compareDirections(a.from(h), a.next(h), a.next(k))
		})
		for i, h := range here {
			end := 0
			if h.backward {
				end = 1
			}
			a.chains[h.chain].halves[end] = a.around[n] + int32(i)
		}
	}
	for i := range a.halves {
		ends := a.chains[a.halves[i].chain].halves
		a.halves[i].twin = ends[0] + ends[1] - int32(i)
	}
}

// nodeNumbers counts cells from 0 in the order in which they first come, by
// open addressing in a table that is at most half full.
type nodeNumbers struct {
	keys    []uint64
	numbers []int32 // plus one
	count   int32
}

func newNodeNumbers(most int) nodeNumbers {
	size := 1 << bits.Len(uint(2*most))
	return nodeNumbers{keys: make([]uint64, size), numbers: make([]int32, size)}
}

func (n *nodeNumbers) of(c cell) int32 {
	key := c.key()
	mask := uint64(len(n.keys) - 1)
	for at := key * 0x9E3779B97F4A7C15 >> 20 & mask; ; at = (at + 1) & mask {
		switch {
		case n.numbers[at] == 0:
			n.count++
			n.keys[at], n.numbers[at] = key, n.count
			return n.count - 1
		case n.keys[at] == key:
			return n.numbers[at] - 1
		}
	}
}

// compareDirections orders the directions from p to q and to r
// counter-clockwise, from due east.
func compareDirections(p, q, r cell) int {
	if lq, lr := southward(p, q), southward(p, r); lq != lr {
		if lr {
			return -1
		}
		return 1
	}
	return -cmp.Compare(turn(p, q, r), 0)
}

// southward is false for the directions from due east to just short of due west.
func southward(p, q cell) bool { return q.y < p.y || q.y == p.y && q.x < p.x }

// windings returns the winding of every layer on the left of a half.
func (a *Arrangement) windings(h int32) []int32 {
	return a.left[int(h)*a.layers : (int(h)+1)*a.layers]
}

// flood finds the windings everywhere. Around a node each chain adds its weight
// to the wedge before it, so that one known wedge gives all of them and the
// node at the other end of each chain. Every connected component starts from
// its lowest point: nothing of its own lies below that, so that the side which
// holds "down" has the windings on top of whatever is below. That belongs to a
// component with a lower lowest point, and those come first.
func (a *Arrangement) flood(w weights) {
	a.left = make([]int32, a.layers*len(a.halves))
	components := a.components()
	slices.SortFunc(components, func(c, d component) int {
		return cmp.Compare(cell{c.lowest.y, c.lowest.x}.key(), cell{d.lowest.y, d.lowest.x}.key())
	})
	known := make([]bool, len(a.around)-1)
	var todo []int32 // halves whose left is known and whose node is still to be done
	for i, c := range components {
		start := c.start
		if i > 0 {
			if h := a.below().highest(c.lowest, func(int32) bool { return true }); h >= 0 {
				copy(a.windings(start), a.windings(h))
			}
		}
		known[a.halves[start].node] = true
		todo = append(todo[:0], start)
		for len(todo) > 0 {
			h := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			first, end := a.around[a.halves[h].node], a.around[a.halves[h].node+1]
			here := h
			for range end - first {
				following := here + 1
				if following == end {
					following = first
				}
				if following != h {
					for l := range a.layers {
						a.windings(following)[l] = a.windings(here)[l] + w.across(a.halves[following], l)
					}
				}
				twin := a.halves[here].twin
				if node := a.halves[twin].node; !known[node] {
					known[node] = true
					for l := range a.layers {
						a.windings(twin)[l] = a.windings(here)[l] - w.across(a.halves[here], l)
					}
					todo = append(todo, twin)
				}
				here = following
			}
		}
	}
}

func (a *Arrangement) below() *below {
	if a.under == nil {
		a.under = newBelow(a)
	}
	return a.under
}

// component is a connected part of an arrangement: its lowest, then leftmost,
// point, and a half on whose left lies what is just below that.
type component struct {
	lowest cell
	start  int32
}

func (a *Arrangement) components() []component {
	seen := make([]bool, len(a.around)-1)
	nodes := make([]int32, 0, len(seen))
	var out []component
	for n := range seen {
		if seen[n] {
			continue
		}
		seen[n] = true
		nodes = append(nodes[:0], int32(n))
		for i := 0; i < len(nodes); i++ {
			for h := a.around[nodes[i]]; h < a.around[nodes[i]+1]; h++ {
				if m := a.halves[a.halves[h].twin].node; !seen[m] {
					seen[m] = true
					nodes = append(nodes, m)
				}
			}
		}
		out = append(out, a.componentOf(nodes))
	}
	return out
}

func (a *Arrangement) componentOf(nodes []int32) component {
	var lowest cell
	h := int32(-1)
	for _, n := range nodes {
		for k := a.around[n]; k < a.around[n+1]; k++ {
			if c := a.chains[a.halves[k].chain]; h < 0 || a.curves.points[c.lowest].lower(lowest) {
				lowest, h = a.curves.points[c.lowest], k
			}
		}
	}
	c := a.chains[a.halves[h].chain]
	if c.lowest > c.first && c.lowest < c.last {
		// Within a chain: what it turns away from lies below.
		p := a.curves.points[c.lowest-1 : c.lowest+2]
		if turn(p[0], p[1], p[2]) > 0 {
			return component{lowest, c.halves[1]}
		}
		return component{lowest, c.halves[0]}
	}
	// At a node: no half of it runs down, so that the last in order has "down" on its left.
	k := c.halves[0]
	if c.lowest == c.last && a.curves.points[c.first] != lowest {
		k = c.halves[1]
	}
	return component{lowest, a.around[a.halves[k].node+1] - 1}
}
