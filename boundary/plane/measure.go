package plane

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
)

// GeodesicArea returns the area of mp, in degrees, as square metres on the
// WGS 84 ellipsoid between geodesic edges: outlines less holes, whichever way
// they wind, and never below 0. A ring that crosses itself counts its loops
// against each other.
func GeodesicArea(mp orb.MultiPolygon) float64 {
	area, _ := GeodesicSize(mp)
	return area
}

// GeodesicPerimeter returns the length of all rings of mp, in degrees, as
// metres on the WGS 84 ellipsoid.
func GeodesicPerimeter(mp orb.MultiPolygon) float64 {
	_, perimeter := GeodesicSize(mp)
	return perimeter
}

// GeodesicSize returns the area of mp, as GeodesicArea does, and its
// perimeter, as GeodesicPerimeter does.
func GeodesicSize(mp orb.MultiPolygon) (area, perimeter float64) {
	for _, polygon := range mp {
		for i, ring := range polygon {
			enclosed, length := ringMeasures(geodesic.WGS84, ring)
			perimeter += length
			if i == 0 {
				area += math.Abs(enclosed)
			} else {
				area -= math.Abs(enclosed)
			}
		}
	}
	return max(area, 0), perimeter
}

// GeodesicDistance returns the length in metres of the shortest line on the
// WGS 84 ellipsoid between a and b, in degrees.
func GeodesicDistance(a, b orb.Point) float64 {
	var metres float64
	geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0], &metres, nil, nil)
	return metres
}

// ringMeasures returns the area in square metres, positive for a
// counter-clockwise ring, and the perimeter in metres.
func ringMeasures(ellipsoid *geodesic.Ellipsoid, ring orb.Ring) (area, perimeter float64) {
	if len(ring) > 1 && ring[0] == ring[len(ring)-1] {
		ring = ring[:len(ring)-1]
	}
	polygon := ellipsoid.PolygonInit(false)
	for _, p := range ring {
		polygon.AddPoint(p[1], p[0])
	}
	polygon.Compute(false, true, &area, &perimeter)
	return area, perimeter
}

// Unwrap returns mp, in degrees, with longitudes that run on past 180 or -180
// instead of jumping: each edge takes the shorter way round, and each ring
// starts within half a turn of the first vertex of mp, which stays. Where
// nothing jumps, nothing changes. A ring round a pole cannot be unwrapped; it
// keeps one edge that jumps.
func Unwrap(mp orb.MultiPolygon) orb.MultiPolygon {
	unwrapped := make(orb.MultiPolygon, len(mp))
	var start *orb.Point
	for i, polygon := range mp {
		unwrapped[i] = make(orb.Polygon, len(polygon))
		for j, ring := range polygon {
			out := make(orb.Ring, len(ring))
			for k, p := range ring {
				switch {
				case k > 0 && k == len(ring)-1 && p == ring[0]:
					out[k] = out[0]
				case k > 0:
					out[k] = longitudeNear(p, out[k-1][0])
				case start != nil:
					out[k] = longitudeNear(p, start[0])
				default:
					out[k] = p
					start = &p
				}
			}
			unwrapped[i][j] = out
		}
	}
	return unwrapped
}

// longitudeNear moves p by whole turns to within half a turn of lon.
func longitudeNear(p orb.Point, lon float64) orb.Point {
	if turns := math.Round((lon - p[0]) / 360); turns != 0 && math.Abs(lon-p[0]) > 180 {
		p[0] += 360 * turns
	}
	return p
}

// WrapPoint returns p, in degrees, with its longitude within [-180, 180].
func WrapPoint(p orb.Point) orb.Point {
	if p[0] < -180 || p[0] > 180 {
		p[0] = math.Remainder(p[0], 360)
	}
	return p
}
