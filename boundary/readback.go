package boundary

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Reread reads a file that was written and holds it against the areas that it
// is to carry: the same polygons under the same names, each valid, rings closed
// and running as they should, every vertex the same to half of the eighth
// decimal, and no heights (those that are 0 are passed over). It returns what
// the file has, one polygon an area. The error is one sentence.
func Reread(name string, data []byte, want []Area) ([]Area, error) {
	file, err := Read(name, data, Options{})
	if err != nil {
		return nil, fmt.Errorf("the file does not hold what was to be written: %w", err)
	}
	back, err := reread(file, want)
	if err != nil {
		return nil, fmt.Errorf("%s does not hold what was to be written: %w", name, err)
	}
	return back, nil
}

func reread(file *File, want []Area) ([]Area, error) {
	if len(file.Findings) > 0 {
		return nil, fmt.Errorf("on reading it back: %s", file.Findings[0].Text)
	}
	taken := map[string]bool{}
	var names []string
	var polygons []orb.Polygon
	for _, area := range want {
		for _, polygon := range OnGlobe(area.Shape) {
			names = append(names, uniqueName(area.Name, taken))
			polygons = append(polygons, polygon)
		}
	}
	if len(file.Parts) != len(polygons) {
		return nil, fmt.Errorf("%s instead of %d", count(len(file.Parts), "polygon", "polygons"), len(polygons))
	}
	back := make([]Area, len(polygons))
	for i, part := range file.Parts {
		if part.Name != names[i] {
			return nil, fmt.Errorf("polygon %d is called %s, not %s", i+1, quote(part.Name), quote(names[i]))
		}
		if err := samePolygon(part.Polygon, polygons[i]); err != nil {
			return nil, fmt.Errorf("polygon %d (%s): %w", i+1, quote(part.Name), err)
		}
		back[i] = Area{Name: part.Name, Shape: orb.MultiPolygon{part.Polygon}}
	}
	return back, nil
}

// halfStep is half of the last decimal that is written, in degrees, and a
// little for what float64 rounds.
const halfStep = 0.5e-8 + 1e-12

// samePolygon holds a polygon that was read against the one that was written.
func samePolygon(read, want orb.Polygon) error {
	if len(read) != len(want) {
		return fmt.Errorf("%s instead of %d", count(len(read), "ring", "rings"), len(want))
	}
	for i, ring := range read {
		if n := len(ring); n < 4 || ring[0] != ring[n-1] {
			return fmt.Errorf("ring %d is not closed", i+1)
		}
		if (ring.Orientation() == orb.CCW) != (i == 0) {
			return fmt.Errorf("ring %d runs the wrong way round", i+1)
		}
		wanted := want[i]
		if wanted.Orientation() != ring.Orientation() {
			wanted = wanted.Clone()
			wanted.Reverse()
		}
		if len(ring) != len(wanted) {
			return fmt.Errorf("ring %d has %s instead of %d", i+1, count(len(ring), "position", "positions"), len(wanted))
		}
		for k, p := range ring {
			if off := max(math.Abs(p[0]-wanted[k][0]), math.Abs(p[1]-wanted[k][1])); !(off <= halfStep) {
				return fmt.Errorf("ring %d, vertex %d is off by %.8f degrees", i+1, k+1, off)
			}
		}
	}
	return plane.Valid(orb.MultiPolygon{read})
}

// ProveWritten proves what was read back, all files together, as Expand proved
// the flight area. It returns the least distance in metres from its boundary
// to the site area's.
func ProveWritten(s Site, m Margin, written []Area) (float64, error) {
	frame, err := plane.FrameFor(s.Shape())
	if err != nil {
		return 0, err
	}
	flight := Flight{Areas: whole(written, s.Shape().Bound().Center()[0])}
	if len(flight.Areas) == 0 {
		return 0, ErrVanished
	}
	e := expander{site: s, margin: m, frame: frame}
	e.keepOut = e.keptOut()
	err = e.prove(&flight)
	return flight.MinDistance, err
}

// whole joins the areas that were cut at the antimeridian, and moves all by
// whole turns to within half a turn of a longitude.
func whole(written []Area, lon float64) []Area {
	var areas []Area
	var cut []orb.MultiPolygon
	var bound orb.Bound
	for _, area := range written {
		b := area.Shape.Bound()
		turns := 360 * math.Round((lon-b.Center()[0])/360)
		shape := transformed(area.Shape, func(p orb.Point) orb.Point { return orb.Point{p[0] + turns, p[1]} })
		if b.Min[0] > -180 && b.Max[0] < 180 {
			areas = append(areas, Area{Name: area.Name, Shape: shape})
			continue
		}
		if cut = append(cut, shape); len(cut) == 1 {
			bound = shape.Bound()
		}
		bound = bound.Union(shape.Bound())
	}
	if len(cut) > 0 {
		joined := plane.Union(plane.DegreeGrid(bound, flightDecimals), cut...)
		areas = append(areas, Area{Shape: joined})
	}
	return areas
}
