// Package compare reads the records of audits and plans, and says what changed
// from one to another.
package compare

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"selvage/boundary/plane"
	"selvage/report"
)

// Result is what differs between two records: two audits, before and after, or a
// plan and the audit of the flight.
type Result struct {
	Before, After *Record
	Planned       bool         // Before is a plan
	Units         report.Units // of its sentences
	// Differences are what keeps the figures from being held against each other.
	Differences []Difference
	Notes       []string
	Figures     []Figure
	Inputs      []InputChange

	onGround *places // nil where a record has no shapes
}

// Difference is one thing that was not the same, and what follows from it.
type Difference struct {
	Code    string
	Text    string   // sentences
	Figures []string // keys of the figures that do not compare
}

// InputChange says whether a kind of file that was read is the same in both.
type InputChange struct {
	Role          string
	Before, After []string // names
	Same          bool
}

// Records holds two audits against each other, the earlier first, or a plan
// against an audit, in whichever order they come.
func Records(a, b *Record, u report.Units) (*Result, error) {
	switch {
	case a.Plan != nil && b.Plan != nil:
		return nil, errors.New("both files are plans; compare takes two audits, or a plan and the audit of its flight")
	case b.Plan != nil:
		a, b = b, a
	}
	c := &Result{Before: a, After: b, Planned: a.Plan != nil, Units: u}
	kinds := auditFigures
	if c.Planned {
		kinds = flightFigures
		c.comparePlan()
	} else {
		c.compareBasis()
		c.comparePlaces()
		c.compareInputs()
	}
	c.tellLacking()
	for _, k := range kinds {
		f := Figure{figureKind: k, Before: or(k.from(a)), After: or(k.from(b))}
		if slices.ContainsFunc(c.Differences, func(d Difference) bool { return slices.Contains(d.Figures, k.Key) }) {
			f.Judgement = NotComparable
		}
		f.judge()
		if c.Planned && f.Judgement == Better {
			f.Judgement = Same // more than was planned is as planned
		}
		c.Figures = append(c.Figures, f)
	}
	if c.Planned {
		c.judgeSpeed()
	} else {
		c.judgeClasses()
	}
	return c, nil
}

// Good says whether everything compares and nothing got worse.
func (c *Result) Good() bool {
	return len(c.Differences) == 0 && !slices.ContainsFunc(c.Figures, Figure.worse) && c.worseGround() == 0
}

// worseGround is the ground, in square metres, whose views fell below one of
// the classes' limits; the totals can hide it.
func (c *Result) worseGround() float64 {
	most := 0.0
	if c.onGround != nil {
		for _, g := range c.onGround.Below {
			most = max(most, g.Worse)
		}
	}
	return most
}

func (c *Result) figure(key string) *Figure {
	i := slices.IndexFunc(c.Figures, func(f Figure) bool { return f.Key == key })
	return &c.Figures[i]
}

func (c *Result) differ(code string, figures []string, format string, args ...any) {
	c.Differences = append(c.Differences, Difference{code, fmt.Sprintf(format, args...), figures})
}

func (c *Result) note(format string, args ...any) {
	c.Notes = append(c.Notes, fmt.Sprintf(format, args...))
}

// judgeClasses judges the classes by all that lies below them: ground that was
// a gap and has one view now adds to the next class, and is better all the same.
func (c *Result) judgeClasses() {
	var before, after float64
	for _, key := range []string{"gap_m2", "no_stereo_m2", "thin_m2"} {
		f := c.figure(key)
		before, after = before+f.Before, after+f.After
		all := Figure{figureKind: f.figureKind, Before: before, After: after, Judgement: f.Judgement}
		if all.Judgement != NotComparable {
			all.judge()
		}
		switch {
		case f.Judgement == Worse && all.Judgement != Worse:
			f.Judgement = NotJudged
		case f.Judgement == Better && all.Judgement == Worse:
			f.Judgement = NotJudged
		}
	}
}

