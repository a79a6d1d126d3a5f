package boundary

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Which buffer a part has: by its name, else its feature's, else the job's. The
// parts lie far enough apart; areas by Steiner's formula, A + Pd + πd², and by
// hand for the one that is shrunk.
func TestMarginPrecedence(t *testing.T) {
	site := func() Site {
		parts := []Part{
			field("North", place, 0, 500, 300, 700), field("South", place, 0, 0, 300, 200),
			field("East", place, 600, 0, 900, 200), field("", place, 600, 500, 900, 700),
		}
		parts[0].Buffer, parts[1].Buffer, parts[3].Buffer = 50, 20, -10
		return siteOf(t, parts...)
	}
	steiner := func(d float64) float64 {
		if d < 0 {
			return (300 + 2*d) * (200 + 2*d)
		}
		return 60000 + 1000*d + math.Pi*d*d
	}
	for _, c := range []struct {
		m    Margin
		want [4]float64
	}{
		{Margin{Buffer: 30}, [4]float64{50, 20, 30, -10}},
		{Margin{Buffer: -5}, [4]float64{50, 20, -5, -10}},
		{Margin{Buffer: 30, ByName: map[string]float64{"South": 60}}, [4]float64{50, 60, 30, -10}},
		{Margin{Buffer: 30, ByName: map[string]float64{"South": -8, "East": 5}}, [4]float64{50, -8, 5, -10}},
		{Margin{Buffer: 30, KeepSeparate: true}, [4]float64{50, 20, 30, -10}},
	} {
		s := site()
		f := expand(t, s, c.m)
		var want float64
		for _, d := range c.want {
			want += steiner(d)
		}
		if math.Abs(f.Area-want) > want*1e-3 {
			t.Errorf("%+v: area %v, want %v", c.m, f.Area, want)
		}
		for i, a := range s.Areas {
			if got := c.m.BufferOf(a); got != c.want[i] {
				t.Errorf("%+v: %s has %v, want %v", c.m, areaName(a), got, c.want[i])
			}
		}
	}
	m := Margin{Buffer: 30, ByName: map[string]float64{"South": 60, "East": 5}, Along: []Along{{Name: "road", Near: 9, Buffer: 4}}}
	want := []OwnMargin{{Part: "East", Buffer: 5}, {Part: "South", Buffer: 60, Overruled: 20}, {Part: "North", Feature: 1, Buffer: 50}, {Feature: 4, Buffer: -10}, {Along: "road", Within: 9, Buffer: 4}}
	got := m.OwnMargins(site())
	if len(got) != len(want) {
		t.Fatalf("%+v, want %+v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%+v, want %+v", got[i], want[i])
		}
	}
}

// Parts that overlap have the largest buffer, also of the job's and a name's.
func TestMarginOfOverlappingParts(t *testing.T) {
	a, b := field("A", place, 0, 0, 300, 200), field("B", place, 200, 0, 500, 200)
	for _, c := range []struct {
		a, b   float64
		m      Margin
		want   float64
		differ bool
	}{
		{50, 20, Margin{Buffer: 30}, 50, true},
		{20, 0, Margin{Buffer: 30}, 30, true},
		{20, 20, Margin{Buffer: 30}, 20, false},
		{-5, 20, Margin{Buffer: 30}, 20, true},
		{-5, -10, Margin{Buffer: 30}, -5, true},
		{50, 20, Margin{Buffer: 30, ByName: map[string]float64{"A": 10}}, 20, true},
	} {
		a.Buffer, b.Buffer = c.a, c.b
		s := siteOf(t, a, b)
		f := expand(t, s, c.m)
		if d := math.Abs(c.want); math.Abs(f.MinDistance-d) > 0.01 {
			t.Errorf("%v and %v, %+v: %v m, want %v", c.a, c.b, c.m, f.MinDistance, c.want)
		}
		if got := codesAndSeverities(f.Findings) == "buffers-differ:note"; got != c.differ {
			t.Errorf("%v and %v, %+v: findings %v", c.a, c.b, c.m, f.Findings)
		}
	}
}

