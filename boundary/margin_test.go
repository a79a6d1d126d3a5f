package boundary

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// siteOf is a site of sound parts.
func siteOf(t testing.TB, parts ...Part) Site {
	t.Helper()
	for i := range parts {
		parts[i].Place = finding.Place{Feature: i + 1, Part: 1, Name: parts[i].Name}
	}
	site, err := Mend(&File{Parts: parts}, Choices{})
	if err != nil {
		t.Fatal(err)
	}
	return site
}

func expand(t testing.TB, s Site, m Margin) Flight {
	t.Helper()
	f, err := Expand(s, m)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range f.Areas {
		if err := asGeom(a.Shape).Validate(); err != nil {
			t.Error(err)
		}
	}
	return f
}

var place = orb.Point{7.25, 47.5}

// Areas by Steiner's formula, A + Pd + πd² with round joins; the parts lie far
// enough apart for each to keep its own.
func TestMarginByName(t *testing.T) {
	s := siteOf(t, field("North", place, 0, 500, 300, 700), field("South", place, 0, 0, 300, 200))
	f := expand(t, s, Margin{Buffer: 30, ByName: map[string]float64{"South": 60}})
	steiner := func(d float64) float64 { return 60000 + 1000*d + math.Pi*d*d }
	if want := steiner(30) + steiner(60); math.Abs(f.Area-want) > want*1e-3 {
		t.Errorf("area %v, want %v", f.Area, want)
	}
	if _, err := Expand(s, Margin{Buffer: 30, ByName: map[string]float64{"East": 60}}); err == nil || !strings.Contains(err.Error(), "East") {
		t.Errorf("a name that is not there: %v", err)
	}
}

// A road along the southern side gets 5 m, everything else 30 m.
func TestMarginAlong(t *testing.T) {
	s := siteOf(t, field("Field", place, 0, 0, 300, 200))
	l := localAt(place)
	road := orb.LineString{l.degrees(orb.Point{-100, -4}), l.degrees(orb.Point{400, -4})}
	f := expand(t, s, Margin{Buffer: 30, Along: []Along{{Name: "road", Lines: []orb.LineString{road}, Near: 10, Buffer: 5}}})
	south := math.Inf(1)
	for _, p := range f.Shape()[0][0] {
		if xy := l.metres(p); xy[0] > 100 && xy[0] < 200 {
			south = min(south, xy[1])
		}
	}
	inside := func(x, y float64) bool { return plane.Contains(f.Shape(), l.degrees(orb.Point{x, y})) }
	for _, c := range []struct {
		x, y float64
		want bool
	}{
		{150, -4.5, true}, {150, -6, false}, // 5 m to the south
		{150, 229, true}, {150, 231, false}, // 30 m to the north
		{-29, 100, true}, {329, 100, true}, {331, 100, false},
	} {
		if inside(c.x, c.y) != c.want {
			t.Errorf("%v m east, %v m north is inside: %v, want %v", c.x, c.y, !c.want, c.want)
		}
	}
	if f.MinDistance < 4.99 {
		t.Errorf("least distance %v", f.MinDistance)
	}
}

func TestMarginKeepOut(t *testing.T) {
	s := siteOf(t, field("Field", place, 0, 0, 300, 200))
	l := localAt(place)
	zone := func(west, south, east, north float64) orb.MultiPolygon {
		return orb.MultiPolygon{{orb.Bound{Min: l.degrees(orb.Point{west, south}), Max: l.degrees(orb.Point{east, north})}.ToRing()}}
	}
	// One zone 10 m off the eastern side with 5 m of its own margin, one across
	// the northern side.
	f := expand(t, s, Margin{Buffer: 30, KeepOut: []KeepOut{
		{Name: "house", Shape: zone(310, 80, 360, 120), Margin: 5},
		{Name: "yard", Shape: zone(100, 190, 150, 260)},
	}})
	for _, k := range []struct {
		p    orb.Point
		want bool
	}{{orb.Point{304, 100}, true}, {orb.Point{306, 100}, false}, {orb.Point{125, 195}, false}, {orb.Point{95, 195}, true}} {
		if plane.Contains(f.Shape(), l.degrees(k.p)) != k.want {
			t.Errorf("%v is flown: %v, want %v", k.p, !k.want, k.want)
		}
	}
	var lost, short float64
	for _, e := range f.Short {
		if e.Lost {
			lost += e.To - e.From
		} else {
			short += e.To - e.From
		}
	}
	// In the yard: 50 m of the northern side. Short of margin: beside the house
	// where the zone, grown by 5 m and a corner's arc, is nearer than 30 m: the
	// grown zone's edge is 5 m off the side, so sqrt(30²-5²) = 29.58 m past its
	// square part of 40 m, plus what its rounded corner reaches further back
	// (within 5 m of 85..115): between 99.1 and 109.2 m; beside the yard 30 m
	// either way on the northern side.
	if math.Abs(lost-50) > 0.05 {
		t.Errorf("%v m cannot be captured, want 50", lost)
	}
	if short < 99.1+60-1 || short > 109.2+60+1 {
		t.Errorf("%v m are short of margin, want 159.1 to 169.2", short)
	}
	if got, want := codesAndSeverities(f.Findings), "edge-in-keep-out:needs-answer margin-lost:note"; got != want {
		t.Errorf("findings %q, want %q", got, want)
	}
}

