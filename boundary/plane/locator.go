package plane

import (
	"slices"

	"github.com/paulmach/orb"
)

// Locator tells of many points whether they lie in one area.
type Locator struct {
	polygons [][]*boxTree // of each polygon, a tree for each ring
}

// NewLocator indexes an area, which must be valid.
func NewLocator(mp orb.MultiPolygon) Locator {
	var l Locator
	for _, polygon := range mp {
		var rings []*boxTree
		for _, ring := range polygon {
			rings = append(rings, newBoxTree(edgesOf(orb.MultiPolygon{{ring}})))
		}
		l.polygons = append(l.polygons, rings)
	}
	return l
}

// Contains is as the function Contains.
func (l Locator) Contains(p orb.Point) bool {
	return slices.ContainsFunc(l.polygons, func(rings []*boxTree) bool { return holds(rings, p, (*boxTree).locate) })
}
