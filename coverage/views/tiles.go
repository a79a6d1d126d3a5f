package views

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// tiles divides the extent of a site into squares, by rows from the bottom and
// columns from the left.
type tiles struct {
	left, bottom  float64
	size, perSize float64 // metres, and 1 / size
	columns, rows int
}

const (
	// across is how many tiles a usual footprint is wide.
	across = 14
	// mostTiles bounds the memory: 4 bytes a tile in each count.
	mostTiles = 16 << 20
	// tilesEach bounds the tiles by the footprints' number: few and small ones
	// leave most of a site open, and then more tiles only make more open ones.
	tilesEach = across * across
	// doubt, in metres, is how near to a ring a tile counts as touched: far more
	// than the kernel's rounding to 0.1 mm.
	doubt = 0.001
)

// tilesFor chooses squares within a bound to the usual extent of footprints.
func tilesFor(bound orb.Bound, extents []extent) tiles {
	wide, high := bound.Max[0]-bound.Min[0]+2*doubt, bound.Max[1]-bound.Min[1]+2*doubt
	size := max(usual(extents)/across, math.Sqrt(wide*high/float64(min(mostTiles, tilesEach*(len(extents)+across)))), max(wide, high)/mostTiles, 0.1)
	t := tiles{left: bound.Min[0] - doubt, bottom: bound.Min[1] - doubt, size: size, perSize: 1 / size}
	t.columns, t.rows = int(wide*t.perSize)+1, int(high*t.perSize)+1
	return t
}

type extent struct{ left, right, low, high float64 }

func extentOf(rings ...orb.Ring) extent {
	e := extent{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	for _, ring := range rings {
		for _, p := range ring {
			e.left, e.right = min(e.left, p[0]), max(e.right, p[0])
			e.low, e.high = min(e.low, p[1]), max(e.high, p[1])
		}
	}
	return e
}

func extentsOf(footprints []Footprint) []extent {
	extents := make([]extent, len(footprints))
	InParallel(workers, func(i int) {
		from, to := share(i, len(footprints))
		for k := from; k < to; k++ {
			extents[k] = extentOf(footprints[k]...)
		}
	})
	return extents
}

// usual returns the quadratic mean of extents, so that the number of tiles
// that footprints touch keeps in proportion to their own even when one of them
// is huge.
func usual(extents []extent) float64 {
	var square float64
	for _, e := range extents {
		wide := max(e.right-e.left, e.high-e.low, 0)
		square += wide * wide
	}
	return math.Sqrt(square / float64(max(1, len(extents))))
}

// meet reports whether an extent has a part in the tiles.
func (t *tiles) meet(e extent) bool {
	return e.right >= t.left && e.high >= t.bottom && e.left <= t.left+float64(t.columns)*t.size && e.low <= t.bottom+float64(t.rows)*t.size
}

func (t *tiles) row(y float64) int { return between((y-t.bottom)*t.perSize, 0, t.rows-1) }

func (t *tiles) column(x float64) int { return between((x-t.left)*t.perSize, 0, t.columns-1) }

// between returns v rounded down, or the nearer of least and most.
func between(v float64, least, most int) int {
	if v <= float64(least) {
		return least
	}
	if v >= float64(most) {
		return most
	}
	return int(v+1) - 1 // v is over -1
}

// span is a run of tiles in a row, first to last.
type span struct {
	first, last int32
	// winding is the number of times that the rings go around all of each of
	// them; touched, that a line of them comes into them or within doubt of it.
	winding int32
	touched bool
}

// walker finds the tiles of areas given by their rings.
type walker struct {
	tiles
	sides [][]side // of the rings at hand, by rows
	out   []span
}

// side is where a side of a ring passes a row: columns first to last, and +1
// where it crosses the row's middle upwards, -1 downwards, so that left of it
// the ring winds that often more.
type side struct{ first, last, crossing int32 }

func newWalker(t tiles) *walker { return &walker{tiles: t, sides: make([][]side, t.rows)} }

// each visits the rows that closed rings reach together, with spans in order
// that leave out only tiles outside them. The spans are valid during the visit.
func (w *walker) each(rings []orb.Ring, visit func(row int, spans []span)) {
	e := extentOf(rings...)
	if !w.meet(e) {
		return
	}
	for _, ring := range rings {
		for k := 1; k < len(ring); k++ {
			w.pass(ring[k-1], ring[k])
		}
	}
	for r := w.row(e.low - doubt); r <= w.row(e.high+doubt); r++ {
		if spans := w.spans(w.sides[r]); len(spans) > 0 {
			visit(r, spans)
		}
		w.sides[r] = w.sides[r][:0]
	}
}

// pass notes a side in every row that it comes near.
func (w *walker) pass(p, q orb.Point) {
	crossing := int32(1)
	if q[1] < p[1] {
		p, q, crossing = q, p, -1
	}
	// From here on the unit is a tile, counted from the first.
	near := doubt * w.perSize
	x, low := (p[0]-w.left)*w.perSize, (p[1]-w.bottom)*w.perSize
	end, high := (q[0]-w.left)*w.perSize, (q[1]-w.bottom)*w.perSize
	if high+near < 0 || low-near > float64(w.rows) {
		return
	}
	lean := 0.0
	if high > low {
		lean = (end - x) / (high - low)
	}
	first, last := between(low-near, 0, w.rows-1), between(high+near, 0, w.rows-1)
	for r := first; r <= last; r++ {
		left, right := x, end // whatever the way, if the side is level
		if high > low {
			if floor := float64(r) - near; floor > low {
				left = x + lean*(floor-low)
			}
			if ceiling := float64(r+1) + near; ceiling < high {
				right = x + lean*(ceiling-low)
			}
		}
		if right < left {
			left, right = right, left
		}
		s := side{first: int32(between(left-near, -1, w.columns)), last: int32(between(right+near, -1, w.columns))}
		if middle := float64(r) + 0.5; low <= middle && middle < high {
			s.crossing = crossing
		}
		w.sides[r] = append(w.sides[r], s)
	}
}

// spans sorts the sides of one row into runs of tiles. A tile that no side
// touches lies wholly inside or outside, as its middle does.
func (w *walker) spans(sides []side) []span {
	if len(sides) > 16 {
		slices.SortFunc(sides, func(s, t side) int { return cmp.Compare(s.first, t.first) })
	}
	for i := 1; i < len(sides); i++ { // a few, nearly always
		for k := i; k > 0 && sides[k].first < sides[k-1].first; k-- {
			sides[k], sides[k-1] = sides[k-1], sides[k]
		}
	}
	w.out = w.out[:0]
	var winding int32
	for i := 0; i < len(sides); {
		touched := span{first: sides[i].first, last: sides[i].last, touched: true}
		for ; i < len(sides) && sides[i].first <= touched.last+1; i++ {
			touched.last = max(touched.last, sides[i].last)
			winding -= sides[i].crossing // downwards is the left side of what runs counter-clockwise
		}
		w.add(touched)
		if i < len(sides) && winding > 0 {
			w.add(span{first: touched.last + 1, last: sides[i].first - 1, winding: winding})
		}
	}
	return w.out
}

// add takes the part of a span within the tiles.
func (w *walker) add(s span) {
	s.first, s.last = max(s.first, 0), min(s.last, int32(w.columns-1))
	if s.first <= s.last {
		w.out = append(w.out, s)
	}
}
