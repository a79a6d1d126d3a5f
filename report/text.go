package report

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"selvage/boundary/finding"
)

// Style dresses text for a terminal. The zero Style leaves it plain.
type Style struct{ Colour bool }

func (s Style) Bold(text string) string { return s.dress("1", text) }
func (s Style) Good(text string) string { return s.dress("32", text) }
func (s Style) Warn(text string) string { return s.dress("33", text) }
func (s Style) Bad(text string) string  { return s.dress("31", text) }
func (s Style) Dim(text string) string  { return s.dress("2", text) }

func (s Style) dress(code, text string) string {
	if !s.Colour || text == "" {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

// answer dresses the answer to a check.
func (s Style) answer(a Answer, text string) string {
	switch a {
	case Yes:
		return s.Good(text)
	case No:
		return s.Bad(text)
	case InPart, Unmeasured:
		return s.Warn(text)
	}
	return s.Dim(text)
}

const (
	textWidth = 80
	mostRows  = 20
)

// WriteText writes the audit for a terminal.
func WriteText(w io.Writer, n Note, style Style) error {
	if n.Audit == nil {
		return errNoAudit
	}
	a, u, tables := n.Audit, n.Units, n.Units.Short()
	out := bufio.NewWriter(w)
	heading := func(s string) { fmt.Fprintf(out, "\n%s\n", style.Bold(s)) }
	left := func(total int) {
		if total > mostRows {
			fmt.Fprintf(out, "  %s\n", u.Say("… and %s more", u.Number(total-mostRows)))
		}
	}

	verdict := style.Good
	if !n.Met() {
		verdict = style.Warn
	}
	if !n.Captured() {
		verdict = style.Bad
	}
	for _, line := range Wrap(n.Verdict(), textWidth) {
		fmt.Fprintln(out, verdict(line))
	}

	heading(u.Say("Wanted and found"))
	const foundWidth = 40
	rows := [][]string{append([]string{""}, u.SayAll("wanted", "met", "found")...)}
	for _, c := range n.Checks() {
		found := Wrap(c.Found, foundWidth)
		rows = append(rows, []string{c.Name, c.Wanted, style.answer(c.Met, u.answer(c.Met)), found[0]})
		for _, line := range found[1:] {
			rows = append(rows, []string{"", "", "", line})
		}
	}
	writeColumns(out, rows)

	heading(u.Say("Photos"))
	fmt.Fprintf(out, "  %s\n", u.Say("%s read, %s used, %s left out.", u.Number(a.Photos.Read), u.Number(a.Photos.Used), u.Number(len(a.Photos.LeftOut))))
	for _, r := range reasons(a.Photos.LeftOut) {
		fmt.Fprintf(out, "  %s: %s\n", u.Number(len(r.Files)), u.Sentence(r.Reason))
	}
	if a.Photos.OutsideCentres > 0 {
		fmt.Fprintf(out, "  %s\n", u.Count(a.Photos.OutsideCentres, "photo was taken from outside the site and flight areas.", "photos were taken from outside the site and flight areas."))
	}

	if len(a.Flights) > 0 {
		heading(u.Say("Flights and speed"))
		writeFlown(out, n)
	}

	if len(a.Zones) > 0 {
		heading(u.Say("Zones with too few views"))
		rows = [][]string{u.SayAll("no.", "class", "area", "position")}
		for i, z := range first(a.Zones, mostRows) {
			rows = append(rows, []string{strconv.Itoa(i + 1), u.kindName(z.Kind), tables.Area(z.Area), u.Position(z.Label)})
		}
		writeColumns(out, rows)
		left(len(a.Zones))
	}
	if len(a.Edge.Stretches) > 0 {
		heading(u.Say("Edge with too few views"))
		rows = [][]string{u.SayAll("no.", "ring", "from", "to", "least views", "position")}
		for i, s := range first(a.Edge.Stretches, mostRows) {
			rows = append(rows, []string{
				"E" + strconv.Itoa(i+1), u.edgeRing(a.Edge, s.Ring), tables.Chainage(s.From), tables.Chainage(s.To),
				u.Number(s.MinViews), u.Position(middle(s.Path)),
			})
		}
		writeColumns(out, rows)
		left(len(a.Edge.Stretches))
	}
	if lines := n.reachSentences(); len(lines) > 0 {
		heading(u.Say("Beyond the edge"))
		for _, line := range Wrap(strings.Join(lines, " "), textWidth-2) {
			fmt.Fprintf(out, "  %s\n", line)
		}
	}
	if len(a.Points) > 0 {
		heading(u.Say("Control points"))
		writeColumns(out, writePoints(out, n))
		left(len(a.Points))
	}
	writeKnown(out, n, heading, func(rows [][]string) { writeColumns(out, rows) })
	if len(a.Refly) > 0 {
		heading(u.Say("To fly again"))
		writeColumns(out, n.reflyTable().lines(u.SayAll("no.", "area", "for", "course", "lines", "photos", "track", "time", "enough")...))
		left(len(a.Refly))
		for _, line := range Wrap(strings.Join(n.reflySentences(), " "), textWidth-2) {
			fmt.Fprintf(out, "  %s\n", line)
		}
	}
	if fs := n.findings(); len(fs) > 0 {
		heading(u.Say("Findings"))
		writeFindings(out, u, fs, style)
	}
	if len(n.Files) > 0 {
		heading(u.Say("Files"))
		rows = nil
		for _, f := range n.Files {
			rows = append(rows, []string{u.role(f.Role), Clean(f.Path)})
		}
		writeColumns(out, rows)
	}
	fmt.Fprintln(out)
	for _, line := range Wrap(u.Cautions()[0]+" "+u.Cautions()[1], textWidth) {
		fmt.Fprintln(out, style.Dim(line))
	}
	return out.Flush()
}

// WriteFindings writes one sentence a finding, with its severity, code and place.
func WriteFindings(w io.Writer, u Units, findings []finding.Finding, style Style) error {
	out := bufio.NewWriter(w)
	writeFindings(out, u, findings, style)
	return out.Flush()
}

func writeFindings(out *bufio.Writer, u Units, findings []finding.Finding, style Style) {
	for _, f := range findings {
		mark := style.Dim
		switch f.Severity {
		case finding.NeedsAnswer:
			mark = style.Warn
		case finding.Mended:
			mark = style.Good
		}
		fmt.Fprintf(out, "  %s  %s\n", mark(u.severityName(f.Severity)), style.Dim(Clean(string(f.Code))))
		for _, line := range Wrap(u.Sentence(f.Text), textWidth-4) {
			fmt.Fprintf(out, "    %s\n", line)
		}
		for _, line := range Wrap(u.where(f.Place), textWidth-4) {
			fmt.Fprintf(out, "    %s\n", style.Dim(line))
		}
	}
}

// WriteParagraph writes text in lines that a terminal has room for. The first
// begins with lead, and the others with as many blanks; dress, if there is one,
// dresses each behind that.
func WriteParagraph(w io.Writer, lead, text string, dress func(string) string) error {
	for _, line := range Wrap(text, textWidth-len(lead)) {
		if dress != nil {
			line = dress(line)
		}
		if _, err := fmt.Fprintln(w, lead+line); err != nil {
			return err
		}
		lead = strings.Repeat(" ", len(lead))
	}
	return nil
}

// WriteColumns writes rows as aligned columns, indented by two spaces. Dressed
// cells are measured without their dress.
func WriteColumns(w io.Writer, rows [][]string) error {
	out := bufio.NewWriter(w)
	writeColumns(out, rows)
	return out.Flush()
}

func writeColumns(out *bufio.Writer, rows [][]string) {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], shownWidth(cell))
		}
	}
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			line.WriteString("  " + cell)
			if i < len(row)-1 {
				line.WriteString(strings.Repeat(" ", widths[i]-shownWidth(cell)))
			}
		}
		fmt.Fprintln(out, strings.TrimRight(line.String(), " "))
	}
}

// shownWidth counts the characters of s that take up room.
func shownWidth(s string) int {
	n := utf8.RuneCountInString(s)
	for {
		from := strings.Index(s, "\x1b[")
		if from < 0 {
			return n
		}
		length := strings.IndexByte(s[from:], 'm') + 1
		if length == 0 {
			return n
		}
		n -= length
		s = s[from+length:]
	}
}

// Wrap breaks text at spaces into lines of at most width characters; a longer
// word has a line of its own. A figure stays with its unit.
func Wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(tie(text), func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	if line != "" {
		lines = append(lines, line)
	}
	for i := range lines {
		lines[i] = strings.ReplaceAll(lines[i], noBreak, " ")
	}
	return lines
}
