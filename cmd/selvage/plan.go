package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/pflag"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/report"
)

func planCommand() command {
	return command{
		name: "plan", summary: "work out lines, photos, time and storage of a flight",
		arguments: "(--job FILE | --area FILE) --camera CAMERA --height LENGTH --overlap FORWARD/SIDE [flags]",
		about: `Works out the figures of a flight, for an offer and for planning: height and
ground sample distance, footprint, air base and line spacing, flight lines and
photos, the track, the speed that motion blur and the trigger interval allow,
flight time and storage. Lines are laid over the flight area of a job record, or
over a boundary file as it is, without a buffer. Ground is taken as level. It is
no flight plan to load: a flight controller lays its own lines.`,
		example: "selvage plan --job job/client.job.geojson --camera 13.2x8.8mm,8.8mm,5472x3648 --height 80m --overlap 75/70\n" +
			"selvage plan --area client.kml --sample IMG_0001.jpg --gsd 2cm --overlap 75/70 --course 45\n" +
			"selvage plan --job job/client.job.geojson --sample IMG_0001.jpg --height 260ft --overlap 75/70 \\\n" +
			"    --max-blur 0.7px --exposure 1/1000s --trigger 2s --speed 15mph",
		define: definePlan,
	}
}

// planFlags are the values of the flags.
type planFlags struct {
	area     *areaFlags
	setup    *setupFlags
	course   course
	blur     measured
	exposure measured
	trigger  measured
	speed    measured
	turn     measured
	size     measured
	machine  *bool
	units    *unitsValue
}

func definePlan(flags *pflag.FlagSet) action { return newPlanFlags(flags).run }

func newPlanFlags(flags *pflag.FlagSet) *planFlags {
	lim := usualLimits()
	f := &planFlags{
		area: defineArea(flags, lim), setup: defineSetup(flags, ""),
		blur: measured{kind: blurs}, exposure: measured{kind: exposures}, trigger: measured{kind: times},
		speed: measured{kind: speeds}, turn: measured{kind: turns, value: coverage.UsualTurnTime, given: true}, size: measured{kind: sizes},
	}
	flags.Var(&f.course, "course", "direction of the flight lines, clockwise from north; without it, the best for each part")
	flags.Var(&f.blur, "max-blur", "how far the image may move during the exposure, as in 0.7px")
	flags.Var(&f.exposure, "exposure", "exposure time, as in 1/1000s; without it, that of the sample photo")
	flags.Var(&f.trigger, "trigger", "least time between two photos, as in 2s")
	flags.Var(&f.speed, "speed", "wanted speed over ground, as in 8m/s, 30km/h or 15mph")
	flags.Var(&f.turn, "turn", "time for the turn at the end of a line; 5s is common practice")
	flags.Var(&f.size, "photo-size", "size of one photo, as in 8MB; without it, half a megabyte a million pixels, as is common")
	f.machine = jsonFlag(flags)
	f.units = unitsFlag(flags)
	lim.define(flags)
	return f
}

func (f *planFlags) run(t terminal, args []string) (int, error) {
	if len(args) > 0 {
		return 0, misuse("plan", "plan takes no arguments but its flags; name the area with --job or --area")
	}
	if err := f.area.check("plan"); err != nil {
		return 0, err
	}
	p, err := f.plan()
	if err != nil {
		return 0, err
	}
	status := statusOf(p.findings())
	if *f.machine {
		return status, writeMachine(t.out, p.message())
	}
	return status, p.write(t, f.units.Units)
}

// plannedFlight is a plan and what it was made from.
type plannedFlight struct {
	coverage.Plan
	ground *ground
	setup  setup
	input  coverage.PlanInput
	client []finding.Finding // about a boundary file
}

