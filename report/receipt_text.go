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
	l := &letterText{out: bufio.NewWriter(w)}
	l.paragraph("Hello,")
	l.paragraph("Thank you for the boundary file. This is what we received, and how we read it. " + r.gist())
	l.received(r)
	l.list(r.Units, "Mended without asking", r.inWords(finding.Mended))
	if site := r.Receipt.Site; len(site.Mends) > 0 && len(site.Areas) > 0 {
		now := "Area now: " + r.Units.Area(site.Area) + "."
		if !r.uncertainArea() {
			now = "Area as received: " + r.Units.Area(site.AreaBefore) + ". " + now + " Shift: " + r.Units.change(site.AreaBefore, site.Area) + "."
		}
		l.paragraph(now)
	}
	l.questions(r)
	l.list(r.Units, "For your information", r.inWords(finding.Note))
	l.heading("Please note")
	for _, c := range Cautions()[:2] {
		l.item("- ", strings.Replace(c, "This sheet", "This receipt", 1))
	}
	l.blank()
	l.paragraph("Thank you, and kind regards")
	for _, line := range []string{r.Letterhead.Operator, r.Letterhead.Licence} {
		if line != "" {
			l.paragraph(clean(line))
		}
	}
	l.paragraph(strings.TrimSpace("Made " + r.Units.Moment(r.Made) + " with " + clean(r.Tool) + " " + clean(r.Version)))
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
	switch asked {
	case 0:
		return "Nothing in it needs an answer from you."
	case 1:
		return "There is 1 question that only you can answer; it stands below."
	}
	return "There are " + r.Units.Number(asked) + " questions that only you can answer; they stand below."
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
		l.item("- ", "and "+u.Number(left)+" more, which the receipt sheet lists.")
	}
	l.blank()
}

func (l *letterText) received(r Receipt) {
	receipt := r.Receipt
	l.heading("Received")
	rows := []Parameter{
		{"File", clean(r.File.Name) + " (" + clean(r.File.Format) + ")"},
		{"SHA-256", clean(r.File.SHA256[:min(len(r.File.SHA256), shortSHA256)]) + "..."},
		{"Holds", r.Units.Count(receipt.Parts, "part", "parts") + ", " + r.Units.Count(receipt.Holes, "hole", "holes") + ", " + r.Units.Count(receipt.Vertices, "vertex", "vertices")},
	}
	if len(receipt.Site.Areas) > 0 {
		rows = append(rows,
			Parameter{"Area", r.Units.AreaBoth(receipt.Site.Area)},
			Parameter{"Perimeter", r.Units.Distance(receipt.Perimeter)},
			Parameter{"Centre", Position(receipt.Centre)})
	} else {
		rows = append(rows, Parameter{"Area", "none that could be flown"})
	}
	for _, row := range rows {
		l.item(fmt.Sprintf("%-11s", row.Name), row.Value)
	}
	l.blank()
}

func (l *letterText) questions(r Receipt) {
	questions := r.questions()
	open := 0
	for open < len(questions) && !questions[open].Settled {
		open++
	}
	if open == 0 {
		return
	}
	l.heading("Questions for you")
	if example := answerExample(questions); example != "" {
		l.paragraph("Please answer with the number and the letter, for example \"" + example + "\", and add whatever we should know.")
	}
	for _, q := range first(questions[:open], mostQuestions) {
		mark := strconv.Itoa(q.Number) + ". "
		l.item(mark, q.Text)
		indent := strings.Repeat(" ", len(mark))
		if place := placeInFile(q.Place); place != "" && len(q.Faults) == 1 || q.drawn {
			l.item(indent, "At: "+place)
		} else if len(q.Faults) > 1 {
			for _, i := range first(q.Faults, mostQuotes) {
				l.item(indent+"- ", r.Units.toClient(r.Receipt.Findings[i].Text))
			}
			if left := len(q.Faults) - mostQuotes; left > 0 {
				l.item(indent+"- ", "and "+r.Units.Number(left)+" more of the kind.")
			}
		}
		used := ""
		for _, o := range q.Options {
			text := o.Text
			if o.Area != "" && r.Units.Measures == Imperial {
				text += " (" + o.Area + ")"
			}
			l.item(indent+"  "+o.Letter+") ", text)
			if o.Used {
				used = o.Letter
			}
		}
		switch {
		case len(q.Options) == 0:
			l.item(indent, "Please answer with "+q.Wanted+".")
		case used != "":
			l.item(indent, "Until we hear from you we go on with "+used+".")
		}
		l.blank()
	}
	if left := open - mostQuestions; left > 0 {
		l.paragraph("There are " + r.Units.Count(left, "more question", "more questions") + ", which the receipt sheet lists.")
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
