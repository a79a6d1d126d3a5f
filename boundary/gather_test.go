package boundary

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// remended is the site area of a site area.
func remended(t *testing.T, s Site) Site {
	t.Helper()
	var parts []Part
	for _, a := range s.Areas {
		for _, polygon := range a.Shape {
			parts = append(parts, Part{Name: a.Name, Polygon: polygon})
		}
	}
	return siteOf(t, parts...)
}

// Two squares that overlap on a strip, and a third that overlaps each of them
// on 0.6 · 10⁻³ m², which does not matter, but both together on more than 10⁻³
// m²: they are one area at once, and mending that again changes nothing.
func TestMendSlightOverlapsOfOneGroup(t *testing.T) {
	west, east := field("West", place, 0, 0, 0.09, 0.15), field("East", place, 0.06, 0, 0.15, 0.15)
	// The third reaches 8 mm into both: 0.09 m × 8 mm is 0.72 · 10⁻³ m², all of it
	// 0.15 m × 8 mm or 1.2 · 10⁻³ m².
	north := field("North", place, 0, 0.142, 0.15, 0.3)
	for _, order := range [][]Part{{west, east, north}, {north, west, east}, {west, north, east}} {
		s := siteOf(t, order...)
		if len(s.Areas) != 1 {
			t.Fatalf("%d areas, want one: %v", len(s.Areas), s.Findings)
		}
		if want := 0.15 * 0.3; math.Abs(s.Area-want) > 1e-4 {
			t.Errorf("%v m², want %v", s.Area, want)
		}
		if n := len(s.Areas[0].Parts); n != 3 {
			t.Errorf("it is made of %d parts", n)
		}
		if found := codesAndSeverities(s.Findings); strings.Contains(found, "parts-share-edge") || !strings.Contains(found, "parts-overlap:mended") {
			t.Errorf("findings %s", found)
		}
		again := remended(t, s)
		if len(again.Findings) > 0 || len(again.Areas) != 1 || !orb.Equal(again.Shape(), s.Shape()) {
			t.Errorf("mended again it is another: %v", again.Findings)
		}
	}
	// Without the strip that makes one area of two, each overlap is as slight as before.
	apart := field("East", place, 0.09, 0, 0.15, 0.15)
	s := siteOf(t, west, apart, field("North", place, 0, 0.145, 0.15, 0.3))
	if len(s.Areas) != 3 {
		t.Errorf("%d areas, want three: %v", len(s.Areas), s.Findings)
	}
	if again := remended(t, s); len(again.Areas) != 3 || math.Abs(plane.GeodesicArea(again.Shape())-plane.GeodesicArea(s.Shape())) > 1e-9 {
		t.Errorf("mended again there are %d", len(again.Areas))
	}
}
