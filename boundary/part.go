package boundary

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// maxListed is how many faults of one kind in one part are listed singly.
const maxListed = 25

// decimals is the precision of mended coordinates: 1e-9 degrees is 0.1 mm.
const decimals = 9

// partMender turns one part into valid polygons and writes down what it did.
type partMender struct {
	part    Part
	place   finding.Place
	choices Choices
	local   local
	kept    []int // the file's numbers, from 0, of the rings that are left
	found   []finding.Finding
	mends   []Mended
	asked   []Question
}

func (m *partMender) say(f finding.Finding) { m.found = append(m.found, f) }

// ledger books a mend of a ring or part that went from before to after.
func (m *partMender) ledger(f finding.Finding, before, after orb.MultiPolygon) {
	m.mends = append(m.mends, Mended{
		Code: f.Code, Place: f.Place, Text: f.Text,
		VerticesBefore: corners(before), VerticesAfter: corners(after),
		AreaBefore: plane.GeodesicArea(before), AreaAfter: plane.GeodesicArea(after),
		Displacement: m.displacement(before, after),
	})
}

// displacement returns how far a mend has moved any vertex of the boundary, in
// metres; 0 where all of it is gone.
func (m *partMender) displacement(before, after orb.MultiPolygon) float64 {
	d := plane.Displacement(transformed(before, m.local.metres), transformed(after, m.local.metres))
	if math.IsInf(d, 0) {
		return 0
	}
	return d
}

// mend returns what the part means, nothing when it cannot be used.
func (m *partMender) mend() orb.MultiPolygon {
	rings := make([][]vertex, 0, len(m.part.Polygon))
	for i, ring := range m.part.Polygon {
		place := m.place
		place.Ring = i + 1
		vertices, ok := m.mendRing(ring, place)
		if !ok && i == 0 {
			return nil
		}
		if ok {
			rings = append(rings, vertices)
			m.kept = append(m.kept, i)
		}
	}
	drawn := make(orb.Polygon, len(rings))
	for i, vertices := range rings {
		drawn[i] = points(vertices)
	}
	faults := plane.Faults(orb.MultiPolygon{drawn})
	if len(faults) == 0 {
		return m.windRight(drawn)
	}
	grid := plane.DegreeGrid(extentOf(drawn), decimals)
	var crossed, astray []int // rings that cross themselves, holes that cross the outline
	for _, fault := range faults {
		switch ring := max(fault.A.Ring, fault.B.Ring); {
		case fault.Kind == plane.SelfCrossing && !slices.Contains(crossed, ring):
			crossed = append(crossed, ring)
		case fault.Kind == plane.RingsCross && min(fault.A.Ring, fault.B.Ring) == 0 && !slices.Contains(astray, ring):
			astray = append(astray, ring)
		}
	}
	shape := meaning(grid, drawn, crossed, astray, m.choices)
	askCrossing, askHole := false, false
	if len(crossed) > 0 {
		candidates := crossingQuestion(grid, drawn, crossed, astray, m.choices, shape)
		m.ask(finding.SelfCrossing, faults, candidates)
		// Where no other order is found, loops that matter are a question all the same.
		askCrossing = m.choices.Crossing == "" && (candidates != nil || !canUncross(drawn, crossed))
	}
	if len(astray) > 0 {
		candidates := holeQuestion(grid, drawn, crossed, astray, m.choices, shape)
		m.ask(finding.HoleCrosses, faults, candidates)
		askHole = m.choices.Hole == "" && candidates != nil
	}
	m.sayFaults(faults, rings, drawn, shape, askCrossing, askHole)
	return shape
}

// ask books a question where candidates differ.
func (m *partMender) ask(code finding.Code, faults []plane.Fault, candidates []Candidate) {
	if candidates == nil {
		return
	}
	text := finding.Say("%s crosses itself. Which ground is meant?", finding.Start(partName(m.place)))
	about := func(f plane.Fault) bool { return f.Kind == plane.SelfCrossing }
	if code == finding.HoleCrosses {
		text = finding.Say("A hole of %s crosses its outline. Which ground is meant?", partName(m.place))
		about = func(f plane.Fault) bool { return f.Kind == plane.RingsCross && min(f.A.Ring, f.B.Ring) == 0 }
	}
	at := faults[slices.IndexFunc(faults, about)].At
	m.asked = append(m.asked, Question{code, m.place.At(at[0], at[1]), text, candidates})
}

