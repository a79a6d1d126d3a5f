package pdf

import (
	"slices"
	"strconv"

	"selvage/report/texts"
)

// layout makes strips of the elements of a page.
type layout struct {
	sheet    *sheet
	fonts    *faces
	frame    frame
	styles   map[*node]*style
	pictures map[string]*node // clip paths and patterns by their names
	band     *style           // of the ornament over the first page; may be nil
	ink      colour           // of the page's text
	mostSize float64          // of letters, while a wide table is set; 0: any
	texts    *texts.Catalogue
}

// frame is the printed part of a page.
type frame struct{ width, height float64 }

// area is where a block goes, from the left of its column.
type area struct {
	x, width float64
	panels   []*panel
}

func newLayout(s *sheet, fonts *faces, f frame, t *texts.Catalogue) *layout {
	return &layout{sheet: s, fonts: fonts, frame: f, styles: map[*node]*style{}, pictures: map[string]*node{}, texts: t}
}

// page lays out the body of a page.
func (l *layout) page(body *node) []*strip {
	body.all(func(n *node) {
		if id := n.attributes["id"]; id != "" && (n.tag == "clipPath" || n.tag == "pattern") {
			l.pictures[id] = n
		}
	})
	f := &flow{}
	st := l.styleOf(body, &style{size: rootSize, lineHeight: 1.5})
	st.ground = nil // the paper is
	l.ink = st.colour
	// A band over the page is none of its text.
	if band := body.find("div"); band != nil && band.attributes["aria-hidden"] == "true" && band.parent == body {
		own := l.styleOf(band, st)
		l.band = own
		own.display = "none"
	}
	l.block(f, body, st, area{width: l.frame.width})
	return f.strips
}

// block adds a block with its margins, borders and grounds.
func (l *layout) block(f *flow, n *node, st *style, b area) {
	start := len(f.strips)
	f.space(st.margin[top])
	b.x += max(st.margin[left], 0)
	b.width -= max(st.margin[left], 0) + max(st.margin[right], 0)
	if st.mostWidth > 0 {
		b.width = min(b.width, st.mostWidth)
	}
	inner := b
	if st.ground != nil || st.frame || st.border[left].width > 0 {
		own := &panel{x: b.x, width: b.width, ground: st.ground, left: st.border[left]}
		if st.frame {
			own.frame, own.left = &st.border[left], border{}
		}
		inner.panels = append(slices.Clone(b.panels), own)
	}
	inner.x += st.pad[left] + st.border[left].width
	inner.width = max(inner.width-st.pad[left]-st.pad[right]-st.border[left].width-st.border[right].width, 1)

	l.spacer(f, st, inner, b, top)
	if n.tag == "svg" || n.tag == "img" {
		l.figure(f, n, st, inner)
	} else {
		l.inside(f, n, st, inner)
	}
	if st.height > 0 && len(f.strips) == start {
		f.add(&strip{height: st.height, panels: inner.panels})
	}
	if end := len(f.strips); st.pad[bottom]+st.border[bottom].width > 0 && end > start {
		f.strips[end-1].kept(needed)
	}
	l.spacer(f, st, inner, b, bottom)

	own := f.strips[start:]
	if len(own) == 0 {
		f.space(st.margin[bottom])
		return
	}
	if st.whole {
		for _, s := range own[:len(own)-1] {
			s.kept(wished)
		}
	}
	if level, is := headings[n.tag]; is {
		own[0].outline, own[0].level = n.text(), level
		for _, s := range own {
			s.kept(needed)
		}
	}
	if st.keepNext {
		own[len(own)-1].kept(needed)
	}
	f.space(st.margin[bottom])
}

var headings = map[string]int{"h1": 0, "h2": 0, "h3": 1}

// spacer is the padding at the top or at the bottom of a block, with its border.
func (l *layout) spacer(f *flow, st *style, inner, outer area, side int) {
	line := st.border[side]
	height := st.pad[side] + line.width
	if height <= 0 {
		return
	}
	s := f.add(&strip{height: height, panels: inner.panels})
	if side == top {
		s.keep = needed
	}
	if line.width > 0 && !st.frame {
		s.draw = func(p *painter, x, y float64) {
			if side == bottom {
				y += height - line.width
			}
			p.fill(line.colour, x+outer.x, y, outer.width, line.width)
		}
	}
}

// inside adds what is in a block.
func (l *layout) inside(f *flow, n *node, st *style, b area) {
	picture := mapOf(n)
	switch {
	case picture != nil:
		l.mapFigure(f, n, picture, st, b)
	case st.display == "table":
		l.table(f, n, st, b)
	case st.display == "grid":
		l.grid(f, n, st, b)
	case st.display == "flex" && !st.column:
		l.flex(f, n, st, b)
	default:
		l.contents(f, n, st, b)
	}
}

