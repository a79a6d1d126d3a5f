package plane

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

// meantArea is the area that an area means by the documented reading, summed
// without any topology: ground counts where the outline of some part winds
// around it and none of that part's holes does. The plane is cut into
// horizontal slabs at every vertex and every crossing, so that no edges cross
// within one and each piece of a slab between two edges is a trapezoid: its
// mean width times its height. What rounding does to the order of edges that
// all but coincide weighs no more than the slits between them.
func meantArea(mp orb.MultiPolygon) float64 {
	type edge struct {
		a, b       orb.Point // a below b
		part, ring int
		up         int
	}
	var edges []edge
	var origin orb.Point
	for i, p := range mp {
		for j, ring := range p {
			if i == 0 && j == 0 {
				origin = ring[0] // differences of near numbers are exact
			}
			for k := range ring {
				a, b, up := ring[k], ring[(k+1)%len(ring)], 1
				a, b = orb.Point{a[0] - origin[0], a[1] - origin[1]}, orb.Point{b[0] - origin[0], b[1] - origin[1]}
				if a[1] > b[1] {
					a, b, up = b, a, -1
				}
				if a[1] < b[1] {
					edges = append(edges, edge{a, b, i, j, up})
				}
			}
		}
	}
	var levels []float64
	for i, e := range edges {
		levels = append(levels, e.a[1], e.b[1])
		for _, f := range edges[:i] {
			dx, dy, fx, fy := e.b[0]-e.a[0], e.b[1]-e.a[1], f.b[0]-f.a[0], f.b[1]-f.a[1]
			share := ((f.a[0]-e.a[0])*fy - (f.a[1]-e.a[1])*fx) / (dx*fy - dy*fx)
			if share > 0 && share < 1 {
				levels = append(levels, e.a[1]+share*dy)
			}
		}
	}
	slices.Sort(levels)
	levels = slices.Compact(levels)
	slices.SortFunc(edges, func(e, f edge) int { return cmp.Compare(e.a[1], f.a[1]) })

	winding := make([][]int, len(mp))
	for i, p := range mp {
		winding[i] = make([]int, len(p))
	}
	meant := func() bool {
		return slices.ContainsFunc(winding, func(w []int) bool {
			return len(w) > 0 && w[0] != 0 && !slices.ContainsFunc(w[1:], func(n int) bool { return n != 0 })
		})
	}
	type pass struct {
		x          float64
		part, ring int
		up         int
	}
	var sum float64
	var live []edge
	var passes []pass
	for k := range max(0, len(levels)-1) {
		low, high := levels[k], levels[k+1]
		live = slices.DeleteFunc(live, func(e edge) bool { return e.b[1] <= low })
		for len(edges) > 0 && edges[0].a[1] <= low {
			live, edges = append(live, edges[0]), edges[1:]
		}
		passes = passes[:0]
		for _, e := range live {
			share := ((low-e.a[1])/2 + (high-e.a[1])/2) / (e.b[1] - e.a[1])
			passes = append(passes, pass{e.a[0] + share*(e.b[0]-e.a[0]), e.part, e.ring, e.up})
		}
		slices.SortFunc(passes, func(p, q pass) int { return cmp.Compare(p.x, q.x) })
		width := 0.0
		for i, p := range passes {
			if i > 0 && meant() {
				width += p.x - passes[i-1].x
			}
			winding[p.part][p.ring] += p.up
		}
		sum += width * (high - low)
	}
	return sum
}

// Areas counted off the drawings by hand, and by GEOS 3.11's structure method.
func TestMeantArea(t *testing.T) {
	for text, want := range map[string]float64{
		"POLYGON((0 0,10 10,10 0,0 10,0 0))":                                                      50,
		"POLYGON((0 0,10 0,10 10,4 10,4 4,6 4,6 12,0 12,0 0))":                                    112,
		"POLYGON((0 0,10 0,10 10,0 10,0 0),(8 4,8 6,14 6,14 4,8 4))":                              96,
		"POLYGON((0 0,10 0,10 10,0 10,0 0),(20 20,20 24,24 24,24 20,20 20))":                      100,
		"MULTIPOLYGON(((0 0,10 0,10 10,0 10,0 0)),((5 5,15 5,15 15,5 15,5 5)))":                   175,
		"POLYGON((0 0,10 0,10 10,0 10,0 0,0 10,10 10,10 0,0 0))":                                  0,
		"POLYGON((0 0,7 1,9 8,1 9,0 0),(2 2,4 3,3 5,2 2),(3 3,5 3,5 5,3 5,3 3))":                  60 - 2.5 - 4 + 1,
		"MULTIPOLYGON(((0 0,20 0,20 20,0 20,0 0),(5 5,15 5,15 15,5 15,5 5)),((6 6,8 6,7 7,6 6)))": 301,
	} {
		if got := meantArea(shape(t, text)); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %v, want %v", text, got, want)
		}
	}
}
