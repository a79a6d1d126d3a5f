package coverage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

// Lines 50 m apart with 37.5 m between photos show every place exactly four
// times (half of each side is new); without one photo its 7500 m² are seen
// three times.
func TestOnePhotoMissing(t *testing.T) {
	site := rectangle(0, 0, 400, 300)
	photos := serpentine(-50, -75, 50, 37.5, 11, 13)
	full := jobOf(site, photos, 4)
	full.ReflyBuffer = 10
	a := run(t, full)
	near(t, "captured edge", a.Edge.Captured, a.Edge.Length, 1e-3)
	near(t, "edge", a.Edge.Length, 1400, 1e-3)
	near(t, "enough", a.Totals.EnoughShare, 1, 1e-9)
	near(t, "site area", a.SiteArea, 120_000, 0.01)
	if len(a.Zones)+len(a.Refly)+len(a.Edge.Stretches) != 0 || finding.Worst(a.Findings) != finding.Note {
		t.Errorf("complete flight: %+v", a.Findings)
	}

	for _, c := range []struct {
		name            string
		x, y            float64 // of the missing photo
		thin            float64
		stretchFrom, to float64
	}{
		{"in the middle", 200, 150, 100 * 75, 0, 0},
		{"on the south side", 200, 0, 100 * 37.5, 150, 250},
		{"at a corner", 0, 0, 50 * 37.5, 0, 50},
	} {
		t.Run(c.name, func(t *testing.T) {
			job := full
			job.Photos = slices.DeleteFunc(slices.Clone(photos), func(p photo.Photo) bool {
				return distance(ground.Metres(p.Position), orb.Point{c.x, c.y}) < 1
			})
			if len(job.Photos) != len(photos)-1 {
				t.Fatalf("%d photos", len(job.Photos))
			}
			a := run(t, job)
			near(t, "thin ground", a.Totals.Thin, c.thin, 0.05)
			near(t, "gaps", a.Totals.Gap+a.Totals.NoStereo, 0, 0.01)
			near(t, "enough", a.Totals.EnoughShare, 1-c.thin/120_000, 1e-6)
			if len(a.Zones) != 1 || a.Zones[0].Kind != Thin || len(a.Refly) != 1 {
				t.Fatalf("zones %+v, areas to fly again %+v", a.Zones, a.Refly)
			}
			near(t, "zone", a.Zones[0].Area, c.thin, 0.05)
			near(t, "geodesic area of the zone", plane.GeodesicArea(orb.MultiPolygon{a.Zones[0].Shape}), c.thin, 0.1)
			if f := found(a, finding.CoverageThin); f == nil || f.Severity != finding.NeedsAnswer || !f.Place.Located {
				t.Errorf("finding %+v", f)
			}
			if c.to == 0 {
				near(t, "captured edge", a.Edge.Captured, 1400, 1e-3)
				return
			}
			s := a.Edge.Stretches[0]
			near(t, "stretch from", s.From, c.stretchFrom, 1e-3)
			near(t, "stretch to", s.To, c.to, 1e-3)
			if s.MinViews != 3 || found(a, finding.EdgeShort) == nil {
				t.Errorf("stretch %+v", s)
			}
		})
	}
}

// Footprints side by side show every place once; without one photo its ground
// is a gap, and nothing else is, although all sides coincide.
func TestGapAmongFootprintsSideBySide(t *testing.T) {
	photos := serpentine(50, 37.5, 100, 75, 4, 4)
	missing := slices.IndexFunc(photos, func(p photo.Photo) bool {
		return distance(ground.Metres(p.Position), orb.Point{150, 112.5}) < 1
	})
	a := run(t, jobOf(rectangle(0, 0, 400, 300), slices.Delete(photos, missing, missing+1), 1))
	near(t, "gap", a.Totals.Gap, 7500, 0.05)
	if len(a.Zones) != 1 || a.Zones[0].Kind != Gap {
		t.Errorf("zones %+v", a.Zones)
	}
	near(t, "label", distance(ground.Metres(a.Zones[0].Label), orb.Point{150, 112.5}), 0, 0.01)
}

