package coverage

import (
	"fmt"

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
		seenBy string
	}{
		{Gap, finding.CoverageGap, a.Totals.Gap, "no photo sees it"},
		{NoStereo, finding.CoverageNoStereo, a.Totals.NoStereo, "only one photo sees it"},
		{Thin, finding.CoverageThin, a.Totals.Thin, fmt.Sprintf("two or more photos see it, but not the %d wanted", a.Wanted.Views)},
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
			j.note(class.code, class.all, "m²", "%s of the site area: %s. Every piece is smaller than %s, so none is listed.",
				squareMetres(class.all), class.seenBy, squareMetres(least))
			continue
		}
		f := j.say(class.code, finding.NeedsAnswer, listed, "m²", "%s of the site area (%s) in %s: %s.",
			squareMetres(listed), percent(listed/a.SiteArea), counted(n, "piece", "pieces"), class.seenBy)
		if n > 1 {
			f.Text += fmt.Sprintf(" The largest has %s.", squareMetres(largest.Area))
		}
		if more := class.all - listed; more > max(0.1, 0.005*class.all) {
			f.Text += fmt.Sprintf(" Pieces under %s make up another %s.", squareMetres(least), squareMetres(more))
		}
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
	seenBy := fmt.Sprintf("fewer than the %d photos wanted see it", a.Wanted.Views)
	if a.Wanted.Views == 1 {
		seenBy = "no photo sees it"
	}
	text := fmt.Sprintf("%s of the site area's edge (%s of %s), in %s: %s.",
		metresFine(short), percent(short/a.Edge.Length), metres(a.Edge.Length), counted(len(a.Edge.Stretches), "stretch", "stretches"), seenBy)
	if unflown.stretches > 0 {
		text += fmt.Sprintf(" Of this, %s in %s %s outside the re-fly areas: too short to fly for, or kept out.",
			metresFine(unflown.length), counted(unflown.stretches, "stretch", "stretches"), choose(unflown.stretches, "lies", "lie"))
	}
	f := j.say(finding.EdgeShort, finding.NeedsAnswer, short, "m", "%s", text)
	p := plane.WrapPoint(longest.Path[len(longest.Path)/2])
	f.Place = f.Place.At(p[0], p[1])
}

func (j *judgement) overlaps(a *Audit) {
	for _, o := range []struct {
		code   finding.Code
		name   string
		s      Spread
		wanted float64
	}{
		{finding.ForwardOverlapLow, "Forward overlap", a.Overlap.Forward, a.Wanted.Forward},
		{finding.SideOverlapLow, "Side overlap", a.Overlap.Side, a.Wanted.Side},
	} {
		if o.s.Below > 0 {
			f := j.say(o.code, missSeverity(o.s), o.s.Below, "share", "%s is less than the wanted %s in %s of %s, the least %s; half of them have %s or more.",
				o.name, percent(o.wanted), percent(o.s.Below), counted(o.s.N, "pair", "pairs"), percent(o.s.Min), percent(o.s.Median))
			if o.code == finding.ForwardOverlapLow && len(a.Weakest) > 0 {
				w := a.Weakest[0]
				f.Text += fmt.Sprintf(" The least is between %s and %s: %s.", w.First, w.Second, w.Cause)
			}
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
