package plane

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Join says what an offset does at corners.
type Join int

const (
	Round Join = iota // an arc around the corner
	// Mitre lengthens the two sides until they meet, at corners that a ball of
	// the distance's radius can touch from outside; others add no spikes.
	Mitre
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
	for _, ring := range offsetRings(mp, distance) {
		points := distinct(ring)
		if len(points) < 3 {
			continue
		}
		// Shrinking the area is growing what lies around it.
		if distance < 0 {
			slices.Reverse(points)
		}
		curve := offsetCurve(points, math.Abs(distance), s)
		if distance < 0 {
			slices.Reverse(curve)
		}
		curves = append(curves, curve)
	}
	if len(curves) == 0 {
		return nil
	}
	return Arrange(MetreGrid(boundOf(curves)), curves).Keep(func(w []int32) bool { return w[0] > 0 })
}

// boundOf returns the extent of all rings, as orb does ring by ring, but fast.
func boundOf(rings []orb.Ring) orb.Bound {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, ring := range rings {
		for _, p := range ring {
			b.Min[0], b.Max[0] = min(b.Min[0], p[0]), max(b.Max[0], p[0])
			b.Min[1], b.Max[1] = min(b.Min[1], p[1]), max(b.Max[1], p[1])
		}
	}
	return b
}

// offsetRings returns the rings that an offset needs to look at: a hole that
// closes altogether, or when shrinking a part that vanishes, is left out.
func offsetRings(mp orb.MultiPolygon, distance float64) []orb.Ring {
	kept := make(orb.MultiPolygon, 0, len(mp))
	for _, polygon := range mp {
		switch {
		case len(polygon) == 0 || distance < 0 && noBallFits(polygon[0], -distance):
		case distance > 0:
			rings := polygon[:1:1]
			for _, hole := range polygon[1:] {
				if !noBallFits(hole, distance) {
					rings = append(rings, hole)
				}
			}
			kept = append(kept, rings)
		default:
			kept = append(kept, polygon)
		}
	}
	return Oriented(kept)
}

// noBallFits reports, from its extent and area alone, that no ball of the
// radius fits in the ring.
func noBallFits(ring orb.Ring, radius float64) bool {
	b := ring.Bound()
	if b.Max[0]-b.Min[0] < 2*radius || b.Max[1]-b.Min[1] < 2*radius {
		return true
	}
	var twice float64
	for i := 1; i < len(ring); i++ {
		twice += (ring[i-1][0]-b.Min[0])*(ring[i][1]-b.Min[1]) - (ring[i-1][1]-b.Min[1])*(ring[i][0]-b.Min[0])
	}
	return math.Abs(twice)/2 < math.Pi*radius*radius
}

// offsetCurve draws the raw curve at distance to the right of a ring.
//
// At a corner that opens to the left the curve goes from the end of one offset
// side to the corner and on to the start of the next. Where the corner turns by
// a right angle at most and both sides are at least as long as the distance
// times the sine of the turn, it takes the crossing of the offset sides
// instead: that leaves out a kite which both rectangles hold, so that what is
// wound k+1 times by the rectangles of k such corners in a row is still wound
// once. Only all corners of a ring together would take one too many; the last
// of them keeps the long way.
func offsetCurve(points []orb.Point, distance float64, s Style) orb.Ring {
	step := min(2*math.Acos(distance/(distance+s.ArcTolerance)), math.Pi/4)
	// Corners that turn less than this get one vertex: by the half-angle's
	// cosine, sqrt((1+cos)/2), a mitre reaches that much further than the distance.
	cosSharp := math.Cos(step)
	if s.Join == Mitre {
		limit := max(s.MitreLimit, 1)
		cosSharp = 2/(limit*limit) - 1
	}
	links := rolled(edgeLinks(points), distance)
	curve := make(orb.Ring, 0, 2*len(links))
	shortOnly := true
	before := links[len(links)-1]
	for i, after := range links {
		p := after.from
		sine := before.in[0]*after.out[1] - before.in[1]*after.out[0]
		cosine := before.in[0]*after.out[0] + before.in[1]*after.out[1]
		short := sine <= 0 && cosine >= 0 && !before.jump && !after.jump && -sine*distance <= min(before.length, after.length)
		switch {
		case short && (i < len(links)-1 || !shortOnly):
			curve = append(curve, middle(p, before.in, after.out, cosine, distance))
		case sine <= 0:
			curve = append(curve, toward(p, before.in, distance), p, toward(p, after.out, distance))
		case cosine >= cosSharp:
			curve = append(curve, middle(p, before.in, after.out, cosine, distance))
		case s.Join == Mitre:
			curve = appendCut(curve, p, before.in, after.out, math.Atan2(sine, cosine), distance, s.MitreLimit)
		default:
			curve = appendArc(curve, p, before.in, math.Atan2(sine, cosine), step, distance)
		}
		shortOnly = shortOnly && short
		if after.jump {
			curve = append(curve, toward(p, after.out, distance))
		}
		before = after
	}
	return curve
}