func TestWantedViewsDefault(t *testing.T) {
	a := run(t, jobOf(rectangle(0, 0, 400, 300), serpentine(-50, -75, 50, 37.5, 11, 13), 0))
	if a.Wanted.Views != 5 {
		t.Errorf("%d views wanted", a.Wanted.Views)
	}
	near(t, "thin", a.Totals.Thin, 120_000, 0.1)
}

func TestErrors(t *testing.T) {
	site, photos := rectangle(0, 0, 400, 300), serpentine(0, 0, 50, 40, 3, 4)
	change := func(f func(p *photo.Photo)) []photo.Photo {
		out := slices.Clone(photos)
		for i := range out {
			f(&out[i])
		}
		return out
	}
	for _, c := range []struct {
		name string
		job  Job
		want string
	}{
		{"no site", jobOf(nil, photos, 5), "site area"},
		{"empty polygon", jobOf(orb.MultiPolygon{{}}, photos, 5), "site area"},
		{"flat site", jobOf(orb.MultiPolygon{{{{0, 0}, {9, 0}, {0, 0}}}}, photos, 5), "no ground"},
		{"site not finite", Job{Site: orb.MultiPolygon{{{{math.NaN(), 0}, {1, 0}, {1, 1}, {math.NaN(), 0}}}}, Photos: photos}, "site area"},
		{"no photos", jobOf(site, nil, 5), "no photos"},
		{"no positions", jobOf(site, change(func(p *photo.Photo) { p.Position[0] = math.NaN() }), 5), "none of the photos has a position"},
		{"no focal length", jobOf(site, change(func(p *photo.Photo) { p.Camera.FocalLength = 0 }), 5), "the focal length"},
		{"no camera", jobOf(site, change(func(p *photo.Photo) { p.Camera = photo.Camera{} }), 5), "the sensor size, the focal length and the numbers of pixels"},
		{"no height", jobOf(site, change(func(p *photo.Photo) { p.Height = math.NaN() }), 5), "give the planned height, or the altitude of the ground"},
		{"planned height of nothing", func() Job {
			j := jobOf(site, change(func(p *photo.Photo) { p.Height = math.NaN() }), 5)
			j.Height = 0
			return j
		}(), "the height above ground is not known"},
		{"buffer", func() Job { j := jobOf(site, photos, 5); j.ReflyBuffer = -1; return j }(), "re-fly buffer"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Run(c.job); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}

func TestHeightSources(t *testing.T) {
	site := rectangle(0, 0, 400, 300)
	for _, c := range []struct {
		name                                 string
		stated, altitude, reference, planned float64
		want                                 float64
		sources, disagree                    int
	}{
		{"stated", 50, 300, 200, 80, 50, 1, 2},
		{"reduced", math.NaN(), 300, 240, 62, 60, 1, 0},
		{"ground at sea level", math.NaN(), 60, 0, math.NaN(), 60, 1, 0},
		{"planned", math.NaN(), 300, math.NaN(), 70, 70, 1, 0},
		{"agreeing", 50, 251, 200, 49, 50, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			job := jobOf(site, serpentine(0, 0, 50, 40, 4, 6), 5)
			for i := range job.Photos {
				job.Photos[i].Height, job.Photos[i].Altitude = c.stated, c.altitude
			}
			job.Ground, job.Height = c.reference, c.planned
			a := run(t, job)
			near(t, "height", a.Shots[0].Height, c.want, 1e-9)
			sources, disagree := 0, 0
			for _, f := range a.Findings {
				sources += one(f.Code == finding.HeightSource)
				disagree += one(f.Code == finding.HeightsDisagree)
			}
			if sources != c.sources || disagree != c.disagree {
				t.Errorf("%d sources and %d disagreements, want %d and %d: %+v", sources, disagree, c.sources, c.disagree, a.Findings)
			}
		})
	}
	// Photos may differ in what they know.
	job := jobOf(site, serpentine(0, 0, 50, 40, 4, 6), 5)
	job.Photos[3].Height, job.Height = math.NaN(), 55
	a := run(t, job)
	near(t, "height of the photo without", a.Shots[3].Height, 55, 0)
	near(t, "height of another", a.Shots[4].Height, 50, 0)
}

func TestLeftOut(t *testing.T) {
	site := rectangle(0, 0, 400, 300)
	fly := func() []photo.Photo { return serpentine(0, 0, 50, 40, 4, 6) }
	for _, c := range []struct {
		name   string
		change func(job *Job)
		reason finding.Text // of the one photo left out
	}{
		{"already when read", func(j *Job) {
			j.LeftOut = []photo.LeftOut{{File: "x", Reason: finding.Plain("no position in its metadata")}}
		}, finding.Plain("no position in its metadata")},
		{"no place on Earth", func(j *Job) { j.Photos[5].Position[1] = 95 }, noPosition},
		{"listed twice", func(j *Job) { p := j.Photos[5]; p.Time = time.Time{}; j.Photos = append(j.Photos, p) }, repeated},
		{"copied", func(j *Job) {
			p := j.Photos[5]
			p.File = "copy"
			p.Position = ground.Degrees(orb.Point{ground.Metres(p.Position)[0] + 0.007, ground.Metres(p.Position)[1]})
			j.Photos = append(j.Photos, p)
		}, repeated},
		{"no focal length", func(j *Job) { j.Photos[5].Camera.FocalLength = 0 }, noCamera},
		{"infinite sensor", func(j *Job) { j.Photos[5].Camera.SensorWidth = math.Inf(1) }, noCamera},
		{"no height", func(j *Job) { j.Photos[5].Height = math.NaN() }, noHeight},
		{"below the ground", func(j *Job) { j.Photos[5].Height = -3 }, notAbove},
		{"in space", func(j *Job) { j.Photos[5].Height = 1e7 }, tooHigh},
		{"in climb", func(j *Job) { j.Photos[0].Height = 50.0/3 - 0.1 }, takenLow},
		{"looking up", func(j *Job) { j.Photos[5].Pitch = 60 }, looksUp},
		{"elsewhere", func(j *Job) { j.Photos[0].Position = ground.Degrees(orb.Point{-51, 0}) }, seesNoGround},
		{"on another continent", func(j *Job) { j.Photos[0].Position = orb.Point{-100, 40} }, seesNoGround},
	} {
		t.Run(c.name, func(t *testing.T) {
			job := jobOf(site, fly(), 5)
			c.change(&job)
			a := run(t, job)
			if len(a.Photos.LeftOut) != 1 || a.Photos.LeftOut[0].Reason.String() != c.reason.String() {
				t.Fatalf("left out: %+v", a.Photos.LeftOut)
			}
			if a.Photos.Read != len(job.Photos)+len(job.LeftOut) || a.Photos.Used != a.Photos.Read-1 || len(a.Shots) != a.Photos.Used {
				t.Errorf("counts: %+v", a.Photos)
			}
			if got := a.Photos.Duplicates; got != one(c.reason.String() == repeated.String()) {
				t.Errorf("%d duplicates", got)
			}
			if found(a, finding.PhotosLeftOut) == nil || (found(a, finding.DuplicatePhotos) != nil) != (c.reason.String() == repeated.String()) {
				t.Errorf("findings: %+v", a.Findings)
			}
		})
	}
	for _, c := range []struct {
		name   string
		change func(p *photo.Photo)
	}{
		{"2 cm further", func(p *photo.Photo) {
			p.File, p.Position = "x", ground.Degrees(orb.Point{ground.Metres(p.Position)[0] + 0.02, ground.Metres(p.Position)[1]})
		}},
		{"a second later", func(p *photo.Photo) { p.File, p.Time = "x", p.Time.Add(time.Second) }},
		{"a like name elsewhere", func(p *photo.Photo) { p.Position = ground.Degrees(orb.Point{33, 44}) }},
		{"just high enough", func(p *photo.Photo) { p.File, p.Time, p.Height = "x", p.Time.Add(time.Second), 50.0/3+0.1 }},
	} {
		t.Run("kept: "+c.name, func(t *testing.T) {
			job := jobOf(site, fly(), 5)
			p := job.Photos[5]
			c.change(&p)
			job.Photos = append(job.Photos, p)
			if a := run(t, job); len(a.Photos.LeftOut) != 0 {
				t.Errorf("left out: %+v", a.Photos.LeftOut)
			}
		})
	}
}

func TestRepeatsLooksAtAltitudes(t *testing.T) {
	a := candidate{Photo: &photo.Photo{File: "a", Altitude: 100}}
	for altitude, want := range map[float64]bool{100: true, 100.009: true, 100.02: false, math.NaN(): true} {
		if b := (candidate{Photo: &photo.Photo{File: "b", Altitude: altitude}}); a.repeats(&b) != want {
			t.Errorf("altitude %v: repeats %v", altitude, !want)
		}
	}
}

// Whatever photos come, each is used or left out once, and nothing breaks.
func TestEveryPhotoIsAccountedFor(t *testing.T) {
	random := rand.New(rand.NewPCG(23, 24))
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1e300, 90, -90, 180}
	for round := range 60 {
		photos := randomFlight(random, 30)
		for i := range photos {
			p := &photos[i]
			fields := []*float64{&p.Position[0], &p.Position[1], &p.Altitude, &p.Height, &p.Yaw, &p.Pitch, &p.Roll,
				&p.Camera.SensorWidth, &p.Camera.SensorHeight, &p.Camera.FocalLength, &p.PositionError}
			if random.IntN(3) == 0 {
				*fields[random.IntN(len(fields))] = odd[random.IntN(len(odd))]
			}
			if random.IntN(9) == 0 {
				p.Time = time.Time{}
			}
			if random.IntN(9) == 0 {
				*p = photos[random.IntN(len(photos))]
			}
		}
		job := jobOf(orb.MultiPolygon{star(random)}, photos, 3)
		job.LeftOut = make([]photo.LeftOut, round%4)
		job.Wanted = Wanted{Views: 3, Forward: 0.7, Side: 0.6, GSD: 0.01}
		job.MinZone, job.ReflyBuffer = 1, 5
		a := run(t, job)
		if a.Photos.Read != len(photos)+round%4 || a.Photos.Read != a.Photos.Used+len(a.Photos.LeftOut) || len(a.Shots) != a.Photos.Used {
			t.Fatalf("counts %+v", a.Photos)
		}
		for _, l := range a.Lines {
			for _, i := range l.Shots {
				if i < 0 || i >= len(a.Shots) {
					t.Fatalf("line with shot %d of %d", i, len(a.Shots))
				}
			}
		}
		for _, f := range a.Findings {
			if f.Text.Empty() || strings.Contains(f.Text.String(), "%!") || strings.Contains(f.Text.String(), "NaN") {
				t.Errorf("text %q", f.Text)
			}
			if !slices.ContainsFunc(finding.Table, func(e finding.Entry) bool { return e.Code == f.Code }) {
				t.Errorf("code %q is in no table", f.Code)
			}
		}
	}
}

