package pdf

import (
	"strings"
	"unicode/utf8"
)

// run is how a piece of text looks.
type run struct {
	face   face
	size   float64
	colour colour
	label  label
}

// label is a coloured ground of a short text.
type label struct {
	colour colour
	pad    float64
}

// atom is a word, a part of one or a small box, of which lines are made.
type atom struct {
	text  string
	run   run
	width float64
	space float64 // before it, unless it begins a line
	free  bool    // a line may begin here
	br    bool    // a line must end here
	box   *box
}

// box is something small in a line of text.
type box struct {
	width, height float64
	draw          drawing
}

// gather makes atoms of texts one after another.
type gather struct {
	fonts *faces
	atoms []atom
	space bool // before the next
}

func (g *gather) text(text string, st *style, r run) {
	for i, word := range strings.Split(strings.Map(plainSpace, text), " ") {
		if i > 0 {
			g.space = true
		}
		for k, part := range parts(word) {
			a := atom{text: part, run: r, width: g.fonts.width(r.face, r.size, part), free: k > 0 && !st.nowrap}
			g.add(a, st)
		}
	}
}

func plainSpace(r rune) rune {
	if r == '\n' || r == '\t' || r == '\r' {
		return ' '
	}
	return r
}

func (g *gather) add(a atom, st *style) {
	if g.space && len(g.atoms) > 0 {
		a.space = g.fonts.width(st.face, st.size, " ")
		a.free = !st.nowrap
	}
	if a.box != nil && len(g.atoms) > 0 && !st.nowrap {
		a.free = true
	}
	g.space = false
	g.atoms = append(g.atoms, a)
}

// parts divides a word where it may be broken: after hyphens, and after slashes
// and the like where some letters stand on both sides.
func parts(word string) []string {
	if word == "" {
		return nil
	}
	var out []string
	from := 0
	for i := range len(word) {
		most := 0
		switch word[i] {
		case '-':
			most = 2
		case '/', '\\':
			most = 4
		default:
			continue
		}
		if i-from >= most && len(word)-i > most {
			out = append(out, word[from:i+1])
			from = i + 1
		}
	}
	return append(out, word[from:])
}

// reach is the least and the greatest width that lines of the atoms need.
func reach(atoms []atom) (least, most float64) {
	line, chunk := 0.0, 0.0
	for _, a := range atoms {
		if a.free || a.br {
			least, chunk = max(least, chunk), a.width
		} else {
			chunk += a.space + a.width
		}
		if a.br {
			most, line = max(most, line), 0
		}
		line += a.space + a.width
	}
	return max(least, chunk), max(most, line)
}

// lines shares atoms out among lines of a width. A word that is wider is
// broken.
func (g *gather) lines(width float64) [][]atom {
	const rounding = 1e-6
	var lines [][]atom
	var line []atom
	at := 0.0
	turn := func() {
		if len(line) > 0 {
			lines = append(lines, line)
		}
		line, at = nil, 0
	}
	atoms := g.atoms
	for len(atoms) > 0 {
		if atoms[0].br {
			turn()
			atoms = atoms[1:]
			continue
		}
		n, chunk := 1, atoms[0].width
		for n < len(atoms) && !atoms[n].free && !atoms[n].br {
			chunk += atoms[n].space + atoms[n].width
			n++
		}
		if at > 0 && at+atoms[0].space+chunk > width+rounding {
			turn()
		}
		if at == 0 {
			atoms[0].space = 0
			if chunk > width+rounding {
				first, rest := g.breakOff(atoms[:n], width)
				line = first
				if len(rest) == 0 {
					at = width
					atoms = atoms[n:]
					continue
				}
				turn()
				atoms = append(rest, atoms[n:]...)
				continue
			}
		}
		line = append(line, atoms[:n]...)
		at += atoms[0].space + chunk
		atoms = atoms[n:]
	}
	turn()
	return lines
}

// breakOff takes what fits in a line from the front of atoms that belong
// together, and at least a letter.
func (g *gather) breakOff(atoms []atom, width float64) (first, rest []atom) {
	at := 0.0
	for i, a := range atoms {
		if i > 0 {
			at += a.space
		}
		if at+a.width <= width {
			at += a.width
			continue
		}
		if a.space > 0 && i > 0 { // nowrap did not fit
			rest = append([]atom{}, atoms[i:]...)
			return atoms[:i:i], rest
		}
		if a.box != nil {
			k := max(i, 1)
			return atoms[:k:k], append([]atom{}, atoms[k:]...)
		}
		n, wide := 0, 0.0
		for n < len(a.text) {
			r, size := utf8.DecodeRuneInString(a.text[n:])
			w := g.fonts.width(a.run.face, a.run.size, string(r))
			if at+wide+w > width && (n > 0 || i > 0) {
				break
			}
			n, wide = n+size, wide+w
		}
		head, tail := a, a
		head.text, head.width = a.text[:n], wide
		tail.text, tail.width, tail.space = a.text[n:], a.width-wide, 0
		first = append([]atom{}, atoms[:i]...)
		if n > 0 {
			first = append(first, head)
		}
		if tail.text != "" {
			rest = append(rest, tail)
		}
		return first, append(rest, atoms[i+1:]...)
	}
	return atoms, nil
}

// paragraph adds atoms to a flow, line by line.
func (l *layout) paragraph(f *flow, g *gather, st *style, b area) {
	lines := g.lines(b.width)
	for i, line := range lines {
		height := st.size * st.lineHeight
		wide := 0.0
		for k, a := range line {
			if a.box != nil {
				height = max(height, a.box.height)
			}
			if k == 0 {
				line[k].space = 0
			}
			wide += line[k].space + a.width
		}
		x := b.x
		switch st.align {
		case "right", "end":
			x += b.width - wide
		case "center":
			x += (b.width - wide) / 2
		}
		baseline := baselineIn(height, st.size)
		s := f.add(&strip{height: height, panels: b.panels, draw: func(p *painter, left, y float64) {
			p.line(line, left+x, y+baseline)
		}})
		if i == 0 && len(lines) > 1 || i == len(lines)-2 {
			s.kept(needed)
		}
	}
}

// baselineIn is where text stands in a line, from its top.
func baselineIn(height, size float64) float64 {
	const ascent, descent = 0.94, 0.21 // of the Go fonts
	return (height+(ascent-descent)*size)/2 - 0.02*size
}

// line draws atoms; neighbours that look the same are one text, so that what is
// copied from the file has its spaces.
func (p *painter) line(atoms []atom, x, baseline float64) {
	for i := 0; i < len(atoms); {
		a := atoms[i]
		x += a.space
		if a.box != nil {
			a.box.draw(p, x, baseline-0.35*a.run.size-a.box.height/2)
			x += a.width
			i++
			continue
		}
		text, width := a.text, a.width
		for i++; i < len(atoms) && atoms[i].box == nil && atoms[i].run == a.run; i++ {
			if atoms[i].space > 0 {
				text += " "
			}
			text, width = text+atoms[i].text, width+atoms[i].space+atoms[i].width
		}
		// A space at the end of a text shows where the next one begins.
		if i < len(atoms) && atoms[i].space > 0 {
			text += " "
		}
		if pad := a.run.label.pad; pad > 0 {
			p.labelled(a.run, x, baseline, width)
			x, width = x+pad, width-2*pad
		}
		p.text(a.run, x, baseline, text)
		x += width + a.run.label.pad
	}
}
