package coverage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/terrain"
)

// degree is the length of a degree of longitude on the equator, metres.
const degree = math.Pi / 180 * 6_378_137

// mosaicOf is an Esri ASCII grid with points every so many metres over an
// extent of the test ground, where a degree is nearly as long both ways.
func mosaicOf(t testing.TB, b orb.Bound, step float64, height func(x, y float64) float64) *terrain.Mosaic {
	t.Helper()
	columns, rows := int(width(b)/step)+1, int(depth(b)/step)+1
	origin := ground.Degrees(b.Min)
	up := (ground.Degrees(orb.Point{0, 1000})[1] - ground.Degrees(orb.Point{0, 0})[1]) / 1000 // degrees a metre
	cell := step / degree
	var text strings.Builder
	fmt.Fprintf(&text, "ncols %d\nnrows %d\nxllcenter %.12f\nyllcenter %.12f\ncellsize %.15f\nnodata_value -9999\n", columns, rows, origin[0], origin[1], cell)
	for j := range rows {
		for i := range columns {
			y := b.Min[1] + float64(rows-1-j)*cell/up
			fmt.Fprintf(&text, "%.5f ", height(b.Min[0]+float64(i)*step, y))
		}
		text.WriteByte('\n')
	}
	f, err := terrain.Open("hill.asc", strings.NewReader(text.String()), int64(text.Len()), terrain.Options{})
	if err != nil {
		t.Fatal(err)
	}
	g, err := f.Window(f.Bound)
	if err != nil {
		t.Fatal(err)
	}
	return terrain.NewMosaic(g)
}

func square(half float64) orb.Bound {
	return orb.Bound{Min: orb.Point{-half, -half}, Max: orb.Point{half, half}}
}

func reliefOf(t testing.TB, half, step float64, height func(x, y float64) float64) *relief {
	t.Helper()
	m := mosaicOf(t, square(half+2*step), step, height)
	s, err := terrain.NewSurface(ground, m, square(half), 0)
	if err != nil {
		t.Fatal(err)
	}
	return &relief{s, m}
}

func overGround(r *relief, p pose, altitude float64) *candidate {
	c := newCandidate(&photo.Photo{Yaw: p.yaw, Pitch: p.pitch, Roll: p.roll}, lens)
	c.at, c.ground = p.at, r.under(p.at)
	c.height = altitude - c.ground
	return c
}

func randomPose(random *rand.Rand, near float64) pose {
	return pose{
		at:  orb.Point{near * (2*random.Float64() - 1), near * (2*random.Float64() - 1)},
		yaw: 360 * random.Float64(), pitch: -90 + random.ExpFloat64()*15, roll: random.NormFloat64() * 10,
	}
}

// Over level terrain every footprint is that of the level plane, whether the
// rule for small relief draws it or the rim is followed.
func TestLevelTerrain(t *testing.T) {
	random := rand.New(rand.NewPCG(41, 42))
	r := reliefOf(t, 400, 10, func(x, y float64) float64 { return 100 })
	cuts := 0
	for range 300 {
		c := overGround(r, randomPose(random, 100), 150)
		want, cut := footprint(c.Camera, c.pose())
		r.lay(c)
		if c.unmapped || c.cut != cut || want != nil && !c.level {
			t.Fatalf("%+v", c)
		}
		cuts += one(cut)
		if want == nil {
			continue
		}
		near(t, "ground sample distance", c.gsd(), centreGSD(c.Camera, c.pose()), 1e-9)
		flat := c.pose()
		flat.at, flat.height = orb.Point{}, 1
		rim, _ := footprint(c.Camera, flat)
		followed, ok := (&tracer{relief: r, camera: [3]float64{c.at[0], c.at[1], 150}, deviation: 0.05}).trace(rim)
		if !ok {
			t.Fatal("the rim leaves the terrain")
		}
		for _, got := range []orb.Ring{c.footprint, followed} {
			if len(got) != len(want) {
				t.Fatalf("%d places, want %d", len(got), len(want))
			}
			for i := range got {
				near(t, "corner", distance(got[i], want[i]), 0, 1e-6)
			}
		}
	}
	if cuts < 20 {
		t.Errorf("only %d cut footprints tried", cuts)
	}
}

