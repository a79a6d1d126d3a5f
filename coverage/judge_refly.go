package coverage

import (
	"fmt"
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
		j.note(finding.ReflyPlanned, float64(len(a.Refly)), "areas", "%s", reflyText(job, a))
	}
	if p.Closes {
		return
	}
	left := squareMetres(p.Remaining) + " of the ground"
	switch {
	case p.RemainingEdge > 0 && p.Remaining > 0:
		left += " and " + metresFine(p.RemainingEdge) + " of the edge"
	case p.RemainingEdge > 0:
		left = metresFine(p.RemainingEdge) + " of the edge"
	}
	text := fmt.Sprintf("Flown as planned, the re-fly areas still leave %s with too few views.", left)
	switch {
	case len(a.Refly) == 0:
		text = fmt.Sprintf("Nothing can be flown again as planned, and %s keep too few views.", left)
	case p.KeptOut == 0 && !math.IsNaN(job.ReflyBuffer):
		text += fmt.Sprintf(" They would have to reach more than %s past it.", metres(job.ReflyBuffer))
	case p.KeptOut == 0:
		text += " Fly them with higher overlaps, or more than once."
	}
	if p.KeptOut > 0 {
		text += fmt.Sprintf(" Keep-out areas take %s from what would have to be flown.", squareMetres(p.KeptOut))
	}
	j.say(finding.ReflyNotEnough, finding.NeedsAnswer, p.Remaining, "m²", "%s", text)
}

func reflyText(job Job, a *Audit) string {
	p := a.ReflyPlan
	overlaps := fmt.Sprintf("overlaps of %s forward and %s side", percent(p.Forward), percent(p.Side))
	if p.Raised {
		overlaps += ", more than flown or wanted, as one flight could not give all the views that are missing otherwise"
	}
	pace := speed(p.Speed)
	if p.SpeedAssumed {
		pace += " (assumed)"
	}
	text := fmt.Sprintf("The areas to fly again are planned like the flight: %s above ground, %s, so %s between photos and %s between lines, at %s with %.0f s a turn.",
		metresFine(p.Height), overlaps, metresFine(p.AirBase), metresFine(p.LineSpacing), pace, UsualTurnTime)
	text += fmt.Sprintf(" They reach up to %s past the ground that falls short.", metres(p.Buffer))
	text += fmt.Sprintf(" Two are made one where that takes less flight time than both and the way between them; one is cut in two where that saves more than %.0f minutes.", cutWorth/60)
	if p.Closes {
		text += " Photos placed along the planned lines leave no piece short that counts"
		if job.MinZone > 0 {
			text += fmt.Sprintf(" (%s, or %.0f m of edge)", squareMetres(job.MinZone), leastStretch)
		}
		text += "."
	}
	return text
}
