package plane

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

func TestSimplifyOutward(t *testing.T) {
	square := shape(t, "POLYGON((0 0,100 0,100 100,0 100,0 0))")
	ell := shape(t, "POLYGON((0 0,200 0,200 100,100 100,100 200,0 200,0 0))")
	for _, c := range []struct {
		name string
		area orb.MultiPolygon
		most int
		want float64 // area, reckoned by hand
	}{
		{"nothing to do", square, 4, 10000},
		{"ell to five", ell, 5, 35000}, // cut across the inner corner: half of 100 × 100 more
		{"ell to four", ell, 4, 40000}, // the square around it
		{"cut corner", shape(t, "POLYGON((0 0,100 0,100 90,90 100,0 100,0 0))"), 4, 10000},                          // the corner comes back
		{"hole goes", shape(t, "POLYGON((0 0,100 0,100 100,0 100,0 0),(10 10,10 12,12 10,10 10))"), 4, 10000},       // filled
		{"hole stays", shape(t, "POLYGON((0 0,100 0,100 100,0 100,0 0),(20 20,20 80,80 80,80 20,20 20))"), 8, 6400}, // as it is
		{"notch", shape(t, "POLYGON((0 0,100 0,100 100,52 100,50 10,48 100,0 100,0 0))"), 5, 10000},                 // bridged, its mouth then straight
	} {
		got := SimplifyOutward(c.area, c.most, nil)
		if n := vertexCount(got); n > c.most {
			t.Errorf("%s: %d vertices, want %d at most: %v", c.name, n, c.most, got)
		}
		if err := sfValid(got); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if a := planar.Area(got); math.Abs(a-c.want) > 1e-6 {
			t.Errorf("%s: area %v, want %v: %v", c.name, a, c.want, got)
		}
	}
}

// Nothing may be lost, whatever the shape and however few the vertices.
func TestSimplifyOutwardLosesNothing(t *testing.T) {
	n := 300
	if testing.Short() {
		n = 40
	}
	r := rand.New(rand.NewPCG(41, 42))
	for i := range n {
		area := orb.MultiPolygon{{ragged(r, 10+r.IntN(150), 50, 0.5*r.Float64())}}
		if r.IntN(2) == 0 {
			hole := ragged(r, 5+r.IntN(60), 12, 0.5*r.Float64())
			area = Difference(MetreGrid(area.Bound()), area, orb.MultiPolygon{{hole}})
		}
		if r.IntN(2) == 0 {
			area = Offset(area, 5*r.Float64(), Style{})
		}
		most := 4 + r.IntN(60)
		got := SimplifyOutward(area, most, nil)
		if err := sfValid(got); err != nil {
			t.Fatalf("case %d: %v\n%v", i, err, area)
		}
		if n := vertexCount(got); n > most && n >= vertexCount(area) {
			t.Fatalf("case %d: %d vertices of %d, want %d", i, n, vertexCount(area), most)
		}
		// Corners move by 0.7 cells at most and with them the sides.
		lost := planar.Area(Difference(MetreGrid(area.Bound()), area, got))
		if lost > 1e-4*planar.Length(area) {
			t.Fatalf("case %d: %v m² are lost of %v: %v", i, lost, planar.Area(area), area)
		}
	}
}

func TestSimplifyOutwardAvoids(t *testing.T) {
	// An ell whose inner corner could be cut across, if nothing stood there.
	ell := shape(t, "POLYGON((0 0,200 0,200 100,100 100,100 200,0 200,0 0))")
	house := shape(t, "POLYGON((110 110,120 110,120 120,110 120,110 110))")
	got := SimplifyOutward(ell, 5, house)
	if a := planar.Area(Intersection(MetreGrid(ell.Bound()), got, house)); a > 0 || planar.Area(got) < 30000 {
		t.Errorf("takes %v m² of what it must avoid: %v", a, got)
	}
}

// The greedy choice against the best of all orders of steps.
func TestSimplifyOutwardAgainstOptimum(t *testing.T) {
	r := rand.New(rand.NewPCG(43, 44))
	var worst, sum float64
	const cases = 60
	for range cases {
		area := orb.MultiPolygon{{ragged(r, 9, 50, 0.5)}}
		for len(Offset(area, 0.001, Style{Join: Mitre})) != 1 {
			area = orb.MultiPolygon{{ragged(r, 9, 50, 0.5)}}
		}
		const most = 5
		greedy := planar.Area(SimplifyOutward(area, most, nil))
		best := bestReduction(newSimplifier(area, nil), most, math.Inf(1))
		own := planar.Area(area)
		ratio := (greedy - own) / max(best, 1e-9)
		worst, sum = max(worst, ratio), sum+ratio
	}
	t.Logf("added ground against the best order of steps: %.2f times on the mean, %.2f at worst", sum/cases, worst)
	if sum/cases > 1.3 {
		t.Errorf("greedy adds %.2f times the ground of the best order on the mean", sum/cases)
	}
}

// bestReduction returns the least ground that any sequence of steps to the
// target adds.
func bestReduction(s *simplifier, target int, bound float64) float64 {
	if s.count <= target {
		return 0
	}
	best := bound
	for i := range s.corners {
		for _, kind := range []stepKind{cutAcross, lengthen} {
			st, to, possible := s.reckon(int32(i), kind)
			if !possible || st.added >= best {
				continue
			}
			next := &simplifier{corners: append([]simpleCorner(nil), s.corners...), rings: append([]simpleRing(nil), s.rings...), count: s.count}
			next.take(st, to)
			if rest := bestReduction(next, target, best-st.added); st.added+rest < best {
				best = st.added + rest
			}
		}
	}
	return best
}

// A quick answer is never another than the exact one.
func TestApart(t *testing.T) {
	r := rand.New(rand.NewPCG(45, 46))
	quick := 0
	for range 20_000 {
		var p [5]orb.Point // on a coarse lattice, so that they are often in line
		for i := range p {
			p[i] = orb.Point{float64(r.IntN(6)), float64(r.IntN(6))}
		}
		corners, e := orb.Ring{p[0], p[1], p[2], p[0]}, straightEdge{p[3], p[4]}
		if turn := Orient(p[0], p[1], p[2]); turn != 0 && p[3] != p[4] && apart(corners, turn, e) {
			quick++
			if in := Inside(orb.LineString{e.from, e.to}, orb.MultiPolygon{{corners}}); len(in) > 0 {
				t.Fatalf("%v runs in %v: %v", e, corners, in)
			}
		}
	}
	if quick < 5000 {
		t.Errorf("only %d were told at once", quick)
	}
}

// What must be avoided is told by its edges as by the exact rule.
func TestAvoids(t *testing.T) {
	r := rand.New(rand.NewPCG(47, 48))
	for range 50 {
		area := Difference(MetreGrid(orb.Bound{}), orb.MultiPolygon{{ragged(r, 40, 50, 0.5)}}, orb.MultiPolygon{{ragged(r, 20, 15, 0.5)}})
		s := newSimplifier(orb.MultiPolygon{}, area)
		for range 200 {
			p := orb.Point{100 * (r.Float64() - 0.5), 100 * (r.Float64() - 0.5)}
			if r.IntN(4) == 0 {
				ring := area[0][r.IntN(len(area[0]))]
				p = ring[r.IntN(len(ring))]
			}
			if got, want := s.avoids(p), Contains(area, p); got != want {
				t.Fatalf("%v: %v, want %v: %v", p, got, want, area)
			}
		}
	}
}