func TestAssumptionsAreFindings(t *testing.T) {
	for _, c := range []struct {
		code   finding.Code
		change func(job *Job)
	}{
		{finding.OrderAsListed, func(j *Job) { j.Photos[2].Time, j.Photos[3].File = time.Time{}, "" }},
		{finding.OrderByName, func(j *Job) { j.Photos[2].Time = time.Time{} }},
		{finding.OrderByName, func(j *Job) { j.Photos[2].TimeSource = photo.TimeWithoutZone }},
		{finding.MixedCameras, func(j *Job) { j.Photos[2].Camera.FocalLength = 12 }},
		{finding.AssumedNadir, func(j *Job) { j.Photos[2].Pitch = math.NaN() }},
		{finding.AssumedNadir, func(j *Job) { j.Photos[2].Roll = math.NaN() }},
		{finding.HeadingFromTrack, func(j *Job) { j.Photos[2].Yaw = math.NaN() }},
		{finding.ObliquePhotos, func(j *Job) { j.Photos[2].Pitch = -74.9 }},
		{finding.RayCut, func(j *Job) { j.Photos[2].Pitch = -60; j.Photos[2].Yaw = 30 }},
		{finding.CentresOutside, func(j *Job) { j.Photos[0].Position = ground.Degrees(orb.Point{-1, 5}) }},
		{finding.HeightOverLimit, func(j *Job) { j.Photos[2].Height = 120.1 }},
		{finding.HeightsDisagree, func(j *Job) { j.Height = 60 }},
		{finding.HeightsDisagree, func(j *Job) { j.Height = 44 }},
		{finding.ForwardOverlapLow, func(j *Job) { j.Wanted.Forward = 0.6 }},
		{finding.SideOverlapLow, func(j *Job) { j.Wanted.Side = 0.6 }},
		{finding.GSDCoarse, func(j *Job) { j.Wanted.GSD = 0.02 }},
		{finding.CoverageThin, func(j *Job) { j.Wanted.Views = 5 }},
		{finding.CoverageNoStereo, func(j *Job) { j.Photos, j.Wanted.Views = j.Photos[:1], 2 }},
		{finding.CoverageGap, func(j *Job) { j.Photos = j.Photos[:5] }},
		{finding.EdgeShort, func(j *Job) { j.Photos = j.Photos[12:] }},
	} {
		job := jobOf(rectangle(0, 0, 400, 300), serpentine(0.1, 0.1, 49.9, 37.4, 9, 9), 1)
		before := run(t, job)
		c.change(&job)
		after := run(t, job)
		if found(before, c.code) != nil || found(after, c.code) == nil {
			t.Errorf("%s: before %v, after %v", c.code, found(before, c.code), after.Findings)
		}
	}
	always := run(t, jobOf(rectangle(0, 0, 400, 300), serpentine(0, 0, 50, 37.5, 9, 9), 1))
	for _, code := range []finding.Code{finding.HeightSource, finding.CameraSource, finding.FlatGround, finding.LensDistortion} {
		if f := found(always, code); f == nil || f.Severity != finding.Note {
			t.Errorf("%s: %v", code, f)
		}
	}
}

