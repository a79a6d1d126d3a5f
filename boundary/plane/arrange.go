package plane

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"
)

// Arrangement is the division of the plane by rings: where no two edges cross
// and each side of each edge knows how often every layer winds around it.
type Arrangement struct {
	grid   Grid
	layers int
	// halves holds every edge twice, once from each end, sorted by the cell it
	// starts at and counter-clockwise around that cell.
	halves []half
	// around[n] to around[n+1] are the halves that start at node n.
	around []int32
	given  map[cell]bool // the vertices of the rings as they came
	left   []int32       // layers values a half: the windings on its left
}

// half is an edge seen from one of its ends.
type half struct {
	from, to cell
	node     int32 // number of from
	twin     int32 // index of the same edge seen from to
	edge     int32
}

// edges holds what belongs to an edge whichever end it is seen from.
type edges struct {
	layers int
	weight []int32 // layers values an edge: its weights from the lesser cell to the greater
}

// across returns how much the winding of layer l grows from the right to the left of h.
func (e edges) across(h half, l int) int32 {
	w := e.weight[int(h.edge)*e.layers+l]
	if h.to.before(h.from) {
		return -w
	}
	return w
}

// Arrange lays the rings of all layers into one arrangement on the grid. Each
// ring winds its layer once around what it encloses: +1 where it runs
// counter-clockwise, -1 where clockwise, and as often as it goes around where
// it crosses itself. Rings need not be closed; numbers must be finite and
// within the bound that the grid was made for.
func Arrange(g Grid, layers ...[]orb.Ring) *Arrangement {
	for ; ; g = g.coarser() {
		var segments []segment
		given := map[cell]bool{}
		for l, rings := range layers {
			for _, ring := range rings {
				segments = appendSegments(segments, given, g, ring, l)
			}
		}
		if segments, ok := noded(segments); ok {
			a := &Arrangement{grid: g, layers: len(layers), given: given}
			a.flood(a.link(segments))
			return a
		}
	}
}

func appendSegments(segments []segment, given map[cell]bool, g Grid, ring orb.Ring, layer int) []segment {
	if len(ring) == 0 {
		return segments
	}
	from := g.cell(ring[len(ring)-1])
	for _, p := range ring {
		to := g.cell(p)
		given[to] = true
		if to != from {
			segments = append(segments, directed(from, to, layer))
		}
		from = to
	}
	return segments
}

// link makes the halves of all segments that some layer walks more often one
// way than the other; the rest divide nothing.
func (a *Arrangement) link(segments []segment) edges {
	e := edges{layers: a.layers}
	for i := 0; i < len(segments); {
		first := segments[i]
		at := len(e.weight)
		e.weight = append(e.weight, make([]int32, a.layers)...)
		counts := false
		for ; i < len(segments) && segments[i].a == first.a && segments[i].b == first.b; i++ {
			e.weight[at+int(segments[i].layer)] = segments[i].weight
			counts = counts || segments[i].weight != 0
		}
		if !counts {
			e.weight = e.weight[:at]
			continue
		}
		edge := int32(at / a.layers)
		a.halves = append(a.halves, half{from: first.a, to: first.b, edge: edge}, half{from: first.b, to: first.a, edge: edge})
	}
	slices.SortFunc(a.halves, func(h, k half) int {
		if c := compareCells(h.from, k.from); c != 0 {
			return c
		}
		return compareDirections(h, k)
	})
	seen := make([]int32, len(a.halves)/2) // where an edge's first half is, plus one
	for i := range a.halves {
		h := &a.halves[i]
		if i == 0 || a.halves[i-1].from != h.from {
			a.around = append(a.around, int32(i))
		}
		h.node = int32(len(a.around) - 1)
		if j := seen[h.edge]; j > 0 {
			h.twin = j - 1
			a.halves[j-1].twin = int32(i)
		} else {
			seen[h.edge] = int32(i) + 1
		}
	}
	a.around = append(a.around, int32(len(a.halves)))
	return e
}

// compareDirections orders halves of one node counter-clockwise, from due east.
func compareDirections(h, k half) int {
	if c := cmp.Compare(h.lower(), k.lower()); c != 0 {
		return c
	}
	return -cmp.Compare(turn(h.from, h.to, k.to), 0)
}

// lower is 0 for the directions from due east to just short of due west, 1 for the others.
func (h half) lower() int {
	if h.to.y < h.from.y || h.to.y == h.from.y && h.to.x < h.from.x {
		return 1
	}
	return 0
}

// windings returns the winding of every layer on the left of a half.
func (a *Arrangement) windings(h int32) []int32 {
	return a.left[int(h)*a.layers : (int(h)+1)*a.layers]
}

// flood finds the windings everywhere. Around a node each edge adds its weight
// to the wedge before it, so that one known wedge gives all of them and the
// node at the other end of each edge. Every connected component starts from
// its lowest (then leftmost) node: nothing of its own lies below that, so that
// the wedge which holds "down" has the windings that the other components
// give to this place.
func (a *Arrangement) flood(e edges) {
	a.left = make([]int32, a.layers*len(a.halves))
	components := a.components()
	below := newBelow(a.halves, func(h half) bool { return h.from.before(h.to) })
	known := make([]bool, len(a.around)-1)
	var todo []int32 // halves whose left is known and whose node is still to be done
	for _, nodes := range components {
		lowest := a.lowest(nodes)
		start := a.around[lowest+1] - 1 // the last half turns furthest, "down" lies on its left
		if len(components) > 1 {
			below.each(a.halves[start].from, func(i int32) {
				for l := range a.layers {
					a.windings(start)[l] += e.across(a.halves[i], l)
				}
			})
		}
		known[lowest] = true
		todo = append(todo[:0], start)
		for len(todo) > 0 {
			h := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			first, end := a.around[a.halves[h].node], a.around[a.halves[h].node+1]
			for i := first; i < end; i++ {
				here := first + (h-first+i-first)%(end-first)
				next := first + (here-first+1)%(end-first)
				if next != h {
					for l := range a.layers {
						a.windings(next)[l] = a.windings(here)[l] + e.across(a.halves[next], l)
					}
				}
				twin := a.halves[here].twin
				if node := a.halves[twin].node; !known[node] {
					known[node] = true
					for l := range a.layers {
						a.windings(twin)[l] = a.windings(here)[l] - e.across(a.halves[here], l)
					}
					todo = append(todo, twin)
				}
			}
		}
	}
}

// components returns the nodes of each connected component.
func (a *Arrangement) components() [][]int32 {
	seen := make([]bool, len(a.around)-1)
	var all [][]int32
	for n := range seen {
		if seen[n] {
			continue
		}
		seen[n] = true
		nodes := []int32{int32(n)}
		for i := 0; i < len(nodes); i++ {
			for h := a.around[nodes[i]]; h < a.around[nodes[i]+1]; h++ {
				if m := a.halves[a.halves[h].twin].node; !seen[m] {
					seen[m] = true
					nodes = append(nodes, m)
				}
			}
		}
		all = append(all, nodes)
	}
	return all
}

// lowest returns the lowest, then leftmost, of the nodes.
func (a *Arrangement) lowest(nodes []int32) int32 {
	return slices.MinFunc(nodes, func(n, m int32) int {
		p, q := a.halves[a.around[n]].from, a.halves[a.around[m]].from
		return cmp.Or(cmp.Compare(p.y, q.y), cmp.Compare(p.x, q.x))
	})
}
