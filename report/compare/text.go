package compare

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"selvage/report"
)

// mostZones is how many changes of zones are shown.
const mostZones = 20

// WriteText writes the comparison for a terminal.
func (c *Result) WriteText(w io.Writer, style report.Style) error {
	out := bufio.NewWriter(w)
	heading := func(s string) { fmt.Fprintf(out, "\n%s\n", style.Bold(s)) }
	if len(c.Differences) > 0 {
		fmt.Fprintln(out, style.Warn("Not like for like:"))
		for _, d := range c.Differences {
			report.WriteParagraph(out, "- ", d.Text, style.Warn)
		}
		fmt.Fprintln(out)
	}
	verdict := style.Good
	if !c.Good() {
		verdict = style.Bad
	}
	report.WriteParagraph(out, "", c.Verdict(), verdict)
	fmt.Fprintln(out)
	before, after := "before", "after"
	if c.Planned {
		before, after = "planned", "flown"
	}
	report.WriteColumns(out, [][]string{{before, c.Before.Name}, {after, c.After.Name}})

	heading("Figures")
	rows := [][]string{{"", before, after, "change", ""}}
	u := c.Units.Short()
	for _, f := range c.Figures {
		if !known(f.Before) && !known(f.After) {
			continue
		}
		rows = append(rows, []string{f.Name, f.show(u, f.Before), f.show(u, f.After), f.change(u), f.mark(style)})
	}
	report.WriteColumns(out, rows)
	if c.onGround != nil {
		c.writeGround(out, style)
	}
	if len(c.Inputs) > 0 {
		heading("Inputs")
		rows = nil
		for _, i := range c.Inputs {
			rows = append(rows, []string{i.Role, i.words(c.Units)})
		}
		report.WriteColumns(out, rows)
	}
	if len(c.Notes) > 0 {
		heading("Notes")
		for _, n := range c.Notes {
			report.WriteParagraph(out, "  ", n, nil)
		}
	}
	return out.Flush()
}

func (c *Result) writeGround(out *bufio.Writer, style report.Style) {
	u, p := c.Units.Short(), c.onGround
	rows := [][]string{{"class", "came out of it", "fell into it"}}
	names := []string{"no view", "fewer than 2 views", "fewer views than wanted"}
	wanted := wantedViews(c.After.Audit)
	for k, g := range p.Below {
		if again := k > 0 && wanted <= float64(k); !again && (g.Better > 0 || g.Worse > 0) {
			worse := u.Area(g.Worse)
			if g.Worse > 0 {
				worse = style.Bad(worse)
			}
			rows = append(rows, []string{names[k], u.Area(g.Better), worse})
		}
	}
	if len(rows) > 1 {
		fmt.Fprintf(out, "\n%s\n", style.Bold("Ground that changed class"))
		report.WriteColumns(out, rows)
	}
	rows = [][]string{{"", "class", "before", "after", "", "position"}}
	same := 0
	for _, z := range p.Zones {
		if z.Change == Unchanged && len(z.Before) == 1 && len(z.After) == 1 {
			same++
			continue
		}
		rows = append(rows, []string{string(z.Change), strings.ReplaceAll(z.Kind, "-", " "), numbered(u, z.Before, z.BeforeArea), numbered(u, z.After, z.AfterArea), z.words(u), report.Position(z.At)})
	}
	if len(rows) == 1 && same == 0 {
		return
	}
	fmt.Fprintf(out, "\n%s\n", style.Bold("Zones"))
	if len(rows) > 1 {
		report.WriteColumns(out, rows[:min(len(rows), mostZones+1)])
	}
	if more := len(rows) - 1 - mostZones; more > 0 {
		fmt.Fprintf(out, "  … and %s more\n", u.Number(more))
	}
	if same > 0 {
		fmt.Fprintf(out, "  %s as before.\n", u.Count(same, "zone is", "zones are"))
	}
}

// numbered is "2, 3: 140 m²", by the numbers of the coverage note.
func numbered(u report.Units, numbers []int, area float64) string {
	if len(numbers) == 0 {
		return "–"
	}
	const most = 4
	var names []string
	for _, n := range numbers[:min(len(numbers), most)] {
		names = append(names, strconv.Itoa(n))
	}
	list := strings.Join(names, ", ")
	if len(numbers) > most {
		list += ", …"
	}
	return list + ": " + u.Area(area)
}

// words says what the change alone does not.
func (z ZoneChange) words(u report.Units) string {
	var of = map[string]string{"gap": "a gap", "no-stereo": "no stereo", "thin": "thin", enough: "seen enough", outside: "outside the site"}
	switch b, a := len(z.Before), len(z.After); {
	case z.Change == New:
		return "was " + of[z.Other]
	case z.Change == Gone:
		return of[z.Other] + " now"
	case b == 1 && a > 1:
		return "in " + u.Count(a, "piece", "pieces") + " now"
	case b > 1 && a == 1:
		return "grown together"
	case b > 1 && a > 1:
		return "other pieces"
	}
	return ""
}

// show formats a value of the figure.
func (f Figure) show(u report.Units, x float64) string {
	if !known(x) {
		return "–"
	}
	switch f.measure {
	case anArea:
		return u.Area(x)
	case aLength:
		return u.Length(x)
	case aDistance:
		return u.Distance(x)
	case aShare:
		return u.Percent(x)
	case aGSD:
		return u.GSD(x / 1000)
	case aSpeed:
		return u.Speed(x)
	case aTime:
		return u.Duration(x)
	}
	return u.Number(int(x))
}

// change formats the difference with its sign, and in per cent of what was
// before; of shares, in points.
func (f Figure) change(u report.Units) string {
	if f.Judgement == NotComparable {
		return "does not compare"
	}
	amount, share := f.Change()
	switch {
	case !known(amount):
		return ""
	case amount == 0:
		return "none"
	case f.show(u, f.Before) == f.show(u, f.After) && math.Abs(share) < 0.005:
		return "hardly any"
	}
	if f.measure == aShare {
		if math.Abs(amount) < 0.0005 {
			return "hardly any"
		}
		return u.Points(amount)
	}
	sign := "+"
	if amount < 0 {
		sign = "−"
	}
	text := sign + f.show(u, math.Abs(amount))
	if known(share) {
		text += ", " + u.Change(share)
	}
	return text
}

func (f Figure) mark(style report.Style) string {
	switch f.Judgement {
	case Better:
		return style.Good("better")
	case Worse:
		return style.Bad("worse")
	}
	return ""
}

func (i InputChange) words(u report.Units) string {
	names := func(list []string) string {
		const most = 3
		text := strings.Join(list[:min(len(list), most)], ", ")
		if more := len(list) - most; more > 0 {
			text += " and " + u.Number(more) + " more"
		}
		return text
	}
	switch {
	case i.Same:
		return "the same: " + names(i.After)
	case len(i.Before) == 0:
		return "only after: " + names(i.After)
	case len(i.After) == 0:
		return "only before: " + names(i.Before)
	}
	return "others: " + names(i.Before) + " before, " + names(i.After) + " after"
}
