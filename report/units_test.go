package report

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

var metric, imperial, both = Units{}, Units{Measures: Imperial}, Units{Measures: Both}

func TestUnits(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	tests := []struct{ got, want string }{
		{metric.Length(0), "0 m"},
		{metric.Length(0.004), "<0.1 m"},
		{metric.Length(0.05), "0.1 m"},
		{metric.Length(8.25), "8.2 m"},
		{metric.Length(99.94), "99.9 m"},
		{metric.Length(99.96), "100 m"},
		{metric.Length(2431.4), "2,431 m"},
		{metric.Length(1234567), "1,234,567 m"},
		{metric.Length(-12.34), "−12.3 m"},
		{metric.Length(nan), "not known"},
		{metric.Length(inf), "not known"},
		// The international foot is 0.3048 m exactly, so 120 m are 393.7 ft and
		// 400 ft are 121.92 m.
		{imperial.Length(121.92), "400 ft"},
		{imperial.Length(120), "394 ft"},
		{imperial.Length(0.3048), "1.0 ft"},
		{metric.Chainage(1203.44), "1,203.4 m"},
		{metric.Chainage(0), "0.0 m"},
		{imperial.Chainage(30.48), "100.0 ft"},
		{metric.Distance(9999), "9,999 m"},
		{metric.Distance(12_345), "12.35 km"},
		{imperial.Distance(1609.344), "1.00 mi"},
		{imperial.Distance(1600), "5,249 ft"},
		{imperial.Distance(inf), "not known"},
		{metric.Speed(8), "8.0 m/s"},
		{imperial.Speed(0.44704), "1.0 mph"}, // 1609.344 m in 3600 s
		{imperial.Speed(6.7056), "15.0 mph"},
		{metric.Area(1240), "1,240 m²"},
		{metric.Area(9999), "9,999 m²"},
		{metric.Area(10_000), "1.00 ha"},
		{metric.Area(123_456), "12.35 ha"},
		{metric.Area(12_345_678), "1,235 ha"},
		{metric.Area(0.02), "<0.1 m²"},
		{metric.Area(nan), "not known"},
		// One acre is 43,560 square feet, 4046.8564224 m² of international feet.
		{imperial.Area(4046.8564224), "1.00 acres"},
		{imperial.Area(4000), "43,056 ft²"},
		{metric.AreaBoth(100_000), "10.00 ha (24.71 acres)"},
		{imperial.AreaBoth(100_000), "24.71 acres (10.00 ha)"},
		// 2280 m² by 0.3048² are 24,541.7 ft², 1912 m by 1609.344 are 1.188 mi.
		{both.Area(2280), "2,280 m² (24,542 ft²)"},
		{both.Area(nan), "not known"},
		{both.AreaBoth(100_000), "10.00 ha (24.71 acres)"},
		{both.Length(0), "0 m (0 ft)"},
		{both.Length(121.92), "122 m (400 ft)"},
		{both.Chainage(30.48), "30.5 m (100.0 ft)"},
		{both.Distance(1912), "1,912 m (1.19 mi)"},
		{both.Fine(30.48), "30.48 m (100.00 ft)"},
		{both.Round(30), "30 m (98.43 ft)"},
		{both.Speed(0.44704), "0.4 m/s (1.0 mph)"},
		{both.SpeedBoth(6.7056), "6.7 m/s (15.0 mph)"},
		{metric.SpeedBoth(10), "10.0 m/s (36.0 km/h)"},
		{both.GSD(0.0254), "2.54 cm/px (1.00 in/px)"},
		{both.change(2280, 1512), "−768 m² (8,267 ft²; 33.7 %)"},
		{both.Short().Area(2280), "2,280 m²"},
		{imperial.Short().Length(121.92), "400 ft"},
		{imperial.Close(0.0254), "1.0 in"},
		{imperial.Close(3.048), "10.00 ft"},
		{imperial.Close(30.48), "100.0 ft"},
		{both.Close(0.0254), "2.5 cm (1.0 in)"},
		{both.Far(1609.344), "1.6 km (1.0 mi)"},
		{metric.Stated(120), "120 m"},
		{imperial.Stated(120), "120 m (394 ft)"},
		{both.Stated(10_000), "10 km (6.21 mi)"}, // 10,000 by 1609.344
		{metric.GSD(0.02727), "2.73 cm/px"},
		{imperial.GSD(0.0254), "1.00 in/px"},
		{metric.GSD(nan), "not known"},
		{metric.Percent(0), "0 %"},
		{metric.Percent(1), "100 %"},
		{metric.Percent(0.987), "98.7 %"},
		{metric.Percent(0.99999), ">99.9 %"},
		{metric.Percent(0.9995), ">99.9 %"},
		{metric.Percent(0.99949), "99.9 %"},
		{metric.Percent(0.0005), "0.1 %"},
		{metric.Percent(0.00001), "<0.1 %"},
		{metric.Percent(nan), "not known"},
		{metric.Overlap(0.75), "75 %"},
		{metric.Overlap(0.29), "29 %"},
		{metric.Overlap(0.725), "72.5 %"},
		{metric.Count(1, "gap", "gaps"), "1 gap"},
		{metric.Count(0, "gap", "gaps"), "0 gaps"},
		{metric.Count(2000, "gap", "gaps"), "2,000 gaps"},
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

func TestParseMeasures(t *testing.T) {
	for _, u := range []Measures{Metric, Imperial, Both} {
		if got, err := ParseMeasures(u.String()); got != u || err != nil {
			t.Errorf("%v: got %v, %v", u, got, err)
		}
	}
	if _, err := ParseMeasures("cubits"); err == nil {
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