// link joins two vertices of a ring. A ball that rolls along the outside of the
// ring leaves from one with its centre in the direction out and comes to the
// next with its centre in the direction in, both unit vectors. Along a side
// both are the side's normal; in a jump the ball touches both vertices at once.
type link struct {
	from    orb.Point
	out, in orb.Point
	length  float64
	jump    bool
}

func edgeLinks(points []orb.Point) []link {
	links := make([]link, len(points))
	for i, p := range points {
		q := points[(i+1)%len(points)]
		dx, dy := q[0]-p[0], q[1]-p[1]
		length := math.Hypot(dx, dy)
		normal := orb.Point{dy / length, -dx / length}
		links[i] = link{from: p, out: normal, in: normal, length: length}
	}
	return links
}

// rolled replaces what a ball of the given radius cannot touch when it rolls
// along the outside: where it touches a and c at once and holds nothing of the
// way between them, that way adds nothing to the offset, because what is within
// reach of it is within reach of the ground that the ball cannot enter (the
// morphological closing of the area), and this has the same offset. The scan
// drops one vertex at a time, as for a convex hull, from the lowest vertex,
// which a ball always can touch.
func rolled(links []link, radius float64) []link {
	lowest := 0
	for i, l := range links {
		if p := links[lowest].from; l.from[1] < p[1] || l.from[1] == p[1] && l.from[0] < p[0] {
			lowest = i
		}
	}
	kept := make([]link, 0, len(links))
	for i := range links {
		l := links[(lowest+i)%len(links)]
		to := links[(lowest+i+1)%len(links)].from
		for len(kept) > 0 {
			jump, can := jumpOver(kept[len(kept)-1], l, to, radius)
			if !can {
				break
			}
			l = jump
			kept = kept[:len(kept)-1]
		}
		kept = append(kept, l)
	}
	return kept
}

// jumpOver returns the jump from the start of one link to the end of the next
// if a ball makes it before it gets to the vertex between them.
func jumpOver(first, second link, to orb.Point, radius float64) (link, bool) {
	a, b, c := first.from, second.from, to
	dx, dy := c[0]-a[0], c[1]-a[1]
	if dx*(b[1]-a[1])-dy*(b[0]-a[0]) < 0 {
		return link{}, false // b stands out
	}
	square := dx*dx + dy*dy
	if square >= 3.9*radius*radius || square == 0 {
		return link{}, false
	}
	chord := math.Sqrt(square)
	height := math.Sqrt(radius*radius-square/4) / chord
	centre := orb.Point{(a[0]+c[0])/2 + dy*height, (a[1]+c[1])/2 - dx*height}
	if x, y := centre[0]-b[0], centre[1]-b[1]; x*x+y*y < radius*radius {
		return link{}, false
	}
	out := orb.Point{(centre[0] - a[0]) / radius, (centre[1] - a[1]) / radius}
	in := orb.Point{(centre[0] - c[0]) / radius, (centre[1] - c[1]) / radius}
	if out[0]*first.out[1]-out[1]*first.out[0] < 0 || second.in[0]*in[1]-second.in[1]*in[0] < 0 {
		return link{}, false
	}
	return link{from: a, out: out, in: in, length: chord, jump: true}, true
}

// middle returns the point over p in the middle between two unit vectors where
// lines square to them, each at distance from p, cross. cosine is that of the
// angle between them.
func middle(p, u, v orb.Point, cosine, distance float64) orb.Point {
	return toward(p, orb.Point{u[0] + v[0], u[1] + v[1]}, distance/(1+cosine))
}

// appendArc adds vertices of the polygon that touches the circle around p from
// outside, from the direction of the unit vector from on through opening.
func appendArc(curve orb.Ring, p, from orb.Point, opening, step, distance float64) orb.Ring {
	n := math.Ceil(opening / step)
	reach := distance / math.Cos(opening/n/2)
	for i := range int(n) {
		sin, cos := math.Sincos((float64(i) + 0.5) * opening / n)
		curve = append(curve, toward(p, orb.Point{from[0]*cos - from[1]*sin, from[0]*sin + from[1]*cos}, reach))
	}
	return curve
}

// appendCut adds the two corners of a mitre that is cut at the limit, square to
// the line that halves the angle between the normals u and v.
func appendCut(curve orb.Ring, p, u, v orb.Point, opening, distance, limit float64) orb.Ring {
	// How far each offset side runs on past p before it meets the cut, which
	// lies at limit times the distance along the halving line.
	half := opening / 2
	on := distance * (max(limit, 1) - math.Cos(half)) / math.Sin(half)
	from, to := toward(p, u, distance), toward(p, v, distance)
	return append(curve,
		orb.Point{from[0] - u[1]*on, from[1] + u[0]*on},
		orb.Point{to[0] + v[1]*on, to[1] - v[0]*on})
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

// toward returns the point at distance from p in the direction of a unit vector.
func toward(p, direction orb.Point, distance float64) orb.Point {
	return orb.Point{p[0] + direction[0]*distance, p[1] + direction[1]*distance}
}