// By derivation: over ground g + a·x + b·y, seen from z above place (x, y), a
// ray that runs u east and v north while it falls 1 meets the ground after
// falling (z − g − a·x − b·y) / (1 + a·u + b·v).
func TestTiltedPlane(t *testing.T) {
	for _, c := range []struct{ a, b, yaw, x, y float64 }{
		{0.3, 0, 0, 0, 0}, {0, -0.25, 0, 10, 20}, {0.2, 0.1, 30, -40, 5}, {-0.4, 0.3, 200, 3, -7},
	} {
		r := reliefOf(t, 300, 10, func(x, y float64) float64 { return 500 + c.a*x + c.b*y })
		photo := overGround(r, pose{at: orb.Point{c.x, c.y}, yaw: c.yaw, pitch: -90}, 560)
		r.lay(photo)
		if photo.unmapped || photo.level || len(photo.footprint) != 5 {
			t.Fatalf("%+v", photo.laid)
		}
		fall := 60 - c.a*c.x - c.b*c.y
		near(t, "height above ground", photo.height, fall, 1e-3)
		near(t, "ground sample distance", photo.gsd(), 5e-6/0.01*fall, 1e-6)
		sin, cos := math.Sincos(c.yaw * math.Pi / 180)
		for i, corner := range [4][2]float64{{-1, -0.75}, {1, -0.75}, {1, 0.75}, {-1, 0.75}} {
			u, v := corner[0]*cos+corner[1]*sin, corner[1]*cos-corner[0]*sin
			down := fall / (1 + c.a*u + c.b*v)
			near(t, "corner", distance(photo.footprint[i], orb.Point{c.x + u*down, c.y + v*down}), 0, 2e-3)
		}
	}
	// A camera tilted 20° to the north, up a slope of 0.3: the middle of the image
	// is where h = 60·(1 − s·tan τ/(1 + s·tan τ)), 1/cos τ as far away.
	r := reliefOf(t, 300, 10, func(x, y float64) float64 { return 500 + 0.3*y })
	tilted := overGround(r, pose{pitch: -70}, 560)
	r.lay(tilted)
	down := 60 / (1 + 0.3*math.Tan(math.Pi/9))
	near(t, "distance to the middle", tilted.slant, down/math.Cos(math.Pi/9), 1e-3)
}

// Over ground that rises by 1.6 % of the height from side to side, the level
// footprint at the height midway stands for the true one: each side of it is off
// by 0.8 % of its distance at most, and an overlap of 75 % by 0.2 points.
func TestSmallRelief(t *testing.T) {
	r := reliefOf(t, 300, 10, func(x, y float64) float64 { return 500 + 0.008*x })
	c := overGround(r, pose{at: orb.Point{30, 10}, pitch: -90}, 600)
	r.lay(c)
	want, _ := footprint(c.Camera, c.pose())
	if !c.level || c.unmapped || len(c.footprint) != len(want) {
		t.Fatalf("%+v", c.laid)
	}
	for i := range want {
		near(t, "corner", distance(c.footprint[i], want[i]), 0, 0.05)
	}
	down := c.height / (1 + 0.008)
	near(t, "east side", c.footprint.Bound().Max[0], 30+down, 0.008*down+0.05)
	near(t, "overlap", ForwardOverlap(0.25*2*c.height, 2*down), 0.75, 0.0021)

	steeper := reliefOf(t, 300, 10, func(x, y float64) float64 { return 500 + 0.011*x })
	c = overGround(steeper, pose{at: orb.Point{30, 10}, pitch: -90}, 600)
	if steeper.lay(c); c.level {
		t.Error("a rise of 2.2 % is taken as level")
	}
}

