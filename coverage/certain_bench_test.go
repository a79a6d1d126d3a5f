package coverage

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// BenchmarkGround is everything that is measured by place, of 5,000 photos
// with 80 and 70 per cent overlap, flown by hand as it were; a tenth is missing.
func BenchmarkGround(b *testing.B) {
	random := rand.New(rand.NewPCG(75, 76))
	const lines, shots = 50, 111
	photos := serpentine(0, 0, 30, 15, lines, shots)
	kept := photos[:0]
	for _, p := range photos {
		at := ground.Metres(p.Position)
		p.Position = ground.Degrees(orb.Point{at[0] + random.NormFloat64(), at[1] + random.NormFloat64()})
		p.Yaw, p.Pitch, p.Height = random.NormFloat64()*3, -90+random.Float64()*3, 50+random.NormFloat64()
		p.PositionError = 1 + random.Float64()
		if random.IntN(10) > 0 {
			kept = append(kept, p)
		}
	}
	job := jobOf(rectangle(40, 40, lines*30-70, shots*15-55), kept, 5)
	job.Errors = Errors{Position: math.NaN(), Attitude: math.NaN()}
	job.Wanted.GSD, job.MinZone = 0.025, 1
	frame := plane.NewFrame(job.Site.Bound().Center())
	site := frame.ToMetres(job.Site, edgeDeviation)
	s, err := selectPhotos(job, frame, nil)
	if err != nil {
		b.Fatal(err)
	}
	completeAngles(s.candidates, s.trace.Headings)
	found, _ := s.lines()
	(*relief)(nil).layAll(s.candidates)
	a := &Audit{Wanted: job.Wanted}
	sees := a.measureEdge(site, s.candidates, frame)
	all := slices.Clone(s.candidates)
	used := a.takeShots(s, found, make([]LineSpeed, len(found)), sees)
	footprints := make([]orb.Ring, len(used))
	for i := range used {
		footprints[i] = used[i].footprint
	}
	a.Views = viewBands(site, footprints, 5)
	a.Totals, a.SiteArea = totalsOf(a.Views, 5)
	a.Zones = zonesOf(a.Views, 5, 1)
	b.Run("doubts", func(b *testing.B) {
		for b.Loop() {
			doubtsOf(job.Errors, all, site.Bound(), nil)
		}
	})
	doubts := doubtsOf(job.Errors, all, site.Bound(), nil)
	b.Run("certainty", func(b *testing.B) {
		for b.Loop() {
			a.measureCertainty(site, doubts, sees)
		}
	})
	at := make([]orb.Point, len(used))
	for i := range used {
		at[i] = used[i].at
	}
	enough := a.Views[len(a.Views)-1].Shape
	b.Run("lines", func(b *testing.B) {
		for b.Loop() {
			groundOf(oneLine(site, enough, footprints, passes(a.Lines, at, footprints)), 1)
		}
	})
	b.Run("gsd", func(b *testing.B) {
		for b.Loop() {
			gsdByPlace(site, nil, used, frame, 0.025)
		}
	})
	b.Run("coarse", func(b *testing.B) {
		for b.Loop() {
			groundOf(coarseGround(site, a.Views[0].Shape, nil, used, 0.025), 1)
		}
	})
	b.Run("raster", func(b *testing.B) {
		for b.Loop() {
			rasterOf(site, footprints, mostCells, frame)
		}
	})
	b.Run("raster in degrees", func(b *testing.B) {
		inDegrees, shots := frame.ToDegrees(site), make([]Shot, len(footprints))
		for i, f := range footprints {
			shots[i].Footprint = frame.ToDegrees(orb.MultiPolygon{{f}})[0][0]
		}
		for b.Loop() {
			degreeRasterOf(inDegrees, shots, mostCells, frame)
		}
	})
	b.Run("all", func(b *testing.B) {
		for b.Loop() {
			a.measureGround(job, site, doubtsOf(job.Errors, all, site.Bound(), nil), sees, nil, used, frame)
		}
	})
}
