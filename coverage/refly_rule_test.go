package coverage

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

// torn is a job of a site of 700 m × 300 m from which the photos around some
// places are missing.
func torn(places ...orb.Point) Job {
	photos := without(flight80(-60, -60, 760, 360), func(_ int, x, y float64) bool {
		for _, p := range places {
			if math.Hypot(x-p[0], y-p[1]) < 20 {
				return true
			}
		}
		return false
	})
	job := jobOf(rectangle(0, 0, 700, 300), photos, 18)
	job.MinZone, job.ReflyBuffer, job.MaxVertices = 1, math.NaN(), 200
	job.Wanted.Forward, job.Wanted.Side = 0.8, 0.75
	return job
}

// Areas share a polygon exactly when that takes less flight time.
func TestReflyJoinsWhatIsNear(t *testing.T) {
	random := rand.New(rand.NewPCG(47, 48))
	alone := run(t, torn(orb.Point{300, 150})).ReflyPlan
	for _, c := range []struct {
		name   string
		places []orb.Point
		areas  int
	}{
		{"two in line, 150 m apart", []orb.Point{{300, 75}, {300, 225}}, 1},
		{"two far apart", []orb.Point{{100, 60}, {600, 240}}, 2},
		{"a pair and one far off", []orb.Point{{100, 75}, {100, 225}, {600, 150}}, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			job := torn(c.places...)
			a := run(t, job)
			checkRefly(t, job, a)
			checkClosed(t, random, job, a)
			if len(a.Refly) != c.areas || !a.ReflyPlan.Closes {
				t.Errorf("%d areas: %+v", len(a.Refly), a.ReflyPlan)
			}
			// Never longer than each hole by itself, with the way between them at most across the site.
			if most := float64(len(c.places)) * (alone.Time + UsualTurnTime + 762/alone.Speed); a.ReflyPlan.Time > most {
				t.Errorf("%.0f s, more than %.0f s apart", a.ReflyPlan.Time, most)
			}
		})
	}
}

// What the photos leave short in a keep-out area is not flown for, and said.
func TestReflyKeepsOut(t *testing.T) {
	job := torn(orb.Point{200, 150}, orb.Point{550, 150})
	keepOut := rectangle(150, 50, 250, 250)
	job.KeepOut = ground.ToDegrees(keepOut)
	a := run(t, job)
	checkRefly(t, job, a)
	grid := plane.MetreGrid(rectangle(-200, -200, 900, 500).Bound())
	open := 0
	for _, r := range a.Refly {
		shape := ground.ToMetres(orb.MultiPolygon{r.Shape}, 1)
		if in := areaOf(plane.Intersection(grid, shape, keepOut)); in > 0.01 {
			t.Errorf("%.2f m² in the keep-out area", in)
		}
		if east := shape.Bound().Center()[0] > 400; east && !r.Closes {
			t.Errorf("area around %v: closes %v, %.1f m² left", shape.Bound().Center(), r.Closes, r.Remaining)
		} else if !east {
			open += one(!r.Closes)
		}
	}
	if open == 0 || a.ReflyPlan.Closes || a.ReflyPlan.KeptOut < 1000 || a.ReflyPlan.Remaining < 100 {
		t.Errorf("%+v", a.ReflyPlan)
	}
	if f := found(a, finding.ReflyNotEnough); f == nil || f.Severity != finding.NeedsAnswer || !strings.Contains(f.Text.String(), "Keep-out areas take") {
		t.Errorf("finding %+v", f)
	}
	// All of it kept out: no area, and still a word.
	job.KeepOut = ground.ToDegrees(rectangle(-500, -500, 1200, 800))
	a = run(t, job)
	if f := found(a, finding.ReflyNotEnough); len(a.Refly) != 0 || f == nil || found(a, finding.ReflyPlanned) != nil {
		t.Errorf("areas %+v, finding %+v", a.Refly, f)
	}
}

// A given buffer is kept to, but for the width of a line.
func TestReflyBufferAsGiven(t *testing.T) {
	job := torn()
	job.Photos = without(job.Photos, func(_ int, x, y float64) bool { return x > 500 })
	wide := run(t, job)
	for _, buffer := range []float64{0, 2, 40} {
		job.ReflyBuffer = buffer
		a := run(t, job)
		checkRefly(t, job, a)
		if got := a.ReflyPlan.Buffer; got != buffer {
			t.Errorf("buffer %v is %v", buffer, got)
		}
		if f := found(a, finding.ReflyNotEnough); a.ReflyPlan.Closes == (f != nil) {
			t.Errorf("buffer %v: %+v, finding %+v", buffer, a.ReflyPlan, f)
		}
		if buffer < 5 && a.ReflyPlan.Closes || buffer >= wide.ReflyPlan.Buffer && !a.ReflyPlan.Closes {
			t.Errorf("buffer %v: closes %v", buffer, a.ReflyPlan.Closes)
		}
	}
}

