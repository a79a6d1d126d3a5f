package plane

import (
	"math"
	"slices"
	"sync"

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
	p := newPen(math.Abs(distance), s)
	p.takeRings(mp, distance)
	for _, ring := range p.rings {
		p.ahead += len(ring)
	}
	for _, ring := range p.rings {
		p.ahead -= len(ring)
		p.draw(ring, distance < 0)
	}
	return p.kept()
}

// boundOf returns the extent of all rings, as orb does ring by ring, but fast.
func boundOf(rings []orb.Ring) orb.Bound {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, ring := range rings {
		for _, p := range ring {
			b.Min[0], b.Max[0] = widened(b.Min[0], b.Max[0], p[0])
			b.Min[1], b.Max[1] = widened(b.Min[1], b.Max[1], p[1])
		}
	}
	return b
}

func widened(low, high, v float64) (float64, float64) {
	if v < low {
		low = v
	}
	if v > high {
		high = v
	}
	return low, high
}

// takeRings takes the rings that an offset needs to look at: a hole that
// closes altogether, or when shrinking a part that vanishes, is left out.
func (p *pen) takeRings(mp orb.MultiPolygon, distance float64) {
	p.rings = room(p.rings, countRings(mp))
	for _, polygon := range mp {
		if len(polygon) > 0 && distance < 0 && noBallFits(polygon[0], -distance) {
			continue
		}
		for i, ring := range polygon {
			if hole := i > 0; !hole || distance <= 0 || !noBallFits(ring, distance) {
				p.rings = append(p.rings, oriented(ring, hole))
			}
		}
	}
	p.starts = room(p.starts, len(p.rings))
}

// noBallFits reports, from its extent and area alone, that no ball of the
// radius fits in the ring.
func noBallFits(ring orb.Ring, radius float64) bool {
	b := boundOf([]orb.Ring{ring})
	if b.Max[0]-b.Min[0] < 2*radius || b.Max[1]-b.Min[1] < 2*radius {
		return true
	}
	var twice float64
	for i := 1; i < len(ring); i++ {
		twice += (ring[i-1][0]-b.Min[0])*(ring[i][1]-b.Min[1]) - (ring[i-1][1]-b.Min[1])*(ring[i][0]-b.Min[0])
	}
	return math.Abs(twice)/2 < math.Pi*radius*radius
}

// pen draws the raw curves of offsets, one after the other.
type pen struct {
	Style
	distance float64
	// step is the widest opening of a corner that an arc crosses with one vertex.
	step float64
	// Corners whose normals' cosine is at least cosSharp get one vertex: by the
	// half-angle's cosine, sqrt((1+cos)/2), a mitre reaches that much further
	// than the distance.
	cosSharp float64
	roller   roller
	rings    []orb.Ring // to be drawn; afterwards those of curve
	points   []orb.Point
	curve    orb.Ring
	starts   []int // of each ring in curve
	ahead    int   // how many vertices are still to be drawn after the ring at hand
}

// pens are used again, as workspaces are.
var pens = sync.Pool{New: func() any { return new(pen) }}

func newPen(distance float64, s Style) *pen {
	if s.MitreLimit == 0 {
		s.MitreLimit = 5
	}
	if s.ArcTolerance == 0 {
		s.ArcTolerance = 0.01
	}
	p := pens.Get().(*pen)
	p.Style, p.distance, p.roller.radius = s, distance, distance
	p.curve, p.starts, p.ahead = p.curve[:0], p.starts[:0], 0
	p.step = min(2*math.Acos(distance/(distance+s.ArcTolerance)), math.Pi/4)
	p.cosSharp = math.Cos(p.step)
	if s.Join == Mitre {
		limit := max(s.MitreLimit, 1)
		p.cosSharp = 2/(limit*limit) - 1
	}
	return p
}

// kept returns what the curves wind at all. The pen must not be used after it.
func (p *pen) kept() orb.MultiPolygon {
	p.rings = sized(p.rings, len(p.starts))
	end := len(p.curve)
	for i, start := range slices.Backward(p.starts) {
		p.rings[i], end = p.curve[start:end:end], start
	}
	if len(p.curve) > mostReused {
		return wound(p.rings)
	}
	kept := wound(p.rings)
	clear(p.rings[:cap(p.rings)])
	pens.Put(p)
	return kept
}

// wound returns what rings in metres wind around more often counter-clockwise than clockwise.
func wound(rings []orb.Ring) orb.MultiPolygon {
	if len(rings) == 0 {
		return nil
	}
	return keep(MetreGrid(boundOf(rings)), func(w []int32) bool { return w[0] > 0 }, rings)
}

// capsule adds the curve around a line from a to b.
func (p *pen) capsule(a, b orb.Point) {
	p.starts = append(p.starts, len(p.curve))
	normal := appendSides(nil, []orb.Point{a, b})[0].out
	p.arc(b, normal, math.Pi)
	p.arc(a, orb.Point{-normal[0], -normal[1]}, math.Pi)
}

