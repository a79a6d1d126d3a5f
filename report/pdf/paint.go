package pdf

import (
	"fmt"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"selvage/report/texts"
)

// painter draws on the pages of a file, in points from the upper left corner.
type painter struct {
	*fpdf.Fpdf
	fonts *faces
	paper float64 // its height
	texts *texts.Catalogue
}

// flow draws strips one below the other.
func (p *painter) flow(strips []*strip, x, y float64) {
	p.panels(strips, x, y)
	for _, s := range strips {
		y += s.before
		if s.under != nil {
			s.under(p, x, y, s.height)
		}
		if s.outline != "" {
			p.Bookmark(strings.Join(strings.Fields(s.outline), " "), s.level, y)
		}
		if s.draw != nil {
			s.draw(p, x, y)
		}
		for _, c := range s.columns {
			p.flow(c.strips, x+c.x, y)
		}
		y += s.height
	}
}

// panels draws what strips stand on, each panel once however many they are.
func (p *painter) panels(strips []*strip, x, y float64) {
	type extent struct {
		*panel
		top, bottom float64
	}
	var all []extent
	index := map[*panel]int{}
	for _, s := range strips {
		y += s.before
		for _, own := range s.panels {
			i, known := index[own]
			if !known {
				i = len(all)
				index[own] = i
				all = append(all, extent{own, y, y})
			}
			all[i].bottom = y + s.height
		}
		y += s.height
	}
	for _, e := range all {
		height := e.bottom - e.top
		p.onGround(e.ground, x+e.x, e.top, e.width, height)
		if e.left.width > 0 {
			p.fill(e.left.colour, x+e.x, e.top, e.left.width, height)
		}
		if e.frame != nil {
			p.border(*e.frame, x+e.x, e.top, e.width, height)
		}
	}
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }

func (c colour) operands() string {
	channel := func(x uint8) string { return strconv.FormatFloat(float64(x)/255, 'f', 3, 64) }
	return channel(c.r) + " " + channel(c.g) + " " + channel(c.b)
}

func (p *painter) fill(c colour, x, y, width, height float64) {
	p.RawWriteStr(fmt.Sprintf("q %s rg %s %s %s %s re f Q", c.operands(), number(x), number(p.paper-y-height), number(width), number(height)))
}

// border draws a line within the sides of a box.
func (p *painter) border(b border, x, y, width, height float64) {
	half := b.width / 2
	p.RawWriteStr(fmt.Sprintf("q %s RG %s w %s %s %s %s re S Q", b.colour.operands(), number(b.width),
		number(x+half), number(p.paper-y-height+half), number(width-b.width), number(height-b.width)))
}

func (p *painter) onGround(g *ground, x, y, width, height float64) {
	if g == nil {
		return
	}
	if len(g.stripes) == 0 {
		p.fill(g.colour, x, y, width, height)
		return
	}
	scale, repeat := 1.0, g.repeat
	if repeat <= 0 {
		scale, repeat = width, width
	}
	for at := 0.0; at < width-0.01; at += repeat {
		for _, s := range g.stripes {
			from, to := at+s.from*scale, min(at+s.to*scale, width)
			if to > from && s.colour != white {
				p.fill(s.colour, x+from, y, to-from, height)
			}
		}
	}
}

// boxed draws an empty element.
func (p *painter) boxed(st *style, x, y, width, height float64) {
	if st.round {
		p.RawWriteStr("q")
		p.RawWriteStr(p.outline(ellipse(x+width/2, y+height/2, width/2, height/2)) + " W n")
	}
	p.onGround(st.ground, x, y, width, height)
	switch b := st.border[left]; {
	case st.round:
		p.RawWriteStr("Q")
		p.RawWriteStr(fmt.Sprintf("q %s RG %s w", b.colour.operands(), number(b.width)))
		p.RawWriteStr(p.outline(ellipse(x+width/2, y+height/2, (width-b.width)/2, (height-b.width)/2)) + " S Q")
	case st.frame:
		p.border(b, x, y, width, height)
	}
}

// text writes a text whose baseline begins at a place.
func (p *painter) text(r run, x, baseline float64, s string) {
	if s == "" {
		return
	}
	p.SetFont(faceNames[r.face], "", r.size)
	p.SetTextColor(int(r.colour.r), int(r.colour.g), int(r.colour.b))
	p.Text(x, baseline, p.fonts.distinct(r.face, s))
}

// labelled draws the ground of a label.
func (p *painter) labelled(r run, x, baseline, width float64) {
	height := 1.3 * r.size
	middle := baseline - 0.35*r.size
	p.RawWriteStr("q " + r.label.colour.operands() + " rg")
	p.RawWriteStr(p.outline(rectangle(x, middle-height/2, width, height, 2)) + " f Q")
}

// outline writes a shape in points as operators of a content stream.
func (p *painter) outline(s shape) string {
	var b strings.Builder
	point := func(q point) {
		b.WriteString(number(q.x) + " " + number(p.paper-q.y) + " ")
	}
	for _, step := range s {
		for _, q := range step.points {
			point(q)
		}
		b.WriteByte(step.operator)
		b.WriteByte('\n')
	}
	return strings.TrimSuffix(b.String(), "\n")
}