// mendRing closes and tidies one ring; ok is false when it encloses nothing.
func (m *partMender) mendRing(ring orb.Ring, place finding.Place) (vertices []vertex, ok bool) {
	vertices, found := tidyRing(ring, place)
	tidied := points(vertices)
	for _, f := range found {
		m.say(f)
		m.ledger(f, orb.MultiPolygon{{ring}}, orb.MultiPolygon{{tidied}})
	}
	if n := different(vertices, 3); n < 3 {
		m.drop(finding.TooFewVertices, place, vertices, finding.Say("%s has only %s and encloses nothing, so it is left out.",
			finding.Start(ringName(place)), finding.Counted(n, "different vertex", "different vertices")))
		return nil, false
	}
	vertices, found = cutSpikes(vertices, place, m.local)
	for _, f := range found {
		m.say(f)
	}
	if len(found) > 0 {
		f := found[0]
		if len(found) > 1 {
			f.Text = finding.Say("%s had %s; their tips are left out.", finding.Start(ringName(place)), finding.Counted(len(found), "spike", "spikes"))
		}
		m.ledger(f, orb.MultiPolygon{{tidied}}, orb.MultiPolygon{{points(vertices)}})
	}
	if enclosesNothing(points(vertices), m.local) {
		m.drop(finding.ZeroArea, place, vertices, finding.Say("%s encloses no ground, so it is left out.", finding.Start(ringName(place))))
		return nil, false
	}
	for _, f := range nearPairs(vertices, place, m.local) {
		m.say(f)
	}
	return vertices, true
}

// drop says that a ring is left out. Without its outline a part is lost, which
// somebody must know of; a hole that encloses nothing is no loss.
func (m *partMender) drop(code finding.Code, place finding.Place, vertices []vertex, text finding.Text) {
	f := finding.Finding{Code: code, Severity: finding.NeedsAnswer, Place: place, Text: text}
	if place.Ring > 1 {
		f.Severity = finding.Mended
	}
	if len(vertices) > 0 {
		f.Place = place.At(vertices[0].Point[0], vertices[0].Point[1])
		f.Place.Vertex = vertices[0].number
	}
	m.say(f)
	if f.Severity == finding.Mended {
		m.ledger(f, orb.MultiPolygon{{points(vertices)}}, nil)
	}
}

// windRight turns rings that run the other way than RFC 7946, 3.1.6, asks.
func (m *partMender) windRight(drawn orb.Polygon) orb.MultiPolygon {
	wound := orb.Polygon(plane.Oriented(orb.MultiPolygon{drawn}))
	for i := range wound {
		if drawn[i].Orientation() == wound[i].Orientation() {
			continue
		}
		place := m.place.At(drawn[i][0][0], drawn[i][0][1])
		place.Ring = m.kept[i] + 1
		text := finding.Say("The outline of %s runs clockwise. It is turned around, which moves nothing.", partName(m.place))
		if i > 0 {
			text = finding.Say("Hole %d of %s runs counter-clockwise. It is turned around, which moves nothing.", m.kept[i], partName(m.place))
		}
		f := finding.Finding{Code: finding.WrongWinding, Severity: finding.Mended, Place: place, Text: text}
		m.say(f)
		m.ledger(f, orb.MultiPolygon{{drawn[i]}}, orb.MultiPolygon{{wound[i]}})
	}
	return orb.MultiPolygon{wound}
}

