package boundary

import (
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// OnGlobe returns the shape with longitudes from -180 to 180, cut in two at
// the antimeridian where it crosses that, as RFC 7946, 3.1.9, asks. One with a
// number that is no longitude or latitude comes back as it is.
func OnGlobe(shape orb.MultiPolygon) orb.MultiPolygon {
	if !within(shape, 540) {
		return shape
	}
	bound := shape.Bound()
	if len(shape) == 0 || bound.Min[0] >= -180 && bound.Max[0] <= 180 {
		return shape
	}
	grid := plane.DegreeGrid(bound, decimals)
	var cut orb.MultiPolygon
	first := math.Floor((bound.Min[0] + 180) / 360)
	for turn := first; turn*360-180 < bound.Max[0]; turn++ {
		slice := orb.Bound{
			Min: orb.Point{max(bound.Min[0], turn*360-180), bound.Min[1]},
			Max: orb.Point{min(bound.Max[0], turn*360+180), bound.Max[1]},
		}
		for _, polygon := range plane.Intersection(grid, shape, orb.MultiPolygon{slice.ToPolygon()}) {
			for _, ring := range polygon {
				for i := range ring {
					ring[i][0] -= turn * 360
				}
			}
			cut = append(cut, polygon)
		}
	}
	return cut
}

// FromGlobe joins again what OnGlobe has cut. Its longitudes run on past 180.
func FromGlobe(shape orb.MultiPolygon) orb.MultiPolygon {
	if bound := shape.Bound(); len(shape) == 0 || bound.Min[0] != -180 || bound.Max[0] != 180 {
		return shape
	}
	whole := plane.Unwrap(shape)
	return plane.Union(plane.DegreeGrid(whole.Bound(), decimals), whole)
}

// within reports whether all positions have longitudes up to so many degrees
// either way, and latitudes up to 90. NaN has not.
func within(shape orb.MultiPolygon, lon float64) bool {
	for _, polygon := range shape {
		for _, ring := range polygon {
			for _, p := range ring {
				if !(math.Abs(p[0]) <= lon && math.Abs(p[1]) <= 90) {
					return false
				}
			}
		}
	}
	return true
}
