package report

import (
	"fmt"
	"strings"

	"selvage/coverage"
)

type reflyRow struct {
	Number                                      int
	Area, For, Course, Lines, Photos, Way, Time string
	Enough                                      string
}

// reflyRows are the areas to fly again as tables show them.
func (n Note) reflyRows() []reflyRow {
	var out []reflyRow
	for i, r := range n.Audit.Refly {
		row := reflyRow{Number: i + 1, Area: n.Units.Area(r.Area), For: reflyFor(r), Course: unknown, Lines: unknown, Photos: unknown, Way: unknown, Time: unknown, Enough: unknown}
		if r.Lines > 0 {
			row.Course, row.Lines, row.Photos = fixed(r.Course, 0)+"°", Number(r.Lines), Number(r.Photos)
			row.Way, row.Time = n.Units.Distance(r.Track), minutes(r.Time)
			row.Enough = "yes"
			if !r.Closes {
				row.Enough = reflyLeft(n.Units, r.Remaining, r.RemainingEdge) + " left short"
			}
		}
		out = append(out, row)
	}
	return out
}

// reflyOfZones names, for each zone, the areas in which it is flown again.
func (n Note) reflyOfZones() []string {
	out := make([]string, len(n.Audit.Zones))
	for i, r := range n.Audit.Refly {
		for _, z := range r.Zones {
			if z >= 0 && z < len(out) {
				out[z] = strings.TrimPrefix(out[z]+", R"+Number(i+1), ", ")
			}
		}
	}
	return out
}

// reflyFor names the zones and stretches of an area.
func reflyFor(r coverage.Refly) string {
	const most = 8
	parts := []string{}
	if len(r.Zones) > 0 {
		parts = append(parts, shortList("", r.Zones, most))
	}
	if len(r.Stretches) > 0 {
		parts = append(parts, shortList("E", r.Stretches, most))
	}
	return strings.Join(parts, ", ")
}

func shortList(mark string, indexes []int, most int) string {
	var out []string
	for _, n := range numbers(first(indexes, most)) {
		out = append(out, mark+Number(n))
	}
	if more := len(indexes) - most; more > 0 {
		out = append(out, Number(more)+" more")
	}
	return strings.Join(out, ", ")
}

func reflyLeft(u Units, area, edge float64) string {
	switch {
	case edge > 0 && area > 0:
		return u.Area(area) + " and " + u.Length(edge) + " of edge"
	case edge > 0:
		return u.Length(edge) + " of edge"
	}
	return u.Area(area)
}

// reflySentences say how the areas are flown, and what comes of it.
func (n Note) reflySentences() []string {
	p, u := n.Audit.ReflyPlan, n.Units
	if p.Lines == 0 {
		return nil
	}
	assumed := ""
	if p.SpeedAssumed {
		assumed = " (assumed)"
	}
	out := []string{
		fmt.Sprintf("Fly them at %s above ground (ground sample distance %s) with overlaps of %s forward and %s side: %s between photos, %s between lines.",
			u.Length(p.Height), u.GSD(p.GSD), Overlap(p.Forward), Overlap(p.Side), u.Length(p.AirBase), u.Length(p.LineSpacing)),
		fmt.Sprintf("All of them take %s, %s, and about %s at %s%s, without take-off, landing and the way between areas.",
			Count(p.Lines, "line", "lines"), Count(p.Photos, "photo", "photos"), minutes(p.Time), u.Speed(p.Speed), assumed),
	}
	if p.Closes {
		return append(out, "Checked with photos placed along the planned lines: nothing of note stays short.")
	}
	return append(out, fmt.Sprintf("Checked with photos placed along the planned lines: %s would stay short.", reflyLeft(u, p.Remaining, p.RemainingEdge)))
}

// againSentence is the verdict's, with what it takes.
func (n Note) againSentence() string {
	p := n.Audit.ReflyPlan
	text := "To fly again: " + Count(len(n.Audit.Refly), "area", "areas")
	if p.Lines > 0 {
		text += fmt.Sprintf(", with %s in about %s", Count(p.Photos, "photo", "photos"), minutes(p.Time))
	}
	return text + "."
}

// reflyTable is the table for a terminal.
func (n Note) reflyTable() [][]string {
	rows := [][]string{{"no.", "area", "for", "course", "lines", "photos", "track", "time", "enough"}}
	for _, r := range first(n.reflyRows(), mostRows) {
		rows = append(rows, []string{"R" + Number(r.Number), r.Area, r.For, r.Course, r.Lines, r.Photos, r.Way, r.Time, r.Enough})
	}
	return rows
}

// reflyJSON numbers zones and stretches from 1, in the order of "zones" and
// "edge.stretches". Figures of an area that could not be planned are null.
type reflyJSON struct {
	Zones         []int   `json:"zones"`
	Stretches     []int   `json:"stretches"`
	Area          rounded `json:"area_m2"`
	Course        rounded `json:"course_deg"`
	Lines         int     `json:"lines"`
	Photos        int     `json:"photos"`
	Track         rounded `json:"track_m"`
	Minutes       rounded `json:"minutes"`
	Closes        bool    `json:"closes"`
	Remaining     rounded `json:"remaining_m2"`
	RemainingEdge rounded `json:"remaining_edge_m"`
}

func reflyOf(r coverage.Refly) reflyJSON {
	return reflyJSON{
		numbers(r.Zones), numbers(r.Stretches), squareMetres(r.Area), known(r.Course, r.Lines, 1), r.Lines, r.Photos,
		known(r.Track, r.Lines, 1), known(r.Time/60, r.Lines, 2), r.Closes, squareMetres(r.Remaining), metres(r.RemainingEdge),
	}
}

// reflyPlanJSON is null where nothing is to be flown again.
type reflyPlanJSON struct {
	Height        rounded `json:"height_m"`
	GSD           rounded `json:"gsd_mm"`
	Forward       rounded `json:"forward_overlap"`
	Side          rounded `json:"side_overlap"`
	Raised        bool    `json:"overlaps_raised"`
	AirBase       rounded `json:"air_base_m"`
	LineSpacing   rounded `json:"line_spacing_m"`
	Speed         rounded `json:"speed_m_s"`
	SpeedAssumed  bool    `json:"speed_assumed"`
	Buffer        rounded `json:"buffer_m"`
	Lines         int     `json:"lines"`
	Photos        int     `json:"photos"`
	Track         rounded `json:"track_m"`
	Minutes       rounded `json:"minutes"`
	Closes        bool    `json:"closes"`
	Remaining     rounded `json:"remaining_m2"`
	RemainingEdge rounded `json:"remaining_edge_m"`
	KeptOut       rounded `json:"kept_out_m2"`
}

func reflyPlanOf(p coverage.ReflyPlan) *reflyPlanJSON {
	if p.AirBase == 0 {
		return nil
	}
	return &reflyPlanJSON{
		metres(p.Height), millimetres(p.GSD), share(p.Forward), share(p.Side), p.Raised, metres(p.AirBase), metres(p.LineSpacing),
		metres(p.Speed), p.SpeedAssumed, metres(p.Buffer), p.Lines, p.Photos, rounded{p.Track, 1}, rounded{p.Time / 60, 2},
		p.Closes, squareMetres(p.Remaining), metres(p.RemainingEdge), squareMetres(p.KeptOut),
	}
}
