package desk

import (
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"selvage/boundary/finding"
)

// The state of a job is another after a change, by whomever, and only then.
func TestJobState(t *testing.T) {
	b := newBench(t)
	states := func(path, body string) (before, after string) {
		w := b.get("api/jobs/quarry")
		if path != "" {
			w = b.post("api/jobs/quarry/"+path, body)
		}
		b.wantStatus(http.StatusOK, w)
		before, after, both := strings.Cut(w.Header().Get(stateHeader), " ")
		if !both || before == "" || after == "" {
			t.Errorf("%s: the state is %q", path, w.Header().Get(stateHeader))
		}
		return before, after
	}
	now, _ := states("", "")
	for _, c := range []struct {
		what, path, body string
		changes          bool
	}{
		{"a drawing", "draw", `{"buffer":["30m"]}`, true},
		{"the same", "draw", `{"buffer":["30m"]}`, false},
		{"typed", "typed/audit", `{"ground":["132m"]}`, true},
		{"typed again", "typed/audit", `{"ground":["132m"]}`, false},
		{"a file", "files/pond.kml", "<kml/>", true},
		{"the same file", "files/pond.kml", "<kml/>", false},
		{"the same receipt", "run/vet", `{}`, true},
		{"looked at", "", "", false},
	} {
		before, after := states(c.path, c.body)
		if before != now || (after != before) != c.changes {
			t.Errorf("%s: from %s, which was %s, to %s", c.what, before, now, after)
		}
		now = after
	}
	// A command in another window.
	write(t, b, "quarry/client-receipt.html", "<p>")
	if same, _ := states("", ""); same != now {
		t.Error("a receipt counts")
	}
	write(t, b, "quarry/client.job.geojson", "{}")
	if another, _ := states("", ""); another == now {
		t.Error("a record of the job does not count")
	}
}

// Measures and locale are kept for all jobs, and go to every command.
func TestFigures(t *testing.T) {
	b := newBench(t)
	var got figuresMessage
	read := func() {
		if err := json.Unmarshal(b.get("api/figures").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
	}
	if read(); got.Units != "metric" || got.Locale != "" || got.Thousands != "," {
		t.Errorf("at first %+v", got)
	}
	for body, want := range map[string]int{
		`{"units":"cubits","locale":"de"}`: 422, `{"units":"metric","locale":"--out=/x"}`: 422, `{"units":"metric","locale":"english"}`: 422, `{"metric":1}`: 400,
	} {
		b.wantStatus(want, b.post("api/figures", body))
	}
	b.wantStatus(http.StatusOK, b.post("api/figures", `{"units":"both","locale":"de"}`))
	if read(); got.Units != "both" || got.Locale != "de" || got.Thousands != "." || got.Point != "," || !strings.Contains(got.Sample, "12,3 m") {
		t.Errorf("kept %+v", got)
	}
	for path, command := range map[string]string{"draw": "prepare", "run/vet": "vet"} {
		b.engine.asked = nil
		b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/"+path, `{}`))
		if len(b.engine.asked) != 1 || b.engine.asked[0][0] != command || !slices.Contains(b.engine.asked[0], "--units=both") || !slices.Contains(b.engine.asked[0], "--locale=de") {
			t.Errorf("asked %q", b.engine.asked)
		}
	}
	// Whatever stands in the file otherwise is as if nothing did.
	if err := os.WriteFile(filepath.Join(b.folder, settingsName), []byte(`{"units":"cubits"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	if read(); got.Units != "metric" {
		t.Errorf("read %+v", got)
	}
}

func TestSentencesOfACommand(t *testing.T) {
	long := finding.Say("It is %s long.", finding.Length(1234.5))
	message, err := json.Marshal(map[string]any{
		"area_m2":  1234.5,
		"findings": []finding.Finding{{Code: "1,234.5 m", Text: long}, {Code: "b", Text: finding.Plain("1,234.5 m, as it stands")}},
		"left_out": map[string]any{"reason": "30.0 m away", "said": finding.Say("%s away", finding.Length(30)).Said()},
		"edge":     map[string]any{"verdict": "100 ft lack.", "said": finding.Say("%s lack.", finding.Length(30.5)).Said()},
		"words":    map[string]any{"text": "damaged, 1.5 m", "said": 3},
	})
	if err != nil {
		t.Fatal(err)
	}
	said, err := figures{"both", "de"}.say(message)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"1234.5", "1.234 m (4.050 ft) long", `"code":"1,234.5 m"`, "1,234.5 m, as it stands", "30,0 m (98,4 ft) away", "30,5 m (100 ft) lack", "damaged, 1.5 m"} {
		if !strings.Contains(string(said), want) {
			t.Errorf("%s lacks %q", said, want)
		}
	}
	if same, err := (figures{}).say(message); err != nil || string(same) != string(message) {
		t.Errorf("without a choice it is %s (%v)", same, err)
	}
}
