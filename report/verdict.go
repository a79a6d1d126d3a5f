package report

import (
	"strings"

	"selvage/coverage"
)

// Answer says whether something wanted was found.
type Answer int

const (
	NotAsked Answer = iota
	Yes
	InPart     // the median meets it, but not every value does
	Unmeasured // asked, but there was nothing to measure it by
	No
)

func (a Answer) String() string { return Locale{}.answer(a) }

// answer is the answer in the language of the reader.
func (l Locale) answer(a Answer) string {
	switch a {
	case Yes:
		return l.Say("yes")
	case InPart:
		return l.Say("in part")
	case Unmeasured:
		return l.Say("not measured")
	case No:
		return l.Say("no")
	}
	return l.Say("not asked")
}

// Class is the answer as one word.
func (a Answer) Class() string { return strings.ReplaceAll(a.String(), " ", "-") }

// Check puts what was wanted beside what was found, both in words.
type Check struct {
	Name, Wanted, Found string
	Met                 Answer

	short string // what falls short, as a clause
}

// Numerical dust: less is not called a gap or a short edge.
const (
	leastArea   = 0.01 // m²
	leastLength = 0.01 // m
)

// Checks compares what was wanted with what was found, coverage first.
func (n Note) Checks() []Check {
	a := n.Audit
	checks := []Check{
		n.checkCoverage(),
		n.checkViews(),
		n.checkEdge(),
		checkOverlap(n.Units, n.Units.Say("Forward overlap"), a.Wanted.Forward, a.Overlap.Forward),
		checkOverlap(n.Units, n.Units.Say("Side overlap"), a.Wanted.Side, a.Overlap.Side),
		n.checkGSD(),
	}
	if len(a.Points) > 0 {
		checks = append(checks, n.checkPoints())
	}
	return checks
}

// Captured says whether the site area and its edge have the views that were
// wanted, but for pieces of ground smaller than the job wanted listed.
func (n Note) Captured() bool {
	for _, c := range n.Checks()[:3] {
		if c.Met == No {
			return false
		}
	}
	return n.Audit.Photos.Used > 0
}

// Met says whether everything that was asked was found, the overlaps and the
// ground sample distance included.
func (n Note) Met() bool {
	for _, c := range n.Checks() {
		if c.Met != Yes && c.Met != NotAsked {
			return false
		}
	}
	return n.Audit.Photos.Used > 0
}

// Verdict is the note in one or a few sentences.
func (n Note) Verdict() string { return strings.Join(n.verdict(), " ") }

// verdict is one sentence on the capture and one on the edge, then those on the
// rest.
func (n Note) verdict() []string {
	a, u := n.Audit, n.Units
	if a.Photos.Used == 0 {
		return []string{u.Say("Nothing was captured: of %s read, none could be used.", u.Count(a.Photos.Read, "photo", "photos"))}
	}
	capture := u.Say("Captured in full: all %s have been seen.", u.Area(a.SiteArea))
	edge := u.Sentence(n.edge())
	switch short := strings.Join(n.shortfalls(), "; "); {
	case !n.Captured() && short == "":
		capture = u.Say("Not captured in full: the edge falls short.")
	case !n.Captured():
		capture = u.Say("Not captured in full: %s.", short)
	case short != "":
		capture = u.Say("Captured but for small pieces: %s.", short)
	case a.Wanted.Views > 0:
		capture = u.Say("Captured in full: all %s have %s or more.", u.Area(a.SiteArea), u.Count(a.Wanted.Views, "view", "views"))
	}
	out := []string{capture}
	if edge != "" {
		out = append(out, edge)
	}
	for _, c := range n.Checks() {
		if c.short != "" {
			out = append(out, u.Say("%s: %s.", c.Name, c.short))
		}
	}
	if len(a.Refly) > 0 {
		out = append(out, n.againSentence())
	}
	return out
}

// shortfalls are the clauses of the verdict on the ground, the gravest first.
func (n Note) shortfalls() []string {
	a, u := n.Audit, n.Units
	var out []string
	for _, c := range n.classes() {
		if c.met() != Yes {
			out = append(out, u.Say("%s, %s with %s", c.count(u), u.Area(c.area), u.kindViews(c.kind, a.Wanted.Views)))
		}
	}
	return out
}

type class struct {
	kind  coverage.ZoneKind
	area  float64
	zones int // listed
}

// classes are those that fall short of the wanted views.
func (n Note) classes() []class {
	t := n.Audit.Totals
	all := []class{{kind: coverage.Gap, area: t.Gap}}
	if n.Audit.Wanted.Views > 1 {
		all = append(all, class{kind: coverage.NoStereo, area: t.NoStereo})
	}
	if n.Audit.Wanted.Views > 2 {
		all = append(all, class{kind: coverage.Thin, area: t.Thin})
	}
	for _, z := range n.Audit.Zones {
		for i := range all {
			if all[i].kind == z.Kind {
				all[i].zones++
			}
		}
	}
	return all
}

// met is No where zones are listed, and InPart where every piece is smaller
// than the job wanted listed.
func (c class) met() Answer {
	switch {
	case c.zones > 0:
		return No
	case c.area >= leastArea:
		return InPart
	}
	return Yes
}

