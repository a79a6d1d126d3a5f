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
	g := newGroups(parts, shapes)
	s.countCopies(&g, shapes)
	pairs, all := touching(g.shapes)
	if len(pairs) > 0 && (!all || tooMany(pairs, g.shapes)) {
		s.uniteUnseen(&g, pairs, all, choices)
	} else {
		s.gatherPairs(&g, pairs, choices)
	}
	for i := range parts {
		if a, ok := g.areas[i]; ok && len(a.Shape) > 0 {
			s.Areas = append(s.Areas, a)
		}
	}
}

// gatherPairs looks at each two parts that touch.
func (s *Site) gatherPairs(g *groups, pairs []neighbours, choices Choices) {
	var slight []neighbours // overlap by less than matters
	for _, pair := range pairs {
		m := meet(g.parts, g.shapes, pair, choices)
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
		g.join(pair.a, pair.b)
	}
	g.makeAreas()
	s.joinSlight(g, slight)
}

// countCopies takes parts out that are drawn as another one is, vertex for vertex.
func (s *Site) countCopies(g *groups, shapes []orb.MultiPolygon) {
	for i, first := range firstAlike(shapes) {
		if i == first || len(shapes[i]) == 0 {
			continue
		}
		g.alike[i], g.shapes[i] = first, nil
		g.join(first, i)
		at, area := shapes[i][0][0][0], plane.GeodesicArea(shapes[i])
		f := duplicate(g.parts[first].Place, g.parts[i].Place.At(at[0], at[1]), area)
		s.Findings = append(s.Findings, f)
		s.Mends = append(s.Mends, Mended{Code: f.Code, Place: f.Place, Text: f.Text,
			VerticesBefore: 2 * corners(shapes[i]), VerticesAfter: corners(shapes[i]), AreaBefore: 2 * area, AreaAfter: area})
	}
}

// duplicate says that the part at b is the ground of the part at a, of area m².
func duplicate(a, b finding.Place, area float64) finding.Finding {
	return finding.Finding{Code: finding.DuplicatePart, Severity: finding.Mended, Place: b, Amount: area, Unit: "m²",
		Text: finding.Say("%s is the same ground as %s, %s. It is counted once.", finding.Start(partName(b)), partName(a), finding.Area(area))}
}

// What it takes to look at two parts, in that for a vertex of them, and how much
// of it a file may take for itself and for each of its vertices.
const (
	pairCost    = 64
	pairsCost   = 1_000_000
	pairsCostBy = 40
)

// tooMany reports whether to look at all pairs is out of proportion to the file:
// a hundred outlines drawn one upon the other make five thousand.
func tooMany(pairs []neighbours, shapes []orb.MultiPolygon) bool {
	size := make([]int, len(shapes))
	left := pairsCost
	for i, shape := range shapes {
		size[i] = corners(shape)
		left += pairsCostBy * size[i]
	}
	for _, pair := range pairs {
		left -= pairCost + size[pair.a] + size[pair.b]
	}
	return left < 0
}

// uniteUnseen makes one area of the parts of each group that touch, where there
// are too many pairs to look at, or of all parts where not all pairs are known.
func (s *Site) uniteUnseen(g *groups, pairs []neighbours, all bool, choices Choices) {
	for _, pair := range pairs {
		g.join(pair.a, pair.b)
	}
	if !all {
		for i := range g.parts {
			g.join(0, i)
		}
	}
	g.makeAreas()
	first := pairs[0]
	f := finding.Finding{Code: finding.PartsOverlap, Severity: finding.NeedsAnswer, Place: g.parts[first.b].Place.At(first.at[0], first.at[1]),
		Text: finding.Say("Parts overlap or share sides in more places than can be looked at one by one. Parts that do are taken as one, and their ground is counted once; please confirm that it is meant so.")}
	if choices.Overlap == Together {
		f.Severity = finding.Mended
		f.Text = finding.Say("Parts overlap or share sides in more places than can be looked at one by one. As chosen, parts that do are taken as one, and their ground is counted once.")
	}
	m := Mended{Code: f.Code, Place: f.Place, Text: f.Text}
	for i, shape := range g.shapes {
		area, after := plane.GeodesicArea(shape), plane.GeodesicArea(g.areas[i].Shape)
		m.VerticesBefore, m.VerticesAfter = m.VerticesBefore+corners(shape), m.VerticesAfter+corners(g.areas[i].Shape)
		m.AreaBefore, m.AreaAfter = m.AreaBefore+area, m.AreaAfter+after
	}
	f.Amount, f.Unit = m.AreaBefore-m.AreaAfter, "m²"
	s.Findings, s.Mends = append(s.Findings, f), append(s.Mends, m)
}

