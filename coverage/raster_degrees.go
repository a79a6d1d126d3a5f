package coverage

import (
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// DegreeRaster is the views at the middles of cells that are equal steps of
// longitude and latitude, over the extent of the site. Rows run from south to
// north and columns from west to east. Where the site lies across the
// antimeridian, that is a side of cells.
type DegreeRaster struct {
	Corner        orb.Point // the south-western, degrees; the eastern may lie past 180
	Step          orb.Point // a cell's width and height, degrees
	Cell          float64   // side of a cell, metres, at the middle of the site
	Columns, Rows int
	Views         []uint16 // row by row; at most OffSite-1, or OffSite
}

// degreeRasterOf counts the views of a site in degrees. Sides of footprints are
// taken as straight in degrees: that moves them by d²·tan φ/8R at most, 0.02 m
// for a side of 1 km at 48°.
func degreeRasterOf(site orb.MultiPolygon, shots []Shot, most int, frame plane.Frame) DegreeRaster {
	footprints := make([]orb.Ring, len(shots))
	for i, s := range shots {
		footprints[i] = s.Footprint
	}
	b, perDegree := site.Bound(), metresPerDegree(frame)
	wide, high := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	c := cellsFor(orb.Bound{Max: orb.Point{wide * perDegree[0], high * perDegree[1]}}, most)
	side := c.size[0]
	c.corner, c.size = b.Min, orb.Point{stepOf(side / perDegree[0]), stepOf(side / perDegree[1])}
	if seam := 360*math.Ceil((b.Min[0]+180)/360) - 180; seam > b.Min[0] && seam < b.Max[0] {
		c.corner[0] = seam - float64(math.Ceil((seam-b.Min[0])/c.size[0])*c.size[0])
		c.columns++
	}
	return DegreeRaster{
		Corner: plane.WrapPoint(c.corner), Step: c.size, Cell: side,
		Columns: c.columns, Rows: c.rows, Views: countViews(c, site, footprints),
	}
}

// stepOf has 12 decimals, 0.1 µm, so that it is the same on every processor.
func stepOf(degrees float64) float64 { return math.Ceil(degrees*1e12) / 1e12 }

// Bound is the extent of the cells, in degrees.
func (r DegreeRaster) Bound() orb.Bound {
	return orb.Bound{Min: r.Corner, Max: orb.Point{
		r.Corner[0] + float64(float64(r.Columns)*r.Step[0]), // not fused into one rounding
		r.Corner[1] + float64(float64(r.Rows)*r.Step[1]),
	}}
}

// metresPerDegree are the lengths of a degree of longitude and of latitude at
// the middle of a frame.
func metresPerDegree(frame plane.Frame) orb.Point {
	const part = 0.001
	centre := frame.Centre()
	east := frame.Metres(orb.Point{centre[0] + part, centre[1]})
	toEquator := frame.Metres(orb.Point{centre[0], centre[1] - math.Copysign(part, centre[1])})
	return orb.Point{max(1, east[0]/part), math.Abs(toEquator[1]) / part}
}