// Of ten lines 35 m apart the first ones are flown too high: what the next line
// does not reach is coarse, 30 m wide for two of them and 65 m for three.
func TestFewMissesAskNothing(t *testing.T) {
	for _, c := range []struct {
		lines int
		area  float64
		want  finding.Severity
	}{{0, 0, ""}, {1, 61 * 0.75, finding.Note}, {2, 30*168.25 + 66*0.75, finding.Note}, {3, 65*168.25 + 66*0.75, finding.NeedsAnswer}} {
		job := jobOf(rectangle(0, 0, 400, 300), serpentine(10, 10, 35, 30, 10, 5), 1)
		job.Wanted.GSD = 0.025 // 50 m · 5 µm / 10 mm
		for i := range 5 * c.lines {
			job.Photos[i].Height = 51
		}
		a := run(t, job)
		var got finding.Severity
		if f := found(a, finding.GSDCoarse); f != nil {
			got = f.Severity
			near(t, "share of the area", f.Amount, c.area/120_000, 1e-6)
		}
		if got != c.want {
			t.Errorf("%d coarse lines: %q, want %q", c.lines, got, c.want)
		}
		near(t, "coarse ground", a.GSDByPlace.Coarse.Area, c.area, 0.1)
	}
}

func TestObliqueLimit(t *testing.T) {
	for pitch, want := range map[float64]bool{-75.1: false, -74.9: true} {
		job := jobOf(rectangle(0, 0, 400, 300), serpentine(10, 10, 35, 30, 10, 5), 1)
		job.Photos[7].Pitch = pitch
		if got := found(run(t, job), finding.ObliquePhotos) != nil; got != want {
			t.Errorf("pitch %v: finding %v", pitch, got)
		}
	}
}