// groups are the parts that overlap each other, and the areas that they make.
type groups struct {
	parts  []Part
	shapes []orb.MultiPolygon // empty for a copy of another
	alike  []int              // the first part that is drawn as each part is
	upper  []int              // an earlier part of each part's group, or the part itself
	holes  []int              // parts that are holes in others
	areas  map[int]Area       // by the group's first part
}

func newGroups(parts []Part, shapes []orb.MultiPolygon) groups {
	g := groups{parts: parts, shapes: slices.Clone(shapes), upper: make([]int, len(parts)), areas: map[int]Area{}}
	for i := range g.upper {
		g.upper[i] = i
	}
	g.alike = slices.Clone(g.upper)
	return g
}

// first is the first part of a part's group.
func (g *groups) first(i int) int {
	for g.upper[i] != i {
		g.upper[i] = g.upper[g.upper[i]]
		i = g.upper[i]
	}
	return i
}

func (g *groups) join(a, b int) {
	a, b = g.first(a), g.first(b)
	g.upper[max(a, b)] = min(a, b)
}

func (g *groups) makeAreas() {
	for i, members := range g.members() {
		if len(members) > 0 {
			g.areas[i] = g.area(members)
		}
	}
}

// members are the parts of each group, by its first part.
func (g *groups) members() [][]int {
	all := make([][]int, len(g.parts))
	for i := range g.parts {
		all[g.first(i)] = append(all[g.first(i)], i)
	}
	return all
}

// area makes one area of a group, empty when nothing is left of it.
func (g *groups) area(group []int) Area {
	var a Area
	var names []string
	var members, inner []orb.MultiPolygon
	for _, j := range group {
		original := g.alike[j]
		shape := g.shapes[original]
		if len(shape) == 0 {
			continue
		}
		if slices.Contains(g.holes, original) {
			inner = append(inner, shape)
			continue
		}
		if a.Parts = append(a.Parts, g.parts[j]); j == original {
			members = append(members, shape)
		}
		if name := g.parts[j].Name; name != "" && len(names) <= maxListed && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) > maxListed {
		names[maxListed] = "…"
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
		key := [2]int{min(g.first(pair.a), g.first(pair.b)), max(g.first(pair.a), g.first(pair.b))}
		a, b := g.areas[key[0]], g.areas[key[1]]
		if key[0] == key[1] || apart[key] || len(a.Parts)+len(b.Parts) < 3 || len(a.Shape) == 0 || len(b.Shape) == 0 {
			continue
		}
		overlap := overlapArea(a.Shape, b.Shape)
		if apart[key] = overlap < noise; apart[key] {
			continue
		}
		g.join(pair.a, pair.b)
		delete(g.areas, key[1])
		joined := g.area(g.members()[key[0]])
		g.areas[key[0]] = joined
		s.Findings = slices.DeleteFunc(s.Findings, func(f finding.Finding) bool {
			return f.Code == finding.PartsShareEdge && slices.ContainsFunc(slight, func(p neighbours) bool {
				return g.first(p.a) == g.first(p.b) && f.Place == g.parts[p.b].Place.At(p.at[0], p.at[1])
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
		f = duplicate(parts[pair.a].Place, f.Place, overlap)
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

// touching returns the pairs of parts that overlap or share a side, and whether
// these are all.
func touching(shapes []orb.MultiPolygon) (pairs []neighbours, all bool) {
	var drawn orb.MultiPolygon
	var owner []int
	for i, shape := range shapes {
		for _, p := range shape {
			drawn, owner = append(drawn, p), append(owner, i)
		}
	}
	if len(shapes) < 2 {
		return nil, true
	}
	seen := map[[2]int]bool{}
	faults := plane.Faults(drawn)
	for _, fault := range faults {
		a, b := owner[fault.A.Part], owner[fault.B.Part]
		a, b = min(a, b), max(a, b)
		if key := [2]int{a, b}; a != b && !seen[key] {
			seen[key] = true
			pairs = append(pairs, neighbours{a, b, fault.At})
		}
	}
	slices.SortFunc(pairs, func(p, q neighbours) int { return (p.a-q.a)*len(shapes) + p.b - q.b })
	return pairs, len(faults) < plane.MostFaults
}

func overlapArea(a, b orb.MultiPolygon) float64 {
	grid := plane.DegreeGrid(a.Bound().Union(b.Bound()), decimals)
	return plane.GeodesicArea(plane.Intersection(grid, a, b))
}
