package views

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// What the walker says of tiles against points asked one by one, for rings that
// are convex and not, that reach past the tiles and that wind twice.
func TestWalkerAgainstPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	bound := orb.Bound{Min: orb.Point{-50, -20}, Max: orb.Point{130, 170}}
	grid := tilesFor(bound, []Footprint{{turned(orb.Point{}, 140, 140, 0)}})
	w := newWalker(grid)
	column := func(x float64) int { return between((x-grid.left)*grid.perSize, -1, grid.columns) }
	for i := range 200 {
		at := orb.Point{r.Float64()*240 - 80, r.Float64()*240 - 50}
		ring := star(r, at, 20+100*r.Float64())
		if i%3 == 0 {
			ring = turned(at, 10+100*r.Float64(), 10+60*r.Float64(), r.Float64()*7)
		}
		touched := map[[2]int]bool{}
		whole := map[[2]int]bool{}
		w.each([]orb.Ring{ring}, func(row int, spans []span) {
			for _, s := range spans {
				for column := s.first; column <= s.last; column++ {
					tile := [2]int{int(column), row}
					if touched[tile] || whole[tile] {
						t.Fatalf("case %d: tile %v twice", i, tile)
					}
					if s.touched {
						touched[tile] = true
					} else if whole[tile] = true; s.winding != 1 {
						t.Fatalf("case %d: winding %d", i, s.winding)
					}
				}
			}
		})
		for range 3000 {
			p := orb.Point{-50 + r.Float64()*180, -20 + r.Float64()*190}
			tile := [2]int{column(p[0]), w.row(p[1])}
			inside := plane.Contains(orb.MultiPolygon{{ring}}, p)
			if inside && !touched[tile] && !whole[tile] || whole[tile] && !inside {
				t.Fatalf("case %d, %v: inside %v, touched %v, whole %v", i, p, inside, touched[tile], whole[tile])
			}
		}
		for _, p := range ring {
			if tile := [2]int{column(p[0]), w.row(p[1])}; bound.Contains(p) && !touched[tile] {
				t.Fatalf("case %d: corner %v lies in no tile", i, p)
			}
		}
	}
}
