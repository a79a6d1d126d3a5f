package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/boundary/plane"
)

// bentRing is a simple ring around a place, bent in and out.
func bentRing(random *rand.Rand, at orb.Point, corners int) orb.Ring {
	var ring orb.Ring
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*random.Float64()) / float64(corners))
		r := 20 + 60*random.Float64()
		ring = append(ring, orb.Point{at[0] + r*cos, at[1] + r*sin})
	}
	return append(ring, ring[0])
}

func polygonOf(t *testing.T, ring orb.Ring) geom.Polygon {
	t.Helper()
	var flat []float64
	for _, p := range ring {
		flat = append(flat, p[0], p[1])
	}
	return geom.NewPolygonXY(flat)
}

// The pieces of segments and common areas against another library.
func TestBentRings(t *testing.T) {
	random := rand.New(rand.NewPCG(51, 52))
	place := func() orb.Point { return orb.Point{5000 + 80*random.Float64(), -7000 + 80*random.Float64()} }
	pieces := 0
	for range 400 {
		a, b := bentRing(random, place(), 5+random.IntN(12)), bentRing(random, place(), 5+random.IntN(12))
		if isConvex(a) {
			continue
		}
		p, q := place(), place()
		p[0], q[0] = p[0]-100, q[0]+100
		got := appendInside(nil, p, q, a, onRim)
		length := 0.0
		for i, s := range got {
			length += (s.to - s.from) * distance(p, q)
			if s.from >= s.to || i > 0 && s.from <= got[i-1].to {
				t.Fatalf("pieces %v", got)
			}
		}
		pieces = max(pieces, len(got))
		segment := geom.NewLineStringXY(p[0], p[1], q[0], q[1])
		common, err := geom.Intersection(segment.AsGeometry(), polygonOf(t, a).AsGeometry())
		if err != nil {
			t.Fatal(err)
		}
		near(t, "length inside", length, common.Length(), 1e-4)

		shared, err := geom.Intersection(polygonOf(t, a).AsGeometry(), polygonOf(t, b).AsGeometry())
		if err != nil {
			t.Fatal(err)
		}
		near(t, "share", sharedWith(a, b), shared.Area()/planar.Area(a), 1e-5)
		for range 20 {
			v := place()
			if polygon := (orb.MultiPolygon{{a}}); holds(a, v, 0) != plane.Contains(polygon, v) {
				t.Fatalf("%v in %v", v, a)
			}
		}
	}
	if pieces < 3 {
		t.Errorf("no segment with three pieces tried")
	}
}

// A convex ring that a needless corner makes look bent gives the same edge.
func TestBentRingsAlongTheEdge(t *testing.T) {
	box := orb.Ring{{0, 0}, {40, 0}, {40, 30}, {0, 30}, {0, 0}}
	notched := orb.Ring{{0, 0}, {40, 0}, {40, 30}, {20, 30 - 1e-5}, {0, 30}, {0, 0}}
	if !isConvex(box) || isConvex(notched) {
		t.Fatal("which ring is convex?")
	}
	for _, c := range []struct {
		p, q orb.Point
		want []span
	}{
		{orb.Point{-10, 0}, orb.Point{90, 0}, []span{{0.1, 0.5}}},    // along a side
		{orb.Point{40, -30}, orb.Point{40, 70}, []span{{0.3, 0.6}}},  // along another
		{orb.Point{-40, 15}, orb.Point{60, 15}, []span{{0.4, 0.8}}},  // across
		{orb.Point{-10, 31}, orb.Point{90, 31}, nil},                 // past
		{orb.Point{10, 10}, orb.Point{10, 10}, nil},                  // nowhere
		{orb.Point{50, -10}, orb.Point{30, 10}, []span{{0.5, 1}}},    // through a corner
		{orb.Point{10, 10}, orb.Point{20, 10}, []span{{0, 1}}},       // all inside
		{orb.Point{-10, -10}, orb.Point{10, 10}, []span{{0.5, 1.0}}}, // in through a corner
	} {
		got := appendInside(nil, c.p, c.q, notched, onRim)
		if len(got) != len(c.want) {
			t.Errorf("%v to %v: %v, want %v", c.p, c.q, got, c.want)
			continue
		}
		for i := range got {
			near(t, "from", got[i].from, c.want[i].from, 1e-6)
			near(t, "to", got[i].to, c.want[i].to, 1e-6)
		}
	}
}

// Where a ring goes around ground twice, or the wrong way, nobody knows what
// is seen: the largest piece that it goes around once is kept.
func TestOnceAround(t *testing.T) {
	eight := orb.Ring{{0, 0}, {30, 0}, {30, 20}, {-10, 20}, {-10, 10}, {20, 10}, {20, 40}, {0, 40}, {0, 0}}
	ring := onceAround(eight)
	if ring == nil || plane.Valid(orb.MultiPolygon{{ring}}) != nil {
		t.Fatalf("%v", ring)
	}
	if c, _ := planar.CentroidArea(ring); !holds(eight, c, 0) {
		t.Errorf("%v keeps %v", ring, c)
	}
	if onceAround(orb.Ring{{0, 0}, {0, 10}, {10, 10}, {0, 0}}) != nil {
		t.Error("a clockwise ring is kept")
	}
}
