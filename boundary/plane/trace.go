package plane

import (
	"github.com/paulmach/orb"
)

// Keep returns the union of all faces whose windings, one a layer, satisfy the
// rule. The polygons are valid by the rules of OGC Simple Features: outlines
// counter-clockwise, holes clockwise, rings that touch each other in points at
// most. w is valid during the call only.
func (a *Arrangement) Keep(rule func(w []int32) bool) orb.MultiPolygon {
	var t tracer
	return t.trace(a, rule)
}

func (t *tracer) trace(a *Arrangement, rule func(w []int32) bool) orb.MultiPolygon {
	t.a = a
	t.inside, t.rim, t.walkOf = sized(t.inside, len(a.halves)), sized(t.rim, len(a.halves)), sized(t.walkOf, len(a.halves))
	t.leaving, t.place = sized(t.leaving, len(a.around)-1), sized(t.place, len(a.around)-1)
	for h := range a.halves {
		t.inside[h] = rule(a.windings(int32(h)))
	}
	rims := 0
	for h := range a.halves {
		t.walkOf[h] = -1
		if t.inside[h] && !t.inside[a.halves[h].twin] {
			t.rim[h] = true
			t.leaving[a.halves[h].node]++
			rims++
		}
	}
	t.looped = room(t.looped, rims)
	rings := min(rims, len(a.curves.layers)) // as many as came in are usual
	t.loops, t.walks = room(t.loops, rings), room(t.walks, rings)
	for h := range int32(len(a.halves)) {
		if t.rim[h] && t.walkOf[h] < 0 {
			t.walk(h)
		}
	}
	kept := t.polygons()
	t.points = nil
	return kept
}

// tracer gathers the rims of kept faces.
type tracer struct {
	a       *Arrangement
	inside  []bool  // whether a half's left is kept
	rim     []bool  // whether a half has a kept face on its left only
	walkOf  []int32 // the walk that a half belongs to
	leaving []int32 // how many rim halves start at a node
	place   []int32 // of each node of the walk at hand: where in the path it was left, plus one
	path    []int32
	looped  []int32 // the halves of all loops, one loop after the other
	loops   []loop
	walks   []walk
	points  []orb.Point // of the rings that were made
}

// walk is one connected piece of the rim of one face, as simple loops.
type walk struct {
	outline bool // whether one of the loops is the face's outline
	first   int32
	lowest  cell
}

// loop is a simple loop of halves: those from first to end in looped.
type loop struct {
	walk       int32
	outline    bool
	first, end int32
}

// walk follows the rim from h with the face on its left. At each node it turns
// to the next rim half clockwise from where it came, and so stays with the
// same face; wherever it comes to a node again it has closed a loop.
func (t *tracer) walk(h int32) {
	number := int32(len(t.walks))
	w := walk{first: h, lowest: t.a.from(t.a.halves[h])}
	path := t.path[:0]
	for t.walkOf[h] < 0 {
		t.walkOf[h] = number
		from := t.a.halves[h]
		if p := t.a.curves.points[t.a.chains[from.chain].lowest]; p.lower(w.lowest) {
			w.lowest = p
		}
		path = append(path, h)
		t.place[from.node] = int32(len(path))
		h = t.next(h)
		if at := t.place[t.a.halves[h].node]; at > 0 {
			closed := path[at-1:]
			for _, k := range closed {
				t.place[t.a.halves[k].node] = 0
			}
			path = path[:at-1]
			l := loop{walk: number, outline: t.counterclockwise(closed), first: int32(len(t.looped))}
			t.looped = append(t.looped, closed...)
			l.end = int32(len(t.looped))
			t.loops = append(t.loops, l)
			w.outline = w.outline || l.outline
		}
	}
	t.path = path
	t.walks = append(t.walks, w)
}

func (t *tracer) next(h int32) int32 {
	back := t.a.halves[h].twin
	first, end := t.a.around[t.a.halves[back].node], t.a.around[t.a.halves[back].node+1]
	for k := back; ; {
		if k--; k < first {
			k = end - 1
		}
		if t.rim[k] {
			return k
		}
	}
}