// contents adds texts and blocks one below the other.
func (l *layout) contents(f *flow, n *node, st *style, b area) {
	number := 0
	l.each(n, st, func(g *gather) { l.paragraph(f, g, st, b) }, func(child *node, own *style) {
		start := len(f.strips)
		l.block(f, child, own, b)
		if child.tag == "li" && own.listStyle != "none" && len(f.strips) > start {
			number++
			mark := "•"
			if n.tag == "ol" {
				mark = strconv.Itoa(number) + "."
			}
			l.mark(f.strips[start], mark, own, b)
		}
	})
}

// mark puts a bullet or a number beside the first line of an item of a list.
func (l *layout) mark(s *strip, text string, st *style, b area) {
	r := run{face: st.face, size: st.size, colour: st.colour}
	at := b.x - l.fonts.width(r.face, r.size, text) - 0.5*st.size
	baseline := baselineIn(st.size*st.lineHeight, st.size)
	s.under = func(p *painter, x, y, _ float64) { p.text(r, x+at, y+baseline, text) }
}

// each calls words for texts in a row and block for the blocks between them.
func (l *layout) each(n *node, st *style, words func(*gather), block func(*node, *style)) {
	g := &gather{fonts: l.fonts}
	flush := func() {
		if len(g.atoms) > 0 {
			words(g)
		}
		g = &gather{fonts: l.fonts}
	}
	l.walk(n, st, runOf(st), func() *gather { return g }, func(child *node, own *style) {
		flush()
		block(child, own)
	})
	flush()
}

func runOf(st *style) run { return run{face: st.face, size: st.size, colour: st.colour} }

// walk goes through what is in an element, and in elements of text in it.
func (l *layout) walk(n *node, st *style, r run, g func() *gather, block func(*node, *style)) {
	before, after := l.sheet.pseudoElements(n)
	if before != nil {
		l.pseudo(before, st, r, g())
	}
	for _, child := range n.children {
		if child.tag == "" {
			g().text(child.data, st, r)
			continue
		}
		own := l.styleOf(child, st)
		switch own.display {
		case "none":
		case "inline", "inline-block":
			switch {
			case child.tag == "br":
				g().atoms = append(g().atoms, atom{br: true})
			case child.tag == "svg":
				g().add(l.smallPicture(child, own, r), st)
			case len(child.children) == 0 && own.width > 0:
				g().add(smallBox(own, r), st)
			default:
				inner := runOf(own)
				inner.label = r.label
				if own.ground != nil && own.display == "inline-block" {
					inner.label = label{own.ground.colour, own.pad[left]}
					l.labelled(child, own, inner, g())
					continue
				}
				l.walk(child, own, inner, g, block)
			}
		default:
			block(child, own)
		}
	}
	if after != nil {
		l.pseudo(after, st, r, g())
	}
}

// labelled adds a short text on a ground of its own.
func (l *layout) labelled(n *node, st *style, r run, g *gather) {
	text := n.text()
	width := l.fonts.width(r.face, r.size, text)
	if r.label.pad == 0 {
		r.label.pad = 0.3 * r.size
	}
	space := st.margin[right]
	g.add(atom{text: text, run: r, width: width + 2*r.label.pad}, st)
	if space > 0 {
		g.atoms = append(g.atoms, atom{run: r, width: space, box: &box{width: space, draw: func(*painter, float64, float64) {}}})
	}
}

func (l *layout) pseudo(n *node, up *style, r run, g *gather) {
	st := l.styleOf(n, up)
	switch {
	case st.content == nil:
	case *st.content == "" && st.width > 0:
		g.add(smallBox(st, r), up)
	case *st.content != "":
		g.text(*st.content, st, run{face: st.face, size: st.size, colour: st.colour})
	}
}

// smallBox is an element without text in a line of text.
func smallBox(st *style, r run) atom {
	b := &box{width: st.width + st.margin[left] + st.margin[right], height: st.height}
	b.draw = func(p *painter, x, y float64) {
		p.boxed(st, x+st.margin[left], y, st.width, st.height)
	}
	return atom{run: r, width: b.width, box: b}
}

// measure is the least width that an element needs without breaking words, and
// the greatest that it can use.
func (l *layout) measure(n *node, st *style) (least, most float64) {
	if n.tag == "svg" || n.tag == "img" {
		w, _ := l.pictureSize(n, st, 0)
		return w, w
	}
	l.each(n, st, func(g *gather) {
		a, b := reach(g.atoms)
		least, most = max(least, a), max(most, b)
	}, func(child *node, own *style) {
		a, b := l.measure(child, own)
		around := max(own.margin[left], 0) + max(own.margin[right], 0)
		least, most = max(least, a+around), max(most, b+around)
	})
	around := st.pad[left] + st.pad[right] + st.border[left].width + st.border[right].width
	return least + around, most + around
}
