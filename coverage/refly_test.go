package coverage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

// flyAgain flies an area by hand, in plane metres: lines on a course one
// spacing apart, wherever the first may lie, photos one air base apart from
// where a line enters the area, none beyond where it leaves it. It shares
// nothing with the planning. Without random the lines lie as the plan says, the
// outer ones equally far within, and every other one is flown back.
func flyAgain(random *rand.Rand, area orb.Polygon, course, spacing, base float64, take func(x, y, yaw float64)) {
	sin, cos := math.Sincos(course * math.Pi / 180)
	type side struct{ u0, v0, u1, v1 float64 } // along, across
	var sides []side
	least, most := math.Inf(1), math.Inf(-1)
	for _, ring := range area {
		for i := 1; i < len(ring); i++ {
			p, q := ring[i-1], ring[i]
			s := side{p[0]*sin + p[1]*cos, p[0]*cos - p[1]*sin, q[0]*sin + q[1]*cos, q[0]*cos - q[1]*sin}
			sides = append(sides, s)
			least, most = min(least, s.v0), max(most, s.v0)
		}
	}
	first := least + (most-least-spacing*(math.Ceil((most-least)/spacing-1e-6)-1))/2
	if random != nil {
		first = least + spacing*random.Float64()
	}
	back := false
	for v := first; v < most; v += spacing {
		var met []float64
		for _, s := range sides {
			if (s.v0 < v) != (s.v1 < v) {
				met = append(met, s.u0+(s.u1-s.u0)*(v-s.v0)/(s.v1-s.v0))
			}
		}
		slices.Sort(met)
		for i := 1; i < len(met); i += 2 {
			for d := 0.0; d <= met[i]-met[i-1]+1e-6; d += base {
				u := met[i-1] + d
				if back {
					u = met[i] - d
				}
				take(u*sin+v*cos, u*cos-v*sin, course)
			}
		}
		back = random == nil && !back
	}
}

// again adds the photos of all areas to fly again to a job.
func again(random *rand.Rand, job Job, a *Audit) Job {
	p := a.ReflyPlan
	job.Photos = slices.Clone(job.Photos)
	start := time.Date(2024, 5, 2, 10, 0, 0, 0, time.UTC)
	for _, r := range a.Refly {
		var shape orb.Polygon
		for _, ring := range r.Shape {
			out := make(orb.Ring, len(ring))
			for i, q := range ring {
				out[i] = ground.Metres(q)
			}
			shape = append(shape, out)
		}
		flyAgain(random, shape, r.Course, p.LineSpacing, p.AirBase, func(x, y, yaw float64) {
			e := exposure(0, x, y)
			e.File, e.Time = fmt.Sprintf("again%05d", len(job.Photos)), start.Add(time.Duration(len(job.Photos))*3*time.Second)
			e.Yaw, e.Camera, e.Height = yaw, job.Photos[0].Camera, p.Height
			if p.WidthAlong {
				e.Yaw += 90
			}
			job.Photos = append(job.Photos, e)
		})
	}
	return job
}

// without leaves out the photos for which lost says so.
func without(photos []photo.Photo, lost func(n int, x, y float64) bool) []photo.Photo {
	var out []photo.Photo
	for i, p := range photos {
		if at := ground.Metres(p.Position); !lost(i, at[0], at[1]) {
			out = append(out, p)
		}
	}
	return out
}

// flight80 flies a box with 80 % forward and 75 % side overlap: 25 m between
// lines and 15 m between photos, each seen 4 × 5 = 20 times.
func flight80(x0, y0, x1, y1 float64) []photo.Photo {
	return serpentine(x0, y0, 25, 15, int((x1-x0)/25)+1, int((y1-y0)/15)+1)
}

