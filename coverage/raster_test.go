package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
)

// Every cell against every footprint.
func TestRasterAgainstContains(t *testing.T) {
	random := rand.New(rand.NewPCG(69, 70))
	for range 6 {
		footprints := ringsOfFootprints(randomFlight(random, 30), ground)
		for range 5 {
			footprints = append(footprints, star(random)[0])
		}
		site := orb.MultiPolygon{star(random)}
		r := rasterOf(site, footprints, 900, ground)
		if len(r.Views) != r.Columns*r.Rows || len(r.Views) > 900 {
			t.Fatalf("%d views of %d by %d cells", len(r.Views), r.Columns, r.Rows)
		}
		sum := 0.0
		for row := range r.Rows {
			for column := range r.Columns {
				p := r.cells().middle(column, row)
				near(t, "middle", distance(ground.Metres(r.Middle(column, row)), p), 0, 1e-6)
				n, onRim := 0, plane.BoundaryDistance(site, p) < 1e-6
				for _, f := range footprints {
					area := orb.MultiPolygon{{f}}
					n += one(plane.Contains(area, p))
					onRim = onRim || plane.BoundaryDistance(area, p) < 1e-6
				}
				if !plane.Contains(site, p) {
					n = OffSite
				} else {
					sum++
				}
				if got := r.Views[row*r.Columns+column]; int(got) != n && !onRim {
					t.Fatalf("%v has %d views, the raster says %d", p, n, got)
				}
			}
		}
		shares, all := r.Shares(), 0.0
		for _, s := range shares {
			all += s
		}
		near(t, "sum of shares", all, 1, 1e-12)
		near(t, "origin", distance(ground.Metres(r.Origin), site.Bound().Min), 0, 1e-6)
		near(t, "area of the cells", sum*r.Cell*r.Cell, planar.Area(site), 0.05*planar.Area(site))
	}
}

func TestRasterIsNoLargerThanAsked(t *testing.T) {
	for _, b := range [][2]float64{{100, 100}, {1, 50_000}, {90_000, 70_000}, {0.001, 0.001}, {3, 0.2}, {1000, 0}} {
		for _, most := range []int{100, 10_000, 250_000} {
			c := cellsFor(orb.Bound{Max: orb.Point{b[0], b[1]}}, most)
			if n := c.columns * c.rows; n > most || float64(c.columns)*c.size[0] < b[0]*(1-1e-12) || float64(c.rows)*c.size[1] < b[1]*(1-1e-12) || c.columns < 1 || c.rows < 1 {
				t.Errorf("%v: %d by %d cells of %v m, at most %d", b, c.columns, c.rows, c.size[0], most)
			}
		}
	}
}

// The sum over the ground of the views is that of the footprints, and a regular
// grid of overlaps PE and PS has 1/((1 − PE)·(1 − PS)) views on average inside,
// half of them at the edge of the block and a quarter at its corner (both by
// derivation). 80 and 60 %: 12.5.
func TestRasterOfARegularGrid(t *testing.T) {
	const along, across = 75 * 0.2, 100 * 0.4
	footprints := ringsOfFootprints(serpentine(0, 0, across, along, 15, 40), ground)
	mean := func(x, y float64) float64 {
		// Whole spacings, so that the mean is that of the pattern.
		r := rasterOf(rectangle(x, y, x+across, y+along), footprints, 40_000, ground)
		sum := 0.0
		for v, share := range r.Shares() {
			sum += float64(v) * share
		}
		return sum
	}
	near(t, "inside", mean(6*across, 20*along), 12.5, 0.05)
	// Centres stop at 0: half a spacing further out the block ends.
	near(t, "edge", mean(-across/2-across/2, 20*along), 12.5/2, 0.05)
	near(t, "corner", mean(-across, -along), 12.5/4, 0.05)

	r := rasterOf(rectangle(-60, -50, 14*across+60, 39*along+50), footprints, 250_000, ground)
	sum := 0.0
	for _, v := range r.Views {
		if v != OffSite {
			sum += float64(v) * r.Cell * r.Cell
		}
	}
	near(t, "sum over the ground", sum/(15*40*100*75), 1, 0.002)
	if most := len(r.Shares()) - 1; most != 3*5 {
		t.Errorf("at most %d views", most)
	}
}

func TestSharesOfNothing(t *testing.T) {
	if s := (Raster{}).Shares(); s != nil {
		t.Errorf("shares %v", s)
	}
	r := rasterOf(rectangle(0, 0, 10, 10), nil, 100, ground)
	if s := r.Shares(); len(s) != 1 || s[0] != 1 || math.IsNaN(r.Cell) {
		t.Errorf("shares %v", s)
	}
}
