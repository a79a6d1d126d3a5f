package plane

import (
	"math"

	"github.com/paulmach/orb"
)

// cell is a point of a Grid: whole cells east and north of the grid's middle.
type cell struct{ x, y int32 }

// before orders cells from left to right, then upwards.
func (c cell) before(d cell) bool { return c.x < d.x || c.x == d.x && c.y < d.y }

// lower orders cells upwards, then from left to right.
func (c cell) lower(d cell) bool { return c.y < d.y || c.y == d.y && c.x < d.x }

// key is a number that orders cells as before does.
func (c cell) key() uint64 { return uint64(uint32(c.x)^1<<31)<<32 | uint64(uint32(c.y)^1<<31) }

// span is the most cells that a Grid may be wide or high. Differences of
// coordinates then stay under 2^30, their products under 2^60 and the
// difference of two products under 2^61, so that every orientation test is
// exact in int64.
const span = 1 << 30

// Grid is the integer lattice on which the arrangement works. It has a whole,
// power-of-ten number of cells to a unit, so that a grid in degrees holds
// decimal numbers that a file can state exactly.
type Grid struct {
	scale  float64 // cells to a unit
	x0, y0 int64   // the middle, in cells
}

// MetreGrid returns a grid of 0.1 mm cells for plane coordinates in metres
// within b; coarser by tens where b is wider than 107 km.
func MetreGrid(b orb.Bound) Grid { return gridFor(b, 1e4) }

// DegreeGrid returns a grid for lon/lat in degrees within b whose points have
// the given number of decimals; fewer where b is too wide for that (over
// 1.07 degrees at 9 decimals, over 10.7 at 8).
func DegreeGrid(b orb.Bound, decimals int) Grid {
	return gridFor(b, math.Pow10(decimals))
}

func gridFor(b orb.Bound, scale float64) Grid {
	// 4 cells are kept free for rounding at the rim.
	for w := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]); w*scale > span-4; {
		scale /= 10
	}
	return Grid{
		scale: scale,
		x0:    int64(math.Round((b.Min[0]/2 + b.Max[0]/2) * scale)),
		y0:    int64(math.Round((b.Min[1]/2 + b.Max[1]/2) * scale)),
	}
}

// Cell returns the width of one cell in the grid's unit.
func (g Grid) Cell() float64 { return 1 / g.scale }

// Snap returns the grid point nearest to p, in p's unit.
func (g Grid) Snap(p orb.Point) orb.Point { return g.point(g.cell(p)) }

// coarser returns the grid with cells ten times as wide.
func (g Grid) coarser() Grid {
	return Grid{g.scale / 10, int64(math.Round(float64(g.x0) / 10)), int64(math.Round(float64(g.y0) / 10))}
}

func (g Grid) cell(p orb.Point) cell {
	return cell{clampCell(math.Round(p[0]*g.scale) - float64(g.x0)), clampCell(math.Round(p[1]*g.scale) - float64(g.y0))}
}

// clampCell keeps what lies outside the bound of the grid at its rim, so that
// no product can overflow; callers give a bound that holds their points.
func clampCell(v float64) int32 {
	switch {
	case v < -span/2:
		return -span / 2
	case v > span/2-1:
		return span/2 - 1
	}
	return int32(v)
}

// point divides a whole number by a power of ten: the nearest float64 to that
// decimal number.
func (g Grid) point(c cell) orb.Point {
	return orb.Point{float64(g.x0+int64(c.x)) / g.scale, float64(g.y0+int64(c.y)) / g.scale}
}

// turn returns twice the area of the triangle abc, positive when c lies left of ab.
func turn(a, b, c cell) int64 {
	return (int64(b.x)-int64(a.x))*(int64(c.y)-int64(a.y)) - (int64(b.y)-int64(a.y))*(int64(c.x)-int64(a.x))
}