func (f *planFlags) plan() (*plannedFlight, error) {
	setup, err := f.setup.setup()
	if err != nil {
		return nil, misuse("plan", err.Error())
	}
	in := coverage.PlanInput{
		Setup: setup.Setup, Course: f.course.orBest(),
		Blur: f.blur.value, ExposureTime: f.exposure.value, TriggerInterval: f.trigger.value,
		Speed: f.speed.value, TurnTime: f.turn.value, PhotoSize: f.size.value,
	}
	if setup.sample != nil && !f.exposure.given && setup.sample.ExposureTime > 0 {
		in.ExposureTime = setup.sample.ExposureTime
	}
	switch {
	case f.blur.given && in.ExposureTime == 0:
		return nil, misuse("plan", "--max-blur needs the exposure time, as in --exposure 1/1000s")
	case f.exposure.given && !f.blur.given:
		return nil, misuse("plan", "--exposure goes with --max-blur, as in --max-blur 0.7px")
	}
	g, err := f.area.read()
	if err != nil {
		return nil, err
	}
	p := &plannedFlight{ground: g, setup: setup, input: in}
	if f.area.file != "" {
		p.client = g.findings
	}
	if p.Plan, err = coverage.PlanFlight(p.shape(), in); err != nil {
		return nil, fmt.Errorf("%s: %w", g.name, err)
	}
	if p.Lines == 0 {
		return nil, errors.New("the area takes no flight line")
	}
	return p, nil
}

// shape is the ground that the lines are laid over.
func (p *plannedFlight) shape() orb.MultiPolygon {
	if len(p.ground.flight) > 0 {
		return p.ground.flight
	}
	return p.ground.site
}

// findings are those of the boundary file, then those of the plan.
func (p *plannedFlight) findings() []finding.Finding {
	return append(append([]finding.Finding{}, p.client...), p.Findings...)
}

func (p *plannedFlight) write(t terminal, u report.Units) error {
	fmt.Fprintf(t.out, "%s\n\n", t.style.Bold("Plan for "+oneLine(p.ground.name)))
	if err := report.WriteColumns(t.out, p.rows(u)); err != nil {
		return err
	}
	if err := p.writeParts(t, u); err != nil {
		return err
	}
	if err := writeFindings(t, u, "Findings", p.findings()); err != nil {
		return err
	}
	fmt.Fprintln(t.out)
	for _, line := range report.Wrap(strings.Join(u.Cautions()[1:], " "), textWidth) {
		fmt.Fprintln(t.out, t.style.Dim(line))
	}
	return nil
}

// rows are the figures of the flight, each with its name.
func (p *plannedFlight) rows(u report.Units) [][]string {
	over := "as in the file, without a buffer"
	if len(p.ground.flight) > 0 {
		over = "flight area"
	}
	rows := [][]string{{"Area", u.AreaBoth(p.Area) + ", " + over}}
	rows = append(rows, layoutRows(p.setup, p.Layout, u)...)
	rows = append(rows, [][]string{
		{"Image scale", "1 : " + u.Number(int(math.Round(p.Scale)))},
		{"Flight lines", p.lineWords(u)},
		{"Photos", u.Number(p.Photos)},
		{"Track", u.Distance(p.Track) + ", with the ways from line to line"},
		{"Speed", p.speedWords(u)},
	}...)
	if allowed := p.allowed(u); allowed != "" {
		rows = append(rows, []string{"", allowed})
	}
	if p.Speed > 0 {
		rows = append(rows, []string{"Time between photos", u.Sentence(finding.Say("%s s", finding.Decimal("%.1f", p.Interval)))},
			[]string{"Flight time", u.Sentence(finding.Say("%s, with %s s for the turn after each line", report.Lasting(p.FlightTime), finding.Decimal("%g", p.input.TurnTime)))},
			[]string{"", "take-off, landing and ways between parts come on top"})
	}
	return append(rows, []string{"Storage", u.Sentence(finding.Say("%s, at %s a photo", storage(p.Storage), storage(p.PhotoSize)))})
}

func (p *plannedFlight) lineWords(u report.Units) string {
	words := fmt.Sprintf("%s, %s in all", u.Number(p.Lines), u.Distance(p.LineLength))
	switch {
	case !math.IsNaN(p.input.Course):
		return words + u.Sentence(finding.Say(", on course %s°", finding.Decimal("%.4g", p.input.Course)))
	case len(p.Parts) == 1:
		return words + u.Sentence(finding.Say(", on course %s°, the best", finding.Decimal("%.1f", p.Parts[0].Course)))
	}
	return words + ", each part on its best course"
}

