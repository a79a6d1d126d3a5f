package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/sequence"
)

// EdgeReach is how far, in metres, photo centres reach past the outlines of the
// site. It is taken at even steps along them, at N places; holes are left out,
// and so are places where the site itself goes on within half a footprint.
//
// At a place of the edge a strip runs straight outward, three quarters of the
// line spacing to either side of it (of the air base where that is more), so
// that it holds a line wherever the lines fall. The reach is how far out the
// farthest photo centre in the strip lies, 0 where there is none. A centre
// counts if it lies outside the site, and no other piece of the site is nearer
// to it than half of that. Only photos that see something of the site count.
//
// The edge is seen as often as ground inside when no centre is missing within
// half a footprint past it, G/2 along the lines and S/2 across (see
// DeriveBuffer). However the photos fall, with an air base of B and a line
// spacing of W the last of these centres lies at least G/2 − B past an edge that
// crosses the lines, S/2 − W past one that runs along them, and past a slanting
// edge the sum of the two, each by its share of the direction. Where the reach
// is less, centres are missing for certain.
type EdgeReach struct {
	N                     int
	Median, Least         float64
	At                    orb.Point // where it is least, degrees
	Along, Across         float64   // half a footprint along and across the lines, medians
	NeedAlong, NeedAcross float64   // G/2 − B and S/2 − W, 0 at least
	Enough                float64   // share of the places with that reach, but for a tenth of half a footprint
}

const (
	// chordDeviation is how far the edge may leave the straight lines from which
	// the strips run out, as a share of half a footprint.
	chordDeviation = 0.1
	// wander is how much less than needed is let pass, as a share of half a
	// footprint, since no flight keeps its spacings better (common practice, no
	// source).
	wander     = 0.1
	mostPlaces = 2000
)

// measureReach needs the overlaps, and the lines with their shots, which are
// those of used. Without lines there is nothing to go by.
func (a *Audit) measureReach(site orb.MultiPolygon, used []*candidate, frame plane.Frame) {
	m := newReachMeter(a, site, used)
	if m == nil {
		return
	}
	var length float64
	for _, polygon := range site {
		length += ringLength(polygon)
	}
	step := max(m.aside/2, length/mostPlaces)
	e := EdgeReach{Along: m.along, Across: m.across, NeedAlong: m.needAlong, NeedAcross: m.needAcross}
	var reaches []float64
	for _, polygon := range site {
		if len(polygon) == 0 {
			continue
		}
		for _, p := range m.places(polygon[0], step) {
			reach, ok := m.at(p)
			if !ok {
				continue
			}
			if len(reaches) == 0 || reach < e.Least {
				e.Least, e.At = reach, plane.WrapPoint(frame.Degrees(p.at))
			}
			reaches = append(reaches, reach)
			if reach >= m.part(p, m.needAlong, m.needAcross)-wander*m.part(p, m.along, m.across) {
				e.Enough++
			}
		}
	}
	if e.N = len(reaches); e.N > 0 {
		e.Median = sequence.Median(reaches)
		e.Enough /= float64(e.N)
		a.Edge.Reach = e
	}
}

// reachMeter knows the photo centres that lie outside a site.
type reachMeter struct {
	site                  orb.MultiPolygon
	centres               []orb.Point
	from                  []float64 // how far each lies from the site
	course                orb.Point // of the lines, a unit vector
	along, across         float64   // half a footprint
	needAlong, needAcross float64
	aside                 float64 // half the width of a strip
}

func newReachMeter(a *Audit, site orb.MultiPolygon, used []*candidate) *reachMeter {
	m := &reachMeter{site: site}
	var along, across []float64
	longest := -1.0
	for _, l := range a.Lines {
		sin, cos := math.Sincos(radians(l.Course))
		if l.Length > longest {
			longest, m.course = l.Length, orb.Point{sin, cos}
		}
		for _, i := range l.Shots {
			along = append(along, halfWidth(used[i].footprint, orb.Point{sin, cos}))
			across = append(across, halfWidth(used[i].footprint, orb.Point{cos, -sin}))
		}
	}
	if len(along) == 0 {
		return nil
	}
	m.along, m.across = sequence.Median(along), sequence.Median(across)
	// Without pairs to measure there is no overlap.
	base := AirBase(a.Overlap.Forward.Median, 2*m.along)
	spacing := LineSpacing(a.Overlap.Side.Median, 2*m.across)
	m.needAlong, m.needAcross = max(0, m.along-base), max(0, m.across-spacing)
	m.aside = 0.75 * max(spacing, base)
	for _, c := range used {
		if !plane.Contains(site, c.at) {
			m.centres = append(m.centres, c.at)
			m.from = append(m.from, plane.BoundaryDistance(site, c.at))
		}
	}
	return m
}

