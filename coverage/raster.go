package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/views"
)

// OffSite stands in Raster.Views for cells whose middle lies outside the site.
const OffSite = math.MaxUint16

// Raster is the views at the middles of square cells over the extent of the
// site. Rows run from south to north and columns from west to east, along the
// axes of the plane of the job.
type Raster struct {
	Origin        orb.Point // the south-western corner, degrees
	Cell          float64   // side of a cell, metres
	Columns, Rows int
	Views         []uint16 // row by row; at most OffSite-1

	frame  plane.Frame
	corner orb.Point // plane metres
}

// Middle returns the middle of a cell in degrees.
func (r Raster) Middle(column, row int) orb.Point {
	return r.frame.Degrees(r.cells().middle(column, row))
}

// Shares returns the share of the site's cells by number of views, from none
// on; nil when no cell's middle lies in the site.
func (r Raster) Shares() []float64 {
	var counts []int
	cells := 0
	for _, v := range r.Views {
		if v == OffSite {
			continue
		}
		for int(v) >= len(counts) {
			counts = append(counts, 0)
		}
		counts[v]++
		cells++
	}
	var shares []float64
	for _, n := range counts {
		shares = append(shares, float64(n)/float64(cells))
	}
	return shares
}

func (r Raster) cells() cells {
	return cells{r.corner, orb.Point{r.Cell, r.Cell}, r.Columns, r.Rows}
}

const (
	mostCells    = 250_000
	finestCell   = 0.05 // metres
	manyPhotos   = OffSite - 1
	cellsAtLeast = 1
)

// rasterOf counts the views of a site, all in plane metres.
func rasterOf(site orb.MultiPolygon, footprints []orb.Ring, most int, frame plane.Frame) Raster {
	c := cellsFor(site.Bound(), most)
	return Raster{
		Origin: plane.WrapPoint(frame.Degrees(c.corner)), Cell: c.size[0], Columns: c.columns, Rows: c.rows,
		Views: countViews(c, site, footprints), frame: frame, corner: c.corner,
	}
}

// countViews counts the footprints that hold the middle of each cell; OffSite
// for those off the site.
func countViews(c cells, site orb.MultiPolygon, footprints []orb.Ring) []uint16 {
	counts := make([]uint16, c.columns*c.rows)
	onSite := make([]bool, len(counts))
	w := newSweeper(c)
	w.spans(plane.Oriented(site), 0, c.rows, func(row, first, last int) {
		for column := first; column <= last; column++ {
			onSite[row*c.columns+column] = true
		}
	})
	// The two halves of the rows by themselves, so that nothing is shared.
	views.InParallel(2, func(half int) {
		low, high := half*c.rows/2, (half+1)*c.rows/2
		// The differences of each row's counts from cell to cell, and one past the end.
		wide := c.columns + 1
		steps := make([]int32, (high-low)*wide)
		w := newSweeper(c)
		for k := range footprints {
			w.spans(footprints[k:k+1], low, high, func(row, first, last int) {
				steps[(row-low)*wide+first]++
				steps[(row-low)*wide+last+1]--
			})
		}
		for row := low; row < high; row++ {
			var views int32
			for column := range c.columns {
				views += steps[(row-low)*wide+column]
				at := row*c.columns + column
				if counts[at] = uint16(min(views, manyPhotos)); !onSite[at] {
					counts[at] = OffSite
				}
			}
		}
	})
	return counts
}

// cells are rectangles by rows from the bottom and columns from the left.
type cells struct {
	corner        orb.Point
	size          orb.Point // width and height
	columns, rows int
}

// cellsFor covers a bound with no more than a number of squares.
func cellsFor(b orb.Bound, most int) cells {
	wide, high := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	// Of a size s there are ⌈w/s⌉·⌈h/s⌉ < (w/s + 1)·(h/s + 1) cells: where that
	// equals most is the greater root of (most − 1)·s² − (w + h)·s − w·h = 0.
	n := float64(most - 1)
	size := max(finestCell, ((wide+high)+math.Sqrt((wide+high)*(wide+high)+4*n*wide*high))/(2*n))
	return cells{b.Min, orb.Point{size, size}, max(cellsAtLeast, int(math.Ceil(wide/size))), max(cellsAtLeast, int(math.Ceil(high/size)))}
}

func (c cells) middle(column, row int) orb.Point {
	return orb.Point{c.corner[0] + (float64(column)+0.5)*c.size[0], c.corner[1] + (float64(row)+0.5)*c.size[1]}
}

// sweeper finds the cells whose middles lie in areas given by their rings.
type sweeper struct {
	cells
	crossings [][]float64 // of the rings at hand, by rows
}

func newSweeper(c cells) *sweeper { return &sweeper{c, make([][]float64, c.rows)} }

// spans visits the runs of cells, first to last, whose middles lie inside valid
// rings, in the rows from low to before high.
func (w *sweeper) spans(rings []orb.Ring, low, high int, visit func(row, first, last int)) {
	from, to := high, low
	for _, ring := range rings {
		for k := 1; k < len(ring); k++ {
			p, q := ring[k-1], ring[k]
			if q[1] < p[1] {
				p, q = q, p
			}
			if p[1] == q[1] {
				continue
			}
			lean := (q[0] - p[0]) / (q[1] - p[1])
			first, last := max(low, after(p[1]-w.corner[1], w.size[1])), min(high, after(q[1]-w.corner[1], w.size[1]))
			for row := first; row < last; row++ {
				y := w.corner[1] + (float64(row)+0.5)*w.size[1]
				w.crossings[row] = append(w.crossings[row], p[0]+(y-p[1])*lean)
			}
			if first < last {
				from, to = min(from, first), max(to, last)
			}
		}
	}
	for row := from; row < to; row++ {
		x := w.crossings[row]
		if len(x) == 2 && x[1] < x[0] { // nearly always
			x[0], x[1] = x[1], x[0]
		} else if len(x) > 2 {
			slices.Sort(x)
		}
		for k := 1; k < len(x); k += 2 {
			first, last := max(0, after(x[k-1]-w.corner[0], w.size[0])), min(w.columns, after(x[k]-w.corner[0], w.size[0]))-1
			if first <= last {
				visit(row, first, last)
			}
		}
		w.crossings[row] = x[:0]
	}
}

// after returns the first row or column whose middle lies at a distance from
// the corner or beyond it; 0 to a number out of reach.
func after(d, size float64) int {
	return int(min(max(math.Ceil(d/size-0.5), 0), math.MaxInt32))
}
