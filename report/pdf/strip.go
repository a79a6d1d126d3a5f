package pdf

// strip is a piece of a column that is not parted: a line of text, a picture,
// or a row of columns beside each other.
type strip struct {
	before  float64 // space above it, but for the top of a page
	height  float64
	keep    keeping
	panels  []*panel // that it stands on, from the outermost
	columns []column // of a row
	head    *strip   // of the table that it is a row of
	outline string   // the heading that it begins
	level   int      // of the heading, from 0
	under   func(p *painter, x, y, height float64)
	draw    drawing

	// shrink gives the strip with a smaller picture, where a page has less room
	// for it; nil where that would be too small. May itself be nil.
	shrink func(most float64) *strip
	again  []*strip // to follow at full size what has been made smaller
}

// drawing draws a strip whose column begins at x, with its top at y.
type drawing func(p *painter, x, y float64)

// keeping says how much a strip is kept on the page of the next one.
type keeping int

const (
	loose keeping = iota
	wished
	needed
)

// column is one of several beside each other in a row.
type column struct {
	x      float64
	strips []*strip
}

// panel is the ground or the border of a block, which may reach over many
// strips and pages.
type panel struct {
	x, width float64
	ground   *ground
	left     border
	frame    *border
}

func lengthOf(strips []*strip) float64 {
	sum := 0.0
	for _, s := range strips {
		sum += s.before + s.height
	}
	return sum
}

func (s *strip) kept(k keeping) { s.keep = max(s.keep, k) }

// split parts a row in two, of which the first is at most so high. ok is false
// where nothing would fit in the first.
func (s *strip) split(most float64) (first, rest *strip, ok bool) {
	if len(s.columns) == 0 {
		return nil, nil, false
	}
	a, b := *s, *s
	a.columns, b.columns = nil, nil
	a.height, b.height, b.before = 0, 0, 0
	for _, c := range s.columns {
		n, height := 0, 0.0
		for n < len(c.strips) && height+c.strips[n].before+c.strips[n].height <= most {
			height += c.strips[n].before + c.strips[n].height
			n++
		}
		ok = ok || n > 0
		head, tail := c.strips[:n:n], c.strips[n:]
		if n > 0 && len(tail) > 0 {
			if first, rest, parted := tail[0].split(most - height - tail[0].before); parted {
				head, tail = append(head, first), append([]*strip{rest}, tail[1:]...)
			}
		}
		a.columns = append(a.columns, column{c.x, head})
		b.columns = append(b.columns, column{c.x, tail})
		a.height, b.height = max(a.height, lengthOf(head)), max(b.height, lengthOf(tail))
	}
	return &a, &b, ok
}

// flow gathers the strips of a column.
type flow struct {
	strips []*strip
	gap    float64 // before the next
}

func (f *flow) add(s *strip) *strip {
	s.before, f.gap = f.gap, 0
	f.strips = append(f.strips, s)
	return s
}

// space leaves a gap; of two that meet the larger holds.
func (f *flow) space(gap float64) { f.gap = max(f.gap, gap) }
