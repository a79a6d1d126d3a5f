package pdf

// paginate shares strips out among pages of a height.
func paginate(strips []*strip, height float64) [][]*strip {
	p := &paginator{height: height}
	p.place(strips, wished)
	p.placeAgain()
	return append(p.pages, p.page)
}

type paginator struct {
	height float64
	pages  [][]*strip
	page   []*strip
	at     float64
	again  []*strip // are to come next
}

// place adds strips to the page or to a new one. What is kept together is
// parted only where it is higher than a page, and there first at the lesser of
// the wishes.
func (p *paginator) place(strips []*strip, k keeping) {
	for len(strips) > 0 {
		n := 1
		for n < len(strips) && strips[n-1].keep >= k {
			n++
		}
		group := strips[:n]
		strips = strips[n:]
		p.placeAgain()
		switch {
		case p.fit(group):
		case len(p.page) > 0 && p.fitsAlone(group):
			p.turn()
			p.fit(group)
		case n > 1 && k <= needed:
			p.place(group, k+1)
		case n > 1:
			for i := range group {
				p.place(group[i:i+1], k)
			}
		default:
			p.part(group[0])
		}
	}
}

// placeAgain adds what is to follow a picture that was made smaller.
func (p *paginator) placeAgain() {
	again := p.again
	p.again = nil
	p.place(again, wished)
}

func (p *paginator) turn() {
	p.pages = append(p.pages, p.page)
	p.page, p.at = nil, 0
}

// fit adds a group where there is room for it, if need be by drawing a picture
// in it smaller.
func (p *paginator) fit(group []*strip) bool {
	group = p.onTop(group)
	over := p.at + lengthOf(group) - p.height
	if over > 0 {
		group = smaller(group, over)
	}
	if group == nil {
		return false
	}
	p.page = append(p.page, group...)
	p.at += lengthOf(group)
	for _, s := range group {
		p.again = append(p.again, s.again...)
	}
	return true
}

// onTop is how a group begins a page, if it does: without space above it, and
// with the head of its table.
func (p *paginator) onTop(group []*strip) []*strip {
	if len(p.page) > 0 {
		return group
	}
	first := *group[0]
	first.before = 0
	out := append([]*strip{&first}, group[1:]...)
	if first.head != nil {
		head := *first.head
		head.before = 0
		out = append([]*strip{&head}, out...)
	}
	return out
}

func (p *paginator) fitsAlone(group []*strip) bool {
	alone := paginator{height: p.height}
	return alone.fit(group)
}

// smaller takes a height from the first picture that can spare it; nil where
// none can.
func smaller(group []*strip, over float64) []*strip {
	const rounding = 0.01
	for i, s := range group {
		if s.shrink == nil {
			continue
		}
		small := s.shrink(s.height - over - rounding)
		if small == nil {
			continue
		}
		out := append([]*strip{}, group...)
		small.before, small.keep, small.panels = s.before, s.keep, s.panels
		out[i] = small
		return out
	}
	return nil
}

// part shares a strip that is higher than a page out among pages.
func (p *paginator) part(s *strip) {
	for {
		if p.fit([]*strip{s}) {
			return
		}
		room := p.height - p.at - s.before
		if len(p.page) == 0 && s.head != nil {
			room = p.height - s.head.height
		}
		first, rest, ok := s.split(room)
		if ok && p.fit([]*strip{first}) {
			p.turn()
			s = rest
			continue
		}
		if len(p.page) == 0 { // nothing can be done about it
			p.page = append(p.page, s)
			p.at = p.height
			return
		}
		p.turn()
	}
}
