package plane

import "github.com/paulmach/orb"

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
	for _, rings := range l.polygons {
		if len(rings) == 0 || rings[0].locate(p) < 0 {
			continue
		}
		inHole := false
		for _, hole := range rings[1:] {
			if inHole = hole.locate(p) > 0; inHole {
				break
			}
		}
		if !inHole {
			return true
		}
	}
	return false
}
