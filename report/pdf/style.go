package pdf

import (
	"math"
	"strconv"
	"strings"
)

type colour struct{ r, g, b uint8 }

var white = colour{255, 255, 255}

// style is how an element of the flow is set; lengths in points.
type style struct {
	// Taken on from the parent.
	face       face
	size       float64
	lineHeight float64 // in sizes
	colour     colour
	align      string
	nowrap     bool
	listStyle  string

	display      string
	margin, pad  edges
	border       [4]border
	ground       *ground
	frame        bool // a border on all sides
	round        bool
	width        float64 // 0: of itself
	share        float64 // width as a share of what holds it
	height       float64
	mostWidth    float64 // 0: none
	mostHeight   float64
	columns      string
	rowGap, gap  float64
	wrap, column bool // of flex
	whole        bool // not to be broken
	keepNext     bool
	content      *string // of a pseudo-element
}

type edges [4]float64 // top, right, bottom, left

const (
	top = iota
	right
	bottom
	left
)

type border struct {
	width  float64
	colour colour
}

const (
	pointsPerPixel = 0.75
	rootSize       = 10.0 // points
)

// styleOf is the style of an element whose parent has the style up.
func (l *layout) styleOf(n *node, up *style) *style {
	if st := l.styles[n]; st != nil {
		return st
	}
	st := &style{
		face: up.face, size: up.size, lineHeight: up.lineHeight, colour: up.colour,
		align: up.align, nowrap: up.nowrap, listStyle: up.listStyle, display: "inline",
	}
	l.sheet.each(n, func(name, value string) { st.set(name, value, up) })
	st.frame = true
	for _, b := range st.border {
		st.frame = st.frame && b.width > 0
	}
	if l.mostSize > 0 {
		st.size = min(st.size, l.mostSize)
	}
	l.styles[n] = st
	return st
}

func (st *style) set(name, value string, up *style) {
	length := func() (float64, bool) { return parseLength(value, st.size) }
	switch name {
	case "display":
		st.display = value
	case "font-size":
		if strings.HasSuffix(value, "%") || strings.HasSuffix(value, "em") && !strings.HasSuffix(value, "rem") {
			if x, ok := parseLength(value, up.size); ok {
				st.size = x
			}
		} else if x, ok := length(); ok && x > 0 {
			st.size = x
		}
	case "font":
		st.setFont(value, up)
	case "font-family":
		st.setFamily(value)
	case "font-weight":
		if weight, err := strconv.Atoi(value); err == nil && st.face != mono {
			st.face = regular
			if weight >= 600 {
				st.face = bold
			}
		}
	case "line-height":
		if x, err := strconv.ParseFloat(value, 64); err == nil {
			st.lineHeight = x
		}
	case "color":
		if c, ok := parseColour(value); ok {
			st.colour = c
		}
	case "text-align":
		st.align = value
	case "white-space":
		st.nowrap = value == "nowrap"
	case "list-style":
		st.listStyle = value
	case "content":
		text := strings.Trim(value, `"`)
		st.content = &text
	case "width":
		if share, is := strings.CutSuffix(value, "%"); is {
			if x, err := strconv.ParseFloat(share, 64); err == nil {
				st.share = x / 100
			}
		} else if x, ok := length(); ok {
			st.width, st.share = x, 0
		} else if value == "auto" {
			st.width, st.share = 0, 0
		}
	case "height":
		if x, ok := length(); ok {
			st.height = x
		}
	case "max-width":
		if x, ok := length(); ok {
			st.mostWidth = x
		} else if value == "none" {
			st.mostWidth = 0
		}
	case "max-height":
		if x, ok := length(); ok {
			st.mostHeight = x
		}
	case "grid-template-columns":
		st.columns = value
	case "gap":
		st.setGap(value)
	case "flex-wrap":
		st.wrap = value == "wrap"
	case "flex-direction":
		st.column = value == "column"
	case "break-inside":
		st.whole = value == "avoid"
	case "break-after":
		st.keepNext = value == "avoid"
	case "background":
		st.ground = parseGround(value, st.size)
	default:
		st.setBox(name, value)
	}
}

// setBox sets margins, padding and borders.
func (st *style) setBox(name, value string) {
	kind, side, _ := strings.Cut(name, "-")
	at := map[string]int{"top": top, "right": right, "bottom": bottom, "left": left}
	i, one := at[side]
	switch {
	case kind == "margin" && side == "":
		st.margin.set(value, st.size)
	case kind == "padding" && side == "":
		st.pad.set(value, st.size)
	case kind == "margin" && one:
		st.margin.setOne(i, value, st.size)
	case kind == "padding" && one:
		st.pad.setOne(i, value, st.size)
	case name == "border-radius":
		st.round = value == "50%"
	case name == "border-color" || name == "border-bottom-color":
		if c, ok := parseColour(value); ok {
			for k := range st.border {
				if name == "border-color" || k == bottom {
					st.border[k].colour = c
				}
			}
		}
	case kind == "border" && (side == "" || one):
		b := parseBorder(value, st.size)
		for k := range st.border {
			if side == "" || k == i {
				st.border[k] = b
			}
		}
	}
}

