package terrain

import (
	"errors"
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/crs"
	"selvage/boundary/plane"
)

// lattice is where the heights of a grid stand. Column 0, row 0 is a height
// itself, not the corner of its cell.
type lattice struct {
	system        crs.System
	place         affine // {column, row} to the system's coordinates
	columns, rows int
}

// affine takes {u, v} to {a[0] + a[1]u + a[2]v, a[3] + a[4]u + a[5]v}.
type affine [6]float64

func (a affine) at(p orb.Point) orb.Point {
	return orb.Point{a[0] + a[1]*p[0] + a[2]*p[1], a[3] + a[4]*p[0] + a[5]*p[1]}
}

func (a affine) determinant() float64 { return a[1]*a[5] - a[2]*a[4] }

func (a affine) sound() bool {
	for _, x := range a {
		if math.IsNaN(x-x) || math.Abs(x) > 1e12 {
			return false
		}
	}
	d := a.determinant()
	return d != 0 && !math.IsNaN(d-d)
}

// back is the reverse of at.
func (a affine) back(p orb.Point) orb.Point {
	x, y, d := p[0]-a[0], p[1]-a[3], a.determinant()
	return orb.Point{(a[5]*x - a[2]*y) / d, (a[1]*y - a[4]*x) / d}
}

// shifted is a with column 0, row 0 at {u, v}.
func (a affine) shifted(u, v float64) affine {
	origin := a.at(orb.Point{u, v})
	a[0], a[3] = origin[0], origin[1]
	return a
}

// window is a part of a lattice.
type window struct{ column, row, columns, rows int }

func (l lattice) cropped(w window) lattice {
	l.place = l.place.shifted(float64(w.column), float64(w.row))
	l.columns, l.rows = w.columns, w.rows
	return l
}

// looksGeographic reports whether the coordinates of a system that nobody
// named can be degrees. A corner at exactly 0, 0 is a drawing's own.
func (l lattice) looksGeographic() bool {
	a := l.place
	if math.Hypot(a[1], a[4]) >= 1 || math.Hypot(a[2], a[5]) >= 1 {
		return false
	}
	for _, c := range l.corners(0.5) {
		p := a.at(c)
		if math.Abs(p[0]) > 180.5 || math.Abs(p[1]) > 90.5 || math.Hypot(p[0], p[1]) < 1e-9 {
			return false
		}
	}
	for _, c := range l.corners(0) {
		if p := a.at(c); math.Hypot(p[0], p[1]) < 1e-9 {
			return false
		}
	}
	return true
}

// corners are the outermost heights, moved outwards by cells.
func (l lattice) corners(cells float64) [4]orb.Point {
	left, top, right, bottom := -cells, -cells, float64(l.columns-1)+cells, float64(l.rows-1)+cells
	return [4]orb.Point{{left, top}, {right, top}, {right, bottom}, {left, bottom}}
}

// lonlat is the place of {column, row} in degrees on WGS 84.
func (l lattice) lonlat(cell orb.Point) (orb.Point, error) {
	return l.system.ToWGS84(l.place.at(cell))
}

// cell is the reverse of lonlat: {column, row}, within the lattice or not.
func (l lattice) cell(lonlat orb.Point) (orb.Point, bool) {
	p := lonlat
	if !l.system.IsWGS84() {
		var err error
		if p, err = l.system.FromWGS84(plane.WrapPoint(lonlat)); err != nil {
			return orb.Point{}, false
		}
	}
	if l.system.Geographic() {
		middle := l.place[0] + l.place[1]*float64(l.columns-1)/2 + l.place[2]*float64(l.rows-1)/2
		p[0] = middle + math.Remainder(p[0]-middle, 360)
	}
	c := l.place.back(p)
	return c, !math.IsNaN(c[0]-c[0]) && !math.IsNaN(c[1]-c[1])
}

// steps is how finely bounds are followed from one system to the other.
const steps = 16