var reflyCases = []struct {
	name  string
	site  orb.MultiPolygon
	from  [4]float64 // the box flown
	views int
	lost  func(n int, x, y float64) bool
	most  int // areas
}{
	{"one photo, every view wanted", rectangle(0, 0, 400, 300), [4]float64{-60, -60, 460, 360}, 20,
		func(n int, x, y float64) bool { return math.Hypot(x-190, y-150) < 10 }, 1},
	{"a line", rectangle(0, 0, 400, 300), [4]float64{-60, -60, 460, 360}, 16,
		func(n int, x, y float64) bool { return math.Abs(x-190) < 10 }, 1},
	{"a corner", rectangle(0, 0, 400, 300), [4]float64{-60, -60, 460, 360}, 6,
		func(n int, x, y float64) bool { return x > 300 && y > 200 }, 1},
	{"the edge strip of a concave site",
		orb.MultiPolygon{{{{0, 0}, {900, 0}, {900, 700}, {600, 700}, {600, 250}, {300, 250}, {300, 700}, {0, 700}, {0, 0}}}},
		[4]float64{10, 10, 890, 690}, 9, func(n int, x, y float64) bool {
			return y > 240 && x > 290 && x < 610
		}, 8},
	{"a corridor", orb.MultiPolygon{{{{0, 0}, {1500, 300}, {1500, 330}, {0, 30}, {0, 0}}}}, [4]float64{-60, -60, 1560, 400}, 8,
		func(n int, x, y float64) bool { return math.Abs(x-700) < 120 }, 1},
	{"a corridor never flown", orb.MultiPolygon{{{{0, 0}, {1500, 300}, {1500, 330}, {0, 30}, {0, 0}}}}, [4]float64{-60, -60, 30, 60}, 8,
		func(n int, x, y float64) bool { return false }, 1},
	{"a hole", orb.MultiPolygon{{{{0, 0}, {800, 0}, {800, 700}, {0, 700}, {0, 0}}, {{200, 200}, {200, 500}, {600, 500}, {600, 200}, {200, 200}}}},
		[4]float64{-60, -60, 860, 760}, 9, func(n int, x, y float64) bool { return x > 190 && x < 610 && y > 190 && y < 510 }, 6},
	{"several parts", orb.MultiPolygon{rectangle(0, 0, 200, 200)[0], rectangle(700, 0, 900, 200)[0], rectangle(700, 600, 900, 800)[0]},
		[4]float64{-10, -10, 910, 810}, 9, func(n int, x, y float64) bool { return y > 550 || x < 80 }, 3},
	{"the rim of a large site", rectangle(0, 0, 1500, 1200), [4]float64{30, 30, 1470, 1170}, 9,
		func(n int, x, y float64) bool { return false }, 4},
}

// A flight with photos missing is audited, each area flown again by hand, and
// audited once more: then the former zones and stretches have enough views.
func TestReflyClosesWhatFellShort(t *testing.T) {
	random := rand.New(rand.NewPCG(41, 42))
	for _, c := range reflyCases {
		t.Run(c.name, func(t *testing.T) {
			job := jobOf(c.site, without(flight80(c.from[0], c.from[1], c.from[2], c.from[3]), c.lost), c.views)
			job.MinZone, job.ReflyBuffer, job.MaxVertices = 1, math.NaN(), 200
			job.Wanted.Forward, job.Wanted.Side = 0.8, 0.75
			a := run(t, job)
			checkRefly(t, job, a)
			if len(a.Refly) == 0 || len(a.Refly) > c.most {
				t.Errorf("%d areas", len(a.Refly))
			}
			if !a.ReflyPlan.Closes {
				t.Errorf("not closed: %+v", a.ReflyPlan)
			}
			checkClosed(t, random, job, a)
			t.Logf("%d zones, %d stretches, %d areas: %d lines, %d photos, %.1f min", len(a.Zones), len(a.Edge.Stretches), len(a.Refly),
				a.ReflyPlan.Lines, a.ReflyPlan.Photos, a.ReflyPlan.Time/60)
		})
	}
}

