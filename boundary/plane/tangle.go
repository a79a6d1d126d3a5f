package plane

import "github.com/paulmach/orb"

// A round of noding in which sides are held against others more often than this,
// for each vertex and for each place where they may cross, is out of proportion.
// Outlines of 100,000 vertices with 20,000 crossings take 4 looks a vertex, and
// 90,000 tiles side by side 20.
const (
	looksByVertex   = 50
	looksByCrossing = 150
)

// Tangled reports whether the rings of an area, which need not be valid, cross
// or touch beside their vertices in more than so many places, or lie along each
// other so often that finding where would be out of proportion, as when a ring
// goes around the same ground time and again.
func Tangled(g Grid, mp orb.MultiPolygon, most int) bool {
	var rings []orb.Ring
	for _, p := range mp {
		rings = append(rings, p...)
	}
	var c curves
	c.lay(g, [][]orb.Ring{rings})
	// A crossing breaks both sides, and may be found in several bins.
	n := noder{curves: &c, mostLooks: looksByVertex*len(c.points) + looksByCrossing*most, mostBreaks: 2 * 4 * most}
	n.findBreaks()
	return n.givenUp() || len(n.sorted()) > 2*most
}
