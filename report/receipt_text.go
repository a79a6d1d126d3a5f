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

const (
	letterWidth   = 72 // columns, which survive being quoted in an answer
	mostQuestions = 40
	shortSHA256   = 16
)

// WriteReceiptText writes the receipt as the text of an e-mail to the client.
func WriteReceiptText(w io.Writer, r Receipt) error {
	if r.File == nil {
		return errNoFile
	}
	l, u := &letterText{out: bufio.NewWriter(w)}, r.Units
	l.paragraph(u.Say("Hello,"))
	l.paragraph(u.Say("Thank you for the boundary file. This is what we received, and how we read it.") + " " + r.gist())
	l.received(r)
	l.list(u, u.Say("Mended without asking"), r.inWords(finding.Mended))
	if site := r.Receipt.Site; len(site.Mends) > 0 && len(site.Areas) > 0 {
		now := u.Say("Area now: %s.", u.Area(site.Area))
		if !r.uncertainArea() {
			now = u.Say("Area as received: %s. Area now: %s. Shift: %s.", u.Area(site.AreaBefore), u.Area(site.Area), u.change(site.AreaBefore, site.Area))
		}
		l.paragraph(now)
	}
	l.questions(r)
	l.list(u, u.Say("For your information"), r.inWords(finding.Note))
	l.heading(u.Say("Please note"))
	l.item("- ", u.Say("This receipt is not a legal boundary survey; only a licensed surveyor can make one."))
	l.item("- ", u.Cautions()[1])
	l.blank()
	l.paragraph(u.Say("Thank you, and kind regards"))
	for _, line := range []string{r.Letterhead.Operator, r.Letterhead.Licence} {
		if line != "" {
			l.paragraph(Clean(line))
		}
	}
	l.paragraph(u.Say("Made %s with %s", u.Moment(r.Made), strings.TrimSpace(Clean(r.Tool)+" "+Clean(r.Version))))
	return l.out.Flush()
}

// gist says how much is asked of the client.
func (r Receipt) gist() string {
	asked := 0
	for _, q := range r.questions() {
		if !q.Settled {
			asked++
		}
	}
	if asked == 0 {
		return r.Units.Say("Nothing in it needs an answer from you.")
	}
	return r.Units.Count(asked, "question that only you can answer stands below.", "questions that only you can answer stand below.")
}

// letterText lays out text for a mail body: plain lines of letterWidth columns
// at most.
type letterText struct{ out *bufio.Writer }

func (l *letterText) blank() { fmt.Fprintln(l.out) }

func (l *letterText) heading(s string) {
	fmt.Fprintf(l.out, "%s\n%s\n", s, strings.Repeat("-", utf8.RuneCountInString(s)))
}

func (l *letterText) paragraph(s string) {
	l.item("", s)
	l.blank()
}

// item writes text after a mark, its further lines indented as far.
func (l *letterText) item(mark, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(mark))
	for i, line := range fold(text, letterWidth-len(indent)) {
		if i > 0 {
			mark = indent
		}
		fmt.Fprintln(l.out, mark+line)
	}
}

func (l *letterText) list(u Units, heading string, items []string) {
	if len(items) == 0 {
		return
	}
	l.heading(heading)
	for _, s := range first(items, mostRows) {
		l.item("- ", s)
	}
	if left := len(items) - mostRows; left > 0 {
		l.item("- ", u.Say("and %s more, which the receipt sheet lists.", u.Number(left)))
	}
	l.blank()
}

func (l *letterText) received(r Receipt) {
	receipt, u := r.Receipt, r.Units
	l.heading(u.Say("Received"))
	rows := []Parameter{
		{u.Say("File"), Clean(r.File.Name) + " (" + Clean(r.File.Format) + ")"},
		{"SHA-256", Clean(r.File.SHA256[:min(len(r.File.SHA256), shortSHA256)]) + "..."},
		{u.Say("Holds"), u.Count(receipt.Parts, "part", "parts") + ", " + u.Count(receipt.Holes, "hole", "holes") + ", " + u.Count(receipt.Vertices, "vertex", "vertices")},
	}
	if len(receipt.Site.Areas) > 0 {
		rows = append(rows,
			Parameter{u.Say("Area"), u.AreaBoth(receipt.Site.Area)},
			Parameter{u.Say("Perimeter"), u.Distance(receipt.Perimeter)},
			Parameter{u.Say("Centre"), u.Position(receipt.Centre)})
	} else {
		rows = append(rows, Parameter{u.Say("Area"), u.Say("none that could be flown")})
	}
	wide := 9
	for _, row := range rows {
		wide = max(wide, utf8.RuneCountInString(row.Name))
	}
	for _, row := range rows {
		l.item(fmt.Sprintf("%-*s", wide+2, row.Name), row.Value)
	}
	l.blank()
}

func (l *letterText) questions(r Receipt) {
	questions, u := r.questions(), r.Units
	open := 0
	for open < len(questions) && !questions[open].Settled {
		open++
	}
	if open == 0 {
		return
	}
	l.heading(u.Say("Questions for you"))
	if example := answerExample(questions); example != "" {
		l.paragraph(u.Say("Please answer with the number and the letter, for example \"%s\", and add whatever we should know.", example))
	}
	for _, q := range first(questions[:open], mostQuestions) {
		mark := strconv.Itoa(q.Number) + ". "
		l.item(mark, q.Text)
		indent := strings.Repeat(" ", len(mark))
		if place := u.placeInFile(q.Place); place != "" && len(q.Faults) == 1 || q.drawn {
			l.item(indent, u.Say("At: %s", place))
		} else if len(q.Faults) > 1 {
			for _, i := range first(q.Faults, mostQuotes) {
				l.item(indent+"- ", u.toClient(r.Receipt.Findings[i].Text))
			}
			if left := len(q.Faults) - mostQuotes; left > 0 {
				l.item(indent+"- ", u.Say("and %s more of the kind.", u.Number(left)))
			}
		}
		used := ""
		for _, o := range q.Options {
			text := o.Text
			if o.Area != "" && u.Measures == Imperial {
				text += " (" + o.Area + ")"
			}
			l.item(indent+"  "+o.Letter+") ", text)
			if o.Used {
				used = o.Letter
			}
		}
		switch {
		case len(q.Options) == 0:
			l.item(indent, q.Wanted)
		case used != "":
			l.item(indent, u.Say("Until we hear from you we go on with %s.", used))
		}
		l.blank()
	}
	if left := open - mostQuestions; left > 0 {
		l.paragraph(u.Count(left, "more question stands in the receipt sheet.", "more questions stand in the receipt sheet."))
	}
}

// fold is Wrap with longer words broken.
func fold(text string, width int) []string {
	var lines []string
	for _, line := range Wrap(text, width) {
		letters := []rune(line)
		for len(letters) > width {
			lines = append(lines, string(letters[:width]))
			letters = letters[width:]
		}
		lines = append(lines, string(letters))
	}
	return lines
}
