package report

import (
	"slices"
	"strconv"
	"strings"

	"selvage/coverage"
)

// The tables of ground and edge. Those of flights, points and what is certain
// stand with what else is said of them.

// checkTable has words in a file too, with metric figures in them.
func (n Note) checkTable() table {
	u := n.Units
	t := table{Name: "wanted", About: "wanted and found", ID: "wanted", Kind: "checks", Headed: true, Columns: u.heads(
		"What|what", "Wanted|wanted|wanted", "Found|found|found", "Met?|met|met")}
	metric := n
	metric.Units = Units{}
	behind := metric.Checks()
	for i, c := range n.Checks() {
		name, want, found, met := words(behind[i].Name), words(behind[i].Wanted), words(behind[i].Found), words(c.Met.String())
		name.Text, want.Text, found.Text, met.Text = c.Name, c.Wanted, c.Found, u.answer(c.Met)
		met.Class = "met-" + c.Met.Class()
		t.add(name, want, found, met)
	}
	return t
}

func (n Note) zoneTable() table {
	u := n.Units.Short()
	t := table{Name: "zones", About: "zones with too few views", ID: "zones", Listed: true, Columns: u.heads(
		"No.|number", "Class|class", "Views|views", "Area|area_m2|figure", "Certain|certain_share|figure",
		"Position (lat, lon)|lat_deg lon_deg", "Fly again|refly")}
	again := n.reflyOfZones()
	for i, z := range n.Audit.Zones {
		class := u.term(func(l Locale) string { return l.kindName(z.Kind) })
		class.Chip = zoneClass(z.Kind)
		certain := valued(n.certainShare(z), z.Certain, 6)
		if !n.doubtful() {
			certain.Values[0] = ""
		}
		views := u.term(func(l Locale) string { return l.kindViews(z.Kind, n.Audit.Wanted.Views) })
		t.add(marked("", i), class, views, valued(u.Area(z.Area), z.Area, 2), certain, u.spot(z.Label), words(again[i]))
	}
	return t
}

// reflyOfZones names the areas to fly again that reach over each zone.
func (n Note) reflyOfZones() []string {
	in := make([]string, len(n.Audit.Zones))
	for i, r := range n.Audit.Refly {
		for _, z := range r.Zones {
			if z >= 0 && z < len(in) {
				in[z] = strings.TrimPrefix(in[z]+", R"+strconv.Itoa(i+1), ", ")
			}
		}
	}
	return in
}

func (n Note) stretchTable() table {
	a, u := n.Audit, n.Units.Short()
	t := table{Name: "stretches", About: "edge with too few views", ID: "edge", Listed: true, Columns: u.heads(
		"No.|number", "Ring|ring", "From|from_m|figure", "To|to_m|figure", "Length|length_m|figure", "Least views|least_views|figure",
		"Middle (lat, lon)|lat_deg lon_deg")}
	for i, s := range a.Edge.Stretches {
		t.add(marked("E", i), u.term(func(l Locale) string { return l.edgeRing(a.Edge, s.Ring) }), valued(u.Chainage(s.From), s.From, 3), valued(u.Chainage(s.To), s.To, 3),
			valued(u.Length(s.To-s.From), s.To-s.From, 3), u.tally(s.MinViews), u.spot(middle(s.Path)))
	}
	return t
}

func (n Note) ringTable() table {
	a, u := n.Audit, n.Units.Short()
	t := table{Name: "starts", About: "where chainage starts", ID: "starts", Snug: true, Columns: u.heads("Ring|ring", "Length|length_m|figure", "Starts at (lat, lon)|lat_deg lon_deg", "Runs|runs")}
	for i, r := range a.Edge.Rings {
		t.add(u.term(func(l Locale) string { return l.edgeRing(a.Edge, i) }), valued(u.Length(r.Length), r.Length, 3), u.spot(r.Start),
			u.term(func(l Locale) string { return l.way(n, r) }))
	}
	return t
}

