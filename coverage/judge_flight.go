package coverage

import (
	"math"
	"slices"

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
		j.note(finding.OrderAsListed, 0, "", finding.Say("The photos do not all have a time from the same clock, so the order of the list is taken as the order flown."))
	case sequence.ByName:
		j.note(finding.OrderByName, 0, "", finding.Say("The photos do not all have a time from the same clock, so the numbers in the file names are taken as the order flown."))
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
		have, by := finding.Counted(n, "photo has", "photos have"), seconds(b.By)
		j.note(finding.ClockSetBack, float64(n), "photos", finding.Either(n == 1,
			finding.Say("%s an earlier time than the one before by the numbers in the names: %s by %s than %s. The times decide on the order flown.", have, b.After, by, b.Before),
			finding.Say("%s an earlier time than the one before by the numbers in the names: %s by %s than %s, the first of them. The times decide on the order flown.", have, b.After, by, b.Before)))
	}
}

func (j *judgement) missing(a *Audit) {
	for _, kind := range []struct {
		kinds []sequence.Kind
		code  finding.Code
		tell  func(photos int, where finding.Text) finding.Text
	}{
		{[]sequence.Kind{sequence.File}, finding.FilesMissing, func(n int, where finding.Text) finding.Text {
			return finding.Say("%s missing by the numbers in the file names, within a flight, in %s.", finding.Counted(n, "file is", "files are"), where)
		}},
		{[]sequence.Kind{sequence.Trigger}, finding.TriggersMissed, func(n int, where finding.Text) finding.Text {
			return finding.Say("%s not taken: the numbers in the file names go on, but the photos are twice as far apart as usual, or farther, in %s.",
				finding.Counted(n, "photo was", "photos were"), where)
		}},
		{[]sequence.Kind{sequence.Unclear}, finding.TriggersMissed, func(n int, where finding.Text) finding.Text {
			return finding.Say("%s missing in the lines by the distances; the file names do not tell whether the camera missed or a file is missing, in %s.",
				finding.Counted(n, "photo is", "photos are"), where)
		}},
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
		f := j.say(kind.code, finding.Note, float64(photos), "photos", kind.tell(photos, finding.Either(places == 1,
			finding.Say("1 place between %s and %s", first.After, first.Before),
			finding.Say("%s places, the first between %s and %s", finding.Whole(places), first.After, first.Before))))
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
		j.note(finding.SpeedUntold, 0, "", finding.Say("How fast the lines were flown cannot be told: the photos have no times, or too few whole seconds lie between those of a line."))
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
	interval := finding.Say("the trigger interval")
	if v.Trigger > 0 {
		interval = finding.Say("a photo every %s", seconds(v.Trigger))
	}
	switch {
	case blurs == 0:
		j.note(finding.SpeedUntold, rounded(v.Ground), "m/s", finding.Say("The lines were flown at %s; how much faster they could have been flown cannot be told, as the photos do not say their exposure time.", finding.Speed(v.Ground)))
	case v.Allowed >= farOver*v.Ground:
		j.note(finding.FlownSlow, rounded(v.Ground), "m/s", finding.Say("The lines were flown at %s, and motion blur and %s would have allowed %s: of %s on the lines, %s could have been saved. The aircraft and the local rule may allow less.",
			finding.Speed(v.Ground), interval, finding.Speed(v.Allowed), minutes(v.Flown), minutes(v.Spare)))
	case byFlight > 0 && freer >= farOver*v.Ground:
		j.note(finding.SpeedUntold, rounded(v.Ground), "m/s", finding.Say("The lines were flown at %s. Motion blur would have allowed %s; whether the camera can take photos faster than it did cannot be told from them. Add --trigger to say.",
			finding.Speed(v.Ground), finding.Speed(freer)))
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
	f := j.say(finding.BlurredPhotos, severity, float64(n), "photos", finding.Say("%s of %s moved more than %s pixels over the ground while the shutter was open, the most %s pixels at %s and 1/%s s: %s.",
		finding.Whole(n), photos(v.BlurKnown), finding.Decimal("%g", v.MaxBlur), finding.Decimal("%.1f", worst.Blur), finding.Speed(worst.Speed),
		finding.Number(finding.Fixed(1/worst.ExposureTime, 0)), listed(files)))
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
		j.note(finding.ExposureJumps, float64(n), "photos", finding.Say("The exposure of %s differs from that of the photo before in its line by more than %s exposure value, the most %s: %s.",
			photos(n), finding.Decimal("%.0f", lightJump), finding.Decimal("%.1f", most), listed(jumps)))
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
		by := finding.Decimal("%.1f", worst)
		j.note(finding.LightDrift, rounded(worst), "EV", finding.Either(len(s.trace.Flights) == 1,
			finding.Say("The light changed by %s exposure values in the course of flight, by aperture, exposure time and sensitivity of the photos.", by),
			finding.Say("The light changed by %s exposure values in the course of flight %d, by aperture, exposure time and sensitivity of the photos.", by, in+1)))
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
	why := finding.Say("some photos are tilted")
	switch ratio := slices.Max(lenses) / slices.Min(lenses); {
	case high/low >= math.Sqrt(wideGSD) && high/low >= ratio:
		why = finding.Say("the heights above ground run from %s to %s", finding.Length(low), finding.Length(high))
	case ratio >= math.Sqrt(wideGSD):
		why = finding.Say("cameras or focal lengths differ")
	}
	j.note(finding.GSDVaries, rounded(g.Max/g.Min), "", finding.Say("The ground sample distance runs from %s to %s, %s times as much: %s.",
		finding.GSD(g.Min), finding.GSD(g.Max), finding.Decimal("%.1f", g.Max/g.Min), why))
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
		j.note(finding.HeightJumps, float64(n), "photos", finding.Say("The height of %s differs from that of the photo before in its line by more than a tenth, the most by %s: %s.",
			photos(n), finding.Length(most), listed(heights)))
	}
	if n := len(headings); n > 0 {
		j.note(finding.HeadingJumps, float64(n), "photos", finding.Say("In %s the camera is turned by more than %s° from how it is in the rest of the line: %s.",
			photos(n), finding.Decimal("%.0f", headingJump), listed(headings)))
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
