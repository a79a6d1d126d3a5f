package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strconv"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/report"
)

// part is the photos that one note is about.
type part struct {
	number  int // of the sensor, from 1; 0 where there are not several
	sensor  sensor
	photos  []photo.Photo
	leftOut []photo.LeftOut // for the sensor's sake

	name string // of the files, without their ends
}

// title is the sensor in words, where there are several.
func (p *part) title() finding.Text { return finding.Say("%d: %s", p.number, p.sensor.words()) }

// file is the name of a file of the part: NAME-coverage.html, and
// NAME-coverage-2.html for the second sensor.
func (p *part) file(kind, extension string) string {
	if p.number > 0 {
		kind += fmt.Sprintf("-%d", p.number)
	}
	return p.name + "-" + kind + extension
}

// share divides the photos among their sensors.
func (f *auditFlags) share(t *take) ([]*part, error) {
	groups := apart(sensors(t.photos))
	if f.sensor.number > max(1, len(groups)) {
		if len(groups) == 0 {
			return nil, fmt.Errorf("--sensor %d: the photos come from one sensor, or none but one has %d photos", f.sensor.number, fewPhotos)
		}
		return nil, fmt.Errorf("--sensor %d: there are %d sensors (%s)", f.sensor.number, len(groups), sensorList(groups))
	}
	if len(groups) == 0 {
		return []*part{{photos: t.photos}}, nil
	}
	tell := func(done finding.Text) {
		t.say(finding.SeveralSensors, finding.Note, len(groups), "sensors", finding.Sentences(
			finding.Say("The photos come from %s sensors (%s).", finding.Whole(len(groups)), sensorList(groups)), done))
	}
	if f.sensor.all {
		tell(finding.Say("All of them are counted together, as --sensor all says."))
		return []*part{{photos: t.photos}}, nil
	}
	if f.sensor.number == 0 && (f.camera.text != "" || f.view.text != "") {
		return nil, fmt.Errorf("the photos come from %d sensors (%s); --camera and --fov would fit one of them only, so say which one counts, as in --sensor 1", len(groups), sensorList(groups))
	}
	var parts []*part
	of := map[sensor]*part{}
	for i, g := range groups {
		p := &part{number: i + 1, sensor: g.sensor}
		of[g.sensor] = p
		if f.sensor.number == 0 || f.sensor.number == i+1 {
			parts = append(parts, p)
		}
	}
	for _, p := range t.photos {
		if owner := of[sensorOf(p)]; owner != nil {
			owner.photos = append(owner.photos, p)
			continue
		}
		for _, owner := range parts {
			if sensorOf(p) == (sensor{}) {
				owner.photos = append(owner.photos, p)
			} else {
				owner.leftOut = append(owner.leftOut, photo.LeftOut{File: p.File, Reason: finding.Say("of another sensor, with fewer than %s photos", finding.Whole(fewPhotos))})
			}
		}
	}
	if f.sensor.number > 0 {
		tell(finding.Say("Only those of sensor %d count, as --sensor %d says.", f.sensor.number, f.sensor.number))
	} else {
		tell(finding.Say("Each is audited by itself. --sensor 1 counts the first alone; --sensor all counts them together, where several aircraft shared the site."))
	}
	return parts, nil
}

// deliverable is a file that an audit may write.
type deliverable struct {
	role, kind, extension string
	write                 func(io.Writer, report.Note) error
}

const reflyKind = "refly"

var deliverables = []deliverable{
	{"coverage note", "coverage", ".html", report.WriteHTML},
	{"coverage note as PDF", "coverage", ".pdf", func(w io.Writer, n report.Note) error {
		return writePDF(w, n.Units, n.Made, func(w io.Writer) error { return report.WriteHTML(w, n) })
	}},
	{report.FiguresRole, "coverage", ".json", report.WriteJSON},
	{"shapes", "coverage", ".geojson", report.WriteGeoJSON},
	{"shapes for map viewers", "coverage", ".kml", report.WriteKML},
	{"views for map viewers", "coverage-views", ".kmz", report.WriteViewsKMZ},
	{"views as a raster", "coverage-views", ".tif", report.WriteViewsTIFF},
	{"areas to fly again", reflyKind, ".kml", report.WriteReflyKML}, // where there are any
}

