package coverage

import (
	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// unflownEdge is the part of the edge that falls short and that no re-fly area reaches.
type unflownEdge struct {
	stretches int
	length    float64 // metres
}

// zones says for each class how much ground falls short, in the pieces that
// are listed and in those that are too small for it.
func (j *judgement) zones(a *Audit, least float64) {
	for _, class := range []struct {
		kind   ZoneKind
		code   finding.Code
		all    float64
		seenBy finding.Text
	}{
		{Gap, finding.CoverageGap, a.Totals.Gap, finding.Say("no photo sees it")},
		{NoStereo, finding.CoverageNoStereo, a.Totals.NoStereo, finding.Say("only one photo sees it")},
		{Thin, finding.CoverageThin, a.Totals.Thin, finding.Say("two or more photos see it, but not the %s wanted", finding.Whole(a.Wanted.Views))},
	} {
		if class.all == 0 || class.kind == NoStereo && a.Wanted.Views == 1 {
			continue
		}
		n, listed := 0, 0.0
		var largest *Zone
		for i, z := range a.Zones {
			if z.Kind == class.kind {
				n++
				listed += z.Area
				if largest == nil {
					largest = &a.Zones[i]
				}
			}
		}
		if largest == nil {
			j.note(class.code, class.all, "m²", finding.Say("%s of the site area: %s. Every piece is smaller than %s, so none is listed.",
				finding.Area(class.all), class.seenBy, finding.Area(least)))
			continue
		}
		var biggest, smaller finding.Text
		if n > 1 {
			biggest = finding.Say("The largest has %s.", finding.Area(largest.Area))
		}
		if more := class.all - listed; more > max(0.1, 0.005*class.all) {
			smaller = finding.Say("Pieces under %s make up another %s.", finding.Area(least), finding.Area(more))
		}
		f := j.say(class.code, finding.NeedsAnswer, listed, "m²", finding.Sentences(
			finding.Say("%s of the site area (%s) in %s: %s.",
				finding.Area(listed), finding.Share(listed/a.SiteArea), finding.Counted(n, "piece", "pieces"), class.seenBy), biggest, smaller))
		p := plane.WrapPoint(largest.Label)
		f.Place = f.Place.At(p[0], p[1])
	}
}

func (j *judgement) edge(a *Audit, unflown unflownEdge) {
	if len(a.Edge.Stretches) == 0 {
		return
	}
	longest := a.Edge.Stretches[0]
	for _, s := range a.Edge.Stretches {
		if s.To-s.From > longest.To-longest.From {
			longest = s
		}
	}
	short := a.Edge.Length - a.Edge.Captured
	seenBy := finding.Say("fewer than the %s photos wanted see it", finding.Whole(a.Wanted.Views))
	if a.Wanted.Views == 1 {
		seenBy = finding.Say("no photo sees it")
	}
	var outside finding.Text
	if unflown.stretches > 0 {
		outside = finding.Say("Of this, %s in %s outside the re-fly areas: too short to fly for, or kept out.",
			finding.Length(unflown.length), finding.Counted(unflown.stretches, "stretch lies", "stretches lie"))
	}
	f := j.say(finding.EdgeShort, finding.NeedsAnswer, short, "m", finding.Sentences(
		finding.Say("%s of the site area’s edge (%s of %s), in %s: %s.",
			finding.Length(short), finding.Share(short/a.Edge.Length), finding.Length(a.Edge.Length), finding.Counted(len(a.Edge.Stretches), "stretch", "stretches"), seenBy), outside))
	p := plane.WrapPoint(longest.Path[len(longest.Path)/2])
	f.Place = f.Place.At(p[0], p[1])
}

func (j *judgement) overlaps(a *Audit) {
	for _, o := range []struct {
		code   finding.Code
		name   finding.Text
		s      Spread
		wanted float64
	}{
		{finding.ForwardOverlapLow, finding.Say("forward overlap"), a.Overlap.Forward, a.Wanted.Forward},
		{finding.SideOverlapLow, finding.Say("side overlap"), a.Overlap.Side, a.Wanted.Side},
	} {
		if o.s.Below > 0 {
			var least finding.Text
			if o.code == finding.ForwardOverlapLow && len(a.Weakest) > 0 {
				w := a.Weakest[0]
				least = finding.Say("The least is between %s and %s: %s.", w.First, w.Second, w.Cause)
			}
			j.say(o.code, missSeverity(o.s), o.s.Below, "share", finding.Sentences(
				finding.Say("%s is less than the wanted %s in %s of %s, the least %s; half of them have %s or more.",
					finding.Start(o.name), finding.Share(o.wanted), finding.Share(o.s.Below), finding.Counted(o.s.N, "pair", "pairs"), finding.Share(o.s.Min), finding.Share(o.s.Median)), least))
		}
	}
	j.gsd(a)
}

// missSeverity asks for an answer only when more than a few values miss.
func missSeverity(s Spread) finding.Severity {
	if s.Below > fewMisses {
		return finding.NeedsAnswer
	}
	return finding.Note
}
