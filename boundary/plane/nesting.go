package plane

import (
	"slices"

	"github.com/paulmach/orb"
)

// checkNesting looks for holes outside their outline, holes in holes and parts
// in parts. Rings that cross each other are not judged.
func (c *validityCheck) checkNesting() {
	outlines := map[int]int32{} // by part
	holes := map[int][]int32{}
	boxes := make([]orb.Bound, len(c.rings))
	for i := range c.rings {
		r := &c.rings[i]
		boxes[i] = r.box
		if r.number == 0 {
			outlines[r.part] = int32(i)
		} else {
			holes[r.part] = append(holes[r.part], int32(i))
		}
	}
	for i := range c.rings {
		outline, ok := outlines[c.rings[i].part]
		if c.rings[i].number == 0 || !ok {
			continue
		}
		if side, point := c.sideOf(int32(i), outline); side < 0 {
			c.fault(HoleOutside, c.rings[i].points[point], passage{int32(i), int32(2 * point)}, passage{outline, 0})
		}
	}
	overlappingPairsUntil(boxes, func(i, j int) bool {
		r, s := &c.rings[i], &c.rings[j]
		if r.part == s.part && r.number > 0 && s.number > 0 {
			c.checkInside(HolesNested, int32(i), int32(j), nil)
			c.checkInside(HolesNested, int32(j), int32(i), nil)
			c.checkTwins(HolesNested, int32(i), int32(j))
		}
		if r.part != s.part && r.number == 0 && s.number == 0 {
			c.checkInside(PartsNested, int32(i), int32(j), holes[s.part])
			c.checkInside(PartsNested, int32(j), int32(i), holes[r.part])
			c.checkTwins(PartsNested, int32(i), int32(j))
		}
		return len(c.faults) < MostFaults
	})
}

// checkInside records a fault if inner lies in outer, and surely outside of the
// holes.
func (c *validityCheck) checkInside(kind FaultKind, inner, outer int32, holes []int32) {
	side, point := c.sideOf(inner, outer)
	if side <= 0 {
		return
	}
	for _, hole := range holes {
		if side, _ := c.sideOf(inner, hole); side >= 0 {
			return
		}
	}
	c.fault(kind, c.rings[inner].points[point], passage{inner, int32(2 * point)}, passage{outer, 0})
}

// checkTwins records one fault for two equal rings.
func (c *validityCheck) checkTwins(kind FaultKind, a, b int32) {
	if c.pairs[pairOf(a, b)].twins() {
		higher := max(a, b)
		c.fault(kind, c.rings[higher].points[0], passage{higher, 0}, passage{min(a, b), 0})
	}
}

// isOfTwins says whether f is one of the shared edges of two equal holes, or of
// two parts of equal outline, which have one fault of their own.
func (c *validityCheck) isOfTwins(f Fault) bool {
	a, b := c.ringAt(f.A), c.ringAt(f.B)
	switch f.Kind {
	case RingsShareEdge:
		return f.A.Ring > 0 && f.B.Ring > 0 && c.pairs[pairOf(a, b)].twins()
	case PartsShareEdge:
		f.A.Ring, f.B.Ring = 0, 0
		return c.pairs[pairOf(a, b)].twins() && c.pairs[pairOf(c.ringAt(f.A), c.ringAt(f.B))].twins()
	}
	return false
}

// ringAt returns the number of the ring that ref names.
func (c *validityCheck) ringAt(ref RingRef) int32 {
	i, _ := slices.BinarySearchFunc(c.rings, ref, func(r checkedRing, ref RingRef) int {
		return compareRefs(RingRef{r.part, r.number, 0}, RingRef{ref.Part, ref.Ring, 0})
	})
	return int32(i)
}

