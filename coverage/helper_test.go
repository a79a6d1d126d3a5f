package coverage

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

// The test ground lies on the equator, where lines that are straight in
// degrees are straight in the plane.
var ground = plane.NewFrame(orb.Point{9, 0})

// lens sees 100 m across and 75 m along the line from 50 m up.
var lens = photo.Camera{SensorWidth: 20, SensorHeight: 15, FocalLength: 10, Columns: 4000, Rows: 3000}

func rectangle(x0, y0, x1, y1 float64) orb.MultiPolygon {
	return orb.MultiPolygon{{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}}
}

func exposure(n int, x, y float64) photo.Photo {
	return photo.Photo{
		File:     fmt.Sprintf("%04d", n),
		Position: ground.Degrees(orb.Point{x, y}),
		Altitude: math.NaN(), Height: 50,
		Yaw: 0, Pitch: -90, Roll: 0,
		Time:   time.Date(2024, 5, 1, 10, 0, 2*n, 0, time.UTC),
		Camera: lens,
	}
}

// serpentine flies lines north and south, the first at x0, shots of a line
// from y0 on; all photos look straight down with their top to the north.
func serpentine(x0, y0, spacing, base float64, lines, shots int) []photo.Photo {
	var out []photo.Photo
	for l := range lines {
		for s := range shots {
			k := s
			if l%2 == 1 {
				k = shots - 1 - s
			}
			out = append(out, exposure(len(out), x0+float64(l)*spacing, y0+float64(k)*base))
		}
	}
	return out
}

func jobOf(site orb.MultiPolygon, photos []photo.Photo, views int) Job {
	return Job{
		Site: ground.ToDegrees(site), Photos: photos,
		Height: math.NaN(), Ground: math.NaN(),
		Wanted: Wanted{Views: views},
	}
}

func run(t *testing.T, job Job) *Audit {
	t.Helper()
	a, err := Run(job)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %v, want %v ± %v", what, got, want, tolerance)
	}
}

func found(a *Audit, code finding.Code) *finding.Finding {
	for i := range a.Findings {
		if a.Findings[i].Code == code {
			return &a.Findings[i]
		}
	}
	return nil
}

// sawPoint projects a point of the ground back into the image: the reverse of
// the way footprints are made.
func sawPoint(p photo.Photo, frame plane.Frame, height float64, at orb.Point) bool {
	camera := frame.Metres(p.Position)
	v := [3]float64{at[0] - camera[0], at[1] - camera[1], -height}
	if math.Hypot(v[0], v[1]) > height*math.Tan(math.Pi/3) {
		return false
	}
	turn := func(a, b, degrees float64) (float64, float64) {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		return a*cos - b*sin, a*sin + b*cos
	}
	// Undo yaw: the top then points north. Undo pitch: the axis then points
	// north along the ground. Undo roll about that axis.
	x, y := turn(v[0], v[1], p.Yaw)
	forward, up := turn(y, v[2], -p.Pitch)
	right, up := turn(x, up, p.Roll)
	return forward > 0 &&
		math.Abs(right/forward)*p.Camera.FocalLength <= p.Camera.SensorWidth/2 &&
		math.Abs(up/forward)*p.Camera.FocalLength <= p.Camera.SensorHeight/2
}

// laidLevel is a photo that says all, with its footprint on level ground.
func laidLevel(p photo.Photo) *candidate {
	c := newCandidate(&p, p.Camera)
	c.at, c.height = ground.Metres(p.Position), p.Height
	c.footprint, c.cut = footprint(c.Camera, c.pose())
	return c
}
