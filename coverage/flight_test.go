package coverage

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

// mission is five lines of 300 m at a speed in metres a second with a photo
// every so many seconds, times in whole seconds.
func mission(speed, interval, exposure float64) []photo.Photo {
	var out []photo.Photo
	now := time.Date(2026, 5, 12, 9, 0, 0, 0, time.UTC)
	for line := range 5 {
		shots := int(300/(speed*interval)) + 1
		for k := range shots {
			y := float64(k) * speed * interval
			if line%2 == 1 {
				y = float64(shots-1-k) * speed * interval
			}
			p := exposureAt(len(out), 40*float64(line), y)
			p.File = fmt.Sprintf("DCIM/100/IMG_%04d.JPG", len(out)+1)
			p.Time, p.TimeSource = now.Truncate(time.Second), photo.TimeFromGPS
			p.ExposureTime, p.ISO, p.FNumber = exposure, 100, 2.8
			out = append(out, p)
			now = now.Add(time.Duration(interval * 1e9))
		}
		now = now.Add(8 * time.Second)
	}
	return out
}

func exposureAt(n int, x, y float64) photo.Photo {
	p := exposure(n, x, y)
	p.AltitudeDatum = photo.SeaLevel
	p.Altitude = 182
	return p
}

// A mission flown at 3 mph that could have run at 15 mph, by hand:
//
//	1 mph = 1609.344 m / 3600 s, so 3 mph = 1.34112 m/s and 15 mph = 6.7056 m/s.
//	The camera sees 75 m along the line from 50 m, 2.5 cm a pixel.
//	A photo every 2 s at 3 mph: 2.68224 m apart, 96.4 % overlap.
//	Wanted 82.1184 %: (1 − 0.821184)·75 m = 13.4112 m apart; every 2 s: 6.7056 m/s.
//	Blur of 0.7 pixels at 1/500 s: 0.7·0.025 m·500/s = 8.75 m/s, which is more.
//	Time on the lines: at 15 mph a fifth, so four fifths of it could be saved.
func TestSlowMission(t *testing.T) {
	const mph = 1609.344 / 3600
	job := jobOf(rectangle(0, 0, 160, 290), mission(3*mph, 2, 1.0/500), 2)
	job.Wanted.Forward = 0.821184
	a := run(t, job)
	if len(a.Lines) != 5 || len(a.Flights) != 1 || len(a.Missed) != 0 {
		t.Fatalf("%d lines, %d flights, %+v", len(a.Lines), len(a.Flights), a.Missed)
	}
	for _, l := range a.Lines {
		v := l.Speed
		near(t, "speed", v.Ground/mph, 3, 0.001)
		near(t, "blur", v.Blur, 8.75, 0.01)
		near(t, "trigger", v.Trigger/mph, 15, 0.01)
		near(t, "allowed", v.Allowed/mph, 15, 0.01)
		near(t, "flown", v.Flown, 2*111, 0) // 300/2.68224 = 111.8
		near(t, "to spare", v.Spare, 0.8*222, 0.2)
		if v.Limit != SetByFlight || v.Photos != 112 || v.Start.IsZero() {
			t.Errorf("%+v", v)
		}
	}
	near(t, "all speeds", a.Speed.Ground/mph, 3, 0.001)
	near(t, "all allowed", a.Speed.Allowed/mph, 15, 0.01)
	near(t, "all time", a.Speed.Flown, 5*222, 0)
	near(t, "all to spare", a.Speed.Spare, 5*0.8*222, 1)
	// 1.34112 m/s · 0.002 s / 0.025 m = 0.107 pixels.
	near(t, "blur of a photo", a.Shots[50].Blur, 0.1073, 0.002)
	f := found(a, finding.FlownSlow)
	if f == nil || !strings.Contains(f.Text.String(), "1.3 m/s") || !strings.Contains(f.Text.String(), "6.7 m/s") || !strings.Contains(f.Text.String(), "18 minutes") || !strings.Contains(f.Text.String(), "15 minutes") {
		t.Errorf("%+v", f)
	}

	// At 15 mph nothing could have been saved, by whole seconds too.
	job.Photos = mission(15*mph, 2, 1.0/500)
	a = run(t, job)
	near(t, "speed", a.Speed.Ground/mph, 15, 0.3)
	if f := found(a, finding.FlownSlow); f != nil || a.Speed.Spare > 3 {
		t.Errorf("%+v, %v s", f, a.Speed.Spare)
	}
	// The camera that is said to keep 1 s was not at its limit: then it is blur, 8.75 m/s.
	job.Trigger = 1
	a = run(t, job)
	if v := a.Lines[0].Speed; v.Limit != SetByBlur || math.Abs(v.Allowed-8.75) > 0.01 {
		t.Errorf("%+v", v)
	}
	// 0.5 pixels: 6.25 m/s.
	job.MaxBlur = 0.5
	near(t, "blur", run(t, job).Lines[0].Speed.Blur, 6.25, 0.01)
}

