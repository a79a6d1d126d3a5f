package report

import (
	"bytes"
	"errors"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage/audittest"
)

// Positions in metres from the corner of the invented site.
var local, ring, box = audittest.At, audittest.Ring, audittest.Box

// fakeNote is the note of an invented audit.
func fakeNote() Note {
	return Note{
		Title: "Long Meadow", Site: "Long Meadow, parcel 14",
		Letterhead: Letterhead{Operator: "Weald Aerial (invented)", Client: "Meadow Farm (invented)", Licence: "Operator 00-0000", Remarks: "Flown twice."},
		Tool:       "selvage", Version: "0.1.0",
		Made: time.Date(2025, 6, 3, 14, 5, 0, 0, time.UTC),
		Inputs: []Input{
			{"boundary", "long meadow.kml", strings.Repeat("0123456789abcdef", 4)},
			{"job record", "long-meadow.job.json", strings.Repeat("fedcba9876543210", 4)},
		},
		Parameters: []Setting{setting("Wanted views", "5"), setting("Least zone", "1 m²"), setting("Re-fly buffer", "15 m")},
		Command: Command{
			Name: "audit", Flags: []Given{{"job", "long-meadow.job.json"}, {"min-zone", "1m2"}}, Arguments: []Argument{{"DCIM", "../DCIM"}},
		},
		Audit:      audittest.Audit(),
		SiteArea:   audittest.Site(),
		FlightArea: audittest.FlightArea(),
		Findings: []finding.Finding{
			{Code: finding.UnclosedRing, Severity: finding.Mended, Text: finding.Plain("The outline was not closed; 1 side was added."), Amount: 1, Unit: "sides",
				Place: finding.Place{File: "long meadow.kml", Line: 14, Feature: 1, Name: "Long Meadow", Part: 1, Ring: 1, Vertex: 5}},
		},
		Files: []File{{"coverage note", "long-meadow.html"}, {FiguresRole, "long meadow.json"}, {"areas to fly again", "long-meadow-refly.kml"}},
	}
}

func render(t testing.TB, n Note, write func(io.Writer, Note) error) string {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out, n); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// shown is a note's page with common spaces, and without the values that stand
// behind its tables.
func shown(t *testing.T, n Note) string {
	t.Helper()
	page := regexp.MustCompile(` data-(value|name)="[^"]*"`).ReplaceAllString(render(t, n, WriteHTML), "")
	return strings.ReplaceAll(page, noBreak, " ")
}

func plainText(w io.Writer, n Note) error { return WriteText(w, n, Style{}) }

var writers = map[string]func(io.Writer, Note) error{
	"HTML": WriteHTML, "JSON": WriteJSON, "GeoJSON": WriteGeoJSON, "re-fly KML": WriteReflyKML, "text": plainText,
	"KML": WriteKML, "KMZ": WriteViewsKMZ, "TIFF": WriteViewsTIFF,
}

func TestSameBytesEveryTime(t *testing.T) {
	for name, write := range writers {
		once := render(t, fakeNote(), write)
		if again := render(t, fakeNote(), write); again != once {
			t.Errorf("%s: the same note was written differently a second time", name)
		}
	}
}

func TestNoAudit(t *testing.T) {
	for name, write := range writers {
		if err := write(io.Discard, Note{}); err == nil {
			t.Errorf("%s: written without an audit", name)
		}
	}
}

type full struct{ room int }

func (f *full) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, errors.New("the disk is full")
	}
	return len(p), nil
}

func TestFullDisk(t *testing.T) {
	for name, write := range writers {
		if err := write(&full{room: 100}, fakeNote()); err == nil {
			t.Errorf("%s: a full disk went unnoticed", name)
		}
	}
}

func TestKeepOutIsDrawn(t *testing.T) {
	n := fakeNote()
	if page := render(t, n, WriteHTML); strings.Contains(page, "keep-out area") || strings.Contains(page, `class="keep-out"`) {
		t.Error("drawn without any")
	}
	n.KeepOut = orb.MultiPolygon{{box(300, 100, 360, 160)}}
	page := render(t, n, WriteHTML)
	if strings.Count(page, `<path class="keep-out"`) != 1 || !strings.Contains(page, "keep-out area") {
		t.Error("not on the map or not in its legend")
	}
	if !strings.Contains(render(t, n, WriteGeoJSON), `"role":"keep-out"`) {
		t.Error("not among the shapes")
	}
}

func setting(name, value string) Setting { return Setting{finding.Plain(name), finding.Plain(value)} }
