package terrain

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// level holds the least and the most known height over square blocks of
// cells, 1<<shift cells a side, NaN where nothing is known. In ceiling, what
// is unknown counts as high as the highest that is known near it.
type level struct {
	shift                uint
	columns, rows        int
	least, most, ceiling []float32
}

// levelStep is by how many bits the side of a block grows from level to level.
const levelStep = 2

// index makes the levels.
func (s *Surface) index() {
	first := newLevel(levelStep, s.columns, s.rows)
	var hollows []int
	for k := range first.most {
		i0, j0, i1, j1 := s.nodesOf(first, k%first.columns, k/first.columns)
		hollow := false
		for j := j0; j <= j1; j++ {
			for _, h := range s.nodes[j*(s.columns+1)+i0 : j*(s.columns+1)+i1+1] {
				first.take(k, h, h)
				hollow = hollow || unknown(h)
			}
		}
		if hollow {
			hollows = append(hollows, k)
		}
	}
	s.levels = []level{first}
	for last := first; last.columns > 1 || last.rows > 1; {
		next := newLevel(last.shift+levelStep, s.columns, s.rows)
		for k := range last.most {
			next.take(next.above(last, k), last.least[k], last.most[k])
		}
		s.levels = append(s.levels, next)
		last = next
	}
	s.raise(hollows)
}

// raise makes the ceilings, given the blocks of the finest level that have
// unknown nodes.
func (s *Surface) raise(hollows []int) {
	for n := range s.levels {
		s.levels[n].ceiling = s.levels[n].most
		if len(hollows) > 0 {
			s.levels[n].ceiling = slices.Clone(s.levels[n].most)
		}
	}
	if unknown(s.levels[len(s.levels)-1].most[0]) {
		return
	}
	for _, k := range hollows {
		// The level above that of the smallest block around with a known height.
		n, at := 0, k
		up := func() { n, at = n+1, s.levels[n+1].above(s.levels[n], at) }
		for unknown(s.levels[n].most[at]) {
			up()
		}
		if n < len(s.levels)-1 {
			up()
		}
		height := s.levels[n].most[at]
		for n, at = 0, k; ; up() {
			if !(s.levels[n].ceiling[at] >= height) {
				s.levels[n].ceiling[at] = height
			}
			if n == len(s.levels)-1 {
				break
			}
		}
	}
}

// above is the block of l that holds block k of the level below.
func (l level) above(below level, k int) int {
	return k/below.columns>>levelStep*l.columns + k%below.columns>>levelStep
}

func newLevel(shift uint, columns, rows int) level {
	l := level{shift: shift, columns: (columns-1)>>shift + 1, rows: (rows-1)>>shift + 1}
	l.least, l.most = make([]float32, l.columns*l.rows), make([]float32, l.columns*l.rows)
	for k := range l.most {
		l.least[k], l.most[k] = void, void
	}
	return l
}

func (l level) take(k int, least, most float32) {
	if !(l.least[k] <= least) && !unknown(least) {
		l.least[k] = least
	}
	if !(l.most[k] >= most) && !unknown(most) {
		l.most[k] = most
	}
}

// nodesOf is the range of nodes of a block, both ends included; its far edges
// are those of the next blocks.
func (s *Surface) nodesOf(l level, x, y int) (i0, j0, i1, j1 int) {
	i0, j0 = x<<l.shift, y<<l.shift
	return i0, j0, min(i0+1<<l.shift, s.columns), min(j0+1<<l.shift, s.rows)
}

// Least is a height in metres that no known ground within b, in metres of
// the frame, lies below, and that some ground within a cell of b reaches. It
// is false where nothing is known.
func (s *Surface) Least(b orb.Bound) (float64, bool) {
	least, _ := s.span(b)
	return least, least == least
}

// Most is the same for the greatest height.
func (s *Surface) Most(b orb.Bound) (float64, bool) {
	_, most := s.span(b)
	return most, most == most
}

func (s *Surface) span(b orb.Bound) (least, most float64) {
	clamp := func(x float64, n int) int { return int(min(max(x, 0), float64(n))) }
	u0, v0 := (b.Min[0]-s.origin[0])/s.spacing, (b.Min[1]-s.origin[1])/s.spacing
	u1, v1 := (b.Max[0]-s.origin[0])/s.spacing, (b.Max[1]-s.origin[1])/s.spacing
	if !(u0 <= u1 && v0 <= v1 && u1 >= 0 && v1 >= 0 && u0 <= float64(s.columns) && v0 <= float64(s.rows)) {
		return math.NaN(), math.NaN()
	}
	r := ranger{s: s, least: void, most: void,
		i0: clamp(math.Floor(u0), s.columns), j0: clamp(math.Floor(v0), s.rows),
		i1: clamp(math.Ceil(u1), s.columns), j1: clamp(math.Ceil(v1), s.rows)}
	top := len(s.levels) - 1
	for k := range s.levels[top].most {
		r.visit(top, k%s.levels[top].columns, k/s.levels[top].columns)
	}
	return float64(r.least), float64(r.most)
}

// ranger gathers the extremes of the nodes i0 to i1, j0 to j1.
type ranger struct {
	s              *Surface
	i0, j0, i1, j1 int
	least, most    float32
}

func (r *ranger) take(least, most float32) {
	if !(r.least <= least) && !unknown(least) {
		r.least = least
	}
	if !(r.most >= most) && !unknown(most) {
		r.most = most
	}
}

// visit takes block x, y of level n.
func (r *ranger) visit(n, x, y int) {
	s, l := r.s, r.s.levels[n]
	i0, j0, i1, j1 := s.nodesOf(l, x, y)
	k := y*l.columns + x
	if i1 < r.i0 || i0 > r.i1 || j1 < r.j0 || j0 > r.j1 || unknown(l.most[k]) {
		return
	}
	if i0 >= r.i0 && i1 <= r.i1 && j0 >= r.j0 && j1 <= r.j1 {
		r.take(l.least[k], l.most[k])
		return
	}
	if n == 0 {
		for j := max(j0, r.j0); j <= min(j1, r.j1); j++ {
			for i := max(i0, r.i0); i <= min(i1, r.i1); i++ {
				h := s.nodes[j*(s.columns+1)+i]
				r.take(h, h)
			}
		}
		return
	}
	below := s.levels[n-1]
	for cy := y << levelStep; cy < min((y+1)<<levelStep, below.rows); cy++ {
		for cx := x << levelStep; cx < min((x+1)<<levelStep, below.columns); cx++ {
			r.visit(n-1, cx, cy)
		}
	}
}