// checkNames finds early what would keep the files of a part from being
// written.
func (f *auditFlags) checkNames(p *part) error {
	var names []string
	for _, d := range deliverables {
		names = append(names, p.file(d.kind, d.extension))
	}
	if f.csv {
		for _, t := range (report.Note{Audit: &coverage.Audit{}}).Tables() {
			names = append(names, p.file(t.Name, ".csv"))
		}
	}
	for _, n := range names {
		if err := f.out.check(n); err != nil {
			return err
		}
	}
	return nil
}

// audited is what the audit of all parts found.
type audited struct {
	parts          []*part
	notes          []*report.Note
	out            *outputs
	boundaryCounts bool // whether findings about the boundary count for the exit status
	csv            bool // whether the lists are written too
}

// add plans the files of a part.
func (r *audited) add(p *part, note *report.Note) {
	r.parts, r.notes = append(r.parts, p), append(r.notes, note)
	before := len(r.out.planned)
	for _, d := range deliverables {
		if d.kind != reflyKind || len(note.Audit.Refly) > 0 {
			r.out.add(d.role, p.file(d.kind, d.extension), func(w io.Writer) error { return d.write(w, *note) })
		}
	}
	if r.csv {
		for _, t := range note.Tables() {
			r.out.add("table: "+t.About, p.file(t.Name, ".csv"), t.Write)
		}
	}
	note.Files = r.out.names()[before:]
}

// commit writes the files of all parts, or none.
func (r *audited) commit(t terminal) error {
	if err := r.out.commit(); err != nil {
		return err
	}
	for i, note := range r.notes {
		for k := range note.Files {
			note.Files[k].Path = filepath.Join(r.out.folder, note.Files[k].Path)
		}
		if old := filepath.Join(r.out.folder, r.parts[i].file(reflyKind, ".kml")); len(note.Audit.Refly) == 0 && exists(old) {
			fmt.Fprintf(t.err, "selvage: %s is from an earlier audit; nothing has to be flown again\n", oneLine(old))
		}
	}
	return nil
}

// status is that of the worst part.
func (r *audited) status() int {
	status := allWell
	for _, note := range r.notes {
		status = max(status, statusOf(note.Audit.Findings))
		if r.boundaryCounts {
			status = max(status, statusOf(note.Findings))
		}
		if !note.Captured() {
			status = needsAnswer
		}
	}
	return status
}

// writeJSON writes one object; that of several sensors has them in a list.
func (r *audited) writeJSON(w io.Writer) error {
	if len(r.notes) == 1 {
		return report.WriteJSON(w, *r.notes[0])
	}
	type sensorMessage struct {
		Sensor string          `json:"sensor"`
		Audit  json.RawMessage `json:"audit"`
	}
	message := struct {
		Sensors []sensorMessage `json:"sensors"`
	}{}
	for i, note := range r.notes {
		var audit bytes.Buffer
		if err := report.WriteJSON(&audit, *note); err != nil {
			return err
		}
		message.Sensors = append(message.Sensors, sensorMessage{r.parts[i].title().String(), audit.Bytes()})
	}
	return writeMachine(w, message)
}

// write writes all parts for a terminal, the sensors first.
func (r *audited) write(t terminal) error {
	if len(r.parts) > 1 {
		fmt.Fprintf(t.out, "%s\n", t.style.Bold("Sensors"))
		rows := [][]string{{"no.", "photos", "covered", "sensor"}}
		for i, p := range r.parts {
			u := r.notes[i].Units
			rows = append(rows, []string{strconv.Itoa(p.number), u.Number(len(p.photos)), u.Percent(r.notes[i].Audit.Totals.CoveredShare), u.Sentence(p.sensor.words())})
		}
		if err := report.WriteColumns(t.out, rows); err != nil {
			return err
		}
		fmt.Fprintln(t.out, "\nEach sensor has a note of its own. The exit status is that of the worst;\n--sensor 1 audits the first alone.")
	}
	for i, note := range r.notes {
		if len(r.parts) > 1 {
			fmt.Fprintf(t.out, "\n%s\n", t.style.Bold(note.Units.Sentence(finding.Say("Sensor %s", r.parts[i].title()))))
		}
		if err := report.WriteText(t.out, *note, t.style); err != nil {
			return err
		}
		if note.NothingAgain() {
			fmt.Fprintln(t.out, "\nNothing has to be flown again.")
		}
	}
	return nil
}
