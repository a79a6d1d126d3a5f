package boundary

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Areas in lattice squares are counted off the drawings by hand; lobes and
// outer agree with GEOS 3.11's structure method and with its outlines alone.
func TestChoices(t *testing.T) {
	const (
		bowTie = "POLYGON((0 0,10 0,0 10,10 10,0 0))"
		// The line goes round a court of 4 × 4 and crosses itself on its way out.
		court     = "POLYGON((0 0,10 0,10 10,0 10,0 2,3 2,3 7,7 7,7 3,-1 3,-1 0,0 0))"
		crossHole = "POLYGON((0 0,10 0,10 10,0 10,0 0),(8 4,8 6,14 6,14 4,8 4))"
	)
	for _, c := range []struct {
		name, wkt string
		choices   Choices
		area      float64
		want      string
		asked     int // candidates
	}{
		{"bow-tie", bowTie, Choices{}, 50, "self-crossing:needs-answer", 2},
		{"bow-tie, lobes", bowTie, Choices{Crossing: Lobes}, 50, "self-crossing:mended", 2},
		{"bow-tie, uncross", bowTie, Choices{Crossing: Uncross}, 100, "self-crossing:mended", 2},
		{"bow-tie, outer", bowTie, Choices{Crossing: Outer}, 50, "self-crossing:mended", 2},
		{"tolerated", bowTie, Choices{Tolerate: 0.6}, 50, "micro-loop:mended", 0},
		{"hole", crossHole, Choices{}, 96, "hole-crosses:needs-answer", 2},
		{"hole, clip", crossHole, Choices{Hole: Clip}, 96, "hole-crosses:mended", 2},
		{"hole, drop", crossHole, Choices{Hole: Drop}, 100, "hole-crosses:mended", 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := drawn(t, orb.Point{7, 0.01}, c.wkt)
			site, err := Mend(f, c.choices)
			if err != nil {
				t.Fatal(err)
			}
			unit := plane.GeodesicArea(orb.MultiPolygon{{orb.Bound{Min: orb.Point{7, 0.01}, Max: orb.Point{7 + hundred, 0.01 + hundred}}.ToRing()}})
			if got := site.Area / unit; math.Abs(got-c.area) > 0.01 {
				t.Errorf("area %v lattice squares, want %v", got, c.area)
			}
			if got := codesAndSeverities(site.Findings); got != c.want {
				t.Errorf("findings %q, want %q", got, c.want)
			}
			asked, used := 0, 0
			for _, q := range site.Questions {
				for _, candidate := range q.Candidates {
					asked++
					if candidate.Used {
						used++
						if math.Abs(candidate.Area-site.Area) > 1 {
							t.Errorf("%s is said to be used with %v m², the site has %v", candidate.Choice, candidate.Area, site.Area)
						}
					}
					if err := asGeom(candidate.Shape).Validate(); err != nil {
						t.Errorf("%s: %v", candidate.Choice, err)
					}
				}
			}
			if asked != c.asked || used != min(asked, 1) {
				t.Errorf("%d candidates, %d used; want %d, one used", asked, used, c.asked)
			}
		})
	}
	// A gap that the line encloses is ground for "outer" alone.
	f := drawn(t, orb.Point{7, 0.01}, court)
	lobes, _ := Mend(f, Choices{Crossing: Lobes})
	outer, _ := Mend(f, Choices{Crossing: Outer})
	if outer.Area <= lobes.Area+1 {
		t.Errorf("outer has %v m², lobes %v", outer.Area, lobes.Area)
	}
}

// The ledger says how far each mend moves the boundary: the spike's tip lies
// 5 lattice units, 5 × 111.3 m, from what is left.
func TestDisplacement(t *testing.T) {
	site, err := Mend(drawn(t, orb.Point{7, 0}, "POLYGON((0 0,10 0,10 5,15 5,10 5,10 10,0 10,0 0))"), Choices{})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range site.Mends {
		if m.Code == finding.Spike {
			if math.Abs(m.Displacement-5*111.32) > 0.5 {
				t.Errorf("the spike's mend moves the boundary by %v m", m.Displacement)
			}
			return
		}
	}
	t.Error("no mend of the spike")
}

// A ring that crosses itself everywhere is no slip of two vertices: no order is
// sought, which would take for ever.
func TestTangleIsNotUncrossed(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	var ring orb.Ring
	for range 300 {
		ring = append(ring, orb.Point{7 + hundred*r.Float64(), 47 + hundred*r.Float64()})
	}
	if _, ok := uncrossed(append(ring, ring[0])); ok {
		t.Error("a tangle of 300 vertices is said to be a slip")
	}
	slip := orb.Ring{{7, 47}, {7.001, 47}, {7, 47.001}, {7.001, 47.001}, {7, 47}}
	if got, ok := uncrossed(slip); !ok || plane.Valid(orb.MultiPolygon{{got}}) != nil {
		t.Errorf("%v, %v", got, ok)
	}
}

// Two squares of 100 lattice squares share 25, and a square of 4 lies in another.
func TestOverlapChoices(t *testing.T) {
	const square = "POLYGON((0 0,10 0,10 10,0 10,0 0))"
	for _, c := range []struct {
		name, other string
		choices     Choices
		area        float64
		want        string
		candidates  int
	}{
		{"overlap", "POLYGON((5 5,15 5,15 15,5 15,5 5))", Choices{}, 175, "parts-overlap:needs-answer", 3},
		{"overlap, union", "POLYGON((5 5,15 5,15 15,5 15,5 5))", Choices{Overlap: Together}, 175, "parts-overlap:mended", 3},
		{"overlap, no hole", "POLYGON((5 5,15 5,15 15,5 15,5 5))", Choices{Overlap: InnerHole}, 175, "parts-overlap:needs-answer", 3},
		{"inside", "POLYGON((2 2,4 2,4 4,2 4,2 2))", Choices{}, 100, "parts-overlap:needs-answer", 3},
		{"inside, hole", "POLYGON((2 2,4 2,4 4,2 4,2 2))", Choices{Overlap: InnerHole}, 96, "parts-overlap:mended", 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			site, err := Mend(drawn(t, orb.Point{7, 0.01}, square, c.other), c.choices)
			if err != nil {
				t.Fatal(err)
			}
			unit := plane.GeodesicArea(orb.MultiPolygon{{orb.Bound{Min: orb.Point{7, 0.01}, Max: orb.Point{7 + hundred, 0.01 + hundred}}.ToRing()}})
			if got := site.Area / unit; math.Abs(got-c.area) > 0.01 {
				t.Errorf("area %v lattice squares, want %v", got, c.area)
			}
			if got := codesAndSeverities(site.Findings); got != c.want {
				t.Errorf("findings %q, want %q", got, c.want)
			}
			if len(site.Questions) != 1 || len(site.Questions[0].Candidates) != c.candidates {
				t.Errorf("questions %+v, want one with %d candidates", site.Questions, c.candidates)
			}
			for _, a := range site.Areas {
				if err := asGeom(a.Shape).Validate(); err != nil {
					t.Error(err)
				}
			}
		})
	}
}
