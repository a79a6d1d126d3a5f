package plane

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"runtime/metrics"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

// coast draws a wavy outline of n vertices about 1.5 m apart, in which crossings pairs
// of vertices have changed places.
func coast(n, crossings int) orb.Polygon {
	r := rand.New(rand.NewPCG(uint64(n), 8))
	ring := make(orb.Ring, 0, n+1)
	radius := float64(n) / 5
	for i := range n {
		at := 2 * math.Pi * float64(i) / float64(n)
		sin, cos := math.Sincos(at)
		wave := radius * (1 + 0.1*math.Sin(7*at) + 0.02*math.Sin(61*at)) * (1 + (r.Float64()-0.5)/float64(n))
		ring = append(ring, orb.Point{wave * cos, wave * sin})
	}
	for k := range crossings {
		i := (2*k + 1) * n / (2*crossings + 1)
		ring[i], ring[i+1] = ring[i+1], ring[i]
	}
	return orb.Polygon{append(ring, ring[0])}
}

// against reports how many times longer GEOS takes for the same in this run: by
// the median of several calls after one to warm up, or of one that takes over a second.
func against(b *testing.B, op string, d float64, area orb.MultiPolygon) {
	b.StopTimer()
	if len(area[0][0]) > 20_000 && testing.Short() {
		return
	}
	g := startGEOS(b)
	seconds := g.answer(b, op, d, area, nil).seconds
	if seconds < 1 {
		warm := make([]float64, 7)
		for i := range warm {
			warm[i] = g.answer(b, op, d, area, nil).seconds
		}
		slices.Sort(warm)
		seconds = warm[len(warm)/2]
	}
	b.ReportMetric(seconds/b.Elapsed().Seconds()*float64(b.N), "×GEOS-"+op)
}

// peak reports the most heap that do has at any time, live or not yet swept,
// over what there was before.
func peak(b *testing.B, do func()) {
	b.StopTimer()
	heap := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	read := func() uint64 {
		metrics.Read(heap)
		return heap[0].Value.Uint64()
	}
	runtime.GC()
	before := read()
	done := make(chan bool)
	go func() { do(); close(done) }()
	most := before
	for running := true; running; {
		select {
		case <-done:
			running = false
		case <-time.After(time.Millisecond):
		}
		most = max(most, read())
	}
	b.ReportMetric(float64(most-before)/1e6, "MB-peak")
}

// One crossing on 50 vertices: 2,000 on 100,000. GEOS's linework method takes
// half a minute on the largest; -short leaves GEOS out from 100,000.
func BenchmarkRepairCoast(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000} {
		p := coast(n, n/50)
		g := MetreGrid(p.Bound())
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Repair(g, p)
			}
			peak(b, func() { Repair(g, p) })
			against(b, "structure", 0, orb.MultiPolygon{p})
			against(b, "linework", 0, orb.MultiPolygon{p})
		})
	}
}

func BenchmarkOffsetCoast(b *testing.B) {
	for _, n := range []int{100, 1_000, 10_000, 100_000} {
		area := orb.MultiPolygon{coast(n, 0)}
		for _, d := range []float64{1, 50} {
			b.Run(fmt.Sprint(n, "by", d), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					Offset(area, d, Style{})
				}
				against(b, "round", d, area)
			})
		}
	}
}