// What a given buffer is said to leave short is what a second audit finds.
func TestReflyRemainingIsTrue(t *testing.T) {
	short := 0
	for _, c := range reflyCases {
		job := jobOf(c.site, without(flight80(c.from[0], c.from[1], c.from[2], c.from[3]), c.lost), c.views)
		job.MinZone, job.ReflyBuffer = 1, 5
		job.Wanted.Forward, job.Wanted.Side = 0.8, 0.75
		a := run(t, job)
		after := run(t, again(nil, job, a))
		left, listed := 0.0, 0.0
		for _, z := range after.Zones {
			left += z.Area
		}
		for _, r := range a.Refly {
			listed += r.Remaining
		}
		near(t, c.name+": what is left", a.ReflyPlan.Remaining, left, 2+0.02*left)
		near(t, c.name+": by areas", listed, a.ReflyPlan.Remaining, 0.5+0.02*left)
		short += one(!a.ReflyPlan.Closes)
	}
	if short < 3 {
		t.Errorf("only %d of the cases fall short", short)
	}
}

// Where the overlaps cannot give the wanted views, they are raised; where
// nothing can, the finding says so.
func TestReflyRaisesOverlaps(t *testing.T) {
	random := rand.New(rand.NewPCG(49, 50))
	site := rectangle(0, 0, 400, 300)
	job := jobOf(site, serpentine(20, 20, 80, 60, 3, 3), 6) // 20 % either way
	job.MinZone, job.ReflyBuffer = 1, math.NaN()
	a := run(t, job)
	p := a.ReflyPlan
	checkRefly(t, job, a)
	checkClosed(t, random, job, a)
	if !p.Raised || !p.Closes || overlapViews(p.Forward)*overlapViews(p.Side) < 6 {
		t.Errorf("%+v", p)
	}
	if f := found(a, finding.ReflyPlanned); f == nil || !strings.Contains(f.Text.String(), "could not give all the views") {
		t.Errorf("finding %+v", f)
	}
	job.Wanted.Views = 200
	if a = run(t, job); a.ReflyPlan.Closes || found(a, finding.ReflyNotEnough) == nil {
		t.Errorf("%+v", a.ReflyPlan)
	}
}

// The plan follows the flight: camera, height, course, speed, the way the
// camera is turned.
func TestReflyFollowsTheFlight(t *testing.T) {
	job := torn(orb.Point{300, 150})
	for i := range job.Photos {
		job.Photos[i].Yaw = 90 // the image's width along the line
		job.Photos[i].Camera.SensorWidth, job.Photos[i].Camera.SensorHeight = 20, 15
	}
	a := run(t, job)
	p := a.ReflyPlan
	if !p.WidthAlong {
		t.Error("the width does not lie along")
	}
	near(t, "height", p.Height, 50, 1e-9)
	near(t, "footprint along", p.FootprintAlong, 100, 1e-9)
	near(t, "speed", p.Speed, 7.5, 0.1) // 15 m in 2 s
	if p.SpeedAssumed {
		t.Error("the speed is assumed")
	}
	for i := range job.Photos {
		job.Photos[i].Time = job.Photos[0].Time
	}
	if p = run(t, job).ReflyPlan; !p.SpeedAssumed || p.Speed != usualSpeed {
		t.Errorf("speed %v, assumed %v", p.Speed, p.SpeedAssumed)
	}
}

// Photos alone, without lines or overlaps to go by.
func TestReflyOfOnePhoto(t *testing.T) {
	random := rand.New(rand.NewPCG(51, 52))
	job := jobOf(rectangle(0, 0, 200, 150), []photo.Photo{exposure(0, 20, 20)}, 5)
	job.MinZone, job.ReflyBuffer = 1, math.NaN()
	a := run(t, job)
	checkRefly(t, job, a)
	checkClosed(t, random, job, a)
	if len(a.Refly) != 1 || !a.ReflyPlan.Closes {
		t.Errorf("%+v", a.ReflyPlan)
	}
}

func TestUsualCourse(t *testing.T) {
	for _, c := range []struct {
		lines []Line
		want  float64
	}{
		{nil, 0},
		{[]Line{{Course: 350, Length: 100}}, 170},
		{[]Line{{Course: 2, Length: 100}, {Course: 182, Length: 100}, {Course: 90, Length: 150}}, 2},
		{[]Line{{Course: 179, Length: 100}, {Course: 1, Length: 101}, {Course: 60, Length: 150}}, 1},
	} {
		if got := usualCourse(c.lines); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%+v: %v", c.lines, got)
		}
	}
}

// On a slope the photos of the plan are laid on the terrain, where level
// footprints of the same height would promise too much.
func TestReflyOverTerrain(t *testing.T) {
	random := rand.New(rand.NewPCG(53, 54))
	job := jobOf(rectangle(0, 0, 400, 300), without(flight80(-60, -60, 460, 360), func(_ int, x, y float64) bool { return x > 250 }), 12)
	job.MinZone, job.ReflyBuffer = 1, math.NaN()
	job.Wanted.Forward, job.Wanted.Side = 0.8, 0.75
	job.Terrain = mosaicOf(t, square(900), 10, func(x, y float64) float64 { return 200 + 12*math.Sin(x/30)*math.Sin(y/25) })
	a := run(t, job)
	checkRefly(t, job, a)
	if !a.ReflyPlan.Closes || len(a.Refly) != 1 {
		t.Errorf("%+v", a.ReflyPlan)
	}
	if level, err := DeriveBuffer(BufferInput{Setup: Setup{Camera: lens, Height: 50, Forward: 0.8, Side: 0.75}, Views: 12}); err != nil || a.ReflyPlan.Buffer < level.Buffer {
		t.Errorf("buffer %v, on level ground %v (%v)", a.ReflyPlan.Buffer, level.Buffer, err)
	}
	checkClosed(t, random, job, a)
}