// grounds are shapes of terrain, smooth and not.
var grounds = []struct {
	name   string
	height func(x, y float64) float64
}{
	{"rolling", func(x, y float64) float64 { return 20*math.Sin(x/40) + 12*math.Cos(y/30+x/100) }},
	{"terrace", func(x, y float64) float64 {
		if x > 20 {
			return 25
		}
		return 0
	}},
	{"ridge", func(x, y float64) float64 { return max(0, 24-0.8*math.Abs(x+y/3-30)) }},
}

// Footprints against the way back: places of the ground, asked one by one
// whether the image shows them. Places that are hidden, found by looking along
// the line to the camera, are left out.
func TestReliefAgainstProjection(t *testing.T) {
	random := rand.New(rand.NewPCG(43, 44))
	for _, g := range grounds {
		t.Run(g.name, func(t *testing.T) {
			r := reliefOf(t, 500, 10, g.height)
			tried, bent, skipped := 0, 0, 0
			for range 60 {
				c := overGround(r, randomPose(random, 60), 90)
				z := c.ground + c.height
				r.lay(c)
				if c.footprint == nil {
					continue
				}
				if c.unmapped {
					t.Fatalf("unmapped at %v", c.at)
				}
				polygon := orb.MultiPolygon{{c.footprint}}
				if c.footprint.Orientation() != orb.CCW || plane.Valid(polygon) != nil {
					t.Fatalf("%v: %v", c.pose(), plane.Valid(polygon))
				}
				bent += one(!isConvex(c.footprint))
				shot := exposure(0, c.at[0], c.at[1])
				shot.Yaw, shot.Pitch, shot.Roll = c.Yaw, c.Pitch, c.Roll
				for range 300 {
					angle, out := random.Float64()*2*math.Pi, random.Float64()*200
					p := orb.Point{c.at[0] + out*math.Cos(angle), c.at[1] + out*math.Sin(angle)}
					h, ok := r.Height(p)
					drop := z - h
					// The rim is followed to 18 cm; the sides of the cut run inside the circle.
					if !ok || plane.BoundaryDistance(polygon, p) < 0.25 || c.cut && out > drop*math.Tan(math.Pi/3)*math.Cos(math.Pi/rimSides)-0.5 {
						continue
					}
					if concealed(r, [3]float64{c.at[0], c.at[1], z}, [3]float64{p[0], p[1], h}) {
						skipped++
						continue
					}
					tried++
					if got, want := plane.Contains(polygon, p), sawPoint(shot, ground, drop, p); got != want {
						t.Fatalf("from %v at %v, place %v %v m below: in the footprint %v, in the image %v", c.pose(), z, p, drop, got, want)
					}
				}
			}
			if tried < 3000 || bent < 10 {
				t.Errorf("only %d places and %d bent footprints tried, %d hidden", tried, bent, skipped)
			}
		})
	}
}

// concealed looks along the line from the camera to a place of the ground.
func concealed(r *relief, from, to [3]float64) bool {
	for i := 1; i < 400; i++ {
		share := float64(i) / 400
		h, _ := r.Height(orb.Point{mix(from[0], to[0], share), mix(from[1], to[1], share)})
		if mix(from[2], to[2], share) < h-1e-3 {
			return true
		}
	}
	return false
}

// By derivation: straight down from 75 m over the lower of two terraces, 20 m
// west of a step of 25 m, the image reaches 75 m to the west and, over the
// upper terrace that is 50 m below the camera, 50 m to the east.
func TestStep(t *testing.T) {
	r := reliefOf(t, 300, 2, func(x, y float64) float64 {
		if x >= 21 {
			return 25
		}
		return 0
	})
	c := overGround(r, pose{pitch: -90}, 75)
	r.lay(c)
	b := c.footprint.Bound()
	near(t, "west", b.Min[0], -75, 1e-3)
	near(t, "east", b.Max[0], 50, 1e-3)
	near(t, "south", b.Min[1], -0.75*75, 1e-3)
	// Below, 95 m by 112.5 m; above, 29 m by 75 m; between, the ramp of 2 m at most.
	area := planar.Area(c.footprint)
	if low := 95*112.5 + 29*75.0; area < low-1 || area > low+2*112.5+1 {
		t.Errorf("area %v, want %v or a little more", area, low)
	}
	near(t, "hidden", c.hidden, 0, 1e-9)
}