// part shares two lengths, along and across the lines, by the direction outward.
func (m *reachMeter) part(p place, along, across float64) float64 {
	return along*math.Abs(p.outward[0]*m.course[0]+p.outward[1]*m.course[1]) +
		across*math.Abs(p.outward[0]*m.course[1]-p.outward[1]*m.course[0])
}

// place is a place of the edge, and the unit vector straight outward.
type place struct{ at, outward orb.Point }

// places lays places along an outline at even steps, the first half a step in.
func (m *reachMeter) places(ring orb.Ring, step float64) []place {
	chainages := chainagesOf(ring)
	length := chainages[len(chainages)-1]
	if !(length > 0) {
		return nil
	}
	n := max(1, int(math.Ceil(length/step)))
	corners := chords(ring, chordDeviation*min(m.along, m.across))
	sign := 1.0
	if ring.Orientation() == orb.CW {
		sign = -1
	}
	var out []place
	chord := 1
	for i := range n {
		c := length * (float64(i) + 0.5) / float64(n)
		for chord < len(corners)-1 && chainages[corners[chord]] < c {
			chord++
		}
		p, q := ring[corners[chord-1]], ring[corners[chord]]
		if d := distance(p, q); d > 0 {
			out = append(out, place{along(ring, chainages, c, c)[0], orb.Point{sign * (q[1] - p[1]) / d, -sign * (q[0] - p[0]) / d}})
		}
	}
	return out
}

// at returns the reach at a place. It is false where the site goes on within
// half a footprint.
func (m *reachMeter) at(p place) (reach float64, ok bool) {
	half := m.part(p, m.along, m.across)
	for k := 1; k <= 4; k++ {
		d := half * float64(k) / 4
		if plane.Contains(m.site, orb.Point{p.at[0] + d*p.outward[0], p.at[1] + d*p.outward[1]}) {
			return 0, false
		}
	}
	for i, c := range m.centres {
		x, y := c[0]-p.at[0], c[1]-p.at[1]
		out := x*p.outward[0] + y*p.outward[1]
		aside := math.Abs(x*p.outward[1] - y*p.outward[0])
		if out > reach && aside <= m.aside && m.from[i] >= out/2 {
			reach = out
		}
	}
	return reach, true
}

// chords returns the indexes of the vertices of a closed ring between which
// straight lines leave it by no more than deviation, the first and last included.
func chords(ring orb.Ring, deviation float64) []int {
	last := len(ring) - 1
	farthest := 0
	for i, p := range ring {
		if distance(p, ring[0]) > distance(ring[farthest], ring[0]) {
			farthest = i
		}
	}
	kept := []int{0, farthest, last}
	type piece struct{ from, to int }
	for pieces := []piece{{0, farthest}, {farthest, last}}; len(pieces) > 0; {
		p := pieces[len(pieces)-1]
		pieces = pieces[:len(pieces)-1]
		far, at := deviation, 0
		for i := p.from + 1; i < p.to; i++ {
			if d := offChord(ring[i], ring[p.from], ring[p.to]); d > far {
				far, at = d, i
			}
		}
		if at > 0 {
			kept = append(kept, at)
			pieces = append(pieces, piece{p.from, at}, piece{at, p.to})
		}
	}
	slices.Sort(kept)
	return slices.Compact(kept)
}

// halfWidth returns half the width of a ring in a direction, a unit vector.
func halfWidth(ring orb.Ring, direction orb.Point) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range ring {
		d := p[0]*direction[0] + p[1]*direction[1]
		least, most = min(least, d), max(most, d)
	}
	return (most - least) / 2
}

func ringLength(p orb.Polygon) float64 {
	if len(p) == 0 || len(p[0]) == 0 {
		return 0
	}
	return chainagesOf(p[0])[len(p[0])-1]
}
