package plane

import (
	"math"

	"github.com/paulmach/orb"
)

// SimplifyOutward returns an area of at most the given number of vertices, if
// that can be reached, which holds all ground of mp and as little more as a
// greedy choice finds: time and again it takes the step that adds the least
// ground. A step either cuts across a corner that opens outwards, or lengthens
// the two sides beside a third until they meet, so that none of them loses
// ground. No step takes ground of avoid. Where pieces grow into each other they
// are united. A step that adds more than a fifth of the ground is never taken.
// Both areas must be valid, in plane metres.
func SimplifyOutward(mp orb.MultiPolygon, most int, avoid orb.MultiPolygon) orb.MultiPolygon {
	grid := MetreGrid(mp.Bound().Pad(1000))
	s := newSimplifier(mp, avoid)
	for target := most; ; target -= max(1, target/10) {
		s.reduce(target)
		out := keep(grid, func(w []int32) bool { return w[0] > 0 }, s.outlines())
		if n := vertexCount(out); n <= most || target <= 3 || s.stuck {
			return out
		}
	}
}

func vertexCount(mp orb.MultiPolygon) int {
	n := 0
	for _, polygon := range mp {
		for _, ring := range polygon {
			n += len(distinct(ring))
		}
	}
	return n
}

// simplifier holds all rings as linked corners, the ground on their left.
type simplifier struct {
	corners   []simpleCorner
	rings     []simpleRing
	queue     stepQueue
	count     int
	mostAdded float64 // m² that one step may add
	stuck     bool    // whether no step was left before the target was reached

	avoid      orb.MultiPolygon
	avoidEdges *boxTree
}

type simpleCorner struct {
	at             orb.Point
	ring           int
	previous, next int
	gone           bool
}

type simpleRing struct {
	hole  bool
	first int // a corner of it, -1 when it is gone
	count int
}

// step is a way to lose one vertex (or a last small hole).
type step struct {
	added  float64 // m²
	corner int32
	kind   stepKind
}

type stepKind int8

const (
	cutAcross stepKind = iota // leaves out the corner
	lengthen                  // puts one corner in the place of this and the next
	fillHole
)

func newSimplifier(mp, avoid orb.MultiPolygon) *simplifier {
	s := &simplifier{avoid: avoid, avoidEdges: newBoxTree(edgesOf(avoid)), mostAdded: planarArea(mp) / 5}
	for _, polygon := range mp {
		for i, ring := range Oriented(orb.MultiPolygon{polygon}) {
			points := distinct(ring)
			if len(points) < 3 {
				continue
			}
			first := len(s.corners)
			for k, p := range points {
				s.corners = append(s.corners, simpleCorner{
					at: p, ring: len(s.rings),
					previous: first + (k+len(points)-1)%len(points), next: first + (k+1)%len(points),
				})
			}
			s.rings = append(s.rings, simpleRing{i > 0, first, len(points)})
			s.count += len(points)
		}
	}
	for i := range s.corners {
		s.offer(i)
	}
	return s
}

// reduce takes steps until no more than target corners are left. A step in the
// queue may be out of date: it is reckoned anew when its turn comes.
func (s *simplifier) reduce(target int) {
	for s.count > target {
		if len(s.queue) == 0 {
			s.stuck = true
			return
		}
		old := s.queue.pop()
		if old.added > s.mostAdded {
			s.stuck = true
			return
		}
		st, to, possible := s.reckon(old.corner, old.kind)
		switch {
		case !possible:
		case st.added > old.added:
			s.queue.push(st)
		default:
			s.take(st, to)
		}
	}
}

// offer queues the steps that begin at a corner.
func (s *simplifier) offer(i int) {
	for _, kind := range []stepKind{cutAcross, lengthen, fillHole} {
		if st, _, possible := s.reckon(int32(i), kind); possible {
			s.queue.push(st)
		}
	}
}

// reckon returns the step of a kind at a corner, and where the sides that it lengthens meet.
func (s *simplifier) reckon(i int32, kind stepKind) (st step, to orb.Point, possible bool) {
	b := s.corners[i]
	ring := s.rings[b.ring]
	if b.gone || ring.first < 0 || (ring.count > 3) == (kind == fillHole) {
		return step{}, to, false
	}
	a, c := s.corners[b.previous].at, s.corners[b.next].at
	switch kind {
	case cutAcross:
		added := -triangle(a, b.at, c)
		return step{added, i, kind}, to, added >= 0 && s.free(a, b.at, c)
	case lengthen:
		x, meet := beyond(a, b.at, c, s.corners[s.corners[b.next].next].at)
		return step{-triangle(b.at, c, x), i, kind}, x, meet && s.free(b.at, c, x)
	}
	return step{-triangle(a, b.at, c), i, kind}, to, ring.hole && s.free(a, b.at, c)
}