func TestWhatSpeedCannotTell(t *testing.T) {
	slow := mission(2, 10, 1.0/1000) // triggered by distance, every 20 m
	for _, c := range []struct {
		name    string
		change  func(p *photo.Photo)
		trigger float64
		want    string
		code    finding.Code
	}{
		{"as flown", func(*photo.Photo) {}, 0, "Add --trigger", finding.SpeedUntold},
		{"told", func(*photo.Photo) {}, 2, "a photo every 2 s would have allowed 10.0 m/s", finding.FlownSlow},
		{"no exposure time", func(p *photo.Photo) { p.ExposureTime = math.NaN() }, 2, "do not say their exposure time", finding.SpeedUntold},
		{"no times", func(p *photo.Photo) { p.Time = time.Time{} }, 2, "have no times", finding.SpeedUntold},
	} {
		job := jobOf(rectangle(0, 0, 160, 290), slices.Clone(slow), 2)
		job.Trigger = c.trigger
		for i := range job.Photos {
			c.change(&job.Photos[i])
		}
		a := run(t, job)
		if f := found(a, c.code); f == nil || !strings.Contains(f.Text.String(), c.want) {
			t.Errorf("%s: %+v", c.name, f)
		}
		if (found(a, finding.FlownSlow) != nil) == (found(a, finding.SpeedUntold) != nil) {
			t.Errorf("%s: %+v", c.name, a.Findings)
		}
	}
}

// 10 m/s · 1/100 s / 2.5 cm = 4 pixels.
func TestBlurredPhotos(t *testing.T) {
	for _, c := range []struct {
		blurred int
		want    finding.Severity
	}{{0, ""}, {2, finding.Note}, {20, finding.NeedsAnswer}} {
		job := jobOf(rectangle(0, 0, 160, 290), mission(10, 2, 1.0/1000), 2)
		for i := range c.blurred {
			job.Photos[3*i].ExposureTime = 1.0 / 100
		}
		job.Photos[0].ExposureTime /= 2 // so that one is worse than the others
		if c.blurred > 0 {
			job.Photos[3].ExposureTime = 1.0 / 50
		}
		a := run(t, job)
		if len(a.Speed.Blurred) != c.blurred || a.Speed.BlurKnown != len(a.Shots) {
			t.Errorf("%d blurred of %d, want %d of %d", len(a.Speed.Blurred), a.Speed.BlurKnown, c.blurred, len(a.Shots))
		}
		f := found(a, finding.BlurredPhotos)
		if c.blurred == 0 {
			if f != nil {
				t.Errorf("%+v", f)
			}
			continue
		}
		if worst := a.Shots[a.Speed.Blurred[0]]; worst.File != "DCIM/100/IMG_0004.JPG" || math.Abs(worst.Blur-8) > 0.8 {
			t.Errorf("worst: %s, %v pixels", worst.File, worst.Blur)
		}
		if f == nil || f.Severity != c.want || !f.Place.Located || !strings.Contains(f.Text.String(), "IMG_0004.JPG") || !strings.Contains(f.Text.String(), "1/50 s") {
			t.Errorf("%+v", f)
		}
	}
}

