package plane

import (
	"fmt"
	"testing"

	"github.com/paulmach/orb"
)

// sieve is a square of side metres with n by n square holes.
func sieve(n int, side float64) orb.MultiPolygon {
	step := side / float64(n)
	polygon := orb.Polygon{orb.Bound{Max: orb.Point{side, side}}.ToRing()}
	for i := range n {
		for j := range n {
			x, y := (float64(i)+0.2)*step, (float64(j)+0.2)*step
			hole := orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + 0.6*step, y + 0.6*step}}.ToRing()
			hole.Reverse()
			polygon = append(polygon, hole)
		}
	}
	return orb.MultiPolygon{polygon}
}

func BenchmarkOffsetHoles(b *testing.B) {
	for _, n := range []int{32, 100} {
		area := sieve(n, 3000)
		for _, d := range []float64{1, 50} {
			b.Run(fmt.Sprintf("%d by %g m", n*n, d), func(b *testing.B) {
				for b.Loop() {
					Offset(area, d, Style{})
				}
				against(b, "round", d, area)
			})
		}
	}
}

func BenchmarkOffsetMitre(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000} {
		area := orb.MultiPolygon{coast(n, 0)}
		for _, d := range []float64{1, 50} {
			b.Run(fmt.Sprintf("%d by %g m", n, d), func(b *testing.B) {
				for b.Loop() {
					Offset(area, d, Style{Join: Mitre})
				}
				against(b, "mitre", d, area)
			})
		}
	}
}

func BenchmarkOffsetMillion(b *testing.B) {
	area := orb.MultiPolygon{coast(1_000_000, 0)}
	for _, d := range []float64{1, 50} {
		b.Run(fmt.Sprintf("by %g m", d), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Offset(area, d, Style{})
			}
		})
	}
}
