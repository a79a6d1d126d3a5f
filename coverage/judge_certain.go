package coverage

import (
	"fmt"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// leastGround is the area in m² under which ground is a matter of rounding.
const leastGround = 0.01

// certainty says which errors were assumed, and where only one line saw the ground.
func (j *judgement) certainty(job Job, a *Audit) {
	if a.Photos.Used == 0 {
		return
	}
	j.positionErrors(a)
	if !finite(job.Errors.Attitude) {
		j.attitudeErrors(a)
	}
	j.oneLine(a)
}

func (j *judgement) positionErrors(a *Audit) {
	byDOP, usual := a.Certainty.sources[errorByDOP], a.Certainty.sources[errorUsual]
	const corrections = "as is usual for satellite positions without corrections"
	var taken string
	switch {
	case byDOP+usual == 0:
		return
	case byDOP == 0:
		taken = fmt.Sprintf("Taken is %g m, %s", usualPosition, corrections)
	case usual == 0:
		taken = fmt.Sprintf("Taken are %g m for each unit of its dilution of precision", usualRange)
	default:
		taken = fmt.Sprintf("Taken are %g m for each unit of its dilution of precision in %s, and %g m in %s, %s", usualRange, counted(byDOP, "photo", "photos"),
			usualPosition, counted(usual, "photo", "photos"), corrections)
	}
	j.note(finding.PositionErrorAssumed, float64(byDOP+usual), "photos", "%s not say how far off the position may be. %s (common practice, no source).",
		counted(byDOP+usual, "photo does", "photos do"), taken)
}

func (j *judgement) attitudeErrors(a *Audit) {
	assumed := a.Certainty.assumedAttitude
	read := a.Photos.Used - assumed
	var taken string
	switch {
	case assumed == 0:
		taken = fmt.Sprintf("Taken is %g°, as the photos state the attitude itself", statedAttitude)
	case read == 0:
		taken = fmt.Sprintf("Taken are %g°, as all or a part of the attitude is assumed", assumedAttitude)
	default:
		taken = fmt.Sprintf("Taken are %g° for %s that %s the attitude itself, and %g° for %s of which all or a part of it is assumed",
			statedAttitude, counted(read, "photo", "photos"), choose(read, "states", "state"), assumedAttitude, counted(assumed, "photo", "photos"))
	}
	j.note(finding.AttitudeErrorAssumed, float64(a.Photos.Used), "photos", "How far off the attitude may be is not given. %s (common practice, no source).", taken)
}

// oneLine asks for an answer only where a side overlap was wanted: it means
// that every place was to be seen from two lines.
func (j *judgement) oneLine(a *Audit) {
	g := a.OneLine
	if g.Area < leastGround {
		return
	}
	severity := finding.Note
	if a.Wanted.Side > 0 && len(g.Pieces) > 0 {
		severity = finding.NeedsAnswer
	}
	f := j.say(finding.OneLineOnly, severity, g.Area, "m²", "%s of the site area (%s)%s are seen by enough photos, but all of one flight line, so heights are weak there.",
		squareMetres(g.Area), percent(g.Area/a.SiteArea), inPieces(g))
	j.at(f, g)
}

// gsd goes by the ground: where a finer photo sees it too, a coarse one does no harm.
func (j *judgement) gsd(a *Audit) {
	g := a.GSDByPlace.Coarse
	if g.Area < leastGround {
		return
	}
	share := g.Area / a.SiteArea
	severity := finding.Note
	if share > fewMisses {
		severity = finding.NeedsAnswer
	}
	f := j.say(finding.GSDCoarse, severity, share, "share", "On %s of the site area (%s)%s no photo is as fine as the wanted %s; by the finest photo of each place, the median is %s and the coarsest %s.",
		squareMetres(g.Area), percent(share), inPieces(g), centimetres(a.Wanted.GSD), centimetres(a.GSDByPlace.Best.Median), centimetres(a.GSDByPlace.Best.Max))
	j.at(f, g)
}

// inPieces says in how many pieces ground lies, if any is large enough to be listed.
func inPieces(g Ground) string {
	listed := 0.0
	for _, p := range g.Pieces {
		listed += p.Area
	}
	switch n := len(g.Pieces); {
	case n == 0:
		return ", all in pieces too small to list,"
	case listed < 0.995*g.Area:
		return fmt.Sprintf(", in %s and smaller ones,", counted(n, "piece", "pieces"))
	default:
		return fmt.Sprintf(", in %s,", counted(n, "piece", "pieces"))
	}
}

// at places a finding on the largest piece.
func (j *judgement) at(f *finding.Finding, g Ground) {
	if len(g.Pieces) > 0 {
		p := plane.WrapPoint(g.Pieces[0].Label)
		f.Place = f.Place.At(p[0], p[1])
	}
}
