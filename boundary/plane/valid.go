package plane

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/paulmach/orb"
)

// FaultKind names one way in which a shape is not valid. The kinds are
// kebab-case and stable.
type FaultKind string

// The rules are those of OGC Simple Features 06-103r4 (version 1.2.1),
// 6.1.11.1 for polygons and 6.1.14.1 for multipolygons.
const (
	BadNumber            FaultKind = "bad-number"            // a coordinate is not finite
	NotClosed            FaultKind = "not-closed"            // a ring does not end where it begins
	TooFew               FaultKind = "too-few"               // under four positions or three distinct ones
	SelfCrossing         FaultKind = "self-crossing"         // a ring crosses itself
	SelfTouch            FaultKind = "self-touch"            // a ring touches itself at a point
	Retraced             FaultKind = "retraced"              // a ring runs along itself; At is the tip of a spike
	RingsCross           FaultKind = "rings-cross"           // two rings of a part cross
	RingsShareEdge       FaultKind = "rings-share-edge"      // two rings of a part run along each other
	HoleOutside          FaultKind = "hole-outside"          // hole A is not in outline B
	HolesNested          FaultKind = "holes-nested"          // hole A lies in hole B, or is the same
	PartsCross           FaultKind = "parts-cross"           // rings of two parts cross
	PartsShareEdge       FaultKind = "parts-share-edge"      // rings of two parts run along each other
	PartsNested          FaultKind = "parts-nested"          // part A lies in part B, or is the same
	InteriorDisconnected FaultKind = "interior-disconnected" // rings touch so that they cut a part in two
)

// RingRef names an edge of a multipolygon, counting from 0; ring 0 of a part
// is its outline. Edge Segment runs from vertex Segment to the next.
type RingRef struct{ Part, Ring, Segment int }

// Fault is one breach of the rules at a place. Where only one ring is
// concerned, B is another edge of it or equal to A.
type Fault struct {
	Kind FaultKind
	At   orb.Point
	A, B RingRef
}

// MostFaults is how many are looked for in a shape that has gone wholly wrong.
const MostFaults = 100_000

// Valid returns nil if mp is valid, else an error with the first fault as a
// sentence. See Faults.
func Valid(mp orb.MultiPolygon) error {
	faults := Faults(mp)
	switch len(faults) {
	case 0:
		return nil
	case 1:
		return fmt.Errorf("%v", faults[0])
	}
	return fmt.Errorf("%v (%d faults in all)", faults[0], len(faults))
}

// Faults returns what makes mp invalid, sorted by place in mp; nothing if it
// is valid. The search ends at 100,000 faults. The tests are exact for the
// coordinates as they are, in degrees or metres; only At of a crossing is
// rounded. Winding does not matter, nor do repeated vertices, and an empty mp
// is valid. A ring with a bad number or too few vertices is not looked at
// further; one that is not closed is closed for the other tests.
func Faults(mp orb.MultiPolygon) []Fault {
	c := validityCheck{}
	for i, polygon := range mp {
		for j, ring := range polygon {
			c.addRing(i, j, ring)
		}
	}
	c.findContacts()
	c.sortContacts()
	if len(c.faults) < MostFaults {
		c.checkShared()
		c.checkNesting()
		c.checkConnection()
	}
	faults := slices.DeleteFunc(c.faults, c.isOfTwins)
	slices.SortFunc(faults, compareFaults)
	return faults[:min(len(faults), MostFaults)]
}

func compareFaults(f, g Fault) int {
	return cmp.Or(compareRefs(f.A, g.A), compareRefs(f.B, g.B), cmp.Compare(f.Kind, g.Kind),
		cmp.Compare(f.At[0], g.At[0]), cmp.Compare(f.At[1], g.At[1]))
}

func compareRefs(r, s RingRef) int {
	return cmp.Or(cmp.Compare(r.Part, s.Part), cmp.Compare(r.Ring, s.Ring), cmp.Compare(r.Segment, s.Segment))
}

// String returns the fault as a sentence without its full stop; parts, holes
// and vertices count from 1.
func (f Fault) String() string {
	a, b, at := f.A.ringName(), f.B.ringName(), fmt.Sprintf("at %v, %v", f.At[0], f.At[1])
	switch f.Kind {
	case BadNumber:
		return fmt.Sprintf("%s has a coordinate that is not a number at vertex %d", a, f.A.Segment+1)
	case NotClosed:
		return a + " does not end where it begins"
	case TooFew:
		return a + " has fewer than three corners"
	case SelfCrossing:
		return a + " crosses itself " + at
	case SelfTouch:
		return a + " touches itself " + at
	case Retraced:
		return a + " runs back along itself " + at
	case RingsCross, PartsCross:
		return a + " crosses " + b + " " + at
	case RingsShareEdge, PartsShareEdge:
		return a + " runs along " + b + " " + at
	case HoleOutside:
		return a + " lies outside its outline " + at
	case HolesNested, PartsNested:
		return a + " lies within " + b + " " + at
	case InteriorDisconnected:
		return a + " touches " + b + " so that the area is cut in two " + at
	}
	return fmt.Sprintf("%s: %s %s", a, f.Kind, at)
}

