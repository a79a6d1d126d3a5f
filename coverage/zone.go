package coverage

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
	"selvage/coverage/views"
)

// bands returns the classes of views, without shapes: none, one, fewer than
// wanted, and wanted or more.
func bands(wanted int) []ViewBand {
	out := []ViewBand{{From: 0, To: 0}, {From: 1, To: 1}, {From: 2, To: wanted - 1}, {From: wanted, To: -1}}
	return slices.DeleteFunc(out, func(b ViewBand) bool { return b.To >= wanted || b.To >= 0 && b.To < b.From })
}

// viewBands divides the site by views. Shapes are in plane metres.
func viewBands(site orb.MultiPolygon, footprints []orb.Ring, wanted int) []ViewBand {
	out := bands(wanted)
	enough := len(out) - 1
	var limits []int
	for _, b := range out[:enough] {
		limits = append(limits, b.To+1)
	}
	seen := make([]views.Footprint, len(footprints))
	for i := range footprints {
		seen[i] = footprints[i : i+1]
	}
	short := views.Below(site, seen, limits)
	for i := range short {
		out[i].Shape = short[i]
	}
	grid := plane.MetreGrid(site.Bound())
	out[enough].Shape = plane.Difference(grid, site, plane.Union(grid, short...))
	for i := range out {
		out[i].Area = areaOf(out[i].Shape)
	}
	return out
}

// totalsOf sums the bands into the classes of shortfall.
func totalsOf(bands []ViewBand, wanted int) (t Totals, site float64) {
	var enough float64
	for _, b := range bands {
		site += b.Area
		switch {
		case b.From == 0:
			t.Gap = b.Area
		case b.From == 1 && b.To == 1:
			t.NoStereo = b.Area
		case b.From < wanted:
			t.Thin = b.Area
		}
		if b.From >= wanted {
			enough += b.Area
		}
	}
	if site > 0 {
		t.CoveredShare = 1 - t.Gap/site
		t.EnoughShare = enough / site
	}
	return t, site
}

// kindOf returns the class of a band that falls short of the wanted views.
func kindOf(b ViewBand, wanted int) (ZoneKind, bool) {
	switch {
	case b.From >= wanted:
		return "", false
	case b.From == 0:
		return Gap, true
	case b.From == 1:
		return NoStereo, true
	}
	return Thin, true
}

// zonesOf lists the pieces of the bands that fall short, gaps first and larger
// ones first, in plane metres.
func zonesOf(bands []ViewBand, wanted int, least float64) []Zone {
	var zones []Zone
	for _, b := range bands {
		kind, short := kindOf(b, wanted)
		if !short {
			continue
		}
		first := len(zones)
		for _, p := range b.Shape {
			if area := areaOf(orb.MultiPolygon{p}); area >= least {
				zones = append(zones, Zone{Kind: kind, Area: area, Label: labelPoint(p), Shape: p})
			}
		}
		slices.SortStableFunc(zones[first:], func(a, b Zone) int { return cmp.Compare(b.Area, a.Area) })
	}
	return zones
}

// labelPoint returns a point inside a valid polygon, well off its rim: the best
// middle of its widest pieces along a few level lines.
func labelPoint(p orb.Polygon) orb.Point {
	const lines = 15
	var heights []float64
	for _, ring := range p {
		for _, v := range ring {
			heights = append(heights, v[1])
		}
	}
	slices.Sort(heights)
	heights = slices.Compact(heights)
	best, farthest := orb.Point{}, -1.0
	for i := range lines {
		y := mix(heights[0], heights[len(heights)-1], (float64(i)+0.5)/lines)
		if k, hit := slices.BinarySearch(heights, y); hit && k+1 < len(heights) {
			y = (y + heights[k+1]) / 2
		}
		middle, ok := widestMiddle(p, y)
		if !ok {
			continue
		}
		if d := plane.BoundaryDistance(orb.MultiPolygon{p}, middle); d > farthest {
			best, farthest = middle, d
		}
	}
	return best
}

// widestMiddle returns the middle of the widest piece of a level line inside a
// polygon. y must not be the height of a vertex.
func widestMiddle(p orb.Polygon, y float64) (orb.Point, bool) {
	var crossings []float64
	for _, ring := range p {
		for k := 1; k < len(ring); k++ {
			a, b := ring[k-1], ring[k]
			if (a[1] < y) != (b[1] < y) {
				crossings = append(crossings, mix(a[0], b[0], (y-a[1])/(b[1]-a[1])))
			}
		}
	}
	slices.Sort(crossings)
	x, widest := 0.0, 0.0
	for k := 1; k < len(crossings); k += 2 {
		if w := crossings[k] - crossings[k-1]; w > widest {
			x, widest = (crossings[k]+crossings[k-1])/2, w
		}
	}
	return orb.Point{x, y}, widest > 0
}

func areaOf(mp orb.MultiPolygon) float64 {
	var sum float64
	for _, p := range mp {
		sum += math.Abs(planar.Area(p))
	}
	return sum
}
