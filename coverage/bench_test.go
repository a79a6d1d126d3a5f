package coverage

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

func BenchmarkRun(b *testing.B) {
	random := rand.New(rand.NewPCG(27, 28))
	for _, n := range []int{16, 32, 64, 100} {
		b.Run(fmt.Sprintf("photos=%d", n*n), func(b *testing.B) {
			width := float64(n) * 20
			// 80 % forward and side overlap, flown by hand as it were.
			photos := serpentine(0, 0, 20, 15, n, n)
			for i := range photos {
				at := ground.Metres(photos[i].Position)
				photos[i].Position = ground.Degrees(orb.Point{at[0] + random.NormFloat64(), at[1] + random.NormFloat64()})
				photos[i].Yaw = random.NormFloat64() * 3
				photos[i].Pitch = -90 + random.Float64()*3
			}
			job := jobOf(rectangle(40, 40, width-40, width*0.75-40), photos, 5)
			for b.Loop() {
				if _, err := Run(job); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
