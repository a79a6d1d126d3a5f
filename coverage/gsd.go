package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/views"
)

// GSDByPlace is the ground sample distance by ground and not by photo, metres a
// pixel. Best and Usual are taken at the middles of square cells, of which N
// are seen: by the finest and by the median of the photos that see a place.
// The ground in Coarse is what photos see, but none as fine as wanted: exact
// where the ground is level, and by whole cells where it is not.
type GSDByPlace struct {
	Cell        float64 // side of a cell, metres
	Best, Usual Spread
	Tenths      []float64 // of Best: that of the finest place, of the finest tenth of the ground, and so on to the coarsest
	Coarse      Ground
}

// allowedGSD is how much coarser than wanted a photo may be: heights are not
// known better.
const allowedGSD = 1.01

// scale is how large a photo shows the ground.
type scale struct {
	axis     vector
	at       orb.Point // plane metres
	drop     float64   // metres down to the ground, as far as that is level
	perDepth float64   // ground length of a pixel by depth
}

func scaleOf(c *candidate, drop float64) scale {
	axis, _, _ := c.pose().axes()
	return scale{axis, c.at, drop, pixelPitch(c.Camera) / c.Camera.FocalLength}
}

// gsdAt returns the ground length in metres of a pixel, along its longer side,
// where a photo shows a place that lies drop metres below the camera: the depth
// of the place along the optical axis by pixel pitch and focal length. At the
// image centre that is the slant distance.
func gsdAt(s scale, p orb.Point, drop float64) float64 {
	return s.perDepth * s.axis.dot(vector{p[0] - s.at[0], p[1] - s.at[1], -drop})
}

// fineGround returns the part of a footprint on level ground that a photo
// shows no coarser than a GSD, nil where there is none. Depth grows evenly
// along the ground, so a straight line bounds it.
func (s scale) fineGround(ring orb.Ring, limit float64) views.Footprint {
	h := halfPlane{-s.perDepth * s.axis[0], -s.perDepth * s.axis[1], limit + s.perDepth*s.axis[2]*s.drop}
	within := 0
	for _, p := range ring {
		within += one(gsdAt(s, p, s.drop) <= limit)
	}
	switch within {
	case len(ring):
		return views.Footprint{ring}
	case 0:
		return nil
	}
	points := clip(moved(ring[:len(ring)-1], -s.at[0], -s.at[1]), h)
	if len(points) < 3 {
		return nil
	}
	points = moved(points, s.at[0], s.at[1])
	return views.Footprint{append(points, points[0])}
}

// fineEnough returns what the photos show no coarser than a GSD, and whether
// that is all that they show.
func fineEnough(r *relief, used []*candidate, limit float64) (fine []views.Footprint, all bool) {
	all = true
	for _, c := range used {
		drop, _ := r.drawnDrop(c)
		f := scaleOf(c, drop).fineGround(c.footprint, limit)
		if len(f) > 0 {
			fine = append(fine, f)
		}
		all = all && len(f) == 1 && &f[0][0] == &c.footprint[0]
	}
	return fine, all
}

// coarseGround returns the ground of the site that is seen, but by no photo as
// fine as a GSD. unseen is the ground that no photo sees. All footprints must be
// drawn on level ground.
func coarseGround(site, unseen orb.MultiPolygon, r *relief, used []*candidate, limit float64) orb.MultiPolygon {
	fine, all := fineEnough(r, used, limit)
	if all {
		return nil
	}
	without := views.Below(site, fine, []int{1})[0]
	return plane.Difference(plane.MetreGrid(site.Bound()), without, unseen)
}

const (
	mostGSDCells = 10_000
	// mostValues bounds the memory: 4 bytes for each photo that sees a cell.
	mostValues = 8 << 20
)

// coarseCells is coarseGround by the cells of a raster, of which best is the
// GSD, for photos that see terrain: there no straight lines bound what is fine.
func coarseCells(site, unseen orb.MultiPolygon, c cells, best []float64, limit float64) orb.MultiPolygon {
	var runs []orb.Ring
	for row := range c.rows {
		for column := 0; column < c.columns; column++ {
			first := column
			for column < c.columns && best[row*c.columns+column] > limit {
				column++
			}
			if column > first {
				low := orb.Point{c.corner[0] + float64(first)*c.size[0], c.corner[1] + float64(row)*c.size[1]}
				high := orb.Point{c.corner[0] + float64(column)*c.size[0], low[1] + c.size[1]}
				runs = append(runs, orb.Bound{Min: low, Max: high}.ToRing())
			}
		}
	}
	if len(runs) == 0 {
		return nil
	}
	grid := plane.MetreGrid(site.Bound())
	return plane.Arrange(grid, runs, plane.Oriented(site), plane.Oriented(unseen)).
		Keep(func(w []int32) bool { return w[0] > 0 && w[1] > 0 && w[2] <= 0 })
}

