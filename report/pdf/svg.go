package pdf

import (
	"encoding/base64"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

const (
	// The letters in a picture are no smaller than this, in points, but grow by
	// no more than this much: the pictures leave room for so much.
	leastLetters = 6.8
	mostGrowth   = 1.5
	// Where they have grown more, labels of less weight are left out.
	mostLabels = 1.4
	// Strokes are as wide as on a screen that shows a picture so much larger
	// than its drawing units.
	screenScale = 1.2
)

// pictureSize is the size of a picture in a room of a width; without one, that
// which it has of itself.
func (l *layout) pictureSize(n *node, st *style, room float64) (width, height float64) {
	view := viewBox(n)
	ratio := view.height / view.width
	if st.mostWidth > 0 {
		room = min(positive(room), st.mostWidth)
	}
	switch {
	case st.share > 0 && room > 0:
		width = st.share * room
		height = width * ratio
	case st.width > 0 && st.height > 0:
		return st.width, st.height
	case st.height > 0:
		return st.height / ratio, st.height
	case st.width > 0:
		width, height = st.width, st.width*ratio
	default:
		width, height = view.width*pointsPerPixel, view.height*pointsPerPixel
	}
	if most := min(l.frame.height*0.9, positive(st.mostHeight)); height > most {
		width, height = most/ratio, most
	}
	if room > 0 && width > room {
		width, height = room, room*ratio
	}
	return width, height
}

func positive(x float64) float64 {
	if x <= 0 {
		return math.Inf(1)
	}
	return x
}

type box4 struct{ x, y, width, height float64 }

// viewBox is that of a picture; pictures without one have one unit a side.
func viewBox(n *node) box4 {
	if n.tag == "img" {
		if b := (box4{width: parseNumber(n.attributes["width"]), height: parseNumber(n.attributes["height"])}); b.width > 0 && b.height > 0 {
			return b
		}
	}
	v := fields(n.attributes["viewBox"])
	if len(v) == 4 {
		b := box4{parseNumber(v[0]), parseNumber(v[1]), parseNumber(v[2]), parseNumber(v[3])}
		if b.width > 0 && b.height > 0 {
			return b
		}
	}
	return box4{width: 1, height: 1}
}

func parseNumber(s string) float64 {
	x, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(s), "px"), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

// figure adds a picture as a block.
func (l *layout) figure(f *flow, n *node, st *style, b area) {
	width, height := l.pictureSize(n, st, b.width)
	f.add(&strip{height: height, panels: b.panels, draw: func(p *painter, x, y float64) {
		if n.tag == "img" {
			p.photograph(n, x+b.x, y, width, height)
			return
		}
		l.draw(p, n, x+b.x, y, width, height)
	}})
}

// photograph draws an image of pixels, which the page holds as PNG.
func (p *painter) photograph(n *node, x, y, width, height float64) {
	encoded, is := strings.CutPrefix(n.attributes["src"], "data:image/png;base64,")
	if !is {
		p.SetError(errNoPixels)
		return
	}
	options := fpdf.ImageOptions{ImageType: "PNG"}
	p.RegisterImageOptionsReader(encoded, options, base64.NewDecoder(base64.StdEncoding, strings.NewReader(encoded)))
	p.ImageOptions(encoded, x, y, width, height, false, options, 0, "")
}

var errNoPixels = errors.New("an image of the page is not in the page itself")

// smallPicture is a picture in a line of text.
func (l *layout) smallPicture(n *node, st *style, r run) atom {
	width, height := l.pictureSize(n, st, 0)
	around := max(st.margin[left], 0) + max(st.margin[right], 0)
	b := &box{width: width + around, height: height}
	b.draw = func(p *painter, x, y float64) { l.draw(p, n, x+max(st.margin[left], 0), y, width, height) }
	return atom{run: r, width: b.width, box: b}
}

// picture is an SVG picture that is being drawn.
type picture struct {
	*painter
	l      *layout
	width  float64 // of a stroke of one pixel
	growth float64 // of letters
	part   box4    // of the page
}

// draw draws a picture into a box on the page.
func (l *layout) draw(p *painter, n *node, x, y, width, height float64) {
	view := viewBox(n)
	scale := min(width/view.width, height/view.height)
	pic := &picture{painter: p, l: l, part: box4{x, y, width, height},
		width:  min(max(scale/screenScale*1.1, 0.4), pointsPerPixel),
		growth: 1,
	}
	const letters = 11.5
	if size := letters * scale; size < leastLetters {
		pic.growth = min(leastLetters/size, mostGrowth)
	}
	m := matrix{scale, 0, 0, scale, x - view.x*scale + (width-view.width*scale)/2, y - view.y*scale + (height-view.height*scale)/2}
	pic.children(n, m, pic.look(n, ink{strokeWidth: 1, size: letters, opacity: 1}))
}

func (pic *picture) children(n *node, m matrix, up ink) {
	for _, child := range n.children {
		if child.tag != "" {
			pic.element(child, m, up)
		}
	}
}

func (pic *picture) element(n *node, m matrix, up ink) {
	switch n.tag {
	case "defs", "title", "desc", "clipPath", "pattern", "style":
		return
	}
	in := pic.look(n, up)
	if in.hidden || n.is("minor") && pic.growth > mostLabels {
		return
	}
	m = m.then(parseTransform(n.attributes["transform"]))
	if n.is("tag") {
		m = m.then(matrix{pic.growth, 0, 0, pic.growth, 0, 0})
		in.grown = true
	}
	clip := pic.l.pictures[reference(n.attributes["clip-path"])]
	if clip != nil {
		pic.RawWriteStr("q")
		var s shape
		for _, c := range clip.children {
			s = append(s, shapeOf(c)...)
		}
		pic.RawWriteStr(pic.outline(s.moved(m)) + " W n")
	}
	switch n.tag {
	case "g", "svg", "a":
		pic.children(n, m, in)
	case "text":
		pic.label(n, m, in)
	default:
		if s := shapeOf(n); len(s) > 0 {
			pic.shape(s, m, in, n.tag == "path" || n.tag == "rect")
		}
	}
	if clip != nil {
		pic.RawWriteStr("Q")
	}
}

func shapeOf(n *node) shape {
	of := func(name string) float64 { return parseNumber(n.attributes[name]) }
	switch n.tag {
	case "path":
		return parsePath(n.attributes["d"])
	case "rect":
		if of("width") > 0 && of("height") > 0 {
			return rectangle(of("x"), of("y"), of("width"), of("height"), of("rx"))
		}
	case "circle":
		return ellipse(of("cx"), of("cy"), of("r"), of("r"))
	case "ellipse":
		return ellipse(of("cx"), of("cy"), of("rx"), of("ry"))
	case "line":
		var s shape
		s.move(point{of("x1"), of("y1")})
		s.line(point{of("x2"), of("y2")})
		return s
	case "polyline", "polygon":
		s := parsePath("M" + n.attributes["points"])
		if n.tag == "polygon" && len(s) > 0 {
			s.close()
		}
		return s
	}
	return nil
}

// shape fills and strokes a path. Strokes of paths keep their width whatever
// the scale, as the sheet has it.
func (pic *picture) shape(s shape, m matrix, in ink, fixed bool) {
	s = s.moved(m)
	outline := pic.outline(s)
	evenOdd := ""
	if in.evenOdd {
		evenOdd = "*"
	}
	unit := pic.width
	if !fixed {
		unit = m.scale()
	}
	paint := func(alpha float64, pen, operator string) {
		pic.RawWriteStr("q")
		if alpha < 1 {
			pic.SetAlpha(max(alpha, 0), "Normal")
		}
		pic.RawWriteStr(pen + outline + " " + operator + " Q")
	}
	stroked := in.stroked && in.strokeWidth > 0
	fill := in.fill.operands() + " rg\n"
	hatch := pic.l.pictures[in.pattern]
	if in.filled && stroked && hatch == nil && in.strokeOpacity >= 1 {
		paint(in.opacity, fill+in.pen(unit), "B"+evenOdd)
		return
	}
	if in.filled {
		paint(in.opacity, fill, "f"+evenOdd)
	}
	if hatch != nil {
		pic.RawWriteStr("q\n" + outline + " W" + evenOdd + " n")
		pic.hatch(hatch, s, m)
		pic.RawWriteStr("Q")
	}
	if stroked {
		paint(in.opacity*in.strokeOpacity, in.pen(unit), "S")
	}
}

// label writes a text of a picture.
func (pic *picture) label(n *node, m matrix, in ink) {
	text := strings.TrimSpace(n.text())
	if text == "" || !in.filled {
		return
	}
	at := m.at(point{parseNumber(n.attributes["x"]), parseNumber(n.attributes["y"])})
	r := run{face: regular, size: in.size * m.scale(), colour: in.fill}
	if !in.grown {
		r.size *= pic.growth
	}
	if in.weight >= 600 {
		r.face = bold
	}
	back := 0.0
	width := pic.fonts.width(r.face, r.size, text)
	switch in.anchor {
	case "middle":
		back = width / 2
	case "end":
		back = width
	}
	angle := math.Atan2(m.b, m.a)
	if math.Abs(angle) < 1e-9 {
		if in.halo && in.stroked {
			pic.fill(in.stroke, at.x-back-1, at.y-0.78*r.size, width+2, 0.98*r.size)
		}
		pic.text(r, at.x-back, at.y, text)
		return
	}
	sin, cos := math.Sincos(-angle)
	pic.RawWriteStr(fmt.Sprintf("q %.5f %.5f %.5f %.5f %s %s cm", cos, sin, -sin, cos, number(at.x), number(pic.paper-at.y)))
	pic.text(r, -back, pic.paper, text)
	pic.RawWriteStr("Q")
}
