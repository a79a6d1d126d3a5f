package terrain

import (
	"math"

	"github.com/paulmach/orb"
)

// resampler looks heights up at even steps of a surface. Where a place lies
// in a grid is reckoned exactly at the corners of tiles and in between
// bilinearly.
type resampler struct {
	s       *Surface
	m       *Mosaic
	tile    int // cells along a side of a tile
	across  int
	corners [][]corner // by grid
}

type corner struct {
	cell orb.Point // column, row in the grid
	ok   bool
}

// tileSide keeps the places between the corners of a tile, in metres, good: a
// curve of longitude or latitude leaves its chord by d² tan φ / 8R, 0.4 mm at
// 50 degrees.
const (
	tileSide      = 128
	mostTileCells = 1024
)

func newResampler(s *Surface, m *Mosaic) *resampler {
	r := &resampler{s: s, m: m, tile: min(max(1, int(tileSide/s.spacing)), mostTileCells)}
	r.across = s.columns/r.tile + 2
	down := s.rows/r.tile + 2
	r.corners = make([][]corner, len(m.grids))
	for k := range m.grids {
		r.corners[k] = make([]corner, r.across*down)
	}
	for c := range r.across * down {
		u, v := float64(c%r.across*r.tile), float64(c/r.across*r.tile)
		lonlat := s.frame.Degrees(orb.Point{s.origin[0] + u*s.spacing, s.origin[1] + v*s.spacing})
		for k, g := range m.grids {
			cell, ok := g.lattice.cell(lonlat)
			r.corners[k][c] = corner{cell, ok}
		}
	}
	return r
}

// between is the cell of grid k at fractions of the tile at corner c.
func (r *resampler) between(k, c int, a, b float64) (orb.Point, bool) {
	p, q := r.corners[k][c], r.corners[k][c+1]
	t, u := r.corners[k][c+r.across], r.corners[k][c+r.across+1]
	if !p.ok || !q.ok || !t.ok || !u.ok {
		return orb.Point{}, false
	}
	mix := func(axis int) float64 {
		return (p.cell[axis]*(1-a)+q.cell[axis]*a)*(1-b) + (t.cell[axis]*(1-a)+u.cell[axis]*a)*b
	}
	return orb.Point{mix(0), mix(1)}, true
}

// heights hands put the height, NaN where unknown, at columns by rows places
// a cell apart, the first of them shift of a cell from node 0, 0.
func (r *resampler) heights(shift float64, columns, rows int, put func(i, j int, h float64)) {
	row := make([]float64, r.tile)
	for j := range rows {
		for left := 0; left < columns; left += r.tile {
			part := row[:min(r.tile, columns-left)]
			r.look(part, j/r.tile*r.across+left/r.tile, (float64(j%r.tile)+shift)/float64(r.tile), shift)
			for i, h := range part {
				put(left+i, j, h)
			}
		}
	}
}

// look fills row with heights of the tile at corner c, b of the way up, from
// the finest grid that knows them.
func (r *resampler) look(row []float64, c int, b, shift float64) {
	for i := range row {
		row[i] = math.NaN()
	}
	missing := len(row)
	for k, g := range r.m.grids {
		from, ok := r.between(k, c, 0, b)
		to, _ := r.between(k, c, 1, b)
		if !ok {
			continue
		}
		for i, h := range row {
			if h == h {
				continue
			}
			a := (float64(i) + shift) / float64(r.tile)
			if row[i] = g.bilinear(from[0]+(to[0]-from[0])*a, from[1]+(to[1]-from[1])*a); row[i] == row[i] {
				missing--
			}
		}
		if missing == 0 {
			return
		}
	}
}