// A speed of just the limit is none too fast, whatever whole seconds make of it.
func TestBlurAtTheLimit(t *testing.T) {
	job := jobOf(rectangle(0, 0, 160, 290), mission(7, 1.3, 0.0024), 2) // 0.672 pixels
	if a := run(t, job); len(a.Speed.Blurred) != 0 {
		t.Errorf("%d blurred", len(a.Speed.Blurred))
	}
}

// EV 0 at ISO 100 is 1 s at f/1; "sunny 16", 1/100 s at f/16 and ISO 100, is
// 14.64; and ISO 200 takes half the light (ISO 2720:1974, from memory).
func TestEV100(t *testing.T) {
	near(t, "unit", EV100(1, 1, 100), 0, 0)
	near(t, "bright sun", EV100(16, 1.0/100, 100), 14.64, 0.01)
	near(t, "at ISO 200", EV100(16, 1.0/100, 200), 13.64, 0.01)
	// 10 m/s · 1/500 s / 2 cm = 1 pixel.
	near(t, "blur", Blur(10, 1.0/500, 0.02), 1, 1e-12)
	near(t, "blur", Blur(15, 1.0/1000, 0.0273), 0.55, 0.001)
}

func TestStumblingBlocks(t *testing.T) {
	for _, c := range []struct {
		code   finding.Code
		text   string
		change func(p []photo.Photo)
	}{
		{finding.ExposureJumps, "IMG_0021.JPG", func(p []photo.Photo) { p[20].ISO = 210 }},
		{finding.ExposureJumps, "2 photos", func(p []photo.Photo) {
			for i := range p {
				p[i].FNumber = 0
			}
			p[20].ExposureTime *= 2.1
		}},
		// 4·(95 − 11 − 11)/95 = 3.07.
		{finding.LightDrift, "3.1 exposure values", func(p []photo.Photo) {
			for i := range p {
				p[i].ExposureTime = 0.0001 * math.Exp2(4*float64(i)/float64(len(p)))
			}
			for i := range p[:len(p)/8] {
				p[i].ExposureTime = p[len(p)/8].ExposureTime
				p[len(p)-1-i].ExposureTime = p[len(p)-len(p)/8].ExposureTime
			}
		}},
		{finding.GSDVaries, "heights above ground run from 50.0 m to 80.0 m", func(p []photo.Photo) {
			for i := range p[40:] {
				p[40+i].Height = 80
			}
		}},
		{finding.GSDVaries, "focal lengths differ", func(p []photo.Photo) {
			for i := range p[40:] {
				p[40+i].Camera.FocalLength = 17
			}
		}},
		{finding.GSDVaries, "tilted", func(p []photo.Photo) { p[20].Pitch, p[21].Pitch = -38, -38 }},
		{finding.HeightJumps, "IMG_0021.JPG", func(p []photo.Photo) { p[20].Altitude += 5.5 }},
		{finding.HeadingJumps, "1 photo the camera is turned by more than 30° from how it is in the rest of the line: DCIM/100/IMG_0021.JPG", func(p []photo.Photo) { p[20].Yaw = 180 }},
		{finding.ClockSetBack, "IMG_0041.JPG by 100 s than DCIM/100/IMG_0040.JPG", func(p []photo.Photo) {
			for i := range p[40:] {
				p[40+i].Time = p[40+i].Time.Add(-102 * time.Second)
			}
		}},
	} {
		job := jobOf(rectangle(0, 0, 160, 290), mission(8, 2, 1.0/2000), 2)
		if f := found(run(t, job), c.code); f != nil {
			t.Errorf("%s before: %+v", c.code, f)
		}
		c.change(job.Photos)
		if f := found(run(t, job), c.code); f == nil || !strings.Contains(f.Text.String(), c.text) {
			t.Errorf("%s: %+v", c.code, f)
		}
	}
	// A camera that keeps pointing north flips by 180° from line to line.
	job := jobOf(rectangle(0, 0, 160, 290), mission(8, 2, 1.0/2000), 2)
	if f := found(run(t, job), finding.HeadingJumps); f != nil {
		t.Errorf("flips: %+v", f)
	}
}

