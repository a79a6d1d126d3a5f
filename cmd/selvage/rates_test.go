package main

import (
	"math"
	"strings"
	"testing"

	"selvage/report"
)

// 1 mile is 5280 ft of 0.3048 m, 1 nautical mile 1852 m.
func TestMeasured(t *testing.T) {
	for _, tt := range []struct {
		kind kind
		text string
		want float64
	}{
		{speeds, "8m/s", 8}, {speeds, "36 km/h", 10}, {speeds, "15mph", 6.7056}, {speeds, "15 MPH", 6.7056},
		{speeds, "1kn", 1852.0 / 3600}, {speeds, "10ft/s", 3.048},
		{times, "2s", 2}, {times, "0.5min", 30}, {turns, "0s", 0},
		{exposures, "1/1000s", 0.001}, {exposures, "1/2000 s", 0.0005}, {exposures, "0.8ms", 0.0008}, {exposures, "1/2ms", 0.0005},
		{blurs, "0.7px", 0.7}, {sizes, "8MB", 8}, {sizes, "8200kB", 8.2}, {sizes, "0.1GB", 100},
	} {
		m := measured{kind: tt.kind}
		if err := m.Set(tt.text); err != nil || math.Abs(m.value-tt.want) > 1e-12*max(1, tt.want) || !m.given {
			t.Errorf("%s: %v, %v; want %v", tt.text, m.value, err, tt.want)
		}
	}
	for _, tt := range []struct {
		kind kind
		text string
		want string
	}{
		{speeds, "15", "give a unit, as in 8m/s, 30km/h or 15mph"},
		{speeds, "15 m", "the unit m is not one of m/s, km/h"},
		{speeds, "0m/s", "it must be over 0"},
		{speeds, "-3m/s", "it must be over 0"},
		{speeds, "301m/s", "300 m/s are the most"},
		{exposures, "1/0s", "it must be over 0|are the most"},
		{exposures, "1/-5s", "it must be over 0"},
		{exposures, "1/1000", "give a unit"},
		{times, "1/2s", "give a number and a unit"},
		{turns, "-1s", "it must be over 0"},
		{blurs, "0.7", "give a unit, as in 0.7px"},
	} {
		m := measured{kind: tt.kind}
		err := m.Set(tt.text)
		found := false
		for want := range strings.SplitSeq(tt.want, "|") {
			found = found || err != nil && strings.Contains(err.Error(), want)
		}
		if !found {
			t.Errorf("%s: %v, %v; want %q", tt.text, m.value, err, tt.want)
		}
	}
}

func TestCourse(t *testing.T) {
	for text, want := range map[string]float64{"45": 45, " 0.5° ": 0.5, "360": 360} {
		var c course
		if err := c.Set(text); err != nil || c.orBest() != want {
			t.Errorf("%s: %v, %v", text, c.degrees, err)
		}
	}
	for _, text := range []string{"", "north", "-1", "361", "NaN", "45,5"} {
		var c course
		if err := c.Set(text); err == nil {
			t.Errorf("%q was taken", text)
		}
	}
	if none := (&course{}); !math.IsNaN(none.orBest()) {
		t.Error("no course is not the best one")
	}
}

func TestClockAndStorage(t *testing.T) {
	for seconds, want := range map[float64]string{0.4: "0 s", 59.6: "1 min 0 s", 531: "8 min 51 s", 3600: "1 h 0 min", 5025: "1 h 23 min"} {
		if got := report.Lasting(seconds); got != want {
			t.Errorf("%v s: %s, want %s", seconds, got, want)
		}
	}
	for megabytes, want := range map[float64]string{9.98: "9.98 MB", 144: "144 MB", 2200: "2.2 GB", 999.6: "1.0 GB"} {
		if got := storage(megabytes).String(); got != want {
			t.Errorf("%v MB: %s, want %s", megabytes, got, want)
		}
	}
}
