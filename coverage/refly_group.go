package coverage

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

const (
	// cutWorth is the flight time, in seconds, that an area must save by being cut
	// in two: what it takes to send one more to the aircraft and look it over
	// (common practice, no source).
	cutWorth = 120.0
	// mostCuts is how many ways to cut an area are looked at, mostTrials how many
	// of them are worked out, and mostPartners how many neighbours an area may be
	// joined with.
	mostCuts     = 40
	mostTrials   = 4
	mostPartners = 6
	// reflyMitre keeps the corners of right angles.
	reflyMitre = 1.5
)

// reflight is an area on its way to a Refly, in plane metres.
type reflight struct {
	Refly
	needs []orb.MultiPolygon // the ground that it is for, by views
	shape orb.MultiPolygon   // without regard to keep-out areas; one polygon, no holes
	time  float64            // seconds, by the plan's figures
}

// areas makes the areas to fly again. Ground is gathered where what has to be
// flown for it meets. An area is then cut in two where that saves more flight
// time than cutWorth, and two are made one where flying the one takes less time
// than flying both and the way between them. The time of a flight is its track
// at the planned speed and the turn time of each line, as in PlanFlight.
func (r *replanner) areas(needs []orb.MultiPolygon) []*reflight {
	r.plan.KeptOut = 0
	var groups []*reflight
	for _, g := range r.components(needs) {
		groups = append(groups, r.divided(g, 6)...)
	}
	groups = r.joined(groups)
	var out []*reflight
	for _, g := range groups {
		out = append(out, r.finished(g)...)
	}
	slices.SortStableFunc(out, func(a, b *reflight) int { return cmp.Compare(b.Area, a.Area) })
	return out
}

// expand returns the ground to fly so that needs are met.
func (r *replanner) expand(needs []orb.MultiPolygon) orb.MultiPolygon {
	var all []orb.MultiPolygon
	for v, ground := range needs {
		if len(ground) > 0 && r.buffers[v] > 0 {
			ground = plane.Offset(ground, r.buffers[v], plane.Style{Join: plane.Mitre, MitreLimit: reflyMitre})
		}
		all = append(all, ground)
	}
	return r.union(all)
}

// components returns what has to be flown for the needs, one area for each
// connected piece.
func (r *replanner) components(needs []orb.MultiPolygon) []*reflight {
	whole := r.expand(needs)
	out := make([]*reflight, len(whole))
	bounds := make([]orb.Bound, len(whole))
	for i, p := range whole {
		out[i] = &reflight{needs: make([]orb.MultiPolygon, len(needs))}
		out[i].shape = filled(orb.MultiPolygon{p})
		out[i].time = r.time(out[i].shape)
		bounds[i] = p.Bound().Pad(0.01)
	}
	for v, ground := range needs {
		for _, p := range ground {
			at := p[0][0]
			i, nearest := -1, math.Inf(1)
			for k, w := range whole {
				if !bounds[k].Contains(at) {
					continue
				}
				off := 0.0
				if area := (orb.MultiPolygon{w}); !plane.Contains(area, at) {
					off = plane.BoundaryDistance(area, at)
				}
				if off < nearest {
					i, nearest = k, off
				}
			}
			if i >= 0 {
				out[i].needs[v] = append(out[i].needs[v], p)
			}
		}
	}
	return out
}

// filled drops the holes: lines are flown across them anyway.
func filled(mp orb.MultiPolygon) orb.MultiPolygon {
	out := make(orb.MultiPolygon, len(mp))
	for i, p := range mp {
		out[i] = p[:1:1]
	}
	return out
}

// time is what the plan takes for areas, on the course of the flight or the one
// of least width.
func (r *replanner) time(mp orb.MultiPolygon) float64 {
	if !r.planned {
		return 0
	}
	sum := 0.0
	for _, p := range mp {
		along, _ := leastWidth(convexHull(p[0]))
		least := math.Inf(1)
		for _, course := range []float64{r.course, along} {
			s := newSweep(p, course, r.plan.LineSpacing)
			if s.lines > mostLines {
				continue
			}
			least = min(least, trackLength(s.track(s.flown()))/r.plan.Speed+UsualTurnTime*float64(s.lines))
		}
		sum += least
	}
	return sum
}

