package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/views"
)

// pixels returns where a photo shows a place drop metres below it, in pixels
// right of and above the middle of the image: the reverse of the way footprints
// are made.
func pixels(p photo.Photo, at orb.Point, drop float64) (right, up float64) {
	camera := ground.Metres(p.Position)
	turn := func(a, b, degrees float64) (float64, float64) {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		return a*cos - b*sin, a*sin + b*cos
	}
	x, y := turn(at[0]-camera[0], at[1]-camera[1], p.Yaw)
	forward, z := turn(y, -drop, -p.Pitch)
	x, z = turn(x, z, p.Roll)
	perPixel := p.Camera.SensorWidth / float64(p.Camera.Columns)
	return x / forward * p.Camera.FocalLength / perPixel, z / forward * p.Camera.FocalLength / perPixel
}

// A metre across the line of sight is 1/GSD pixels long.
func TestGSDAtAgainstProjection(t *testing.T) {
	random := rand.New(rand.NewPCG(71, 72))
	for _, p := range randomFlight(random, 100) {
		p.Roll = 0 // so that a level step to the right of the track keeps its depth
		c := laidLevel(p)
		s := scaleOf(c, c.height)
		at := orb.Point{c.at[0] + 20*random.NormFloat64(), c.at[1] + 20*random.NormFloat64()}
		drop := p.Height * (0.8 + 0.4*random.Float64())
		sin, cos := math.Sincos(radians(p.Yaw))
		r0, u0 := pixels(p, at, drop)
		r1, u1 := pixels(p, orb.Point{at[0] + 0.1*cos, at[1] - 0.1*sin}, drop)
		near(t, "GSD", gsdAt(s, at, drop), 0.1/math.Hypot(r1-r0, u1-u0), 1e-7)
	}
	// W = 5 µm · 50 m / 10 mm straight down, at every place.
	c := newCandidate(&photo.Photo{Pitch: -90}, lens)
	c.height = 50
	near(t, "straight down", gsdAt(scaleOf(c, c.height), orb.Point{40, -30}, 50), 0.025, 1e-12)
	// And where the ground is 20 m higher, 0.6 times that.
	near(t, "on a hill", gsdAt(scaleOf(c, c.height), orb.Point{40, -30}, 30), 0.015, 1e-12)
	c.Pitch = -75
	near(t, "at the image centre", gsdAt(scaleOf(c, c.height), orb.Point{0, 50 * math.Tan(radians(15))}, 50), centreGSD(c.Camera, c.pose()), 1e-12)
}

// Two lines, the second twice as high: what the first does not see is coarse.
func TestCoarseGround(t *testing.T) {
	photos := flown(serpentine(50, 0, 1, 30, 1, 6), serpentine(120, 0, 1, 30, 1, 6))
	for i := range photos[6:] {
		photos[6+i].Height = 100
	}
	job := jobOf(rectangle(0, 0, 200, 150), photos, 1)
	job.Wanted.GSD = 0.0375
	a := run(t, job)
	g := a.GSDByPlace
	near(t, "coarse ground", g.Coarse.Area, 100*150, 0.1)
	near(t, "finest", g.Best.Min, 0.025, 1e-7)
	near(t, "coarsest", g.Best.Max, 0.05, 1e-7)
	near(t, "share of the cells", g.Best.Below, 0.5, 0.01)
	near(t, "tenth", g.Tenths[4], 0.025, 1e-7)
	near(t, "tenth", g.Tenths[6], 0.05, 1e-7)
	if len(g.Coarse.Pieces) != 1 || !plane.Contains(ground.ToDegrees(rectangle(100, 0, 200, 150)), g.Coarse.Pieces[0].Label) {
		t.Errorf("pieces %v", g.Coarse.Pieces)
	}
	job.Wanted.GSD = 0
	if g := run(t, job).GSDByPlace; g.Coarse.Area != 0 || g.Best.Below != 0 || g.Best.N == 0 {
		t.Errorf("no GSD wanted: %+v", g)
	}
}

