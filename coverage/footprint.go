package coverage

import (
	"math"

	"github.com/paulmach/orb"

	"selvage/coverage/photo"
)

// steepest is how far off the vertical a ray may point, in degrees, before it
// is cut: further out the ground is seen too flat to be mapped.
const steepest = 60

// rimSides is the number of sides that stand for the circle on the ground where
// rays are cut. They run inside the circle, so no ground is claimed too much.
const rimSides = 72

// pose is where a camera hung and looked: plane metres, metres above ground,
// and the angles of photo.Photo in degrees, all known.
type pose struct {
	at               orb.Point
	height           float64
	yaw, pitch, roll float64
}

// vector is east, north, up.
type vector [3]float64

func (v vector) scaled(s float64) vector { return vector{v[0] * s, v[1] * s, v[2] * s} }

func (v vector) plus(w vector) vector { return vector{v[0] + w[0], v[1] + w[1], v[2] + w[2]} }

func (v vector) dot(w vector) float64 { return v[0]*w[0] + v[1]*w[1] + v[2]*w[2] }

// axes returns the unit vectors along the optical axis, to the right of the
// image and to its top.
func (p pose) axes() (axis, right, top vector) {
	sinYaw, cosYaw := math.Sincos(radians(p.yaw))
	sinPitch, cosPitch := math.Sincos(radians(p.pitch))
	sinRoll, cosRoll := math.Sincos(radians(p.roll))
	axis = vector{sinYaw * cosPitch, cosYaw * cosPitch, sinPitch}
	right = vector{cosYaw, -sinYaw, 0}
	top = vector{-sinYaw * sinPitch, -cosYaw * sinPitch, cosPitch}
	return axis,
		right.scaled(cosRoll).plus(top.scaled(-sinRoll)),
		top.scaled(cosRoll).plus(right.scaled(sinRoll))
}

// tilt returns the angle between the optical axis and the vertical, degrees.
func (p pose) tilt() float64 {
	axis, _, _ := p.axes()
	return math.Acos(min(1, max(-1, -axis[2]))) * 180 / math.Pi
}

// footprint returns the ground that the camera sees of a level plane, as a
// closed convex counter-clockwise ring in plane metres, nil when it sees none
// of it within steepest of the vertical. cut tells whether that limit took
// something away.
func footprint(c photo.Camera, p pose) (ring orb.Ring, cut bool) {
	axis, right, top := p.axes()
	right = right.scaled(GroundSide(c.SensorWidth, c.FocalLength, 1) / 2)
	top = top.scaled(GroundSide(c.SensorHeight, c.FocalLength, 1) / 2)
	points := make([]orb.Point, 0, 4) // counter-clockwise, as rays that point down keep the order seen from above
	for _, s := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		ray := axis.plus(right.scaled(s[0])).plus(top.scaled(s[1]))
		down := -ray[2]
		if down < math.Sqrt(ray.dot(ray))*math.Cos(radians(steepest)) {
			cut = true
			break
		}
		points = append(points, orb.Point{ray[0] * p.height / down, ray[1] * p.height / down})
	}
	if cut {
		points = cutFootprint(axis, right, top, p.height)
	}
	if len(points) < 3 {
		return nil, cut
	}
	points = moved(points, p.at[0], p.at[1])
	return append(points, points[0]), cut
}

// cutFootprint clips the circle where rays are cut by the four planes that
// bound the view. right and top reach to the rim of the image. The points
// count from the place under the camera.
func cutFootprint(axis, right, top vector, height float64) []orb.Point {
	radius := height * math.Tan(radians(steepest))
	points := make([]orb.Point, rimSides)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / rimSides)
		points[i] = orb.Point{radius * cos, radius * sin}
	}
	for _, side := range [2]vector{right, top} {
		square := side.dot(side)
		for _, sign := range [2]float64{1, -1} {
			// A ray v is inside where its part along the side is at most
			// |side| times its part along the axis.
			n := axis.scaled(square).plus(side.scaled(-sign))
			if points = clip(points, halfPlane{n[0], n[1], -height * n[2]}); len(points) < 3 {
				return nil
			}
		}
	}
	return points
}

// centreGSD returns the ground length in metres of a pixel, along its longer
// side, at the image centre, or at the steepest ray where the centre looks
// further out.
func centreGSD(c photo.Camera, p pose) float64 {
	slope := max(math.Cos(radians(p.tilt())), math.Cos(radians(steepest)))
	return GSD(pixelPitch(c), c.FocalLength, p.height/slope)
}

// pixelPitch returns the longer side of a pixel on the sensor, millimetres.
func pixelPitch(c photo.Camera) float64 {
	return max(c.SensorWidth/float64(c.Columns), c.SensorHeight/float64(c.Rows))
}

func radians(degrees float64) float64 { return degrees * math.Pi / 180 }

func distance(p, q orb.Point) float64 { return math.Hypot(q[0]-p[0], q[1]-p[1]) }
