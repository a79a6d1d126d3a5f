package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
)

// Every cell against every footprint, drawn anew in the plane: far north, and
// on both sides of the antimeridian, to which a boundary file gives either sign.
func TestDegreeRasterAgainstContains(t *testing.T) {
	random := rand.New(rand.NewPCG(71, 72))
	for _, centre := range []orb.Point{{9, 0}, {2.3, 54.7}, {-70, -78}, {179.9999, 20}, {-179.9999, -51}, {180, 10}} {
		frame := plane.NewFrame(centre)
		var inPlane []orb.Ring
		var shots []Shot
		for _, f := range ringsOfFootprints(randomFlight(random, 30), ground) {
			centred(f)
			inPlane = append(inPlane, f)
			shots = append(shots, Shot{Footprint: frame.ToDegrees(orb.MultiPolygon{{f}})[0][0]})
		}
		site := orb.MultiPolygon{star(random)}
		for _, ring := range site[0] {
			centred(ring)
		}
		r := degreeRasterOf(frame.ToDegrees(site), shots, 900, frame)
		if len(r.Views) != r.Columns*r.Rows || len(r.Views) > 960 || math.Abs(r.Corner[0]) > 180 {
			t.Fatalf("%v: %d views of %d by %d cells from %v", centre, len(r.Views), r.Columns, r.Rows, r.Corner)
		}
		seams, cellArea := 0, 0.0
		for row := range r.Rows {
			for column := range r.Columns {
				west, south := r.Corner[0]+float64(column)*r.Step[0], r.Corner[1]+float64(row)*r.Step[1]
				if math.Abs(math.Remainder(west+180, 360)) < 1e-9 {
					seams++
				} else if math.Floor((west+180)/360) != math.Floor((west+r.Step[0]+180-1e-9)/360) {
					t.Fatalf("%v: a cell lies across the antimeridian", centre)
				}
				p := frame.Metres(plane.WrapPoint(orb.Point{west + r.Step[0]/2, south + r.Step[1]/2}))
				n, onRim := 0, plane.BoundaryDistance(site, p) < 0.001
				for _, f := range inPlane {
					n += one(planar.RingContains(f, p))
					onRim = onRim || plane.BoundaryDistance(orb.MultiPolygon{{f}}, p) < 0.001
				}
				if !plane.Contains(site, p) {
					n = OffSite
				} else {
					cellArea += r.Cell * r.Cell
				}
				if got := r.Views[row*r.Columns+column]; int(got) != n && !onRim {
					t.Fatalf("%v: %v has %d views, the raster says %d", centre, p, n, got)
				}
			}
		}
		if across := math.Abs(centre[0]) > 179; across != (seams > 0) {
			t.Errorf("%v: the antimeridian is a side of %d cells", centre, seams)
		}
		near(t, "area of the cells", cellArea, planar.Area(site), 0.05*planar.Area(site))
	}
}

// centred moves a ring so that the middle of what star draws is at 0, 0.
func centred(r orb.Ring) {
	for i := range r {
		r[i][0] -= 150
		r[i][1] -= 150
	}
}
