package plane

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"
)

// contact is how two straight edges meet.
type contact int

const (
	noContact    contact = iota
	crossContact         // inside both
	touchContact         // at one point, which is an end of at least one of them
	overlapContact
)

// contactOf returns how edges ab and cd meet, exactly, and where: the point of
// a crossing (rounded), of a touch, or the end of an overlap that is nearer a.
func contactOf(a, b, c, d orb.Point) (contact, orb.Point) {
	sideC, sideD := Orient(a, b, c), Orient(a, b, d)
	if sideC*sideD > 0 {
		return noContact, orb.Point{}
	}
	sideA, sideB := Orient(c, d, a), Orient(c, d, b)
	switch {
	case sideA*sideB > 0:
		return noContact, orb.Point{}
	case sideC == 0 && sideD == 0:
		return contactInLine(a, b, c, d)
	case sideC*sideD < 0 && sideA*sideB < 0:
		return crossContact, crossingPoint(a, b, c, d)
	case sideC == 0 && inBox(a, b, c):
		return touchContact, c
	case sideD == 0 && inBox(a, b, d):
		return touchContact, d
	case sideA == 0 && inBox(c, d, a):
		return touchContact, a
	case sideB == 0 && inBox(c, d, b):
		return touchContact, b
	}
	return noContact, orb.Point{}
}

// contactInLine is contactOf for edges on one straight line.
func contactInLine(a, b, c, d orb.Point) (contact, orb.Point) {
	start := later(earlier(a, b), earlier(c, d))
	end := earlier(later(a, b), later(c, d))
	switch {
	case start == end:
		return touchContact, start
	case earlier(start, end) == end:
		return noContact, orb.Point{}
	case earlier(a, b) == a:
		return overlapContact, start
	}
	return overlapContact, end
}

// earlier and later order points by x, then y.
func earlier(p, q orb.Point) orb.Point {
	if p[0] < q[0] || p[0] == q[0] && p[1] <= q[1] {
		return p
	}
	return q
}

func later(p, q orb.Point) orb.Point {
	if p[0] > q[0] || p[0] == q[0] && p[1] >= q[1] {
		return p
	}
	return q
}

// crossingPoint returns where ab and cd cross, rounded, within both their
// boxes.
func crossingPoint(a, b, c, d orb.Point) orb.Point {
	abx, aby := b[0]-a[0], b[1]-a[1]
	cdx, cdy := d[0]-c[0], d[1]-c[1]
	t := ((c[0]-a[0])*cdy - (c[1]-a[1])*cdx) / (abx*cdy - aby*cdx)
	if !(t >= 0 && t <= 1) { // overflow, or a denominator lost to rounding
		t = 0.5
	}
	var p orb.Point
	for axis := range p {
		p[axis] = a[axis] + t*(b[axis]-a[axis])
		low := max(min(a[axis], b[axis]), min(c[axis], d[axis]))
		high := min(max(a[axis], b[axis]), max(c[axis], d[axis]))
		p[axis] = min(max(p[axis], low), high)
	}
	return p
}

// passage is one way of a ring through a point: slot 2i through its vertex i,
// slot 2i+1 through the inside of its edge i.
type passage struct{ ring, slot int32 }

// touch is two passages through one point, the lower ring and slot first.
type touch struct {
	at   orb.Point
	a, b passage
}

func comparePassages(p, q passage) int {
	return cmp.Or(cmp.Compare(p.ring, q.ring), cmp.Compare(p.slot, q.slot))
}

func compareTouches(s, t touch) int {
	return cmp.Or(comparePassages(s.a, t.a), comparePassages(s.b, t.b),
		cmp.Compare(s.at[0], t.at[0]), cmp.Compare(s.at[1], t.at[1]))
}

// findContacts records every crossing and overlap as a fault, and all touches.
func (c *validityCheck) findContacts() {
	var edges []passage // slots hold the edge number here
	var boxes []orb.Bound
	for i := range c.rings {
		for j := range c.rings[i].points {
			from, to := c.rings[i].edge(j)
			edges = append(edges, passage{int32(i), int32(j)})
			boxes = append(boxes, straightEdge{from, to}.box())
		}
	}
	c.pairs = map[[2]int32]pairState{}
	overlappingPairsUntil(boxes, func(i, j int) bool {
		c.meet(edges[i], edges[j])
		return len(c.faults) < MostFaults
	})
}

