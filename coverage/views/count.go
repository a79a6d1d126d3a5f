package views

import (
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// counted is the tiles of a site, and which of them are open: they touch the
// site, and are not held whole by enough footprints.
type counted struct {
	tiles
	runs   []run   // the open tiles by rows
	starts []int32 // of each row in the runs
	before table   // how many tiles are open in the rows and columns before these
}

// table holds a number for each row and column of tiles, and one column more.
type table struct {
	wide    int
	numbers []int32
}

func newTable(rows, columns int) table {
	return table{columns + 1, make([]int32, rows*(columns+1))}
}

func (t table) row(r int) []int32 { return t.numbers[r*t.wide : (r+1)*t.wide] }

// add adds n to tiles of a row when the table holds the steps from each tile to
// the next.
func (t table) add(row int, first, last, n int32) {
	t.numbers[row*t.wide+int(first)] += n
	t.numbers[row*t.wide+int(last)+1] -= n
}

func count(t tiles, site orb.MultiPolygon, footprints []Footprint, extents []extent, enough int32) *counted {
	shares := make([]table, workers)
	InParallel(workers, func(i int) {
		steps, in, w := newTable(t.rows, t.columns), newInside(t), newWalker(t)
		from, to := share(i, len(footprints))
		for k := from; k < to; k++ {
			if !t.meet(extents[k]) {
				continue
			}
			if f := footprints[k]; len(f) != 1 || !in.count(f[0], extents[k], steps) {
				w.each(f, func(row int, spans []span) {
					for _, s := range spans {
						if !s.touched {
							steps.add(row, s.first, s.last, s.winding)
						}
					}
				})
			}
		}
		shares[i] = steps
	})
	// Off the site, no views at all are enough.
	newWalker(t).each(plane.Oriented(site), func(row int, spans []span) {
		for _, s := range spans {
			shares[0].add(row, s.first, s.last, -enough)
		}
	})
	c := &counted{tiles: t, starts: make([]int32, t.rows+1), before: newTable(t.rows+1, t.columns)}
	for row := range t.rows {
		steps := shares[0].row(row)
		for _, more := range shares[1:] {
			for column, step := range more.row(row) {
				steps[column] += step
			}
		}
		c.addRow(row, steps)
		c.starts[row+1] = int32(len(c.runs))
	}
	return c
}

// addRow takes the open tiles of a row: those where its steps lead below zero.
func (c *counted) addRow(row int, steps []int32) {
	below, here := c.before.row(row)[1:], c.before.row(row + 1)[1:]
	var level, open int32
	last := -2
	for column, step := range steps[:c.columns] {
		if level += step; level < 0 {
			open++
			if column > last+1 {
				c.runs = append(c.runs, run{row: int32(row), first: int32(column), patch: int32(len(c.runs))})
			}
			c.runs[len(c.runs)-1].last = int32(column)
			last = column
		}
		here[column] = below[column] + open
	}
}

// anyOpen reports whether an open tile lies within an extent and the doubt
// around it.
func (c *counted) anyOpen(e extent) bool {
	if !c.meet(e) {
		return false
	}
	first, end := c.column(e.left-doubt), c.column(e.right+doubt)+1
	low, high := c.before.row(c.row(e.low-doubt)), c.before.row(c.row(e.high+doubt)+1)
	return high[end]-high[first] > low[end]-low[first]
}

// inside finds the tiles that an outline holds whole.
type inside struct {
	tiles
	// Where the outline comes nearest on either side, by rows, in tiles; on the
	// left with its sign changed, so that the least is the nearest there too.
	right, left []float64
}

func newInside(t tiles) *inside {
	return &inside{t, make([]float64, t.rows), make([]float64, t.rows)}
}

// count counts the tiles that a ring holds whole, as a walker does but quicker.
// It counts none and returns false when the ring does not go up once and down
// once, as nearly all do: a tile lies within such a ring when it lies left of
// all that goes up and right of all that goes down.
func (in *inside) count(ring orb.Ring, e extent, steps table) bool {
	// The unit is a tile, counted from the first.
	near := doubt * in.perSize
	lowest := between(math.Ceil((e.low-in.bottom)*in.perSize+near), 0, in.rows)
	end := between((e.high-in.bottom)*in.perSize-near, 0, in.rows)
	if lowest >= end {
		return true
	}
	right, left := in.right[:end-lowest], in.left[:end-lowest]
	for i := range right {
		right[i], left[i] = math.Inf(1), math.Inf(1)
	}
	turns, way := 0, 0.0
	bottom := in.bottom + float64(lowest)*in.size
	for k := 1; k < len(ring); k++ {
		p, q := ring[k-1], ring[k]
		x, low := (p[0]-in.tiles.left)*in.perSize, (p[1]-bottom)*in.perSize
		until, high := (q[0]-in.tiles.left)*in.perSize, (q[1]-bottom)*in.perSize
		switch { // what is level ends where other sides begin
		case high > low:
			nearest(right, x, until, low, high, near)
		case high < low:
			nearest(left, -until, -x, high, low, near)
		default:
			continue
		}
		if way*(high-low) < 0 {
			turns++
		}
		way = high - low
	}
	if turns > 2 {
		return false
	}
	for i := range right {
		first := int32(between(near-left[i], -1, in.columns)) + 1
		last := int32(between(right[i]-near, -1, in.columns)) - 1
		if first <= last {
			steps.add(lowest+i, first, last, 1)
		}
	}
	return true
}

// nearest lowers what each row holds to the least x in it of a side upwards.
func nearest(rows []float64, x, end, low, high, near float64) {
	first, last := between(low-near, 0, len(rows)), between(high+near, -1, len(rows)-1)
	least, lean, base := min(x, end), 0.0, math.Inf(-1)
	if high-low > near {
		lean = (end - x) / (high - low)
		base = x - lean*(low+near) // at the foot of the first row
		if lean < 0 {
			base = x + lean*(1+near-low) // at its top
		}
	}
	for i := first; i <= last; i++ {
		rows[i] = min(rows[i], max(least, base+lean*float64(i)))
	}
}
