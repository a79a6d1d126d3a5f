package plane

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

func boxAround(x, y, w, h float64) orb.Bound {
	return orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + w, y + h}}
}

// boxFamilies are sets of boxes that a plain uniform grid finds hard.
func boxFamilies(n int, r *rand.Rand) map[string][]orb.Bound {
	families := map[string][]orb.Bound{}
	add := func(name string, box func(i int) orb.Bound) {
		boxes := make([]orb.Bound, n)
		for i := range boxes {
			boxes[i] = box(i)
		}
		families[name] = boxes
	}
	side := math.Sqrt(float64(n))
	add("scattered", func(int) orb.Bound {
		return boxAround(r.Float64()*side, r.Float64()*side, r.Float64(), r.Float64())
	})
	add("on whole numbers", func(int) orb.Bound {
		return boxAround(float64(r.IntN(30)), float64(r.IntN(30)), float64(r.IntN(3)), float64(r.IntN(3)))
	})
	add("one vast box", func(i int) orb.Bound {
		if i == n/2 {
			return boxAround(-1e9, -1e9, 2e9, 2e9)
		}
		return boxAround(r.Float64()*side*3, r.Float64()*side*3, r.Float64(), r.Float64())
	})
	add("all sizes", func(int) orb.Bound {
		s := math.Exp(r.Float64()*20 - 18)
		return boxAround(r.Float64()*side, r.Float64()*side, s*side/20, s*side/20)
	})
	add("comb", func(i int) orb.Bound { return boxAround(float64(i), 0, 0.5*float64(i%3), 1000) })
	add("points", func(int) orb.Bound { return boxAround(float64(r.IntN(50)), float64(r.IntN(50)), 0, 0) })
	add("all the same", func(i int) orb.Bound { return boxAround(7, 7, float64(min(1, i%9)), 0) })
	add("two far clusters", func(i int) orb.Bound {
		return boxAround(float64(i%2)*1e12+r.Float64()*side, r.Float64()*side, r.Float64(), r.Float64())
	})
	add("unusable boxes among them", func(i int) orb.Bound {
		b := boxAround(r.Float64()*side, r.Float64()*side, 1, 1)
		switch i % 10 {
		case 0:
			b.Min[0] = math.NaN()
		case 1:
			b.Max[1] = math.Inf(1)
		case 2:
			b.Min, b.Max = b.Max, b.Min
		}
		return b
	})
	add("ends of the float range", func(i int) orb.Bound {
		if i%2 == 0 {
			return boxAround(-math.MaxFloat64, 0, math.MaxFloat64, math.MaxFloat64)
		}
		return orb.Bound{Min: orb.Point{-math.MaxFloat64, -5e-324}, Max: orb.Point{math.MaxFloat64, 5e-324}}
	})
	return families
}

func TestOverlappingPairsAgainstAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{0, 1, 2, 50, 500} {
		for name, boxes := range boxFamilies(n, r) {
			seen := map[[2]int]int{}
			overlappingPairs(boxes, func(i, j int) { seen[[2]int{i, j}]++ })
			want := 0
			for j := range boxes {
				for i := range j {
					if boxIsUsable(boxes[i]) && boxIsUsable(boxes[j]) && boxes[i].Intersects(boxes[j]) {
						want++
						if got := seen[[2]int{i, j}]; got != 1 {
							t.Fatalf("%s, %d boxes: pair %d, %d visited %d times", name, n, i, j, got)
						}
					}
				}
			}
			if len(seen) != want {
				t.Errorf("%s, %d boxes: %d pairs visited, %d overlap", name, n, len(seen), want)
			}
		}
	}
}

func BenchmarkOverlappingPairs(b *testing.B) {
	const n = 1_000_000
	for name, boxes := range map[string][]orb.Bound{
		"boundary": chainBoxes(n, func(int) float64 { return 1 }),
		// Half of the line is digitised a thousand times finer than the rest.
		"uneven": chainBoxes(n, func(i int) float64 { return []float64{1, 1e-3}[i*2/n] }),
	} {
		b.Run(name, func(b *testing.B) {
			pairs := 0
			for b.Loop() {
				pairs = 0
				overlappingPairs(boxes, func(_, _ int) { pairs++ })
			}
			b.ReportMetric(float64(pairs), "pairs")
		})
	}
}

// chainBoxes are the boxes of n edges of a winding closed line.
func chainBoxes(n int, step func(i int) float64) []orb.Bound {
	r := rand.New(rand.NewPCG(3, 4))
	boxes := make([]orb.Bound, n)
	var at orb.Point
	for i := range boxes {
		turn := 2*math.Pi*float64(i)/float64(n) + r.Float64()
		next := orb.Point{at[0] + step(i)*math.Cos(turn), at[1] + step(i)*math.Sin(turn)}
		boxes[i] = orb.MultiPoint{at, next}.Bound()
		at = next
	}
	return boxes
}
