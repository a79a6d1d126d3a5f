package compare

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
	"selvage/coverage"
)

// Change says what became of a zone.
type Change string

const (
	New       Change = "new"
	Grown     Change = "grown"
	Moved     Change = "moved" // as large as before, on other ground
	Unchanged Change = "unchanged"
	Shrunk    Change = "shrunk"
	Gone      Change = "gone"
)

var changeOrder = []Change{New, Grown, Moved, Unchanged, Shrunk, Gone}

// ZoneChange is the zones of one kind that share ground before and after,
// through each other too: one that came apart is together with its pieces.
type ZoneChange struct {
	Kind                          string
	Change                        Change
	Before, After                 []int // numbers, from 1
	BeforeArea, AfterArea, Shared float64
	// Other is how most of the ground of a new zone was seen before, or of a
	// zone that is gone is seen now: a kind, or enough, or outside the site.
	Other string
	At    orb.Point // inside the largest of the zones, degrees
}

const (
	enough  = "enough"
	outside = "outside"
)

// zoneKinds is the order of the classes, the gravest first.
var zoneKinds = []coverage.ZoneKind{coverage.Gap, coverage.NoStereo, coverage.Thin}

func kindIndex(kind string) int { return slices.Index(zoneKinds, coverage.ZoneKind(kind)) }

// Ground is how much ground of both site areas has other views than before, in
// square metres.
type Ground struct{ Better, Worse float64 }

// SiteChange says how the site area changed, in square metres.
type SiteChange struct {
	Added, Removed, Shared float64
	Same                   bool // but for the rounding of positions
}

// places is the comparison of two audits on the ground.
type places struct {
	Site  SiteChange
	Zones []ZoneChange
	// Below is the ground with no view, with fewer than 2, and with fewer than
	// were wanted, as far as these mean the same in both audits.
	Below [3]Ground
	Alike [3]bool
}

// rounding is how far two positions that were one may lie apart, in metres:
// each has 8 decimals of a degree.
const rounding = 0.002

// leastArea is the last decimal of an area in a record, in square metres: less
// is not called ground.
const leastArea = 0.01

// slack is the ground that rounding may add or take along the rims of areas, in
// metres of a frame.
func slack(areas ...orb.MultiPolygon) float64 {
	length := 0.0
	for _, a := range areas {
		length += planar.Length(a)
	}
	return leastArea + rounding*length
}

// layers of the arrangement: the site area and the three kinds, before and after.
const (
	siteLayer  = iota
	kindLayer  // and the two after it
	sideLayers = kindLayer + 3
)

// overlay is both audits laid over each other.
type overlay struct {
	frame       plane.Frame
	sides       [2]side
	arrangement *plane.Arrangement
}

// side is one audit: degrees as they continue across the 180th meridian, and metres.
type side struct {
	site   orb.MultiPolygon
	ground orb.MultiPolygon   // the site in metres
	shapes []orb.MultiPolygon // of the zones
	plane  []orb.MultiPolygon
	bounds []orb.Bound
	kinds  []int
	areas  []float64
}

// lay lays the audits over each other. It is an error where they lie too far
// apart for that.
func lay(before, after *Shapes) (*overlay, error) {
	const deviation = 0.0005
	o := &overlay{}
	var all orb.MultiPolygon
	for _, s := range []*Shapes{before, after} {
		all = append(all, s.Site...)
		for _, z := range s.Zones {
			all = append(all, z.Shape)
		}
	}
	all = plane.Unwrap(all)
	var err error
	if o.frame, err = plane.FrameFor(all); err != nil {
		return nil, err
	}
	rings := make([][]orb.Ring, 2*sideLayers)
	bound := all[0].Bound()
	bound = orb.Bound{Min: o.frame.Metres(bound.Min), Max: o.frame.Metres(bound.Min)}
	place := func(degrees orb.MultiPolygon, layer int) orb.MultiPolygon {
		metres := o.frame.ToMetres(degrees, deviation)
		rings[layer] = append(rings[layer], plane.Oriented(metres)...)
		if len(metres) > 0 {
			bound = bound.Union(metres.Bound())
		}
		return metres
	}
	for i, s := range []*Shapes{before, after} {
		one := &o.sides[i]
		one.site, all = all[:len(s.Site)], all[len(s.Site):]
		if i > 0 && one.site.Equal(o.sides[0].site) { // as it mostly is
			one.ground, rings[sideLayers+siteLayer] = o.sides[0].ground, rings[siteLayer]
		} else {
			one.ground = place(one.site, i*sideLayers+siteLayer)
		}
		for k, z := range s.Zones {
			shape := all[k : k+1 : k+1]
			kind := kindIndex(z.Kind)
			metres := place(shape, i*sideLayers+kindLayer+kind)
			one.shapes, one.plane, one.bounds = append(one.shapes, shape), append(one.plane, metres), append(one.bounds, metres.Bound())
			one.kinds, one.areas = append(one.kinds, kind), append(one.areas, z.Area)
		}
		all = all[len(s.Zones):]
	}
	o.arrangement = plane.Arrange(plane.MetreGrid(bound), rings...)
	return o, nil
}

