package pdf

import (
	"cmp"
	"slices"
	"strconv"
)

// A table that is no higher than this share of a page stays whole.
const wholeTable = 0.3

type tableRow struct {
	cells []tableCell
	head  bool
}

type tableCell struct {
	cell
	column, span int
}

// table sets rows of cells. Their columns are as wide as what is in them wants,
// and the head is repeated on each page.
func (l *layout) table(f *flow, n *node, st *style, b area) {
	old := l.mostSize
	defer func() { l.mostSize = old }()
	rows := l.rows(n, st)
	widths, fits := l.columnWidths(rows, st, b.width)
	// A table too wide is set in smaller letters.
	for _, size := range []float64{8, 7} {
		if fits || st.size <= size {
			break
		}
		l.mostSize = size
		n.all(func(n *node) { delete(l.styles, n) })
		st = l.styleOf(n, l.styleOf(n.parent, st))
		rows = l.rows(n, st)
		widths, fits = l.columnWidths(rows, st, b.width)
	}
	start := len(f.strips)
	var head *strip
	for _, r := range rows {
		s := l.row(r, widths, b)
		f.add(s)
		if r.head {
			s.keep = needed
			head = s
		} else {
			s.head = head
		}
	}
	own := f.strips[start:]
	if len(own) > 0 && lengthOf(own) < wholeTable*l.frame.height {
		for _, s := range own[:len(own)-1] {
			s.kept(wished)
		}
	}
}

func (l *layout) rows(n *node, st *style) []tableRow {
	var rows []tableRow
	for _, child := range n.children {
		switch child.tag {
		case "thead", "tbody", "tfoot":
			inner := l.rows(child, l.styleOf(child, st))
			for i := range inner {
				inner[i].head = child.tag == "thead"
			}
			rows = append(rows, inner...)
		case "tr":
			var r tableRow
			own, at := l.styleOf(child, st), 0
			for _, c := range l.cells(child, own) {
				span, err := strconv.Atoi(c.node.attributes["colspan"])
				if err != nil || span < 1 || span > 100 {
					span = 1
				}
				r.cells = append(r.cells, tableCell{c, at, span})
				at += span
			}
			rows = append(rows, r)
		}
	}
	return rows
}

// columnWidths shares a width out among columns. fits says that no line had to
// be broken that should not be.
func (l *layout) columnWidths(rows []tableRow, st *style, width float64) (widths []float64, fits bool) {
	var least, most, hard []float64
	shares := map[int]float64{}
	grow := func(column int) {
		for len(least) <= column {
			least, most, hard = append(least, 0), append(most, 0), append(hard, 0)
		}
	}
	for _, r := range rows {
		for _, c := range r.cells {
			grow(c.column + c.span - 1)
			if c.span > 1 {
				continue
			}
			a, b := l.measure(c.node, c.style)
			least[c.column], most[c.column] = max(least[c.column], a), max(most[c.column], b)
			if c.style.nowrap {
				wrapped := *c.style
				wrapped.nowrap = false
				a, _ = l.measure(c.node, &wrapped)
			}
			hard[c.column] = max(hard[c.column], a)
			if c.style.share > 0 {
				shares[c.column] = c.style.share * width
			}
		}
	}
	for i, share := range shares {
		if share > least[i] {
			least[i], most[i] = min(share, most[i]), min(share, most[i])
		}
	}
	const rounding = 0.01
	for i := range most {
		least[i], most[i], hard[i] = least[i]+rounding, max(most[i], least[i])+rounding, hard[i]+rounding
	}
	switch {
	case sum(most) <= width:
		if st.share == 0 {
			return most, true
		}
		return spread(most, most, width), true
	case sum(least) <= width:
		return filled(least, most, width), true
	case sum(hard) <= width:
		return filled(hard, least, width), false
	}
	return spread(nil, hard, width), false
}

func sum(all []float64) float64 {
	s := 0.0
	for _, x := range all {
		s += x
	}
	return s
}

// filled gives each column its least and shares what is left, the narrow
// columns first, so that the widest are those whose lines break.
func filled(least, most []float64, width float64) []float64 {
	out := slices.Clone(least)
	order := make([]int, len(least))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(most[a], most[b]) })
	left := width - sum(least)
	for k, i := range order {
		more := min(most[i]-least[i], left)
		if k == len(order)-1 {
			more = left
		}
		out[i] += max(more, 0)
		left -= max(more, 0)
	}
	return out
}

// spread shares a width out by weights, beyond what each has.
func spread(have, weights []float64, width float64) []float64 {
	out := make([]float64, len(weights))
	copy(out, have)
	rest, total := width-sum(have), sum(weights)
	for i := range out {
		out[i] += rest * weights[i] / total
	}
	return out
}

// row sets the cells of a row, with the lines below them.
func (l *layout) row(r tableRow, widths []float64, b area) *strip {
	s := &strip{panels: b.panels}
	type line struct {
		x, width float64
		rule     border
	}
	var lines []line
	for _, c := range r.cells {
		x := b.x + sum(widths[:c.column])
		width := sum(widths[c.column : c.column+c.span])
		inner := &flow{gap: c.style.pad[top]}
		l.contents(inner, c.node, c.style, area{x: x + c.style.pad[left], width: max(width-c.style.pad[left]-c.style.pad[right], 1)})
		s.columns = append(s.columns, column{strips: inner.strips})
		s.height = max(s.height, lengthOf(inner.strips)+c.style.pad[bottom])
		if rule := c.style.border[bottom]; rule.width > 0 {
			lines = append(lines, line{x, width, rule})
		}
	}
	s.under = func(p *painter, x, y, height float64) {
		for _, b := range lines {
			p.fill(b.rule.colour, x+b.x, y+height-b.rule.width, b.width, b.rule.width)
		}
	}
	return s
}
