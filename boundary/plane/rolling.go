package plane

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// link joins two vertices of a ring. A ball that rolls along the outside of the
// ring leaves from one with its centre in the direction out and comes to the
// next with its centre in the direction in, both unit vectors. Along a side
// both are the side's normal; in a jump the ball touches both vertices at once.
type link struct {
	from    orb.Point
	out, in orb.Point
	length  float64
	jump    bool
	gone    bool // to be left out
	sweep   int8 // the one that made the link as it is
}

// roller rolls a ball along the outside of rings, one after the other.
type roller struct {
	radius float64
	links  []link
	rests  []float64
	sweep  int8 // of the roll at hand
}

// roll returns the way of the ball along a ring, and for the corner at which
// each link begins how far from it the ball touches both of its sides, 0 where
// it touches one of them or none. Both are valid until the next roll. The first
// vertex stays; a ball outside always can touch the lowest.
func (r *roller) roll(points []orb.Point) ([]link, []float64) {
	r.links = appendSides(r.links[:0], points)
	if r.resting(true) {
		return r.links, r.rests
	}
	const sweeps = 4 // two are usual; what is left after more would be left for ever
	for r.sweep = 0; r.sweep < 2*sweeps; r.sweep++ {
		r.skip()
		if r.sweep++; !r.settle() {
			break
		}
	}
	r.resting(false)
	return r.links, r.rests
}

func appendSides(links []link, points []orb.Point) []link {
	links = slices.Grow(links, len(points))
	for i, p := range points {
		q := points[0]
		if i+1 < len(points) {
			q = points[i+1]
		}
		dx, dy := q[0]-p[0], q[1]-p[1]
		length := math.Sqrt(dx*dx + dy*dy)
		normal := orb.Point{dy / length, -dx / length}
		links = append(links, link{from: p, out: normal, in: normal, length: length})
	}
	return links
}

// skip replaces what the ball cannot touch: where it touches a and c at once
// and holds nothing of the way between them, that way adds nothing to the
// offset, because what is within reach of it is within reach of the ground that
// the ball cannot enter (the morphological closing of the area), and this has
// the same offset. The scan drops one vertex at a time, as for a convex hull.
func (r *roller) skip() {
	kept := r.links[:0] // never longer than what was looked at
	for i := range r.links {
		l := r.links[i]
		to := r.links[0].from
		if i+1 < len(r.links) {
			to = r.links[i+1].from
		}
		for len(kept) > 0 {
			top := &kept[len(kept)-1]
			if r.tried(top, &l) {
				break
			}
			jump, can := jumpOver(top, &l, to, r.radius)
			if !can {
				break
			}
			l = jump
			l.sweep = r.sweep
			kept = kept[:len(kept)-1]
		}
		kept = append(kept, l)
	}
	r.links = kept
}

// tried reports whether nothing has changed since the same was tried.
func (r *roller) tried(links ...*link) bool {
	for _, l := range links {
		if l.sweep >= r.sweep-1 {
			return false
		}
	}
	return true
}

// jumpOver returns the jump from the start of one link to the end of the next
// if a ball makes it before it gets to the vertex between them.
func jumpOver(first, second *link, to orb.Point, radius float64) (link, bool) {
	a, b, c := first.from, second.from, to
	dx, dy := c[0]-a[0], c[1]-a[1]
	bx, by := b[0]-a[0], b[1]-a[1]
	area := dx*by - dy*bx // twice that of the triangle; negative where b stands out
	square := dx*dx + dy*dy
	if area < 0 || square >= 3.9*radius*radius {
		return link{}, false
	}
	// The ball holds b where the angle at b is more than the one from which the
	// ball's rim sees a and c, which is obtuse and has the sine chord/2r.
	if obtuse := bx*(c[0]-b[0])+by*(c[1]-b[1]) > 0; obtuse {
		lengths := first.length * second.length
		if 4*radius*radius*area*area < square*lengths*lengths {
			return link{}, false
		}
	}
	out, in, can := spanning(a, c, radius)
	if !can || cross(out, first.out) < 0 || cross(second.in, in) < 0 {
		return link{}, false
	}
	return jumpBetween(a, out, c, in), true
}

