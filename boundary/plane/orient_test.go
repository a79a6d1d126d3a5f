package plane

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// ratOrient is the orientation in rational arithmetic.
func ratOrient(a, b, c orb.Point) int {
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	minus := func(x, y float64) *big.Rat { return new(big.Rat).Sub(rat(x), rat(y)) }
	left := new(big.Rat).Mul(minus(b[0], a[0]), minus(c[1], a[1]))
	right := new(big.Rat).Mul(minus(b[1], a[1]), minus(c[0], a[0]))
	return left.Cmp(right)
}

func TestOrientAgainstRationals(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	nudge := func(v float64) float64 {
		for range r.IntN(4) {
			v = math.Nextafter(v, math.Inf(r.IntN(2)*2-1))
		}
		return v
	}
	families := map[string]func() (a, b, c orb.Point){
		"near the diagonal, in ulps": func() (a, b, c orb.Point) { // Kettner et al. 2008, fig. 2
			a = orb.Point{0.5 + float64(r.IntN(256))*0x1p-53, 0.5 + float64(r.IntN(256))*0x1p-53}
			return a, orb.Point{12, 12}, orb.Point{24, 24}
		},
		"on a line of degrees": func() (a, b, c orb.Point) {
			a = orb.Point{-1.3 + r.Float64(), 51 + r.Float64()}
			b = orb.Point{a[0] + r.Float64()*1e-3, a[1] + r.Float64()*1e-3}
			f := r.Float64() * 3
			c = orb.Point{nudge(a[0] + f*(b[0]-a[0])), nudge(a[1] + f*(b[1]-a[1]))}
			return a, b, c
		},
		"tenths": func() (a, b, c orb.Point) {
			p := func() orb.Point { return orb.Point{float64(r.IntN(12)) / 10, float64(r.IntN(12)) / 10} }
			return p(), p(), p()
		},
		"on a grid of a tenth of a millimetre": func() (a, b, c orb.Point) {
			p := func() orb.Point {
				return orb.Point{math.Round(r.Float64()*1e3) / 1e4, math.Round(r.Float64()*1e3) / 1e4}
			}
			a, b = p(), p()
			return a, b, orb.Point{2*b[0] - a[0], 2*b[1] - a[1]}
		},
		"all magnitudes": func() (a, b, c orb.Point) {
			p := func() orb.Point {
				return orb.Point{math.Ldexp(r.Float64()-0.5, r.IntN(2090)-1070), math.Ldexp(r.Float64()-0.5, r.IntN(2090)-1070)}
			}
			return p(), p(), p()
		},
		"smallest numbers": func() (a, b, c orb.Point) {
			p := func() orb.Point { return orb.Point{float64(r.IntN(9)) * 5e-324, float64(r.IntN(9)) * 5e-324} }
			return p(), p(), p()
		},
		"large on small": func() (a, b, c orb.Point) {
			a = orb.Point{r.Float64() * 1e-200, r.Float64() * 1e-200}
			return a, orb.Point{1e150, 1e150}, orb.Point{nudge(2e150), 2e150}
		},
	}
	for name, family := range families {
		signs := map[int]int{}
		for range 3000 {
			a, b, c := family()
			want := ratOrient(a, b, c)
			signs[want]++
			for _, p := range [][3]orb.Point{{a, b, c}, {b, c, a}, {c, a, b}} {
				if got := Orient(p[0], p[1], p[2]); got != want {
					t.Fatalf("%s: Orient(%v) = %d, want %d", name, p, got, want)
				}
			}
			if got := Orient(b, a, c); got != -want {
				t.Fatalf("%s: reversed Orient(%v, %v, %v) = %d, want %d", name, b, a, c, got, -want)
			}
		}
		if signs[1] == 0 || signs[-1] == 0 {
			t.Errorf("%s: only signs %v", name, signs)
		}
	}
}

func TestOrientOfNoNumbers(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := Orient(orb.Point{0, 0}, orb.Point{1, bad}, orb.Point{bad, 1}); got != 0 {
			t.Errorf("Orient with %v = %d, want 0", bad, got)
		}
	}
}

func TestInSector(t *testing.T) {
	// The eight neighbours of 0,0 counter-clockwise; a direction is in the
	// sector from i to j if going up from i it comes before j.
	var around []orb.Point
	for i := range 8 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 4)
		around = append(around, orb.Point{math.Round(cos), math.Round(sin)})
	}
	var centre orb.Point
	for i := range around {
		for j := range around {
			for k := range around {
				toJ, toK := (j-i+8)%8, (k-i+8)%8
				want := toK > 0 && toK < toJ
				if got := inSector(centre, around[i], around[k], around[j]); got != want {
					t.Errorf("direction %d in sector %d to %d: %v, want %v", k, i, j, got, want)
				}
				for l := range around {
					if i == j || k == l {
						continue
					}
					want := false
					for half := range 16 { // directions at half steps decide
						in := func(from, to int) bool {
							return (half-2*from+16)%16 < (2*to-2*from+16)%16 && half%2 == 1
						}
						want = want || in(i, j) && in(k, l)
					}
					if got := sectorsMeet(centre, around[i], around[j], around[k], around[l]); got != want {
						t.Errorf("sectors %d-%d and %d-%d meet: %v, want %v", i, j, k, l, got, want)
					}
				}
			}
		}
	}
}

func BenchmarkOrient(b *testing.B) {
	for name, c := range map[string]orb.Point{"clear": {1, 2.5}, "in line": {2.2, 2.2}, "one ulp off": {2, math.Nextafter(2, 3)}} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				Orient(orb.Point{0.1, 0.1}, orb.Point{1.1, 1.1}, c)
			}
		})
	}
}
