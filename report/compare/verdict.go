package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"selvage/report"
)

// Verdict is the comparison in one or a few sentences.
func (c *Result) Verdict() string {
	switch {
	case c.Planned:
		return c.planVerdict()
	case c.Before.SHA256 == c.After.SHA256 && c.Before.SHA256 != "":
		return "Both files are the same, byte for byte: there is nothing to compare."
	case slices.ContainsFunc(c.Differences, func(d Difference) bool { return d.Code == "other-site" }):
		return "The two audits are of different sites."
	case c.unchanged():
		return "Nothing changed."
	}
	text := strings.Join(append(c.groundClauses(), c.edgeClause()...), "; ") + "."
	text = strings.ToUpper(text[:1]) + text[1:]
	if worse := c.worseGround(); worse > 0 && !slices.ContainsFunc(c.Figures[:3], Figure.worse) {
		text += fmt.Sprintf(" But %s of ground, elsewhere, had more views before and has too few now.", c.Units.Area(worse))
	}
	if names := c.worseNames("gap_m2", "no_stereo_m2", "thin_m2", "covered_share", "enough_share", "edge_captured_share"); len(names) > 0 {
		text += " Worse than before: " + strings.Join(names, ", ") + "."
	}
	return text
}

// unchanged says whether every figure and zone is as it was.
func (c *Result) unchanged() bool {
	same := !slices.ContainsFunc(c.Figures, func(f Figure) bool {
		return f.Judgement == NotComparable || f.Before != f.After && (known(f.Before) || known(f.After))
	})
	return same && len(c.Differences) == 0 && (c.onGround == nil || !slices.ContainsFunc(c.onGround.Zones, func(z ZoneChange) bool { return z.Change != Unchanged }))
}

// groundClauses say what became of the gaps and, where there is more to say, of
// all ground with too few views.
func (c *Result) groundClauses() []string {
	gap := c.figure("gap_m2")
	out := []string{c.fellOrGrew("gaps", gap.Before, gap.After)}
	none := max(gap.Before, gap.After) < leastArea
	if none {
		out[0] = "there were no gaps and there are none"
	}
	if c.figure("thin_m2").Judgement == NotComparable {
		return out
	}
	var before, after float64
	for _, key := range []string{"gap_m2", "no_stereo_m2", "thin_m2"} {
		before, after = before+c.figure(key).Before, after+c.figure(key).After
	}
	if max(before, after) >= leastArea && (before != gap.Before || after != gap.After) {
		if all := c.fellOrGrew("ground with too few views", before, after); none {
			out[0] = all
		} else {
			out = append(out, all)
		}
	}
	return out
}

func (c *Result) fellOrGrew(what string, before, after float64) string {
	u := c.Units
	verb, be := " fell", " is"
	if what == "gaps" {
		be = " are"
	}
	switch {
	case !known(before) || !known(after):
		return what + be + " not known in both"
	case math.Abs(after-before) < leastArea:
		return what + be + " as before, " + u.Area(after)
	case after > before:
		verb = " grew"
	}
	return what + verb + " from " + u.Area(before) + " to " + u.Area(after)
}

func (c *Result) edgeClause() []string {
	f := c.figure("edge_captured_share")
	if f.Judgement == NotComparable || !known(f.Before) || !known(f.After) {
		return nil
	}
	whole := func(share float64) bool { return share >= 1-1e-9 }
	switch {
	case whole(f.After) && whole(f.Before):
		return []string{"the edge is captured whole, as before"}
	case whole(f.After):
		return []string{"the edge is captured whole now"}
	case whole(f.Before):
		return []string{"the edge is no longer captured whole (" + c.Units.Percent(f.After) + ")"}
	case f.Judgement == Better:
		return []string{"more of the edge is captured, " + c.Units.Percent(f.After) + " after " + c.Units.Percent(f.Before)}
	case f.Judgement == Worse:
		return []string{"less of the edge is captured, " + c.Units.Percent(f.After) + " after " + c.Units.Percent(f.Before)}
	}
	return []string{"as much of the edge is captured as before, " + c.Units.Percent(f.After)}
}

// worseNames names the figures that got worse, but for some.
func (c *Result) worseNames(but ...string) []string {
	var out []string
	for _, f := range c.Figures {
		if f.worse() && !slices.Contains(but, f.Key) {
			name, _, _ := strings.Cut(f.Name, ",")
			out = append(out, lower(name))
		}
	}
	return out
}

func (c *Result) planVerdict() string {
	lines, photos := c.figure("lines"), c.figure("photos")
	var short []string
	for _, f := range c.Figures {
		if !f.worse() {
			continue
		}
		switch f.Key {
		case "lines":
			short = append(short, fmt.Sprintf("%s of %s", c.Units.Number(int(f.After)), c.Units.Count(int(f.Before), "line", "lines")))
		case "photos":
			short = append(short, fmt.Sprintf("%s of %s", c.Units.Number(int(f.After)), c.Units.Count(int(f.Before), "photo", "photos")))
		case "speed_m_s":
			short = append(short, c.Units.Speed(f.After)+", faster than motion blur or the trigger allow")
		default:
			short = append(short, fmt.Sprintf("%s %s where %s was planned", lower(f.Name), f.show(c.Units, f.After), f.show(c.Units, f.Before)))
		}
	}
	switch {
	case len(short) > 0:
		return "Not flown as planned: " + strings.Join(short, "; ") + "."
	case lines.Judgement == NotComparable:
		return "The plan is for another area, so only heights, overlaps and speeds can be held against it."
	case !known(lines.After) || !known(photos.After):
		return "As far as can be told, flown as planned."
	}
	return fmt.Sprintf("Flown as planned: %s where %s planned, %s on them where %s planned.",
		c.Units.Count(int(lines.After), "line", "lines"), numberWas(c.Units, int(lines.Before)), c.Units.Count(int(photos.After), "photo", "photos"), numberWas(c.Units, int(photos.Before)))
}

func numberWas(u report.Units, n int) string {
	if n == 1 {
		return "1 was"
	}
	return u.Number(n) + " were"
}

// lower begins a name within a sentence; GSD and the like stay.
func lower(s string) string {
	if len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
