// Package views tells, exactly, where ground is seen by how many photos. All
// shapes are in plane metres. It works on two levels: tiles that enough
// footprints hold whole are settled by counting, and only around the others
// are the footprints laid into an arrangement.
package views

import (
	"slices"
	"sync"
	"sync/atomic"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Footprint is the ground that counts as seen once.
type Footprint []orb.Ring

// Below divides the ground of a valid site that fewer than the last limit of
// the footprints hold: part i of the result by at least limits[i-1], or none
// for the first, and fewer than limits[i]. limits must rise. A footprint is
// polygons that share no ground, their outlines counter-clockwise and their
// holes clockwise, all rings closed.
func Below(site orb.MultiPolygon, footprints []Footprint, limits []int) []orb.MultiPolygon {
	out := make([]orb.MultiPolygon, len(limits))
	bound := site.Bound()
	if len(site) == 0 || bound.IsEmpty() {
		return out
	}
	extents := extentsOf(footprints)
	c := count(tilesFor(bound, extents), site, footprints, extents, int32(limits[len(limits)-1]))
	patches := c.patches(footprints, extents)
	parts := make([][]orb.MultiPolygon, len(patches))
	grid := plane.MetreGrid(bound.Pad(2 * c.size))
	rings := plane.Oriented(site)
	InParallel(len(patches), func(i int) {
		parts[i] = patches[i].divide(grid, rings, footprints, limits)
	})
	for _, p := range parts {
		for i := range out {
			out[i] = append(out[i], p[i]...)
		}
	}
	return out
}

// workers is how many goroutines share the work; more would only take memory.
const workers = 2

// share returns where the part of a worker in n things begins and ends.
func share(worker, n int) (from, to int) { return worker * n / workers, (worker + 1) * n / workers }

// InParallel calls do for 0 to n-1, on two cores.
func InParallel(n int, do func(i int)) {
	var each sync.WaitGroup
	var next atomic.Int64
	for range workers {
		each.Go(func() {
			for i := next.Add(1) - 1; i < int64(n); i = next.Add(1) - 1 {
				do(int(i))
			}
		})
	}
	each.Wait()
}

// patch is a connected group of open tiles.
type patch struct {
	tiles
	left, right, low, high int32   // the tiles that it reaches
	runs                   []run   // its tiles
	footprints             []int32 // those that touch any of them
}

// run is open tiles side by side in one row.
type run struct {
	row         int32
	first, last int32
	patch       int32
}

// patches gathers the open tiles, with corners joined too, and the footprints
// that have a part in each group.
func (c *counted) patches(footprints []Footprint, extents []extent) []patch {
	runs, starts := c.runs, c.starts
	join(runs, starts)
	var out []patch
	for i := range runs {
		r := &runs[i]
		root := find(runs, int32(i))
		if root == int32(i) {
			r.patch = ^int32(len(out)) // numbers of patches are kept below zero
			out = append(out, patch{tiles: c.tiles, left: r.first, right: r.last, low: r.row, high: r.row})
		} else {
			r.patch = runs[root].patch
		}
		p := &out[^r.patch]
		p.left, p.right = min(p.left, r.first), max(p.right, r.last)
		p.high = max(p.high, r.row)
		p.runs = append(p.runs, *r)
	}
	if len(out) == 0 {
		return nil
	}
	seen := make([]int32, len(out)) // the last footprint that the patch took, plus one
	w := newWalker(c.tiles)
	for k, f := range footprints {
		if !c.anyOpen(extents[k]) {
			continue
		}
		w.each(f, func(row int, spans []span) {
			here := runs[starts[row]:starts[row+1]]
			if len(here) == 0 {
				return
			}
			for _, s := range spans {
				i, _ := slices.BinarySearchFunc(here, s.first, func(r run, first int32) int { return int(r.last) - int(first) })
				for ; i < len(here) && here[i].first <= s.last; i++ {
					if n := ^here[i].patch; seen[n] != int32(k)+1 {
						seen[n] = int32(k) + 1
						out[n].footprints = append(out[n].footprints, int32(k))
					}
				}
			}
		})
	}
	return out
}

// join makes one group of runs that touch in neighbouring rows: patch then
// leads to a run before it of the same group, or is the run's own number.
func join(runs []run, starts []int32) {
	for row := 1; row+1 < len(starts); row++ {
		j := starts[row-1]
		for i := starts[row]; i < starts[row+1]; i++ {
			for j < starts[row] && runs[j].last+1 < runs[i].first {
				j++
			}
			for k := j; k < starts[row] && runs[k].first <= runs[i].last+1; k++ {
				a, b := find(runs, i), find(runs, k)
				runs[max(a, b)].patch = min(a, b)
			}
		}
	}
}

// find returns the first run of a group.
func find(runs []run, i int32) int32 {
	for runs[i].patch >= 0 && runs[i].patch != i {
		if next := runs[i].patch; runs[next].patch >= 0 {
			runs[i].patch = runs[next].patch
		}
		i = runs[i].patch
	}
	return i
}

// divide lays what touches a patch into an arrangement. Beyond its open tiles
// the views there are not known, and not needed: at their rims enough
// footprints reach over by the doubt at least.
func (p *patch) divide(g plane.Grid, site []orb.Ring, footprints []Footprint, limits []int) []orb.MultiPolygon {
	box := orb.Bound{
		Min: orb.Point{p.tiles.left + (float64(p.left)-0.5)*p.size, p.bottom + (float64(p.low)-0.5)*p.size},
		Max: orb.Point{p.tiles.left + (float64(p.right)+1.5)*p.size, p.bottom + (float64(p.high)+1.5)*p.size},
	}
	var mask, ground, seen []orb.Ring
	for _, r := range p.runs {
		mask = append(mask, orb.Bound{
			Min: orb.Point{p.tiles.left + float64(r.first)*p.size, p.bottom + float64(r.row)*p.size},
			Max: orb.Point{p.tiles.left + float64(r.last+1)*p.size, p.bottom + float64(r.row+1)*p.size},
		}.ToRing())
	}
	var c clipper
	for _, ring := range site {
		ground = c.add(ground, ring, box)
	}
	base := int32(0) // footprints that hold the whole box
	for _, k := range p.footprints {
		for _, ring := range footprints[k] {
			seen = c.add(seen, ring, box)
		}
		if n := len(seen) - 1; n >= 0 && len(footprints[k]) == 1 && isBox(seen[n], box) {
			seen = seen[:n]
			base++
		}
	}
	a := plane.Arrange(g, mask, ground, seen)
	out := make([]orb.MultiPolygon, len(limits))
	least := int32(0)
	for i, limit := range limits {
		most := int32(limit)
		out[i] = a.Keep(func(w []int32) bool { return w[0] > 0 && w[1] > 0 && base+w[2] >= least && base+w[2] < most })
		least = most
	}
	return out
}

// isBox reports whether a ring has the corners of a box and no others.
func isBox(ring orb.Ring, box orb.Bound) bool {
	if len(ring) != 4 {
		return false
	}
	for i, p := range ring {
		for axis := range 2 {
			if p[axis] != box.Min[axis] && p[axis] != box.Max[axis] || p[axis] == ring[(i+2)%4][axis] {
				return false
			}
		}
	}
	return true
}

// clipper cuts rings to boxes.
type clipper struct{ from, to []orb.Point }

// add appends the part of a ring within the box, if any. Where that is in
// several pieces, lines along the rim of the box join them, there and back, so
// that the winding of what is inside stays as it was.
func (c *clipper) add(rings []orb.Ring, ring orb.Ring, box orb.Bound) []orb.Ring {
	e := extentOf(ring)
	if e.right < box.Min[0] || e.left > box.Max[0] || e.high < box.Min[1] || e.low > box.Max[1] {
		return rings
	}
	if e.left >= box.Min[0] && e.right <= box.Max[0] && e.low >= box.Min[1] && e.high <= box.Max[1] {
		return append(rings, ring)
	}
	c.from = append(c.from[:0], ring[:len(ring)-1]...)
	for axis := range 2 {
		c.cut(axis, box.Min[axis], 1)
		c.cut(axis, box.Max[axis], -1)
	}
	if len(c.from) < 3 {
		return rings
	}
	return append(rings, slices.Clone(c.from))
}

// cut keeps what lies on one side of a level or upright line (Sutherland and
// Hodgman, Reentrant polygon clipping, 1974).
func (c *clipper) cut(axis int, at, sign float64) {
	c.to = c.to[:0]
	for i, p := range c.from {
		q := c.from[(i+1)%len(c.from)]
		dp, dq := sign*(p[axis]-at), sign*(q[axis]-at)
		if dp >= 0 {
			c.to = append(c.to, p)
		}
		if dp > 0 && dq < 0 || dp < 0 && dq > 0 {
			other := 1 - axis
			var x orb.Point
			x[axis] = at
			x[other] = p[other] + (q[other]-p[other])*(dp/(dp-dq))
			c.to = append(c.to, x)
		}
	}
	c.from, c.to = c.to, c.from
}