// count is "2 gaps", or says that the pieces are all too small to be listed.
func (c class) count(u Units) string {
	listed := c.zones > 0
	switch {
	case c.kind == coverage.NoStereo && listed:
		return u.Count(c.zones, "zone without stereo", "zones without stereo")
	case c.kind == coverage.NoStereo:
		return u.Say("zones without stereo too small to list")
	case c.kind == coverage.Thin && listed:
		return u.Count(c.zones, "thin zone", "thin zones")
	case c.kind == coverage.Thin:
		return u.Say("thin zones too small to list")
	case listed:
		return u.Count(c.zones, "gap", "gaps")
	}
	return u.Say("gaps too small to list")
}

func (n Note) checkCoverage() Check {
	a, u := n.Audit, n.Units
	c := Check{Name: u.Say("Coverage"), Wanted: u.Say("all %s seen", u.Area(a.SiteArea)), Found: u.Percent(a.Totals.CoveredShare), Met: Yes}
	if gap := n.classes()[0]; gap.met() != Yes {
		c.Met = gap.met()
		c.Found += "; " + gap.count(u) + ", " + u.Area(gap.area)
	}
	return c
}

func (n Note) checkViews() Check {
	a, u := n.Audit, n.Units
	c := Check{Name: u.Say("Views"), Wanted: u.Say("not asked"), Found: u.Say("see the map"), Met: NotAsked}
	if a.Wanted.Views <= 0 {
		return c
	}
	c.Wanted = u.Say("%s or more everywhere", u.Count(a.Wanted.Views, "view", "views"))
	c.Found, c.Met = u.Say("%s of the area", u.Percent(a.Totals.EnoughShare)), Yes
	for _, class := range n.classes() {
		if class.met() != Yes {
			c.Met = max(c.Met, class.met())
			c.Found += "; " + u.Say("%s on %s", u.kindViews(class.kind, a.Wanted.Views), u.Area(class.area))
		}
	}
	return c
}

func (n Note) checkEdge() Check {
	a, u := n.Audit, n.Units
	c := Check{Name: u.Say("Edge"), Wanted: u.Say("not asked"), Found: u.Say("%s long", u.Distance(a.Edge.Length)), Met: NotAsked}
	if a.Wanted.Views <= 0 || a.Edge.Length <= 0 {
		return c
	}
	c.Wanted = u.Say("%s or more along %s", u.Count(a.Wanted.Views, "view", "views"), u.Distance(a.Edge.Length))
	c.Found, c.Met = u.Percent(a.Edge.Captured/a.Edge.Length), Yes
	if short := a.Edge.Length - a.Edge.Captured; short >= leastLength {
		c.Met = No
		c.Found += "; " + u.Say("%s short in %s", u.Length(short), u.Count(len(a.Edge.Stretches), "stretch", "stretches"))
	}
	return c
}

func checkOverlap(u Units, name string, wanted float64, s coverage.Spread) Check {
	c := Check{Name: name, Wanted: u.Say("not asked"), Found: u.Say("no pairs to measure"), Met: NotAsked}
	if wanted > 0 {
		c.Wanted, c.Met = u.Say("%s or more", u.Overlap(wanted)), Unmeasured
	}
	if s.N == 0 {
		return c
	}
	c.Found = u.Say("median %s, least %s, in %s", u.Percent(s.Median), u.Percent(s.Min), u.Count(s.N, "pair", "pairs"))
	if wanted > 0 {
		c.judge(u, s, s.Median >= wanted, u.Percent(s.Median), u.Say("%s of the pairs fall short", u.Percent(s.Below)))
	}
	return c
}

func (n Note) checkGSD() Check {
	wanted, s, u := n.Audit.Wanted.GSD, n.Audit.GSD, n.Units
	c := Check{Name: u.Say("GSD"), Wanted: u.Say("not asked"), Found: u.unknown(), Met: NotAsked}
	if wanted > 0 {
		c.Wanted, c.Met = u.Say("%s or finer", u.GSD(wanted)), Unmeasured
	}
	if s.N == 0 {
		return c
	}
	c.Found = u.Say("median %s, coarsest %s", u.GSD(s.Median), u.GSD(s.Max))
	if wanted > 0 {
		if n.Audit.GSDByPlace.Best.N > 0 {
			c.judgeGround(u, n.Audit)
		} else {
			c.judge(u, s, s.Median <= wanted, u.GSD(s.Median), u.Say("%s of the photos fall short", u.Percent(s.Below)))
		}
	}
	return c
}

// judge compares a spread with what was wanted; middle says whether the median
// meets it, and short how much falls short.
func (c *Check) judge(u Units, s coverage.Spread, middle bool, median, short string) {
	if s.Below <= 0 {
		c.Met = Yes
		return
	}
	c.Found += "; " + short
	if c.Met, c.short = InPart, u.Say("%s; wanted %s", short, c.Wanted); !middle {
		c.Met, c.short = No, u.Say("median %s where %s was wanted", median, c.Wanted)
	}
}
