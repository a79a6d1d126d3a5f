package boundary

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// geodesicDistanceToSide returns the least geodesic distance (Karney 2013) from
// p to the straight lon/lat side from a to b, by golden-section search.
func geodesicDistanceToSide(p, a, b orb.Point) (distance, share float64) {
	at := func(s float64) float64 {
		return plane.GeodesicDistance(p, orb.Point{a[0] + s*(b[0]-a[0]), a[1] + s*(b[1]-a[1])})
	}
	const golden = 0.6180339887498949
	low, high := 0.0, 1.0
	x, y := high-golden*(high-low), low+golden*(high-low)
	fx, fy := at(x), at(y)
	for high-low > 1e-9 {
		if fx < fy {
			high, y, fy = y, x, fx
			x = high - golden*(high-low)
			fx = at(x)
		} else {
			low, x, fx = x, y, fy
			y = low + golden*(high-low)
			fy = at(y)
		}
	}
	share = (low + high) / 2
	return at(share), share
}

// On straights the expanded outline must lie at the buffer to 1 cm, for areas
// up to 20 km across; at corners between the buffer and the arcs' tolerance
// more. Measured by geodesics alone between the sides as the files state them.
func TestAccuracyTo20Kilometres(t *testing.T) {
	for _, at := range []orb.Point{{7, 0}, {7, 45}, {-70, -45}, {25, 70}, {179.9, 52}} {
		for _, join := range []plane.Join{plane.Round, plane.Mitre} {
			t.Run(fmt.Sprint(at, join), func(t *testing.T) {
				l := localAt(at)
				var ring orb.Ring
				for _, xy := range []orb.Point{{0, 0}, {14000, 1000}, {14000, 12000}, {7000, 9000}, {-3000, 13000}} {
					ring = append(ring, l.degrees(xy))
				}
				site, err := Mend(&File{Parts: []Part{{Name: "Large", Polygon: orb.Polygon{append(ring, ring[0])}}}}, Choices{})
				if err != nil {
					t.Fatal(err)
				}
				const buffer = 30
				flight, err := Expand(site, Margin{Buffer: buffer, Join: join})
				if err != nil {
					t.Fatal(err)
				}
				outline, sides := flight.Shape()[0][0], site.Shape()[0][0]
				points := boundaryPoints(flight.Shape(), 60) // some 1,000 on 60 km
				straight, least, most := 0, math.Inf(1), 0.0
				for _, p := range points {
					nearest, onSide := math.Inf(1), false
					for i := 1; i < len(sides); i++ {
						if d, share := geodesicDistanceToSide(p, sides[i-1], sides[i]); d < nearest {
							nearest, onSide = d, share > 1e-6 && share < 1-1e-6
						}
					}
					least = min(least, nearest)
					if onSide {
						straight++
						most = max(most, nearest)
					}
				}
				if straight < 900 {
					t.Fatalf("%d points on straights of %d; the outline has %d vertices", straight, len(points), len(outline))
				}
				if least < buffer-0.01 || most > buffer+0.01 {
					t.Errorf("distances from %.4f to %.4f m, want %d ± 0.01", least, most, buffer)
				}
				t.Logf("%d points: %.4f to %.4f m", straight, least, most)
			})
		}
	}
}