func TestCameraOfTheJobComesFirst(t *testing.T) {
	job := jobOf(rectangle(0, 0, 400, 300), serpentine(10, 10, 35, 30, 10, 5), 1)
	for i := range job.Photos {
		job.Photos[i].Camera.SensorWidth = 0
	}
	job.Camera = photo.Camera{SensorWidth: 20, FocalLength: 8, Columns: 2000}
	a := run(t, job)
	if got, want := a.Shots[0].Camera, (photo.Camera{SensorWidth: 20, SensorHeight: 15, FocalLength: 8, Columns: 2000, Rows: 3000}); got != want {
		t.Errorf("camera %+v, want %+v", got, want)
	}
	near(t, "footprint", plane.GeodesicArea(orb.MultiPolygon{{a.Shots[0].Footprint}}), 125*93.75, 0.5)
	if f := found(a, finding.CameraSource); !strings.Contains(f.Text.String(), "focal length: "+givenForJob) {
		t.Errorf("finding %+v", f)
	}
}

// The order flown comes from the times, not from the list.
func TestOrderComesFromTimes(t *testing.T) {
	job := jobOf(rectangle(0, 0, 400, 300), serpentine(10, 10, 35, 30, 10, 5), 3)
	listed := run(t, job)
	random := rand.New(rand.NewPCG(29, 30))
	job.Photos = slices.Clone(job.Photos)
	random.Shuffle(len(job.Photos), func(i, k int) { job.Photos[i], job.Photos[k] = job.Photos[k], job.Photos[i] })
	if shuffled := run(t, job); spelt(shuffled) != spelt(listed) {
		t.Error("shuffled photos give another audit")
	}
	if len(listed.Lines) != 10 {
		t.Errorf("%d lines, want 10", len(listed.Lines))
	}
}

