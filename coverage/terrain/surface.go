package terrain

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Surface is the ground of a job in the plane metres of a frame: heights at
// the nodes of a square grid, and between the four nodes of a cell the
// bilinear patch that they span. A cell with an unknown corner is void.
type Surface struct {
	frame         plane.Frame
	origin        orb.Point // of node 0, 0
	spacing       float64
	columns, rows int       // of cells
	nodes         []float32 // rows+1 times columns+1, NaN where unknown
	levels        []level   // the finest first
	misfits       []float32 // of the blocks of levels[0]: see Misfit
	misfit        Misfit
}

// Misfit is how far the surface lies from the grids that it was made of, in
// metres of height, measured in the middle of every cell.
type Misfit struct {
	Most, RMS float64
}

// The number of nodes that a surface may have, and up to which it is made
// finer than the grids, so that little is lost between the two.
const (
	mostNodes  = 16 << 20
	spareNodes = 4 << 20
)

// NewSurface makes the ground over extent, in metres of frame, from m. The
// nodes are spacing metres apart; 0 chooses a half to a quarter of the
// resolution of the grids while that is affordable, and what is affordable
// otherwise: see Spacing and Misfit. It is an error if no height is known.
func NewSurface(frame plane.Frame, m *Mosaic, extent orb.Bound, spacing float64) (*Surface, error) {
	width, depth := extent.Max[0]-extent.Min[0], extent.Max[1]-extent.Min[1]
	if !(width > 0 && depth > 0 && width < 1e6 && depth < 1e6) {
		return nil, errors.New("the terrain has no extent")
	}
	if m.Resolution() == 0 {
		return nil, errNoHeights
	}
	nodes := func(spacing float64) float64 { return (width/spacing + 2) * (depth/spacing + 2) }
	if spacing == 0 {
		spacing = m.Resolution()
		for _, finer := range []float64{2, 3, 4} {
			if s := m.Resolution() / finer; nodes(s) <= spareNodes {
				spacing = s
			}
		}
		spacing = min(spacing, max(width, depth)) // one cell of a very coarse grid
		for nodes(spacing) > mostNodes {
			spacing *= 1.1
		}
	}
	if !(spacing > 0) || nodes(spacing) > mostNodes {
		return nil, fmt.Errorf("the terrain at %g m has over %d million heights, which is the limit", spacing, mostNodes/1_000_000)
	}
	s := &Surface{
		frame: frame, origin: extent.Min, spacing: spacing,
		columns: max(1, int(math.Ceil(width/spacing-1e-9))), rows: max(1, int(math.Ceil(depth/spacing-1e-9))),
	}
	s.nodes = make([]float32, (s.columns+1)*(s.rows+1))
	known := false
	r := newResampler(s, m)
	r.heights(0, s.columns+1, s.rows+1, func(i, j int, h float64) {
		s.nodes[j*(s.columns+1)+i] = float32(h)
		known = known || h == h
	})
	if !known {
		return nil, errNoHeights
	}
	s.index()
	s.measure(r)
	return s, nil
}

var errNoHeights = errors.New("the terrain files hold no heights of this area")

// Frame is the frame of the surface's metres.
func (s *Surface) Frame() plane.Frame { return s.frame }

// Extent is what the surface covers, in metres of its frame.
func (s *Surface) Extent() orb.Bound {
	return orb.Bound{Min: s.origin, Max: orb.Point{
		s.origin[0] + float64(s.columns)*s.spacing,
		s.origin[1] + float64(s.rows)*s.spacing,
	}}
}

// Spacing is the distance between nodes in metres.
func (s *Surface) Spacing() float64 { return s.spacing }

// Misfit is how far the surface lies from the grids.
func (s *Surface) Misfit() Misfit { return s.misfit }

// Height is the height in metres at a place in metres of the frame. It is
// false where that is unknown, and outside the extent.
func (s *Surface) Height(xy orb.Point) (float64, bool) {
	u, v := (xy[0]-s.origin[0])/s.spacing, (xy[1]-s.origin[1])/s.spacing
	if !s.inside(u, v) {
		return 0, false
	}
	i, j := min(int(u), s.columns-1), min(int(v), s.rows-1)
	h := s.patch(i, j).at(u-float64(i), v-float64(j))
	return h, h == h
}

// Void reports whether the height is unknown at a place in metres.
func (s *Surface) Void(xy orb.Point) bool {
	_, ok := s.Height(xy)
	return !ok
}

func (s *Surface) inside(u, v float64) bool {
	return u >= 0 && v >= 0 && u <= float64(s.columns) && v <= float64(s.rows)
}

// patch is the height of a cell at fractions a, b of its sides:
// h + da·a + db·b + dab·a·b.
type patch struct{ h, da, db, dab float64 }

func (s *Surface) patch(i, j int) patch {
	at := j*(s.columns+1) + i
	h00, h10 := float64(s.nodes[at]), float64(s.nodes[at+1])
	at += s.columns + 1
	h01, h11 := float64(s.nodes[at]), float64(s.nodes[at+1])
	return patch{h00, h10 - h00, h01 - h00, h11 - h10 - h01 + h00}
}

func (p patch) at(a, b float64) float64 { return p.h + p.da*a + p.db*b + p.dab*a*b }

// measure compares the surface with the grids in the middle of every cell.
func (s *Surface) measure(r *resampler) {
	first := s.levels[0]
	s.misfits = make([]float32, len(first.most))
	n, squares := 0.0, 0.0
	r.heights(0.5, s.columns, s.rows, func(i, j int, h float64) {
		off := math.Abs(s.patch(i, j).at(0.5, 0.5) - h)
		if off != off {
			return
		}
		k := (j>>first.shift)*first.columns + i>>first.shift
		s.misfits[k] = max(s.misfits[k], float32(off))
		s.misfit.Most = max(s.misfit.Most, off)
		n, squares = n+1, squares+off*off
	})
	if n > 0 {
		s.misfit.RMS = math.Sqrt(squares / n)
	}
}
