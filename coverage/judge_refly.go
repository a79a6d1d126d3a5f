package coverage

import (
	"math"

	"selvage/boundary/finding"
)

// refly says how the areas to fly again are planned, and what would still fall
// short.
func (j *judgement) refly(job Job, a *Audit) {
	p := a.ReflyPlan
	if p.AirBase == 0 {
		return
	}
	if len(a.Refly) > 0 {
		j.note(finding.ReflyPlanned, float64(len(a.Refly)), "areas", reflyText(job, a))
	}
	if p.Closes {
		return
	}
	left := finding.Say("%s of the ground", finding.Area(p.Remaining))
	switch {
	case p.RemainingEdge > 0 && p.Remaining > 0:
		left = finding.Say("%s of the ground and %s of the edge", finding.Area(p.Remaining), finding.Length(p.RemainingEdge))
	case p.RemainingEdge > 0:
		left = finding.Say("%s of the edge", finding.Length(p.RemainingEdge))
	}
	var more, keptOut finding.Text
	text := finding.Say("Flown as planned, the re-fly areas still leave %s with too few views.", left)
	switch {
	case len(a.Refly) == 0:
		text = finding.Say("Nothing can be flown again as planned, and %s keep too few views.", left)
	case p.KeptOut == 0 && !math.IsNaN(job.ReflyBuffer):
		more = finding.Say("They would have to reach more than %s past it.", finding.Given(job.ReflyBuffer))
	case p.KeptOut == 0:
		more = finding.Say("Fly them with higher overlaps, or more than once.")
	}
	if p.KeptOut > 0 {
		keptOut = finding.Say("Keep-out areas take %s from what would have to be flown.", finding.Area(p.KeptOut))
	}
	j.say(finding.ReflyNotEnough, finding.NeedsAnswer, p.Remaining, "m²", finding.Sentences(text, more, keptOut))
}

func reflyText(job Job, a *Audit) finding.Text {
	p := a.ReflyPlan
	overlaps := finding.Say("overlaps of %s forward and %s side", finding.Share(p.Forward), finding.Share(p.Side))
	if p.Raised {
		overlaps = finding.Say("%s, more than flown or wanted, as one flight could not give all the views that are missing otherwise", overlaps)
	}
	pace := finding.Say("%s", finding.Speed(p.Speed))
	if p.SpeedAssumed {
		pace = finding.Say("%s (assumed)", finding.Speed(p.Speed))
	}
	var closes finding.Text
	switch {
	case p.Closes && job.MinZone > 0:
		closes = finding.Say("Photos placed along the planned lines leave no piece short that counts (%s, or %s of edge).", finding.Area(job.MinZone), finding.Stated(leastStretch))
	case p.Closes:
		closes = finding.Say("Photos placed along the planned lines leave no piece short that counts.")
	}
	return finding.Sentences(
		finding.Say("The areas to fly again are planned like the flight: %s above ground, %s, so %s between photos and %s between lines, at %s with %s s a turn.",
			finding.Length(p.Height), overlaps, finding.Length(p.AirBase), finding.Length(p.LineSpacing), pace, finding.Decimal("%.0f", UsualTurnTime)),
		finding.Say("They reach up to %s past the ground that falls short.", finding.Given(p.Buffer)),
		finding.Say("Two are made one where that takes less flight time than both and the way between them; one is cut in two where that saves more than %s minutes.",
			finding.Decimal("%.0f", cutWorth/60)),
		closes)
}
