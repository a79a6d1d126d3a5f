package verify

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/audittest"
	"selvage/report"
	"selvage/report/compare"
)

// fakeNote is the note of an invented audit.
func fakeNote() report.Note {
	return report.Note{
		Version: "0.1.0",
		Inputs: []report.Input{
			{Role: "Client boundary", Name: "long meadow.kml", SHA256: strings.Repeat("0123456789abcdef", 4)},
			{Role: "Job record", Name: "long-meadow.job.json", SHA256: strings.Repeat("fedcba9876543210", 4)},
		},
		Parameters: []report.Setting{setting("Wanted views", "5"), setting("Least zone", "1 m²")},
		Audit:      audittest.Audit(),
		SiteArea:   audittest.Site(),
		Findings: []finding.Finding{
			{Code: finding.UnclosedRing, Severity: finding.Mended, Text: finding.Plain("The outline was not closed; 1 side was added."), Amount: 1, Unit: "sides"},
		},
		Files: []report.File{{Role: "coverage note", Path: "long-meadow.html"}, {Role: report.FiguresRole, Path: "long meadow.json"}},
	}
}

func render(t testing.TB, n report.Note) string {
	t.Helper()
	var out strings.Builder
	if err := report.WriteJSON(&out, n); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// verified changes the record of a note, or the note done again, and compares.
func verified(t *testing.T, changeText func(string) string, changeNote func(*report.Note)) *Result {
	t.Helper()
	again := fakeNote()
	changeNote(&again)
	recorded := []byte(changeText(render(t, fakeNote())))
	r, err := compare.Read("note.json", recorded, "")
	if err != nil {
		t.Fatal(err)
	}
	v, err := Run(r, []byte(render(t, again)))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func asWritten(s string) string { return s }

func same(*report.Note) {}

func TestEqual(t *testing.T) {
	v := verified(t, asWritten, same)
	if !v.Equal() || v.Values < 400 || len(v.Inputs) != 2 || !strings.HasPrefix(v.Verdict(), "Equal: all ") {
		t.Errorf("%s: %+v", v.Verdict(), v.Mismatches)
	}
	// What lies among the photos besides, and the files that were written, do not count.
	v = verified(t, asWritten, func(n *report.Note) {
		n.Parameters = append(n.Parameters, setting(report.NotLookedInto, "1 hidden file"))
		n.Files = n.Files[:1]
	})
	if !v.Equal() {
		t.Errorf("%+v", v.Mismatches)
	}
}

// Older versions wrote sentences alone.
func TestOlderRecord(t *testing.T) {
	var strip func(value any)
	strip = func(value any) {
		switch value := value.(type) {
		case []any:
			for _, v := range value {
				strip(v)
			}
		case map[string]any:
			delete(value, "said")
			for _, v := range value {
				strip(v)
			}
		}
	}
	v := verified(t, func(s string) string {
		record, err := decode([]byte(s))
		if err != nil || !strings.Contains(s, `"said"`) {
			t.Fatal(err, s)
		}
		strip(record)
		older, err := json.Marshal(record)
		if err != nil {
			t.Fatal(err)
		}
		return string(older)
	}, same)
	if !v.Equal() {
		t.Errorf("%+v", v.Mismatches)
	}
}

// One step of the last decimal is the work of another processor; two are not.
func TestTolerance(t *testing.T) {
	gap := func(to float64) func(*report.Note) {
		return func(n *report.Note) { n.Audit.Totals.Gap = to }
	}
	share := func(to float64) func(*report.Note) {
		return func(n *report.Note) { n.Audit.Totals.CoveredShare = to }
	}
	tests := []struct {
		name   string
		change func(*report.Note)
		equal  bool
	}{
		{"area, one step", gap(1240.01), true},
		{"area, two steps", gap(1240.02), false},
		{"share, one step", share(1 - 1240/113_350.0 + 1e-6), true},
		{"share, two steps", share(1 - 1240/113_350.0 + 2e-6), false},
		{"length, one step", func(n *report.Note) { n.Audit.Edge.Length += 0.001 }, true},
		{"length, two steps", func(n *report.Note) { n.Audit.Edge.Length += 0.002 }, false},
		{"degrees, one step", func(n *report.Note) { n.Audit.Zones[0].Label[0] += 1e-8 }, true},
		{"degrees, two steps", func(n *report.Note) { n.Audit.Zones[0].Label[0] += 2.1e-8 }, false},
		{"GSD, one step", func(n *report.Note) { n.Audit.GSD.Median += 1e-6 }, true},
		{"GSD, two steps", func(n *report.Note) { n.Audit.GSD.Median += 2.1e-6 }, false},
		{"exposure", func(n *report.Note) { n.Audit.Shots[39].ExposureTime += 0.0001 }, false},
		{"amount of a finding, one step", func(n *report.Note) { n.Audit.Findings[0].Amount += 0.01 }, true},
		{"amount of a finding, two steps", func(n *report.Note) { n.Audit.Findings[0].Amount += 0.02 }, false},
		{"count", func(n *report.Note) { n.Audit.Photos.Used++ }, false},
		{"views of a stretch", func(n *report.Note) { n.Audit.Edge.Stretches[0].MinViews++ }, false},
	}
	for _, tt := range tests {
		if v := verified(t, asWritten, tt.change); v.Equal() != tt.equal {
			t.Errorf("%s: %+v", tt.name, v.Mismatches)
		}
	}
}

func TestTells(t *testing.T) {
	tests := []struct {
		name   string
		text   func(string) string
		change func(*report.Note)
		want   string
	}{
		{"a figure", asWritten, func(n *report.Note) { n.Audit.SiteArea++ }, "site area: 113350 m² recorded, 113351 m² recomputed"},
		{"an element", asWritten, func(n *report.Note) { n.Audit.Zones[2].Area = 20 }, "zones 3, area: 1450.5 m² recorded, 20 m² recomputed"},
		{"one more", asWritten, func(n *report.Note) { n.Audit.Zones = append(n.Audit.Zones, n.Audit.Zones[3]) }, "zones: 4 entries recorded, 5 entries recomputed"},
		{"an angle", asWritten, func(n *report.Note) { n.Audit.Lines[0].Course = 12 }, "lines 1, course: 0° recorded, 12° recomputed"},
		{"not measured", asWritten, func(n *report.Note) { n.Audit.Overlap.Side.N = 0 }, "overlap, side, median: 0.6 recorded, not known recomputed"},
		{"gone whole", asWritten, func(n *report.Note) { n.Audit.ReflyPlan = coverage.ReflyPlan{} }, "refly plan: an entry recorded, not known recomputed"},
		{"a setting", asWritten, func(n *report.Note) { n.Parameters[0].Value = finding.Plain("6") }, "parameters, Wanted views: 5 recorded, 6 recomputed"},
		{"a setting more", asWritten, func(n *report.Note) {
			n.Parameters = append(n.Parameters, setting("Camera", "a"))
		}, "parameters, Camera: nothing recorded, a recomputed"},
		{"a sentence", asWritten, func(n *report.Note) { n.Audit.Findings[1].Text = finding.Plain("Otherwise.") }, "findings 3, text: The ground is taken as level. recorded, Otherwise. recomputed"},
		{"an amount", asWritten, func(n *report.Note) { n.Audit.Findings[0].Amount = 7 }, "findings 2, amount: 1240 m² recorded, 7 m² recomputed"},
		{"a key gone", func(s string) string { return strings.Replace(s, `"gap_m2"`, `"gaps"`, 1) }, same, "totals, gap: nothing recorded, 1240 m² recomputed"},
		{"a type", func(s string) string {
			return strings.Replace(s, `"outside_centres": 2`, `"outside_centres": {"a": [1]}`, 1)
		}, same, "photos, outside centres: an entry recorded, 2 recomputed"},
		{"what drives a terminal", func(s string) string {
			return strings.Replace(s, `"repeats A0039.JPG"`, `"\u001b[2J`+strings.Repeat("x", 500)+`"`, 1)
		}, same, "photos, left out 3, reason: \uFFFD[2Jxxx"},
	}
	for _, tt := range tests {
		v := verified(t, tt.text, tt.change)
		var out bytes.Buffer
		if err := v.WriteText(&out, report.Style{}); err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(out.String()), " ")
		if v.Equal() || !strings.Contains(text, tt.want) {
			t.Errorf("%s: no %q in %s", tt.name, tt.want, text)
		}
	}
}

// The most important comes first, and what is left is counted.
func TestOrder(t *testing.T) {
	v := verified(t, asWritten, func(n *report.Note) {
		for i := range n.Audit.Findings {
			n.Audit.Findings[i].Code = finding.NoPolygon
		}
		for i := range n.Audit.Lines {
			n.Audit.Lines[i].Speed.Ground, n.Audit.Lines[i].Course, n.Audit.Lines[i].Speed.Length = 1, 1, 1
			n.Audit.Lines[i].Speed.Spare = 1
		}
		n.Audit.Totals.Gap = 1
		n.Parameters[0].Value = finding.Plain("6")
	})
	if got := v.Mismatches; len(got) < 24 || got[0].Path != "parameters.Wanted views" || got[1].Path != "totals.gap_m2" {
		t.Fatalf("%+v", got)
	}
	var out bytes.Buffer
	if err := v.WriteText(&out, report.Style{}); err != nil {
		t.Fatal(err)
	}
	if want := "… and " + report.Number(len(v.Mismatches)-mostMismatches) + " more; --json lists all"; !strings.Contains(out.String(), want) {
		t.Errorf("no %q in %s", want, out.String())
	}
}

func TestInputs(t *testing.T) {
	v := verified(t, asWritten, func(n *report.Note) {
		n.Inputs[0].SHA256 = strings.Repeat("0", 64)
		n.Inputs[1].Name = "another.json"
	})
	var said []string
	for _, i := range v.Inputs {
		said = append(said, i.sentence())
	}
	want := "long meadow.kml (Client boundary) is another file now: SHA-256 0123456789ab… recorded, 000000000000… found; " +
		"long-meadow.job.json (Job record): not read any more; another.json (Job record): read now, and not recorded"
	if got := strings.Join(said, "; "); got != want {
		t.Errorf("%s", got)
	}
	if v.Equal() || v.Verdict() != "Not equal: 3 inputs are not as recorded, and 0 values differ of "+report.Number(v.Values)+"." {
		t.Errorf("%s", v.Verdict())
	}
}

// A record of another version may be worded otherwise, and have other keys.
func TestOtherVersion(t *testing.T) {
	older := func(s string) string {
		s = strings.Replace(s, `"version": "0.1.0"`, `"version": "0.0.9"`, 1)
		s = strings.Replace(s, "The ground is taken as level.", "Level ground.", 1)
		return strings.Replace(s, `"duplicates"`, `"repeats"`, 1)
	}
	v := verified(t, older, same)
	if !v.Equal() || v.Reworded != 3 || !strings.HasPrefix(v.notes()[0], "Version 0.0.9 wrote the note") {
		t.Errorf("%d, %v, %+v", v.Reworded, v.notes(), v.Mismatches)
	}
	if v = verified(t, older, func(n *report.Note) { n.Audit.SiteArea++ }); v.Equal() || len(v.Mismatches) != 1 {
		t.Errorf("%+v", v.Mismatches)
	}
}

func setting(name, value string) report.Setting {
	return report.Setting{Name: finding.Plain(name), Value: finding.Plain(value)}
}