func (p *plannedFlight) speedWords(u report.Units) string {
	if p.Speed == 0 {
		return "not known; --speed, --trigger or --max-blur would tell"
	}
	return u.Speed(p.Speed) + ", set by " + p.SpeedSetBy
}

// allowed says what limits the speed besides the wish.
func (p *plannedFlight) allowed(u report.Units) string {
	var limits []string
	if p.BlurSpeed > 0 {
		limits = append(limits, "motion blur allows "+u.Speed(p.BlurSpeed))
	}
	if p.TriggerSpeed > 0 {
		limits = append(limits, "the trigger interval allows "+u.Speed(p.TriggerSpeed))
	}
	return strings.Join(limits, ", ")
}

// writeParts lists the parts where there are several.
func (p *plannedFlight) writeParts(t terminal, u report.Units) error {
	if len(p.Parts) < 2 {
		return nil
	}
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Parts"))
	tables := u.Short()
	rows := [][]string{{"no.", "course", "width", "lines", "photos", "track"}}
	for i, part := range p.Parts[:min(len(p.Parts), mostListed)] {
		rows = append(rows, []string{strconv.Itoa(i + 1), u.Sentence(finding.Say("%s°", finding.Decimal("%.1f", part.Course))), tables.Length(part.Width),
			u.Number(len(part.Lines)), u.Number(part.Photos), tables.Distance(part.Track)})
	}
	if err := report.WriteColumns(t.out, rows); err != nil {
		return err
	}
	if more := len(p.Parts) - mostListed; more > 0 {
		fmt.Fprintf(t.out, "  … and %s more; --json lists all\n", u.Number(more))
	}
	return nil
}

func storage(megabytes float64) finding.Text {
	if megabytes >= 999.5 {
		return finding.Say("%s GB", finding.Decimal("%.1f", megabytes/1000))
	}
	return finding.Say("%s MB", finding.Decimal("%.3g", megabytes))
}

type planMessage struct {
	Area json.Number `json:"area_m2"`
	layoutMessage
	Scale        json.Number       `json:"scale"`
	Lines        int               `json:"lines"`
	LineLength   json.Number       `json:"line_length_m"`
	Photos       int               `json:"photos"`
	Track        json.Number       `json:"track_m"`
	Speed        *json.Number      `json:"speed_m_s"` // null, as the following, when it is not known
	SpeedSetBy   string            `json:"speed_set_by"`
	BlurSpeed    *json.Number      `json:"blur_speed_m_s"`
	TriggerSpeed *json.Number      `json:"trigger_speed_m_s"`
	Interval     *json.Number      `json:"interval_s"`
	FlightTime   *json.Number      `json:"flight_time_s"`
	PhotoSize    json.Number       `json:"photo_size_mb"`
	Storage      json.Number       `json:"storage_mb"`
	Parts        []partMessage     `json:"parts"`
	Findings     []finding.Finding `json:"findings"`
}

type partMessage struct {
	Course json.Number `json:"course_deg"`
	Width  json.Number `json:"width_m"`
	Lines  int         `json:"lines"`
	Photos int         `json:"photos"`
	Track  json.Number `json:"track_m"`
}

func (p *plannedFlight) message() planMessage {
	known := func(x float64, decimals int) *json.Number {
		if x == 0 {
			return nil
		}
		number := decimal(x, decimals)
		return &number
	}
	m := planMessage{
		Area: decimal(p.Area, 2), layoutMessage: layoutJSON(p.setup, p.Layout), Scale: decimal(p.Scale, 1),
		Lines: p.Lines, LineLength: decimal(p.LineLength, 2), Photos: p.Photos, Track: decimal(p.Track, 2),
		Speed: known(p.Speed, 3), SpeedSetBy: p.SpeedSetBy, BlurSpeed: known(p.BlurSpeed, 3), TriggerSpeed: known(p.TriggerSpeed, 3),
		Interval: known(p.Interval, 3), FlightTime: known(p.FlightTime, 1),
		PhotoSize: decimal(p.PhotoSize, 3), Storage: decimal(p.Storage, 2), Findings: p.findings(),
	}
	for _, part := range p.Parts {
		m.Parts = append(m.Parts, partMessage{decimal(part.Course, 3), decimal(part.Width, 2), len(part.Lines), part.Photos, decimal(part.Track, 2)})
	}
	return m
}
