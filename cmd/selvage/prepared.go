package main

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage"
	"selvage/report"
)

// mostListed is how many rows of a list are shown; --json has all of them.
const mostListed = 20

func (p *prepared) write(t terminal, u report.Units) error {
	fmt.Fprintf(t.out, "%s\n\n", t.style.Bold("Prepared "+oneLine(p.file.Name)))
	err := report.WriteColumns(t.out, [][]string{
		{"Client area", u.AreaBoth(p.site.AreaBefore), "as drawn"},
		{"Site area", u.AreaBoth(p.site.Area), "mended"},
		{"Flight area", u.AreaBoth(p.flight.Area), p.extended(u)},
	})
	if err != nil {
		return err
	}
	if err := p.asked.derived.write(t, u); err != nil {
		return err
	}
	if err := p.writeMargins(t, u); err != nil {
		return err
	}
	writeMends(t, p.site, true, u)
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Proof"))
	for _, line := range report.Wrap(p.proof(u)+" The files were read back and hold the same.", textWidth-4) {
		fmt.Fprintf(t.out, "  %s\n", t.style.Good(line))
	}
	if err := p.writeShort(t, u); err != nil {
		return err
	}
	if err := writeFindings(t, u, "Findings", p.otherFindings()); err != nil {
		return err
	}
	writeQuestions(t, p.site.Questions, p.choices, u)
	if statusOf(p.findings()) == needsAnswer {
		fmt.Fprintln(t.out, "The files are written as described above; have the answer before they are flown.")
	}
	return writeFiles(t, p.files)
}

// extended says in a few words what became of the site area.
func (p *prepared) extended(u report.Units) string {
	m := p.asked.Margin
	words := "extended by " + u.Length(m.Buffer)
	if m.Buffer < 0 {
		words = "shrunk by " + u.Length(-m.Buffer)
	}
	words += fmt.Sprintf(", %s joins, %s", m.Join, u.Count(p.flight.Vertices, "vertex", "vertices"))
	if n := len(p.flight.Areas); n > 1 {
		words += " in " + u.Number(n) + " polygons"
	}
	return words
}

// write tells where a buffer comes from; nothing when it was given.
func (d *derived) write(t terminal, u report.Units) error {
	if d == nil {
		return nil
	}
	r := d.result
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Where the buffer comes from"))
	rows := append(layoutRows(d.setup, r.Layout, u),
		[]string{"Views of the edge", fmt.Sprintf("%s or more, from %s with %s each", u.Number(r.Views),
			u.Count(r.Lines, "line", "lines"), u.Count(r.LinePhotos, "photo", "photos"))},
		[]string{"Photos must reach", u.Length(r.Along) + " past the edge along the course, " + u.Length(r.Across) + " across"},
		[]string{"Buffer", u.Length(r.Buffer)},
	)
	if err := report.WriteColumns(t.out, rows); err != nil {
		return err
	}
	for _, text := range d.reasons(u) {
		writeIndented(t, "  ", text)
	}
	return nil
}

// reasons puts the formula into words.
func (d *derived) reasons(u report.Units) []string {
	r := d.result
	const buffer = "buffer = √(along² + across²), rounded up to a whole metre, so that it holds for any course, on slanting edges and at corners."
	reasons := []string{fmt.Sprintf("Formula: along = %d × air base ÷ 2, across = %d × line spacing ÷ 2, %s", r.LinePhotos, r.Lines, buffer)}
	if r.Reach == r.Full {
		reasons[0] = "Formula: along = footprint's length ÷ 2, across = its width ÷ 2, " + buffer
	} else {
		reasons = append(reasons, fmt.Sprintf("To be seen as often as ground inside, the edge takes %s along, %s across; %s used.",
			u.Length(r.Full.Along), u.Length(r.Full.Across), u.Length(r.Full.Buffer)))
	}
	return append(reasons, "This holds wherever the lines and photos fall, over level ground, for photos that look straight down. Nothing is added for hills, wind or tilt.")
}