// By derivation: from 60 m up, the image ends 45° off, and so at the top of a
// wall of 40 m whose near side is 20 m to the east.
func TestHiddenGround(t *testing.T) {
	r := reliefOf(t, 300, 1, func(x, y float64) float64 {
		if x >= 20 && x <= 22 {
			return 40
		}
		return 0
	})
	c := overGround(r, pose{pitch: -90}, 60)
	r.lay(c)
	near(t, "east", c.footprint.Bound().Max[0], 20, 0.1)
	near(t, "hidden where nothing is seen beyond", c.hidden, 0, 0.02)

	// Lower, 20 m: hidden out to 22·60/40 = 33 m. Seen straight down the shadow
	// widens with the distance: (33² − 22²)/2 · 2·0.75 m² of the footprint.
	r = reliefOf(t, 300, 1, func(x, y float64) float64 {
		if x >= 20 && x <= 22 {
			return 20
		}
		return 0
	})
	c = overGround(r, pose{pitch: -90}, 60)
	r.lay(c)
	near(t, "east", c.footprint.Bound().Max[0], 60, 1e-3)
	dark, all := 0.0, 0.0
	for x := -60.0; x < 60; x += 0.5 {
		for y := -45.0; y < 45; y += 0.5 {
			if p := (orb.Point{x, y}); plane.Contains(orb.MultiPolygon{{c.footprint}}, p) {
				h, _ := r.Height(p)
				all++
				dark += float64(one(concealed(r, [3]float64{0, 0, 60}, [3]float64{x, y, h})))
			}
		}
	}
	near(t, "hidden, against looking at each place", c.hidden, dark/all, 0.15*dark/all)
}

// Published algebra: GSD and footprint are linear in the true height, so over
// ground 20 m higher under a flight at 100 m both are 0.8 times as large and an
// overlap of 75 % falls to 1 − 0.25/0.8 = 68.75 %; over ground 20 m lower it
// rises to 79.2 % (Wolf, Dewitt & Wilkinson, Elements of Photogrammetry, 4th ed.
// 2014, ch. 18, from memory).
func TestOverlapFallsOverAHill(t *testing.T) {
	for _, c := range []struct{ rise, overlap, scale float64 }{{0, 0.75, 1}, {20, 0.6875, 0.8}, {-20, 0.7917, 1.2}} {
		// The hill's flat top is wide enough for all footprints; its foot lies at 300 m.
		hill := func(x, y float64) float64 {
			return 300 + c.rise*min(1, max(0, (500-math.Hypot(x, y))/100))
		}
		photos := serpentine(-150, -150, 50, 37.5, 7, 9)
		for i := range photos {
			photos[i].Height, photos[i].Altitude, photos[i].AltitudeDatum = math.NaN(), 400, photo.SeaLevel
		}
		job := jobOf(rectangle(-100, -100, 100, 100), photos, 4)
		job.Terrain = mosaicOf(t, square(800), 10, hill)
		a := run(t, job)
		near(t, "forward overlap", a.Overlap.Forward.Median, c.overlap, 5e-5)
		near(t, "side overlap", a.Overlap.Side.Median, 1-0.25/c.scale, 5e-5)
		near(t, "ground sample distance", a.GSD.Median, c.scale*5e-6/0.01*100, 1e-6)
		near(t, "height above ground", a.Shots[30].Height, 100*c.scale, 1e-3)
		if f := found(a, finding.HeightSource); f == nil || !strings.Contains(f.Text.String(), "altitude less terrain, the altitude above sea level") {
			t.Errorf("the source of the heights: %+v", f)
		}
		if found(a, finding.FlatGround) != nil || found(a, finding.TerrainMissing) != nil {
			t.Errorf("the ground is not level everywhere: %+v", a.Findings)
		}
	}
}