// area measures ground, in metres of the frame, on the ellipsoid.
func (o *overlay) area(ground orb.MultiPolygon) float64 {
	return plane.GeodesicArea(o.frame.ToDegrees(ground))
}

// ground returns the ground for which the rule holds; w tells the windings of
// each side by layer.
func (o *overlay) ground(rule func(before, after []int32) bool) orb.MultiPolygon {
	return o.arrangement.Keep(func(w []int32) bool { return rule(w[:sideLayers], w[sideLayers:]) })
}

// zone returns which zone of a kind holds a point, or -1.
func (s *side) zone(kind int, p orb.Point) int {
	for i, b := range s.bounds {
		if s.kinds[i] == kind && b.Contains(p) && plane.Contains(s.plane[i], p) {
			return i
		}
	}
	return -1
}

// comparePlaces compares two audits on the ground. kinds says which of the
// kinds mean the same in both.
func comparePlaces(before, after *Shapes, kinds [3]bool) (*places, error) {
	o, err := lay(before, after)
	if err != nil {
		return nil, err
	}
	p := &places{Site: o.site(), Alike: kinds}
	p.Zones = o.zones(kinds)
	for k := range zoneKinds {
		if !kinds[k] {
			continue
		}
		below := func(w []int32) bool {
			for kind := 0; kind <= k; kind++ {
				if w[kindLayer+kind] > 0 {
					return true
				}
			}
			return false
		}
		both := func(b, a []int32) bool { return b[siteLayer] > 0 && a[siteLayer] > 0 }
		// What is narrower than rounding is dust of it.
		measure := func(ground orb.MultiPolygon) (sum float64) {
			for _, piece := range ground {
				one := orb.MultiPolygon{piece}
				if area := o.area(one); area > slack(one) {
					sum += area
				}
			}
			return sum
		}
		p.Below[k] = Ground{
			Better: measure(o.ground(func(b, a []int32) bool { return both(b, a) && below(b) && !below(a) })),
			Worse:  measure(o.ground(func(b, a []int32) bool { return both(b, a) && !below(b) && below(a) })),
		}
	}
	return p, nil
}

func (o *overlay) site() SiteChange {
	c := SiteChange{
		Added:   o.area(o.ground(func(b, a []int32) bool { return a[siteLayer] > 0 && b[siteLayer] <= 0 })),
		Removed: o.area(o.ground(func(b, a []int32) bool { return b[siteLayer] > 0 && a[siteLayer] <= 0 })),
		Shared:  o.area(o.ground(func(b, a []int32) bool { return b[siteLayer] > 0 && a[siteLayer] > 0 })),
	}
	c.Same = max(c.Added, c.Removed) <= slack(o.sides[0].ground, o.sides[1].ground)/2
	return c
}

// shares measures the ground that each zone has in common with each kind of the
// other audit, and with which zones of its own kind.
type shares struct {
	pairs  map[[2]int]float64 // zones of one kind, before and after
	others [2][][]float64     // by side, zone, and kind of the other audit; last, outside its site
}

func (o *overlay) shares() shares {
	s := shares{pairs: map[[2]int]float64{}}
	for i := range o.sides {
		s.others[i] = make([][]float64, len(o.sides[i].shapes))
		for z := range s.others[i] {
			s.others[i][z] = make([]float64, len(zoneKinds)+1)
		}
	}
	add := func(ground orb.MultiPolygon, was, is int) {
		for _, piece := range ground {
			area, at := o.area(orb.MultiPolygon{piece}), pointIn(piece)
			b, a := -1, -1
			if was >= 0 && was < len(zoneKinds) {
				b = o.sides[0].zone(was, at)
			}
			if is >= 0 && is < len(zoneKinds) {
				a = o.sides[1].zone(is, at)
			}
			if b >= 0 {
				s.others[0][b][is] += area
			}
			if a >= 0 {
				s.others[1][a][was] += area
			}
			if b >= 0 && a >= 0 && was == is {
				s.pairs[[2]int{b, a}] += area
			}
		}
	}
	for k := range zoneKinds {
		for l := range zoneKinds {
			add(o.ground(func(b, a []int32) bool { return b[kindLayer+k] > 0 && a[kindLayer+l] > 0 }), k, l)
		}
		add(o.ground(func(b, a []int32) bool { return b[kindLayer+k] > 0 && a[siteLayer] <= 0 }), k, len(zoneKinds))
		add(o.ground(func(b, a []int32) bool { return a[kindLayer+k] > 0 && b[siteLayer] <= 0 }), len(zoneKinds), k)
	}
	return s
}

// other says where most of a zone's ground lies in the other audit.
func (o *overlay) other(s shares, which, zone int) string {
	rest, most, name := o.sides[which].areas[zone], 0.0, enough
	for k, area := range s.others[which][zone] {
		rest -= area
		if area > most {
			if most, name = area, outside; k < len(zoneKinds) {
				name = string(zoneKinds[k])
			}
		}
	}
	if rest >= most {
		return enough
	}
	return name
}