// onTerrain tells whether a footprint is drawn on terrain that is not level.
func (r *relief) onTerrain(used []*candidate) bool {
	return slices.ContainsFunc(used, func(c *candidate) bool {
		_, level := r.drawnDrop(c)
		return !level
	})
}

// gsdByPlace measures the ground sample distance over a site, in plane metres,
// and returns the best of each cell too, NaN where no photo sees it.
func gsdByPlace(site orb.MultiPolygon, ground *relief, used []*candidate, frame plane.Frame, wanted float64) (GSDByPlace, cells, []float64) {
	footprints := make([]orb.Ring, len(used))
	scales := make([]scale, len(used))
	for i := range used {
		footprints[i], scales[i] = used[i].footprint, scaleOf(used[i], used[i].height)
	}
	var r Raster
	starts := []int{0} // of each cell's values
	for most := mostGSDCells; ; most /= 4 {
		r = rasterOf(site, footprints, most, frame)
		starts = starts[:1]
		for _, v := range r.Views {
			if v == OffSite {
				v = 0
			}
			starts = append(starts, starts[len(starts)-1]+int(v))
		}
		if starts[len(starts)-1] <= mostValues || most < 100 {
			break
		}
	}
	values := make([]float32, starts[len(starts)-1])
	filled := make([]uint16, len(r.Views))
	best, usual := make([]float64, len(r.Views)), make([]float64, len(r.Views))
	c := r.cells()
	views.InParallel(2, func(half int) {
		low, high := half*c.rows/2, (half+1)*c.rows/2
		w := newSweeper(c)
		for i := range footprints {
			w.spans(footprints[i:i+1], low, high, func(row, first, last int) {
				for column := first; column <= last; column++ {
					at := row*c.columns + column
					if v := r.Views[at]; v == OffSite || filled[at] == v {
						continue
					}
					p := c.middle(column, row)
					values[starts[at]+int(filled[at])] = float32(gsdAt(scales[i], p, ground.dropAt(used[i], p)))
					filled[at]++
				}
			})
		}
		for at := low * c.columns; at < high*c.columns; at++ {
			best[at] = math.NaN()
			if here := values[starts[at]:starts[at+1]]; len(here) > 0 {
				slices.Sort(here)
				best[at] = float64(here[0])
				usual[at] = float64(here[len(here)/2]+here[(len(here)-1)/2]) / 2
			}
		}
	})
	var all, medians []float64
	for at, v := range best {
		if !math.IsNaN(v) {
			all, medians = append(all, v), append(medians, usual[at])
		}
	}
	missed := func(v float64) bool { return wanted > 0 && v > allowedGSD*wanted }
	out := GSDByPlace{Cell: r.Cell, Best: spread(all, missed), Usual: spread(medians, missed)}
	if slices.Sort(all); len(all) > 0 {
		for tenth := range 11 {
			out.Tenths = append(out.Tenths, all[(len(all)-1)*tenth/10])
		}
	}
	return out, c, best
}

// How far the ground of a photo lies below the camera, metres. Without terrain
// it is level, and the photo's height says it.

// lowestDrop is down to the lowest ground that the photo may see.
func (r *relief) lowestDrop(c *candidate) float64 {
	if r != nil && !c.unmapped {
		if least, ok := r.Least(c.footprint.Bound()); ok {
			return max(c.height, c.ground+c.height-least)
		}
	}
	return c.height
}

// drawnDrop is down to the level ground that the footprint is drawn on; false
// where it is drawn on terrain.
func (r *relief) drawnDrop(c *candidate) (drop float64, level bool) {
	switch {
	case r == nil || c.unmapped:
		return c.height, true
	case !c.level:
		return 0, false
	}
	within := c.footprint.Bound().Extend(c.at)
	least, _ := r.Least(within)
	most, _ := r.Most(within)
	return c.ground + c.height - (least+most)/2, true
}

// dropAt is down to a place.
func (r *relief) dropAt(c *candidate, p orb.Point) float64 {
	if r != nil && !c.unmapped {
		if h, ok := r.Height(p); ok {
			return c.ground + c.height - h
		}
	}
	return c.height
}
