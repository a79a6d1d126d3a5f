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
	curves curves
	chains []chain
	// halves holds every chain twice, once from each end, by the node it starts
	// at and counter-clockwise around that node.
	halves []half
	// around[n] to around[n+1] are the halves that start at node n.
	around []int32
	left   []int32 // layers values a half: the windings on its left
	index  below   // filled when it is needed
	parts  []component
	partOf []int32 // the component of each node
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
	var a Arrangement
	a.arrange(&scratch{}, g, layers)
	return &a
}

// arrange lays the rings in the memory that a has from an arrangement before.
func (a *Arrangement) arrange(s *scratch, g Grid, layers [][]orb.Ring) {
	for a.curves.lay(g, layers); !a.curves.node(&s.noder); a.curves.lay(g, layers) {
		g = g.coarser()
	}
	a.grid, a.layers, a.index.filled = g, len(layers), false
	a.link(s)
	a.sortHalves(s)
	a.flood(s)
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
func (a *Arrangement) link(s *scratch) {
	c := &a.curves
	chains := -len(c.layers) // a ring has a node at each end
	for _, f := range c.flags {
		chains += int(f & isNode)
	}
	a.chains = room(a.chains, chains)
	w := &s.weights
	w.layers, w.values = a.layers, room(w.values, chains*a.layers)
	single := s.single[:0]
	for r, layer := range c.layers {
		first, end := c.starts[r], c.starts[r+1]
		lowest := first
		for i := first + 1; i < end; i++ {
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
		if c := compareCells(s.a, t.a); c != 0 {
			return c
		}
		if c := compareCells(s.b, t.b); c != 0 {
			return c
		}
		return cmp.Compare(s.first, t.first)
	})
	s.single = single
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
}

func (w *weights) add(layer, weight int32) {
	for range w.layers {
		w.values = append(w.values, 0)
	}
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
	if p.x != q.x {
		return cmp.Compare(p.x, q.x)
	}
	return cmp.Compare(p.y, q.y)
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

func (a *Arrangement) sortHalves(s *scratch) {
	nodes := &s.nodes
	nodes.reset(len(a.chains)) // every node ends two chains or more, or one twice
	s.starts = sized(s.starts, 2*len(a.chains))
	starts := s.starts // the node of each half, chain by chain
	for i, c := range a.chains {
		starts[2*i] = nodes.of(a.curves.points[c.first])
		starts[2*i+1] = nodes.of(a.curves.points[c.last])
	}
	a.around = sized(a.around, len(nodes.cells)+1)
	for _, n := range starts {
		a.around[n]++
	}
	var end int32
	for n := range a.around {
		a.around[n], end = end, end+a.around[n]
	}
	a.halves = room(a.halves, len(starts))[:len(starts)]
	s.next = append(s.next[:0], a.around...)
	next := s.next
	for i, n := range starts {
		a.halves[next[n]] = half{chain: int32(i / 2), backward: i%2 == 1, node: n}
		next[n]++
	}
	for n := range nodes.cells {
		here := a.halves[a.around[n]:a.around[n+1]]
		a.sortAround(here)
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

// sortAround sorts the halves that start at one node counter-clockwise.
func (a *Arrangement) sortAround(here []half) {
	compare := func(h, k half) int { return compareDirections(a.from(h), a.next(h), a.next(k)) }
	if len(here) > 2 {
		slices.SortFunc(here, compare)
	} else if compare(here[0], here[1]) > 0 {
		here[0], here[1] = here[1], here[0]
	}
}

// nodeNumbers counts cells from 0 in the order in which they first come, by
// open addressing in a table that is at most half full.
type nodeNumbers struct {
	cells []cell
	table []int32 // numbers, plus one
}

func (n *nodeNumbers) reset(most int) {
	n.cells, n.table = room(n.cells, most), sized(n.table, 1<<bits.Len(uint(2*most)))
}

func (n *nodeNumbers) of(c cell) int32 {
	mask := len(n.table) - 1
	for at := int(c.key()*0x9E3779B97F4A7C15>>32) & mask; ; at = (at + 1) & mask {
		switch number := n.table[at]; {
		case number == 0:
			n.cells = append(n.cells, c)
			n.table[at] = int32(len(n.cells))
			return int32(len(n.cells)) - 1
		case n.cells[number-1] == c:
			return number - 1
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
// component with a lower lowest point, which is done first.
func (a *Arrangement) flood(s *scratch) {
	a.left = sized(a.left, a.layers*len(a.halves))
	a.findParts(s)
	s.known = sized(s.known, len(a.partOf))
	f := flooder{Arrangement: a, weights: s.weights, known: s.known}
	if len(a.parts) == 1 {
		f.flood(a.parts[0].start)
		return
	}
	var path []int32 // components that wait for the one after them
	for i := range a.parts {
		path = path[:0]
		for p := int32(i); !f.known[a.halves[a.parts[p].start].node]; {
			path = append(path, p)
			c := &a.parts[p]
			if c.under = a.below().highest(c.lowest, func(int32) bool { return true }); c.under < 0 {
				break
			}
			p = a.partOf[a.halves[c.under].node]
		}
		for _, p := range slices.Backward(path) {
			c := a.parts[p]
			if c.under >= 0 {
				copy(a.windings(c.start), a.windings(c.under))
			}
			f.flood(c.start)
		}
	}
}

// flooder finds the windings of one component after the other.
type flooder struct {
	*Arrangement
	weights weights
	known   []bool  // of each node
	todo    []int32 // halves whose left is known and whose node is still to be done
}

// flood goes from a half whose left is known through its component.
func (f *flooder) flood(start int32) {
	f.known[f.halves[start].node] = true
	f.todo = append(f.todo[:0], start)
	for len(f.todo) > 0 {
		h := f.todo[len(f.todo)-1]
		f.todo = f.todo[:len(f.todo)-1]
		first, end := f.around[f.halves[h].node], f.around[f.halves[h].node+1]
		here := h
		for range end - first {
			following := here + 1
			if following == end {
				following = first
			}
			if following != h {
				for l := range f.layers {
					f.windings(following)[l] = f.windings(here)[l] + f.weights.across(f.halves[following], l)
				}
			}
			twin := f.halves[here].twin
			if node := f.halves[twin].node; !f.known[node] {
				f.known[node] = true
				for l := range f.layers {
					f.windings(twin)[l] = f.windings(here)[l] - f.weights.across(f.halves[here], l)
				}
				f.todo = append(f.todo, twin)
			}
			here = following
		}
	}
}

func (a *Arrangement) below() *below {
	if !a.index.filled {
		a.index.fill(a)
	}
	return &a.index
}

// component is a connected part of an arrangement: its lowest, then leftmost,
// point, a half on whose left lies what is just below that, and the half that
// runs rightward along what comes next below, -1 for none.
type component struct {
	lowest       cell
	start, under int32
}

// findParts finds all components, from each node along the chains.
func (a *Arrangement) findParts(s *scratch) {
	a.partOf = sized(a.partOf, len(a.around)-1)
	for n := range a.partOf {
		a.partOf[n] = -1
	}
	a.parts = room(a.parts, min(len(a.partOf), len(a.curves.layers)))
	nodes := room(s.next, len(a.partOf))
	for n := range a.partOf {
		if a.partOf[n] >= 0 {
			continue
		}
		part := int32(len(a.parts))
		a.partOf[n] = part
		nodes = append(nodes[:0], int32(n))
		lowest := a.halves[a.around[n]].chain
		for i := 0; i < len(nodes); i++ {
			for h := a.around[nodes[i]]; h < a.around[nodes[i]+1]; h++ {
				c := a.halves[h].chain
				if a.lowest(c).lower(a.lowest(lowest)) {
					lowest = c
				}
				if m := a.halves[a.halves[h].twin].node; a.partOf[m] < 0 {
					a.partOf[m] = part
					nodes = append(nodes, m)
				}
			}
		}
		a.parts = append(a.parts, component{a.lowest(lowest), a.downward(a.chains[lowest]), -1})
	}
}

// lowest returns the lowest, then leftmost, point of a chain.
func (a *Arrangement) lowest(chain int32) cell { return a.curves.points[a.chains[chain].lowest] }

// downward returns a half on whose left lies what is just below the lowest
// point of its component, which is that of the chain c.
func (a *Arrangement) downward(c chain) int32 {
	if c.lowest > c.first && c.lowest < c.last {
		// Within a chain: what it turns away from lies below.
		p := a.curves.points[c.lowest-1 : c.lowest+2]
		if turn(p[0], p[1], p[2]) > 0 {
			return c.halves[1]
		}
		return c.halves[0]
	}
	// At a node: no half of it runs down, so that the last in order has "down" on its left.
	k := c.halves[0]
	if c.lowest == c.last && a.curves.points[c.first] != a.curves.points[c.last] {
		k = c.halves[1]
	}
	return a.around[a.halves[k].node+1] - 1
}
