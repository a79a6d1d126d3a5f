package plane

import (
	"math"

	"github.com/paulmach/orb"
)

// Join says what an offset does at corners.
type Join int

const (
	Round Join = iota // an arc around the corner
	Mitre             // the two sides lengthened until they meet
)

func (j Join) String() string {
	if j == Mitre {
		return "mitre"
	}
	return "round"
}

// Style is how an offset is drawn. The zero Style has round joins true to 1 cm.
type Style struct {
	Join Join
	// MitreLimit is how far a mitre may reach, as a multiple of the distance;
	// what would reach further is cut off square there. 0 means 5.
	MitreLimit float64
	// ArcTolerance is how far, in metres, a round join may reach beyond the
	// true arc. It never falls short of it. 0 means 0.01.
	ArcTolerance float64
}

// Offset returns all ground within distance of the area, or for a negative
// distance all ground of the area further than that from the ground around it.
// The area must be valid, in plane metres.
//
// The curve that it draws is the sum of the area's own rim, of a rectangle on
// each side and of a sector at each corner that opens outwards, where inner
// walls have cancelled. So its winding at a point is the number of those pieces
// that hold it (for a negative distance, one less the pieces cut away), and
// keeping what is wound at least once is their union by definition, however
// much the pieces overlap.
func Offset(mp orb.MultiPolygon, distance float64, s Style) orb.MultiPolygon {
	if s.MitreLimit == 0 {
		s.MitreLimit = 5
	}
	if s.ArcTolerance == 0 {
		s.ArcTolerance = 0.01
	}
	var curves []orb.Ring
	bound := mp.Bound()
	for _, ring := range Oriented(mp) {
		curve := offsetCurve(ring, distance, s)
		bound = bound.Union(curve.Bound())
		curves = append(curves, curve)
	}
	return Arrange(MetreGrid(bound), curves).Keep(func(w []int32) bool { return w[0] > 0 })
}

// offsetCurve draws the raw curve at distance to the right of the ring.
//
// At a corner that opens away from that side the curve goes from the end of
// one offset side to the corner and on to the start of the next. Where the
// corner turns by a right angle at most and both sides are at least as long as
// the distance times the sine of the turn, it takes the crossing of the offset
// sides instead: that leaves out a kite which both rectangles hold, so that
// what is wound k+1 times by the rectangles of k such corners in a row is still
// wound once. Only all corners of a ring together would take one too many; the
// last of them keeps the long way.
func offsetCurve(ring orb.Ring, distance float64, s Style) orb.Ring {
	points := distinct(ring)
	n := len(points)
	if n < 3 {
		return nil
	}
	curve := make(orb.Ring, 0, n+n/4)
	radius := math.Abs(distance)
	step := min(2*math.Acos(radius/(radius+s.ArcTolerance)), math.Pi/4)
	before, lengthBefore := heading(points[n-1], points[0])
	longWay := false // whether some corner did not take the crossing
	for i, p := range points {
		after, length := heading(p, points[(i+1)%n])
		sine := before[0]*after[1] - before[1]*after[0] // positive where the ring turns left
		cosine := before[0]*after[0] + before[1]*after[1]
		opens := sine
		if distance < 0 {
			opens = -sine
		}
		switch {
		case opens <= 0:
			short := cosine >= 0 && -opens*radius <= min(lengthBefore, length)
			if short && (longWay || i < n-1) {
				curve = append(curve, crossingBeside(p, before, after, cosine, distance))
			} else {
				longWay = true
				curve = append(curve, beside(p, before, distance), p, beside(p, after, distance))
			}
		case s.Join == Mitre:
			longWay = true
			curve = appendMitre(curve, p, before, after, math.Atan2(opens, cosine), distance, s.MitreLimit)
		case cosine >= math.Cos(step):
			longWay = true
			curve = append(curve, crossingBeside(p, before, after, cosine, distance))
		default:
			longWay = true
			curve = appendArc(curve, p, before, math.Atan2(opens, cosine), step, distance)
		}
		before, lengthBefore = after, length
	}
	return curve
}

// crossingBeside returns where the sides offset from p cross: on the line that
// halves the angle, whose direction is the sum of the two normals.
func crossingBeside(p, before, after orb.Point, cosine, distance float64) orb.Point {
	return beside(p, orb.Point{before[0] + after[0], before[1] + after[1]}, distance/(1+cosine))
}

// appendArc adds vertices of the polygon that touches the circle around p from
// outside, from where it leaves the side before p to where it meets the side after.
func appendArc(curve orb.Ring, p, before orb.Point, opening, step, distance float64) orb.Ring {
	n := math.Ceil(opening / step)
	reach := distance / math.Cos(opening/n/2)
	for i := range int(n) {
		angle := (float64(i) + 0.5) * opening / n
		if distance < 0 {
			angle = -angle
		}
		sin, cos := math.Sincos(angle)
		along := orb.Point{before[0]*cos - before[1]*sin, before[0]*sin + before[1]*cos}
		curve = append(curve, beside(p, along, reach))
	}
	return curve
}

// appendMitre adds the corner where the two offset sides meet or, where that is
// further than the limit allows, the two corners of a cut at the limit square
// to the line that halves the angle.
func appendMitre(curve orb.Ring, p, before, after orb.Point, opening, distance, limit float64) orb.Ring {
	half := opening / 2
	if limit = max(limit, 1); math.Cos(half)*limit >= 1 {
		return append(curve, crossingBeside(p, before, after, math.Cos(opening), distance))
	}
	// How far each offset side runs on past p before it meets the cut, which
	// lies at limit times the distance along the halving line.
	on := math.Abs(distance) * (limit - math.Cos(half)) / math.Sin(half)
	from, to := beside(p, before, distance), beside(p, after, distance)
	return append(curve,
		orb.Point{from[0] + before[0]*on, from[1] + before[1]*on},
		orb.Point{to[0] - after[0]*on, to[1] - after[1]*on})
}

// distinct returns the vertices of a ring without repeats and without its closing one.
func distinct(ring orb.Ring) []orb.Point {
	points := make([]orb.Point, 0, len(ring))
	for _, p := range ring {
		if len(points) == 0 || p != points[len(points)-1] {
			points = append(points, p)
		}
	}
	for len(points) > 1 && points[0] == points[len(points)-1] {
		points = points[:len(points)-1]
	}
	return points
}

// heading returns the unit vector from a to b, and how far they are apart.
func heading(a, b orb.Point) (orb.Point, float64) {
	dx, dy := b[0]-a[0], b[1]-a[1]
	length := math.Hypot(dx, dy)
	return orb.Point{dx / length, dy / length}, length
}

// beside returns the point at distance to the right of p, seen along a vector, whose length multiplies the distance.
func beside(p, along orb.Point, distance float64) orb.Point {
	return orb.Point{p[0] + along[1]*distance, p[1] - along[0]*distance}
}
