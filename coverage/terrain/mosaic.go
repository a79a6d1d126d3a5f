package terrain

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Mosaic is several grids as one. Where they overlap, the finest that knows
// the height counts; among equals the one that was given first.
type Mosaic struct {
	sources []Source
	grids   []*Grid // the finest first
}

// NewMosaic joins grids. Those on one lattice become one grid, so that there
// is no seam between tiles.
func NewMosaic(grids ...*Grid) *Mosaic {
	m := &Mosaic{}
	for _, g := range grids {
		m.sources = append(m.sources, g.Source)
	}
	left := slices.Clone(grids)
	for len(left) > 0 {
		group, rest := []*Grid{left[0]}, []*Grid{}
		for _, g := range left[1:] {
			if _, _, same := left[0].lattice.offset(g.lattice); same {
				group = append(group, g)
			} else {
				rest = append(rest, g)
			}
		}
		m.grids = append(m.grids, joined(group)...)
		left = rest
	}
	slices.SortStableFunc(m.grids, func(a, b *Grid) int { return cmp.Compare(a.Source.Resolution, b.Source.Resolution) })
	return m
}

// Sources describes the files in the order in which they were given.
func (m *Mosaic) Sources() []Source { return m.sources }

// Resolution is that of the finest grid, in metres, 0 without any.
func (m *Mosaic) Resolution() float64 {
	if len(m.grids) == 0 {
		return 0
	}
	return m.grids[0].Source.Resolution
}

// Elevation is the height in metres at a place in degrees on WGS 84, false
// where no grid knows it.
func (m *Mosaic) Elevation(lonlat orb.Point) (float64, bool) {
	for _, g := range m.grids {
		if h, ok := g.Elevation(lonlat); ok {
			return h, true
		}
	}
	return 0, false
}

// offset is where column 0, row 0 of other lies in l, if both stand on one lattice.
func (l lattice) offset(other lattice) (column, row int, same bool) {
	step := max(math.Hypot(l.place[1], l.place[4]), math.Hypot(l.place[2], l.place[5]))
	most := float64(max(l.columns, l.rows, other.columns, other.rows))
	for _, k := range []int{1, 2, 4, 5} {
		if math.Abs(l.place[k]-other.place[k])*most > offLattice*step {
			return 0, 0, false
		}
	}
	if !sameSystem(l, other) {
		return 0, 0, false
	}
	origin := other.place.at(orb.Point{})
	if l.system.Geographic() {
		origin[0] = l.place[0] + math.Remainder(origin[0]-l.place[0], 360)
	}
	at := l.place.back(origin)
	u, v := math.Round(at[0]), math.Round(at[1])
	if math.Abs(at[0]-u) > offLattice || math.Abs(at[1]-v) > offLattice || math.Abs(u)+math.Abs(v) > 1e8 {
		return 0, 0, false
	}
	return int(u), int(v), true
}

// offLattice is how much of a cell one grid may be off the lattice of another
// that it is joined with.
const offLattice = 0.005

func sameSystem(a, b lattice) bool {
	if a.system.Name() != b.system.Name() || a.system.IsWGS84() != b.system.IsWGS84() {
		return false
	}
	middle := orb.Point{float64(b.columns-1) / 2, float64(b.rows-1) / 2}
	lonlat, err := b.lonlat(middle)
	if err != nil {
		return false
	}
	here, err := b.system.FromWGS84(lonlat)
	there, err2 := a.system.FromWGS84(lonlat)
	return err == nil && err2 == nil && here == there
}

// joined puts grids on one lattice together, unless they lie so far apart
// that most of the result would be unknown.
func joined(grids []*Grid) []*Grid {
	if len(grids) == 1 {
		return grids
	}
	first := grids[0]
	var left, top int
	right, bottom := first.lattice.columns, first.lattice.rows
	at := make([][2]int, len(grids))
	cells := 0
	for k, g := range grids {
		column, row, _ := first.lattice.offset(g.lattice)
		at[k] = [2]int{column, row}
		left, top = min(left, column), min(top, row)
		right, bottom = max(right, column+g.lattice.columns), max(bottom, row+g.lattice.rows)
		cells += len(g.heights)
	}
	columns, rows := right-left, bottom-top
	if size := int64(columns) * int64(rows); size > 4*int64(cells) || size > int64(DefaultLimits.Cells) {
		return grids
	}
	all := &Grid{Source: first.Source, lattice: first.lattice.cropped(window{left, top, columns, rows})}
	all.heights = make([]float32, columns*rows)
	for i := range all.heights {
		all.heights[i] = void
	}
	for k, g := range slices.Backward(grids) {
		for r := range g.lattice.rows {
			out := all.heights[(at[k][1]-top+r)*columns+at[k][0]-left:]
			for c, h := range g.heights[r*g.lattice.columns : (r+1)*g.lattice.columns] {
				if !unknown(h) {
					out[c] = h
				}
			}
		}
	}
	return []*Grid{all}
}
