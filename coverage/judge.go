package coverage

import (
	"math"
	"slices"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
	"selvage/coverage/sequence"
)

const (
	obliqueTilt = 15   // degrees; common practice, no source
	heightsFar  = 0.1  // share of the height; common practice, no source
	fewMisses   = 0.05 // share of values that may miss without asking; common practice, no source

	// Greatest heights above ground, metres: (EU) 2019/947, UAS.OPEN.010(2),
	// and 400 ft in 14 CFR 107.51(b).
	limitEU = 120.0
	limitUS = 400 * 0.3048
)

// judgement gathers findings.
type judgement struct{ found []finding.Finding }

func (j *judgement) say(code finding.Code, severity finding.Severity, amount float64, unit string, text finding.Text) *finding.Finding {
	j.found = append(j.found, finding.Finding{Code: code, Severity: severity, Amount: amount, Unit: unit, Text: text})
	return &j.found[len(j.found)-1]
}

func (j *judgement) note(code finding.Code, amount float64, unit string, text finding.Text) {
	j.say(code, finding.Note, amount, unit, text)
}

// judge says everything that the reader of an audit has to know: what was
// left out, what was assumed, and what falls short.
func judge(job Job, a *Audit, s *selection, used []*candidate, unflown unflownEdge) []finding.Finding {
	j := &judgement{}
	j.photos(a, s.trace.Ordering)
	j.cameras(job, used)
	j.heights(job, used)
	j.terrain(job, s.relief, used)
	j.attitudes(used)
	j.places(job, a, used)
	j.zones(a, job.MinZone)
	j.edge(a, unflown)
	j.refly(job, a)
	j.points(a)
	j.overlaps(a)
	j.certainty(job, a)
	j.flights(a, s)
	return j.found
}

func (j *judgement) photos(a *Audit, ordering sequence.Ordering) {
	if n := len(a.Photos.LeftOut); n > 0 {
		severity := finding.Note
		if a.Photos.Used == 0 {
			severity = finding.NeedsAnswer
		}
		all, why := photos(a.Photos.Read), reasons(a.Photos.LeftOut)
		j.say(finding.PhotosLeftOut, severity, float64(n), "photos", finding.Either(n == 1,
			finding.Say("%s of %s takes no part (%s).", finding.Whole(n), all, why),
			finding.Say("%s of %s take no part (%s).", finding.Whole(n), all, why)))
	}
	if n := a.Photos.Duplicates; n > 0 {
		j.note(finding.DuplicatePhotos, float64(n), "photos", finding.Say("%s another: same place, and same time or file. Only the first counts.",
			finding.Counted(n, "photo repeats", "photos repeat")))
	}
	if a.Photos.Used > 0 {
		j.order(ordering)
	}
}

// reasons lists why photos are left out, the commonest first.
func reasons(leftOut []photo.LeftOut) finding.Text {
	type reason struct {
		text  finding.Text
		times int
	}
	var order []*reason
	known := map[string]*reason{}
	for _, l := range leftOut {
		key := l.Reason.String()
		if known[key] == nil {
			known[key] = &reason{text: l.Reason}
			order = append(order, known[key])
		}
		known[key].times++
	}
	slices.SortStableFunc(order, func(a, b *reason) int { return b.times - a.times })
	const most = 6
	var all finding.Text
	for i, r := range order[:min(most, len(order))] {
		next := finding.Say("%s: %s", finding.Whole(r.times), r.text)
		all = finding.Either(i == 0, next, finding.Say("%s; %s", all, next))
	}
	if len(order) > most {
		all = finding.Say("%s; and other reasons", all)
	}
	return all
}

func (j *judgement) cameras(job Job, used []*candidate) {
	type camera struct {
		photo.Camera
		source string
	}
	var order []camera
	times := map[camera]int{}
	different := map[photo.Camera]bool{}
	for _, c := range used {
		k := camera{c.Camera, c.CameraSource}
		if job.Camera.SensorWidth > 0 && job.Camera.SensorHeight > 0 {
			k.source = givenForJob
		}
		if times[k]++; times[k] == 1 {
			order = append(order, k)
		}
		different[c.Camera] = true
	}
	const most = 4
	for i, k := range order {
		if i == most {
			break
		}
		source := finding.Say("sensor size: as the photos state it")
		if k.source != "" {
			source = finding.Say("sensor size: %s", k.source)
		}
		if job.Camera.FocalLength > 0 {
			source = finding.Say("%s; focal length: %s", source, givenForJob)
		}
		if job.Camera.Columns > 0 || job.Camera.Rows > 0 {
			source = finding.Say("%s; pixels: %s", source, givenForJob)
		}
		j.note(finding.CameraSource, float64(times[k]), "photos", finding.Say("%s: sensor %s × %s mm, focal length %s mm, %d × %d pixels (%s).",
			photos(times[k]), thousandths(k.SensorWidth), thousandths(k.SensorHeight), thousandths(k.FocalLength), k.Columns, k.Rows, source))
	}
	if n := len(different); n > 1 {
		j.note(finding.MixedCameras, float64(n), "cameras", finding.Say("%s different cameras or focal lengths took these photos; all of them count alike.", finding.Whole(n)))
	}
}

