package plane

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"

	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
)

// Frame is a local plane in metres: the azimuthal equidistant projection of
// the WGS 84 ellipsoid about a centre, x to the east and y to the north there.
// Distances from the centre are true; other lengths are too long by no more
// than r²/6R², r being the distance from the centre: 4e-7 at 10 km.
type Frame struct{ centre orb.Point }

// widestFrame is the greatest extent of a job, in metres.
const widestFrame = 200_000

// Principal radii of curvature of the WGS 84 ellipsoid lie between b²/a, along
// the meridian at the equator, and a²/b, at the poles; in metres, rounded
// outwards.
const (
	leastCurvatureRadius    = 6_335_439
	greatestCurvatureRadius = 6_399_594
)

// NewFrame returns the frame about centre, in degrees.
func NewFrame(centre orb.Point) Frame { return Frame{centre} }

// FrameFor returns the frame about the middle of mp, in degrees, across the
// 180th meridian too. It is an error if mp has no vertex, has one that is no
// place on Earth, or is wider than 200 km.
func FrameFor(mp orb.MultiPolygon) (Frame, error) {
	var extent orb.Bound
	vertices := 0
	for _, polygon := range Unwrap(mp) {
		for _, ring := range polygon {
			for _, p := range ring {
				if !isFinitePoint(p) || math.Abs(p[1]) > 90 || math.Abs(p[0]) > 720 {
					return Frame{}, fmt.Errorf("longitude %v, latitude %v is no place on Earth", p[0], p[1])
				}
				if vertices == 0 {
					extent = p.Bound()
				}
				extent = extent.Extend(p)
				vertices++
			}
		}
	}
	if vertices == 0 {
		return Frame{}, errors.New("the area is empty, so it has no place on Earth")
	}
	nearestEquator := min(max(0, extent.Min[1]), extent.Max[1])
	eastWest := radians(extent.Max[0]-extent.Min[0]) * greatestCurvatureRadius * math.Cos(radians(nearestEquator))
	northSouth := radians(extent.Max[1]-extent.Min[1]) * greatestCurvatureRadius
	if width := max(eastWest, northSouth); width > widestFrame {
		return Frame{}, fmt.Errorf("the area is %.0f km wide, and a job may be %d km wide at most",
			math.Ceil(width/1000), widestFrame/1000)
	}
	return NewFrame(extent.Center()), nil
}

// Centre returns the place of x = y = 0, in degrees.
func (f Frame) Centre() orb.Point { return f.centre }

// Metres projects a place in degrees into the frame.
func (f Frame) Metres(lonlat orb.Point) orb.Point {
	var distance, azimuth float64
	geodesic.WGS84.Inverse(f.centre[1], f.centre[0], lonlat[1], lonlat[0], &distance, &azimuth, nil)
	sin, cos := math.Sincos(radians(azimuth))
	return orb.Point{distance * sin, distance * cos}
}

// Degrees is the reverse of Metres. The longitude is within half a turn of the
// centre's, so it may be beyond 180 or -180: see WrapPoint.
func (f Frame) Degrees(xy orb.Point) orb.Point {
	azimuth := math.Atan2(xy[0], xy[1]) * 180 / math.Pi
	var lat, lon float64
	geodesic.WGS84.Direct(f.centre[1], f.centre[0], azimuth, math.Hypot(xy[0], xy[1]), &lat, &lon, nil)
	return longitudeNear(orb.Point{lon, lat}, f.centre[0])
}

// ToDegrees takes every vertex of mp, in metres, to degrees.
func (f Frame) ToDegrees(mp orb.MultiPolygon) orb.MultiPolygon {
	return mapRings(mp, func(ring orb.Ring) orb.Ring { return eachPoint(ring, f.Degrees) })
}

// ToMetres projects mp, in degrees as Unwrap gives it, into the frame. Edges
// are straight in longitude and latitude and therefore bend in the plane: long
// ones are divided evenly, so that no point of the result is farther than
// deviation, in metres, from the true edge. An edge shared by two rings is
// divided at the same points in both. No edge gets more than 4096 pieces, and
// none is divided when deviation is not above 0.
func (f Frame) ToMetres(mp orb.MultiPolygon, deviation float64) orb.MultiPolygon {
	return mapRings(mp, func(ring orb.Ring) orb.Ring {
		projected := eachPoint(ring, f.Metres)
		out := make(orb.Ring, 0, len(ring))
		for i, p := range ring {
			if i > 0 && i == len(ring)-1 && p == ring[0] {
				out = append(out, f.divided(ring[i-1], p, out[len(out)-1], out[0], deviation)...)
				return append(out, out[0])
			}
			here := projected[i]
			if i > 0 {
				out = append(out, f.divided(ring[i-1], p, out[len(out)-1], here, deviation)...)
			}
			out = append(out, here)
		}
		return out
	})
}

