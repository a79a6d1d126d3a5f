package views

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
)

// turned is a rectangle of a by b around a middle, counter-clockwise.
func turned(middle orb.Point, a, b, angle float64) orb.Ring {
	sin, cos := math.Sincos(angle)
	var ring orb.Ring
	for _, c := range [5][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}, {-1, -1}} {
		x, y := c[0]*a/2, c[1]*b/2
		ring = append(ring, orb.Point{middle[0] + x*cos - y*sin, middle[1] + x*sin + y*cos})
	}
	return ring
}

// flight is n footprints of about 100 by 66 m in rows of a square block, with
// the overlaps 80 and 70 per cent, flown by hand as it were; a share of them is
// missing, and of every second line a run of ten.
func flight(r *rand.Rand, n int, missing float64) ([]orb.Ring, orb.MultiPolygon) {
	const along, across = 66 * 0.2, 100 * 0.3
	lines := int(math.Sqrt(float64(n) * along / across))
	inLine := n / lines
	var rings []orb.Ring
	for i := range lines {
		gap := -10
		if i%2 == 0 {
			gap = r.IntN(inLine)
		}
		for j := range inLine {
			if r.Float64() >= missing && (j < gap || j >= gap+10) {
				at := orb.Point{float64(i)*across + r.NormFloat64()*2, float64(j)*along + r.NormFloat64()*2}
				rings = append(rings, turned(at, 100*(1+r.NormFloat64()*0.02), 66*(1+r.NormFloat64()*0.02), r.NormFloat64()*0.05))
			}
		}
	}
	wide, high := float64(lines-1)*across, float64(inLine-1)*along
	return rings, orb.MultiPolygon{{orb.Bound{Min: orb.Point{20, 15}, Max: orb.Point{wide - 20, high - 15}}.ToRing()}}
}

// star is an outline that is not convex.
func star(r *rand.Rand, middle orb.Point, radius float64) orb.Ring {
	n := 5 + r.IntN(12)
	ring := make(orb.Ring, 0, n+1)
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		d := radius * (0.3 + 0.7*r.Float64())
		ring = append(ring, orb.Point{middle[0] + d*cos, middle[1] + d*sin})
	}
	return append(ring, ring[0])
}

// whole is Below by one arrangement of everything.
func whole(site orb.MultiPolygon, footprints []Footprint, limits []int) []orb.MultiPolygon {
	bound := site.Bound()
	var rings []orb.Ring
	for _, f := range footprints {
		for _, ring := range f {
			bound = bound.Union(ring.Bound())
			rings = append(rings, ring)
		}
	}
	a := plane.Arrange(plane.MetreGrid(bound), plane.Oriented(site), rings)
	out := make([]orb.MultiPolygon, len(limits))
	least := 0
	for i, limit := range limits {
		out[i] = a.Keep(func(w []int32) bool { return w[0] > 0 && int(w[1]) >= least && int(w[1]) < limit })
		least = limit
	}
	return out
}

func each(rings []orb.Ring) []Footprint {
	var footprints []Footprint
	for _, ring := range rings {
		footprints = append(footprints, Footprint{ring})
	}
	return footprints
}

func area(mp orb.MultiPolygon) float64 { return math.Abs(planar.Area(mp)) }

// Both levels against one arrangement of everything: footprints that are convex
// and not, sites with holes and of several parts, some far outside.
func TestBelowAgainstOneArrangement(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	for i := range 150 {
		var footprints []Footprint
		for range r.IntN(120) {
			at := orb.Point{r.Float64() * 400, r.Float64() * 400}
			switch i % 4 {
			case 0:
				footprints = append(footprints, Footprint{star(r, at, 30+60*r.Float64())})
			case 1: // in parts, with holes
				a, b := orb.MultiPolygon{{star(r, at, 90)}}, orb.MultiPolygon{{star(r, at, 60)}}
				footprints = append(footprints, plane.Oriented(plane.Difference(plane.MetreGrid(a.Bound()), a, b)))
			default:
				footprints = append(footprints, Footprint{turned(at, 60+60*r.Float64(), 40+r.Float64()*40, r.Float64()*7)})
			}
		}
		site := orb.MultiPolygon{{star(r, orb.Point{200, 200}, 250)}}
		if i%2 == 0 {
			hole := orb.MultiPolygon{{star(r, orb.Point{200, 200}, 80)}, {star(r, orb.Point{380, 380}, 60)}}
			site = plane.Difference(plane.MetreGrid(site.Bound()), site, hole)
		}
		limits := [][]int{{1}, {1, 2, 5}, {3, 4}, {1, 2, 12}}[r.IntN(4)]
		got, want := Below(site, footprints, limits), whole(site, footprints, limits)
		for k := range limits {
			if err := plane.Valid(got[k]); err != nil {
				t.Fatalf("case %d: %v", i, err)
			}
			checkSame(t, site, got[k], want[k])
		}
	}
}

// checkSame wants the same ground, but for what clipping at a box takes: it
// moves a side by a cell of 0.1 mm at most.
func checkSame(t *testing.T, site, got, want orb.MultiPolygon) {
	t.Helper()
	bound := 1e-4 * (planar.Length(got) + planar.Length(want))
	g := plane.MetreGrid(site.Bound())
	if missing, extra := area(plane.Difference(g, want, got)), area(plane.Difference(g, got, want)); missing > bound || extra > bound {
		t.Fatalf("%v m² missing, %v m² too much of %v", missing, extra, area(want))
	}
}

// A regular block with one photo taken out: what that one alone held is known.
func TestBelowOfOneMissingPhoto(t *testing.T) {
	var footprints []orb.Ring
	for i := range 20 {
		for j := range 20 {
			if i != 9 || j != 9 {
				footprints = append(footprints, turned(orb.Point{float64(i) * 80, float64(j) * 80}, 100, 100, 0))
			}
		}
	}
	site := orb.MultiPolygon{{orb.Bound{Min: orb.Point{0, 0}, Max: orb.Point{1520, 1520}}.ToRing()}}
	got := Below(site, each(footprints), []int{1, 2})
	// Its neighbours reach 10 m beyond the 80 m spacing, on each side.
	if a := area(got[0]); math.Abs(a-60*60) > 1e-6 {
		t.Errorf("gap of %v m²", a)
	}
	// Seen once: inside 60 by 60 m at each of the others, but for the gap's
	// neighbours, where the overlap with the missing one is seen once too, and
	// at the rim of the block, where the site ends at the centres.
	inside := 0.0
	for i := range 20 {
		for j := range 20 {
			w, h := 60.0, 60.0
			if i == 0 || i == 19 {
				w = 30
			}
			if j == 0 || j == 19 {
				h = 30
			}
			if i != 9 || j != 9 {
				inside += w * h
			}
		}
	}
	// Four sides of 60 by 20 m that lost one of two views; the corners keep three of four.
	if a := area(got[1]); math.Abs(a-inside-4*60*20) > 1e-6 {
		t.Errorf("seen once: %v m², want %v", a, inside+4*60*20)
	}
}

func BenchmarkBelow(b *testing.B) {
	for _, n := range []int{1_000, 5_000, 10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			rings, site := flight(rand.New(rand.NewPCG(43, 44)), n, 0.1)
			footprints := each(rings)
			b.ReportAllocs()
			var zones int
			for b.Loop() {
				out := Below(site, footprints, []int{1, 2, 5})
				zones = len(out[0]) + len(out[1]) + len(out[2])
			}
			b.ReportMetric(float64(zones), "zones")
		})
	}
}