func (j *judgement) heights(job Job, used []*candidate) {
	names := [heightSources]finding.Text{
		overTerrain: finding.Say("altitude less terrain"),
		stated:      finding.Say("as the photos state it"),
		reduced:     finding.Say("the photos’ altitude less that of the ground, %s", finding.Given(job.Ground)),
		planned:     finding.Say("the planned height, %s", finding.Given(job.Height)),
	}
	type kind struct {
		source  heightSource
		datum   string
		counted bool // from the terrain below
	}
	var order []kind
	times := map[kind]int{}
	var apart, all [heightSources][]float64
	for _, c := range used {
		k := kind{source: c.source, counted: c.source != overTerrain && c.source != reduced && finite(c.ground)}
		if c.source == overTerrain || c.source == reduced {
			k.datum = datumName(c.AltitudeDatum).String()
		}
		if times[k]++; times[k] == 1 {
			order = append(order, k)
		}
		for s, h := range heightsOf(c.Photo, job, c.ground) {
			if finite(h) && heightSource(s) != c.source {
				apart[s] = append(apart[s], h-c.height)
				all[s] = append(all[s], c.height)
			}
		}
	}
	for _, k := range order {
		name := names[k.source]
		switch {
		case k.source == overTerrain:
			name = finding.Say("%s, the altitude above %s", name, finding.Plain(k.datum))
		case k.source == reduced:
			name = finding.Say("%s, both above %s", name, finding.Plain(k.datum))
		case k.counted:
			name = finding.Say("%s, counted from the terrain below", name)
		}
		j.note(finding.HeightSource, float64(times[k]), "photos", finding.Say("Height above ground of %s: %s.", photos(times[k]), name))
	}
	for s := range apart {
		if d, h := sequence.Median(apart[s]), sequence.Median(all[s]); math.Abs(d) > heightsFar*h {
			name, by, used, n := finding.Start(names[s]), finding.Length(math.Abs(d)), finding.Length(h), photos(len(apart[s]))
			j.note(finding.HeightsDisagree, math.Abs(d), "m", finding.Either(d > 0,
				finding.Say("%s is %s more than the height used, %s (medians of %s). Check which one is true.", name, by, used, n),
				finding.Say("%s is %s less than the height used, %s (medians of %s). Check which one is true.", name, by, used, n)))
		}
	}
	if len(used) > 0 && job.Terrain == nil {
		j.note(finding.FlatGround, 0, "", finding.Say("The ground is taken as level. Where it rises by a tenth of the flying height, a photo shows a tenth less of it along each side."))
	}
}

// datumName says what altitudes count from.
func datumName(datum string) finding.Text {
	switch datum {
	case photo.SeaLevel:
		return finding.Say("sea level")
	case photo.Ellipsoid:
		return finding.Say("the ellipsoid")
	}
	return finding.Say("a datum that the photos do not name")
}

func (j *judgement) attitudes(used []*candidate) {
	if len(used) == 0 {
		return
	}
	j.note(finding.LensDistortion, 0, "", finding.Say("Footprints are drawn from sensor size, focal length, position and attitude, without lens distortion."))
	var noPitch, noRoll, noYaw, oblique, cut int
	var most float64
	for _, c := range used {
		noPitch += one(c.noPitch)
		noRoll += one(!c.noPitch && c.noRoll)
		noYaw += one(c.noYaw)
		cut += one(c.cut)
		if tilt := c.pose().tilt(); tilt > obliqueTilt {
			oblique++
			most = max(most, tilt)
		}
	}
	if n := noPitch; n > 0 {
		j.note(finding.AssumedNadir, float64(n), "photos", finding.Say("%s not say how the camera was tilted; it is taken to have looked straight down.",
			finding.Counted(n, "photo does", "photos do")))
	}
	if n := noRoll; n > 0 {
		j.note(finding.AssumedNadir, float64(n), "photos", finding.Say("%s a pitch but no roll; the roll is taken as 0°.",
			finding.Counted(n, "photo gives", "photos give")))
	}
	if n := noYaw; n > 0 {
		j.note(finding.HeadingFromTrack, float64(n), "photos", finding.Say("%s not say which way the camera was turned; the top of the image is taken to point along the track.",
			finding.Counted(n, "photo does", "photos do")))
	}
	if n := oblique; n > 0 {
		j.note(finding.ObliquePhotos, float64(n), "photos", finding.Say("%s tilted more than %d° from straight down, the most %s°. They count like the others.",
			finding.Counted(n, "photo is", "photos are"), obliqueTilt, finding.Decimal("%.0f", most)))
	}
	if n := cut; n > 0 {
		j.note(finding.RayCut, float64(n), "photos", finding.Say("%s further out than %d° from straight down; what lies beyond is not counted.",
			finding.Counted(n, "photo looks", "photos look"), steepest))
	}
}

func (j *judgement) places(job Job, a *Audit, used []*candidate) {
	if n := a.Photos.OutsideCentres; n > 0 {
		were := finding.Counted(n, "photo was", "photos were")
		j.note(finding.CentresOutside, float64(n), "photos", finding.Either(len(job.Flight) == 0,
			finding.Say("%s taken from outside the site area.", were),
			finding.Say("%s taken from outside the site area and the flight area.", were)))
	}
	var over int
	var highest float64
	for _, c := range used {
		over += one(c.height > limitEU)
		highest = max(highest, c.height)
	}
	if over == 0 {
		return
	}
	j.note(finding.HeightOverLimit, float64(over), "photos", finding.Sentences(
		finding.Say("%s taken more than %s above ground, the highest at %s.",
			finding.Counted(over, "photo was", "photos were"), finding.Stated(limitEU), finding.Tenths(highest)), heightRule(highest)))
}

// heightRule names the rules that a height over limitEU goes against.
func heightRule(height float64) finding.Text {
	if height > limitUS {
		return finding.Say("The open category of (EU) 2019/947, UAS.OPEN.010(2), allows %s, and 14 CFR 107.51(b) 400 ft (%s m), both with exceptions; the local rule decides.",
			finding.Stated(limitEU), finding.Decimal("%.2f", limitUS))
	}
	return finding.Say("The open category of (EU) 2019/947, UAS.OPEN.010(2), allows %s, with exceptions; the local rule decides.", finding.Stated(limitEU))
}