// Places of random flights against the photos asked one by one.
func TestCoarseGroundAgainstSampling(t *testing.T) {
	random := rand.New(rand.NewPCG(73, 74))
	const limit = 0.024
	for range 10 {
		var used []*candidate
		var seen []views.Footprint
		for _, p := range randomFlight(random, 30) {
			if c := laidLevel(p); c.footprint != nil {
				used = append(used, c)
				seen = append(seen, views.Footprint{c.footprint})
			}
		}
		site := orb.MultiPolygon{star(random)}
		unseen := views.Below(site, seen, []int{1})[0]
		coarse := coarseGround(site, unseen, nil, used, limit)
		for range 500 {
			p := orb.Point{random.Float64() * 300, random.Float64() * 300}
			best, onRim := math.Inf(1), plane.BoundaryDistance(site, p) < 0.001
			for i := range used {
				area := orb.MultiPolygon{{used[i].footprint}}
				onRim = onRim || plane.BoundaryDistance(area, p) < 0.001
				if plane.Contains(area, p) {
					gsd := gsdAt(scaleOf(used[i], used[i].height), p, used[i].height)
					best = min(best, gsd)
					onRim = onRim || math.Abs(gsd-limit) < 1e-6
				}
			}
			want := plane.Contains(site, p) && best > limit && !math.IsInf(best, 1)
			if !onRim && plane.Contains(coarse, p) != want {
				t.Fatalf("%v is seen at %v at best; coarse: %v", p, best, !want)
			}
		}
	}
}

// Straight down from one altitude the GSD is 0.5 mm for each metre down to the
// ground: over a hill of 45 m whose height falls as exp(−r²/2s²) with s = 60 m,
// it is coarser than wanted beyond the radius where that passes the limit.
func TestGroundOverAHill(t *testing.T) {
	hill := func(x, y float64) float64 { return 45 * math.Exp(-(x*x+y*y)/(2*60*60)) }
	photos := serpentine(-210, -210, 30, 22.5, 15, 19)
	for i := range photos {
		photos[i].Height, photos[i].Altitude, photos[i].PositionError = math.NaN(), 75, 1
	}
	job := jobOf(rectangle(-100, -100, 100, 100), photos, 12)
	job.Terrain = mosaicOf(t, square(600), 10, hill)
	job.Errors = Errors{Attitude: 1, Height: 1}
	job.Wanted.GSD = 0.02
	a := run(t, job)
	g := a.GSDByPlace
	near(t, "finest", g.Best.Min, 0.0005*30, 0.0002)
	near(t, "coarsest", g.Best.Max, 0.0005*(75-hill(100, 100)), 0.0002)
	passes := 60 * math.Sqrt(2*math.Log(45/(75-1.01*0.02/0.0005)))
	near(t, "coarse ground", g.Coarse.Area, 40_000-math.Pi*passes*passes, 200)
	if len(g.Coarse.Pieces) != 1 || len(g.Coarse.Pieces[0].Shape) != 2 {
		t.Errorf("%d pieces, not one with a hole", len(g.Coarse.Pieces))
	}
	c := a.Certainty
	if !(c.Certain.BelowWanted < c.Measured.BelowWanted && c.Measured.BelowWanted < c.Possible.BelowWanted) {
		t.Errorf("certainty %+v", c)
	}
	// By the lowest ground in sight: over the top of the hill it lies at about 0 m
	// where the photo reaches beyond the slopes, never more than 75 m down.
	corner := math.Atan(62.5 / 50)
	// The surface with a height every 10 m or less leaves a patch of the grid by no
	// more than s²/4 times the hill's greatest curve, 45/60² a metre: 31 cm.
	h := c.Height.Max
	if !(h > 1 && h < 1+10*10/4*45./(60*60)) {
		t.Errorf("an error of height of %v m", h)
	}
	most := 1 + (75+h)*(math.Tan(corner+radians(1))-math.Tan(corner)) + h*math.Tan(corner)
	if !(c.Radius.Max <= most && c.Radius.Max > 0.95*most) {
		t.Errorf("radius %v, at most %v", c.Radius.Max, most)
	}
}
