package report

import (
	_ "embed"
	"html/template"
	"io"
	"strconv"
	"strings"

	"selvage/boundary"
)

//go:embed receipt.html.tmpl
var receiptTemplate string

//go:embed receipt.css
var receiptStyle string

var receiptSheet = sheetPage("receipt", receiptTemplate+tableTemplate)

// receiptPage is what the template shows: words and pictures only.
type receiptPage struct {
	Title, Date, Tool, Version string
	Letterhead                 Letterhead
	Style                      template.CSS
	Scripts                    []script
	File                       *boundary.File
	Verdict                    sheetVerdict
	Comparisons                table
	Uncertain                  bool
	Facts, Figures             []Parameter
	Map                        picture
	Live                       live
	Open, Settled              []questionBlock
	Example, MoreQuestions     string
	CloseUps                   []closeUp
	Findings                   table
	MoreFindings               string
	Mends                      table
	MoreMends                  string
	Shift                      string
	Cautions                   []string
	Inputs                     []Input
}

type questionBlock struct {
	Number              int
	Text, Faults, Where string
	Wanted              string
	Pictures            bool
	Remark              string
	Quotes              []string // of some faults that one question asks about
	Options             []optionBlock
}

type optionBlock struct {
	Answer, Area, Text, Note string
	Used                     bool
	SVG                      template.HTML
}

// WriteReceiptHTML writes the receipt sheet: one page that needs nothing else,
// no network and no font. Its scripts only help; where they cannot run, the
// picture of the map and the tables stay as they are.
func WriteReceiptHTML(w io.Writer, r Receipt) error {
	if r.File == nil {
		return errNoFile
	}
	p := receiptPageOf(r)
	var err error
	if p.Live, err = r.liveMap(); err != nil {
		return err
	}
	if p.Live.Data != "" {
		p.Scripts = append(p.Scripts, moduleOf(sheetScript))
	}
	p.Scripts = append(p.Scripts, moduleOf(tableScript))
	return writeSheet(w, receiptSheet, r.Units.Locale, p)
}

func receiptPageOf(r Receipt) receiptPage {
	site, u := r.Receipt.Site, r.Units
	p := receiptPage{
		Title: r.title(), Letterhead: r.Letterhead, Date: u.Moment(r.Made), Tool: r.Tool, Version: r.Version,
		Style: sheetCSS(receiptStyle + tableStyle), File: r.File,
		Verdict: r.verdict(), Comparisons: r.comparisonTable(), Uncertain: r.uncertainArea(), Figures: r.figures(),
		Map: drawReceiptMap(r), CloseUps: drawCloseUps(r), Findings: r.findingTable().shown(), Mends: r.mendTable().shown(),
		Shift: u.change(site.AreaBefore, site.Area), Cautions: u.Cautions(),
		Inputs: []Input{{u.Say("Client boundary"), r.File.Name, r.File.SHA256}},
	}
	if len(site.Areas) > 0 {
		p.Facts = []Parameter{{u.Say("Site area"), u.AreaBoth(site.Area)}, {u.Say("Parts"), u.Number(r.Receipt.Parts)}}
	}
	questions := r.questions()
	p.Example = answerExample(questions)
	for i, q := range first(questions, mostTableRows) {
		if b := r.block(q, i); q.Settled {
			p.Settled = append(p.Settled, b)
		} else {
			p.Open = append(p.Open, b)
		}
	}
	p.MoreQuestions = u.more(len(questions), "more question is not shown", "more questions are not shown")
	p.MoreFindings = u.more(len(r.Receipt.Findings), "more finding is not shown", "more findings are not shown")
	p.MoreMends = u.more(len(site.Mends), "more mend is not shown", "more mends are not shown")
	return p
}

// A question about many faults quotes this many of them.
const mostQuotes = 5

func (r Receipt) block(q question, index int) questionBlock {
	u := r.Units
	b := questionBlock{Number: q.Number, Text: q.Text, Faults: faultNames(q.Faults), Where: u.placeInFile(q.Place), Wanted: q.Wanted}
	var pictures []template.HTML
	if q.drawn && index < mostDrawn {
		var focused bool
		pictures, focused = r.drawReadings(q, index)
		b.Pictures, b.Remark = true, u.Say("The darker ground is where the readings differ.")
		if focused {
			b.Remark = u.Say("The pictures show where the readings differ, which is the darker ground.")
		}
	}
	if q.drawn && r.Receipt.Parts > 1 {
		b.Remark = strings.TrimSpace(b.Remark + " " + u.Say("Areas are those of this part."))
	}
	if !q.drawn && len(q.Faults) > 1 {
		b.Where = ""
		for _, i := range first(q.Faults, mostQuotes) {
			b.Quotes = append(b.Quotes, faultName(i)+": "+u.toClient(r.Receipt.Findings[i].Text))
		}
		if left := len(q.Faults) - mostQuotes; left > 0 {
			b.Quotes = append(b.Quotes, u.Say("and %s more of the kind.", u.Number(left)))
		}
	}
	for i, o := range q.Options {
		out := optionBlock{Area: o.Area, Text: o.Text, Used: o.Used}
		if o.Letter != "" {
			out.Answer = strconv.Itoa(q.Number) + o.Letter
		}
		if o.Used && q.Settled {
			out.Note = u.Say("This reading is used.")
		} else if o.Used {
			out.Note = u.Say("Used unless you answer.")
		}
		if o.Choice != "" {
			out.Note = strings.TrimSpace(out.Note + " " + u.Say("Reading: %s.", o.Choice))
		}
		if pictures != nil {
			out.SVG = pictures[i]
		}
		b.Options = append(b.Options, out)
	}
	return b
}
