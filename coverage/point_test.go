package coverage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

func pointAt(name string, x, y float64) Point { return Point{name, ground.Degrees(orb.Point{x, y})} }

func pointNamed(t *testing.T, a *Audit, name string) PointViews {
	t.Helper()
	i := slices.IndexFunc(a.Points, func(p PointViews) bool { return p.Name == name })
	if i < 0 {
		t.Fatalf("no point %s among %v", name, a.Points)
	}
	return a.Points[i]
}

// Lines 30 m apart at x = 0 to 90, photos 20 m apart at y = 0 to 100; each sees
// 50 m to either side and 37.5 m ahead and back. So the figures can be counted.
func TestPointViewsOfARegularGrid(t *testing.T) {
	job := jobOf(rectangle(0, 0, 90, 100), serpentine(0, 0, 30, 20, 4, 6), 5)
	job.Points = []Point{
		pointAt("middle", 44, 50), pointAt("corner", -30, -30), pointAt("line", -44, 50),
		pointAt("rim", -50, 10), pointAt("far", 400, 400), pointAt("outer", 120, 50),
	}
	a := run(t, job)
	if a.Wanted.PointViews != 3 {
		t.Errorf("%d views are wanted without a word, not 3", a.Wanted.PointViews)
	}
	for _, want := range []struct {
		name                string
		views, lines, clear int
		nearMetres, near    float64
		bestMetres, best    float64
		outside             bool
		number              int
	}{
		// x = 0, 30, 60 and 90 m, of which the last is 46 m away, and y = 20 to 80.
		{"middle", 16, 4, 12, 4, 0.08, 27.5, 1 - 14.0/50, false, 1},
		{"corner", 1, 1, 1, 7.5, 0.2, 7.5, 0.2, true, 2},
		{"line", 4, 1, 4, 6, 0.12, 6, 0.12, true, 3},
		// y = 0, 20 and 40, all with the point on the rim of the image.
		{"rim", 3, 1, 0, 0, 0, 0, 0, true, 4},
		{"far", 0, 0, 0, math.NaN(), math.NaN(), math.NaN(), math.NaN(), true, 5},
		// x = 90 alone, 30 m away, and y = 20 to 80.
		{"outer", 4, 1, 4, 7.5, 0.2, 20, 0.4, true, 6},
	} {
		p := pointNamed(t, a, want.name)
		if p.Views != want.views || p.Lines != want.lines || p.Clear != want.clear || p.OffLine != 0 || p.Outside != want.outside || p.Number != want.number {
			t.Errorf("%s: %+v, want %+v", want.name, p, want)
		}
		if want.views == 0 {
			if !math.IsNaN(p.Best.Share) || !math.IsNaN(p.Nearest.Metres) || !math.IsNaN(p.GSD) || p.BestFile != "" {
				t.Errorf("%s: %+v", want.name, p)
			}
			continue
		}
		near(t, want.name+": distance in the nearest", p.Nearest.Metres, want.nearMetres, 1e-5)
		near(t, want.name+": share in the nearest", p.Nearest.Share, want.near, 1e-6)
		near(t, want.name+": distance in the best", p.Best.Metres, want.bestMetres, 1e-5)
		near(t, want.name+": share in the best", p.Best.Share, want.best, 1e-6)
		near(t, want.name+": GSD", p.GSD, 0.005*50/10, 1e-9)
		if len(p.Files) != min(want.views, mostPointFiles) || p.Files[0] != p.BestFile {
			t.Errorf("%s: files %v, the best %s", want.name, p.Files, p.BestFile)
		}
	}
	// x = 30 and y = 40 or 60: the second line comes back from y = 100.
	if p := pointNamed(t, a, "middle"); p.BestFile != "0008" && p.BestFile != "0009" {
		t.Errorf("the best photo of the middle is %s", p.BestFile)
	}
	var order []string
	for _, p := range a.Points {
		order = append(order, p.Name)
	}
	if got := strings.Join(order, " "); got != "far corner rim line outer middle" {
		t.Errorf("the worst first: %s", got)
	}

	for _, want := range []struct {
		code     finding.Code
		severity finding.Severity
		amount   float64
		text     string
	}{
		{finding.PointViewsLow, finding.NeedsAnswer, 2, "2 of 6 control points are seen by fewer than the 3 photos wanted: far (0, outside the site area), corner (1, outside the site area)."},
		{finding.PointOneLine, finding.Note, 3, "3 of 6 control points are seen from one flight line only: rim, line, outer."},
		{finding.PointNearImageEdge, finding.Note, 1, "1 of 6 control points is seen by fewer than 3 photos in which it lies at least 10 % of half an image side within the image: rim."},
	} {
		f := found(a, want.code)
		if f == nil || f.Severity != want.severity {
			t.Errorf("%s: %+v", want.code, f)
			continue
		}
		if f.Amount != want.amount || f.Text.String() != want.text || !f.Place.Located {
			t.Errorf("%s: %+v, want %+v", want.code, f, want)
		}
	}
}

