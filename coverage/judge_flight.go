package coverage

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/sequence"
)

// What is worth a word in a flight. All are common practice, no source.
const (
	lightJump   = 1.0  // exposure values between neighbours
	lightDrift  = 2.0  // exposure values over a flight
	wideGSD     = 1.5  // the greatest by the least
	heightJump  = 0.1  // share of the height between neighbours
	leastJump   = 5.0  // metres
	headingJump = 30.0 // degrees from the rest of the line
)

func (j *judgement) order(ordering sequence.Ordering) {
	switch ordering {
	case sequence.AsListed:
		j.note(finding.OrderAsListed, 0, "", "The photos do not all have a time from the same clock, so the order of the list is taken as the order flown.")
	case sequence.ByName:
		j.note(finding.OrderByName, 0, "", "The photos do not all have a time from the same clock, so the numbers in the file names are taken as the order flown.")
	}
}

// flights says what stands out in how the photos were flown.
func (j *judgement) flights(a *Audit, s *selection) {
	if a.Photos.Used == 0 {
		return
	}
	j.clock(s)
	j.missing(a)
	j.speeds(a)
	j.blur(a)
	j.light(s)
	j.scale(a)
	j.jumps(s)
}

func (j *judgement) clock(s *selection) {
	if n := len(s.trace.SetBack); n > 0 {
		b := s.trace.SetBack[0]
		j.note(finding.ClockSetBack, float64(n), "photos", "%s an earlier time than the one before by the numbers in the names: %s by %s than %s%s. The times decide on the order flown.",
			counted(n, "photo has", "photos have"), b.After, seconds(b.By), b.Before, chooseIf(n > 1, ", the first of them", ""))
	}
}

func (j *judgement) missing(a *Audit) {
	for _, kind := range []struct {
		kinds []sequence.Kind
		code  finding.Code
		one   string
		many  string
		tells string
	}{
		{[]sequence.Kind{sequence.File}, finding.FilesMissing, "file is", "files are", "missing by the numbers in the file names, within a flight"},
		{[]sequence.Kind{sequence.Trigger}, finding.TriggersMissed, "photo was", "photos were", "not taken: the numbers in the file names go on, but the photos are twice as far apart as usual, or farther"},
		{[]sequence.Kind{sequence.Unclear}, finding.TriggersMissed, "photo is", "photos are", "missing in the lines by the distances; the file names do not tell whether the camera missed or a file is missing"},
	} {
		var first *Missed
		photos, places := 0, 0
		for i, m := range a.Missed {
			if slices.Contains(kind.kinds, sequence.Kind(m.Kind)) {
				if first == nil {
					first = &a.Missed[i]
				}
				photos += m.Count
				places++
			}
		}
		if first == nil {
			continue
		}
		f := j.say(kind.code, finding.Note, float64(photos), "photos", "%s %s, in %s%s between %s and %s.",
			counted(photos, kind.one, kind.many), kind.tells, counted(places, "place", "places"),
			chooseIf(places > 1, ", the first", ""), first.After, first.Before)
		f.Place = f.Place.At(first.Position[0], first.Position[1])
	}
}

// speeds points out lines that could have been flown much faster, and says
// what cannot be told of it.
func (j *judgement) speeds(a *Audit) {
	v := a.Speed
	if len(a.Lines) == 0 {
		return
	}
	if !finite(v.Ground) {
		j.note(finding.SpeedUntold, 0, "", "How fast the lines were flown cannot be told: the photos have no times, or too few whole seconds lie between those of a line.")
		return
	}
	blurs, byFlight, freer := 0, 0, math.Inf(1)
	for _, l := range a.Lines {
		if finite(l.Speed.Blur) {
			blurs++
			freer = min(freer, l.Speed.Blur)
		}
		byFlight += one(l.Speed.Limit == SetByFlight)
	}
	interval := "the trigger interval"
	if v.Trigger > 0 {
		interval = fmt.Sprintf("a photo every %s", seconds(v.Trigger))
	}
	switch {
	case blurs == 0:
		j.note(finding.SpeedUntold, rounded(v.Ground), "m/s", "The lines were flown at %s; how much faster they could have been flown cannot be told, as the photos do not say their exposure time.", speed(v.Ground))
	case v.Allowed >= farOver*v.Ground:
		j.note(finding.FlownSlow, rounded(v.Ground), "m/s", "The lines were flown at %s, and motion blur and %s would have allowed %s: of %s on the lines, %s could have been saved. The aircraft and the local rule may allow less.",
			speed(v.Ground), interval, speed(v.Allowed), minutes(v.Flown), minutes(v.Spare))
	case byFlight > 0 && freer >= farOver*v.Ground:
		j.note(finding.SpeedUntold, rounded(v.Ground), "m/s", "The lines were flown at %s. Motion blur would have allowed %s; whether the camera can take photos faster than it did cannot be told from them. Add --trigger to say.",
			speed(v.Ground), speed(freer))
	}
}

