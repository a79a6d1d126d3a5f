package boundary

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// boundaryPoints returns points along all rings, step metres apart at most.
func boundaryPoints(mp orb.MultiPolygon, step float64) []orb.Point {
	var out []orb.Point
	for _, p := range mp {
		for _, ring := range p {
			for i := 1; i < len(ring); i++ {
				n := int(math.Ceil(plane.GeodesicDistance(ring[i-1], ring[i]) / step))
				for k := range n {
					s := float64(k) / float64(n)
					out = append(out, orb.Point{ring[i-1][0] + s*(ring[i][0]-ring[i-1][0]), ring[i-1][1] + s*(ring[i][1]-ring[i-1][1])})
				}
			}
		}
	}
	return out
}

// The distance is measured by geodesics alone (Karney 2013), between the
// straight lon/lat sides as the files state them: nothing of the plane is used.
func TestExpandKeepsItsDistance(t *testing.T) {
	const shape = "POLYGON((0 0,4 0.3,4 3,2 3,2.2 5,0 4.5,0 0))"
	for _, at := range []orb.Point{{7, 0}, {7, 45}, {-70, -45}, {25, 70}, {179.998, 52}} {
		for _, m := range []Margin{{Buffer: 30}, {Buffer: 5}, {Buffer: 30, Join: plane.Mitre}} {
			t.Run(fmt.Sprint(at, m), func(t *testing.T) {
				site, err := Mend(drawn(t, at, shape), Choices{})
				if err != nil {
					t.Fatal(err)
				}
				flight, err := Expand(site, m)
				if err != nil {
					t.Fatal(err)
				}
				if err := asGeom(flight.Shape()).Validate(); err != nil {
					t.Error(err)
				}
				inner := boundaryPoints(site.Shape(), 2)
				least, most := math.Inf(1), 0.0
				for _, p := range boundaryPoints(flight.Shape(), 20) {
					d := math.Inf(1)
					for _, q := range inner {
						if math.Abs(p[1]-q[1]) < 0.001 { // 110 m
							d = min(d, plane.GeodesicDistance(p, q))
						}
					}
					least, most = min(least, d), max(most, d)
				}
				// The sampled side is at most 1 m from the nearest sample: with
				// 5 m of buffer that is sqrt(25+1)-5 = 0.10 m too long.
				long := math.Hypot(m.Buffer, 1) - m.Buffer
				if least < m.Buffer-0.01 {
					t.Errorf("least distance %.4f m, want %g at least", least, m.Buffer)
				}
				if m.Join == plane.Round && most > m.Buffer+0.01+long {
					t.Errorf("greatest distance %.4f m, want %g at most", most, m.Buffer+0.01+long)
				}
				if math.Abs(flight.MinDistance-least) > long+0.01 {
					t.Errorf("the proof says %.4f m, measured %.4f", flight.MinDistance, least)
				}
			})
		}
	}
}

func TestExpandMergesAndFills(t *testing.T) {
	site, err := Mend(drawn(t, orb.Point{7, 47},
		"POLYGON((0 0,2 0,2 2,0 2,0 0),(0.8 0.8,0.8 1.2,1.2 1.2,1.2 0.8,0.8 0.8))", "POLYGON((2.5 0,4 0,4 2,2.5 2,2.5 0))", "POLYGON((9 0,10 0,10 1,9 0))"), Choices{})
	if err != nil {
		t.Fatal(err)
	}
	flight, err := Expand(site, Margin{Buffer: 30})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := codesAndSeverities(flight.Findings), "hole-filled:note parts-merged:note"; got != want {
		t.Errorf("findings %q, want %q", got, want)
	}
	if len(flight.Areas) != 2 || flight.Areas[0].Name != "Field 1 + Field 2" || flight.Areas[1].Name != "Field 3" {
		t.Errorf("areas %v", flight.Areas)
	}
}

func TestProveRefuses(t *testing.T) {
	square := func(x, w float64) orb.Ring {
		return orb.Bound{Min: orb.Point{7 + x*hundred, 47 + x*hundred}, Max: orb.Point{7 + (x+w)*hundred, 47 + (x+w)*hundred}}.ToRing()
	}
	site := orb.MultiPolygon{{square(0, 10)}}
	for name, flight := range map[string]orb.MultiPolygon{
		"too near":     {{square(-0.1, 10.2)}},
		"elsewhere":    {{square(30, 10)}},
		"inside":       {{square(2, 6)}},
		"hole in it":   {{square(-2, 14), square(4, 2)}},
		"crossing":     {{square(5, 10)}},
		"not valid":    {{orb.Ring{{6, 46}, {8, 48}, {8, 46}, {6, 48}, {6, 46}}}},
		"nothing left": {},
	} {
		if d, err := Prove(site, flight, 30); err == nil {
			t.Errorf("%s: accepted with %g m", name, d)
		}
	}
	if d, err := Prove(site, orb.MultiPolygon{{square(-1, 12)}}, 30); err != nil || math.Abs(d-75.9) > 1 {
		// 0.001 degrees of longitude at 47 north are 75.9 m: cos 47° × 111.3 m
		t.Errorf("a sound margin: %v m, %v", d, err)
	}
	for _, buffer := range []float64{0, math.NaN(), math.Inf(1), -2e4} {
		if _, err := Expand(Site{Areas: []Area{{Shape: site}}}, Margin{Buffer: buffer}); err == nil {
			t.Errorf("buffer %g accepted", buffer)
		}
	}
}
