package pdf

import (
	"strconv"
	"strings"
)

// cell is an element in a grid or in a flexible row.
type cell struct {
	node  *node
	style *style
}

func (l *layout) cells(n *node, st *style) []cell {
	var cells []cell
	for _, child := range n.children {
		if child.tag == "" {
			if strings.TrimSpace(child.data) != "" {
				wrapped := element("span", &node{data: child.data})
				wrapped.parent = n
				cells = append(cells, cell{wrapped, l.styleOf(wrapped, st)})
			}
			continue
		}
		if own := l.styleOf(child, st); own.display != "none" {
			cells = append(cells, cell{child, own})
		}
	}
	return cells
}

// grid sets elements in columns of the same width.
func (l *layout) grid(f *flow, n *node, st *style, b area) {
	columns := gridColumns(st, b.width)
	width := (b.width - st.gap*float64(columns-1)) / float64(columns)
	cells := l.cells(n, st)
	for len(cells) > 0 {
		count := min(columns, len(cells))
		r := &strip{panels: b.panels}
		for i, c := range cells[:count] {
			l.into(r, c, b.x+float64(i)*(width+st.gap), width)
		}
		cells = cells[count:]
		f.add(r.settled())
		f.space(st.rowGap)
	}
	f.gap = 0
}

// gridColumns reads repeat(n, …), repeat(auto-fill, minmax(…, 1fr)) and lists.
func gridColumns(st *style, width float64) int {
	inner, is := strings.CutPrefix(st.columns, "repeat(")
	if !is {
		return max(1, len(fields(st.columns)))
	}
	count, least, _ := strings.Cut(inner, ",")
	if n, err := strconv.Atoi(strings.TrimSpace(count)); err == nil && n > 0 {
		return n
	}
	least = strings.TrimPrefix(strings.TrimSpace(least), "minmax(")
	least, _, _ = strings.Cut(least, ",")
	if w, ok := parseLength(strings.TrimSpace(least), st.size); ok && w > 0 {
		return max(1, int((width+st.gap)/(w+st.gap)))
	}
	return 1
}

// into sets an element as a column of a row.
func (l *layout) into(r *strip, c cell, x, width float64) {
	inner := &flow{}
	own := *c.style
	own.margin[left], own.margin[right] = 0, 0
	if own.display == "inline" || own.display == "inline-block" {
		own.display = "block"
	}
	l.block(inner, c.node, &own, area{x: x, width: width})
	r.columns = append(r.columns, column{strips: inner.strips})
}

// settled gives a row its height, and its panels that of the row.
func (s *strip) settled() *strip {
	for _, c := range s.columns {
		s.height = max(s.height, lengthOf(c.strips))
	}
	for i, c := range s.columns {
		n := len(c.strips)
		if rest := s.height - lengthOf(c.strips); rest > 0 && n > 0 && len(c.strips[0].panels) > 0 {
			filler := &strip{height: rest, panels: c.strips[0].panels[:1]}
			s.columns[i].strips = append(c.strips[:n:n], filler)
		}
	}
	return s
}

// flex sets elements beside each other, each as wide as it would be alone; what
// has no room begins a new row or, where rows do not wrap, is made narrower.
func (l *layout) flex(f *flow, n *node, st *style, b area) {
	r := &strip{panels: b.panels}
	x := 0.0
	turn := func() {
		if len(r.columns) > 0 {
			f.add(r.settled())
			f.space(st.rowGap)
		}
		r, x = &strip{panels: b.panels}, 0
	}
	cells := l.cells(n, st)
	for i, c := range cells {
		_, most := l.measure(c.node, c.style)
		if c.style.width > 0 {
			most = max(c.style.width, most)
		}
		if st.wrap && x > 0 && x+most > b.width {
			turn()
		}
		width := min(most, max(b.width-x, min(b.width, 4*st.size)))
		if !st.wrap && i == len(cells)-1 {
			width = max(b.width-x, width)
		}
		l.into(r, c, b.x+x, width+0.01)
		x += width + st.gap
	}
	turn()
	f.gap = 0
}