func (j *judgement) blur(a *Audit) {
	v := a.Speed
	n := len(v.Blurred)
	if n == 0 {
		return
	}
	severity := finding.Note
	if float64(n) > fewMisses*float64(v.BlurKnown) {
		severity = finding.NeedsAnswer
	}
	var files []string
	for _, i := range v.Blurred {
		files = append(files, a.Shots[i].File)
	}
	worst := a.Shots[v.Blurred[0]]
	f := j.say(finding.BlurredPhotos, severity, float64(n), "photos", "%d of %s moved more than %g pixels over the ground while the shutter was open, the most %.1f pixels at %s and 1/%.0f s: %s.",
		n, counted(v.BlurKnown, "photo", "photos"), v.MaxBlur, worst.Blur, speed(worst.Speed), 1/worst.ExposureTime, listed(files))
	p := plane.WrapPoint(worst.Position)
	f.Place = f.Place.At(p[0], p[1])
}

// light looks at the exposure values that the camera chose. Where no photo says
// its aperture, it is the same in all.
func (j *judgement) light(s *selection) {
	unsaid := !slices.ContainsFunc(s.traced, func(c *candidate) bool { return c.FNumber > 0 })
	value := func(i int) float64 {
		c := s.traced[i]
		stop := c.FNumber
		if unsaid {
			stop = 1
		}
		ev := EV100(stop, c.ExposureTime, c.ISO)
		if !(stop > 0) || !(c.ExposureTime > 0) || !(c.ISO > 0) || !finite(ev) {
			return math.NaN()
		}
		return ev
	}
	var jumps []string
	most := 0.0
	for _, l := range s.trace.Lines {
		for k := 1; k < len(l.Shots); k++ {
			if step := math.Abs(value(l.Shots[k]) - value(l.Shots[k-1])); step > lightJump {
				jumps = append(jumps, s.traced[l.Shots[k]].File)
				most = max(most, step)
			}
		}
	}
	if n := len(jumps); n > 0 {
		j.note(finding.ExposureJumps, float64(n), "photos", "The exposure of %s differs from that of the photo before in its line by more than %.0f exposure value, the most %.1f: %s.",
			counted(n, "photo", "photos"), lightJump, most, listed(jumps))
	}
	worst, in := 0.0, 0
	for f, flight := range s.trace.Flights {
		var values []float64
		for i := flight.First; i <= flight.Last; i++ {
			if ev := value(i); finite(ev) && s.trace.Phases[i] != sequence.OnGround {
				values = append(values, ev)
			}
		}
		if d := drift(values); d > worst {
			worst, in = d, f
		}
	}
	if worst > lightDrift {
		which := ""
		if len(s.trace.Flights) > 1 {
			which = fmt.Sprintf(" %d", in+1)
		}
		j.note(finding.LightDrift, rounded(worst), "EV", "The light changed by %.1f exposure values in the course of flight%s, by aperture, exposure time and sensitivity of the photos.", worst, which)
	}
}

// drift returns how far the medians of the tenths of a flight lie apart.
func drift(values []float64) float64 {
	const pieces, fewest = 10, 5
	size := max(fewest, len(values)/pieces)
	least, most := math.Inf(1), math.Inf(-1)
	for from := 0; from+size <= len(values); from += size {
		middle := sequence.Median(values[from : from+size])
		least, most = min(least, middle), max(most, middle)
	}
	return max(0, most-least)
}