// spelt is everything in an audit, its photos included.
func spelt(a *Audit) string {
	text := ""
	b := *a
	b.Shots = slices.Clone(a.Shots)
	for i := range b.Shots {
		text += fmt.Sprintf("%+v\n", *b.Shots[i].Photo)
		b.Shots[i].Photo = nil
	}
	return text + fmt.Sprintf("%+v", b)
}

// 120 m: (EU) 2019/947, Annex, UAS.OPEN.010(2). 400 ft = 121.92 m: 14 CFR 107.51(b).
func TestHeightLimits(t *testing.T) {
	for _, c := range []struct {
		height float64
		eu, us bool
	}{{120, false, false}, {120.5, true, false}, {121.92, true, false}, {122, true, true}} {
		job := jobOf(rectangle(0, 0, 400, 300), serpentine(0, 0, 50, 40, 4, 6), 5)
		for i := range job.Photos {
			job.Photos[i].Height = c.height
		}
		f := found(run(t, job), finding.HeightOverLimit)
		eu := f != nil && strings.Contains(f.Text.String(), "UAS.OPEN.010(2)")
		us := f != nil && strings.Contains(f.Text.String(), "107.51(b)")
		if eu != c.eu || us != c.us || f != nil && !strings.Contains(f.Text.String(), "local rule") {
			t.Errorf("%v m: %+v", c.height, f)
		}
	}
}