// meet looks at edges e and f.
func (c *validityCheck) meet(e, f passage) {
	r, s := &c.rings[e.ring], &c.rings[f.ring]
	i, j := int(e.slot), int(f.slot)
	if e.ring == f.ring && (r.after(i) == j || r.after(j) == i) {
		tip := j
		if r.after(j) == i {
			tip = i
		}
		before, at, after := r.points[r.before(tip)], r.points[tip], r.points[r.after(tip)]
		if sameDirection(at, before, after) {
			c.fault(Retraced, at, passage{e.ring, int32(2 * r.before(tip))}, passage{e.ring, int32(2 * tip)})
		}
		return
	}
	a, b := r.edge(i)
	p, q := s.edge(j)
	kind, at := contactOf(a, b, p, q)
	switch kind {
	case crossContact:
		c.fault(c.kindBetween(e, f, SelfCrossing, RingsCross, PartsCross), at, passage{e.ring, 2 * e.slot}, passage{f.ring, 2 * f.slot})
	case overlapContact:
		c.fault(c.kindBetween(e, f, Retraced, RingsShareEdge, PartsShareEdge), at, passage{e.ring, 2 * e.slot}, passage{f.ring, 2 * f.slot})
	case touchContact:
		t := touch{at, r.passageOf(e, at), s.passageOf(f, at)}
		if comparePassages(t.a, t.b) > 0 {
			t.a, t.b = t.b, t.a
		}
		c.touches = append(c.touches, t)
	}
}

// passageOf returns how edge e of r goes through the point at, which is on it.
func (r *checkedRing) passageOf(e passage, at orb.Point) passage {
	switch from, to := r.edge(int(e.slot)); at {
	case from:
		return passage{e.ring, 2 * e.slot}
	case to:
		return passage{e.ring, 2 * int32(r.after(int(e.slot)))}
	}
	return passage{e.ring, 2*e.slot + 1}
}

// neighbours returns where the ring comes from and goes to on a passage.
func (c *validityCheck) neighbours(p passage) (before, after orb.Point) {
	r, i := &c.rings[p.ring], int(p.slot/2)
	if p.slot%2 == 1 {
		return r.edge(i)
	}
	return r.points[r.before(i)], r.points[r.after(i)]
}

func (c *validityCheck) kindBetween(a, b passage, sameRing, samePart, otherPart FaultKind) FaultKind {
	switch {
	case a.ring == b.ring:
		return sameRing
	case c.rings[a.ring].part == c.rings[b.ring].part:
		return samePart
	}
	return otherPart
}

// fault records a fault of two rings, which may be the same.
func (c *validityCheck) fault(kind FaultKind, at orb.Point, a, b passage) {
	r, s := &c.rings[a.ring], &c.rings[b.ring]
	r.faulty, s.faulty = true, true
	pair := pairOf(a.ring, b.ring)
	state := c.pairs[pair]
	switch kind {
	case SelfCrossing:
		r.crossesItself, r.touchesItself = true, true
	case SelfTouch, Retraced:
		r.touchesItself = true
	case RingsCross, PartsCross:
		state.cross = true
	case RingsShareEdge, PartsShareEdge:
		state.share = true
	}
	c.pairs[pair] = state
	f := Fault{kind, at, r.ref(int(a.slot / 2)), s.ref(int(b.slot / 2))}
	switch kind {
	case HoleOutside, HolesNested, PartsNested: // A is the inner one
	default:
		if compareRefs(f.A, f.B) > 0 {
			f.A, f.B = f.B, f.A
		}
	}
	c.faults = append(c.faults, f)
}

func pairOf(a, b int32) [2]int32 { return [2]int32{min(a, b), max(a, b)} }

// sortContacts makes faults of the touches where two passages change sides, or
// where a ring meets itself, and leaves the others sorted. Passages that run
// along each other have their fault from the edges; of two rings, they are left.
func (c *validityCheck) sortContacts() {
	slices.SortFunc(c.touches, compareTouches)
	c.touches = slices.Compact(c.touches)
	c.touches = slices.DeleteFunc(c.touches, func(t touch) bool {
		before, after := c.neighbours(t.a)
		from, to := c.neighbours(t.b)
		for _, p := range [2]orb.Point{before, after} {
			if sameDirection(t.at, p, from) || sameDirection(t.at, p, to) {
				return t.a.ring == t.b.ring
			}
		}
		crosses := inSector(t.at, before, from, after) != inSector(t.at, before, to, after)
		switch {
		case crosses:
			c.fault(c.kindBetween(t.a, t.b, SelfCrossing, RingsCross, PartsCross), t.at, t.a, t.b)
			return true
		case t.a.ring == t.b.ring:
			c.fault(SelfTouch, t.at, t.a, t.b)
			return true
		}
		return false
	})
}

// touchesOf returns the touches of two rings that do not cross.
func (c *validityCheck) touchesOf(a, b int32) []touch {
	pair := pairOf(a, b)
	least := touch{a: passage{pair[0], -1}}
	from, _ := slices.BinarySearchFunc(c.touches, least, func(s, t touch) int {
		return comparePassages(s.a, t.a)
	})
	var found []touch
	for _, t := range c.touches[from:] {
		if t.a.ring != pair[0] {
			break
		}
		if t.b.ring == pair[1] {
			found = append(found, t)
		}
	}
	return found
}