// checkShared finds out how rings that share edges lie to each other, which
// their vertices alone do not tell. Between two points where they meet, a ring
// stays on one side of the other, so their vertices and the sectors of their
// insides at the meeting points settle it. If neither lies in the other and
// their insides are not apart, they cross.
func (c *validityCheck) checkShared() {
	var shared [][2]int32
	for pair, state := range c.pairs {
		if state.share && !state.cross && !c.rings[pair[0]].touchesItself && !c.rings[pair[1]].touchesItself {
			shared = append(shared, pair)
		}
	}
	slices.SortFunc(shared, func(p, q [2]int32) int { return slices.Compare(p[:], q[:]) })
	for _, pair := range shared {
		state := c.pairs[pair]
		state.lowerWithin, state.higherWithin, state.disjoint = true, true, true
		lower, higher := &c.rings[pair[0]], &c.rings[pair[1]]
		for _, p := range lower.points {
			side := higher.locate(p)
			state.lowerWithin = state.lowerWithin && side >= 0
			state.higherWithin = state.higherWithin && side <= 0
			state.disjoint = state.disjoint && side <= 0
		}
		for _, p := range higher.points {
			side := lower.locate(p)
			state.higherWithin = state.higherWithin && side >= 0
			state.lowerWithin = state.lowerWithin && side <= 0
			state.disjoint = state.disjoint && side <= 0
		}
		touches := c.touchesOf(pair[0], pair[1])
		var decisive touch
		for _, t := range touches {
			from, to := c.insideSector(t.a)
			start, end := c.insideSector(t.b)
			state.lowerWithin = state.lowerWithin && !sectorsMeet(t.at, from, to, end, start)
			state.higherWithin = state.higherWithin && !sectorsMeet(t.at, start, end, to, from)
			state.disjoint = state.disjoint && !sectorsMeet(t.at, from, to, start, end)
			if !state.lowerWithin && !state.higherWithin && !state.disjoint {
				decisive = t
				break
			}
		}
		c.pairs[pair] = state
		if !state.lowerWithin && !state.higherWithin && !state.disjoint && len(touches) > 0 {
			if decisive == (touch{}) {
				decisive = touches[0]
			}
			c.fault(c.kindBetween(decisive.a, decisive.b, SelfCrossing, RingsCross, PartsCross), decisive.at, decisive.a, decisive.b)
		}
	}
}

// insideSector returns the directions between which, counter-clockwise, the
// inside of a ring lies where it passes; the ring does not touch itself.
func (c *validityCheck) insideSector(p passage) (from, to orb.Point) {
	before, after := c.neighbours(p)
	if c.rings[p.ring].counterclockwise {
		return after, before
	}
	return before, after
}

// sideOf returns +1 if ring inner lies in ring outer, -1 if it does not, 0 if
// that cannot be said: they cross, are the same, or outer crosses itself. Point
// is a vertex of inner that shows it.
func (c *validityCheck) sideOf(inner, outer int32) (side, point int) {
	r, s := &c.rings[inner], &c.rings[outer]
	state := c.pairs[pairOf(inner, outer)]
	if state.cross {
		return 0, 0
	}
	for i, p := range r.points {
		if !s.box.Contains(p) {
			return -1, i
		}
	}
	if s.crossesItself {
		return 0, 0
	}
	if state.share {
		if inner > outer {
			state.lowerWithin, state.higherWithin = state.higherWithin, state.lowerWithin
		}
		switch {
		case state.twins():
			return 0, 0
		case state.lowerWithin:
			return 1, 0
		case state.higherWithin || state.disjoint:
			return -1, 0
		}
		return 0, 0
	}
	for i, p := range r.points {
		if side := s.locate(p); side != 0 {
			return side, i
		}
	}
	if s.touchesItself {
		return 0, 0
	}
	// Every vertex is on the outer ring: see on which side an edge leaves one.
	touches := c.touchesOf(inner, outer)
	if len(touches) == 0 {
		return 0, 0
	}
	t := touches[0]
	here, there := t.a, t.b
	if here.ring != inner {
		here, there = there, here
	}
	_, to := c.neighbours(here)
	if from, end := c.insideSector(there); inSector(t.at, from, to, end) {
		return 1, int(here.slot / 2)
	}
	return -1, int(here.slot / 2)
}

// checkConnection looks for rings of a part that touch so as to cut its
// interior in two. In the graph of rings and the points where they touch, each
// cycle is a closed line through rings that keeps one piece of the interior
// from another; without a cycle, none does. Rings with any other fault are left
// out.
func (c *validityCheck) checkConnection() {
	type partPoint struct {
		part int
		at   orb.Point
	}
	type link struct {
		ring  int32
		point int
	}
	points := map[partPoint]int{}
	linked := map[link]bool{}
	parents := make([]int, len(c.rings)) // union-find: rings, then points
	for i := range parents {
		parents[i] = i
	}
	rootOf := func(i int) int {
		for parents[i] != i {
			parents[i] = parents[parents[i]]
			i = parents[i]
		}
		return i
	}
	var cuts []touch
	for _, t := range c.touches {
		r, s := &c.rings[t.a.ring], &c.rings[t.b.ring]
		if r.part != s.part || r.faulty || s.faulty {
			continue
		}
		key := partPoint{r.part, t.at}
		point, ok := points[key]
		if !ok {
			point = len(parents)
			points[key] = point
			parents = append(parents, point)
		}
		closes := false
		for _, ring := range [2]int32{t.a.ring, t.b.ring} {
			if l := (link{ring, point}); !linked[l] {
				linked[l] = true
				a, b := rootOf(int(ring)), rootOf(point)
				closes = closes || a == b
				parents[a] = b
			}
		}
		if closes {
			cuts = append(cuts, t)
		}
	}
	for _, t := range cuts {
		c.fault(InteriorDisconnected, t.at, t.a, t.b)
	}
}