func (r RingRef) ringName() string {
	if r.Ring == 0 {
		return fmt.Sprintf("the outline of part %d", r.Part+1)
	}
	return fmt.Sprintf("hole %d of part %d", r.Ring, r.Part+1)
}

// validityCheck is the state of Faults.
type validityCheck struct {
	rings   []checkedRing
	faults  []Fault
	touches []touch
	pairs   map[[2]int32]pairState // of rings, lower number first
}

// pairState is what is known of two rings. The last three are known only
// where they share edges and neither touches itself.
type pairState struct {
	cross, share              bool
	lowerWithin, higherWithin bool // the ring of the lower number lies in the other, the higher in the lower
	disjoint                  bool
}

func (s pairState) twins() bool { return s.lowerWithin && s.higherWithin }

// checkedRing is a ring without repeated vertices or closing vertex.
type checkedRing struct {
	part, number     int
	points           []orb.Point
	places           []int // of the points among the ring's vertices as given
	box              orb.Bound
	counterclockwise bool // meant only if not touchesItself
	touchesItself    bool
	crossesItself    bool
	faulty           bool // named by any fault
	tree             *boxTree
}

func (r *checkedRing) ref(point int) RingRef {
	return RingRef{r.part, r.number, r.places[point]}
}

func (r *checkedRing) edge(i int) (a, b orb.Point) {
	return r.points[i], r.points[r.after(i)]
}

func (r *checkedRing) after(i int) int {
	if i+1 == len(r.points) {
		return 0
	}
	return i + 1
}

func (r *checkedRing) before(i int) int {
	if i == 0 {
		return len(r.points) - 1
	}
	return i - 1
}

func (r *checkedRing) locate(p orb.Point) int {
	if r.tree == nil {
		edges := make([]straightEdge, len(r.points))
		for i := range edges {
			edges[i].from, edges[i].to = r.edge(i)
		}
		r.tree = newBoxTree(edges)
	}
	return r.tree.locate(p)
}

// turnsLeft says whether a ring that does not touch itself winds
// counter-clockwise.
func (r *checkedRing) turnsLeft() bool {
	lowest := 0
	for i, p := range r.points {
		if q := r.points[lowest]; p[1] < q[1] || p[1] == q[1] && p[0] < q[0] {
			lowest = i
		}
	}
	return Orient(r.points[r.before(lowest)], r.points[lowest], r.points[r.after(lowest)]) > 0
}

// addRing tests a ring by itself, apart from where it meets others or itself.
func (c *validityCheck) addRing(part, number int, ring orb.Ring) {
	ref := func(vertex int) RingRef { return RingRef{part, number, vertex} }
	fault := func(kind FaultKind, vertex int) {
		f := Fault{Kind: kind, A: ref(vertex), B: ref(vertex)}
		if vertex < len(ring) {
			f.At = ring[vertex]
		}
		if len(c.faults) < MostFaults {
			c.faults = append(c.faults, f)
		}
	}
	if slices.ContainsFunc(ring, func(p orb.Point) bool { return !isFinitePoint(p) }) {
		for i, p := range ring {
			if !isFinitePoint(p) {
				fault(BadNumber, i)
			}
		}
		return
	}
	r := checkedRing{part: part, number: number}
	for i, p := range ring {
		if n := len(r.points); n > 0 && r.points[n-1] == p {
			r.places[n-1] = i
			continue
		}
		r.points, r.places = append(r.points, p), append(r.places, i)
	}
	positions, open := len(ring), len(ring) > 1 && ring[0] != ring[len(ring)-1]
	if open {
		positions++
	} else if n := len(r.points); n > 1 {
		r.points, r.places = r.points[:n-1], r.places[:n-1]
	}
	if positions < 4 || !hasThreeDistinct(r.points) {
		fault(TooFew, 0)
		return
	}
	if open {
		fault(NotClosed, len(ring)-1)
		r.faulty = true
	}
	r.box = orb.MultiPoint(r.points).Bound()
	r.counterclockwise = r.turnsLeft()
	c.rings = append(c.rings, r)
}

func hasThreeDistinct(points []orb.Point) bool {
	for _, p := range points {
		if p != points[0] && p != points[1] { // neighbours differ
			return true
		}
	}
	return false
}