func TestHeadingFromTrackIsUsed(t *testing.T) {
	job := jobOf(rectangle(0, 0, 400, 300), nil, 1)
	for i := range 6 { // flown to the east: the long side of the image lies north to south
		p := exposure(i, 100+float64(i)*30, 150)
		p.Yaw, p.Pitch, p.Roll = math.NaN(), math.NaN(), math.NaN()
		job.Photos = append(job.Photos, p)
	}
	a := run(t, job)
	for _, s := range a.Shots {
		b := orb.MultiPolygon{{s.Footprint}}
		near(t, "footprint", plane.GeodesicArea(b), 7500, 0.1)
	}
	near(t, "seen", a.Totals.CoveredShare*a.SiteArea, (5*30+75)*100, 0.1)
	near(t, "forward overlap", a.Overlap.Forward.Median, 1-30.0/75, 1e-6)
}

func TestOutsideCentres(t *testing.T) {
	job := jobOf(rectangle(0, 0, 400, 300), serpentine(-49, -74, 50, 37.5, 11, 13), 4)
	want := 0
	for _, p := range job.Photos {
		at := (orb.MultiPoint{ground.Metres(p.Position)}).Bound()
		sees := rectangle(-50, -37.5, 450, 337.5).Bound().Intersects(at)
		want += one(sees && !rectangle(-40, -60, 440, 360).Bound().Intersects(at))
	}
	job.Flight = ground.ToDegrees(rectangle(-40, -60, 440, 360))
	a := run(t, job)
	if got := a.Photos.OutsideCentres; got != want || want == 0 {
		t.Errorf("%d centres outside, want %d", got, want)
	}
	flags := 0
	for _, s := range a.Shots {
		flags += one(s.Outside)
	}
	if flags != a.Photos.OutsideCentres {
		t.Errorf("%d shots flagged, %d counted", flags, a.Photos.OutsideCentres)
	}
}

// A stretch beside a piece that is too small to list is flown again for its own
// sake, unless it is very short; the finding says so.
func TestStretchWithoutRefly(t *testing.T) {
	photos := serpentine(-50, -75, 50, 37.5, 10, 13)
	job := jobOf(rectangle(0, 0, 402, 300), photos, 4) // the last 2 m are seen twice
	job.MinZone = 1000
	job.ReflyBuffer = 5
	a := run(t, job)
	if len(a.Zones) != 0 || len(a.Edge.Stretches) == 0 || len(a.Refly) != 1 || len(a.Refly[0].Stretches) != len(a.Edge.Stretches) {
		t.Fatalf("stretches %+v, areas %+v", a.Edge.Stretches, a.Refly)
	}
	if f := found(a, finding.EdgeShort); f == nil || strings.Contains(f.Text.String(), "outside the re-fly areas") {
		t.Errorf("finding %+v", f)
	}
	narrow := job
	narrow.Site = ground.ToDegrees(rectangle(0, 299.5, 400.1, 300)) // 0.7 m of its east end
	if a := run(t, narrow); len(a.Refly) != 0 {
		t.Errorf("areas %+v", a.Refly)
	} else if f := found(a, finding.EdgeShort); f == nil || !strings.Contains(f.Text.String(), "outside the re-fly areas") {
		t.Errorf("finding %+v", f)
	}
	if f := found(a, finding.CoverageThin); f == nil || f.Severity != finding.Note {
		t.Errorf("finding %+v", f)
	}
	job.MinZone = 0
	a = run(t, job)
	if f := found(a, finding.EdgeShort); len(a.Refly) == 0 || strings.Contains(f.Text.String(), "outside the re-fly areas") {
		t.Errorf("areas %+v, finding %+v", a.Refly, f)
	}
}

