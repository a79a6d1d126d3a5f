package report

import (
	"selvage/boundary/finding"
	"selvage/coverage"
)

// reachSentences say how far photo centres reach past the edge.
func (n Note) reachSentences() []string {
	r, u := n.Audit.Edge.Reach, n.Units
	if r.N == 0 {
		return nil
	}
	return []string{
		u.Say("Photo centres reach %s past the edge (median); the least is %s, near %s.", u.Length(r.Median), u.Length(r.Least), u.Position(r.At)),
		u.Say("For as many views there as inside, they must reach at least %s past an edge that crosses the lines and %s past one that runs along them: half a footprint, %s and %s, less one spacing. They do along %s of the edge.",
			u.Length(r.NeedAlong), u.Length(r.NeedAcross), u.Length(r.Along), u.Length(r.Across), u.Percent(r.Enough)),
	}
}

// edge is the verdict on the edge; empty where nothing was wanted of it.
func (n Note) edge() finding.Text {
	e := n.Audit.Edge
	if n.Audit.Wanted.Views <= 0 || !(e.Length > 0) {
		return finding.Text{}
	}
	short := e.Length - e.Captured
	if short < leastLength {
		return finding.Say("Edge captured: 100 %% of %s.", finding.Distance(e.Length))
	}
	return finding.Say("Edge captured: %s of %s; %s short in %s.", finding.Number(finding.Percent(e.Captured/e.Length)),
		finding.Distance(e.Length), finding.Length(short), finding.Counted(len(e.Stretches), "stretch", "stretches"))
}

type reachJSON struct {
	Median     rounded `json:"median_m"`
	Least      rounded `json:"least_m"`
	Lon        rounded `json:"lon"` // where it is least
	Lat        rounded `json:"lat"`
	HalfAlong  rounded `json:"half_footprint_along_m"`
	HalfAcross rounded `json:"half_footprint_across_m"`
	NeedAlong  rounded `json:"needed_along_m"`
	NeedAcross rounded `json:"needed_across_m"`
	Enough     rounded `json:"enough_share"`
	N          int     `json:"n"`
}

func reachOf(r coverage.EdgeReach) *reachJSON {
	if r.N == 0 {
		return nil
	}
	return &reachJSON{
		metres(r.Median), metres(r.Least), longitude(r.At), latitude(r.At), metres(r.Along), metres(r.Across),
		metres(r.NeedAlong), metres(r.NeedAcross), share(r.Enough), r.N,
	}
}
