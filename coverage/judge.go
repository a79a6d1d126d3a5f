package coverage

import (
	"fmt"
	"math"
	"slices"
	"strings"

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

func (j *judgement) say(code finding.Code, severity finding.Severity, amount float64, unit, format string, args ...any) *finding.Finding {
	j.found = append(j.found, finding.Finding{
		Code: code, Severity: severity, Amount: amount, Unit: unit, Text: fmt.Sprintf(format, args...),
	})
	return &j.found[len(j.found)-1]
}

func (j *judgement) note(code finding.Code, amount float64, unit, format string, args ...any) {
	j.say(code, finding.Note, amount, unit, format, args...)
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
		j.say(finding.PhotosLeftOut, severity, float64(n), "photos", "%d of %s %s no part (%s).",
			n, counted(a.Photos.Read, "photo", "photos"), choose(n, "takes", "take"), reasons(a.Photos.LeftOut))
	}
	if n := a.Photos.Duplicates; n > 0 {
		j.note(finding.DuplicatePhotos, float64(n), "photos", "%s %s another: same place, and same time or file. Only the first counts.",
			counted(n, "photo", "photos"), choose(n, "repeats", "repeat"))
	}
	if a.Photos.Used > 0 {
		j.order(ordering)
	}
}

// reasons lists why photos are left out, the commonest first.
func reasons(leftOut []photo.LeftOut) string {
	var order []string
	times := map[string]int{}
	for _, l := range leftOut {
		if times[l.Reason]++; times[l.Reason] == 1 {
			order = append(order, l.Reason)
		}
	}
	slices.SortStableFunc(order, func(a, b string) int { return times[b] - times[a] })
	const most = 6
	var parts []string
	for i, r := range order {
		if i == most {
			parts = append(parts, "and other reasons")
			break
		}
		parts = append(parts, fmt.Sprintf("%d: %s", times[r], r))
	}
	return strings.Join(parts, "; ")
}

func (j *judgement) cameras(job Job, used []*candidate) {
	type camera struct {
		photo.Camera
		source string
	}
	var order []camera
	photos := map[camera]int{}
	different := map[photo.Camera]bool{}
	for _, c := range used {
		k := camera{c.Camera, c.CameraSource}
		if job.Camera.SensorWidth > 0 && job.Camera.SensorHeight > 0 {
			k.source = givenForJob
		}
		if photos[k]++; photos[k] == 1 {
			order = append(order, k)
		}
		different[c.Camera] = true
	}
	const most = 4
	for i, k := range order {
		if i == most {
			break
		}
		source := "sensor size: as the photos state it"
		if k.source != "" {
			source = "sensor size: " + k.source
		}
		if job.Camera.FocalLength > 0 {
			source += "; focal length: " + givenForJob
		}
		if job.Camera.Columns > 0 || job.Camera.Rows > 0 {
			source += "; pixels: " + givenForJob
		}
		j.note(finding.CameraSource, float64(photos[k]), "photos", "%s: sensor %g × %g mm, focal length %g mm, %d × %d pixels (%s).",
			counted(photos[k], "photo", "photos"), rounded(k.SensorWidth), rounded(k.SensorHeight), rounded(k.FocalLength), k.Columns, k.Rows, source)
	}
	if n := len(different); n > 1 {
		j.note(finding.MixedCameras, float64(n), "cameras", "%d different cameras or focal lengths took these photos; all of them count alike.", n)
	}
}

