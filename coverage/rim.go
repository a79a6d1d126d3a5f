package coverage

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
)

const (
	// rimDeviation is how far the straight sides of a footprint may leave the
	// line in which the rim of the image meets the terrain, as a share of the
	// photo's height: 20 cm from 100 m. What is narrower than the terrain's own
	// grid can be passed over.
	rimDeviation = 0.002
	// mostPieces is how many pieces a side of the image is looked at in at
	// first, mostHalvings how often each of them is halved where that is too far.
	mostPieces, mostHalvings = 32, 8
)

// tracer finds where the rim of an image meets the terrain.
type tracer struct {
	*relief
	camera    [3]float64
	deviation float64 // metres
	samples   []sample
}

// sample is a ray, by the place that it passes on a level plane 1 below the
// camera, and the ground that it meets, in plane metres.
type sample struct{ through, at orb.Point }

// trace follows the rim, a convex ring of such places, and returns a simple
// closed counter-clockwise ring in plane metres. It is false where a ray meets
// no known ground.
//
// A ray keeps to its direction seen from above, so the ground goes around the
// place below the camera in the order of the rim's rays. Where a ridge stands
// before lower ground, the ring follows it and then runs straight out, away
// from the camera, to the first ground seen beyond.
func (t *tracer) trace(rim orb.Ring) (orb.Ring, bool) {
	var ring orb.Ring
	last, ok := t.sample(rim[0])
	if !ok {
		return nil, false
	}
	for k := 1; k < len(rim); k++ {
		end, ok := t.sample(rim[k])
		if !ok {
			return nil, false
		}
		const nodes = 4 // about a cell of the terrain's own grid
		pieces := max(2, min(mostPieces, int(math.Ceil(distance(last.at, end.at)/(nodes*t.Spacing())))))
		from := len(t.samples)
		t.samples = append(t.samples, last)
		for i := 1; i <= pieces; i++ {
			next := end
			if i < pieces {
				if next, ok = t.sample(between(rim[k-1], rim[k], float64(i)/float64(pieces))); !ok {
					return nil, false
				}
			}
			if !t.halve(t.samples[len(t.samples)-1], next, mostHalvings) {
				return nil, false
			}
			t.samples = append(t.samples, next)
		}
		t.samples = t.samples[:len(t.samples)-1]
		ring = append(ring, last.at)
		ring = appendNeeded(ring, append(t.samples[from:len(t.samples):len(t.samples)], end), t.deviation/2)
		last = end
	}
	ring = append(ring, ring[0])
	if !around(rim, orb.Point{}) && plane.Valid(orb.MultiPolygon{{ring}}) != nil {
		ring = onceAround(ring)
	}
	return ring, ring != nil
}

func (t *tracer) sample(through orb.Point) (sample, bool) {
	at, ok := t.strike(t.camera, through)
	return sample{through, orb.Point{at[0], at[1]}}, ok
}

// halve adds samples between two until what lies between is straight, or so
// narrow that a jump over hidden ground is all that is left.
func (t *tracer) halve(a, b sample, times int) bool {
	middle, ok := t.sample(between(a.through, b.through, 0.5))
	if !ok {
		return false
	}
	if times == 0 || offChord(middle.at, a.at, b.at) <= t.deviation/2 {
		return true
	}
	if !t.halve(a, middle, times-1) {
		return false
	}
	t.samples = append(t.samples, middle)
	return t.halve(middle, b, times-1)
}

// appendNeeded appends the samples between the first and the last that a line
// from one to the other would leave by more than deviation.
func appendNeeded(ring orb.Ring, samples []sample, deviation float64) orb.Ring {
	last := len(samples) - 1
	far, at := deviation, 0
	for i := 1; i < last; i++ {
		if d := offChord(samples[i].at, samples[0].at, samples[last].at); d > far {
			far, at = d, i
		}
	}
	if at == 0 {
		return ring
	}
	ring = append(appendNeeded(ring, samples[:at+1], deviation), samples[at].at)
	return appendNeeded(ring, samples[at:], deviation)
}

// offChord returns the distance of p from the straight line from a to b.
func offChord(p, a, b orb.Point) float64 {
	abx, aby, apx, apy := b[0]-a[0], b[1]-a[1], p[0]-a[0], p[1]-a[1]
	square := abx*abx + aby*aby
	if square == 0 {
		return math.Hypot(apx, apy)
	}
	along := min(1, max(0, (apx*abx+apy*aby)/square))
	return math.Hypot(apx-along*abx, apy-along*aby)
}

// around tells whether a convex counter-clockwise ring holds a point well inside.
func around(ring orb.Ring, p orb.Point) bool {
	sides := halfPlanes(ring, orb.Point{})
	for _, h := range sides {
		if h.inside(p) < 1e-6 {
			return false
		}
	}
	return len(sides) > 2
}

// onceAround returns the largest piece of ground, without holes, that a closed
// ring goes around once; nil when there is none. What it goes around otherwise
// is not sure to be seen.
func onceAround(ring orb.Ring) orb.Ring {
	a := plane.Arrange(plane.MetreGrid(ring.Bound()), []orb.Ring{ring})
	pieces := slices.DeleteFunc(a.Keep(func(w []int32) bool { return w[0] == 1 }), func(p orb.Polygon) bool { return len(p) != 1 })
	if len(pieces) == 0 {
		return nil
	}
	return slices.MaxFunc(pieces, func(p, q orb.Polygon) int { return cmp.Compare(planar.Area(p), planar.Area(q)) })[0]
}

// hidden estimates which share of the ground within the footprint ridges and
// steps hide from the camera. Along a direction away from it, ground is hidden
// that is seen less far out than some before it.
func (t *tracer) hidden(rim orb.Ring) float64 {
	const directions = 32
	const steps = 80
	sides := halfPlanes(rim, orb.Point{})
	place := orb.Point{t.camera[0], t.camera[1]}
	every := max(1, len(t.samples)/directions)
	var all, hidden float64
	for k := 0; k < len(t.samples); k += every {
		s, next := t.samples[k], t.samples[(k+every)%len(t.samples)]
		enters, _, ok := within(orb.Point{}, s.through, sides, 1e-9)
		if !ok {
			continue
		}
		nearest := enters * math.Hypot(s.through[0], s.through[1])
		turn := math.Abs(math.Remainder(math.Atan2(next.through[1], next.through[0])-math.Atan2(s.through[1], s.through[0]), 2*math.Pi))
		length := distance(place, s.at)
		pieces := min(steps, int(length/t.Spacing())+1)
		farthest := 0.0
		for i := range pieces {
			share := (float64(i) + 0.5) / float64(pieces)
			p := between(place, s.at, share)
			h, known := t.Height(p)
			if !known || h >= t.camera[2] {
				continue
			}
			out := share * length / (t.camera[2] - h)
			ground := share * length * turn // the ring sector's width
			if farthest >= nearest && out < farthest*(1-1e-3) {
				hidden += ground / float64(pieces) * length
			}
			if farthest = max(farthest, out); farthest >= nearest {
				all += ground / float64(pieces) * length
			}
		}
	}
	if all == 0 {
		return 0
	}
	return hidden / all
}
