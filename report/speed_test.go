package report

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"selvage/coverage"
)

func TestFlownSection(t *testing.T) {
	n := fakeNote()
	page := shown(t, n)
	for _, want := range []string{
		"2 flights with 6 lines over the site.", "They were flown at 6.5 m/s (23.4 km/h) on average, in 5.5 min.",
		"Allowed: 8.4 m/s (30.2 km/h), set by motion blur. Time to spare: 1.4 min.",
		"Moved by more than 0.7 px while the shutter was open: 13 of 78 photos.", "Missing within the flights: 3 photos in 2 places.",
		`<td>L4</td><td>1</td><td class="figure">13</td><td class="figure">360 m</td><td class="figure">12.0 m/s</td><td class="figure">8.4 m/s</td><td>motion blur</td><td class="figure">0.5 min</td><td class="figure">0 min</td>`,
		"A0042.JPG</td><td class=\"figure\">1.0 px", "1/640 s", "trigger missed", "2025-06-03 09:30:00", "by time, flight 2. Dashed: what", "by time, flight 1. Dashed: what motion blur and the trigger interval allow. Round marks: blurred photos. Marks on the axis: missing photos.",
		"a photo between them is missing",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q", want)
		}
	}
	if got := strings.Count(page, `aria-labelledby="speed-`); got != 2 {
		t.Errorf("%d charts", got)
	}
	if got := strings.Count(page, `class="blurred"`); got != 1 {
		t.Errorf("%d charts with blurred photos", got)
	}
	if text := render(t, n, plainText); !strings.Contains(text, "Flights and speed\n  2 flights with 6 lines") {
		t.Error("not in the text")
	}
	n.Units = imperial
	if page := shown(t, n); !strings.Contains(page, "14.5 mph (6.5 m/s)") || !strings.Contains(page, `class="degree" x="6" y="20">mph<`) {
		t.Error("no miles an hour")
	}
}

// A table of positions without times and exposures.
func TestNothingKnownOfSpeed(t *testing.T) {
	n := fakeNote()
	a := n.Audit
	a.Flights = []coverage.Flight{{Photos: 78, Lines: 6, Interval: math.NaN()}}
	a.Missed, a.Weakest = nil, nil
	a.Speed = coverage.Speeds{MaxBlur: 0.7, Ground: math.NaN(), Allowed: math.NaN(), Spare: math.NaN()}
	for i := range a.Lines {
		nan := math.NaN()
		a.Lines[i].Flight, a.Lines[i].Speed = 0, coverage.LineSpeed{Photos: 13, Length: 360, Flown: nan, Ground: nan, Blur: nan, Trigger: nan, Allowed: nan, Spare: nan}
	}
	for i := range a.Shots {
		a.Shots[i].Time, a.Shots[i].Speed, a.Shots[i].Blur = time.Time{}, math.NaN(), math.NaN()
	}
	page := render(t, n, WriteHTML)
	if !strings.Contains(page, "How fast they were flown cannot be told") || strings.Contains(page, "NaN") || strings.Contains(page, `aria-labelledby="speed-`) {
		t.Error("speed is told, or drawn")
	}
	var got struct {
		Speed map[string]any
		Lines []map[string]any
	}
	if err := json.Unmarshal([]byte(render(t, n, WriteJSON)), &got); err != nil {
		t.Fatal(err)
	}
	if got.Speed["speed_m_s"] != nil || got.Lines[2]["allowed_m_s"] != nil || got.Lines[2]["start"] != nil {
		t.Errorf("%v, %v", got.Speed, got.Lines[2])
	}
}

func TestExposure(t *testing.T) {
	for seconds, want := range map[float64]string{1.0 / 1000: "1/1,000 s", 1.0 / 60: "1/60 s", 0.5: "0.5 s", 2: "2.0 s", 0: metric.unknown(), math.Inf(1): metric.unknown()} {
		if got := metric.exposure(seconds); got != want {
			t.Errorf("%v: %q, want %q", seconds, got, want)
		}
	}
}