// The audit must not depend on where on Earth the job lies.
func TestAcrossTheDateLine(t *testing.T) {
	there := plane.NewFrame(orb.Point{180, 0})
	site := rectangle(0, 0, 400, 300)
	for i, p := range site[0][0] {
		site[0][0][i] = orb.Point{p[0] - 200, p[1] - 150}
	}
	job := jobOf(site, serpentine(-249, -224, 50, 37.5, 11, 13), 4)
	here := run(t, job)
	move := func(p orb.Point) orb.Point { return plane.WrapPoint(there.Degrees(ground.Metres(p))) }
	for i, p := range job.Site[0][0] {
		job.Site[0][0][i] = move(p)
	}
	for i := range job.Photos {
		job.Photos[i].Position = move(job.Photos[i].Position)
	}
	a := run(t, job)
	near(t, "site area", a.SiteArea, here.SiteArea, 0.01)
	near(t, "enough", a.Totals.EnoughShare, here.Totals.EnoughShare, 1e-9)
	near(t, "captured", a.Edge.Captured, here.Edge.Captured, 1e-3)
	if a.Photos.Used != here.Photos.Used {
		t.Errorf("%d photos used, want %d", a.Photos.Used, here.Photos.Used)
	}
}

// Areas in the plane against geodesic ones, far from the equator.
func TestAreasAreThoseOnTheGround(t *testing.T) {
	north := plane.NewFrame(orb.Point{25, 65})
	random := rand.New(rand.NewPCG(31, 32))
	site := orb.MultiPolygon{star(random)}
	for _, ring := range site[0] {
		for i, p := range ring {
			ring[i] = orb.Point{(p[0] - 150) * 10, (p[1] - 150) * 10}
		}
	}
	job := Job{Site: north.ToDegrees(site), Height: math.NaN(), Ground: math.NaN(), Wanted: Wanted{Views: 1}}
	for i, p := range randomFlight(random, 150) {
		at := ground.Metres(p.Position)
		p.File, p.Position = fmt.Sprint(i), north.Degrees(orb.Point{(at[0] - 150) * 10, (at[1] - 150) * 10})
		p.Height *= 4
		job.Photos = append(job.Photos, p)
	}
	a := run(t, job)
	// Sides are straight in degrees; short pieces of them are geodesics.
	whole := plane.GeodesicArea(north.ToDegrees(north.ToMetres(job.Site, 0.0001)))
	near(t, "site area", a.SiteArea/whole, 1, 1e-6)
	for _, b := range a.Views {
		near(t, "area of a band", b.Area, plane.GeodesicArea(b.Shape), 1e-6*whole)
	}
	for _, z := range a.Zones {
		near(t, "area of a zone", z.Area, plane.GeodesicArea(orb.MultiPolygon{z.Shape}), 1e-6*whole)
		if z.Area > 1 && !plane.Contains(orb.MultiPolygon{z.Shape}, z.Label) {
			t.Errorf("label %v is outside its zone", z.Label)
		}
	}
	if len(a.Zones) < 3 {
		t.Errorf("%d zones", len(a.Zones))
	}
}

// A camera that sees next to nothing must not count as seeing everything.
func TestNarrowestCamera(t *testing.T) {
	job := jobOf(rectangle(0, 0, 400, 300), serpentine(0, 0, 35, 30, 10, 5), 1)
	for i := range job.Photos {
		job.Photos[i].Camera.SensorWidth, job.Photos[i].Camera.SensorHeight = 1e-300, 1e-300
	}
	a := run(t, job)
	near(t, "gap", a.Totals.Gap, 120_000, 0.1)
	near(t, "captured edge", a.Edge.Captured, 0, 0)
}

func TestRunLeavesTheJobAlone(t *testing.T) {
	random := rand.New(rand.NewPCG(25, 26))
	job := jobOf(orb.MultiPolygon{star(random)}, randomFlight(random, 40), 3)
	slices.Reverse(job.Photos)
	before := fmt.Sprintf("%+v", job)
	first := fmt.Sprintf("%+v", run(t, job))
	if fmt.Sprintf("%+v", job) != before {
		t.Error("the job changed")
	}
	if fmt.Sprintf("%+v", run(t, job)) != first {
		t.Error("a second run gives another answer")
	}
}