func (e *edges) set(value string, size float64) {
	var lengths []float64
	for _, v := range fields(value) {
		x, ok := parseLength(v, size)
		if !ok && v != "auto" {
			return
		}
		lengths = append(lengths, x)
	}
	switch len(lengths) {
	case 1:
		*e = edges{lengths[0], lengths[0], lengths[0], lengths[0]}
	case 2:
		*e = edges{lengths[0], lengths[1], lengths[0], lengths[1]}
	case 3:
		*e = edges{lengths[0], lengths[1], lengths[2], lengths[1]}
	case 4:
		*e = edges(lengths)
	}
}

func (e *edges) setOne(i int, value string, size float64) {
	if x, ok := parseLength(value, size); ok {
		e[i] = x
	}
}

func (st *style) setGap(value string) {
	for i, v := range fields(value) {
		x, ok := parseLength(v, st.size)
		if !ok {
			return
		}
		if st.gap = x; i == 0 {
			st.rowGap = x
		}
	}
}

// setFont reads the shorthand: size, a line height after a slash, family.
func (st *style) setFont(value string, up *style) {
	parts := fields(value)
	for i, part := range parts {
		size, height, _ := strings.Cut(part, "/")
		base := st.size
		if strings.HasSuffix(size, "em") {
			base = up.size
		}
		x, ok := parseLength(size, base)
		if !ok {
			continue
		}
		st.size = x
		if h, err := strconv.ParseFloat(height, 64); err == nil {
			st.lineHeight = h
		}
		st.setFamily(strings.Join(parts[i+1:], " "))
		return
	}
}

func (st *style) setFamily(value string) {
	if strings.Contains(value, "mono") {
		st.face = mono
	} else if st.face == mono {
		st.face = regular
	}
}

func parseBorder(value string, size float64) border {
	var b border
	for _, v := range fields(value) {
		if x, ok := parseLength(v, size); ok {
			b.width = x
		} else if c, ok := parseColour(v); ok {
			b.colour = c
		}
	}
	return b
}

// parseLength gives points; em is what the unit em stands for.
func parseLength(s string, em float64) (float64, bool) {
	if s == "0" {
		return 0, true
	}
	for _, u := range []struct {
		name string
		size float64
	}{{"rem", rootSize}, {"em", em}, {"px", pointsPerPixel}, {"pt", 1}, {"mm", 72 / 25.4}} {
		if number, is := strings.CutSuffix(s, u.name); is {
			x, err := strconv.ParseFloat(number, 64)
			return x * u.size, err == nil && !math.IsNaN(x) && !math.IsInf(x, 0)
		}
	}
	return 0, false
}

func parseColour(s string) (colour, bool) {
	hex, is := strings.CutPrefix(s, "#")
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	x, err := strconv.ParseUint(hex, 16, 32)
	if !is || err != nil || len(hex) != 6 {
		return colour{}, false
	}
	return colour{uint8(x >> 16), uint8(x >> 8), uint8(x)}, true
}

// ground is what a box is filled with: stripes from left to right, or one
// colour where there are none.
type ground struct {
	colour  colour
	stripes []stripe
	repeat  float64 // points; 0: the stripes' ends are shares of the width
}

type stripe struct {
	colour   colour
	from, to float64
}

// parseGround reads a colour or a gradient of hard stops; nil where there is
// none to be seen.
func parseGround(value string, size float64) *ground {
	if c, ok := parseColour(value); ok {
		return &ground{colour: c}
	}
	head, list, found := strings.Cut(value, "linear-gradient(90deg,")
	if !found {
		return nil
	}
	g := &ground{}
	end := 0.0
	for _, stop := range strings.Split(strings.TrimSuffix(list, ")"), ",") {
		parts := fields(strings.TrimSpace(stop))
		if len(parts) < 2 {
			return nil
		}
		s := stripe{from: end}
		if len(parts) > 2 {
			s.from, _ = parseLength(parts[1], size)
		}
		if share, is := strings.CutSuffix(parts[len(parts)-1], "%"); is {
			s.to, _ = strconv.ParseFloat(share, 64)
			s.to /= 100
		} else {
			s.to, _ = parseLength(parts[len(parts)-1], size)
		}
		end = s.to
		var seen bool
		if s.colour, seen = parseColour(parts[0]); seen && s.to > s.from {
			g.stripes = append(g.stripes, s)
		}
	}
	if strings.HasPrefix(head, "repeating") {
		g.repeat = end
	}
	return g
}
