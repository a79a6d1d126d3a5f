package pdf

const (
	// A map may be drawn this much smaller to stay on the page with what is said
	// before it; where it is drawn much smaller, it is shown again, larger.
	leastMap  = 0.3
	mapIsFine = 0.75
	// The legend goes beside a smaller map where it has so much room, in points.
	leastLegend = 130.0
	besideGap   = 18.0
)

// legendSizes are the sizes of letters that a legend may have to fit beside a
// map; 0 is that of the page.
var legendSizes = []float64{0, 8.5, 7.5}

// mapOf is the map in a figure; nil where the figure has none.
func mapOf(n *node) *node {
	for _, c := range n.children {
		if c.tag == "svg" && c.is("map") {
			return c
		}
	}
	return nil
}

// mapFigure adds a map and its legend as a strip that can shrink.
func (l *layout) mapFigure(f *flow, n, picture *node, st *style, b area) {
	width, height := l.pictureSize(picture, l.styleOf(picture, st), b.width)
	ratio := width / height
	legend := func(width float64) []*strip {
		inner := &flow{}
		for _, c := range l.cells(n, l.styleOf(n, st)) {
			if c.node != picture {
				l.block(inner, c.node, c.style, area{width: width})
			}
		}
		return inner.strips
	}
	drawn := func(h, room float64) *strip {
		w := h * ratio
		return &strip{height: h, draw: func(p *painter, x, y float64) { l.draw(p, picture, x+(room-w)/2, y, w, h) }}
	}
	below := func(h float64) *strip {
		s := &strip{panels: b.panels}
		s.columns = []column{{b.x, append([]*strip{drawn(h, b.width)}, legend(b.width)...)}}
		return s.settled()
	}
	beside := func(h float64) *strip {
		w := h * ratio
		s := &strip{panels: b.panels}
		s.columns = []column{{b.x, []*strip{drawn(h, w)}}, {b.x + w + besideGap, legend(b.width - w - besideGap)}}
		return s.settled()
	}
	whole := below(height)
	captions := whole.height - height
	whole.shrink = func(most float64) *strip {
		small, h := (*strip)(nil), most-captions
		if h >= leastMap*height {
			small = below(h)
		}
		if side := min(most, height, (b.width-besideGap-leastLegend)/ratio); side > h && side >= leastMap*height {
			for _, size := range legendSizes {
				s := l.smallLetters(n, size, func() *strip { return beside(side) })
				if s.height <= most+0.01 {
					small, h = s, side
					break
				}
			}
		}
		if small != nil && h < mapIsFine*height {
			small.again = []*strip{l.heading(l.texts.Say("The map, larger"), b), whole}
		}
		return small
	}
	f.add(whole)
}

// smallLetters lays out what is in an element with letters of at most a size.
func (l *layout) smallLetters(n *node, most float64, set func() *strip) *strip {
	old := l.mostSize
	l.mostSize = most
	n.all(func(n *node) { delete(l.styles, n) })
	s := set()
	n.all(func(n *node) { delete(l.styles, n) })
	l.mostSize = old
	return s
}

// heading is one that the page does not have.
func (l *layout) heading(text string, b area) *strip {
	n := element("h2", &node{data: text})
	n.parent = &node{tag: "section"}
	inner := &flow{}
	l.block(inner, n, l.styleOf(n, &style{size: rootSize, lineHeight: 1.5, colour: l.ink}), b)
	s := &strip{before: inner.strips[0].before, columns: []column{{strips: inner.strips}}, keep: needed}
	inner.strips[0].before = 0
	return s.settled()
}