// sayFaults turns faults of the part's rings into findings, and books the
// repair of all of them as one mend.
func (m *partMender) sayFaults(faults []plane.Fault, rings [][]vertex, drawn orb.Polygon, shape orb.MultiPolygon, askCrossing, askHole bool) {
	before, after := plane.GeodesicArea(orb.MultiPolygon{drawn}), plane.GeodesicArea(shape)
	loops := newLoops(drawn, m.local)
	listed := map[finding.Code]int{}
	severity := map[finding.Code]finding.Severity{}
	var main finding.Finding
	for _, fault := range faults {
		f := m.faultFinding(fault, rings, loops, after, askCrossing, askHole)
		if severity[f.Code] != finding.NeedsAnswer {
			severity[f.Code] = f.Severity
		}
		if listed[f.Code]++; listed[f.Code] <= maxListed {
			m.say(f)
		}
		if main.Code == "" || f.Severity == finding.NeedsAnswer && main.Severity != finding.NeedsAnswer {
			main = f
		}
	}
	for _, e := range finding.Table {
		if more := listed[e.Code] - maxListed; more > 0 {
			m.say(finding.Finding{Code: e.Code, Severity: severity[e.Code], Place: m.place, Amount: float64(more), Unit: "places",
				Text: finding.Say("%s has %s of this kind (%s).", finding.Start(partName(m.place)), finding.Counted(more, "more fault", "more faults"), e.Code)})
		}
	}
	if len(shape) == 0 {
		m.say(finding.Finding{Code: finding.ZeroArea, Severity: finding.NeedsAnswer, Place: m.place,
			Text: finding.Say("%s encloses no ground once its faults are mended, so it is left out.", finding.Start(partName(m.place)))})
	}
	main.Text = finding.Say("%s is redrawn where its rings cross, touch or run double (%s): %s, %s before, %s after.",
		finding.Start(partName(m.place)), finding.Counted(len(faults), "place", "places"), finding.Counted(len(shape), "piece", "pieces"), finding.Area(before), finding.Area(after))
	m.ledger(main, orb.MultiPolygon{drawn}, shape)
}

// faultFinding says one fault in words.
func (m *partMender) faultFinding(fault plane.Fault, rings [][]vertex, loops loops, area float64, askCrossing, askHole bool) finding.Finding {
	place := m.place.At(fault.At[0], fault.At[1])
	ring := rings[fault.A.Ring]
	v := ring[fault.A.Segment%len(ring)]
	place.Ring, place.Vertex = m.kept[fault.A.Ring]+1, v.number
	name := finding.Start(ringName(place))
	other := m.place
	other.Ring = m.kept[fault.B.Ring] + 1
	side := func(ref plane.RingRef) int { r := rings[ref.Ring]; return r[ref.Segment%len(r)].number }

	f := finding.Finding{Severity: finding.Mended, Place: place}
	needs := func(yes bool) {
		if yes {
			f.Severity = finding.NeedsAnswer
		}
	}
	switch fault.Kind {
	case plane.SelfCrossing:
		f.Code = finding.SelfCrossing
		loop := loops.area(fault)
		f.Amount, f.Unit = loop, "m²"
		if loop <= m.choices.tolerate()*area {
			f.Code = finding.MicroLoop
			f.Text = finding.Say("%s makes a small loop of %s between vertices %d and %d. Too small to matter, it stays where it encloses ground of its own.",
				name, finding.Area(loop), side(fault.A), side(fault.B))
			break
		}
		needs(askCrossing)
		var done finding.Text
		switch reading := m.choices.Crossing; {
		case askCrossing:
			done = finding.Say("What it encloses on either side is kept; please confirm the order of the vertices.")
		case reading == Uncross:
			done = finding.Say("As chosen, its vertices are put in the order that does not cross.")
		case reading == Outer:
			done = finding.Say("As chosen, everything within its outermost line is kept.")
		default:
			done = finding.Say("What it encloses on either side is kept.")
		}
		f.Text = finding.Sentences(finding.Say("%s crosses itself where the sides after vertices %d and %d meet; the lesser loop has %s.",
			name, side(fault.A), side(fault.B), finding.Area(loop)), done)
	case plane.SelfTouch:
		f.Code = finding.SelfTouch
		f.Text = finding.Say("%s touches itself at vertex %d. It is divided there, which moves nothing.", name, v.number)
	case plane.Retraced:
		f.Code = finding.Retraced
		f.Text = finding.Say("%s runs along itself on the sides after vertices %d and %d. The double side is left out.", name, side(fault.A), side(fault.B))
	case plane.RingsCross:
		if fault.A.Ring > 0 && fault.B.Ring > 0 {
			f.Code = finding.HolesOverlap
			f.Text = finding.Say("%s crosses hole %d. They become one hole.", name, other.Ring-1)
			break
		}
		f.Code = finding.HoleCrosses
		needs(askHole)
		f.Place.Ring, f.Place.Vertex = other.Ring, side(fault.B)
		hole := finding.Start(ringName(f.Place))
		switch {
		case askHole:
			f.Text = finding.Say("%s crosses the outline. What lies inside the outline is cut out; please confirm where the hole ends.", hole)
		case m.choices.Hole == Drop:
			f.Text = finding.Say("%s crosses the outline. As chosen, it is left out.", hole)
		default:
			f.Text = finding.Say("%s crosses the outline. What lies inside the outline is cut out.", hole)
		}
	case plane.RingsShareEdge:
		if fault.A.Ring > 0 && fault.B.Ring > 0 {
			f.Code = finding.HolesOverlap
			f.Text = finding.Say("%s and hole %d share a side. They become one hole.", name, other.Ring-1)
			break
		}
		f.Code = finding.HoleSharesEdge
		f.Text = finding.Say("%s runs along the outline. It becomes a bay in the outline.", finding.Start(ringName(other)))
	case plane.HoleOutside:
		f.Code = finding.HoleOutside
		needs(true)
		f.Text = finding.Say("%s lies outside the outline and cuts nothing out, so it is left out; please say what it stands for.", name)
	case plane.HolesNested:
		f.Code = finding.HolesOverlap
		f.Text = finding.Say("%s lies inside hole %d. They become one hole.", name, other.Ring-1)
	case plane.InteriorDisconnected:
		f.Code = finding.InteriorDivided
		f.Text = finding.Say("%s is cut in pieces where its rings touch. The pieces become parts of their own.", finding.Start(partName(m.place)))
	default:
		f.Code = finding.ZeroArea
		needs(true)
		f.Text = finding.Say("%s is not a sound ring (%s).", name, fault.Kind)
	}
	return f
}

