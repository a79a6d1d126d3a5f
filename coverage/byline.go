package coverage

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/sequence"
	"selvage/coverage/views"
)

// oneLine returns the ground with enough views all of which are of one pass.
// enough is the ground with enough views; all is in plane metres.
//
// That takes the ground that each pass sees as a whole. To unite all footprints
// of a pass costs much, so at first only some are united that cover nearly the
// same, and all of them only where two passes do not settle it.
func oneLine(site, enough orb.MultiPolygon, footprints []orb.Ring, passes [][]int) orb.MultiPolygon {
	sparse := unite(passes, footprints, func(pass []int) []int { return sparsely(pass, footprints) })
	open := views.Below(site, sparse, []int{2})[0]
	if len(open) == 0 {
		return nil
	}
	bounds := make([]orb.Bound, len(open))
	for i, p := range open {
		bounds[i] = p.Bound()
	}
	whole := unite(passes, footprints, func(pass []int) []int {
		var needed []int
		for _, i := range pass {
			b := footprints[i].Bound()
			if slices.ContainsFunc(bounds, b.Intersects) {
				needed = append(needed, i)
			}
		}
		return needed
	})
	one := views.Below(open, whole, []int{1, 2})[1]
	return plane.Intersection(plane.MetreGrid(site.Bound()), one, enough)
}

// unite returns what the chosen footprints of every pass see together.
func unite(passes [][]int, footprints []orb.Ring, choose func(pass []int) []int) []views.Footprint {
	out := make([]views.Footprint, len(passes))
	views.InParallel(len(passes), func(n int) {
		chosen := choose(passes[n])
		switch len(chosen) {
		case 0:
			return
		case 1:
			out[n] = views.Footprint{footprints[chosen[0]]}
			return
		}
		bound := footprints[chosen[0]].Bound()
		areas := make([]orb.MultiPolygon, len(chosen))
		for i, k := range chosen {
			bound = bound.Union(footprints[k].Bound())
			areas[i] = orb.MultiPolygon{{footprints[k]}}
		}
		out[n] = plane.Oriented(uniteAll(plane.MetreGrid(bound), areas))
	})
	return slices.DeleteFunc(out, func(f views.Footprint) bool { return len(f) == 0 })
}

// uniteAll unites a few neighbours first: those that follow each other cross
// all of each other's sides, and most of them are gone after that.
func uniteAll(grid plane.Grid, areas []orb.MultiPolygon) orb.MultiPolygon {
	const few = 4
	if len(areas) <= few {
		return plane.Union(grid, areas...)
	}
	half := len(areas) / 2
	return plane.Union(grid, uniteAll(grid, areas[:half]), uniteAll(grid, areas[half:]))
}

// sparsely chooses photos of a pass whose footprints still overlap well.
func sparsely(pass []int, footprints []orb.Ring) []int {
	const apart = 0.6 // share of a footprint's least extent
	var out []int
	var last orb.Point
	for k, i := range pass {
		b := footprints[i].Bound()
		at := b.Center()
		if k > 0 && k < len(pass)-1 && distance(at, last) < apart*min(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) {
			continue
		}
		out, last = append(out, i), at
	}
	return out
}

// passes gathers the photos, by their indexes, that were taken on one and the
// same line over the ground: a line flown twice, or broken off and taken up
// again, counts once. A photo on no line is a pass by itself.
func passes(lines []Line, at []orb.Point, footprints []orb.Ring) [][]int {
	tracks := make([]straight, len(lines))
	for n, l := range lines {
		tracks[n] = straightOf(l, at, footprints)
	}
	leader := make([]int, len(lines))
	for n := range tracks {
		leader[n] = n
		for m := range n {
			if leader[m] == m && tracks[m].same(tracks[n]) {
				leader[n] = m
				break
			}
		}
	}
	groups := make([][]int, len(lines))
	onLine := make([]bool, len(at))
	for n, l := range lines {
		for _, i := range l.Shots {
			if !onLine[i] {
				onLine[i] = true
				groups[leader[n]] = append(groups[leader[n]], i)
			}
		}
	}
	for n, group := range groups {
		slices.SortStableFunc(group, func(i, j int) int {
			return cmp.Compare(tracks[n].along(at[i]), tracks[n].along(at[j]))
		})
	}
	for i, on := range onLine {
		if !on {
			groups = append(groups, []int{i})
		}
	}
	return slices.DeleteFunc(groups, func(group []int) bool { return len(group) == 0 })
}

// straight is the line from the first photo of a flight line to the last.
type straight struct {
	from, to orb.Point
	unit     orb.Point
	course   float64
	width    float64 // of the ground seen, across, metres
}

func straightOf(l Line, at []orb.Point, footprints []orb.Ring) straight {
	first, last := at[l.Shots[0]], at[l.Shots[len(l.Shots)-1]]
	s := straight{from: first, to: last, course: sequence.Course(first, last)}
	sin, cos := math.Sincos(radians(s.course))
	s.unit = orb.Point{sin, cos}
	var widths []float64
	for _, i := range l.Shots {
		widths = append(widths, track{unit: s.unit}.width(footprints[i]))
	}
	s.width = sequence.Median(widths)
	return s
}

func (s straight) along(p orb.Point) float64 { return p[0]*s.unit[0] + p[1]*s.unit[1] }

// off returns how far a point lies beside the line, lengthened both ways.
func (s straight) off(p orb.Point) float64 {
	return math.Abs((p[0]-s.from[0])*s.unit[1] - (p[1]-s.from[1])*s.unit[0])
}

// same tells whether both ends of the shorter line lie on the longer one or
// straight ahead of it.
func (s straight) same(t straight) bool {
	if distance(s.from, s.to) < distance(t.from, t.to) {
		s, t = t, s
	}
	if !sequence.Parallel(sequence.Line{Course: s.course}, sequence.Line{Course: t.course}) {
		return false
	}
	near := sameLine * min(s.width, t.width)
	return s.off(t.from) <= near && s.off(t.to) <= near
}
