package pdf

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// ink is how an element of a picture is drawn.
type ink struct {
	fill          colour
	filled        bool
	pattern       string // by its name
	evenOdd       bool
	stroke        colour
	stroked       bool
	strokeWidth   float64
	strokeOpacity float64
	opacity       float64
	cap, join     int
	dashes        []float64
	size          float64 // of letters, in drawing units
	weight        int
	anchor        string
	halo          bool // its stroke lies under it
	hidden        bool
	grown         bool // the letters are, by what holds them
}

// look is the ink of an element in one with the ink up.
func (pic *picture) look(n *node, up ink) ink {
	in := up
	if n.parent != nil && n.tag == "svg" {
		in.filled, in.strokeOpacity = true, 1 // black, as SVG begins
	}
	for _, name := range []string{"fill", "fill-rule", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray", "stroke-linecap", "stroke-linejoin", "opacity", "text-anchor", "font-size", "font-weight", "display"} {
		if value, has := n.attributes[name]; has {
			in.set(name, value)
		}
	}
	pic.l.sheet.each(n, in.set)
	return in
}

func (in *ink) set(name, value string) {
	switch name {
	case "fill":
		in.pattern, in.filled = reference(value), false
		if c, ok := parseColour(value); ok {
			in.fill, in.filled = c, true
		}
	case "fill-rule":
		in.evenOdd = value == "evenodd"
	case "fill-opacity", "opacity":
		in.opacity = parseNumber(value)
	case "stroke":
		in.stroke, in.stroked = parseColour(value)
	case "stroke-width":
		in.strokeWidth = parseNumber(value)
	case "stroke-opacity":
		in.strokeOpacity = parseNumber(value)
	case "stroke-linecap":
		in.cap = max(0, slices.Index([]string{"butt", "round", "square"}, value))
	case "stroke-linejoin":
		in.join = max(0, slices.Index([]string{"miter", "round", "bevel"}, value))
	case "stroke-dasharray":
		in.dashes = nil
		for _, d := range strings.FieldsFunc(value, func(r rune) bool { return r == ' ' || r == ',' }) {
			if x := parseNumber(d); x > 0 {
				in.dashes = append(in.dashes, x)
			}
		}
	case "text-anchor":
		in.anchor = value
	case "font-size":
		if x := parseNumber(value); x > 0 {
			in.size = x
		}
	case "font":
		in.weight = 400
		for _, part := range fields(value) {
			if x := parseNumber(part); strings.HasSuffix(part, "px") && x > 0 {
				in.size = x
				break
			}
		}
	case "font-weight":
		if weight, err := strconv.Atoi(value); err == nil {
			in.weight = weight
		}
	case "paint-order":
		in.halo = strings.HasPrefix(value, "stroke")
	case "display":
		in.hidden = value == "none"
	}
}

// pen writes how lines are drawn, in the operators of a content stream; unit is
// the size of a pixel in points.
func (in ink) pen(unit float64) string {
	pen := fmt.Sprintf("%s RG %s w %d J %d j\n", in.stroke.operands(), number(in.strokeWidth*unit), in.cap, in.join)
	if len(in.dashes) == 0 {
		return pen
	}
	var dashes []string
	for _, d := range in.dashes {
		dashes = append(dashes, number(d*unit))
	}
	return pen + "[" + strings.Join(dashes, " ") + "] 0 d\n"
}

// reference is the name in url(#name).
func reference(value string) string {
	name, is := strings.CutPrefix(value, "url(#")
	if !is {
		return ""
	}
	return strings.TrimSuffix(name, ")")
}

// parseTransform reads translate, scale and rotate.
func parseTransform(text string) matrix {
	m := same
	for {
		name, rest, found := strings.Cut(text, "(")
		if !found {
			return m
		}
		list, after, _ := strings.Cut(rest, ")")
		text = after
		var v []float64
		for _, s := range strings.FieldsFunc(list, func(r rune) bool { return r == ' ' || r == ',' }) {
			v = append(v, parseNumber(s))
		}
		if len(v) == 0 {
			continue
		}
		first, second := v[0], v[len(v)-1]
		switch strings.TrimSpace(name) {
		case "translate":
			if len(v) == 1 {
				second = 0
			}
			m = m.then(matrix{1, 0, 0, 1, first, second})
		case "scale":
			m = m.then(matrix{first, 0, 0, second, 0, 0})
		case "rotate":
			sin, cos := math.Sincos(first * math.Pi / 180)
			m = m.then(matrix{cos, sin, -sin, cos, 0, 0})
		}
	}
}

// More lines than this would be a grey ground and a slow file.
const mostHatchLines = 2000

// hatch draws the lines of a pattern over the bounds of a shape that is clipped
// to. The patterns of package report are lines across the whole tile, which run
// on from tile to tile.
func (pic *picture) hatch(pattern *node, s shape, m matrix) {
	tile := m.then(parseTransform(pattern.attributes["patternTransform"]))
	back, ok := tile.inverse()
	wide, high := parseNumber(pattern.attributes["width"]), parseNumber(pattern.attributes["height"])
	if !ok || wide <= 0 || high <= 0 {
		return
	}
	least, most := s.bounds()
	least = point{max(least.x, pic.part.x), max(least.y, pic.part.y)}
	most = point{min(most.x, pic.part.x+pic.part.width), min(most.y, pic.part.y+pic.part.height)}
	if least.x >= most.x || least.y >= most.y {
		return
	}
	corners := shape{{points: []point{least, {most.x, least.y}, most, {least.x, most.y}}}}
	least, most = corners.moved(back).bounds()
	for _, n := range pattern.children {
		if n.tag != "path" {
			continue
		}
		var lines shape
		var at point
		for _, st := range parsePath(n.attributes["d"]) {
			if len(st.points) == 0 {
				continue
			}
			to := st.points[len(st.points)-1]
			switch {
			case st.operator != 'l':
			case to.y == at.y:
				for y := at.y + high*math.Floor((least.y-at.y)/high); y <= most.y && len(lines) < mostHatchLines; y += high {
					lines.move(point{least.x, y})
					lines.line(point{most.x, y})
				}
			case to.x == at.x:
				for x := at.x + wide*math.Floor((least.x-at.x)/wide); x <= most.x && len(lines) < mostHatchLines; x += wide {
					lines.move(point{x, least.y})
					lines.line(point{x, most.y})
				}
			}
			at = to
		}
		if len(lines) > 0 {
			pic.shape(lines, tile, pic.look(n, ink{opacity: 1, strokeOpacity: 1, strokeWidth: 1}), true)
		}
	}
}