// counterclockwise looks at the turn at the lowest, then leftmost, vertex of a
// simple loop, which cannot be straight.
func (t *tracer) counterclockwise(loop []int32) bool {
	points := t.a.curves.points
	lowest := 0
	for i, h := range loop {
		if points[t.chain(h).lowest].lower(points[t.chain(loop[lowest]).lowest]) {
			lowest = i
		}
	}
	h := t.a.halves[loop[lowest]]
	c := t.a.chains[h.chain]
	at := points[c.lowest]
	switch {
	case c.lowest > c.first && c.lowest < c.last:
		return (turn(points[c.lowest-1], at, points[c.lowest+1]) > 0) != h.backward
	case at == t.a.from(h):
		before := t.a.halves[loop[(lowest+len(loop)-1)%len(loop)]]
		return turn(t.a.next(t.a.halves[before.twin]), at, t.a.next(h)) > 0
	}
	after := t.a.halves[loop[(lowest+1)%len(loop)]]
	return turn(t.a.next(t.a.halves[h.twin]), at, t.a.next(after)) > 0
}

func (t *tracer) chain(h int32) chain { return t.a.chains[t.a.halves[h].chain] }

// under returns the half that runs rightward along the rim just below a walk.
func (t *tracer) under(w *walk) int32 {
	rim := func(h int32) bool { return t.rim[h] || t.rim[t.a.halves[h].twin] }
	if c := t.a.parts[t.a.partOf[t.a.halves[w.first].node]]; c.lowest == w.lowest && c.under >= 0 && rim(c.under) {
		return c.under
	}
	return t.a.below().highest(w.lowest, rim)
}

// polygons gives every walk without an outline to the face around it, which is
// the one just below its lowest vertex.
func (t *tracer) polygons() orb.MultiPolygon {
	outer := make([]int32, len(t.walks)) // the walk that has the outline, plus one
	var chased []int32
	find := func(i int32) int32 {
		chased = chased[:0]
		for !t.walks[i].outline && outer[i] == 0 {
			chased = append(chased, i)
			i = t.walkOf[t.under(&t.walks[i])]
		}
		if outer[i] > 0 {
			i = outer[i] - 1
		}
		for _, j := range chased {
			outer[j] = i + 1
		}
		return i
	}
	rings := make([]int32, len(t.walks)) // how many, by the walk that has the outline
	polygons, points := 0, 0
	for _, l := range t.loops {
		rings[find(l.walk)]++
		if l.outline {
			polygons++
		}
		points++
		for _, h := range t.looped[l.first:l.end] {
			points += int(t.chain(h).last - t.chain(h).first)
		}
	}
	if polygons == 0 {
		return nil
	}
	t.points = make([]orb.Point, 0, points)
	out := make(orb.MultiPolygon, 0, polygons)
	number := make([]int32, len(t.walks))
	for _, l := range t.loops {
		if l.outline {
			number[l.walk] = int32(len(out))
			out = append(out, append(make(orb.Polygon, 0, rings[l.walk]), t.ring(t.looped[l.first:l.end])))
		}
	}
	for _, l := range t.loops {
		if !l.outline {
			to := &out[number[find(l.walk)]]
			*to = append(*to, t.ring(t.looped[l.first:l.end]))
		}
	}
	return out
}

// ring leaves out the nodes that came in along a straight side only. One where
// rings touch stays: on the side alone it would not lie exactly, once its
// coordinates are divided into degrees or metres.
func (t *tracer) ring(loop []int32) orb.Ring {
	c := t.a.curves
	start := len(t.points)
	ring := t.points
	before := t.a.halves[loop[len(loop)-1]]
	previous, made := t.a.next(t.a.halves[before.twin]), t.made(before.twin)
	for _, i := range loop {
		h := t.a.halves[i]
		at := t.a.from(h)
		if t.leaving[h.node] > 1 || !made || !t.made(i) || turn(previous, at, t.a.next(h)) != 0 {
			ring = append(ring, t.a.grid.point(at))
			previous = at
		}
		made = t.made(h.twin)
		if chain := t.a.chains[h.chain]; h.backward {
			for k := chain.last - 1; k > chain.first; k-- {
				ring = append(ring, t.a.grid.point(c.points[k]))
				previous = c.points[k]
			}
		} else {
			for k := chain.first + 1; k < chain.last; k++ {
				ring = append(ring, t.a.grid.point(c.points[k]))
				previous = c.points[k]
			}
		}
	}
	t.points = append(ring, ring[start])
	return orb.Ring(t.points[start:len(t.points):len(t.points)])
}

// made reports whether the node at which a half starts is a break in its ring.
func (t *tracer) made(h int32) bool {
	if c := t.chain(h); t.a.halves[h].backward {
		return t.a.curves.flags[c.last]&isMade != 0
	} else {
		return t.a.curves.flags[c.first]&isMade != 0
	}
}