func TestMarginHolesAndParts(t *testing.T) {
	with := field("Field", place, 0, 0, 600, 400)
	small, large := field("", place, 100, 100, 180, 180), field("", place, 300, 100, 500, 300)
	with.Polygon = append(with.Polygon, small.Polygon[0], large.Polygon[0])
	s := siteOf(t, with)
	holes := func(m Margin) (n int) {
		for _, p := range expand(t, s, m).Shape() {
			n += len(p) - 1
		}
		return n
	}
	for _, c := range []struct {
		m    Margin
		want int
	}{
		{Margin{Buffer: 30}, 2},
		{Margin{Buffer: 41}, 1}, // the small one, 80 m wide, vanishes
		{Margin{Buffer: 30, HoleMin: 1000}, 1},
		{Margin{Buffer: 30, FillHoles: true}, 0},
	} {
		if got := holes(c.m); got != c.want {
			t.Errorf("%+v: %d holes, want %d", c.m, got, c.want)
		}
	}
	two := siteOf(t, field("A", place, 0, 0, 300, 200), field("B", place, 320, 0, 600, 200))
	if f := expand(t, two, Margin{Buffer: 30}); len(f.Areas) != 1 {
		t.Errorf("%d areas, want the two as one", len(f.Areas))
	}
	if f := expand(t, two, Margin{Buffer: 30, KeepSeparate: true}); len(f.Areas) != 2 || f.Areas[0].Name != "A" || f.Areas[1].Name != "B" {
		t.Errorf("areas %v, want A and B apart", f.Areas)
	}
}

func TestMarginInwards(t *testing.T) {
	s := siteOf(t, field("Field", place, 0, 0, 300, 200), field("Lane", place, 400, 0, 415, 200))
	f := expand(t, s, Margin{Buffer: -10})
	if want := 280.0 * 180; math.Abs(f.Area-want) > want*2e-3 || len(f.Areas) != 1 {
		t.Errorf("area %v in %d, want %v", f.Area, len(f.Areas), want)
	}
	if f.MinDistance < 9.99 {
		t.Errorf("least distance %v", f.MinDistance)
	}
	if got, want := codesAndSeverities(f.Findings), "part-vanished:needs-answer"; got != want {
		t.Errorf("findings %q, want %q", got, want)
	}
	if _, err := Expand(s, Margin{Buffer: -120}); err != ErrVanished {
		t.Errorf("shrunk to nothing: %v", err)
	}
}

func TestMarginFewVertices(t *testing.T) {
	var xy []float64
	for i := range 400 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 400)
		xy = append(xy, (2000+150*math.Sin(float64(i)))*cos, 2000*sin)
	}
	s := siteOf(t, joined("Lake", place, xy...))
	exact := expand(t, s, Margin{Buffer: 30})
	for _, most := range []int{200, 50, 12} {
		f := expand(t, s, Margin{Buffer: 30, MaxVertices: most})
		if f.Vertices > most {
			t.Errorf("%d vertices, want %d at most", f.Vertices, most)
		}
		if math.Abs(f.Area-exact.Area-f.Simplified) > 1 || f.Simplified < 0 {
			t.Errorf("%d vertices: the area grows by %v, said are %v", most, f.Area-exact.Area, f.Simplified)
		}
		if f.MinDistance < 29.99 {
			t.Errorf("%d vertices: least distance %v", most, f.MinDistance)
		}
	}
}

// A road's own margin is no fault of a keep-out area elsewhere.
func TestMarginAlongAndKeepOut(t *testing.T) {
	s := siteOf(t, field("Field", place, 0, 0, 300, 200))
	l := localAt(place)
	road := orb.LineString{l.degrees(orb.Point{-100, -4}), l.degrees(orb.Point{400, -4})}
	zone := orb.MultiPolygon{{orb.Bound{Min: l.degrees(orb.Point{310, 80}), Max: l.degrees(orb.Point{360, 120})}.ToRing()}}
	f := expand(t, s, Margin{Buffer: 30, Along: []Along{{Name: "road", Lines: []orb.LineString{road}, Near: 10, Buffer: 5}},
		KeepOut: []KeepOut{{Name: "house", Shape: zone}}})
	for _, e := range f.Short {
		for _, p := range e.Path {
			if xy := l.metres(p); xy[0] < 299 || xy[1] < 40 || xy[1] > 160 {
				t.Errorf("the edge at %.0f m east, %.0f m north is said to be short", xy[0], xy[1])
			}
		}
	}
	if len(f.Short) != 1 {
		t.Errorf("%d stretches are short, want the one beside the house", len(f.Short))
	}
}