// judgeSpeed judges a speed by what motion blur and the trigger allow: merely
// to fly faster than planned does no harm.
func (c *Result) judgeSpeed() {
	f := c.figure("speed_m_s")
	for _, limit := range []amount{c.Before.Plan.BlurSpeed, c.Before.Plan.TriggerSpeed} {
		if limit != nil && f.After > *limit*(1+planShare) && f.Judgement != NotComparable {
			f.Judgement = Worse
		}
	}
}

// comparePlaces compares the site areas and the zones on the ground.
func (c *Result) comparePlaces() {
	if c.Before.Shapes == nil || c.After.Shapes == nil {
		c.siteByArea()
		return
	}
	var kinds [3]bool
	for k, key := range []string{"gap_m2", "no_stereo_m2", "thin_m2"} {
		kinds[k] = !slices.ContainsFunc(c.Differences, func(d Difference) bool { return slices.Contains(d.Figures, key) })
	}
	p, err := comparePlaces(c.Before.Shapes, c.After.Shapes, kinds)
	if err != nil || p.Site.Shared == 0 {
		apart := plane.GeodesicDistance(c.Before.Shapes.Site.Bound().Center(), c.After.Shapes.Site.Bound().Center())
		c.differ("other-site", areaFigures, "The two audits are of different sites, %s apart. Areas and the edge do not compare.", c.Units.Distance(apart))
		return
	}
	c.onGround = p
	if !p.Site.Same {
		c.differ("site-area", nil, "The site areas differ: %s came on top and %s fell away. The totals are those of each site area; better and worse ground is counted where both have it.",
			c.Units.Area(p.Site.Added), c.Units.Area(p.Site.Removed))
	}
}

var areaFigures = []string{
	"gap_m2", "no_stereo_m2", "thin_m2", "covered_share", "enough_share", "edge_captured_share", "edge_captured_m", "edge_stretches",
}

// siteByArea is all that can be told of the site areas without their shapes.
func (c *Result) siteByArea() {
	for _, r := range []*Record{c.Before, c.After} {
		if r.Shapes == nil {
			c.note("%s has no GeoJSON beside it, so zones are not compared on the ground.", r.Name)
		}
	}
	before, after := or(c.Before.Audit.SiteArea), or(c.After.Audit.SiteArea)
	if d := after - before; d > leastArea || d < -leastArea {
		c.differ("site-area", nil, "The site areas differ: %s before, %s after. The totals are those of each site area.", c.Units.Area(before), c.Units.Area(after))
	}
}

// compareInputs pairs the files that were read by their roles.
func (c *Result) compareInputs() {
	var roles []string
	met := map[string]bool{}
	names, sums := [2]map[string][]string{{}, {}}, [2]map[string][]string{{}, {}}
	for i, r := range []*Record{c.Before, c.After} {
		for _, in := range r.Audit.Inputs {
			role := report.Clean(in.Role)
			if !met[role] {
				met[role], roles = true, append(roles, role)
			}
			names[i][role], sums[i][role] = append(names[i][role], report.Clean(in.Name)), append(sums[i][role], strings.ToLower(in.SHA256))
		}
	}
	if c.Before.Audit.Inputs == nil || c.After.Audit.Inputs == nil {
		return
	}
	for _, role := range roles {
		for i := range sums {
			slices.Sort(sums[i][role])
		}
		c.Inputs = append(c.Inputs, InputChange{role, names[0][role], names[1][role], slices.Equal(sums[0][role], sums[1][role])})
	}
}

func (c *Result) tellLacking() {
	for _, r := range []*Record{c.Before, c.After} {
		if len(r.Lacking) > 0 {
			c.note("%s does not have %s: an older version wrote it, or it was changed. What hangs on that cannot be compared.", r.Name, strings.Join(r.Lacking, ", "))
		}
	}
}

// flownFrom returns when the first photo of an audit was taken, and its last.
func flownFrom(a *Audit) (from, to time.Time) {
	for _, f := range a.Flights {
		for _, told := range []*string{f.Start, f.End} {
			if told == nil {
				continue
			}
			at, err := time.Parse(time.RFC3339Nano, *told)
			if err != nil {
				continue
			}
			if from.IsZero() || at.Before(from) {
				from = at
			}
			if at.After(to) {
				to = at
			}
		}
	}
	return from, to
}
