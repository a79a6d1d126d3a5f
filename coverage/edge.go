package coverage

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

const (
	// tick is the resolution of chainages, metres: that of the zones.
	tick = 1e-4
	// onRim is how far outside a footprint a point still counts as on its rim,
	// metres: well above rounding, well below tick.
	onRim = 1e-6
)

// footprintIndex finds the footprints near the edge of a site: a grid of square
// cells, each along the edge listing the footprints whose bounds touch it.
type footprintIndex struct {
	footprints []orb.Ring
	sides      [][]halfPlane // of each convex footprint along the edge, counted from its first vertex; nil for others
	size       float64
	cells      map[[2]int][]int
}

func indexFootprints(footprints []orb.Ring, site orb.MultiPolygon) footprintIndex {
	x := footprintIndex{footprints: footprints, sides: make([][]halfPlane, len(footprints)), cells: map[[2]int][]int{}}
	x.size = max(1, usualExtent(footprints))
	for _, polygon := range site {
		for _, ring := range polygon {
			for k := 1; k < len(ring); k++ {
				steps := x.steps(ring[k-1], ring[k])
				for s := range steps {
					for cell := range x.cellsNear(step(ring[k-1], ring[k], s, steps)) {
						x.cells[cell] = nil
					}
				}
			}
		}
	}
	within := site.Bound()
	for i, ring := range footprints {
		b := ring.Bound()
		if !b.Intersects(within) {
			continue
		}
		along := false
		for cell := range x.cellsOf(b) {
			if list, edge := x.cells[cell]; edge {
				x.cells[cell] = append(list, i)
				along = true
			}
		}
		if along && isConvex(ring) {
			x.sides[i] = halfPlanes(ring, ring[0])
		}
	}
	return x
}

// steps is into how many pieces a segment is cut, so short that the bounds that
// near looks at are narrow.
func (x footprintIndex) steps(a, b orb.Point) int {
	return max(1, int(math.Ceil(distance(a, b)/x.size)))
}

// step is the ends of one of the pieces of the segment from a to b.
func step(a, b orb.Point, number, pieces int) (p, q orb.Point) {
	return between(a, b, float64(number)/float64(pieces)), between(a, b, float64(number+1)/float64(pieces))
}

func (x footprintIndex) cell(p orb.Point) [2]int {
	return [2]int{int(math.Floor(p[0] / x.size)), int(math.Floor(p[1] / x.size))}
}

func (x footprintIndex) cellsOf(b orb.Bound) iter.Seq[[2]int] {
	least, most := x.cell(b.Min), x.cell(b.Max)
	return func(yield func([2]int) bool) {
		for cx := least[0]; cx <= most[0]; cx++ {
			for cy := least[1]; cy <= most[1]; cy++ {
				if !yield([2]int{cx, cy}) {
					return
				}
			}
		}
	}
}

// cellsNear is the cells that the segment from p to q may lie in.
func (x footprintIndex) cellsNear(p, q orb.Point) iter.Seq[[2]int] {
	return x.cellsOf(orb.MultiPoint{p, q}.Bound().Pad(onRim))
}