// checkClosed flies the areas and audits again.
func checkClosed(t *testing.T, random *rand.Rand, job Job, a *Audit) {
	t.Helper()
	after := run(t, again(random, job, a))
	for _, z := range after.Zones {
		for _, old := range a.Zones {
			for _, p := range [][]orb.Point{z.Shape[0], {z.Label}} {
				for _, q := range p {
					at := orb.MultiPolygon{old.Shape}
					if plane.Contains(at, q) && z.Area > 1.5 && plane.Contains(at, z.Label) {
						t.Fatalf("still short: %s of %.1f m² at %v (area %v)", z.Kind, z.Area, ground.Metres(z.Label), a.ReflyPlan)
					}
				}
			}
		}
	}
	for _, s := range after.Edge.Stretches {
		if s.To-s.From >= 2*leastStretch {
			t.Fatalf("still short: edge from %.1f to %.1f m", s.From, s.To)
		}
	}
}

// checkRefly checks what holds for any areas.
func checkRefly(t *testing.T, job Job, a *Audit) {
	t.Helper()
	p := a.ReflyPlan
	inAreas := make([]int, len(a.Zones))
	var lines, photos int
	for i, r := range a.Refly {
		area := orb.MultiPolygon{r.Shape}
		metres := make(orb.MultiPolygon, 1)
		for _, ring := range r.Shape {
			out := make(orb.Ring, len(ring))
			for k, q := range ring {
				out[k] = ground.Metres(q)
			}
			metres[0] = append(metres[0], out)
		}
		if err := plane.Valid(area); err != nil {
			t.Errorf("area %d: %v", i, err)
		}
		near(t, "area", r.Area, planar.Area(metres[0]), 0.01)
		if n := cornersOf(r.Shape); job.MaxVertices > 0 && n > job.MaxVertices {
			t.Errorf("area %d has %d vertices", i, n)
		}
		if len(job.KeepOut) == 0 {
			if _, width := leastWidth(convexHull(metres[0][0])); width < p.LineSpacing-0.01 {
				t.Errorf("area %d is %.1f m wide, less than a line spacing of %.1f m", i, width, p.LineSpacing)
			}
		}
		if len(r.Zones)+len(r.Stretches) == 0 {
			t.Errorf("area %d is for nothing", i)
		}
		for _, z := range r.Zones {
			inAreas[z]++
		}
		if r.Lines == 0 || r.Photos < r.Lines || r.Time < r.Track/p.Speed {
			t.Errorf("area %d: %+v", i, r)
		}
		lines, photos = lines+r.Lines, photos+r.Photos
	}
	if lines != p.Lines || photos != p.Photos {
		t.Errorf("%d lines and %d photos, the plan has %+v", lines, photos, p)
	}
	for z, n := range inAreas {
		if n == 0 && len(job.KeepOut) == 0 {
			t.Errorf("zone %d is in no area", z)
		}
	}
}

// Flights at random with photos lost at random.
func TestReflyClosesAnything(t *testing.T) {
	random := rand.New(rand.NewPCG(43, 44))
	for round := range 25 {
		site := orb.MultiPolygon{star(random)}
		photos := flight80(-20, -20, 320, 320)
		holes := make([]orb.Point, 1+random.IntN(4))
		for i := range holes {
			holes[i] = orb.Point{random.Float64() * 300, random.Float64() * 300}
		}
		photos = without(photos, func(n int, x, y float64) bool {
			for _, h := range holes {
				if math.Hypot(x-h[0], y-h[1]) < 45 {
					return true
				}
			}
			return random.IntN(20) == 0
		})
		for i := range photos {
			at := ground.Metres(photos[i].Position)
			photos[i].Position = ground.Degrees(orb.Point{at[0] + random.NormFloat64(), at[1] + random.NormFloat64()})
			photos[i].Yaw += random.NormFloat64() * 4
		}
		job := jobOf(site, photos, 3+random.IntN(10))
		job.MinZone, job.ReflyBuffer, job.MaxVertices = 1, math.NaN(), 30+random.IntN(100)
		a := run(t, job)
		checkRefly(t, job, a)
		if len(a.Refly) > 0 && !a.ReflyPlan.Closes {
			t.Errorf("round %d: not closed: %+v", round, a.ReflyPlan)
		}
		checkClosed(t, random, job, a)
	}
}
