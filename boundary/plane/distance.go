package plane

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Contains says whether p lies in mp or on its boundary, exactly: within an
// outline (even-odd) and not strictly within one of its holes.
func Contains(mp orb.MultiPolygon, p orb.Point) bool {
	return slices.ContainsFunc(mp, func(polygon orb.Polygon) bool { return holds(polygon, p, locateInRing) })
}

// holds says whether p lies in a polygon or on its boundary, of which the first
// ring is the outline.
func holds[R any](rings []R, p orb.Point, locate func(R, orb.Point) int) bool {
	if len(rings) == 0 || locate(rings[0], p) < 0 {
		return false
	}
	return !slices.ContainsFunc(rings[1:], func(hole R) bool { return locate(hole, p) > 0 })
}

// locateInRing returns +1 if p lies inside the ring (even-odd), 0 on it and -1
// outside. An open ring is taken as closed.
func locateInRing(ring orb.Ring, p orb.Point) int {
	inside := false
	for i, a := range ring {
		toggles, on := rayStep(a, ring[(i+1)%len(ring)], p)
		if on {
			return 0
		}
		inside = inside != toggles
	}
	if inside {
		return 1
	}
	return -1
}

// rayStep says whether the edge ab crosses the ray that runs from p in the
// direction of x, lower end of the edge counted and upper end not, and whether
// p is on the edge.
func rayStep(a, b, p orb.Point) (toggles, on bool) {
	if max(a[0], b[0]) < p[0] || max(a[1], b[1]) < p[1] || min(a[1], b[1]) > p[1] {
		return false, false
	}
	straddles := (a[1] > p[1]) != (b[1] > p[1])
	if min(a[0], b[0]) > p[0] {
		return straddles, false
	}
	side := Orient(a, b, p)
	if side == 0 {
		return false, inBox(a, b, p)
	}
	return straddles && (b[1] > a[1]) == (side > 0), false
}

// BoundaryDistance returns the least distance from p to an edge of mp, in the
// units of the coordinates; +Inf if mp has none.
func BoundaryDistance(mp orb.MultiPolygon, p orb.Point) float64 {
	least := math.Inf(1)
	for _, polygon := range mp {
		for _, ring := range polygon {
			for i, a := range ring {
				least = min(least, distanceToEdge(p, a, ring[(i+1)%len(ring)]))
			}
		}
	}
	return least
}

// LeastDistance returns the least distance between the boundaries of a and b,
// in the units of the coordinates: 0 if they cross or touch, +Inf if one of
// them has no boundary.
func LeastDistance(a, b orb.MultiPolygon) float64 {
	search := nearestSearch{a: newBoxTree(edgesOf(a)), b: newBoxTree(edgesOf(b)), least: math.Inf(1)}
	if len(search.a.edges) > 0 && len(search.b.edges) > 0 {
		search.visit(search.a.root(), search.b.root())
	}
	return search.least
}

type straightEdge struct{ from, to orb.Point }

func (e straightEdge) box() orb.Bound {
	return orb.Bound{
		Min: orb.Point{min(e.from[0], e.to[0]), min(e.from[1], e.to[1])},
		Max: orb.Point{max(e.from[0], e.to[0]), max(e.from[1], e.to[1])},
	}
}

func edgesOf(mp orb.MultiPolygon) []straightEdge {
	var edges []straightEdge
	for _, polygon := range mp {
		for _, ring := range polygon {
			for i, p := range ring {
				edges = append(edges, straightEdge{p, ring[(i+1)%len(ring)]})
			}
		}
	}
	return edges
}

// boxTree is a binary tree of bounding boxes over edges in their given order,
// which in a ring keeps neighbours together without any sorting.
type boxTree struct {
	edges []straightEdge
	boxes []orb.Bound // of the branches, heap-wise: 2k+1 and 2k+2 below k
}

// boxBranch is the part edges[low:high] of a tree.
type boxBranch struct{ index, low, high int }

const edgesOfLeaf = 4

func newBoxTree(edges []straightEdge) *boxTree {
	t := &boxTree{edges: edges}
	if len(edges) == 0 {
		return t
	}
	leaves := 1
	for leaves*edgesOfLeaf < len(edges) {
		leaves *= 2
	}
	t.boxes = make([]orb.Bound, 2*leaves)
	t.build(t.root())
	return t
}

func (t *boxTree) root() boxBranch { return boxBranch{0, 0, len(t.edges)} }

func (t *boxTree) box(b boxBranch) orb.Bound { return t.boxes[b.index] }

func (t *boxTree) build(b boxBranch) orb.Bound {
	var box orb.Bound
	if b.isLeaf() {
		box = t.edges[b.low].box()
		for _, e := range t.edges[b.low+1 : b.high] {
			box = box.Union(e.box())
		}
	} else {
		left, right := b.split()
		box = t.build(left).Union(t.build(right))
	}
	t.boxes[b.index] = box
	return box
}

func (b boxBranch) isLeaf() bool { return b.high-b.low <= edgesOfLeaf }

func (b boxBranch) split() (left, right boxBranch) {
	middle := (b.low + b.high) / 2
	return boxBranch{2*b.index + 1, b.low, middle}, boxBranch{2*b.index + 2, middle, b.high}
}

// locate is locateInRing for a tree over the edges of one closed ring.
func (t *boxTree) locate(p orb.Point) int {
	if len(t.edges) == 0 {
		return -1
	}
	inside, on := t.ray(t.root(), p)
	switch {
	case on:
		return 0
	case inside:
		return 1
	}
	return -1
}

