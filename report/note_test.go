package report

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/photo"
)

// local turns metres east and north of a corner in the Weald into degrees; a
// degree is 111.2 km and 70.0 km there, near enough for a picture.
func local(x, y float64) orb.Point { return orb.Point{0.25 + x/70_000, 51.05 + y/111_200} }

func ring(xy ...float64) orb.Ring {
	var r orb.Ring
	for i := 0; i+1 < len(xy); i += 2 {
		r = append(r, local(xy[i], xy[i+1]))
	}
	return append(r, r[0])
}

func box(x, y, w, h float64) orb.Ring { return ring(x, y, x+w, y, x+w, y+h, x, y+h) }

// fakeNote is a field of 400 m by 300 m with a pond, flown in seven lines of
// which the last is missing.
func fakeNote() Note {
	outline := ring(0, 0, 400, 0, 400, 210, 330, 300, 0, 300)
	pond := ring(120, 90, 120, 140, 190, 140, 190, 90)
	site := orb.MultiPolygon{{outline, pond}}
	a := &coverage.Audit{
		SiteArea: 113_350,
		Wanted:   coverage.Wanted{Views: 5, Forward: 0.75, Side: 0.65, GSD: 0.02},
		Photos: coverage.Count{Read: 82, Used: 78, OutsideCentres: 2, Duplicates: 1, LeftOut: []photo.LeftOut{
			{File: "A0001.JPG", Reason: "no position in its metadata"},
			{File: "A0002.JPG", Reason: "no position in its metadata"},
			{File: "A0040.JPG", Reason: "repeats A0039.JPG"},
			{File: "A0082.JPG", Reason: "no position in its metadata"},
		}},
		Totals: coverage.Totals{Gap: 1240, NoStereo: 1450.5, Thin: 4210, CoveredShare: 1 - 1240/113_350.0, EnoughShare: 1 - 6900.5/113_350},
		Zones: []coverage.Zone{
			{Kind: coverage.Gap, Area: 840, Label: local(382, 188), Shape: orb.Polygon{ring(372, 170, 400, 170, 400, 200, 372, 200)}},
			{Kind: coverage.Gap, Area: 400, Label: local(250, 210), Shape: orb.Polygon{box(240, 200, 20, 20)}},
			{Kind: coverage.NoStereo, Area: 1450.5, Label: local(375, 140), Shape: orb.Polygon{box(350, 120, 50, 50)}},
			{Kind: coverage.Thin, Area: 4210, Label: local(350, 70), Shape: orb.Polygon{box(320, 40, 80, 75)}},
		},
		Views: []coverage.ViewBand{
			{From: 0, To: 0, Area: 1240, Shape: orb.MultiPolygon{{ring(372, 170, 400, 170, 400, 200, 372, 200)}, {box(240, 200, 20, 20)}}},
			{From: 1, To: 1, Area: 1450.5, Shape: orb.MultiPolygon{{box(350, 120, 50, 50)}}},
			{From: 2, To: 4, Area: 4210, Shape: orb.MultiPolygon{{box(320, 40, 80, 75)}}},
			{From: 5, To: 9, Area: 30_000, Shape: orb.MultiPolygon{{box(0, 0, 120, 300)}}},
			{From: 10, To: -1, Area: 60_000, Shape: orb.MultiPolygon{{box(190, 0, 130, 200)}}},
		},
		Edge: coverage.Edge{
			Length: 1564.02, Captured: 1533.02,
			Rings: []coverage.EdgeRing{
				{Part: 1, Ring: 1, Start: local(0, 0), Length: 1324.02, Profile: []coverage.Step{
					{From: 0, To: 200, Views: 9}, {From: 200, To: 440, Views: 12}, {From: 440, To: 461, Views: 4}, {From: 461, To: 570, Views: 5},
					{From: 570, To: 580, Views: 0}, {From: 580, To: 900, Views: 22}, {From: 900, To: 1324.02, Views: 8},
				}},
				{Part: 1, Ring: 2, Start: local(120, 90), Length: 240, Profile: []coverage.Step{{From: 0, To: 240, Views: 11}}},
			},
			Stretches: []coverage.Stretch{
				{Ring: 0, From: 440, To: 461, MinViews: 4, Path: orb.LineString{local(400, 40), local(400, 61)}},
				{Ring: 0, From: 570, To: 580, MinViews: 0, Path: orb.LineString{local(400, 170), local(400, 180)}},
			},
		},
		GSD: coverage.Spread{N: 78, Median: 0.0187, Min: 0.0181, Max: 0.0212, Below: 0.05},
		Refly: []coverage.Refly{
			{Zones: []int{0, 2, 3}, Stretches: []int{0, 1}, Area: 14_800, Shape: orb.Polygon{box(310, 30, 105, 185)},
				Course: 0, Lines: 2, Photos: 20, Track: 412, Time: 61.5, Closes: true},
			{Zones: []int{1}, Area: 2_100, Shape: orb.Polygon{box(228, 188, 44, 44)},
				Course: 0, Lines: 1, Photos: 3, Track: 44, Time: 10.5, Remaining: 12.5},
		},
		ReflyPlan: coverage.ReflyPlan{
			Layout:  coverage.Layout{Height: 70, GSD: 0.0187, AirBase: 17.5, LineSpacing: 35},
			Forward: 0.75, Side: 0.65, Speed: 8, SpeedAssumed: true, Buffer: 20,
			Lines: 3, Photos: 23, Track: 456, Time: 72, Remaining: 12.5,
		},
		Findings: []finding.Finding{
			{Code: finding.CoverageGap, Severity: finding.NeedsAnswer, Text: "1240 m² of the site area (1.1 %) in 2 pieces: no photo sees it.", Amount: 1240, Unit: "m²", Place: finding.Place{}.At(0.2554, 51.0517)},
			{Code: finding.FlatGround, Severity: finding.Note, Text: "The ground is taken as level."},
		},
	}
	a.Overlap.Forward = coverage.Spread{N: 72, Median: 0.78, Min: 0.741, Max: 0.81, Below: 0.028}
	a.Overlap.Side = coverage.Spread{N: 130, Median: 0.6, Min: 0.3, Max: 0.7, Below: 0.61}
	a.Overlap.Forward.Bins = []coverage.Bin{{From: 0.74, To: 0.75, N: 4, Missed: 2}, {From: 0.75, To: 0.76}, {From: 0.76, To: 0.78, N: 8}, {From: 0.78, To: 0.82, N: 60}}
	a.Overlap.Side.Bins = []coverage.Bin{{From: 0.3, To: 0.4, N: 9, Missed: 9}, {From: 0.4, To: 0.5, N: 1, Missed: 1}, {From: 0.5, To: 0.6, N: 40, Missed: 40}, {From: 0.6, To: 0.7, N: 80, Missed: 29}}
	a.GSD.Bins = []coverage.Bin{{From: 0.018, To: 0.02, N: 74}, {From: 0.02, To: 0.022, N: 4, Missed: 4}}
	for l := range 6 {
		line := coverage.Line{Course: 0, Length: 360}
		for k := range 13 {
			y := -30 + 30*float64(k)
			if l%2 == 1 {
				y = 330 - 30*float64(k)
			}
			x := -10 + 62*float64(l)
			line.Shots = append(line.Shots, len(a.Shots))
			a.Shots = append(a.Shots, coverage.Shot{
				Photo:  photo.Photo{File: fmt.Sprintf("A%04d.JPG", len(a.Shots)+3), Position: local(x, y)},
				Height: 70, GSD: 0.0187, Line: l, Footprint: box(x-50, y-35, 100, 70),
			})
		}
		a.Lines = append(a.Lines, line)
	}
	flyFake(a)
	markFake(a)
	knowFake(a)
	countFake(a)
	return Note{
		Title: "Long Meadow", Site: "Long Meadow, parcel 14",
		Letterhead: Letterhead{Operator: "Weald Aerial (invented)", Client: "Meadow Farm (invented)", Licence: "Operator 00-0000", Remarks: "Flown twice."},
		Tool:       "selvage", Version: "0.1.0",
		Made: time.Date(2025, 6, 3, 14, 5, 0, 0, time.UTC),
		Inputs: []Input{
			{"Client boundary", "long meadow.kml", strings.Repeat("0123456789abcdef", 4)},
			{"Job record", "long-meadow.job.json", strings.Repeat("fedcba9876543210", 4)},
		},
		Parameters: []Parameter{{"Wanted views", "5"}, {"Least zone", "1 m²"}, {"Re-fly buffer", "15 m"}},
		Command: Command{
			Name: "audit", Flags: []Given{{"job", "long-meadow.job.json"}, {"min-zone", "1m2"}}, Arguments: []Argument{{"DCIM", "../DCIM"}},
		},
		Audit:      a,
		SiteArea:   site,
		FlightArea: orb.MultiPolygon{{box(-30, -30, 460, 360)}},
		Findings: []finding.Finding{
			{Code: finding.UnclosedRing, Severity: finding.Mended, Text: "The outline was not closed; 1 side was added.", Amount: 1, Unit: "sides",
				Place: finding.Place{File: "long meadow.kml", Line: 14, Feature: 1, Name: "Long Meadow", Part: 1, Ring: 1, Vertex: 5}},
		},
		Files: []File{{"coverage note", "long-meadow.html"}, {FiguresRole, "long meadow.json"}, {"re-fly area", "long-meadow-refly.kml"}},
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