func (n Note) reflyTable() table {
	u := n.Units.Short()
	t := table{Name: "refly", About: "areas to fly again", ID: "refly", Listed: true, Columns: u.heads(
		"No.|number", "Area|area_m2|figure", "Zones and stretches|zones stretches|words", "Course|course_deg|figure", "Lines|lines|figure",
		"Photos|photos|figure", "Track|track_m|figure", "Time|time_s|figure", "Enough then|enough remaining_m2 remaining_edge_m")}
	for i, r := range n.Audit.Refly {
		row := []entry{marked("R", i), valued(u.Area(r.Area), r.Area, 2), {Text: reflyFor(u, r), Values: []string{joined(r.Zones), joined(r.Stretches)}}}
		if r.Lines == 0 {
			for range 5 {
				row = append(row, entry{Text: u.unknown(), Values: []string{""}})
			}
			t.add(append(row, entry{Text: u.unknown(), Values: []string{"", "", ""}})...)
			continue
		}
		enough := Yes
		if !r.Closes {
			enough = No
		}
		after := entry{Text: u.answer(enough), Values: []string{enough.String(), knownTo(r.Remaining, 2), knownTo(r.RemainingEdge, 3)}}
		if !r.Closes {
			after.Text = u.Say("%s left short", reflyLeft(u, r.Remaining, r.RemainingEdge))
		}
		t.add(append(row, valued(u.fixed(r.Course, 0)+"°", r.Course, 1), u.tally(r.Lines), u.tally(r.Photos),
			valued(u.Distance(r.Track), r.Track, 1), valued(u.minutes(r.Time), r.Time, 1), after)...)
	}
	return t
}

// joined lists the numbers of indexes, in one value of a file.
func joined(indexes []int) string {
	var out []string
	for _, n := range numbers(indexes) {
		out = append(out, strconv.Itoa(n))
	}
	return strings.Join(out, ";")
}

// spreadTable has figures of two kinds, so that the rows name the units.
func (n Note) spreadTable() table {
	a, u := n.Audit, n.Units.Short()
	t := table{Name: "overlap", About: "overlap and ground sample distance", ID: "overlap", Columns: u.heads(
		"What|what", "Wanted|wanted", "Median|median|figure", "Least|least|figure", "Greatest|greatest|figure", "Fall short|short_share|figure", "Measured on|count")}
	row := func(what entry, wanted float64, asked string, s coverage.Spread, count string, show, value func(float64) string) {
		want, short := named(u.Say("not asked"), ""), named("–", "")
		if wanted > 0 {
			want = named(asked, value(wanted))
		}
		if wanted > 0 && s.N > 0 {
			short = valued(u.Percent(s.Below), s.Below, 6)
		}
		found := slices.Repeat([]entry{named(u.unknown(), "")}, 3)
		if s.N > 0 {
			for i, x := range []float64{s.Median, s.Min, s.Max} {
				found[i] = named(show(x), value(x))
			}
		}
		t.add(what, want, found[0], found[1], found[2], short, named(count, strconv.Itoa(s.N)))
	}
	share := func(x float64) string { return knownTo(x, 6) }
	pairs := func(s coverage.Spread) string { return u.Count(s.N, "pair", "pairs") }
	row(named(u.Say("Forward overlap"), "forward_overlap_share"), a.Wanted.Forward, u.Say("%s or more", u.Overlap(a.Wanted.Forward)), a.Overlap.Forward, pairs(a.Overlap.Forward), u.Percent, share)
	row(named(u.Say("Side overlap"), "side_overlap_share"), a.Wanted.Side, u.Say("%s or more", u.Overlap(a.Wanted.Side)), a.Overlap.Side, pairs(a.Overlap.Side), u.Percent, share)
	row(named(u.Say("Ground sample distance"), "gsd_mm"), a.Wanted.GSD, u.Say("%s or finer", u.GSD(a.Wanted.GSD)), a.GSD, u.Count(a.GSD.N, "photo", "photos"), u.GSD, func(x float64) string { return knownTo(1000*x, 3) })
	return t
}
