package boundary

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Crossing says which ground a ring that crosses itself means.
type Crossing string

// The readings of a ring that crosses itself.
const (
	Lobes   Crossing = "lobes"   // all that it goes around, on either side of the crossing
	Uncross Crossing = "uncross" // its vertices are in the wrong order: the order that does not cross
	Outer   Crossing = "outer"   // everything within its outermost line, with no gaps
)

// CrossingHole says what a hole that crosses its outline means.
type CrossingHole string

// The readings of a hole that crosses its outline.
const (
	Clip CrossingHole = "clip" // it cuts out what lies inside the outline
	Drop CrossingHole = "drop" // it is a mistake and cuts out nothing
)

// Overlap says what parts that overlap mean.
type Overlap string

// The readings of parts that overlap.
const (
	Together  Overlap = "union" // both are meant, and what both hold is counted once
	InnerHole Overlap = "hole"  // a part that lies inside another is a hole of it
)

// Choices are the answers to faults that can be read in more than one way.
// The zero Choices answer nothing: lobes, clip and union are then used, and where the
// readings differ by more than Tolerate the finding needs an answer.
type Choices struct {
	Crossing Crossing
	Hole     CrossingHole
	Overlap  Overlap // "hole" answers for parts inside others only
	// Tolerate is the share of a part's area by which readings may differ
	// without a question. 0 means 0.005.
	Tolerate float64
}

func (c Choices) tolerate() float64 {
	if c.Tolerate == 0 {
		return 0.005
	}
	return c.Tolerate
}

// Candidate is one reading of a fault, drawn and measured.
type Candidate struct {
	// Choice is "lobes", "uncross", "outer", "clip", "drop", "union" or "hole", or
	// "first" or "second" where the other of two parts would have to go, which
	// only the client's file can say.
	Choice string
	Text   finding.Text // a sentence with the area
	Area   float64
	Shape  orb.MultiPolygon
	Used   bool // whether the site area has this reading
}

// Question is a fault with more than one reading, for the client to decide.
type Question struct {
	Code       finding.Code
	Place      finding.Place
	Text       finding.Text
	Candidates []Candidate
}

// meaning returns the ground of a part under the choices. Rings that cross
// themselves are those of crossed, holes that cross the outline those of astray.
func meaning(grid plane.Grid, drawn orb.Polygon, crossed, astray []int, c Choices) orb.MultiPolygon {
	var shell orb.MultiPolygon
	var holes []orb.MultiPolygon
	for i, ring := range drawn {
		var ground orb.MultiPolygon
		if slices.Contains(crossed, i) {
			ground = crossedGround(grid, ring, c.Crossing)
		} else {
			ground = plane.Repair(grid, orb.Polygon{ring})
		}
		if i == 0 {
			shell = ground
		} else if c.Hole != Drop || !slices.Contains(astray, i) {
			holes = append(holes, ground)
		}
	}
	if len(holes) > 0 {
		shell = plane.Difference(grid, shell, plane.Union(grid, holes...))
	}
	return settle(grid, shell, orb.MultiPolygon{drawn})
}

// crossedGround returns the ground that a ring which crosses itself means.
func crossedGround(grid plane.Grid, ring orb.Ring, c Crossing) orb.MultiPolygon {
	if c == Uncross {
		if straight, ok := uncrossed(ring); ok {
			ring = straight
		}
	}
	ground := plane.Repair(grid, orb.Polygon{ring})
	if c == Outer {
		for i, polygon := range ground {
			ground[i] = polygon[:1]
		}
		ground = plane.Union(grid, ground) // a lobe may lie in the gap of another
	}
	return ground
}

// Limits of the search for an order that does not cross; more is no slip of
// two vertices, and takes long.
const (
	mostUncrossings     = 50
	mostVerticesToOrder = 5_000
)

// uncrossed takes crossings out of a ring by turning around the piece between
// two sides that cross, as long as there are any. Each turn shortens the ring,
// since two crossing sides are the diagonals of a quadrangle, so that it ends.
func uncrossed(ring orb.Ring) (orb.Ring, bool) {
	if len(ring) > mostVerticesToOrder {
		return nil, false
	}
	ring = slices.Clone(ring)
	for range mostUncrossings {
		faults := plane.Faults(orb.MultiPolygon{{ring}})
		if len(faults) > 10*mostUncrossings {
			return nil, false
		}
		at := slices.IndexFunc(faults, func(f plane.Fault) bool { return f.Kind == plane.SelfCrossing })
		if at < 0 {
			return ring, len(faults) == 0
		}
		i, j := faults[at].A.Segment, faults[at].B.Segment
		if i > j {
			i, j = j, i
		}
		slices.Reverse(ring[i+1 : j+1])
	}
	return nil, false
}