// apart is the time that two areas take beyond their own flights: the way
// between them and one more turn.
func (r *replanner) apart(a, b *reflight) float64 {
	return UsualTurnTime + boundsApart(a.shape.Bound(), b.shape.Bound())/r.plan.Speed
}

func boundsApart(a, b orb.Bound) float64 {
	x := max(0, a.Min[0]-b.Max[0], b.Min[0]-a.Max[0])
	y := max(0, a.Min[1]-b.Max[1], b.Min[1]-a.Max[1])
	return math.Hypot(x, y)
}

// divided cuts an area along the corners of its ground that open inwards, as
// long as that saves time. Cuts are ranked by a rough shape first, and the best
// few worked out.
func (r *replanner) divided(g *reflight, depth int) []*reflight {
	if !r.planned || depth == 0 || g.time < cutWorth {
		return []*reflight{g}
	}
	type trial struct {
		cut  halfPlane
		time float64
	}
	var trials []trial
	rough := plane.SimplifyOutward(r.union(g.needs), 30, nil)
	reach := r.meanBuffer(g.needs)
	for _, cut := range cutsOf(rough) {
		sum := 0.0
		for _, side := range cut.sides() {
			part := r.half(rough, side)
			if reach > 0 && len(part) > 0 {
				part = plane.Offset(part, reach, plane.Style{Join: plane.Mitre, MitreLimit: reflyMitre})
			}
			sum += r.time(filled(part)) + cutWorth*float64(max(0, len(part)-1))
		}
		trials = append(trials, trial{cut, sum})
	}
	slices.SortStableFunc(trials, func(a, b trial) int { return cmp.Compare(a.time, b.time) })
	var best []*reflight
	least := g.time
	for _, t := range trials[:min(len(trials), mostTrials)] {
		var parts []*reflight
		for _, side := range t.cut.sides() {
			needs := make([]orb.MultiPolygon, len(g.needs))
			for v, ground := range g.needs {
				needs[v] = r.half(ground, side)
			}
			parts = append(parts, r.components(needs)...)
		}
		sum := float64(len(parts)-1) * cutWorth
		for _, p := range parts {
			sum += p.time
		}
		if sum < least {
			best, least = parts, sum
		}
	}
	if len(best) < 2 {
		return []*reflight{g}
	}
	var out []*reflight
	for _, p := range best {
		out = append(out, r.divided(p, depth-1)...)
	}
	return out
}

func (h halfPlane) sides() []halfPlane { return []halfPlane{h, {-h.a, -h.b, -h.c}} }

// meanBuffer is what the ground asks for on average.
func (r *replanner) meanBuffer(needs []orb.MultiPolygon) float64 {
	var sum, whole float64
	for v, ground := range needs {
		if more := areaOf(ground) - whole; more > 0 {
			sum += more * r.buffers[v]
			whole += more
		}
	}
	if whole == 0 {
		return r.greatestBuffer(needs)
	}
	return sum / whole
}

// greatestBuffer is the most that any of the ground asks for.
func (r *replanner) greatestBuffer(needs []orb.MultiPolygon) float64 {
	greatest := 0.0
	for v, ground := range needs {
		if len(ground) > 0 {
			greatest = max(greatest, r.buffers[v])
		}
	}
	return greatest
}

// cutsOf returns the lines along the sides at corners that open inwards.
func cutsOf(mp orb.MultiPolygon) []halfPlane {
	var cuts []halfPlane
	for _, ring := range plane.Oriented(mp) {
		n := len(ring) - 1
		for i := range n {
			p, q, next := ring[(i+n-1)%n], ring[i], ring[i+1]
			if plane.Orient(p, q, next) >= 0 {
				continue
			}
			for _, side := range [][2]orb.Point{{p, q}, {q, next}} {
				h, ok := leftOf(side[0], side[1], orb.Point{})
				if ok && len(cuts) < mostCuts && !slices.ContainsFunc(cuts, h.like) {
					cuts = append(cuts, h)
				}
			}
		}
	}
	return cuts
}