// draw adds the curve to the right of a ring, or to its left, which shrinks the
// area: it grows what lies around it.
//
// At a corner that opens to the left the curve goes from the end of one offset
// side to the corner and on to the start of the next. Where a ball touches both
// sides, it goes by the ball's centre instead. Where it does not, but the corner
// turns by a right angle at most and both sides are at least as long as the
// distance times the sine of the turn, it takes the crossing of the offset
// sides too: that leaves out a kite which both rectangles hold, so that what is
// wound k+1 times by the rectangles of k such corners in a row is still wound
// once. Only all corners of a ring together would take one too many; the last
// of them keeps the long way.
func (p *pen) draw(ring orb.Ring, left bool) {
	p.points = appendDistinct(p.points[:0], ring)
	if len(p.points) < 3 {
		return
	}
	if left {
		slices.Reverse(p.points)
	}
	startAtLowest(p.points)
	links, rests := p.roller.roll(p.points)
	start := len(p.curve)
	p.curve = slices.Grow(p.curve, len(links)+len(links)/2+p.ahead)
	shortOnly := true
	last := len(links) - 1
	before := &links[last]
	for i := range links {
		after := &links[i]
		at := after.from
		sine := before.sine(after)
		cosine := before.in[0]*after.out[0] + before.in[1]*after.out[1]
		short := rests[i] == 0 && sine <= 0 && cosine >= 0 && !before.jump && !after.jump &&
			-sine*p.distance <= min(before.length-rests[(i+last)%len(links)], after.length-rests[(i+1)%len(links)])
		switch {
		case math.Abs(sine) <= rounding && cosine > 0:
			p.add(toward(at, after.out, p.distance))
		case rests[i] > 0, short && (i < last || !shortOnly):
			p.add(middle(at, before.in, after.out, cosine, p.distance))
		case sine <= 0:
			p.add(toward(at, before.in, p.distance), at, toward(at, after.out, p.distance))
		case cosine >= p.cosSharp-rounding:
			p.add(middle(at, before.in, after.out, cosine, p.distance))
		case p.Join == Mitre:
			p.cut(at, before.in, after.out, math.Atan2(sine, cosine))
		default:
			p.arc(at, before.in, math.Atan2(sine, cosine))
		}
		shortOnly = shortOnly && short
		if after.jump {
			p.add(toward(at, after.out, p.distance))
		}
		before = after
	}
	if left {
		slices.Reverse(p.curve[start:])
	}
	p.starts = append(p.starts, start)
}

// startAtLowest makes the lowest, then leftmost, vertex the first.
func startAtLowest(points []orb.Point) {
	lowest := 0
	for i, p := range points {
		if q := points[lowest]; p[1] < q[1] || p[1] == q[1] && p[0] < q[0] {
			lowest = i
		}
	}
	rotate(points, lowest)
}

func (p *pen) add(points ...orb.Point) { p.curve = append(p.curve, points...) }

// middle returns the point over p in the middle between two unit vectors where
// lines square to them, each at distance from p, cross. cosine is that of the
// angle between them.
func middle(p, u, v orb.Point, cosine, distance float64) orb.Point {
	return toward(p, orb.Point{u[0] + v[0], u[1] + v[1]}, distance/(1+cosine))
}

// arc adds vertices of the polygon that touches the circle around a corner from
// outside, from the direction of the unit vector from on through opening.
func (p *pen) arc(corner, from orb.Point, opening float64) {
	n := max(1, math.Ceil(opening/p.step-rounding))
	reach := p.distance / math.Cos(opening/n/2)
	for i := range int(n) {
		sin, cos := math.Sincos((float64(i) + 0.5) * opening / n)
		p.add(toward(corner, orb.Point{from[0]*cos - from[1]*sin, from[0]*sin + from[1]*cos}, reach))
	}
}

// cut adds the two corners of a mitre that is cut at the limit, square to the
// line that halves the angle between the normals u and v.
func (p *pen) cut(corner, u, v orb.Point, opening float64) {
	// How far each offset side runs on past the corner before it meets the cut,
	// which lies at limit times the distance along the halving line.
	half := opening / 2
	on := p.distance * (max(p.MitreLimit, 1) - math.Cos(half)) / math.Sin(half)
	from, to := toward(corner, u, p.distance), toward(corner, v, p.distance)
	p.add(orb.Point{from[0] - u[1]*on, from[1] + u[0]*on}, orb.Point{to[0] + v[1]*on, to[1] - v[0]*on})
}

// distinct returns the vertices of a ring without repeats and without its closing one.
func distinct(ring orb.Ring) []orb.Point {
	return appendDistinct(make([]orb.Point, 0, len(ring)), ring)
}

func appendDistinct(points []orb.Point, ring orb.Ring) []orb.Point {
	start := len(points)
	points = slices.Grow(points, len(ring))
	for _, p := range ring {
		if len(points) == start || p != points[len(points)-1] {
			points = append(points, p)
		}
	}
	for len(points) > start+1 && points[start] == points[len(points)-1] {
		points = points[:len(points)-1]
	}
	return points
}

// toward returns the point at distance from p in the direction of a unit vector.
func toward(p, direction orb.Point, distance float64) orb.Point {
	return orb.Point{p[0] + direction[0]*distance, p[1] + direction[1]*distance}
}
