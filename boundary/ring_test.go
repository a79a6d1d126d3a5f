package boundary

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// A sharp corner of ground is no spike, however closely its sides are drawn:
// a wedge of 200 m keeps its area.
func TestSharpCornerIsNoSpike(t *testing.T) {
	for _, degrees := range []float64{0.5, 1, 3, 5} {
		for _, step := range []float64{0.1, 0.2, 0.5, 1} {
			xy := []float64{0, 0, 200, 0}
			sin, cos := math.Sincos(degrees * math.Pi / 180)
			for d := 200.0; d > step/2; d -= step {
				xy = append(xy, d*cos, d*sin)
			}
			site, err := Mend(&File{Parts: []Part{joined("Wedge", orb.Point{7.25, 47.5}, xy...)}}, Choices{})
			if err != nil {
				t.Fatal(err)
			}
			// Half of 200 × 200 × sin; a cut of 1 cm along the wedge would be 2 m².
			if want := 20000 * sin; math.Abs(site.Area-want) > 0.002*want {
				t.Errorf("%v°, a vertex every %v m: %v m² of %v", degrees, step, site.Area, want)
			}
		}
	}
}

// A spike of many vertices, out and back within 4 mm of one line, goes in one
// piece, wherever the ring starts.
func TestDrawnOutSpike(t *testing.T) {
	spike := []float64{100, 50, 110, 50.004, 122, 50, 131, 49.998, 140, 50, 132.5, 50.001, 120, 50.003, 108, 50}
	xy := append([]float64{0, 0, 100, 0}, spike...)
	xy = append(xy, 100, 50.002, 100, 100, 0, 100)
	for start := range len(xy) / 2 {
		turned := append(append([]float64{}, xy[2*start:]...), xy[:2*start]...)
		site, err := Mend(&File{Parts: []Part{joined("Field", orb.Point{7.25, 47.5}, turned...)}}, Choices{})
		if err != nil {
			t.Fatal(err)
		}
		if got := codesAndSeverities(site.Findings); got != "near-vertex:note spike:mended" {
			t.Errorf("starting at %d: %s", start, got)
		}
		for _, f := range site.Findings {
			if f.Code == finding.Spike && math.Abs(f.Amount-40) > 0.1 {
				t.Errorf("starting at %d: a spike of %v m", start, f.Amount)
			}
		}
		if d := plane.GeodesicPerimeter(site.Shape()); math.Abs(d-400) > 0.5 {
			t.Errorf("starting at %d: %v m around, want 400\n%v", start, d, site.Shape())
		}
	}
}
