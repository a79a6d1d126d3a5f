package terrain

import (
	"math"

	"github.com/paulmach/orb"
)

// Grid is the decoded heights of a window of a file, or of several files on
// the same lattice.
type Grid struct {
	Source  Source
	lattice lattice
	heights []float32 // row by row, metres; NaN where unknown
}

// Elevation is the height in metres at a place in degrees on WGS 84,
// interpolated between the four heights around it. It is false where one of
// them is unknown, and outside the outermost heights.
func (g *Grid) Elevation(lonlat orb.Point) (float64, bool) {
	c, ok := g.lattice.cell(lonlat)
	if !ok {
		return 0, false
	}
	h := g.bilinear(c[0], c[1])
	return h, h == h
}

// rounding is by how much of a cell a place may lie off a line of the lattice
// for being written in decimals.
const rounding = 1e-6

// bilinear is the height at fractions of columns and rows, NaN where unknown.
func (g *Grid) bilinear(column, row float64) float64 {
	lastColumn, lastRow := float64(g.lattice.columns-1), float64(g.lattice.rows-1)
	if !(column >= -rounding && row >= -rounding && column <= lastColumn+rounding && row <= lastRow+rounding) {
		return math.NaN()
	}
	column, row = min(max(column, 0), lastColumn), min(max(row, 0), lastRow)
	i, j := int(column+rounding), int(row+rounding)
	u, v := column-float64(i), row-float64(j)
	at := j*g.lattice.columns + i
	right, down := 1, g.lattice.columns
	// On a line of the lattice only the heights on it count.
	if math.Abs(u) < rounding {
		u, right = 0, 0
	}
	if math.Abs(v) < rounding {
		v, down = 0, 0
	}
	h00, h10 := float64(g.heights[at]), float64(g.heights[at+right])
	h01, h11 := float64(g.heights[at+down]), float64(g.heights[at+down+right])
	return (h00*(1-u)+h10*u)*(1-v) + (h01*(1-u)+h11*u)*v
}
