// Package pdf sets the coverage note and the receipt sheet as PDF.
//
// Its input is the page that package report writes as HTML, so that there is
// one source of what the sheets say: what is added to a page is in the PDF too.
// Not a browser, it knows what those pages use: blocks, grids, tables, lists
// and SVG pictures, styled by the page's own sheet as for print.
//
// The page is parsed to nodes, nodes are laid out as strips of a column, strips
// are shared out among pages, and pages are drawn.
package pdf

import (
	"errors"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"selvage/report/texts"
)

// Options are what the page itself does not say.
type Options struct {
	Producer string    // the program that writes the file, with its version
	Made     time.Time // is written as the date of the file
	Letter   bool      // US Letter in place of A4
	Texts    *texts.Catalogue
}

// Margins and measures in points.
const (
	marginTop    = 42.0
	marginSide   = 42.5
	marginBottom = 51.0
	footAbove    = 27.0 // of the paper's edge
	footSize     = 7.5
	bandAbove    = 7.0 // of the text
)

var errNoBody = errors.New("the page has no body")

// Write sets an HTML page of package report. The same page and options give the
// same bytes.
func Write(w io.Writer, page []byte, o Options) error {
	root, err := parse(page)
	if err != nil {
		return fmt.Errorf("the page cannot be read: %w", err)
	}
	body := root.find("body")
	if body == nil {
		return errNoBody
	}
	title := root.find("title").text()
	fonts, err := loadFaces()
	if err != nil {
		return err
	}
	unknown := fonts.replaceUnknown(root)
	if unknown > 0 {
		body.append(unknownNote(o.Texts, unknown))
	}
	shownTitle := root.find("title").text()
	size := "A4"
	if o.Letter {
		size = "Letter"
	}
	f := fpdf.New("P", "pt", size, "")
	f.SetCatalogSort(true)
	f.SetCreationDate(o.Made)
	f.SetModificationDate(o.Made)
	f.SetProducer(o.Producer, true)
	f.SetTitle(title, true)
	f.SetLang(o.Texts.Language())
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	fonts.add(f)

	width, height := f.GetPageSize()
	frame := frame{width: width - 2*marginSide, height: height - marginTop - marginBottom}
	l := newLayout(parseSheet(userAgent+root.find("style").text()), fonts, frame, o.Texts)
	pages := paginate(l.page(body), frame.height)
	p := &painter{Fpdf: f, fonts: fonts, paper: height, texts: o.Texts}
	for i, strips := range pages {
		f.AddPage()
		if i == 0 && l.band != nil {
			p.band(l.band, width)
		}
		p.flow(strips, marginSide, marginTop)
		p.foot(shownTitle, i+1, len(pages), width)
	}
	return f.Output(w)
}

// band is the ornament over the first page.
func (p *painter) band(st *style, width float64) {
	line := st.border[bottom]
	x, y := marginSide, marginTop-bandAbove-st.height
	p.onGround(st.ground, x, y, width-2*marginSide, st.height-line.width)
	p.fill(line.colour, x, y+st.height-line.width, width-2*marginSide, line.width)
}

// foot is the line below each page.
func (p *painter) foot(title string, page, pages int, width float64) {
	s := run{face: regular, size: footSize, colour: colour{0x4a, 0x57, 0x63}}
	number := p.texts.Say("page %d of %d", page, pages)
	right := p.fonts.width(s.face, s.size, number)
	title = p.fonts.cut(s.face, s.size, title, width-2*marginSide-right-20)
	y := p.paper - footAbove
	p.text(s, marginSide, y, title)
	p.text(s, width-marginSide-right, y, number)
}

func unknownNote(t *texts.Catalogue, count int) *node {
	text := t.Say("□ stands for a character that this file has no letter for. The web page shows it.")
	if count > 1 {
		text = t.Say("□ stands for %d characters that this file has no letters for. The web page shows them.", count)
	}
	return element("p", element("span", &node{data: text}))
}