func TestPointsWellSeenSayNothing(t *testing.T) {
	job := jobOf(rectangle(0, 0, 90, 100), serpentine(0, 0, 30, 20, 4, 6), 5)
	job.Points = []Point{pointAt("", 45, 40), pointAt("", 44, 61)}
	a := run(t, job)
	for _, code := range []finding.Code{finding.PointViewsLow, finding.PointOneLine, finding.PointNearImageEdge} {
		if f := found(a, code); f != nil {
			t.Errorf("%+v", f)
		}
	}
	job.Points, job.Wanted.PointViews = job.Points[:1], 40
	a = run(t, job)
	if f := found(a, finding.PointViewsLow); f == nil || !strings.Contains(f.Text.String(), "1 of 1 control point is seen by fewer than the 40 photos wanted: number 1 (12)") {
		t.Errorf("%+v", f)
	}
}

func TestNoPoints(t *testing.T) {
	a := run(t, jobOf(rectangle(0, 0, 90, 100), serpentine(0, 0, 30, 20, 4, 6), 5))
	if len(a.Points) != 0 || a.Wanted.PointViews != 0 || found(a, finding.PointViewsLow) != nil {
		t.Errorf("%+v", a.Points)
	}
}

func TestPointsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		points []Point
		want   string
	}{
		{[]Point{{"", orb.Point{9, 0}}, {"", orb.Point{math.NaN(), 0}}}, "control point number 2 has no usable position"},
		{[]Point{{"T1", orb.Point{9, 95}}}, "control point T1 has no usable position"},
	} {
		job := jobOf(rectangle(0, 0, 90, 100), serpentine(0, 0, 30, 20, 4, 6), 5)
		job.Points = c.points
		if _, err := Run(job); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}

// A point across the 180th meridian is where it is.
func TestPointBeyondTheMeridian(t *testing.T) {
	frame := plane.NewFrame(orb.Point{180, 0})
	photos := serpentine(0, 0, 30, 20, 4, 6)
	for i := range photos {
		photos[i].Position = frame.Degrees(ground.Metres(photos[i].Position))
	}
	job := Job{Site: frame.ToDegrees(rectangle(0, 0, 90, 100)), Photos: photos, Height: math.NaN(), Ground: math.NaN()}
	p := frame.Degrees(orb.Point{44, 50})
	for _, turn := range []float64{-360, 0, 360} {
		if p[0]+turn < -360 || p[0]+turn > 360 {
			continue
		}
		job.Points = []Point{{"", orb.Point{p[0] + turn, p[1]}}}
		if a := run(t, job); a.Points[0].Views != 16 || a.Points[0].Outside {
			t.Errorf("%v: %+v", turn, a.Points[0])
		}
	}
}

// Against each photo asked by itself, with the point projected into its image.
func TestPointsAgainstProjection(t *testing.T) {
	random := rand.New(rand.NewPCG(21, 22))
	for range 4 {
		photos := randomFlight(random, 60)
		job := jobOf(rectangle(0, 0, 300, 300), photos, 3)
		for i := range 60 {
			job.Points = append(job.Points, pointAt(fmt.Sprint(i), random.Float64()*300, random.Float64()*300))
		}
		a := run(t, job)
		for _, p := range a.Points {
			at := ground.Metres(p.Position)
			views, doubtful := 0, false
			for _, s := range a.Shots {
				views += one(sawPoint(*s.Photo, ground, s.Height, at))
				rim := plane.BoundaryDistance(ground.ToMetres(orb.MultiPolygon{{s.Footprint}}, 0.01), at)
				// The rim of cut footprints is a polygon, not the circle.
				doubtful = doubtful || rim < 0.2 && len(s.Footprint) > 5 || rim < 1e-3
			}
			if p.Views != views && !doubtful {
				t.Errorf("%s: %d views, %d by projection", p.Name, p.Views, views)
			}
			if p.Views > 0 {
				i := slices.IndexFunc(a.Shots, func(s Shot) bool { return s.File == p.BestFile })
				near(t, "share in the best", p.Best.Share, imageShare(*a.Shots[i].Photo, a.Shots[i].Height, at), 1e-6)
			}
		}
	}
}

// Ground that rises by a tenth to the east is nearer to the camera there: 48 m
// at 20 m east of a photo from 50 m, with 48 m of ground to either side.
func TestPointOnRisingGround(t *testing.T) {
	r := reliefOf(t, 200, 10, func(x, y float64) float64 { return 100 + 0.1*x })
	c := overGround(r, pose{pitch: -90}, 150)
	c.Pitch = -90
	share, depth := c.image(orb.Point{20, 10}, r)
	near(t, "share", share, 1-20.0/48, 1e-4)
	near(t, "depth", depth, 48, 1e-3)
	c.unmapped = true // the footprint is then that of level ground
	share, depth = c.image(orb.Point{20, 10}, r)
	near(t, "share over level ground", share, 1-20.0/50, 1e-4)
	near(t, "depth over level ground", depth, 50, 1e-3)
}

// imageShare finds how much larger an image could shrink about its middle and
// still show a point: by halving, through sawPoint.
func imageShare(p photo.Photo, height float64, at orb.Point) float64 {
	least, most := 0.0, 1.0
	w, h := p.Camera.SensorWidth, p.Camera.SensorHeight
	for range 40 {
		share := (least + most) / 2
		p.Camera.SensorWidth, p.Camera.SensorHeight = w*(1-share), h*(1-share)
		if sawPoint(p, ground, height, at) {
			least = share
		} else {
			most = share
		}
	}
	return least
}
