package plane

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"
)

// Keep returns the union of all faces whose windings, one a layer, satisfy the
// rule. The polygons are valid by the rules of OGC Simple Features: outlines
// counter-clockwise, holes clockwise, rings that touch each other in points at
// most. w is valid during the call only.
func (a *Arrangement) Keep(rule func(w []int32) bool) orb.MultiPolygon {
	inside := make([]bool, len(a.halves)) // whether a half's left is kept
	for h := range a.halves {
		inside[h] = rule(a.windings(int32(h)))
	}
	onRim := func(h int32) bool { return inside[h] && !inside[a.halves[h].twin] }

	t := tracer{a: a, loopOf: make([]int32, len(a.halves)), leaving: make([]int32, len(a.around)-1)}
	for h := range t.loopOf {
		t.loopOf[h] = -1
		if onRim(int32(h)) {
			t.leaving[a.halves[h].node]++
		}
	}
	for h := range int32(len(a.halves)) {
		if onRim(h) && t.loopOf[h] < 0 {
			t.walk(h, onRim)
		}
	}
	return t.polygons(onRim)
}

// tracer gathers the rims of kept faces.
type tracer struct {
	a       *Arrangement
	walks   []walk
	loopOf  []int32 // the walk that a half belongs to
	leaving []int32 // how many rim halves start at a node
}

// walk is one connected piece of the rim of one face, as simple loops of halves.
type walk struct {
	shell  []int32 // empty when the walk bounds the face from within
	holes  [][]int32
	lowest cell
}

// walk follows the rim from h with the face on its left. At each node it turns
// to the next rim edge clockwise from where it came, and so stays with the
// same face; wherever it comes to a node again it has closed a loop.
func (t *tracer) walk(h int32, onRim func(int32) bool) {
	number := int32(len(t.walks))
	w := walk{lowest: t.a.halves[h].from}
	var path []int32
	at := map[int32]int{} // place in path of the half that leaves a node
	for t.loopOf[h] < 0 {
		t.loopOf[h] = number
		from := t.a.halves[h]
		if from.from.y < w.lowest.y || from.from.y == w.lowest.y && from.from.x < w.lowest.x {
			w.lowest = from.from
		}
		at[from.node] = len(path)
		path = append(path, h)
		h = t.next(h, onRim)
		if i, again := at[t.a.halves[h].node]; again {
			loop := slices.Clone(path[i:])
			for _, k := range loop {
				delete(at, t.a.halves[k].node)
			}
			path = path[:i]
			if t.counterclockwise(loop) {
				w.shell = loop
			} else {
				w.holes = append(w.holes, loop)
			}
		}
	}
	t.walks = append(t.walks, w)
}

func (t *tracer) next(h int32, onRim func(int32) bool) int32 {
	back := t.a.halves[h].twin
	first, end := t.a.around[t.a.halves[back].node], t.a.around[t.a.halves[back].node+1]
	for k := back; ; {
		if k--; k < first {
			k = end - 1
		}
		if onRim(k) {
			return k
		}
	}
}

// counterclockwise looks at the turn at the lowest, then leftmost, vertex of a
// simple loop, which cannot be straight.
func (t *tracer) counterclockwise(loop []int32) bool {
	lowest := 0
	for i, h := range loop {
		p, q := t.a.halves[h].from, t.a.halves[loop[lowest]].from
		if p.y < q.y || p.y == q.y && p.x < q.x {
			lowest = i
		}
	}
	before := t.a.halves[loop[(lowest+len(loop)-1)%len(loop)]]
	return turn(before.from, before.to, t.a.halves[loop[lowest]].to) > 0
}

// polygons gives every walk without an outline to the face around it, which is
// the one just below its lowest vertex.
func (t *tracer) polygons(onRim func(int32) bool) orb.MultiPolygon {
	var rim *below
	outer := make([]int32, len(t.walks))
	var find func(i int32) int32
	find = func(i int32) int32 {
		if len(t.walks[i].shell) > 0 {
			return i
		}
		if outer[i] == 0 {
			if rim == nil {
				rim = newBelow(t.a.halves, func(h half) bool {
					at := t.a.halves[h.twin].twin
					return onRim(at) || onRim(h.twin)
				})
			}
			h := rim.highest(t.walks[i].lowest)
			outer[i] = find(t.loopOf[h]) + 1
		}
		return outer[i] - 1
	}
	holes := make([][]int32, len(t.walks)) // walks whose holes a walk's outline gets
	for i := range t.walks {
		to := find(int32(i))
		holes[to] = append(holes[to], int32(i))
	}
	var out orb.MultiPolygon
	for i, w := range t.walks {
		if len(w.shell) == 0 {
			continue
		}
		polygon := orb.Polygon{t.ring(w.shell)}
		for _, from := range holes[i] {
			for _, hole := range t.walks[from].holes {
				polygon = append(polygon, t.ring(hole))
			}
		}
		out = append(out, polygon)
	}
	slices.SortStableFunc(out, func(p, q orb.Polygon) int {
		return cmp.Or(cmp.Compare(p[0][0][0], q[0][0][0]), cmp.Compare(p[0][0][1], q[0][0][1]))
	})
	return out
}

// ring leaves out the nodes that came in along a straight edge only. One where
// rings touch stays: on the edge alone it would not lie exactly, once its
// coordinates are divided into degrees or metres.
func (t *tracer) ring(loop []int32) orb.Ring {
	ring := make(orb.Ring, 0, len(loop)+1)
	before := t.a.halves[loop[len(loop)-1]].from
	for _, h := range loop {
		from, to := t.a.halves[h].from, t.a.halves[h].to
		if t.leaving[t.a.halves[h].node] > 1 || t.a.given[from] || turn(before, from, to) != 0 {
			ring = append(ring, t.a.grid.point(from))
			before = from
		}
	}
	return append(ring, ring[0])
}