// zones puts the zones that share ground together, the largest change first.
func (o *overlay) zones(kinds [3]bool) []ZoneChange {
	s := o.shares()
	groups := newGroups(len(o.sides[0].shapes) + len(o.sides[1].shapes))
	after := len(o.sides[0].shapes)
	pairs := slices.SortedFunc(maps.Keys(s.pairs), func(p, q [2]int) int { return slices.Compare(p[:], q[:]) })
	for _, pair := range pairs {
		b, a, shared := pair[0], pair[1], s.pairs[pair]
		least := min(o.sides[0].areas[b], o.sides[1].areas[a])
		if shared > min(slack(o.sides[0].plane[b]), slack(o.sides[1].plane[a]), least/2) {
			groups.join(b, after+a)
		}
	}
	together := map[int]float64{}
	for _, pair := range pairs {
		if root := groups.root(pair[0]); root == groups.root(after+pair[1]) {
			together[root] += s.pairs[pair]
		}
	}
	members := map[int][]int{}
	for i := range groups {
		members[groups.root(i)] = append(members[groups.root(i)], i)
	}
	var out []ZoneChange
	for root, list := range members {
		z := ZoneChange{Shared: together[root]}
		var rims []orb.MultiPolygon
		largest := -1.0
		for _, i := range list {
			which, zone := 0, i
			if i >= after {
				which, zone = 1, i-after
			}
			one := &o.sides[which]
			z.Kind = string(zoneKinds[one.kinds[zone]])
			if which == 0 {
				z.Before, z.BeforeArea = append(z.Before, zone+1), z.BeforeArea+one.areas[zone]
			} else {
				z.After, z.AfterArea = append(z.After, zone+1), z.AfterArea+one.areas[zone]
			}
			rims = append(rims, one.plane[zone])
			if one.areas[zone] > largest {
				largest = one.areas[zone]
				z.At = plane.WrapPoint(o.frame.Degrees(pointIn(one.plane[zone][0])))
				z.Other = o.other(s, which, zone)
			}
		}
		if !kinds[kindIndex(z.Kind)] {
			continue
		}
		z.Change = changeOf(z, slack(rims...))
		if z.Change != New && z.Change != Gone {
			z.Other = ""
		}
		out = append(out, z)
	}
	slices.SortFunc(out, func(a, b ZoneChange) int {
		return cmp.Or(
			cmp.Compare(slices.Index(changeOrder, a.Change), slices.Index(changeOrder, b.Change)),
			cmp.Compare(kindIndex(a.Kind), kindIndex(b.Kind)),
			-cmp.Compare(math.Abs(a.AfterArea-a.BeforeArea), math.Abs(b.AfterArea-b.BeforeArea)),
			slices.Compare(a.Before, b.Before), slices.Compare(a.After, b.After),
		)
	})
	return out
}

func changeOf(z ZoneChange, slack float64) Change {
	grown := z.AfterArea - z.BeforeArea
	switch {
	case len(z.Before) == 0:
		return New
	case len(z.After) == 0:
		return Gone
	case grown > slack:
		return Grown
	case grown < -slack:
		return Shrunk
	case z.BeforeArea+z.AfterArea-2*z.Shared > 2*slack:
		return Moved
	}
	return Unchanged
}

// groups are sets that can be joined; each points towards its root.
type groups []int

func newGroups(n int) groups {
	g := make(groups, n)
	for i := range g {
		g[i] = i
	}
	return g
}

func (g groups) root(i int) int {
	for g[i] != i {
		g[i] = g[g[i]]
		i = g[i]
	}
	return i
}

func (g groups) join(i, k int) { g[g.root(i)] = g.root(k) }

// pointIn returns a point inside a polygon: in the middle of its widest piece
// along a level line between two heights of vertices.
func pointIn(p orb.Polygon) orb.Point {
	var heights []float64
	for _, ring := range p {
		for _, v := range ring {
			heights = append(heights, v[1])
		}
	}
	slices.Sort(heights)
	heights = slices.Compact(heights)
	y, apart := heights[0], 0.0
	for i := 1; i < len(heights); i++ {
		if d := heights[i] - heights[i-1]; d > apart {
			y, apart = heights[i-1]+d/2, d
		}
	}
	var crossings []float64
	for _, ring := range p {
		for i := 1; i < len(ring); i++ {
			a, b := ring[i-1], ring[i]
			if (a[1] < y) != (b[1] < y) {
				crossings = append(crossings, a[0]+(b[0]-a[0])*(y-a[1])/(b[1]-a[1]))
			}
		}
	}
	slices.Sort(crossings)
	x, widest := heights[0], -1.0
	for i := 1; i < len(crossings); i += 2 {
		if w := crossings[i] - crossings[i-1]; w > widest {
			x, widest = crossings[i-1]+w/2, w
		}
	}
	return orb.Point{x, y}
}
