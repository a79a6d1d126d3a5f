package terrain

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// rays are those to the rim of photos taken 120 m above rolling ground, up to
// 60 degrees off the vertical.
func rays(s *Surface, n int) (from, direction [][3]float64) {
	rng := rand.New(rand.NewPCG(1, 1))
	extent := s.Extent().Pad(-250)
	for range n {
		p := orb.Point{extent.Min[0] + rng.Float64()*(extent.Max[0]-extent.Min[0]), extent.Min[1] + rng.Float64()*(extent.Max[1]-extent.Min[1])}
		h, _ := s.Height(p)
		tilt, turn := math.Pi/3*math.Sqrt(rng.Float64()), 2*math.Pi*rng.Float64()
		from = append(from, [3]float64{p[0], p[1], h + 120})
		direction = append(direction, [3]float64{math.Sin(tilt) * math.Cos(turn), math.Sin(tilt) * math.Sin(turn), -math.Cos(tilt)})
	}
	return from, direction
}

func BenchmarkHit(b *testing.B) {
	rng := rand.New(rand.NewPCG(2, 2))
	for name, height := range map[string]func(x, y float64) float64{
		"rolling": func(x, y float64) float64 { return 40*math.Sin(x/90) + 25*math.Sin(y/60+x/300) },
		"steep":   func(x, y float64) float64 { return 120*math.Sin(x/90) + 80*math.Sin(y/60+x/300) },
		"trees":   func(x, y float64) float64 { return 40*math.Sin(x/90) + 15*rng.Float64() },
	} {
		for _, spacing := range []float64{10, 1} {
			s := surfaceOf(int(2000/spacing), spacing, height)
			from, direction := rays(s, 4096)
			b.Run(fmt.Sprintf("%s/%gm", name, spacing), func(b *testing.B) {
				k := 0
				for b.Loop() {
					s.Hit(from[k%4096], direction[k%4096])
					k++
				}
			})
		}
	}
}

func BenchmarkHeight(b *testing.B) {
	s := surfaceOf(2000, 1, func(x, y float64) float64 { return x / 3 })
	k := 0.0
	for b.Loop() {
		s.Height(orb.Point{math.Mod(k, 900), math.Mod(k*7, 900)})
		k += 1.3
	}
}

func BenchmarkOpenWindow(b *testing.B) {
	hgt := tile(3601)
	tiled := plain()
	tiled.compression, tiled.predictor, tiled.tile, tiled.scale = deflate, predictorFloat, 256, []float64{0.00001, 0.00001, 0}
	strips := tiled
	strips.compression, strips.predictor, strips.tile, strips.strip = lzw, predictorNone, 0, 16
	big := hills(2560, 2560)
	for _, file := range []struct {
		name string
		data []byte
		side float64
	}{{"N49E010.hgt", hgt, 0.05}, {"tiled-deflate.tif", encodeTIFF(big, tiled), 0.005}, {"strips-lzw.tif", encodeTIFF(big, strips), 0.005}} {
		b.Run(file.name, func(b *testing.B) {
			for b.Loop() {
				f, err := Open(file.name, bytes.NewReader(file.data), int64(len(file.data)), Options{})
				if err != nil {
					b.Fatal(err)
				}
				c := f.Bound.Center()
				if _, err := f.Window(orb.Bound{Min: c, Max: orb.Point{c[0] + file.side, c[1] + file.side}}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkNewSurface(b *testing.B) {
	g, err := mustOpen(b, "N49E010.hgt", tile(3601), Options{}).Window(orb.Bound{Min: orb.Point{10.4, 49.4}, Max: orb.Point{10.6, 49.6}})
	if err != nil {
		b.Fatal(err)
	}
	frame := plane.NewFrame(orb.Point{10.5, 49.5})
	for _, spacing := range []float64{8, 2} {
		b.Run(fmt.Sprintf("4km/%gm", spacing), func(b *testing.B) {
			for b.Loop() {
				if _, err := NewSurface(frame, NewMosaic(g), orb.Bound{Min: orb.Point{-2000, -2000}, Max: orb.Point{2000, 2000}}, spacing); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
