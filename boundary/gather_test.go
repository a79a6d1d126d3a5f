package boundary

import (
	"fmt"
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

// squares are squares of 100 m, each so many metres north and east of the one before.
func squares(n int, step float64) (parts []Part) {
	for i := range n {
		at := step * float64(i)
		parts = append(parts, field(fmt.Sprint("F", i), place, at, at, at+100, at+100))
	}
	return parts
}

// A part that a file has many times is said once for each copy, and not for each
// two of them.
func TestMendCopies(t *testing.T) {
	const copies = 100
	parts := squares(copies, 0)
	s := siteOf(t, parts...)
	if len(s.Areas) != 1 || math.Abs(s.Area-100*100) > 0.1 || math.Abs(s.AreaBefore-copies*100*100) > copies*0.1 {
		t.Errorf("%d areas of %v m², drawn as %v m²", len(s.Areas), s.Area, s.AreaBefore)
	}
	if found := codesAndSeverities(s.Findings); found != "duplicate-part:mended" || len(s.Findings) != copies-1 {
		t.Errorf("%d findings: %s", len(s.Findings), found)
	}
	if len(s.Mends) != copies-1 || len(s.Areas[0].Parts) != copies {
		t.Errorf("%d mends of %d parts", len(s.Mends), len(s.Areas[0].Parts))
	}
	// Copies of a part that is a hole in another are no ground of it.
	yard := append(squares(2, 0), field("Yard", place, -100, -100, 200, 200))
	holed, err := Mend(&File{Parts: yard}, Choices{Overlap: InnerHole})
	if err != nil || len(holed.Areas) != 1 || math.Abs(holed.Area-8*100*100) > 1 || len(holed.Areas[0].Parts) != 1 {
		t.Errorf("%v: %+v", err, holed.Areas)
	}
}

// Where parts overlap each other in thousands of pairs, all of them are one area
// without a look at each pair: that of squares one inside the other is the
// largest, and squares in a row cover one and, for each more, twice the step
// times the side less the step's square.
func TestMendManyOverlaps(t *testing.T) {
	var nested []Part
	for i := range 600 {
		r := float64(i + 1)
		nested = append(nested, field("", place, -r, -r, r, r))
	}
	const step, more = 0.2, 299
	for name, c := range map[string]struct {
		parts []Part
		area  float64
	}{
		"nested":   {nested, 1200 * 1200},
		"in a row": {squares(more+1, step), 100*100 + more*(2*step*100-step*step)},
	} {
		s := siteOf(t, c.parts...)
		if len(s.Areas) != 1 || math.Abs(s.Area-c.area) > 1e-4*c.area || len(s.Areas[0].Parts) != len(c.parts) {
			t.Errorf("%s: %d areas of %v m², want %v", name, len(s.Areas), s.Area, c.area)
		}
		if found := codesAndSeverities(s.Findings); found != "parts-overlap:needs-answer" || len(s.Mends) != 1 || len(s.Questions) > 0 {
			t.Errorf("%s: findings %s, %d mends, %d questions", name, found, len(s.Mends), len(s.Questions))
		}
		if m := s.Mends[0]; math.Abs(m.AreaBefore-s.AreaBefore) > 1e-6*s.AreaBefore || m.AreaAfter != s.Area {
			t.Errorf("%s: %v m² became %v", name, m.AreaBefore, m.AreaAfter)
		}
		if chosen, err := Mend(&File{Parts: c.parts}, Choices{Overlap: Together}); err != nil || codesAndSeverities(chosen.Findings) != "parts-overlap:mended" {
			t.Errorf("%s: as chosen: %v, %v", name, err, chosen.Findings)
		}
		if n := strings.Count(s.Areas[0].Name, " + "); n > maxListed {
			t.Errorf("%s: a name of %d", name, n)
		}
	}
}
