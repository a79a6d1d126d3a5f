package report

import (
	"strconv"
	"strings"

	"selvage/coverage"
)

// reflyFor names the zones and stretches of an area.
func reflyFor(u Units, r coverage.Refly) string {
	const most = 8
	parts := []string{}
	if len(r.Zones) > 0 {
		parts = append(parts, shortList(u, "", r.Zones, most))
	}
	if len(r.Stretches) > 0 {
		parts = append(parts, shortList(u, "E", r.Stretches, most))
	}
	return strings.Join(parts, ", ")
}

func shortList(u Units, mark string, indexes []int, most int) string {
	var out []string
	for _, n := range numbers(first(indexes, most)) {
		out = append(out, mark+strconv.Itoa(n))
	}
	if more := len(indexes) - most; more > 0 {
		out = append(out, u.Say("%s more", u.Number(more)))
	}
	return strings.Join(out, ", ")
}

func reflyLeft(u Units, area, edge float64) string {
	switch {
	case edge > 0 && area > 0:
		return u.Say("%s and %s of edge", u.Area(area), u.Length(edge))
	case edge > 0:
		return u.Say("%s of edge", u.Length(edge))
	}
	return u.Area(area)
}

// reflySentences say how the areas are flown, and what comes of it.
func (n Note) reflySentences() []string {
	p, u := n.Audit.ReflyPlan, n.Units
	if p.Lines == 0 {
		return nil
	}
	speed := u.Speed(p.Speed)
	if p.SpeedAssumed {
		speed = aside(speed, u.Say("assumed"))
	}
	out := []string{
		u.Say("Fly them at %s above ground, for a ground sample distance of %s, with overlaps of %s forward and %s side: %s between photos, %s between lines.",
			u.Length(p.Height), u.GSD(p.GSD), u.Overlap(p.Forward), u.Overlap(p.Side), u.Length(p.AirBase), u.Length(p.LineSpacing)),
		u.Say("All of them take %s, %s, and about %s at %s, without take-off, landing and the way between areas.",
			u.Count(p.Lines, "line", "lines"), u.Count(p.Photos, "photo", "photos"), u.minutes(p.Time), speed),
	}
	if p.Closes {
		return append(out, u.Say("Checked with photos placed along the planned lines: nothing of note stays short."))
	}
	return append(out, u.Say("Checked with photos placed along the planned lines: %s would stay short.", reflyLeft(u, p.Remaining, p.RemainingEdge)))
}

// NothingAgain says whether nothing has to be flown again.
func (n Note) NothingAgain() bool { return len(n.Audit.Refly) == 0 && n.Captured() }

// againSentence is the verdict's, with what it takes.
func (n Note) againSentence() string {
	p, u := n.Audit.ReflyPlan, n.Units
	all := len(n.Audit.Refly)
	areas := u.Count(all, "area", "areas")
	switch all {
	case 1:
		areas = aside(areas, "R1")
	case 2:
		areas = aside(areas, u.Say("%s and %s", "R1", "R2"))
	default:
		areas = aside(areas, u.Say("R1 to R%s", u.Number(all)))
	}
	if p.Lines == 0 {
		return u.Say("To fly again: %s.", areas)
	}
	return u.Say("To fly again: %s, with %s in about %s.", areas, u.Count(p.Photos, "photo", "photos"), u.minutes(p.Time))
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
		numbers(r.Zones), numbers(r.Stretches), squareMetres(r.Area), known(r.Course, r.Lines, 3), r.Lines, r.Photos,
		known(r.Track, r.Lines, 3), known(r.Time/60, r.Lines, 3), r.Closes, squareMetres(r.Remaining), metres(r.RemainingEdge),
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
		metres(p.Speed), p.SpeedAssumed, metres(p.Buffer), p.Lines, p.Photos, metres(p.Track), rounded{p.Time / 60, 3},
		p.Closes, squareMetres(p.Remaining), metres(p.RemainingEdge), squareMetres(p.KeptOut),
	}
}
