package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// BenchmarkRefly is a flight of 4096 photos with 30 holes torn into it.
func BenchmarkRefly(b *testing.B) {
	const n = 64
	random := rand.New(rand.NewPCG(45, 46))
	width, height := n*20.0, n*15.0
	var holes []orb.Point
	for range 30 {
		holes = append(holes, orb.Point{random.Float64() * width, random.Float64() * height})
	}
	photos := without(serpentine(0, 0, 20, 15, n, n), func(_ int, x, y float64) bool {
		for _, h := range holes {
			if math.Hypot(x-h[0], y-h[1]) < 40 {
				return true
			}
		}
		return false
	})
	for i := range photos {
		at := ground.Metres(photos[i].Position)
		photos[i].Position = ground.Degrees(orb.Point{at[0] + random.NormFloat64(), at[1] + random.NormFloat64()})
		photos[i].Yaw = random.NormFloat64() * 3
	}
	job := jobOf(rectangle(40, 40, width-40, height-40), photos, 9)
	job.MinZone, job.MaxVertices = 1, 200
	for _, c := range []struct {
		name   string
		buffer float64
	}{{"auto", math.NaN()}, {"given", 20}} {
		b.Run(c.name, func(b *testing.B) {
			job.ReflyBuffer = c.buffer
			var a *Audit
			for b.Loop() {
				var err error
				if a, err = Run(job); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(a.Zones)), "zones")
			b.ReportMetric(float64(len(a.Refly)), "areas")
		})
	}
}
