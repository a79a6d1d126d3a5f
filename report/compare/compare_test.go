package compare

import (
	"encoding/json"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/project"

	"selvage/boundary/finding"
	"selvage/coverage/audittest"
	"selvage/coverage/photo"
	"selvage/report"
)

// fakeNote is the note of an invented audit.
func fakeNote() report.Note {
	return report.Note{
		Version:    "0.1.0",
		Inputs:     []report.Input{{Role: "Client boundary", Name: "long meadow.kml", SHA256: strings.Repeat("0123456789abcdef", 4)}},
		Parameters: []report.Setting{setting("Wanted views", "5")},
		Audit:      audittest.Audit(),
		SiteArea:   audittest.Site(),
		FlightArea: audittest.FlightArea(),
	}
}

func render(t testing.TB, n report.Note, write func(io.Writer, report.Note) error) string {
	t.Helper()
	var out strings.Builder
	if err := write(&out, n); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// recorded is a note as it is read again.
func recorded(t *testing.T, name string, n report.Note) *Record {
	t.Helper()
	r, err := Read(name, []byte(render(t, n, report.WriteJSON)), name)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.ReadShapes(name+".geojson", []byte(render(t, n, report.WriteGeoJSON))); err != nil {
		t.Fatal(err)
	}
	return r
}

func compared(t *testing.T, a, b *Record) *Result {
	t.Helper()
	c, err := Records(a, b, report.Units{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestRecordsThatAreOne(t *testing.T) {
	a, b := recorded(t, "a.json", fakeNote()), recorded(t, "b.json", fakeNote())
	c := compared(t, a, b)
	if got := c.Verdict(); got != "Nothing changed." || !c.Good() || len(c.Notes) > 0 || len(a.Lacking) > 0 {
		t.Errorf("%q, %+v, %v, %v", got, c.Differences, c.Notes, a.Lacking)
	}
	if b.SHA256 = a.SHA256; !strings.Contains(c.Verdict(), "byte for byte") {
		t.Error(c.Verdict())
	}
}

func TestVerdicts(t *testing.T) {
	for _, test := range []struct {
		name    string
		change  func(*report.Note)
		verdict string
		good    bool
		codes   string
	}{
		{"all seen", func(n *report.Note) {
			n.Audit.Zones, n.Audit.Refly = nil, nil
			n.Audit.Totals.Gap, n.Audit.Totals.NoStereo, n.Audit.Totals.Thin = 0, 0, 0
			n.Audit.Totals.CoveredShare, n.Audit.Totals.EnoughShare = 1, 1
			n.Audit.Edge.Captured, n.Audit.Edge.Stretches = n.Audit.Edge.Length, nil
		}, "Gaps fell from 1,240 m² to 0 m²; ground with too few views fell from 6,900 m² to 0 m²; the edge is captured whole now.", true, ""},
		{"gaps that have one view now", func(n *report.Note) {
			n.Audit.Totals.Gap, n.Audit.Totals.NoStereo = 0, 1240+1450.5
			n.Audit.Totals.CoveredShare = 1
			n.Audit.Zones[0].Kind, n.Audit.Zones[1].Kind = "no-stereo", "no-stereo"
		}, "Gaps fell from 1,240 m² to 0 m²; ground with too few views is as before, 6,900 m²; as much of the edge is captured as before, 98.0 %.", true, ""},
		{"a gap elsewhere", func(n *report.Note) {
			n.Audit.Zones[1].Shape[0] = audittest.Box(200, 200, 20, 20)
		}, "Gaps are as before, 1,240 m²; ground with too few views is as before, 6,900 m²; as much of the edge is captured as before, 98.0 %." +
			" But 401 m² of ground, elsewhere, had more views before and has too few now.", false, ""},
		{"coarser", func(n *report.Note) {
			n.Audit.GSD.Median = 0.021
		}, "Gaps are as before, 1,240 m²; ground with too few views is as before, 6,900 m²; as much of the edge is captured as before, 98.0 %." +
			" Worse than before: GSD.", false, ""},
		{"fewer views wanted", func(n *report.Note) {
			n.Audit.Wanted.Views = 4
			n.Audit.Totals.Thin = 100
		}, "Gaps are as before, 1,240 m².", false, "wanted-views"},
		{"higher", func(n *report.Note) {
			for i := range n.Audit.Shots {
				n.Audit.Shots[i].Height = 80
			}
		}, "Gaps are as before, 1,240 m²; ground with too few views is as before, 6,900 m²; as much of the edge is captured as before, 98.0 %.", false, "height"},
		{"another setting", func(n *report.Note) {
			n.Parameters = append(n.Parameters, setting("Altitude of the ground", "12.0 m"), setting("Most motion blur", "1px"))
		}, "Gaps are as before, 1,240 m²; ground with too few views is as before, 6,900 m²; as much of the edge is captured as before, 98.0 %.", false, "setting"},
		{"another site", func(n *report.Note) {
			for i := range n.SiteArea[0][0] {
				n.SiteArea[0][0][i][0] += 0.5
			}
			n.SiteArea[0] = n.SiteArea[0][:1]
			n.Audit.Zones = nil
		}, "The two audits are of different sites.", false, "other-site"},
	} {
		n := fakeNote()
		test.change(&n)
		c := compared(t, recorded(t, "a.json", fakeNote()), recorded(t, "b.json", n))
		var codes []string
		for _, d := range c.Differences {
			codes = append(codes, d.Code)
		}
		if c.Verdict() != test.verdict || c.Good() != test.good || strings.Join(codes, " ") != test.codes {
			t.Errorf("%s: %q, good %v, differences %v", test.name, c.Verdict(), c.Good(), codes)
		}
	}
}

// Ground that a rule takes from one class to the next is no loss.
func TestClassesAreJudgedTogether(t *testing.T) {
	n := fakeNote()
	n.Audit.Totals.Gap, n.Audit.Totals.NoStereo = 1000, 1450.5+240
	c := compared(t, recorded(t, "a.json", fakeNote()), recorded(t, "b.json", n))
	if gap, one := c.figure("gap_m2").Judgement, c.figure("no_stereo_m2").Judgement; gap != Better || one != NotJudged {
		t.Errorf("gap %s, no stereo %s", gap, one)
	}
}

func TestReadRefuses(t *testing.T) {
	whole := render(t, fakeNote(), report.WriteJSON)
	for name, test := range map[string]struct{ text, want string }{
		"empty":          {" \n", "is empty"},
		"page":           {"<!DOCTYPE html>", "is not the JSON of an audit or a plan; give the NAME-coverage.json"},
		"text":           {"Plan for site\n", "or what selvage plan --json printed"},
		"cut":            {whole[:len(whole)/2], "ends in the middle"},
		"twice":          {whole + whole, "is not JSON"},
		"shapes":         {render(t, fakeNote(), report.WriteGeoJSON), "is a file of shapes; give the NAME-coverage.json beside it"},
		"sensors":        {`{"sensors":[]}`, "NAME-coverage-1.json"},
		"prepare":        {`{"client_area_m2":1,"flight_area_m2":2}`, "what selvage prepare printed"},
		"vet":            {`{"file":"a.kml","sha256":"","vertices":4}`, "what selvage vet printed"},
		"foreign":        {`{"name":"x"}`, "is JSON, but not of an audit or a plan"},
		"half":           {`{"site_area_m2":1,"totals":{}}`, "lacks photos"},
		"negative":       {strings.Replace(whole, `"gap_m2": 1240`, `"gap_m2": -1240`, 1), "gap_m2 is -1240, below zero"},
		"more than all":  {strings.Replace(whole, `"covered_share": 0.98906`, `"covered_share": 9.8906`, 1), "covered_share is 9.89"},
		"words":          {strings.Replace(whole, `"gap_m2": 1240`, `"gap_m2": "none"`, 1), "totals.gap_m2 cannot be a string"},
		"unknown class":  {strings.Replace(whole, `"kind": "gap"`, `"kind": "hole"`, 1), `zone 1 is a "hole"`},
		"a list":         {"[1]", "is not the JSON"},
		"no number left": {strings.Replace(whole, `"gap_m2": 1240`, `"gap_m2": 1e400`, 1), "cannot be a number 1e400"},
	} {
		_, err := Read("in.json", []byte(test.text), "")
		if err == nil || !strings.HasPrefix(err.Error(), "in.json ") || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, want %q", name, err, test.want)
		}
	}
}

// What a shell writes when its output is sent to a file.
func TestReadInUTF16(t *testing.T) {
	data := []byte{0xFF, 0xFE}
	for _, unit := range utf16.Encode([]rune(render(t, fakeNote(), report.WriteJSON))) {
		data = append(data, byte(unit), byte(unit>>8))
	}
	if r, err := Read("a.json", data, ""); err != nil || *r.Audit.Totals.Gap != 1240 {
		t.Error(err)
	}
	if _, err := Read("a.json", append([]byte("\ufeff"), render(t, fakeNote(), report.WriteJSON)...), ""); err != nil {
		t.Error(err)
	}
}

func TestReadShapesRefuses(t *testing.T) {
	other := fakeNote()
	other.Audit.Zones = other.Audit.Zones[:3]
	smaller := fakeNote()
	smaller.Audit.Zones[2].Area = 7
	whole := render(t, fakeNote(), report.WriteGeoJSON)
	for name, test := range map[string]struct{ text, want string }{
		"of another audit":       {render(t, other, report.WriteGeoJSON), "is not of the same audit as a.json: it has 3 zones where that has 4"},
		"of another audit still": {render(t, smaller, report.WriteGeoJSON), "zone 3 is another"},
		"cut":                    {whole[:len(whole)/2], "ends in the middle"},
		"empty":                  {"", "ends in the middle"},
		"a list":                 {"[]", "cannot be taken as the GeoJSON of an audit"},
		"no shapes":              {`{"type":"FeatureCollection","features":[]}`, "has no site area"},
		"a line":                 {`{"features":[{"properties":{"role":"site"},"geometry":{"type":"LineString","coordinates":[]}}]}`, "feature 1: its shape is not a polygon"},
		"far off":                {`{"features":[{"properties":{"role":"site"},"geometry":{"type":"Polygon","coordinates":[[[1,2],[1,3],[2,300],[1,2]]]}}]}`, "no place on Earth"},
		"too short":              {`{"features":[{"properties":{"role":"site"},"geometry":{"type":"Polygon","coordinates":[[[1,2]]]}}]}`, "feature 1: part 1, ring 1: the ring is not closed"},
		"no ring":                {`{"features":[{"properties":{"role":"zone"},"geometry":{"type":"MultiPolygon","coordinates":[[]]}}]}`, "feature 1: it has no polygon"},
		"a letter":               {`{"features":[{"properties":{"role":"site"},"geometry":{"type":"Polygon","coordinates":[[[1,2],["x",3]]]}}]}`, "feature 1: part 1, ring 1, vertex 2: "},
		"nothing":                {`{"features":[{"properties":{"role":"site"},"geometry":null}]}`, "feature 1"},
	} {
		r, err := Read("a.json", []byte(render(t, fakeNote(), report.WriteJSON)), "")
		if err != nil {
			t.Fatal(err)
		}
		if err := r.ReadShapes("in.geojson", []byte(test.text)); err == nil || !strings.Contains(err.Error(), test.want) || r.Shapes != nil {
			t.Errorf("%s: %v, want %q", name, err, test.want)
		}
	}
}

// An older record has fewer keys: that is told, and the rest compares.
func TestOlderRecord(t *testing.T) {
	var object map[string]json.RawMessage
	if err := json.Unmarshal([]byte(render(t, fakeNote(), report.WriteJSON)), &object); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"version", "units", "wanted", "inputs", "parameters", "flown", "flights", "lines"} {
		delete(object, key)
	}
	data, err := json.Marshal(object)
	if err != nil {
		t.Fatal(err)
	}
	old, err := Read("old.json", data, "")
	if err != nil {
		t.Fatal(err)
	}
	c := compared(t, old, recorded(t, "b.json", fakeNote()))
	notes := strings.Join(c.Notes, " ")
	if !strings.Contains(notes, "old.json does not have flights, lines, wanted, inputs, parameters, flown") || !strings.Contains(notes, "old.json has no GeoJSON") {
		t.Errorf("notes: %s", notes)
	}
	if !math.IsNaN(c.figure("lines").Before) || c.figure("gap_m2").Judgement != Same || !c.Good() {
		t.Errorf("%+v, %+v", c.figure("lines"), c.Differences)
	}
}

const planText = `{"area_m2": 113350, "sensor_width_mm": 13.2, "sensor_height_mm": 8.8, "focal_length_mm": 8.8, "columns": 5472, "rows": 3648,
"height_m": 70, "gsd_mm": 18.7, "forward_overlap": 0.75, "side_overlap": 0.6, "air_base_m": 30, "lines": 6, "line_length_m": 2160,
"photos": 78, "track_m": 2500, "speed_m_s": 8, "blur_speed_m_s": null, "trigger_speed_m_s": 9, "interval_s": 2, "flight_time_s": 300}`

func TestPlan(t *testing.T) {
	for _, test := range []struct{ name, old, new, verdict, codes string }{
		{"as planned", "", "", "Flown as planned: 6 lines where 6 were planned, 78 photos on them where 78 were planned.", ""},
		{"lines missing", `"lines": 6`, `"lines": 9`, "Not flown as planned: 6 of 9 lines.", ""},
		{"lower overlap", `"side_overlap": 0.6`, `"side_overlap": 0.7`, "Not flown as planned: side overlap 60.0 % where 70.0 % was planned.", ""},
		{"too fast", `"trigger_speed_m_s": 9`, `"trigger_speed_m_s": 3`, "", ""},
		{"for another area", `113350`, `50000`, "The plan is for another area, so only heights, overlaps and speeds can be held against it.", "area"},
	} {
		plan, err := Read("plan.json", []byte(strings.Replace(planText, test.old, test.new, 1)), "")
		if err != nil {
			t.Fatal(err)
		}
		n := fakeNote()
		n.FlightArea = nil
		for i := range n.Audit.Lines {
			n.Audit.Lines[i].Speed.Length = 360
		}
		for i := range n.Audit.Shots {
			n.Audit.Shots[i].Camera = photo.Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648}
		}
		audit := recorded(t, "a.json", n)
		c := compared(t, audit, plan) // in either order
		var codes []string
		for _, d := range c.Differences {
			codes = append(codes, d.Code)
		}
		if c.Before != plan || strings.Join(codes, " ") != test.codes {
			t.Errorf("%s: differences %v", test.name, codes)
		}
		if test.verdict != "" && c.Verdict() != test.verdict {
			t.Errorf("%s: %s", test.name, c.Verdict())
		}
		if test.verdict == "" && !strings.Contains(c.Verdict(), "faster than motion blur or the trigger allow") {
			t.Errorf("%s: %s", test.name, c.Verdict())
		}
	}
	plan, err := Read("plan.json", []byte(planText), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Records(plan, plan, report.Units{}); err == nil {
		t.Error("two plans were compared")
	}
}

// The keys are part of what the tool promises.
func TestComparisonKeys(t *testing.T) {
	n := fakeNote()
	n.Audit.Zones = n.Audit.Zones[:2]
	n.Audit.Wanted.Views = 4
	c := compared(t, recorded(t, "a.json", fakeNote()), recorded(t, "b.json", n))
	var out strings.Builder
	if err := c.WriteJSON(&out); err != nil {
		t.Fatal(err)
	}
	var whole map[string]any
	if err := json.Unmarshal([]byte(out.String()), &whole); err != nil {
		t.Fatal(err)
	}
	var figures []string
	for _, k := range auditFigures {
		figures = append(figures, k.Key)
	}
	slices.Sort(figures)
	for place, want := range map[string]string{
		"":               "after before comparable differences figures ground inputs kind notes site verdict worse zones",
		"before":         "file lacking sha256",
		"after":          "file lacking sha256",
		"differences 0":  "code figures text",
		"figures":        strings.Join(figures, " "),
		"figures gap_m2": "after before change change_percent judgement",
		"site":           "added_m2 removed_m2 same shared_m2",
		"ground":         "fewer_than_2_views fewer_than_wanted no_view",
		"ground no_view": "better_m2 worse_m2",
		"zones 0":        "after after_m2 before before_m2 change elsewise kind lat lon shared_m2",
		"inputs 0":       "after before role same",
	} {
		var value any = whole
		for _, step := range strings.Fields(place) {
			if list, is := value.([]any); is {
				value = list[0]
			} else {
				value = value.(map[string]any)[step]
			}
		}
		if got := strings.Join(slices.Sorted(maps.Keys(value.(map[string]any))), " "); got != want {
			t.Errorf("%q has %s, want %s", place, got, want)
		}
	}
}

// A site that the 180th meridian cuts is taken together again.
func TestAcrossTheMeridian(t *testing.T) {
	east := func(degrees float64) report.Note {
		n := fakeNote()
		move := func(p orb.Point) orb.Point { return orb.Point{p.Lon() + degrees, p.Lat()} }
		project.MultiPolygon(n.SiteArea, move)
		project.MultiPolygon(n.FlightArea, move)
		for i := range n.Audit.Zones {
			z := &n.Audit.Zones[i]
			z.Shape, z.Label = project.Polygon(z.Shape, move), move(z.Label)
		}
		return n
	}
	seam := 180 - audittest.At(250, 0).Lon()
	across := recorded(t, "across", east(seam))
	if len(across.Shapes.Site) != 1 || len(across.Shapes.Site[0]) != 2 {
		t.Errorf("the site is %v", across.Shapes.Site)
	}
	if got := compared(t, across, recorded(t, "again", east(seam-360))).Verdict(); got != "Nothing changed." {
		t.Error(got)
	}
}

// What no audit was given is told before anything is looked for.
func TestReadRefusesHostileCommands(t *testing.T) {
	n := fakeNote()
	n.Command = report.Command{
		Name: "audit", Flags: []report.Given{{Name: "min-zone", Value: "1m2"}}, Arguments: []report.Argument{{Name: "DCIM", Path: "../DCIM"}},
	}
	text := render(t, n, report.WriteJSON)
	for name, to := range map[string]string{
		"a long path":  `"path": "` + strings.Repeat("a/", 5000) + `"`,
		"a path less":  `"path": 7`,
		"a long value": `"path": "a"}, {"name": "` + strings.Repeat("n", 5000) + `", "path": ""`,
	} {
		data := strings.Replace(text, `"path": "../DCIM"`, to, 1)
		if _, err := Read("note.json", []byte(data), ""); data == text || err == nil || !strings.Contains(err.Error(), "note.json was changed by hand") || len(err.Error()) > 200 {
			t.Errorf("%s: %v", name, err)
		}
	}
	flags := strings.Repeat(`{"name": "xmp", "value": "yaw=a"},`, 2000)
	data := strings.Replace(text, `"flags": [`, `"flags": [`+flags, 1)
	if _, err := Read("note.json", []byte(data), ""); err == nil || !strings.Contains(err.Error(), "2,001 flags") {
		t.Errorf("many flags: %v", err)
	}
}

func setting(name, value string) report.Setting {
	return report.Setting{Name: finding.Plain(name), Value: finding.Plain(value)}
}
