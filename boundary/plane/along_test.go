package plane

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

func TestInside(t *testing.T) {
	area := shape(t, "POLYGON((0 0,10 0,10 10,0 10,0 0),(4 4,4 6,6 6,6 4,4 4))")
	for _, c := range []struct {
		name string
		line orb.LineString
		want []Interval
	}{
		{"across", orb.LineString{{-5, 2}, {15, 2}}, []Interval{{5, 15}}},
		{"across the hole", orb.LineString{{-5, 5}, {15, 5}}, []Interval{{5, 9}, {11, 15}}},
		{"along the rim", orb.LineString{{-5, 0}, {15, 0}}, []Interval{{5, 15}}},
		{"bent inside", orb.LineString{{1, 1}, {3, 1}, {3, 3}}, []Interval{{0, 4}}},
		{"out and in", orb.LineString{{8, 5}, {12, 5}, {12, 8}, {8, 8}}, []Interval{{0, 2}, {9, 11}}},
		{"away", orb.LineString{{20, 0}, {20, 10}}, nil},
	} {
		got := Inside(c.line, area)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
			continue
		}
		for i := range got {
			if math.Abs(got[i].From-c.want[i].From) > 1e-12 || math.Abs(got[i].To-c.want[i].To) > 1e-12 {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
			}
		}
		length := planar.Length(c.line)
		sum := 0.0
		for _, in := range append(Outside(got, length), got...) {
			sum += planar.Length(Piece(c.line, in))
		}
		if math.Abs(sum-length) > 1e-9 {
			t.Errorf("%s: the pieces have %v of %v m", c.name, sum, length)
		}
	}
}

// Against points taken at random along the line.
func TestInsideRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	for range 200 {
		p := hostilePolygon(r)
		area := Repair(MetreGrid(p.Bound()), p)
		line := orb.LineString{{r.Float64()*20 - 5, r.Float64()*20 - 5}, {r.Float64()*20 - 5, r.Float64()*20 - 5}, {r.Float64() * 10, r.Float64() * 10}}
		inside := Inside(line, area)
		length := planar.Length(line)
		for range 50 {
			at := r.Float64() * length
			q := Piece(line, Interval{at, at})[0]
			if BoundaryDistance(area, q) < 1e-6 {
				continue
			}
			want := Contains(area, q)
			got := false
			for _, in := range inside {
				got = got || in.From <= at && at <= in.To
			}
			if got != want {
				t.Fatalf("at %v of %v: inside is %v, want %v\n%v", at, line, got, want, area)
			}
		}
	}
}

func TestOffsetLines(t *testing.T) {
	line := orb.LineString{{0, 0}, {100, 0}}
	got := OffsetLines([]orb.LineString{line}, 10, Style{ArcTolerance: 1e-4})
	// A stadium: 100 × 20 and a circle of radius 10.
	if a, want := planar.Area(got), 2000+math.Pi*100; math.Abs(a-want) > 0.02 || len(got) != 1 {
		t.Errorf("area %v, want %v", a, want)
	}
	if got := OffsetLines(nil, 10, Style{}); len(got) != 0 {
		t.Errorf("nothing grows to %v", got)
	}
}