// A lake with a ragged shore, shrunk: with fewer vertices nothing of the exact
// area is lost, and the shore is not passed. Both by sampling and by areas.
func TestMarginInwardsFewVertices(t *testing.T) {
	var xy []float64
	for i := range 300 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 300)
		reach := 500 + 12*math.Sin(7*float64(i))
		xy = append(xy, reach*cos, reach*sin)
	}
	lake := joined("Lake", place, xy...)
	island := field("", place, -100, -100, 100, 100)
	lake.Polygon = append(lake.Polygon, island.Polygon[0])
	s := siteOf(t, lake)
	exact := expand(t, s, Margin{Buffer: -20})
	nearest := math.Inf(1)
	for _, most := range []int{150, 60, 30, 20} {
		f := expand(t, s, Margin{Buffer: -20, MaxVertices: most})
		grid := plane.DegreeGrid(s.Shape().Bound(), decimals)
		if lost := plane.GeodesicArea(plane.Difference(grid, exact.Shape(), f.Shape())); lost > 0.5 {
			t.Errorf("%d vertices: %v m² are lost", most, lost)
		}
		if past := plane.GeodesicArea(plane.Difference(grid, f.Shape(), s.Shape())); past > 0 {
			t.Errorf("%d vertices: %v m² past the edge", most, past)
		}
		near := math.Inf(1)
		for _, p := range boundaryPoints(f.Shape(), 5) {
			if !inRings(s.Shape(), p) {
				t.Errorf("%d vertices: %v is past the edge", most, p)
			}
			near = min(near, edgeDistance(s.Shape(), p))
		}
		if math.Abs(near-f.MinDistance) > 0.5 || f.MinDistance > nearest+0.01 {
			t.Errorf("%d vertices: said to come as near as %v m, measured %v", most, f.MinDistance, near)
		}
		nearest = f.MinDistance
		found := codesAndSeverities(f.Findings)
		if f.Vertices > most != strings.Contains(found, "many-vertices") || !strings.Contains(found, "edge-nearer:needs-answer") {
			t.Errorf("%d of %d vertices: findings %s", f.Vertices, most, found)
		}
		t.Logf("%d vertices asked: %d, %.2f m from the edge", most, f.Vertices, f.MinDistance)
	}
}

// The proof refuses what is flown past an edge, too near to one, or left out.
func TestProveInwardRefuses(t *testing.T) {
	a, b := field("A", place, 0, 0, 300, 200), field("B", place, 300, 0, 600, 200)
	a.Buffer = -10
	s := siteOf(t, a, b)
	square := func(west, south, east, north float64) Area {
		return Area{Shape: orb.MultiPolygon{field("", place, west, south, east, north).Polygon}}
	}
	alone := siteOf(t, a)
	few := Margin{Buffer: 30, MaxVertices: 12}
	for _, c := range []struct {
		name    string
		site    Site
		m       Margin
		written []Area
		want    string
	}{
		{"as asked", alone, Margin{Buffer: 30}, []Area{square(10, 10, 290, 190)}, ""},
		{"5 cm nearer", alone, Margin{Buffer: 30}, []Area{square(10, 9.95, 290, 190)}, "too near to the edge of “A”"},
		{"nearer without need", alone, few, []Area{square(10, 5, 290, 190)}, "too near"},
		{"past the edge", alone, few, []Area{square(10, -1, 290, 190)}, "passes the edge"},
		{"5 cm less", alone, few, []Area{square(10, 10.05, 290, 190)}, "leaves out ground of “A”"},
		{"a hole in it", alone, few, []Area{{Shape: orb.MultiPolygon{append(field("", place, 10, 10, 290, 190).Polygon, field("", place, 50, 50, 60, 60).Polygon[0])}}}, "leaves out ground"},
		{"something elsewhere", alone, Margin{Buffer: 30}, []Area{square(10, 10, 290, 190), square(400, 0, 500, 100)}, "outside the site area"},
		{"beside one that is extended", s, Margin{Buffer: 30, Join: plane.Mitre}, []Area{square(10, 10, 290, 190)}, "lack their buffer"},
	} {
		_, err := ProveWritten(c.site, c.m, c.written)
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	// The margin of B may reach over A's edge, but no further than it has to.
	m := Margin{Buffer: 30, Join: plane.Mitre}
	f := expand(t, s, m)
	if got, want := codesAndSeverities(f.Findings), "edge-passed:needs-answer parts-merged:note"; got != want {
		t.Errorf("findings %s, want %s", got, want)
	}
	for _, found := range f.Findings {
		// 9.98 m (1 cm on either side is not looked at) of the eastern side, 200 m,
		// and of the strips south and north of it, as far as B's margin goes: 20 m.
		if want := 9.98*(200-0.02) + 2*20*9.98; found.Code == finding.EdgePassed && math.Abs(found.Amount-want) > 2 {
			t.Errorf("%v m² of the strip are taken, want %v", found.Amount, want)
		}
	}
	wider := plane.Union(plane.DegreeGrid(f.Shape().Bound(), flightDecimals), f.Shape(), square(260, 5, 300, 100).Shape)
	if _, err := ProveWritten(s, m, []Area{{Shape: wider}}); err == nil || !strings.Contains(err.Error(), "passes the edge of “A”") {
		t.Errorf("over the strip: %v", err)
	}
}
