package coverage

import (
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
	var taken finding.Text
	switch {
	case byDOP+usual == 0:
		return
	case byDOP == 0:
		taken = finding.Say("Taken is %s, as is usual for satellite positions without corrections (common practice, no source).", finding.Stated(usualPosition))
	case usual == 0:
		taken = finding.Say("Taken are %s for each unit of its dilution of precision (common practice, no source).", finding.Stated(usualRange))
	default:
		taken = finding.Say("Taken are %s for each unit of its dilution of precision in %s, and %s in %s, as is usual for satellite positions without corrections (common practice, no source).",
			finding.Stated(usualRange), photos(byDOP), finding.Stated(usualPosition), photos(usual))
	}
	j.note(finding.PositionErrorAssumed, float64(byDOP+usual), "photos", finding.Sentences(
		finding.Say("%s not say how far off the position may be.", finding.Counted(byDOP+usual, "photo does", "photos do")), taken))
}

func (j *judgement) attitudeErrors(a *Audit) {
	assumed := a.Certainty.assumedAttitude
	read := a.Photos.Used - assumed
	ofStated, ofAssumed := finding.Decimal("%g", statedAttitude), finding.Decimal("%g", assumedAttitude)
	var taken finding.Text
	switch {
	case assumed == 0:
		taken = finding.Say("Taken is %s°, as the photos state the attitude itself (common practice, no source).", ofStated)
	case read == 0:
		taken = finding.Say("Taken are %s°, as all or a part of the attitude is assumed (common practice, no source).", ofAssumed)
	default:
		taken = finding.Say("Taken are %s° for %s the attitude itself, and %s° for %s of which all or a part of it is assumed (common practice, no source).",
			ofStated, finding.Counted(read, "photo that states", "photos that state"), ofAssumed, photos(assumed))
	}
	j.note(finding.AttitudeErrorAssumed, float64(a.Photos.Used), "photos", finding.Sentences(
		finding.Say("How far off the attitude may be is not given."), taken))
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
	f := j.say(finding.OneLineOnly, severity, g.Area, "m²", finding.Say("%s of the site area (%s)%s are seen by enough photos, but all of one flight line, so heights are weak there.",
		finding.Area(g.Area), finding.Share(g.Area/a.SiteArea), inPieces(g)))
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
	f := j.say(finding.GSDCoarse, severity, share, "share", finding.Say("On %s of the site area (%s)%s no photo is as fine as the wanted %s; by the finest photo of each place, the median is %s and the coarsest %s.",
		finding.Area(g.Area), finding.Share(share), inPieces(g), finding.GSD(a.Wanted.GSD), finding.GSD(a.GSDByPlace.Best.Median), finding.GSD(a.GSDByPlace.Best.Max)))
	j.at(f, g)
}

// inPieces says in how many pieces ground lies, if any is large enough to be listed.
func inPieces(g Ground) finding.Text {
	listed := 0.0
	for _, p := range g.Pieces {
		listed += p.Area
	}
	switch n := len(g.Pieces); {
	case n == 0:
		return finding.Say(", all in pieces too small to list,")
	case listed < 0.995*g.Area:
		return finding.Say(", in %s and smaller ones,", finding.Counted(n, "piece", "pieces"))
	default:
		return finding.Say(", in %s,", finding.Counted(n, "piece", "pieces"))
	}
}

// at places a finding on the largest piece.
func (j *judgement) at(f *finding.Finding, g Ground) {
	if len(g.Pieces) > 0 {
		p := plane.WrapPoint(g.Pieces[0].Label)
		f.Place = f.Place.At(p[0], p[1])
	}
}