// like tells whether two half-planes have the same rim, but for a little.
func (h halfPlane) like(o halfPlane) bool {
	same := math.Copysign(1, h.a*o.a+h.b*o.b)
	return math.Abs(h.a-same*o.a) < 1e-3 && math.Abs(h.b-same*o.b) < 1e-3 && math.Abs(h.c-same*o.c) < 1
}

// half returns the part of an area inside a half-plane.
func (r *replanner) half(mp orb.MultiPolygon, h halfPlane) orb.MultiPolygon {
	if len(mp) == 0 {
		return nil
	}
	box := mp.Bound().Pad(1)
	corners := clip([]orb.Point{box.Min, {box.Max[0], box.Min[1]}, box.Max, {box.Min[0], box.Max[1]}}, h)
	if len(corners) < 3 {
		return nil
	}
	return plane.Intersection(r.grid(), mp, orb.MultiPolygon{{append(corners, corners[0])}})
}

// joined makes one area of two, the best two first, as long as that saves time.
func (r *replanner) joined(groups []*reflight) []*reflight {
	if !r.planned || len(groups) < 2 {
		return groups
	}
	type offer struct {
		partner int
		saved   float64
		joint   *reflight
	}
	best := make([]offer, len(groups))
	gone := make([]bool, len(groups))
	look := func(i int) {
		best[i] = offer{partner: -1}
		for _, k := range partners(groups, gone, i) {
			a, b := groups[i], groups[k]
			joint := r.joint(a, b)
			if saved := a.time + b.time + r.apart(a, b) - joint.time; saved > best[i].saved {
				best[i] = offer{k, saved, joint}
			}
		}
	}
	for i := range groups {
		look(i)
	}
	for {
		most := offer{partner: -1}
		at := -1
		for i, o := range best {
			if !gone[i] && o.partner >= 0 && o.saved > most.saved {
				at, most = i, o
			}
		}
		if at < 0 {
			break
		}
		gone[most.partner] = true
		groups[at] = most.joint
		look(at)
		for i := range groups {
			if !gone[i] && i != at && (best[i].partner == at || best[i].partner == most.partner) {
				look(i)
			}
		}
	}
	var out []*reflight
	for i, g := range groups {
		if !gone[i] {
			out = append(out, g)
		}
	}
	return out
}

// partners returns the nearest other areas.
func partners(groups []*reflight, gone []bool, i int) []int {
	type near struct {
		index int
		apart float64
	}
	var all []near
	bound := groups[i].shape.Bound()
	for k, g := range groups {
		if k != i && !gone[k] {
			all = append(all, near{k, boundsApart(bound, g.shape.Bound())})
		}
	}
	slices.SortFunc(all, func(a, b near) int { return cmp.Or(cmp.Compare(a.apart, b.apart), cmp.Compare(a.index, b.index)) })
	var out []int
	for _, n := range all[:min(len(all), mostPartners)] {
		out = append(out, n.index)
	}
	return out
}

// joint is two areas as one: what they cover together, and where that is in
// pieces the convex hull of it.
func (r *replanner) joint(a, b *reflight) *reflight {
	g := &reflight{needs: make([]orb.MultiPolygon, len(a.needs))}
	for v := range g.needs {
		g.needs[v] = slices.Concat(a.needs[v], b.needs[v])
	}
	hull := convexHull(slices.Concat(a.shape[0][0], b.shape[0][0]))
	g.shape = orb.MultiPolygon{{append(orb.Ring(hull), hull[0])}}
	g.time = r.time(g.shape)
	if a.shape.Bound().Intersects(b.shape.Bound()) {
		if both := filled(r.union([]orb.MultiPolygon{a.shape, b.shape})); len(both) == 1 {
			if t := r.time(both); t <= g.time {
				g.shape, g.time = both, t
			}
		}
	}
	return g
}

