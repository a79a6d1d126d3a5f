package report

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

func TestUnits(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	tests := []struct{ got, want string }{
		{Metric.Length(0), "0 m"},
		{Metric.Length(0.004), "<0.1 m"},
		{Metric.Length(0.05), "0.1 m"},
		{Metric.Length(8.25), "8.2 m"},
		{Metric.Length(99.94), "99.9 m"},
		{Metric.Length(99.96), "100 m"},
		{Metric.Length(2431.4), "2,431 m"},
		{Metric.Length(1234567), "1,234,567 m"},
		{Metric.Length(-12.34), "−12.3 m"},
		{Metric.Length(nan), "not known"},
		{Metric.Length(inf), "not known"},
		// The international foot is 0.3048 m exactly, so 120 m are 393.7 ft and
		// 400 ft are 121.92 m.
		{Imperial.Length(121.92), "400 ft"},
		{Imperial.Length(120), "394 ft"},
		{Imperial.Length(0.3048), "1.0 ft"},
		{Metric.Chainage(1203.44), "1,203.4 m"},
		{Metric.Chainage(0), "0.0 m"},
		{Imperial.Chainage(30.48), "100.0 ft"},
		{Metric.Distance(9999), "9,999 m"},
		{Metric.Distance(12_345), "12.35 km"},
		{Imperial.Distance(1609.344), "1.00 mi"},
		{Imperial.Distance(1600), "5,249 ft"},
		{Imperial.Distance(inf), "not known"},
		{Metric.Speed(8), "8.0 m/s"},
		{Imperial.Speed(0.44704), "1.0 mph"}, // 1609.344 m in 3600 s
		{Imperial.Speed(6.7056), "15.0 mph"},
		{Metric.Area(1240), "1,240 m²"},
		{Metric.Area(9999), "9,999 m²"},
		{Metric.Area(10_000), "1.00 ha"},
		{Metric.Area(123_456), "12.35 ha"},
		{Metric.Area(12_345_678), "1,235 ha"},
		{Metric.Area(0.02), "<0.1 m²"},
		{Metric.Area(nan), "not known"},
		// One acre is 43,560 square feet, 4046.8564224 m² of international feet.
		{Imperial.Area(4046.8564224), "1.00 acres"},
		{Imperial.Area(4000), "43,056 ft²"},
		{Metric.AreaBoth(100_000), "10.00 ha (24.71 acres)"},
		{Imperial.AreaBoth(100_000), "24.71 acres (10.00 ha)"},
		{Metric.GSD(0.02727), "2.73 cm/px"},
		{Imperial.GSD(0.0254), "1.00 in/px"},
		{Metric.GSD(nan), "not known"},
		{Percent(0), "0 %"},
		{Percent(1), "100 %"},
		{Percent(0.987), "98.7 %"},
		{Percent(0.99999), ">99.9 %"},
		{Percent(0.9995), ">99.9 %"},
		{Percent(0.99949), "99.9 %"},
		{Percent(0.0005), "0.1 %"},
		{Percent(0.00001), "<0.1 %"},
		{Percent(nan), "not known"},
		{Overlap(0.75), "75 %"},
		{Overlap(0.29), "29 %"},
		{Overlap(0.725), "72.5 %"},
		{Count(1, "gap", "gaps"), "1 gap"},
		{Count(0, "gap", "gaps"), "0 gaps"},
		{Count(2000, "gap", "gaps"), "2,000 gaps"},
		{Position(orb.Point{-0.1234567, 51.5}), "51.500000° N, 0.123457° W"},
		{Position(orb.Point{190, -10}), "10.000000° S, 170.000000° W"},
		{Position(orb.Point{nan, 1}), "not known"},
	}
	for i, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("%d: got %q, want %q", i, tt.got, tt.want)
		}
	}
}

func TestParseUnits(t *testing.T) {
	for _, u := range []Units{Metric, Imperial} {
		if got, err := ParseUnits(u.String()); got != u || err != nil {
			t.Errorf("%v: got %v, %v", u, got, err)
		}
	}
	if _, err := ParseUnits("cubits"); err == nil {
		t.Error("cubits went through")
	}
}

func TestWhere(t *testing.T) {
	tests := []struct {
		in   finding.Place
		want string
	}{
		{finding.Place{}, ""},
		{finding.Place{File: "a.kml", Line: 12, Column: 7}, "a.kml, line 12, column 7"},
		{finding.Place{File: "a.kml", Feature: 2, Name: "North", Part: 1, Ring: 1, Vertex: 5}, "a.kml, feature 2 “North”, part 1, outline, vertex 5"},
		{finding.Place{Name: "North", Ring: 3}, "“North”, hole 2"},
		{finding.Place{File: "a\x1b[31m.kml"}, "a\ufffd[31m.kml"},
		{finding.Place{}.At(0.5, -1), "1.000000° S, 0.500000° E"},
	}
	for _, tt := range tests {
		if got := Where(tt.in); got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
}
