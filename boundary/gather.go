package boundary

import (
	"maps"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// gather finds parts that overlap and makes one area of each group of them.
func (s *Site) gather(parts []Part, shapes []orb.MultiPolygon, choices Choices) {
	g := groups{parts: parts, shapes: shapes, first: make([]int, len(parts)), areas: map[int]Area{}}
	for i := range g.first {
		g.first[i] = i
	}
	var slight []neighbours // overlap by less than matters
	for _, pair := range touching(shapes) {
		m := meet(parts, shapes, pair, choices)
		s.Findings = append(s.Findings, m.found)
		if m.found.Severity == finding.Note {
			slight = append(slight, pair)
			continue
		}
		s.Mends = append(s.Mends, m.mend)
		if m.question.Candidates != nil {
			s.Questions = append(s.Questions, m.question)
		}
		if m.hole >= 0 {
			g.holes = append(g.holes, m.hole)
		}
		g.join(pair)
	}
	for i, members := range g.members() {
		if len(members) > 0 {
			g.areas[i] = g.area(members)
		}
	}
	s.joinSlight(&g, slight)
	for i := range parts {
		if a, ok := g.areas[i]; ok && len(a.Shape) > 0 {
			s.Areas = append(s.Areas, a)
		}
	}
}

// groups are the parts that overlap each other, and the areas that they make.
type groups struct {
	parts  []Part
	shapes []orb.MultiPolygon
	first  []int        // the first part of each part's group
	holes  []int        // parts that are holes in others
	areas  map[int]Area // by the group's first part
}

func (g *groups) join(pair neighbours) {
	old, first := max(g.first[pair.a], g.first[pair.b]), min(g.first[pair.a], g.first[pair.b])
	for i := range g.first {
		if g.first[i] == old {
			g.first[i] = first
		}
	}
}

// members are the parts of each group, by its first part.
func (g *groups) members() [][]int {
	all := make([][]int, len(g.first))
	for i, first := range g.first {
		all[first] = append(all[first], i)
	}
	return all
}

// area makes one area of a group, empty when nothing is left of it.
func (g *groups) area(group []int) Area {
	var a Area
	var names []string
	var members, inner []orb.MultiPolygon
	for _, j := range group {
		switch {
		case len(g.shapes[j]) == 0:
		case slices.Contains(g.holes, j):
			inner = append(inner, g.shapes[j])
		default:
			members = append(members, g.shapes[j])
			a.Parts = append(a.Parts, g.parts[j])
			if name := g.parts[j].Name; name != "" && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if len(members) == 0 {
		return a
	}
	a.Name, a.Shape = strings.Join(names, " + "), unite(members)
	if len(inner) > 0 {
		grid := plane.DegreeGrid(a.Shape.Bound(), decimals)
		a.Shape = settle(grid, plane.Difference(grid, a.Shape, unite(inner)), slices.Concat(append(members, inner...)...))
	}
	return a
}

// joinSlight unites areas of which no two parts overlap by as much as matters,
// but which do so as a whole, once their parts are united. What was said of
// the pairs is taken back.
func (s *Site) joinSlight(g *groups, slight []neighbours) {
	apart := map[[2]int]bool{}
	for n := 0; n < len(slight); n++ {
		pair := slight[n]
		key := [2]int{min(g.first[pair.a], g.first[pair.b]), max(g.first[pair.a], g.first[pair.b])}
		a, b := g.areas[key[0]], g.areas[key[1]]
		if key[0] == key[1] || apart[key] || len(a.Parts)+len(b.Parts) < 3 || len(a.Shape) == 0 || len(b.Shape) == 0 {
			continue
		}
		overlap := overlapArea(a.Shape, b.Shape)
		if apart[key] = overlap < noise; apart[key] {
			continue
		}
		g.join(pair)
		delete(g.areas, key[1])
		joined := g.area(g.members()[key[0]])
		g.areas[key[0]] = joined
		s.Findings = slices.DeleteFunc(s.Findings, func(f finding.Finding) bool {
			return f.Code == finding.PartsShareEdge && slices.ContainsFunc(slight, func(p neighbours) bool {
				return g.first[p.a] == g.first[p.b] && f.Place == g.parts[p.b].Place.At(p.at[0], p.at[1])
			})
		})
		f := finding.Finding{Code: finding.PartsOverlap, Severity: finding.Mended, Place: g.parts[pair.b].Place.At(pair.at[0], pair.at[1]), Amount: overlap, Unit: "m²",
			Text: finding.Say("%s and %s overlap on slivers of %s in all, which are counted once.", finding.Start(areaName(a)), areaName(b), finding.Area(overlap))}
		s.Findings = append(s.Findings, f)
		s.Mends = append(s.Mends, Mended{Code: f.Code, Place: f.Place, Text: f.Text,
			VerticesBefore: corners(a.Shape) + corners(b.Shape), VerticesAfter: corners(joined.Shape),
			AreaBefore: plane.GeodesicArea(a.Shape) + plane.GeodesicArea(b.Shape), AreaAfter: plane.GeodesicArea(joined.Shape)})
		maps.DeleteFunc(apart, func(k [2]int, _ bool) bool { return k[0] == key[0] || k[1] == key[0] })
		n = -1 // the area that grew may now overlap others
	}
}

// noise is the overlap that does not matter, in m²: less than the grid's cells
// along 10 m of side.
const noise = 1e-3

// meeting is how two parts lie to each other.
type meeting struct {
	found    finding.Finding
	mend     Mended
	question Question
	hole     int // the part that is a hole in the other, -1 if none is
}

// meet looks at two parts and, unless they merely share a side, books their union.
func meet(parts []Part, shapes []orb.MultiPolygon, pair neighbours, choices Choices) meeting {
	shapeA, shapeB := shapes[pair.a], shapes[pair.b]
	areaA, areaB, overlap := plane.GeodesicArea(shapeA), plane.GeodesicArea(shapeB), overlapArea(shapeA, shapeB)
	f := finding.Finding{Place: parts[pair.b].Place.At(pair.at[0], pair.at[1]), Amount: overlap, Unit: "m²"}
	a, b := partName(parts[pair.a].Place), partName(f.Place)
	m := meeting{hole: -1}
	after := areaA + areaB - overlap
	switch {
	case overlap < noise:
		f.Code, f.Severity, f.Amount, f.Unit = finding.PartsShareEdge, finding.Note, 0, ""
		f.Text = finding.Say("%s and %s share a side. They are kept apart.", finding.Start(a), b)
	case max(areaA, areaB)-overlap < noise:
		f.Code, f.Severity = finding.DuplicatePart, finding.Mended
		f.Text = finding.Say("%s is the same ground as %s, %s. It is counted once.", finding.Start(b), a, finding.Area(overlap))
	default:
		f.Code, f.Severity = finding.PartsOverlap, finding.Mended
		f.Text = finding.Say("%s and %s overlap on %s, which is counted once.", finding.Start(a), b, finding.Area(overlap))
		nested := min(areaA, areaB)-overlap < noise
		if overlap > choices.tolerate()*min(areaA, areaB) {
			m.question = Question{f.Code, f.Place, finding.Say("%s and %s overlap. Which ground is meant?", finding.Start(a), b),
				overlapQuestion(a, b, shapeA, shapeB, nested, choices)}
		}
		switch {
		case nested && choices.Overlap == InnerHole:
			m.hole, after = pair.b, areaA-areaB
			if areaB > areaA {
				m.hole, after = pair.a, areaB-areaA
			}
			f.Text = finding.Say("%s and %s overlap on %s. As chosen, the one inside is a hole in the other.", finding.Start(a), b, finding.Area(overlap))
		case m.question.Candidates != nil && choices.Overlap != Together:
			f.Severity = finding.NeedsAnswer
			f.Text = finding.Say("%s and %s overlap on %s, which is counted once; please confirm that both are meant as drawn.", finding.Start(a), b, finding.Area(overlap))
		}
	}
	m.found = f
	m.mend = Mended{Code: f.Code, Place: f.Place, Text: f.Text,
		VerticesBefore: corners(shapeA) + corners(shapeB), VerticesAfter: corners(unite([]orb.MultiPolygon{shapeA, shapeB})),
		AreaBefore: areaA + areaB, AreaAfter: after}
	return m
}

// neighbours are two parts that share more than points.
type neighbours struct {
	a, b int
	at   orb.Point
}

// touching returns the pairs of parts that overlap or share a side.
func touching(shapes []orb.MultiPolygon) []neighbours {
	if len(shapes) < 2 {
		return nil
	}
	var all orb.MultiPolygon
	var owner []int
	for i, shape := range shapes {
		for _, p := range shape {
			all, owner = append(all, p), append(owner, i)
		}
	}
	var pairs []neighbours
	seen := map[[2]int]bool{}
	for _, fault := range plane.Faults(all) {
		a, b := owner[fault.A.Part], owner[fault.B.Part]
		a, b = min(a, b), max(a, b)
		if key := [2]int{a, b}; a != b && !seen[key] {
			seen[key] = true
			pairs = append(pairs, neighbours{a, b, fault.At})
		}
	}
	slices.SortFunc(pairs, func(p, q neighbours) int { return (p.a-q.a)*len(shapes) + p.b - q.b })
	return pairs
}

func overlapArea(a, b orb.MultiPolygon) float64 {
	grid := plane.DegreeGrid(a.Bound().Union(b.Bound()), decimals)
	return plane.GeodesicArea(plane.Intersection(grid, a, b))
}