// ray is rayStep for the unbroken line of edges of a branch. Where p lies left
// of its box, only its two ends matter.
func (t *boxTree) ray(b boxBranch, p orb.Point) (toggles, on bool) {
	box := t.box(b)
	if box.Max[0] < p[0] || box.Max[1] < p[1] || box.Min[1] > p[1] {
		return false, false
	}
	if box.Min[0] > p[0] {
		return (t.edges[b.low].from[1] > p[1]) != (t.edges[b.high-1].to[1] > p[1]), false
	}
	if b.isLeaf() {
		for _, e := range t.edges[b.low:b.high] {
			crosses, touches := rayStep(e.from, e.to, p)
			if touches {
				return false, true
			}
			toggles = toggles != crosses
		}
		return toggles, false
	}
	left, right := b.split()
	inLeft, on := t.ray(left, p)
	if on {
		return false, true
	}
	inRight, on := t.ray(right, p)
	return inLeft != inRight, on
}

// nearestSearch descends two trees together, nearer pairs of boxes first, and
// leaves out those farther apart than the least distance so far.
type nearestSearch struct {
	a, b  *boxTree
	least float64
}

func (s *nearestSearch) visit(a, b boxBranch) {
	if boxDistance(s.a.box(a), s.b.box(b)) >= s.least {
		return
	}
	if a.isLeaf() && b.isLeaf() {
		for _, e := range s.a.edges[a.low:a.high] {
			for _, f := range s.b.edges[b.low:b.high] {
				if boxDistance(e.box(), f.box()) < s.least {
					s.least = min(s.least, edgeDistance(e, f))
				}
			}
		}
		return
	}
	var near, far [2]boxBranch
	if b.isLeaf() || !a.isLeaf() && a.high-a.low >= b.high-b.low {
		left, right := a.split()
		near, far = [2]boxBranch{left, b}, [2]boxBranch{right, b}
	} else {
		left, right := b.split()
		near, far = [2]boxBranch{a, left}, [2]boxBranch{a, right}
	}
	if boxDistance(s.a.box(far[0]), s.b.box(far[1])) < boxDistance(s.a.box(near[0]), s.b.box(near[1])) {
		near, far = far, near
	}
	s.visit(near[0], near[1])
	s.visit(far[0], far[1])
}

func boxDistance(a, b orb.Bound) float64 {
	return math.Hypot(
		max(a.Min[0]-b.Max[0], b.Min[0]-a.Max[0], 0),
		max(a.Min[1]-b.Max[1], b.Min[1]-a.Max[1], 0))
}

func edgeDistance(e, f straightEdge) float64 {
	if edgesMeet(e.from, e.to, f.from, f.to) {
		return 0
	}
	return min(
		distanceToEdge(e.from, f.from, f.to), distanceToEdge(e.to, f.from, f.to),
		distanceToEdge(f.from, e.from, e.to), distanceToEdge(f.to, e.from, e.to))
}

// distanceToEdge returns the distance from p to the straight edge ab.
func distanceToEdge(p, a, b orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	px, py := p[0]-a[0], p[1]-a[1]
	along, length2 := px*dx+py*dy, dx*dx+dy*dy
	switch {
	case along <= 0 || length2 == 0:
		return math.Hypot(px, py)
	case along >= length2:
		return math.Hypot(p[0]-b[0], p[1]-b[1])
	}
	return math.Abs(px*dy-py*dx) / math.Sqrt(length2)
}

// Displacement returns how far the vertices of either boundary lie from the
// other boundary at most, in the units of the coordinates: 0 if both are empty,
// +Inf if one of them is.
func Displacement(a, b orb.MultiPolygon) float64 {
	return max(furthest(a, b), furthest(b, a))
}

func furthest(from, to orb.MultiPolygon) float64 {
	var most float64
	tree := newBoxTree(edgesOf(to))
	for _, e := range edgesOf(from) {
		least := math.Inf(1)
		if len(tree.edges) > 0 {
			least = tree.nearest(tree.root(), e.from, least, most)
		}
		most = max(most, least)
	}
	return most
}

// nearest returns the distance from p to the nearest edge of a branch if that
// is less than least, else least. It looks no further once that is down to enough.
func (t *boxTree) nearest(b boxBranch, p orb.Point, least, enough float64) float64 {
	here := orb.Bound{Min: p, Max: p}
	if least <= enough || boxDistance(here, t.box(b)) >= least {
		return least
	}
	if b.isLeaf() {
		for _, e := range t.edges[b.low:b.high] {
			least = min(least, distanceToEdge(p, e.from, e.to))
		}
		return least
	}
	near, far := b.split()
	if boxDistance(here, t.box(far)) < boxDistance(here, t.box(near)) {
		near, far = far, near
	}
	least = t.nearest(near, p, least, enough)
	return t.nearest(far, p, least, enough)
}

// any reports whether some edge whose box meets the bound passes the test.
func (t *boxTree) any(bound orb.Bound, test func(straightEdge) bool) bool {
	return len(t.edges) > 0 && t.anyOf(t.root(), bound, test)
}

func (t *boxTree) anyOf(b boxBranch, bound orb.Bound, test func(straightEdge) bool) bool {
	if !boxesOverlap(t.box(b), bound) {
		return false
	}
	if b.isLeaf() {
		for _, e := range t.edges[b.low:b.high] {
			if boxesOverlap(e.box(), bound) && test(e) {
				return true
			}
		}
		return false
	}
	near, far := b.split()
	return t.anyOf(near, bound, test) || t.anyOf(far, bound, test)
}