func TestMissedInTheAudit(t *testing.T) {
	photos := mission(8, 2, 1.0/2000) // 16 m apart, 19 a line
	gone := photos[25]                // 40 m east, 19 photos back and forth: 18 − 6 steps north
	if at := ground.Metres(gone.Position); distance(at, orb.Point{40, 12 * 16}) > 0.01 {
		t.Fatalf("%v", at)
	}
	job := jobOf(rectangle(0, 0, 160, 290), slices.Delete(slices.Clone(photos), 25, 26), 2)
	job.Wanted.Forward = 0.75
	a := run(t, job)
	if len(a.Missed) != 1 || a.Missed[0].After != "DCIM/100/IMG_0025.JPG" || a.Missed[0].Before != "DCIM/100/IMG_0027.JPG" || a.Missed[0].Count != 1 {
		t.Fatalf("%+v", a.Missed)
	}
	near(t, "place", distance(ground.Metres(a.Missed[0].Position), orb.Point{40, 12 * 16}), 0, 0.01)
	if f := found(a, finding.FilesMissing); f == nil || found(a, finding.TriggersMissed) != nil {
		t.Errorf("%+v", f)
	}
	// 32 m of 75: 57.3 % instead of the usual 78.7 %.
	if len(a.Weakest) != 1 || a.Weakest[0].First != a.Missed[0].After || a.Weakest[0].Cause.Format != betweenMissing.Format {
		t.Fatalf("%+v", a.Weakest)
	}
	near(t, "overlap", a.Weakest[0].Overlap, 1-32.0/75, 1e-6)
	if f := found(a, finding.ForwardOverlapLow); f == nil || !strings.Contains(f.Text.String(), "between DCIM/100/IMG_0025.JPG and DCIM/100/IMG_0027.JPG: a photo between them is missing") {
		t.Errorf("%+v", f)
	}
	// It is there, but of another audit, or of no use.
	job.Others = []string{gone.File}
	if a := run(t, job); len(a.Missed) != 0 {
		t.Errorf("%+v", a.Missed)
	}
	job.Others, job.LeftOut = nil, []photo.LeftOut{{File: gone.File, Reason: finding.Plain("no position")}}
	if a := run(t, job); len(a.Missed) != 0 {
		t.Errorf("%+v", a.Missed)
	}
	// Too fast throughout: 16 m apart where 15 were wanted.
	job = jobOf(rectangle(0, 0, 160, 290), photos, 2)
	job.Wanted.Forward = 0.8
	if a = run(t, job); len(a.Weakest) == 0 || a.Weakest[0].Cause.Format != tooFast.Format {
		t.Errorf("%+v", a.Weakest)
	}
}

func TestPhasesInTheAudit(t *testing.T) {
	photos := mission(8, 2, 1.0/2000)
	for i := range photos {
		photos[i].Time = photos[i].Time.Add(time.Minute)
	}
	start := photos[0].Time
	for i, height := range []float64{0.5, 0.5, 12} {
		p := exposureAt(0, 0, -20)
		p.File, p.Height, p.Time, p.TimeSource = fmt.Sprint("up", i), height, start.Add(time.Duration(i-10)*2*time.Second), photo.TimeFromGPS
		photos = append(photos, p)
	}
	a := run(t, jobOf(rectangle(0, 0, 160, 290), photos, 2))
	f := a.Flights[0]
	if f.OnGround != 2 || f.InClimb != 1 || f.OnLine != len(photos)-3 || f.Photos != len(photos) || f.Lines != 5 || !f.Start.Equal(start.Add(-20*time.Second)) {
		t.Errorf("%+v", f)
	}
	for _, l := range a.Photos.LeftOut {
		if l.Reason.String() != takenLow.String() {
			t.Errorf("%+v", l)
		}
	}
	if len(a.Photos.LeftOut) != 3 || a.Shots[0].Phase != "on line" {
		t.Errorf("left out %+v; first %q", a.Photos.LeftOut, a.Shots[0].Phase)
	}
}