// Over a real hill, photos on its top overlap less than those beside it, and
// views counted one by one agree with the bands.
func TestViewsOverAHill(t *testing.T) {
	hill := func(x, y float64) float64 { return 45 * math.Exp(-(x*x+y*y)/(2*60*60)) }
	photos := serpentine(-210, -210, 30, 22.5, 15, 19)
	for i := range photos {
		photos[i].Height, photos[i].Altitude = math.NaN(), 75
		photos[i].Yaw = float64(i%7) - 3
	}
	job := jobOf(rectangle(-100, -100, 100, 100), photos, 12)
	job.Terrain = mosaicOf(t, square(600), 10, hill)
	a := run(t, job)
	bent := 0
	rings := make([]orb.Ring, len(a.Shots))
	for i, s := range a.Shots {
		for _, p := range s.Footprint {
			rings[i] = append(rings[i], ground.Metres(p))
		}
		bent += one(!isConvex(rings[i]))
	}
	if bent < 50 {
		t.Errorf("only %d of %d footprints are bent", bent, len(rings))
	}
	random := rand.New(rand.NewPCG(45, 46))
	for range 2000 {
		p := orb.Point{200*random.Float64() - 100, 200*random.Float64() - 100}
		views, doubtful := 0, false
		for _, ring := range rings {
			views += one(holds(ring, p, 0))
			doubtful = doubtful || holds(ring, p, 0.01) && plane.BoundaryDistance(orb.MultiPolygon{{ring}}, p) < 0.01
		}
		for _, b := range a.Views {
			in := plane.Contains(b.Shape, ground.Degrees(p))
			if want := views >= b.From && (b.To < 0 || views <= b.To); in != want && !doubtful {
				t.Fatalf("%v is seen by %d photos; band %d to %d says %v", p, views, b.From, b.To, in)
			}
		}
	}
	// The edge, asked place by place in the middle of its steps.
	site := rectangle(-100, -100, 100, 100)
	length, profile := indexFootprints(rings, site).walk(site[0][0], make([]bool, len(rings)))
	chainages := chainagesOf(site[0][0])
	near(t, "edge", length, 800, 1e-9)
	for _, step := range profile {
		middle := (step.From + step.To) / 2
		p := along(site[0][0], chainages, middle, middle)[0]
		views := 0
		for _, ring := range rings {
			views += one(holds(ring, p, 0))
		}
		if step.To-step.From > 0.001 && views != step.Views {
			t.Fatalf("%v m along the edge %d photos see it, by the walk %d", middle, views, step.Views)
		}
	}
	if len(profile) < 100 {
		t.Errorf("only %d steps along the edge", len(profile))
	}
	if !(a.Overlap.Forward.Min < a.Overlap.Forward.Median-0.1) {
		t.Errorf("forward overlap %+v falls nowhere", a.Overlap.Forward)
	}
	if !(a.GSD.Min < 0.5*a.GSD.Max) {
		t.Errorf("ground sample distances %+v", a.GSD)
	}
}

// The terrain ends, and has a void: the photos there see level ground.
func TestTerrainMissing(t *testing.T) {
	photos := serpentine(-150, -150, 50, 37.5, 7, 9)
	for i := range photos {
		photos[i].Altitude = 350
	}
	job := jobOf(rectangle(-100, -100, 100, 100), photos, 4)
	job.Terrain = mosaicOf(t, orb.Bound{Min: orb.Point{-400, -400}, Max: orb.Point{40, 400}}, 10, func(x, y float64) float64 {
		if math.Hypot(x+80, y) < 20 {
			return -9999
		}
		return 300 + x/10
	})
	a := run(t, job)
	f := found(a, finding.TerrainMissing)
	if f == nil || f.Amount < 25 || f.Amount > 55 || f.Severity != finding.Note {
		t.Fatalf("%+v of %d", f, a.Photos.Used)
	}
	// Where the terrain does not reach, the photo's own height counts.
	for _, s := range a.Shots {
		if at := ground.Metres(s.Position); at[0] > 60 {
			near(t, "height beyond the terrain", s.Height, 50, 1e-9)
		} else if at[0] < 30 && math.Hypot(at[0]+80, at[1]) > 40 {
			near(t, "height over the terrain", s.Height, 50-at[0]/10, 1e-3)
		}
	}

	job.Terrain = mosaicOf(t, orb.Bound{Min: orb.Point{4000, 4000}, Max: orb.Point{4400, 4400}}, 10, func(x, y float64) float64 { return 300 })
	if _, err := Run(job); err == nil || !strings.Contains(err.Error(), "the terrain: ") {
		t.Errorf("terrain of elsewhere: %v", err)
	}
}