// free reports whether a triangle takes no ground that must be avoided.
func (s *simplifier) free(a, b, c orb.Point) bool {
	if len(s.avoid) == 0 {
		return true
	}
	corners := orb.Ring{a, b, c, a}
	turn := Orient(a, b, c)
	meets := s.avoidEdges.any(corners.Bound(), func(e straightEdge) bool {
		return !apart(corners, turn, e) && len(Inside(orb.LineString{e.from, e.to}, orb.MultiPolygon{{corners}})) > 0
	})
	if meets {
		return false
	}
	return !s.avoids(orb.Point{(a[0] + b[0] + c[0]) / 3, (a[1] + b[1] + c[1]) / 3})
}

// apart reports whether a side of the triangle, or the edge itself, has the two
// on different sides but for a point, as is told at once of most.
func apart(triangle orb.Ring, turn int, e straightEdge) bool {
	var left, right int
	for i := range 3 {
		from, to := turn*Orient(triangle[i], triangle[i+1], e.from), turn*Orient(triangle[i], triangle[i+1], e.to)
		if from <= 0 && to <= 0 && from+to < 0 {
			return true
		}
		switch Orient(e.from, e.to, triangle[i]) {
		case 1:
			left++
		case -1:
			right++
		}
	}
	return left == 0 && right >= 2 || right == 0 && left >= 2
}

// avoids reports whether a point lies in what must be avoided. It looks only at
// edges that meet the ray from it in the direction of x.
func (s *simplifier) avoids(p orb.Point) bool {
	inside := false
	ray := orb.Bound{Min: p, Max: orb.Point{math.Inf(1), p[1]}}
	on := s.avoidEdges.any(ray, func(e straightEdge) bool {
		toggles, on := rayStep(e.from, e.to, p)
		inside = inside != toggles
		return on
	})
	return on || inside
}

// beyond returns where the sides ab and dc, lengthened past b and c, meet to
// the right of bc; ok is false where they do not.
func beyond(a, b, c, d orb.Point) (x orb.Point, ok bool) {
	ux, uy := b[0]-a[0], b[1]-a[1]
	vx, vy := c[0]-d[0], c[1]-d[1]
	wx, wy := c[0]-b[0], c[1]-b[1]
	denominator := ux*vy - uy*vx
	if denominator >= 0 || ux*wy-uy*wx <= 0 || vx*wy-vy*wx <= 0 {
		return orb.Point{}, false
	}
	t := (wx*vy - wy*vx) / denominator
	return orb.Point{b[0] + t*ux, b[1] + t*uy}, t > 0 && !math.IsInf(t, 0)
}

func (s *simplifier) take(st step, to orb.Point) {
	c := s.corners[st.corner]
	ring := &s.rings[c.ring]
	switch st.kind {
	case fillHole:
		s.count -= ring.count
		ring.first = -1
		return
	case lengthen:
		s.corners[c.next].at = to
	}
	// Both other kinds lose this corner.
	s.corners[st.corner].gone = true
	s.corners[c.previous].next, s.corners[c.next].previous = c.next, c.previous
	ring.first = c.next
	ring.count--
	s.count--
	for i, n := s.corners[s.corners[c.previous].previous].previous, 0; n < 5; i, n = s.corners[i].next, n+1 {
		s.offer(i)
	}
}

func planarArea(mp orb.MultiPolygon) float64 {
	var sum float64
	for _, ring := range Oriented(mp) {
		for i := 1; i < len(ring); i++ {
			sum += triangle(ring[0], ring[i-1], ring[i])
		}
	}
	return sum
}

// triangle returns the signed area of a triangle, positive counter-clockwise.
func triangle(a, b, c orb.Point) float64 {
	return ((b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])) / 2
}

// outlines returns the rings that are left.
func (s *simplifier) outlines() []orb.Ring {
	var all []orb.Ring
	for _, ring := range s.rings {
		if ring.first < 0 {
			continue
		}
		out := make(orb.Ring, 0, ring.count)
		for i := ring.first; len(out) < ring.count; i = s.corners[i].next {
			out = append(out, s.corners[i].at)
		}
		all = append(all, out)
	}
	return all
}

// stepQueue is a binary heap, the step that adds the least first. That of
// container/heap keeps its elements in interfaces, which takes twice as long.
type stepQueue []step

func (q *stepQueue) push(st step) {
	*q = append(*q, st)
	heap := *q
	i := len(heap) - 1
	for i > 0 {
		parent := (i - 1) / 2
		if st.added >= heap[parent].added {
			break
		}
		heap[i] = heap[parent]
		i = parent
	}
	heap[i] = st
}

func (q *stepQueue) pop() step {
	heap := *q
	first, last := heap[0], heap[len(heap)-1]
	heap = heap[:len(heap)-1]
	*q = heap
	if len(heap) == 0 {
		return first
	}
	i := 0
	for {
		child := 2*i + 1
		if child >= len(heap) {
			break
		}
		if right := child + 1; right < len(heap) && heap[right].added < heap[child].added {
			child = right
		}
		if heap[child].added >= last.added {
			break
		}
		heap[i] = heap[child]
		i = child
	}
	heap[i] = last
	return first
}
