package plane

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

// Runs and bins leave out only pairs that have nothing to tell: round by round,
// all pairs of segments give the same breaks and the same nodes.
func TestNodingAgainstAllPairs(t *testing.T) {
	for _, kind := range hostileKinds {
		r := rand.New(rand.NewPCG(41, 42))
		for i := range 6 {
			drawn := kind.draw(r)
			var rings []orb.Ring
			for _, p := range drawn {
				rings = append(rings, p...)
			}
			var c curves
			c.lay(MetreGrid(drawn.Bound()), [][]orb.Ring{rings})
			for round := range maxPasses {
				all := noder{curves: &curves{points: c.points, flags: slices.Clone(c.flags)}}
				for k := range int32(len(c.points)) {
					for l := range k {
						if (c.flags[k]|c.flags[l])&isLast == 0 {
							all.pair(k, l)
						}
					}
				}
				n := noder{curves: &c}
				n.findBreaks()
				breaks := n.sorted()
				if want := all.sorted(); !slices.Equal(breaks, want) || !slices.Equal(c.flags, all.flags) {
					t.Fatalf("%s, case %d, round %d: %d breaks, by all pairs %d, or other nodes: %v", kind.name, i, round, len(breaks), len(want), drawn)
				}
				if len(breaks) == 0 {
					break
				}
				c.insert(breaks)
			}
		}
	}
}