// bound is the extent in degrees, as far as it has a place on Earth.
func (l lattice) bound() (orb.Bound, error) {
	var bound orb.Bound
	found := false
	var first float64
	var failed error
	for i := range steps + 1 {
		for j := range steps + 1 {
			if i%steps != 0 && j%steps != 0 && (i != steps/2 || j != steps/2) {
				continue
			}
			p, err := l.lonlat(orb.Point{float64(l.columns-1) * float64(i) / steps, float64(l.rows-1) * float64(j) / steps})
			if err == nil && math.Abs(p[1]) > 90.01 {
				err = errors.New("has latitudes beyond 90")
			}
			if err != nil {
				failed = err
				continue
			}
			if !found {
				found, first, bound = true, p[0], p.Bound()
			}
			if !l.system.IsWGS84() {
				p[0] = first + math.Remainder(p[0]-first, 360)
			}
			bound = bound.Extend(p)
		}
	}
	if !found {
		return bound, failed
	}
	return bound, nil
}

// resolution is the wider step in metres, in the middle or wherever it has a
// place on Earth.
func (l lattice) resolution() float64 {
	for _, at := range [][2]float64{{0.5, 0.5}, {0.25, 0.25}, {0.75, 0.75}, {0.25, 0.75}, {0.75, 0.25}, {0, 0}, {1, 1}, {0, 1}, {1, 0}} {
		c := orb.Point{at[0] * float64(l.columns-1), at[1] * float64(l.rows-1)}
		here, err := l.lonlat(c)
		east, err1 := l.lonlat(orb.Point{c[0] + 1, c[1]})
		south, err2 := l.lonlat(orb.Point{c[0], c[1] + 1})
		if errors.Join(err, err1, err2) == nil {
			return max(plane.GeodesicDistance(here, east), plane.GeodesicDistance(here, south))
		}
	}
	return 0
}

// window is the part of the lattice that holds every height that matters
// within b, in degrees.
func (l lattice) window(b orb.Bound) (window, bool) {
	var cells [steps + 1][steps + 1]orb.Point
	var known [steps + 1][steps + 1]bool
	var extent orb.Bound
	found := false
	bend := 0.0
	// Where a row of three places is not straight in the lattice, the bound's
	// edges between them bend by a quarter of that.
	straight := func(a, b, c orb.Point) {
		bend = max(bend, math.Abs(b[0]-(a[0]+c[0])/2), math.Abs(b[1]-(a[1]+c[1])/2))
	}
	for i := range cells {
		for j := range cells[i] {
			p := orb.Point{
				b.Min[0] + (b.Max[0]-b.Min[0])*float64(i)/steps,
				b.Min[1] + (b.Max[1]-b.Min[1])*float64(j)/steps,
			}
			c, ok := l.cell(p)
			cells[i][j], known[i][j] = c, ok
			if !ok {
				continue
			}
			if !found {
				found, extent = true, c.Bound()
			}
			extent = extent.Extend(c)
			if i > 1 && known[i-1][j] && known[i-2][j] {
				straight(cells[i-2][j], cells[i-1][j], c)
			}
			if j > 1 && known[i][j-1] && known[i][j-2] {
				straight(cells[i][j-2], cells[i][j-1], c)
			}
		}
	}
	if !found {
		return window{}, false
	}
	extent = extent.Pad(bend + 2)
	low := func(x float64) int { return int(max(0, math.Floor(x))) }
	high := func(x float64, n int) int { return int(min(float64(n-1), math.Ceil(x))) }
	c0, r0 := low(min(extent.Min[0], 1e9)), low(min(extent.Min[1], 1e9))
	c1, r1 := high(extent.Max[0], l.columns), high(extent.Max[1], l.rows)
	if c1 < c0 || r1 < r0 {
		return window{}, false
	}
	return window{c0, r0, c1 - c0 + 1, r1 - r0 + 1}, true
}
