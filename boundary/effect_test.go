package boundary

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

// A field of 300 m by 200 m with a road along its southern side, a river far
// away, and three keep-out areas: within it, just within reach, and out of it.
func TestEffectOf(t *testing.T) {
	s := siteOf(t, field("Field", place, 0, 0, 300, 200))
	l := localAt(place)
	line := func(y float64) []orb.LineString {
		return []orb.LineString{{l.degrees(orb.Point{-100, y}), l.degrees(orb.Point{400, y})}}
	}
	zone := func(west, south, east, north float64) orb.MultiPolygon {
		return orb.MultiPolygon{{orb.Bound{Min: l.degrees(orb.Point{west, south}), Max: l.degrees(orb.Point{east, north})}.ToRing()}}
	}
	m := Margin{
		Buffer: 30,
		Along:  []Along{{Name: "road", Lines: line(-4), Near: 10, Buffer: 40}, {Name: "river", Lines: line(900), Near: 10, Buffer: 5}},
		KeepOut: []KeepOut{
			{Name: "pond", Shape: zone(100, 100, 150, 120)},
			{Name: "house", Shape: zone(343, 80, 360, 120), Margin: 5},
			{Name: "village", Shape: zone(346, 140, 360, 160)},
		},
	}
	effect, err := EffectOf(s, m, expand(t, s, m))
	if err != nil {
		t.Fatal(err)
	}
	// The southern side and 6 m of each side next to it lie within 10 m of the road.
	if math.Abs(effect.Along[0]-312) > 0.5 || effect.Along[1] != 0 {
		t.Errorf("along the lines %v m, want 312 and 0", effect.Along)
	}
	if !slices.Equal(effect.Reached, []bool{true, true, false}) {
		t.Errorf("reached %v", effect.Reached)
	}
	if math.Abs(effect.Unflown-1000) > 2 { // the pond, and millimetres about it
		t.Errorf("%v m² are not flown, want 1000", effect.Unflown)
	}
}