// finished brings an area to what is flown: at least one line spacing wide,
// off the keep-out areas, with no more vertices than asked, one polygon each.
func (r *replanner) finished(g *reflight) []*reflight {
	shape := g.shape
	if _, width := leastWidth(convexHull(shape[0][0])); r.planned && width < r.plan.LineSpacing {
		shape = filled(plane.Offset(shape, (r.plan.LineSpacing-width)/2, plane.Style{Join: plane.Mitre, MitreLimit: reflyMitre}))
	}
	if len(r.keepOut) > 0 {
		whole := areaOf(shape)
		avoid := slices.DeleteFunc(slices.Clone(r.keepOut), func(p orb.Polygon) bool { return !p.Bound().Intersects(shape.Bound()) })
		if len(avoid) > 0 {
			shape = plane.Difference(r.grid(), shape, plane.Union(r.grid(), avoid))
			r.plan.KeptOut += whole - areaOf(shape)
		}
	}
	var pieces orb.MultiPolygon
	for _, p := range shape {
		piece := orb.MultiPolygon{p}
		if r.planned && len(shape) > 1 && areaOf(piece) < r.plan.LineSpacing*r.plan.AirBase {
			r.plan.KeptOut += areaOf(piece)
			continue
		}
		pieces = append(pieces, r.simpler(piece)...)
	}
	out := make([]*reflight, len(pieces))
	for i, p := range pieces {
		piece := orb.MultiPolygon{p}
		out[i] = &reflight{shape: piece, needs: g.needs}
		out[i].Shape, out[i].Area = p, areaOf(piece)
	}
	if len(out) > 1 {
		r.share(g.needs, out)
	}
	return out
}

// simpler returns a polygon with no more vertices than asked, and with few where
// that adds next to no ground. It never loses ground but for a millimetre.
func (r *replanner) simpler(piece orb.MultiPolygon) orb.MultiPolygon {
	const few, worth, apart = 24, 0.02, 0.002
	most := r.vertices
	if most == 0 || most > few {
		if simple := plane.SimplifyOutward(piece, few, r.keepOut); areaOf(simple) <= (1+worth)*areaOf(piece) {
			piece = simple
		}
	}
	if len(piece) == 1 && most > 0 && cornersOf(piece[0]) > most {
		piece = plane.SimplifyOutward(piece, most, r.keepOut)
	}
	// Files hold positions to a millimetre, where nearer ones become one.
	spaced := make(orb.MultiPolygon, len(piece))
	for i, p := range piece {
		for _, ring := range p {
			out := orb.Ring{ring[0]}
			for _, q := range ring[1:] {
				if distance(q, out[len(out)-1]) > apart {
					out = append(out, q)
				}
			}
			if last := len(out) - 1; distance(out[last], out[0]) > apart {
				out = append(out, out[0])
			} else {
				out[last] = out[0]
			}
			spaced[i] = append(spaced[i], out)
		}
	}
	if plane.Valid(spaced) != nil {
		return piece
	}
	return spaced
}

// share gives each of the pieces of an area the needs nearest to it. A piece
// that only looks into the keep-out area from outside is for all of them.
func (r *replanner) share(needs []orb.MultiPolygon, pieces []*reflight) {
	for _, p := range pieces {
		p.needs = make([]orb.MultiPolygon, len(needs))
	}
	for v, ground := range needs {
		rest := ground
		for _, p := range pieces {
			if len(rest) > 0 {
				p.needs[v] = plane.Intersection(r.grid(), rest, p.shape)
				rest = plane.Difference(r.grid(), rest, p.shape)
			}
		}
		for _, left := range rest {
			nearest := slices.MinFunc(pieces, func(a, b *reflight) int {
				return cmp.Compare(plane.LeastDistance(a.shape, orb.MultiPolygon{left}), plane.LeastDistance(b.shape, orb.MultiPolygon{left}))
			})
			// It touches what is there already, so the two are united.
			nearest.needs[v] = plane.Union(r.grid(), nearest.needs[v], orb.MultiPolygon{left})
		}
	}
	for _, p := range pieces {
		if !slices.ContainsFunc(p.needs, func(ground orb.MultiPolygon) bool { return len(ground) > 0 }) {
			p.needs = needs
		}
	}
}

func cornersOf(p orb.Polygon) int {
	n := 0
	for _, ring := range p {
		n += len(ring) - 1
	}
	return n
}