func mapRings(mp orb.MultiPolygon, change func(orb.Ring) orb.Ring) orb.MultiPolygon {
	out := make(orb.MultiPolygon, len(mp))
	for i, polygon := range mp {
		out[i] = make(orb.Polygon, len(polygon))
		for j, ring := range polygon {
			out[i][j] = change(ring)
		}
	}
	return out
}

// eachPoint changes all points of a ring, a long one on all processors.
func eachPoint(ring orb.Ring, change func(orb.Point) orb.Point) orb.Ring {
	const worthIt = 1000 // points
	out := make(orb.Ring, len(ring))
	piece := max(worthIt, (len(ring)+runtime.GOMAXPROCS(0)-1)/runtime.GOMAXPROCS(0))
	var each sync.WaitGroup
	for from := 0; from < len(ring); from += piece {
		to := min(from+piece, len(ring))
		each.Go(func() {
			for i := from; i < to; i++ {
				out[i] = change(ring[i])
			}
		})
	}
	each.Wait()
	return out
}

const mostPieces = 4096

// divided returns the projected points between a and b, in degrees, of which
// the projections are aXY and bXY.
func (f Frame) divided(a, b, aXY, bXY orb.Point, deviation float64) orb.Ring {
	pieces := piecesOfEdge(a, b, aXY, bXY, deviation)
	if pieces == 1 {
		return nil
	}
	backwards := b[0] < a[0] || b[0] == a[0] && b[1] < a[1]
	if backwards {
		a, b = b, a
	}
	between := make(orb.Ring, pieces-1)
	for i := range between {
		t := float64(i+1) / float64(pieces)
		p := f.Metres(orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
		if backwards {
			between[len(between)-1-i] = p
		} else {
			between[i] = p
		}
	}
	return between
}

// piecesOfEdge returns how many pieces keep the edge ab within deviation.
//
// A curve C(t), 0 <= t <= 1, stays within max|C"|/8 of its chord, and n equal
// pieces make that max|C"|/8n². Here longitude and latitude are linear in t,
// differing by l and p radians over the edge. On a sphere of radius R at
// latitude φ the velocity is (R l cos φ, R p), and the covariant acceleration
// (-2R l p sin φ, R l² sin φ cos φ), of size R |l sin φ| √(l² cos²φ + 4p²): for
// an east-west edge of length d that is d² tan φ / R. The plane adds its own:
// about the centre of the projection, which gives normal coordinates, the
// Christoffel symbols at distance r bend a line of velocity v by up to
// 2r v²/3R². Flattening changes either by less than 2 %, besides the radii for
// which the worse extreme is taken; 5 % is added.
func piecesOfEdge(a, b, aXY, bXY orb.Point, deviation float64) int {
	if !(deviation > 0) {
		return 1
	}
	l, p := radians(math.Abs(b[0]-a[0])), radians(math.Abs(b[1]-a[1]))
	low, high := min(math.Abs(a[1]), math.Abs(b[1])), max(math.Abs(a[1]), math.Abs(b[1]))
	if (a[1] < 0) != (b[1] < 0) {
		low = 0
	}
	eastWest := l * math.Cos(radians(low))
	speed := greatestCurvatureRadius * math.Hypot(eastWest, p)
	farthest := max(math.Hypot(aXY[0], aXY[1]), math.Hypot(bXY[0], bXY[1])) + speed
	bend := greatestCurvatureRadius*l*math.Sin(radians(high))*math.Hypot(eastWest, 2*p) +
		2*farthest*speed*speed/(3*leastCurvatureRadius*leastCurvatureRadius)
	pieces := math.Ceil(math.Sqrt(1.05 * bend / (8 * deviation)))
	if !(pieces > 1) { // or not a number, for want of finite coordinates
		return 1
	}
	return int(min(pieces, mostPieces))
}

func radians(degrees float64) float64 { return degrees * math.Pi / 180 }