func (j *judgement) scale(a *Audit) {
	g := a.GSD
	if !(g.Max > wideGSD*g.Min) || !finite(g.Max) {
		return
	}
	var heights, lenses []float64
	for _, s := range a.Shots {
		heights = append(heights, s.Height)
		lenses = append(lenses, pixelPitch(s.Camera)/s.Camera.FocalLength)
	}
	low, high := slices.Min(heights), slices.Max(heights)
	why := "some photos are tilted"
	switch ratio := slices.Max(lenses) / slices.Min(lenses); {
	case high/low >= math.Sqrt(wideGSD) && high/low >= ratio:
		why = fmt.Sprintf("the heights above ground run from %s to %s", metresFine(low), metresFine(high))
	case ratio >= math.Sqrt(wideGSD):
		why = "cameras or focal lengths differ"
	}
	j.note(finding.GSDVaries, rounded(g.Max/g.Min), "", "The ground sample distance runs from %s to %s, %.1f times as much: %s.",
		centimetres(g.Min), centimetres(g.Max), g.Max/g.Min, why)
}

// jumps looks for heights and headings that leave those of their line.
func (j *judgement) jumps(s *selection) {
	var heights, headings []string
	most := 0.0
	for _, l := range s.trace.Lines {
		for k := 1; k < len(l.Shots); k++ {
			a, b := s.traced[l.Shots[k-1]], s.traced[l.Shots[k]]
			if rise := riseBetween(a.Photo, b.Photo); rise > max(leastJump, heightJump*max(a.height, b.height)) {
				heights = append(heights, b.File)
				most = max(most, rise)
			}
		}
		usual, sure := usualTurn(s, l)
		for _, i := range l.Shots {
			if p := s.traced[i].Photo; sure && finite(p.Yaw) && sequence.Apart(p.Yaw-l.Course, usual) > headingJump {
				headings = append(headings, p.File)
			}
		}
	}
	if n := len(heights); n > 0 {
		j.note(finding.HeightJumps, float64(n), "photos", "The height of %s differs from that of the photo before in its line by more than a tenth, the most by %s: %s.",
			counted(n, "photo", "photos"), metresFine(most), listed(heights))
	}
	if n := len(headings); n > 0 {
		j.note(finding.HeadingJumps, float64(n), "photos", "In %s the camera is turned by more than %.0f° from how it is in the rest of the line: %s.",
			counted(n, "photo", "photos"), headingJump, listed(headings))
	}
}

// riseBetween returns how much higher or lower b was taken than a, metres; NaN
// when unknown.
func riseBetween(a, b *photo.Photo) float64 {
	if rise := math.Abs(b.Altitude - a.Altitude); finite(rise) && a.AltitudeDatum == b.AltitudeDatum {
		return rise
	}
	return math.Abs(b.Height - a.Height)
}

// usualTurn returns the mean angle between the heading of a line's photos and
// its course, degrees; not sure where fewer than three say their heading.
func usualTurn(s *selection, l sequence.Line) (mean float64, sure bool) {
	var x, y float64
	n := 0
	for _, i := range l.Shots {
		if yaw := s.traced[i].Photo.Yaw; finite(yaw) {
			sin, cos := math.Sincos(radians(yaw - l.Course))
			x, y, n = x+sin, y+cos, n+1
		}
	}
	return math.Atan2(x, y) * 180 / math.Pi, n >= 3
}

// listed names the first few of a list.
func listed(files []string) string {
	const most = 5
	if n := len(files); n > most {
		return fmt.Sprintf("%s and %d more", strings.Join(files[:most], ", "), n-most)
	}
	return strings.Join(files, ", ")
}

func minutes(seconds float64) string {
	if seconds < 600 {
		return fmt.Sprintf("%.1f minutes", seconds/60)
	}
	return fmt.Sprintf("%.0f minutes", seconds/60)
}

func seconds(v float64) string {
	if v < 10 {
		return fmt.Sprintf("%.3g s", v)
	}
	return fmt.Sprintf("%.0f s", v)
}
