package plane

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// A grid of n lines by n others has n² crossings, and rings drawn upon each
// other have none but are too many to be looked at.
func TestTangled(t *testing.T) {
	const n = 100
	var lattice orb.MultiPolygon
	for i := range n {
		at := float64(i) + 0.5
		// Flat triangles: each has two long sides, of which none meets those beside it.
		lattice = append(lattice, orb.Polygon{{{-10, at}, {n + 10, at}, {n + 10, at + 0.2}}}, orb.Polygon{{{at, -10}, {at, n + 10}, {at + 0.2, n + 10}}})
	}
	const crossings = 4 * n * n
	grid := MetreGrid(orb.Bound{Min: orb.Point{-100, -100}, Max: orb.Point{200, 200}})
	if Tangled(grid, lattice, crossings) || !Tangled(grid, lattice, crossings-1) {
		t.Errorf("%d crossings are not the most that may be", crossings)
	}
	var laps orb.Ring
	for range 20_000 {
		laps = append(laps, orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{10, 10})
	}
	if !Tangled(grid, orb.MultiPolygon{{laps}}, 1000) {
		t.Error("20,000 laps are not tangled")
	}
	r := rand.New(rand.NewPCG(1, 1))
	var scribble orb.Ring
	for range 1_000_000 {
		scribble = append(scribble, orb.Point{100 * r.Float64(), 100 * r.Float64()})
	}
	if !Tangled(grid, orb.MultiPolygon{{scribble}}, 100_000) {
		t.Error("a scribble is not tangled")
	}
	if area := (orb.MultiPolygon{coast(100_000, 2000)}); Tangled(MetreGrid(area.Bound()), area, 2000) {
		t.Error("an outline of 2,000 crossings has more than that")
	}
}
