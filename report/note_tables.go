package report

import (
	"strconv"
	"strings"

	"selvage/coverage"
)

// The tables of ground and edge. Those of flights, points and what is certain
// stand with what else is said of them.

// checkTable has words in a file too, with metric figures in them.
func (n Note) checkTable() table {
	t := table{Name: "wanted", About: "wanted and found", ID: "wanted", Kind: "checks", Headed: true, Columns: heads(
		"What|what", "Wanted|wanted|wanted", "Found|found|found", "Met?|met|met")}
	metric := n
	metric.Units = Units{}
	behind := metric.Checks()
	for i, c := range n.Checks() {
		want, found := words(behind[i].Wanted), words(behind[i].Found)
		want.Text, found.Text = c.Wanted, c.Found
		t.add(words(c.Name), want, found, entry{Text: c.Met.String(), Class: "met-" + c.Met.Class(), Values: []string{c.Met.String()}})
	}
	return t
}

func (n Note) zoneTable() table {
	u := n.Units.Short()
	t := table{Name: "zones", About: "zones with too few views", ID: "zones", Listed: true, Columns: heads(
		"No.|number", "Class|class", "Views|views", "Area|area_m2|figure", "Certain|certain_share|figure",
		"Position (lat, lon)|lat_deg lon_deg", "Fly again|refly")}
	again := n.reflyOfZones()
	for i, z := range n.Audit.Zones {
		class := words(kindName(z.Kind))
		class.Chip = zoneClass(z.Kind)
		certain := valued(n.certainShare(z), z.Certain, 6)
		if !n.doubtful() {
			certain.Values[0] = ""
		}
		t.add(marked("", i), class, words(kindViews(z.Kind, n.Audit.Wanted.Views)), valued(u.Area(z.Area), z.Area, 2), certain, spot(z.Label), words(again[i]))
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
	t := table{Name: "stretches", About: "edge with too few views", ID: "edge", Listed: true, Columns: heads(
		"No.|number", "Ring|ring", "From|from_m|figure", "To|to_m|figure", "Length|length_m|figure", "Least views|least_views|figure",
		"Middle (lat, lon)|lat_deg lon_deg")}
	for i, s := range a.Edge.Stretches {
		t.add(marked("E", i), words(ringName(a.Edge, s.Ring)), valued(u.Chainage(s.From), s.From, 3), valued(u.Chainage(s.To), s.To, 3),
			valued(u.Length(s.To-s.From), s.To-s.From, 3), u.tally(s.MinViews), spot(middle(s.Path)))
	}
	return t
}

func (n Note) ringTable() table {
	a, u := n.Audit, n.Units.Short()
	t := table{Name: "starts", About: "where chainage starts", ID: "starts", Snug: true, Columns: heads("Ring|ring", "Length|length_m|figure", "Starts at (lat, lon)|lat_deg lon_deg", "Runs|runs")}
	for i, r := range a.Edge.Rings {
		t.add(words(ringName(a.Edge, i)), valued(u.Length(r.Length), r.Length, 3), spot(r.Start), words(way(n, r)))
	}
	return t
}

func (n Note) reflyTable() table {
	u := n.Units.Short()
	t := table{Name: "refly", About: "areas to fly again", ID: "refly", Listed: true, Columns: heads(
		"No.|number", "Area|area_m2|figure", "Zones and stretches|zones stretches|words", "Course|course_deg|figure", "Lines|lines|figure",
		"Photos|photos|figure", "Track|track_m|figure", "Time|time_s|figure", "Enough then|enough remaining_m2 remaining_edge_m")}
	for i, r := range n.Audit.Refly {
		row := []entry{marked("R", i), valued(u.Area(r.Area), r.Area, 2), {Text: reflyFor(u, r), Values: []string{joined(r.Zones), joined(r.Stretches)}}}
		if r.Lines == 0 {
			for range 5 {
				row = append(row, entry{Text: unknown, Values: []string{""}})
			}
			t.add(append(row, entry{Text: unknown, Values: []string{"", "", ""}})...)
			continue
		}
		enough := "yes"
		if !r.Closes {
			enough = "no"
		}
		after := entry{Text: enough, Values: []string{enough, knownTo(r.Remaining, 2), knownTo(r.RemainingEdge, 3)}}
		if !r.Closes {
			after.Text = reflyLeft(u, r.Remaining, r.RemainingEdge) + " left short"
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
	t := table{Name: "overlap", About: "overlap and ground sample distance", ID: "overlap", Columns: heads(
		"What|what", "Wanted|wanted", "Median|median|figure", "Least|least|figure", "Greatest|greatest|figure", "Fall short|short_share|figure", "Measured on|count")}
	a, u := n.Audit, n.Units.Short()
	row := func(what entry, wanted float64, asked string, s coverage.Spread, of string, show, value func(float64) string) {
		want, short := named("not asked", ""), named("–", "")
		if wanted > 0 {
			want = named(asked, value(wanted))
		}
		if wanted > 0 && s.N > 0 {
			short = valued(u.Percent(s.Below), s.Below, 6)
		}
		found := []entry{words(unknown), words(unknown), words(unknown)}
		if s.N > 0 {
			for i, x := range []float64{s.Median, s.Min, s.Max} {
				found[i] = named(show(x), value(x))
			}
		}
		t.add(what, want, found[0], found[1], found[2], short, named(u.Count(s.N, of, of+"s"), strconv.Itoa(s.N)))
	}
	share := func(x float64) string { return knownTo(x, 6) }
	row(named("Forward overlap", "forward_overlap_share"), a.Wanted.Forward, u.Overlap(a.Wanted.Forward)+" or more", a.Overlap.Forward, "pair", u.Percent, share)
	row(named("Side overlap", "side_overlap_share"), a.Wanted.Side, u.Overlap(a.Wanted.Side)+" or more", a.Overlap.Side, "pair", u.Percent, share)
	row(named("Ground sample distance", "gsd_mm"), a.Wanted.GSD, u.GSD(a.Wanted.GSD)+" or finer", a.GSD, "photo", u.GSD, func(x float64) string { return knownTo(1000*x, 3) })
	return t
}