// crossingQuestion draws the readings of a part whose rings cross themselves;
// nil where they agree within what is tolerated. The one under the choices is
// known already.
func crossingQuestion(grid plane.Grid, drawn orb.Polygon, crossed, astray []int, c Choices, known orb.MultiPolygon) []Candidate {
	var all []Candidate
	for _, choice := range []Crossing{Lobes, Uncross, Outer} {
		used := choice == c.Crossing || c.Crossing == "" && choice == Lobes
		if choice == Uncross && !canUncross(drawn, crossed) {
			continue
		}
		shape := known
		if !used {
			with := c
			with.Crossing = choice
			shape = meaning(grid, drawn, crossed, astray, with)
		}
		area := plane.GeodesicArea(shape)
		text := map[Crossing]finding.Text{
			Lobes:   finding.Say("Everything the line goes around is meant, on either side of the crossing: %s.", finding.Area(area)),
			Uncross: finding.Say("Vertices are in the wrong order; in the order that does not cross the area is %s.", finding.Area(area)),
			Outer:   finding.Say("Everything within the outermost line is meant, without gaps: %s.", finding.Area(area)),
		}[choice]
		all = append(all, Candidate{string(choice), text, area, shape, used})
	}
	return differing(all, c.tolerate())
}

// canUncross reports whether some ring has an order that does not cross.
func canUncross(drawn orb.Polygon, crossed []int) bool {
	return slices.ContainsFunc(crossed, func(i int) bool { _, ok := uncrossed(drawn[i]); return ok })
}

// holeQuestion draws the readings of a part whose holes cross its outline; the
// one under the choices is known already.
func holeQuestion(grid plane.Grid, drawn orb.Polygon, crossed, astray []int, c Choices, known orb.MultiPolygon) []Candidate {
	var all []Candidate
	for _, choice := range []CrossingHole{Clip, Drop} {
		used := choice == c.Hole || c.Hole == "" && choice == Clip
		shape := known
		if !used {
			with := c
			with.Hole = choice
			shape = meaning(grid, drawn, crossed, astray, with)
		}
		area := plane.GeodesicArea(shape)
		text := map[CrossingHole]finding.Text{
			Clip: finding.Say("The hole ends at the outline: %s are left.", finding.Area(area)),
			Drop: finding.Say("The hole is a mistake and nothing is cut out: %s are left.", finding.Area(area)),
		}[choice]
		all = append(all, Candidate{string(choice), text, area, shape, used})
	}
	return differing(all, c.tolerate())
}

// overlapQuestion draws the readings of two parts that overlap.
func overlapQuestion(a, b finding.Text, shapeA, shapeB orb.MultiPolygon, nested bool, c Choices) []Candidate {
	grid := plane.DegreeGrid(shapeA.Bound().Union(shapeB.Bound()), decimals)
	var all []Candidate
	add := func(choice string, shape orb.MultiPolygon, used bool, text func(finding.Area) finding.Text) {
		area := plane.GeodesicArea(shape)
		all = append(all, Candidate{choice, text(finding.Area(area)), area, shape, used})
	}
	mistake := func(part finding.Text) func(finding.Area) finding.Text {
		return func(left finding.Area) finding.Text {
			return finding.Say("%s is a mistake: %s are left.", finding.Start(part), left)
		}
	}
	hole := nested && c.Overlap == InnerHole
	add(string(Together), unite([]orb.MultiPolygon{shapeA, shapeB}), !hole, func(both finding.Area) finding.Text {
		return finding.Say("Both are meant as drawn; what both hold is counted once: %s.", both)
	})
	if nested {
		outer, inner := shapeA, shapeB
		if plane.GeodesicArea(inner) > plane.GeodesicArea(outer) {
			outer, inner = inner, outer
		}
		add(string(InnerHole), plane.Difference(grid, outer, inner), hole, func(left finding.Area) finding.Text {
			return finding.Say("The part inside is a hole in the other: %s are left.", left)
		})
	}
	add("first", shapeA, false, mistake(b))
	add("second", shapeB, false, mistake(a))
	return differing(all, c.tolerate())
}

// differing drops candidates that only repeat another's ground and returns the
// rest, nil when they all agree within the tolerated share of the area.
func differing(all []Candidate, tolerate float64) []Candidate {
	least, most := math.Inf(1), 0.0
	var out []Candidate
	for _, c := range all {
		least, most = min(least, c.Area), max(most, c.Area)
		same := slices.IndexFunc(out, func(o Candidate) bool { return sameGround(o, c) })
		if same < 0 {
			out = append(out, c)
		} else {
			out[same].Used = out[same].Used || c.Used
		}
	}
	if most-least <= tolerate*most {
		return nil
	}
	return out
}

func sameGround(a, b Candidate) bool {
	least := 1e-6 * max(a.Area, b.Area)
	if math.Abs(a.Area-b.Area) > least {
		return false
	}
	bound := a.Shape.Bound().Union(b.Shape.Bound())
	return plane.GeodesicArea(plane.Difference(plane.DegreeGrid(bound, decimals), a.Shape, b.Shape)) <= least
}