// spanning lays a ball on two points, to the right of the way from a to c, and
// returns the directions of its centre from both.
func spanning(a, c orb.Point, radius float64) (out, in orb.Point, can bool) {
	dx, dy := c[0]-a[0], c[1]-a[1]
	square := dx*dx + dy*dy
	if square >= 3.9*radius*radius || square == 0 {
		return out, in, false
	}
	height := math.Sqrt(radius*radius-square/4) / math.Sqrt(square) / radius
	half := 0.5 / radius
	out = orb.Point{dx*half + dy*height, dy*half - dx*height}
	in = orb.Point{dy*height - dx*half, -dx*height - dy*half}
	return out, in, true
}

func cross(u, v orb.Point) float64 { return u[0]*v[1] - u[1]*v[0] }

// settle looks at each corner that opens outwards less than a ball needs to
// touch both of its sides. Where the ball rests on one side and on the far end
// of the other link, that link becomes a jump, and the side ends, or begins,
// where the ball touches it; likewise across a short side between two corners.
// It reports whether that happened anywhere.
func (r *roller) settle() bool {
	settled, gone := false, false
	n := len(r.links)
	before := &r.links[n-1]
	for i := range r.links {
		after := &r.links[i]
		if before.gone || after.gone || before.sine(after) >= -rounding {
			before = after
			continue
		}
		next := &r.links[(i+1)%n]
		switch end := r.links[(i+2)%n].from; {
		case r.tried(before, after, next):
		case n > 4 && !next.gone && bridge(before, after, next, end, r.radius):
			before.sweep, after.sweep, next.sweep = r.sweep, r.sweep, r.sweep
			settled, gone = true, gone || before.gone || next.gone
		case touchesBoth(before, after, r.radius):
			// the ball touches both sides
		case leave(before, after, next.from, r.radius) || land(before, after, next.from, r.radius):
			before.sweep, after.sweep = r.sweep, r.sweep
			settled = true
		}
		before = after
	}
	if gone {
		r.links = slices.DeleteFunc(r.links, func(l link) bool { return l.gone })
	}
	return settled
}

// rounding is the sine of an angle that is nothing but rounding.
const rounding = 1e-9

// sine of the turn from l to the link after it, negative where it opens outwards.
func (l *link) sine(after *link) float64 { return cross(l.in, after.out) }

// on returns the point of a side at x from its beginning.
func (l *link) on(x float64) orb.Point {
	return orb.Point{l.from[0] - l.out[1]*x, l.from[1] + l.out[0]*x}
}

// leave makes the second of two links a jump off the first, which is a side.
func leave(side, other *link, to orb.Point, radius float64) bool {
	if side.jump {
		return false
	}
	x, in, can := rest(side.from, side.out, side.length, to, radius)
	if !can || cross(other.in, in) < -rounding {
		return false
	}
	side.length = x
	*other = jumpBetween(side.on(x), side.out, to, in)
	return true
}

// land makes the first of two links a jump onto the second, which is a side.
func land(other, side *link, to orb.Point, radius float64) bool {
	if side.jump {
		return false
	}
	// The same as leave, seen in a mirror from the end of the side backwards.
	y, out, can := rest(mirrored(to), mirrored(side.out), side.length, mirrored(other.from), radius)
	out = mirrored(out)
	if !can || cross(out, other.out) < -rounding {
		return false
	}
	touch := side.on(side.length - y)
	*other = jumpBetween(other.from, out, touch, side.out)
	side.from, side.length = touch, y
	return true
}

