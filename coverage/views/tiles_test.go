package views

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// What the walker says of tiles against points asked one by one, for rings that
// are convex and not, that reach past the tiles and that wind twice.
func TestWalkerAgainstPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	bound := orb.Bound{Min: orb.Point{-50, -20}, Max: orb.Point{130, 170}}
	grid := tilesFor(bound, []extent{{0, 140, 0, 140}})
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

// The quick count against the walker, tile by tile: outlines that turn more
// than twice are refused, level and upright sides and wrong turns included.
func TestInsideAgainstWalker(t *testing.T) {
	r := rand.New(rand.NewPCG(37, 38))
	grid := tilesFor(orb.Bound{Min: orb.Point{-50, -20}, Max: orb.Point{130, 170}}, []extent{{0, 140, 0, 140}})
	w, in := newWalker(grid), newInside(grid)
	counted, refused := 0, 0
	for i := range 2000 {
		at := orb.Point{r.Float64()*300 - 110, r.Float64()*300 - 80}
		var ring orb.Ring
		switch i % 4 {
		case 0:
			ring = star(r, at, 20+100*r.Float64())
		case 1:
			ring = turned(at, 100*r.Float64(), 60*r.Float64(), 0)
		case 2:
			ring = turned(at, 10+100*r.Float64(), 10+60*r.Float64(), r.NormFloat64()*1e-5)
			if i%8 == 2 { // with a step in its side
				x, y := at[0]+40*r.Float64(), at[1]+40*r.Float64()
				ring = orb.Ring{at, {x + 50, at[1]}, {x + 50, y + 50}, {x, y + 50}, {x, y}, {at[0], y}, at}
			}
		default:
			ring = turned(at, 10+100*r.Float64(), 10+60*r.Float64(), r.Float64()*7)
		}
		if i%10 == 0 {
			ring.Reverse()
		}
		got, want := newTable(grid.rows, grid.columns), newTable(grid.rows, grid.columns)
		if !in.count(ring, extentOf(ring), got) {
			refused++
			if slices.ContainsFunc(got.numbers, func(n int32) bool { return n != 0 }) {
				t.Fatalf("case %d: refused, but counted", i)
			}
			continue
		}
		w.each([]orb.Ring{ring}, func(row int, spans []span) {
			for _, s := range spans {
				if !s.touched {
					counted++
					want.add(row, s.first, s.last, s.winding)
				}
			}
		})
		if !slices.Equal(got.numbers, want.numbers) {
			t.Fatalf("case %d: %v: other tiles than the walker", i, ring)
		}
	}
	if counted < 2000 || refused < 100 {
		t.Errorf("%d runs of tiles, %d outlines refused", counted, refused)
	}
}