// The extent holds all that the photos can see, and no photo far off.
func TestTerrainExtent(t *testing.T) {
	photos := serpentine(-150, -150, 50, 37.5, 7, 9)
	for i := range photos {
		photos[i].Altitude, photos[i].Height = 400, math.NaN()
	}
	stray := exposure(0, 9000, 0)
	stray.Altitude = 400
	wrong := exposure(0, 0, 0)
	wrong.Altitude = 8000
	job := jobOf(rectangle(-100, -100, 100, 100), append(photos, stray, wrong), 4)
	site, err := TerrainExtent(job)
	if err != nil || math.Abs(ground.Metres(site.Min)[0]+100) > 1e-3 {
		t.Fatalf("%v, %v", ground.Metres(site.Min), err)
	}
	job.Terrain = mosaicOf(t, square(110), 10, func(x, y float64) float64 { return 300 })
	extent, err := TerrainExtent(job)
	if err != nil {
		t.Fatal(err)
	}
	// From 100 m up, the corner of the image is 125 m off; the outer photos at 150 m.
	low, high := ground.Metres(extent.Min), ground.Metres(extent.Max)
	for _, v := range []float64{-low[0], -low[1], high[0], high[1]} {
		near(t, "reach", v, 275, 1)
	}
}

// A site on the 180th meridian has one extent, not the rest of the Earth.
func TestTerrainExtentAtTheAntimeridian(t *testing.T) {
	job := jobOf(nil, nil, 4)
	job.Site = orb.MultiPolygon{{{{179.999, 10}, {-179.999, 10}, {-179.999, 10.001}, {179.999, 10.001}, {179.999, 10}}}}
	extent, err := TerrainExtent(job)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "width", width(extent), 0.002, 1e-6)
	near(t, "middle", math.Abs(math.Remainder(extent.Center()[0]-180, 360)), 0, 1e-6)
	job.Site = nil
	if _, err := TerrainExtent(job); err == nil {
		t.Error("no site, no error")
	}
}

func BenchmarkReliefFootprints(b *testing.B) {
	for _, g := range grounds {
		b.Run(g.name, func(b *testing.B) {
			random := rand.New(rand.NewPCG(47, 48))
			r := reliefOf(b, 1000, 10, g.height)
			candidates := make([]*candidate, 10_000)
			for i := range candidates {
				p := randomPose(random, 500)
				p.pitch, p.roll = -90+3*random.Float64(), 3*random.NormFloat64()
				candidates[i] = overGround(r, p, 100)
			}
			points := 0
			for b.Loop() {
				points = 0
				for _, c := range candidates {
					r.lay(c)
					points += len(c.footprint) - 1
				}
			}
			b.ReportMetric(float64(points)/float64(len(candidates)), "corners/photo")
		})
	}
}

func BenchmarkRunOnRelief(b *testing.B) {
	for _, g := range grounds[:1] {
		for _, n := range []int{16, 32} {
			b.Run(fmt.Sprintf("%s/photos=%d", g.name, n*n), func(b *testing.B) {
				wide := float64(n) * 20
				photos := serpentine(-wide/2, -wide*3/8, 20, 15, n, n)
				for i := range photos {
					photos[i].Altitude, photos[i].Yaw = 80, float64(i%5)-2
				}
				job := jobOf(rectangle(40-wide/2, 40-wide*3/8, wide/2-40, wide*3/8-40), photos, 5)
				job.Terrain = mosaicOf(b, square(wide/2+300), 10, g.height)
				for b.Loop() {
					if _, err := Run(job); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
