package plane

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

func TestContains(t *testing.T) {
	mp := orb.MultiPolygon{
		{squareRing(0, 0, 10), squareRing(2, 2, 4)},
		{squareRing(3, 3, 1)}, // an island in the hole
		{},
	}
	for _, c := range []struct {
		name string
		p    orb.Point
		want bool
	}{
		{"inside", orb.Point{1, 1}, true},
		{"in the hole", orb.Point{2.5, 5}, false},
		{"on the edge of the hole", orb.Point{2, 3}, true},
		{"corner of the hole", orb.Point{6, 6}, true},
		{"on the island", orb.Point{3.5, 3.5}, true},
		{"on the outline", orb.Point{10, 0.1}, true},
		{"corner", orb.Point{0, 10}, true},
		{"just outside", orb.Point{math.Nextafter(10, 11), 5}, false},
		{"level with the top, left of it", orb.Point{-1, 10}, false},
		{"level with the bottom, right of it", orb.Point{11, 0}, false},
		{"not a number", orb.Point{math.NaN(), 5}, false},
	} {
		if got := Contains(mp, c.p); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if got := NewLocator(mp).Contains(c.p); got != c.want {
			t.Errorf("%s, by the locator: %v, want %v", c.name, got, c.want)
		}
	}
	if Contains(nil, orb.Point{}) {
		t.Error("nothing contains a point")
	}
	// 0.1 + 0.2 is not 0.3: the first is beyond the slanting edge by an ulp.
	slanting := orb.MultiPolygon{{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}}
	x, y := 0.1, 0.2
	if !Contains(slanting, orb.Point{0.3, 0.3}) || Contains(slanting, orb.Point{0.3, x + y}) {
		t.Error("a point on the slanting edge, or one an ulp beyond it, is misjudged")
	}
}

// The tree answers as the plain walk does, also on points of the boundary and
// level with vertices.
func TestTreeLocatesAsTheWalkDoes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 3))
	for range 300 {
		ring := gridRing(r, 3+r.IntN(40), 0, 0, 12)
		tree := newBoxTree(edgesOf(orb.MultiPolygon{{ring}}))
		for x := -1.0; x <= 12; x += 0.5 {
			for y := -1.0; y <= 12; y += 0.5 {
				p := orb.Point{x, y}
				if got, want := tree.locate(p), locateInRing(ring, p); got != want {
					t.Fatalf("%v in %v: %d, want %d", p, ring, got, want)
				}
			}
		}
	}
}

func TestBoundaryDistance(t *testing.T) {
	mp := orb.MultiPolygon{{squareRing(0, 0, 10), squareRing(4, 4, 2)}}
	for _, c := range []struct {
		p    orb.Point
		want float64
	}{
		{orb.Point{5, 5}, 1}, {orb.Point{1, 5}, 1}, {orb.Point{13, 14}, 5}, {orb.Point{5, -3}, 3},
		{orb.Point{10, 10}, 0}, {orb.Point{3, 3}, math.Sqrt2}, {orb.Point{0, 7}, 0},
	} {
		if got := BoundaryDistance(mp, c.p); math.Abs(got-c.want) > 1e-15 {
			t.Errorf("from %v: %v, want %v", c.p, got, c.want)
		}
	}
	if got := BoundaryDistance(nil, orb.Point{}); !math.IsInf(got, 1) {
		t.Errorf("from nothing: %v", got)
	}
}

func TestLeastDistance(t *testing.T) {
	square := orb.MultiPolygon{{squareRing(0, 0, 10)}}
	for _, c := range []struct {
		name string
		b    orb.MultiPolygon
		want float64
	}{
		{"inside", orb.MultiPolygon{{squareRing(3, 4, 2)}}, 3},
		{"around", orb.MultiPolygon{{squareRing(-30, -30, 70)}}, 30},
		{"corner to corner", orb.MultiPolygon{{squareRing(13, 14, 5)}}, 5},
		{"corner to edge", orb.MultiPolygon{{{{12, 5}, {20, 0}, {20, 9}, {12, 5}}}}, 2},
		{"crossing without a vertex inside", orb.MultiPolygon{{{{-1, 4}, {11, 4}, {11, 5}, {-1, 5}, {-1, 4}}}}, 0},
		{"touching", orb.MultiPolygon{{squareRing(10, 10, 1)}}, 0},
		{"the same", square, 0},
		{"hole of the other", orb.MultiPolygon{{squareRing(-9, -9, 30), squareRing(-1, -2, 15)}}, 1},
		{"nothing", nil, math.Inf(1)},
	} {
		if got := LeastDistance(square, c.b); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if got := LeastDistance(c.b, square); got != c.want {
			t.Errorf("%s, reversed: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestLeastDistanceAgainstAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	for i := range 500 {
		a := orb.MultiPolygon{{starRing(r, 3+r.IntN(60), 0, 0, 1000)}, {starRing(r, 3, 100, 2000, 90)}}
		b := orb.MultiPolygon{{starRing(r, 3+r.IntN(60), r.IntN(1500), 1001, 900)}}
		want := math.Inf(1)
		for _, e := range edgesOf(a) {
			for _, f := range edgesOf(b) {
				want = min(want, edgeDistance(e, f))
			}
		}
		if got := LeastDistance(a, b); got != want {
			t.Fatalf("case %d: %v, want %v", i, got, want)
		}
	}
}

// wavyRing is a circle of n vertices with a wave on it.
func wavyRing(n int, radius float64) orb.Ring {
	ring := make(orb.Ring, 0, n+1)
	for i := range n {
		turn := 2 * math.Pi * float64(i) / float64(n)
		sin, cos := math.Sincos(turn)
		length := radius + 20*math.Sin(40*turn)
		ring = append(ring, orb.Point{length * cos, length * sin})
	}
	return append(ring, ring[0])
}

func BenchmarkLeastDistance(b *testing.B) {
	inner, outer := orb.MultiPolygon{{wavyRing(10_000, 500)}}, orb.MultiPolygon{{wavyRing(10_000, 530)}}
	for b.Loop() {
		LeastDistance(inner, outer)
	}
}

func TestDisplacementAgainstAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	slow := func(a, b orb.MultiPolygon) (most float64) {
		for _, p := range a {
			for _, ring := range p {
				for _, q := range ring {
					most = max(most, BoundaryDistance(b, q))
				}
			}
		}
		return most
	}
	for range 200 {
		a, b := orb.MultiPolygon{{hostileRing(r, 30, 50)}}, orb.MultiPolygon{{hostileRing(r, 30, 50)}}
		if got, want := Displacement(a, b), max(slow(a, b), slow(b, a)); math.Abs(got-want) > 1e-12 {
			t.Fatalf("%v, want %v\n%v\n%v", got, want, a, b)
		}
		if d := Displacement(a, a); d > 1e-12 {
			t.Fatalf("%v from itself: %v", d, a)
		}
	}
	if d := Displacement(orb.MultiPolygon{{hostileRing(r, 3, 5)}}, nil); !math.IsInf(d, 1) {
		t.Errorf("%v from nothing", d)
	}
}