// bridge makes a jump of a short side between two corners, from the side before
// it or its beginning to the side after it or its end.
func bridge(before, between, after *link, end orb.Point, radius float64) bool {
	first := touching(before, between, radius)
	if first == 0 || before.sine(after) >= 0 {
		return false
	}
	if second := touching(between, after, radius); second == 0 || first+second <= between.length {
		return false
	}
	clears := func(centre orb.Point) bool {
		return (centre[0]-between.from[0])*between.out[0]+(centre[1]-between.from[1])*between.out[1] >= radius
	}
	u, v, p, q := before.out, after.out, before.from, after.from
	// By x along the first side and back by y along the last, their offset sides meet.
	x := (radius*(1-u[0]*v[0]-u[1]*v[1]) + (q[0]-p[0])*v[0] + (q[1]-p[1])*v[1]) / before.sine(after)
	centre := toward(before.on(x), u, radius)
	y := (centre[1]-q[1])*v[0] - (centre[0]-q[0])*v[1]
	if x > 0 && x < before.length && y > 0 && y < after.length {
		if !clears(centre) {
			return false
		}
		*between = jumpBetween(before.on(x), u, after.on(y), v)
		before.length = x
		after.from, after.length = after.on(y), after.length-y
		return true
	}
	if x, in, can := rest(p, u, before.length, end, radius); can && cross(v, in) >= -rounding && clears(toward(end, in, radius)) {
		*between = jumpBetween(before.on(x), u, end, in)
		before.length = x
		after.gone = true
		return true
	}
	y, out, can := rest(mirrored(end), mirrored(v), after.length, mirrored(p), radius)
	out = mirrored(out)
	if can && cross(out, u) >= -rounding && clears(toward(p, out, radius)) {
		touch := after.on(after.length - y)
		*between = jumpBetween(p, out, touch, v)
		after.from, after.length = touch, y
		before.gone = true
		return true
	}
	out, in, can := spanning(p, end, radius)
	if can && cross(out, u) >= 0 && cross(v, in) >= 0 && clears(toward(p, out, radius)) {
		*between = jumpBetween(p, out, end, in)
		before.gone, after.gone = true, true
		return true
	}
	return false
}

func jumpBetween(from, out, to, in orb.Point) link {
	return link{from: from, out: out, in: in, length: math.Hypot(to[0]-from[0], to[1]-from[1]), jump: true}
}

func mirrored(p orb.Point) orb.Point { return orb.Point{-p[0], p[1]} }

// rest lays a ball on the side that begins at a with the given normal and
// length, so that it touches c too: at x along the side, and from c with its
// centre in the direction in.
func rest(a, normal orb.Point, length float64, c orb.Point, radius float64) (x float64, in orb.Point, can bool) {
	dx, dy := c[0]-a[0], c[1]-a[1]
	along, height := dy*normal[0]-dx*normal[1], dx*normal[0]+dy*normal[1]
	if height <= 0 || height >= radius {
		return 0, in, false
	}
	reach := math.Sqrt(height * (2*radius - height))
	x = along - reach
	if x <= 0 || x >= length {
		return 0, in, false
	}
	up := (radius - height) / radius
	back := reach / radius
	return x, orb.Point{normal[0]*up + normal[1]*back, normal[1]*up - normal[0]*back}, true
}

// resting finds where the ball rests on both sides of a corner, and leaves out
// the corners whose sides are too short for that there and at their other ends.
// With all it stops at the first of those, and reports that there is one;
// otherwise the ball comes to every side.
func (r *roller) resting(all bool) bool {
	n := len(r.links)
	r.rests = slices.Grow(r.rests[:0], n)[:n]
	first := touching(&r.links[n-1], &r.links[0], r.radius)
	fitted := touching(&r.links[n-2], &r.links[n-1], r.radius)+first <= r.links[n-1].length
	reach := first
	for i := range r.links {
		l := &r.links[i]
		following := first
		if i+1 < n {
			following = touching(l, &r.links[i+1], r.radius)
		}
		fits := reach+following <= l.length
		if reach > 0 && !(fits && fitted) {
			if all {
				return false
			}
			reach = 0
		}
		r.rests[i] = reach
		reach, fitted = following, fits
	}
	return true
}

func touchesBoth(before, after *link, radius float64) bool {
	reach := touching(before, after, radius)
	return reach > 0 && reach <= min(before.length, after.length)
}

// touching returns how far from the corner between two sides a ball touches
// both, were they long enough; 0 where they open otherwise.
func touching(before, after *link, radius float64) float64 {
	sine := before.sine(after)
	if sine >= 0 || before.jump || after.jump {
		return 0
	}
	// The tangent of half the angle.
	return -sine / (1 + before.in[0]*after.out[0] + before.in[1]*after.out[1]) * radius
}
