package plane

import (
	"slices"
	"sync"

	"github.com/paulmach/orb"
)

// scratch is memory in which one arrangement after the other is made.
type scratch struct {
	noder        noder
	weights      weights
	single       []singleChain
	nodes        nodeNumbers
	starts, next []int32
	known        []bool
}

// workspace is memory for an arrangement of which nothing is left but what is kept of it.
type workspace struct {
	scratch
	arrangement Arrangement
	tracer      tracer
}

var workspaces = sync.Pool{New: func() any { return new(workspace) }}

// mostReused is how many vertices an arrangement may have whose memory is used
// again. That of a larger one goes step by step, as soon as it is not needed.
const mostReused = 1 << 16

// keep returns the union of all faces of an arrangement that satisfy the rule,
// as Arrangement.Keep does.
func keep(g Grid, rule func(w []int32) bool, layers ...[]orb.Ring) orb.MultiPolygon {
	vertices := 0
	for _, layer := range layers {
		for _, ring := range layer {
			vertices += len(ring)
		}
	}
	if vertices > mostReused {
		return Arrange(g, layers...).Keep(rule)
	}
	w := workspaces.Get().(*workspace)
	w.arrangement.arrange(&w.scratch, g, layers)
	kept := w.tracer.trace(&w.arrangement, rule)
	workspaces.Put(w)
	return kept
}

// sized returns n zero values, in the memory of s if it is enough.
func sized[T any](s []T, n int) []T {
	s = room(s, n)[:n]
	clear(s)
	return s
}

// room returns nothing, with room for n values, in the memory of s if it is enough.
func room[T any](s []T, n int) []T { return slices.Grow(s[:0], n) }
