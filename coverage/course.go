package coverage

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/sequence"
)

// span is a stretch of a flight line by its distance along the course, metres.
type span struct{ from, to float64 }

// sweep is a part of the area, in plane metres, with the lines of one course
// laid over it. Points of rings are along and across the course.
type sweep struct {
	course      float64
	rings       []orb.Ring
	width       float64
	first, step float64 // where across the first line lies, and the line spacing
	lines       int
}

// turned returns p by its distances along a course and across it, to the
// right. Turning the result brings p back.
func turned(p orb.Point, course float64) orb.Point {
	sin, cos := math.Sincos(radians(course))
	return orb.Point{p[0]*sin + p[1]*cos, p[0]*cos - p[1]*sin}
}

// newSweep lays lines over a part, the outer ones equally far within it.
func newSweep(part orb.Polygon, course, spacing float64) sweep {
	s := sweep{course: course, step: spacing}
	for _, ring := range part {
		out := make(orb.Ring, len(ring))
		for i, p := range ring {
			out[i] = turned(p, course)
		}
		s.rings = append(s.rings, out)
	}
	bound := s.rings[0].Bound()
	s.width = bound.Max[1] - bound.Min[1]
	s.lines = FlightLines(s.width, spacing)
	s.first = (bound.Min[1]+bound.Max[1])/2 - float64(s.lines-1)/2*spacing
	return s
}

func (s sweep) across(line int) float64 { return s.first + float64(line)*s.step }

// crossings visits every place where a line meets the outline, and how far
// along the course it lies. The sides of a line take turns inside and outside
// the part, so it meets each line an even number of times.
func (s sweep) crossings(visit func(line int, along float64)) {
	for _, ring := range s.rings {
		for i := 1; i < len(ring); i++ {
			p, q := ring[i-1], ring[i]
			if p[1] > q[1] {
				p, q = q, p
			}
			line := max(0, int(math.Ceil((p[1]-s.first)/s.step))-1)
			for ; line < s.lines && s.across(line) < q[1]; line++ {
				if across := s.across(line); across >= p[1] {
					visit(line, mix(p[0], q[0], (across-p[1])/(q[1]-p[1])))
				}
			}
		}
	}
}

// flown returns every line from where it first enters the part to where it
// last leaves it.
func (s sweep) flown() []span {
	spans := make([]span, s.lines)
	for i := range spans {
		spans[i] = span{math.Inf(1), math.Inf(-1)}
	}
	s.crossings(func(line int, along float64) {
		spans[line].from = min(spans[line].from, along)
		spans[line].to = max(spans[line].to, along)
	})
	return spans
}

// inside returns the stretches of every line that lie inside the part. It is an
// error if they are too many to hold.
func (s sweep) inside() ([][]span, error) {
	count := 0
	s.crossings(func(int, float64) { count++ })
	if count > mostCrossings {
		return nil, fmt.Errorf("its lines meet the outline %d times, and at most %d can be planned; simplify the outline", count, mostCrossings)
	}
	met := make([][]float64, s.lines)
	s.crossings(func(line int, along float64) { met[line] = append(met[line], along) })
	spans := make([][]span, s.lines)
	for line, at := range met {
		slices.Sort(at)
		for i := 1; i < len(at); i += 2 {
			spans[line] = append(spans[line], span{at[i-1], at[i]})
		}
	}
	return spans, nil
}

// track returns the way along all lines, every other one backwards, with the
// straight ways between their ends, as points along and across.
func (s sweep) track(flown []span) []orb.Point {
	points := make([]orb.Point, 0, 2*len(flown))
	for line, f := range flown {
		if line%2 == 1 {
			f.from, f.to = f.to, f.from
		}
		points = append(points, orb.Point{f.from, s.across(line)}, orb.Point{f.to, s.across(line)})
	}
	return points
}

func trackLength(points []orb.Point) float64 {
	chainages := chainagesOf(points)
	return chainages[len(chainages)-1]
}

// bestSweep lays the lines on the course that takes the fewest, and among
// equals on the one with the shortest track. An area is least wide across one
// of the sides of its convex hull, so no course takes fewer lines than that
// one; the whole degrees are tried too. Where the outline is too intricate to
// try many, the course of least width is taken.
func bestSweep(part orb.Polygon, spacing float64) sweep {
	hull := convexHull(part[0])
	course, width := leastWidth(hull)
	best := newSweep(part, course, spacing)
	vertices := 0
	for _, ring := range part {
		vertices += len(ring)
	}
	if best.lines > mostLines || vertices*best.lines > mostCrossings {
		return best
	}
	shortest := trackLength(best.track(best.flown()))
	fewest := FlightLines(width, spacing)
	for degrees := range 180 {
		if FlightLines(widthAcross(hull, float64(degrees)), spacing) > fewest {
			continue
		}
		s := newSweep(part, float64(degrees), spacing)
		if length := trackLength(s.track(s.flown())); length < shortest {
			best, shortest = s, length
		}
	}
	return best
}

// convexHull returns the corners of the hull of points, counter-clockwise and
// not closed.
func convexHull(points []orb.Point) []orb.Point {
	sorted := slices.SortedFunc(slices.Values(points), func(p, q orb.Point) int {
		return cmp.Or(cmp.Compare(p[0], q[0]), cmp.Compare(p[1], q[1]))
	})
	sorted = slices.Compact(sorted)
	var hull []orb.Point
	half := func(points []orb.Point) {
		start := len(hull)
		for _, p := range points {
			for len(hull) >= start+2 && plane.Orient(hull[len(hull)-2], hull[len(hull)-1], p) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
		}
		hull = hull[:len(hull)-1] // begins the other half
	}
	half(sorted)
	slices.Reverse(sorted)
	half(sorted)
	return hull
}

// leastWidth returns the course along which a convex polygon is least wide
// across, 0 to 180 degrees, and that width. The corner farthest from a side
// moves on around the polygon with it (rotating calipers).
func leastWidth(hull []orb.Point) (along, width float64) {
	width = math.Inf(1)
	far := 1
	corner := func(k int) orb.Point { return hull[k%len(hull)] }
	for i, p := range hull {
		q := corner(i + 1)
		farther := func(k int) bool { // whether the corner after k lies farther from the side than k
			a, b := corner(k), corner(k+1)
			return (q[0]-p[0])*(b[1]-a[1]) > (q[1]-p[1])*(b[0]-a[0])
		}
		for far = max(far, i+1); far < i+len(hull) && farther(far); far++ {
		}
		side, _ := leftOf(p, q, p)
		c := corner(far)
		if w := side.inside(orb.Point{c[0] - p[0], c[1] - p[1]}); w < width {
			along, width = math.Mod(sequence.Course(p, q), 180), w
		}
	}
	return along, width
}

// widthAcross returns the extent of points across a course.
func widthAcross(points []orb.Point, course float64) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		across := turned(p, course)[1]
		least, most = min(least, across), max(most, across)
	}
	return most - least
}