func (j *judgement) heights(job Job, used []*candidate) {
	names := [heightSources]string{
		overTerrain: "altitude less terrain",
		stated:      "as the photos state it",
		reduced:     fmt.Sprintf("the photos' altitude less that of the ground, %s", metres(job.Ground)),
		planned:     fmt.Sprintf("the planned height, %s", metres(job.Height)),
	}
	var order []string
	photos := map[string]int{}
	var apart, all [heightSources][]float64
	for _, c := range used {
		name := names[c.source]
		switch {
		case c.source == overTerrain:
			name += ", the altitude above " + datumName(c.AltitudeDatum)
		case c.source == reduced:
			name += ", both above " + datumName(c.AltitudeDatum)
		case finite(c.ground):
			name += ", counted from the terrain below"
		}
		if photos[name]++; photos[name] == 1 {
			order = append(order, name)
		}
		for s, h := range heightsOf(c.Photo, job, c.ground) {
			if finite(h) && heightSource(s) != c.source {
				apart[s] = append(apart[s], h-c.height)
				all[s] = append(all[s], c.height)
			}
		}
	}
	for _, name := range order {
		j.note(finding.HeightSource, float64(photos[name]), "photos", "Height above ground of %s: %s.", counted(photos[name], "photo", "photos"), name)
	}
	for s := range apart {
		if d, h := sequence.Median(apart[s]), sequence.Median(all[s]); math.Abs(d) > heightsFar*h {
			j.note(finding.HeightsDisagree, math.Abs(d), "m", "%s is %s %s than the height used, %s (medians of %s). Check which one is true.",
				sentence(names[s]), metres(math.Abs(d)), chooseIf(d > 0, "more", "less"), metres(h), counted(len(apart[s]), "photo", "photos"))
		}
	}
	if len(used) > 0 && job.Terrain == nil {
		j.note(finding.FlatGround, 0, "", "The ground is taken as level. Where it rises by a tenth of the flying height, a photo shows a tenth less of it along each side.")
	}
}

// datumName says what altitudes count from.
func datumName(datum string) string {
	switch datum {
	case photo.SeaLevel:
		return "sea level"
	case photo.Ellipsoid:
		return "the ellipsoid"
	}
	return "a datum that the photos do not name"
}

func (j *judgement) attitudes(used []*candidate) {
	if len(used) == 0 {
		return
	}
	j.note(finding.LensDistortion, 0, "", "Footprints are drawn from sensor size, focal length, position and attitude, without lens distortion.")
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
		j.note(finding.AssumedNadir, float64(n), "photos", "%s %s not say how the camera was tilted; it is taken to have looked straight down.",
			counted(n, "photo", "photos"), choose(n, "does", "do"))
	}
	if n := noRoll; n > 0 {
		j.note(finding.AssumedNadir, float64(n), "photos", "%s %s a pitch but no roll; the roll is taken as 0°.",
			counted(n, "photo", "photos"), choose(n, "gives", "give"))
	}
	if n := noYaw; n > 0 {
		j.note(finding.HeadingFromTrack, float64(n), "photos", "%s %s not say which way the camera was turned; the top of the image is taken to point along the track.",
			counted(n, "photo", "photos"), choose(n, "does", "do"))
	}
	if n := oblique; n > 0 {
		j.note(finding.ObliquePhotos, float64(n), "photos", "%s %s tilted more than %d° from straight down, the most %.0f°. They count like the others.",
			counted(n, "photo", "photos"), choose(n, "is", "are"), obliqueTilt, most)
	}
	if n := cut; n > 0 {
		j.note(finding.RayCut, float64(n), "photos", "%s %s further out than %d° from straight down; what lies beyond is not counted.",
			counted(n, "photo", "photos"), choose(n, "looks", "look"), steepest)
	}
}

func (j *judgement) places(job Job, a *Audit, used []*candidate) {
	if n := a.Photos.OutsideCentres; n > 0 {
		areas := "the site area"
		if len(job.Flight) > 0 {
			areas = "the site area and the flight area"
		}
		j.note(finding.CentresOutside, float64(n), "photos", "%s %s taken from outside %s.", counted(n, "photo", "photos"), choose(n, "was", "were"), areas)
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
	j.note(finding.HeightOverLimit, float64(over), "photos", "%s %s taken more than 120 m above ground, the highest at %s. %s",
		counted(over, "photo", "photos"), choose(over, "was", "were"), metresFine(highest), heightRule(highest))
}

// heightRule names the rules that a height over limitEU goes against.
func heightRule(height float64) string {
	if height > limitUS {
		return "The open category of (EU) 2019/947, UAS.OPEN.010(2), allows 120 m, and 14 CFR 107.51(b) 400 ft (121.92 m), both with exceptions; the local rule decides."
	}
	return "The open category of (EU) 2019/947, UAS.OPEN.010(2), allows 120 m, with exceptions; the local rule decides."
}
