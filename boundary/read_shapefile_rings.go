package boundary

import (
	"slices"

	"github.com/paulmach/orb"
)

// turnedRing is a ring of a record with what tells outlines from holes.
type turnedRing struct {
	orb.Ring
	area  float64 // in square units of the numbers, negative when clockwise
	bound orb.Bound
}

// polygons makes polygons of the rings of one record. In a shapefile outlines
// run clockwise and holes counter-clockwise; the largest ring is an outline in
// any case, so a file that has it the other way round is read as well. Rings
// are turned to run as in the other formats, keeping the first vertex.
func (s *shapefile) polygons(rings []orb.Ring) error {
	if len(rings) == 0 {
		s.endPart(s.beginPart(0), nil)
		return nil
	}
	drawn := make([]turnedRing, len(rings))
	largest := 0
	for i, ring := range rings {
		drawn[i] = turnedRing{ring, twiceArea(ring) / 2, ring.Bound()}
		if abs(drawn[i].area) > abs(drawn[largest].area) {
			largest = i
		}
	}
	clockwise := drawn[largest].area <= 0
	var outlines, holes []int
	for i, d := range drawn {
		if clockwise {
			slices.Reverse(d.Ring)
		}
		if i == largest || d.area != 0 && (d.area < 0) == clockwise {
			outlines = append(outlines, i)
		} else {
			holes = append(holes, i)
		}
	}
	within, ok := s.nest(drawn, outlines, holes)
	if !ok {
		return s.fault(0, "the record has %d rings, too many to find out which hole lies in which outline", len(rings))
	}
	for _, o := range outlines {
		at := s.beginPart(0)
		polygon := orb.Polygon{drawn[o].Ring}
		for _, h := range within[o] {
			polygon = append(polygon, drawn[h].Ring)
		}
		s.endPart(at, polygon)
	}
	return nil
}

// nest gives each hole to the outline that most of it lies in, the smaller one
// when there are several, and a hole that lies in none to the outline before
// it. It gives up when that takes too many steps.
func (s *shapefile) nest(drawn []turnedRing, outlines, holes []int) (within map[int][]int, ok bool) {
	within = map[int][]int{}
	for _, h := range holes {
		hole := drawn[h]
		home, most := outlines[0], 0
		for _, o := range outlines {
			if o < h && most == 0 {
				home = o
			}
			outline := drawn[o]
			if s.budget--; len(outlines) == 1 || len(hole.Ring) == 0 || !outline.bound.Intersects(hole.bound) {
				continue
			}
			inside := 0
			for i := range samples {
				s.budget -= len(outline.Ring)
				if encloses(outline.Ring, hole.Ring[i*len(hole.Ring)/samples]) {
					inside++
				}
			}
			if inside > most || inside > 0 && inside == most && abs(outline.area) < abs(drawn[home].area) {
				home, most = o, inside
			}
			if s.budget < 0 {
				return nil, false
			}
		}
		within[home] = append(within[home], h)
	}
	return within, true
}

// samples is how many vertices of a hole are looked at: some of them may lie
// on its outline, or beyond it in a faulty file.
const samples = 7

// encloses reports whether a ring winds around p by the even-odd rule; on the
// ring itself either may come out.
func encloses(ring orb.Ring, p orb.Point) bool {
	inside := false
	for i := range ring {
		a, b := ring[i], ring[(i+1)%len(ring)]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			inside = !inside
		}
	}
	return inside
}

// twiceArea is positive for a ring that runs counter-clockwise.
func twiceArea(ring orb.Ring) float64 {
	sum := 0.0
	for i := 1; i+1 < len(ring); i++ {
		a, b := ring[i], ring[i+1]
		sum += (a[0]-ring[0][0])*(b[1]-ring[0][1]) - (a[1]-ring[0][1])*(b[0]-ring[0][0])
	}
	return sum
}

func abs(x float64) float64 { return max(x, -x) }