// writeMargins lists margins that are not the same everywhere.
func (p *prepared) writeMargins(t terminal, u report.Units) error {
	m := p.asked.Margin
	rows := [][]string{}
	along := 0
	for _, own := range p.margins() {
		row := []string{u.Sentence(bufferOf(own.Buffer)), "of " + ownerOf(own)}
		switch {
		case own.Along != "":
			length := p.effect.Along[along]
			along++
			row[1] = fmt.Sprintf("along %s: %s of the edge within %s of it", oneLine(own.Along), u.Length(length), u.Length(own.Within))
			if length == 0 {
				row[1] = t.style.Warn(fmt.Sprintf("along %s: no edge lies within %s of it", oneLine(own.Along), u.Length(own.Within)))
			}
		case own.Feature > 0:
			row[1] += ", as the file says"
		case own.Overruled != 0:
			row[1] += fmt.Sprintf(", in place of the file's %s", u.Sentence(bufferOf(own.Overruled)))
		}
		rows = append(rows, row)
	}
	if len(rows) > 0 {
		rows = append(rows, []string{u.Sentence(bufferOf(m.Buffer)), "everywhere else"})
	}
	for i, k := range m.KeepOut {
		row := []string{u.Length(k.Margin), "about the keep-out areas of " + oneLine(k.Name)}
		if !p.effect.Reached[i] {
			row[1] += t.style.Warn(": none is within reach of the site area")
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		return nil
	}
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Margins"))
	return report.WriteColumns(t.out, rows)
}

// bufferOf is a buffer in words, "inwards" below 0.
func bufferOf(metres float64) finding.Text {
	if metres < 0 {
		return finding.Say("%s inwards", finding.Length(-metres))
	}
	return finding.Say("%s", finding.Length(metres))
}

// ownerOf says whose own margin it is.
func ownerOf(own boundary.OwnMargin) string {
	if own.Part == "" {
		return fmt.Sprintf("feature %d", own.Feature)
	}
	return oneLine(own.Part)
}

// proof says what was proved.
func (p *prepared) proof(u report.Units) string {
	m := p.asked.Margin
	shrunk, extended := 0, 0
	alike := len(m.Along)+len(m.KeepOut) == 0 // whether one figure tells of all margins
	for _, a := range p.site.Areas {
		buffer := m.BufferOf(a)
		if alike = alike && buffer == m.Buffer; buffer < 0 {
			shrunk++
		} else {
			extended++
		}
	}
	asked, least := u.Round(math.Abs(m.Buffer)), u.Fine(p.flight.MinDistance)
	keeps := fmt.Sprintf("its edge keeps at least %s from the site area’s; %s was asked for.", least, asked)
	inside, hold := "lies within the site area", "are flown inside their edge"
	if m.Join == plane.Round {
		const all = "all ground that lies as far inside as was asked"
		inside, hold = inside+" and holds "+all, "hold "+all
	}
	short := ""
	if n := len(p.flight.Short); n > 0 {
		short = fmt.Sprintf(", but for the %s listed below", u.Count(n, "stretch", "stretches"))
	}
	switch {
	case extended == 0 && alike:
		return "The flight area is valid, " + inside + "; " + keeps
	case extended == 0:
		return "The flight area is valid, " + inside + fmt.Sprintf("; its edge keeps at least %s from the site area's.", least)
	case shrunk > 0:
		return "The flight area is valid. All of the edge of the parts that are extended has its margin, to 1 cm" + short + "." + p.unflown(u) +
			" The parts that are shrunk " + hold + "; past their edge nothing is flown but what the margins of others take."
	case alike:
		return "The flight area is valid and contains the whole site area; " + keeps
	}
	return "The flight area is valid, and all of the site area's edge has its margin, to 1 cm" + short + "." + p.unflown(u)
}

// unflown says how much of the site area keep-out areas take.
func (p *prepared) unflown(u report.Units) string {
	if slices.ContainsFunc(p.site.Areas, func(a boundary.Area) bool { return p.asked.BufferOf(a) < 0 }) {
		if p.effect.Unflown >= leastShift {
			return fmt.Sprintf(" Keep-out areas take %s of them.", u.Area(p.effect.Unflown))
		}
		return ""
	}
	if p.effect.Unflown >= leastShift {
		return fmt.Sprintf(" It contains the site area but for %s that lie in keep-out areas.", u.Area(p.effect.Unflown))
	}
	return " It contains the whole site area."
}

// writeShort lists the stretches of the edge that keep-out areas take their margin.
func (p *prepared) writeShort(t terminal, u report.Units) error {
	short := p.flight.Short
	if len(short) == 0 {
		return nil
	}
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Edge without its whole margin"))
	rows := append([][]string{{"ring", "from", "to", "length", "", "begins at"}}, p.shortRows(short[:min(len(short), mostListed)], u)...)
	for i, row := range rows[1:] {
		if short[i].Lost {
			row[4] = t.style.Warn(row[4])
		}
	}
	if err := report.WriteColumns(t.out, rows); err != nil {
		return err
	}
	if more := len(short) - mostListed; more > 0 {
		fmt.Fprintf(t.out, "  … and %s more; --json lists all\n", u.Number(more))
	}
	return nil
}

// shortRows are those of a table of stretches.
func (p *prepared) shortRows(short []boundary.ShortEdge, u report.Units) [][]string {
	tables, rows := u.Short(), [][]string{}
	for _, s := range short {
		ring := "outline"
		if s.Ring > 1 {
			ring = "hole " + strconv.Itoa(s.Ring-1)
		}
		if len(p.site.Areas) > 1 {
			ring = "part " + strconv.Itoa(s.Part) + ", " + ring
		}
		lost := "has less than its margin"
		if s.Lost {
			lost = "cannot be captured"
		}
		rows = append(rows, []string{ring, tables.Chainage(s.From), tables.Chainage(s.To), tables.Length(s.To - s.From), lost, report.Position(s.Path[0])})
	}
	return rows
}

func writeFiles(t terminal, files []report.File) error {
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Files"))
	var rows [][]string
	for _, f := range files {
		rows = append(rows, []string{f.Role, oneLine(f.Path)})
	}
	return report.WriteColumns(t.out, rows)
}

type preparedMessage struct {
	ClientArea  json.Number       `json:"client_area_m2"`
	SiteArea    json.Number       `json:"site_area_m2"`
	FlightArea  json.Number       `json:"flight_area_m2"`
	Buffer      json.Number       `json:"buffer_m"`
	Derived     *derivedMessage   `json:"derived,omitempty"`
	Margins     []marginMessage   `json:"margins"`
	KeepOut     []keepOutMessage  `json:"keep_out"`
	MinDistance json.Number       `json:"min_distance_m"`
	Short       []shortMessage    `json:"short_edges"`
	Unflown     json.Number       `json:"unflown_m2"`
	Simplified  json.Number       `json:"simplified_m2"`
	Vertices    int               `json:"vertices"`
	Findings    []finding.Finding `json:"findings"`
	Questions   []questionMessage `json:"questions"`
	Mends       []boundary.Mended `json:"mends"`
	Files       []report.File     `json:"files"`
}

type marginMessage struct {
	Part      string      `json:"part,omitempty"`
	Feature   int         `json:"feature,omitempty"` // that brings it
	Along     string      `json:"along,omitempty"`
	Within    json.Number `json:"within_m,omitempty"`
	Edge      json.Number `json:"edge_m,omitempty"` // how much of the edge has it
	Buffer    json.Number `json:"buffer_m"`
	Overruled json.Number `json:"overruled_m,omitempty"` // what the file brings instead
}

type keepOutMessage struct {
	Name    string      `json:"name"`
	Margin  json.Number `json:"margin_m"`
	Reached bool        `json:"within_reach"`
}

type shortMessage struct {
	Part int         `json:"part"`
	Ring int         `json:"ring"`
	From json.Number `json:"from_m"`
	To   json.Number `json:"to_m"`
	Lost bool        `json:"lost"`
	Lon  json.Number `json:"lon"` // of its beginning
	Lat  json.Number `json:"lat"`
}

type derivedMessage struct {
	layoutMessage
	Views      int         `json:"views"`
	Lines      int         `json:"lines"`
	LinePhotos int         `json:"line_photos"`
	Along      json.Number `json:"along_m"`
	Across     json.Number `json:"across_m"`
	Buffer     json.Number `json:"buffer_m"`
	FullAlong  json.Number `json:"full_along_m"` // to be seen as often as ground inside
	FullAcross json.Number `json:"full_across_m"`
	FullBuffer json.Number `json:"full_buffer_m"`
}

// layoutMessage is the figures that camera, height and overlaps make.
type layoutMessage struct {
	SensorWidth     json.Number `json:"sensor_width_mm"`
	SensorHeight    json.Number `json:"sensor_height_mm"`
	FocalLength     json.Number `json:"focal_length_mm"`
	Columns         int         `json:"columns"`
	Rows            int         `json:"rows"`
	Height          json.Number `json:"height_m"`
	GSD             json.Number `json:"gsd_mm"`
	Forward         json.Number `json:"forward_overlap"`
	Side            json.Number `json:"side_overlap"`
	FootprintAlong  json.Number `json:"footprint_along_m"`
	FootprintAcross json.Number `json:"footprint_across_m"`
	AirBase         json.Number `json:"air_base_m"`
	LineSpacing     json.Number `json:"line_spacing_m"`
}

func layoutJSON(s setup, l coverage.Layout) layoutMessage {
	c := s.Camera
	return layoutMessage{
		decimal(c.SensorWidth, 3), decimal(c.SensorHeight, 3), decimal(c.FocalLength, 3), c.Columns, c.Rows,
		decimal(l.Height, 3), decimal(l.GSD*1000, 3), decimal(s.Forward, 4), decimal(s.Side, 4),
		decimal(l.FootprintAlong, 3), decimal(l.FootprintAcross, 3), decimal(l.AirBase, 3), decimal(l.LineSpacing, 3),
	}
}

func (d *derived) message() *derivedMessage {
	if d == nil {
		return nil
	}
	r := d.result
	return &derivedMessage{
		layoutJSON(d.setup, r.Layout), r.Views, r.Lines, r.LinePhotos,
		decimal(r.Along, 3), decimal(r.Across, 3), decimal(r.Buffer, 3),
		decimal(r.Full.Along, 3), decimal(r.Full.Across, 3), decimal(r.Full.Buffer, 3),
	}
}

func (p *prepared) message() preparedMessage {
	m := preparedMessage{
		ClientArea: decimal(p.site.AreaBefore, 2), SiteArea: decimal(p.site.Area, 2), FlightArea: decimal(p.flight.Area, 2),
		Buffer: decimal(p.asked.Buffer, 4), Derived: p.asked.derived.message(), MinDistance: decimal(p.flight.MinDistance, 4),
		Margins: []marginMessage{}, KeepOut: []keepOutMessage{}, Short: []shortMessage{},
		Unflown: decimal(p.effect.Unflown, 2), Simplified: decimal(p.flight.Simplified, 2), Vertices: p.flight.Vertices,
		Findings: append([]finding.Finding{}, p.findings()...), Questions: questionsJSON(p.site.Questions),
		Mends: append([]boundary.Mended{}, p.site.Mends...), Files: p.files,
	}
	along := 0
	for _, own := range p.margins() {
		one := marginMessage{Part: own.Part, Feature: own.Feature, Along: own.Along, Buffer: decimal(own.Buffer, 4)}
		if own.Along != "" {
			one.Within, one.Edge = decimal(own.Within, 4), decimal(p.effect.Along[along], 3)
			along++
		}
		if own.Overruled != 0 {
			one.Overruled = decimal(own.Overruled, 4)
		}
		m.Margins = append(m.Margins, one)
	}
	for i, k := range p.asked.KeepOut {
		m.KeepOut = append(m.KeepOut, keepOutMessage{k.Name, decimal(k.Margin, 4), p.effect.Reached[i]})
	}
	for _, s := range p.flight.Short {
		at := degrees(orb.Point(plane.WrapPoint(s.Path[0])))
		m.Short = append(m.Short, shortMessage{s.Part, s.Ring, decimal(s.From, 3), decimal(s.To, 3), s.Lost, at[0], at[1]})
	}
	return m
}
