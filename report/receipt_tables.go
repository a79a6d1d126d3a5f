package report

import (
	"strconv"

	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/boundary/finding"
)

// Tables are those of the receipt sheet. The same ones are there for every
// receipt, with or without rows.
func (r Receipt) Tables() []Table {
	return tables(r.comparisonTable(), r.findingTable(), r.mendTable())
}

// comparisonTable puts figures of the file as drawn beside those after mending.
// Its rows name their units.
func (r Receipt) comparisonTable() table {
	receipt, u := r.Receipt, r.Units
	t := table{Name: "figures", About: "what the file holds", ID: "figures", Headed: true, Snug: true, Columns: u.heads(
		"What|what", "As received|as_received|figure", "After mending|after_mending|figure")}
	pieces, holes, vertices := 0, 0, 0
	for _, area := range receipt.Site.Areas {
		pieces += len(area.Shape)
		for _, polygon := range area.Shape {
			holes += max(0, len(polygon)-1)
			for _, ring := range polygon {
				vertices += max(0, len(ring)-1)
			}
		}
	}
	t.add(named(u.Say("Parts"), "parts"), u.tally(receipt.Parts), u.tally(pieces))
	t.add(named(u.Say("Holes"), "holes"), u.tally(receipt.Holes), u.tally(holes))
	t.add(named(u.Say("Vertices"), "vertices"), u.tally(receipt.Vertices), u.tally(vertices))
	drawn := entry{Text: u.Say("none"), Values: []string{""}}
	if receipt.Parts > 0 {
		drawn = valued(u.AreaBoth(receipt.Site.AreaBefore), receipt.Site.AreaBefore, 2)
	}
	t.add(named(u.Say("Area"), "area_m2"), drawn, valued(u.AreaBoth(receipt.Site.Area), receipt.Site.Area, 2))
	return t
}

func (r Receipt) findingTable() table {
	u := r.Units
	t := table{Name: "findings", About: "findings", ID: "findings", Kind: "faults", Headed: true, Listed: true, Columns: u.heads(
		"No.|number", "What|finding code|what", "Where|feature name part ring vertex lat_deg lon_deg|at", "Severity|severity|severity")}
	for i, f := range r.Receipt.Findings {
		number := marked("", i)
		number.Text, number.Mark = "", faultTag(f, i)
		what := u.spoken(f.Text)
		what.Code = Clean(string(f.Code))
		what.Values = append(what.Values, cell(string(f.Code)))
		severity := u.term(func(l Locale) string { return l.severityName(f.Severity) })
		severity.Mark = spotSwatch(f.Severity)
		t.add(number, what, u.placedAt(f.Place), severity)
	}
	return t
}

// placedAt is a place in words, with the position below.
func (l Locale) placedAt(p finding.Place) entry {
	e := entry{Values: []string{some(p.Feature), cell(p.Name), some(p.Part), some(p.Ring), some(p.Vertex), "", ""}}
	if p.Located {
		at := l.spot(orb.Point{p.Lon, p.Lat})
		e.Place = at.Text
		copy(e.Values[5:], at.Values)
	}
	p.Located = false
	if e.Text = l.placeInFile(p); e.Text == "" && e.Place == "" {
		e.Text = l.Say("the file as a whole")
	}
	return e
}

// mendTable is the ledger of mends, under the numbers of their findings.
func (r Receipt) mendTable() table {
	u := r.Units
	t := table{Name: "mends", About: "mends", ID: "ledger", Kind: "ledger", Headed: true, Listed: true, Columns: u.heads(
		"No.|finding", "What was done|mend|what", "Vertices|vertices_before vertices_after|figure vertices", "Area|area_before_m2 area_after_m2|figure area",
		"Boundary moved by|moved_m|figure moved")}
	faults := r.faults()
	for _, m := range r.Receipt.Site.Mends {
		number := named("", "")
		if i, known := faults[fault{m.Code, m.Place}]; known {
			number = named(faultName(i), strconv.Itoa(i+1))
		}
		t.add(number, u.spoken(m.Text),
			fromTo(u.tally(m.VerticesBefore), u.tally(m.VerticesAfter)),
			fromTo(valued(u.Area(m.AreaBefore), m.AreaBefore, 2), valued(u.Area(m.AreaAfter), m.AreaAfter, 2)),
			valued(moved(u, m), m.Displacement, 3))
	}
	return t
}

func fromTo(before, after entry) entry {
	e := entry{Text: before.Text, Values: append(before.Values, after.Values...)}
	if after.Text != before.Text {
		e.Text += " → " + after.Text
	}
	return e
}

func moved(u Units, m boundary.Mended) string {
	if m.Displacement == 0 {
		return u.Say("nothing")
	}
	return u.Length(m.Displacement)
}

// fault is what tells findings apart.
type fault struct {
	code  finding.Code
	place finding.Place
}

// faults are the indexes of the findings.
func (r Receipt) faults() map[fault]int {
	out := map[fault]int{}
	for i, f := range r.Receipt.Findings {
		if _, known := out[fault{f.Code, f.Place}]; !known {
			out[fault{f.Code, f.Place}] = i
		}
	}
	return out
}