func corners(mp orb.MultiPolygon) int {
	n := 0
	for _, p := range mp {
		for _, ring := range p {
			n += len(ring)
			if len(ring) > 1 && ring[0] == ring[len(ring)-1] {
				n--
			}
		}
	}
	return n
}

// different counts the different vertices as far as most.
func different(vertices []vertex, most int) int {
	seen := map[orb.Point]bool{}
	for _, v := range vertices {
		if seen[v.Point] = true; len(seen) == most {
			break
		}
	}
	return len(seen)
}

// loops measures the loops that a crossing of a ring with itself cuts off.
type loops struct {
	rings [][]orb.Point
	sums  [][]float64 // of the cross products up to each vertex
}

func newLoops(drawn orb.Polygon, local local) loops {
	var l loops
	for _, ring := range drawn {
		xy := make([]orb.Point, len(ring))
		sums := make([]float64, len(ring)+1)
		for i, p := range ring {
			xy[i] = local.metres(p)
			if i > 0 {
				sums[i] = sums[i-1] + xy[i-1][0]*xy[i][1] - xy[i-1][1]*xy[i][0]
			}
		}
		l.rings, l.sums = append(l.rings, xy), append(l.sums, sums)
	}
	return l
}

// area returns the area in m² of the lesser of the two loops at a crossing.
func (l loops) area(f plane.Fault) float64 {
	xy, sums := l.rings[f.A.Ring], l.sums[f.A.Ring]
	i, j := f.A.Segment, f.B.Segment
	if i > j {
		i, j = j, i
	}
	cross := func(p, q orb.Point) float64 { return p[0]*q[1] - p[1]*q[0] }
	a, b, c, d := xy[i], xy[i+1], xy[j], xy[j+1]
	beside := func(p orb.Point) float64 { return cross(c, d) + cross(d, p) + cross(p, c) }
	share := beside(a) / (beside(a) - beside(b))
	x := orb.Point{a[0] + share*(b[0]-a[0]), a[1] + share*(b[1]-a[1])}
	loop := cross(x, b) + sums[j] - sums[i+1] + cross(c, x)
	whole := sums[len(xy)-1]
	return min(math.Abs(loop), math.Abs(whole-loop)) / 2
}