// near appends to out the footprints that may meet the segment from p to q, each once.
func (x footprintIndex) near(out []int, p, q orb.Point) []int {
	for cell := range x.cellsNear(p, q) {
		out = append(out, x.cells[cell]...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// appendSeen appends the pieces of the segment from p to q that footprint i
// sees, as shares of its length.
func (x footprintIndex) appendSeen(pieces []span, i int, p, q orb.Point) []span {
	if x.sides[i] == nil {
		return appendInside(pieces, p, q, x.footprints[i], onRim)
	}
	origin := x.footprints[i][0]
	from, to, ok := within(orb.Point{p[0] - origin[0], p[1] - origin[1]}, orb.Point{q[0] - origin[0], q[1] - origin[1]}, x.sides[i], onRim)
	if !ok {
		return pieces
	}
	return append(pieces, span{from, to})
}

// walk returns the views along a closed ring by chainage, exactly, and marks
// in seen the footprints that meet it.
func (x footprintIndex) walk(ring orb.Ring, seen []bool) (length float64, profile []Step) {
	// Chainages count ticks. A footprint's piece grows from segment to segment
	// until it ends, so that a finely drawn edge costs no events.
	type piece struct{ from, to int64 }
	open := map[int]piece{}
	type event struct {
		at    int64
		views int
	}
	var events []event
	closePiece := func(p piece) {
		if p.from < p.to {
			events = append(events, event{p.from, 1}, event{p.to, -1})
		}
	}
	var candidates []int
	var seenPieces []span
	for k := 1; k < len(ring); k++ {
		a, b := ring[k-1], ring[k]
		whole := distance(a, b)
		steps := x.steps(a, b)
		start := length
		for s := range steps {
			p, q := step(a, b, s, steps)
			stop := length + whole*(float64(s+1)/float64(steps))
			candidates = x.near(candidates[:0], p, q)
			for _, i := range candidates {
				seenPieces = x.appendSeen(seenPieces[:0], i, p, q)
				for _, s := range seenPieces {
					seen[i] = true
					next := piece{ticks(mix(start, stop, s.from)), ticks(mix(start, stop, s.to))}
					if last, running := open[i]; running && last.to >= next.from {
						next.from = last.from
					} else if running {
						closePiece(last)
					}
					open[i] = next
				}
			}
			start = stop
		}
		length += whole
	}
	for _, p := range open {
		closePiece(p)
	}
	slices.SortFunc(events, func(a, b event) int { return cmp.Compare(a.at, b.at) })

	end := ticks(length)
	views, from := 0, int64(0)
	for i := 0; i <= len(events); {
		at, change := end, 0
		if i < len(events) {
			at = events[i].at
		}
		for ; i < len(events) && events[i].at == at; i++ {
			change += events[i].views
		}
		if change != 0 || at == end {
			if at > from {
				profile = append(profile, Step{float64(from) * tick, float64(at) * tick, views})
				from = at
			}
			views += change
		}
		if at == end {
			break
		}
	}
	if n := len(profile); n > 0 {
		profile[n-1].To = length
	}
	return length, profile
}

func ticks(metres float64) int64 { return int64(math.Round(metres / tick)) }

// walkEdge walks every ring of the site, in plane metres, and marks in seen
// the footprints that meet its edge.
func walkEdge(site orb.MultiPolygon, x footprintIndex, wanted int, frame plane.Frame, seen []bool) Edge {
	var e Edge
	for part, polygon := range site {
		for number, ring := range polygon {
			if len(ring) == 0 {
				continue
			}
			length, profile := x.walk(ring, seen)
			for _, s := range profile {
				if s.Views >= wanted {
					e.Captured += s.To - s.From
				}
			}
			e.Length += length
			e.Stretches = append(e.Stretches, stretches(ring, profile, wanted, len(e.Rings), frame)...)
			e.Rings = append(e.Rings, EdgeRing{
				Part: part + 1, Ring: number + 1,
				Start: frame.Degrees(ring[0]), Length: length, Profile: profile,
			})
		}
	}
	return e
}

// stretches joins neighbouring steps with fewer than the wanted views.
func stretches(ring orb.Ring, profile []Step, wanted, index int, frame plane.Frame) []Stretch {
	var out []Stretch
	open := false
	for _, s := range profile {
		switch {
		case s.Views >= wanted:
			open = false
			continue
		case open:
			last := &out[len(out)-1]
			last.To, last.MinViews = s.To, min(last.MinViews, s.Views)
		default:
			open = true
			out = append(out, Stretch{Ring: index, From: s.From, To: s.To, MinViews: s.Views})
		}
	}
	chainages := chainagesOf(ring)
	for i := range out {
		for _, p := range along(ring, chainages, out[i].From, out[i].To) {
			out[i].Path = append(out[i].Path, frame.Degrees(p))
		}
	}
	return out
}

// along returns the piece of a line between two chainages; chainages holds
// those of its vertices.
func along(line []orb.Point, chainages []float64, from, to float64) []orb.Point {
	at := func(c float64, k int) orb.Point {
		if k == 0 {
			return line[0]
		}
		return between(line[k-1], line[k], (c-chainages[k-1])/(chainages[k]-chainages[k-1]))
	}
	first, _ := slices.BinarySearch(chainages, from)
	last, _ := slices.BinarySearch(chainages, to)
	first, last = min(first, len(line)-1), min(last, len(line)-1)
	out := []orb.Point{at(from, first)}
	for k := first; k < last; k++ {
		if chainages[k] > from && line[k] != out[len(out)-1] {
			out = append(out, line[k])
		}
	}
	return append(out, at(to, last))
}

// chainagesOf returns how far along a line each of its vertices lies.
func chainagesOf(line []orb.Point) []float64 {
	out := make([]float64, len(line))
	for k := 1; k < len(line); k++ {
		out[k] = out[k-1] + distance(line[k-1], line[k])
	}
	return out
}

// between returns the point a share t of the way from a to b.
func between(a, b orb.Point, t float64) orb.Point {
	return orb.Point{mix(a[0], b[0], t), mix(a[1], b[1], t)}
}

// mix returns a + t·(b − a), and b itself for t = 1.
func mix(a, b, t float64) float64 {
	if t == 1 {
		return b
	}
	return a + t*(b-a)
}

// usualExtent returns the quadratic mean of the footprints' extents, so that
// the number of squares of that size that they touch keeps in proportion to
// their own even when one of them is huge.
func usualExtent(footprints []orb.Ring) float64 {
	var square float64
	for _, ring := range footprints {
		b := ring.Bound()
		extent := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
		square += extent * extent
	}
	return math.Sqrt(square / float64(max(1, len(footprints))))
}
