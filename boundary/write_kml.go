package boundary

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"
)

// WriteKML writes areas for flight controllers and map viewers: one placemark
// with one polygon for each polygon of each shape, each under a name of its
// own, clamped to the ground and without heights. Degrees are rounded to 8
// decimals, about a millimetre. Rings are closed, outlines run
// counter-clockwise and holes clockwise. It fails, before anything is written,
// on a position that is not on the globe and on a ring that encloses nothing. A
// shape across the antimeridian is cut there.
func WriteKML(w io.Writer, document string, areas []Area) error {
	doc := kml.Document(kml.Name(document))
	taken := map[string]bool{}
	for _, area := range areas {
		for i, polygon := range onGlobe(area.Shape) {
			rings, err := kmlRings(polygon)
			if err != nil {
				return fmt.Errorf("area %s, polygon %d: %w", quote(area.Name), i+1, err)
			}
			shape := kml.Polygon(kml.Tessellate(true), kml.AltitudeMode(kml.AltitudeModeClampToGround))
			for j, ring := range rings {
				boundary := kml.LinearRing(kml.Coordinates(ring...))
				if j == 0 {
					shape.Add(kml.OuterBoundaryIs(boundary))
				} else {
					shape.Add(kml.InnerBoundaryIs(boundary))
				}
			}
			doc.Add(kml.Placemark(kml.Name(uniqueName(area.Name, taken)), shape))
		}
	}
	if err := kml.KML(doc).WriteIndent(w, "", " "); err != nil {
		return fmt.Errorf("writing KML: %w", err)
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// uniqueName returns name, or name with the first free number from 2 on.
func uniqueName(name string, taken map[string]bool) string {
	if name == "" {
		name = "Area"
	}
	unique := name
	for n := 2; taken[unique]; n++ {
		unique = fmt.Sprintf("%s %d", name, n)
	}
	taken[unique] = true
	return unique
}

func kmlRings(polygon orb.Polygon) ([][]kml.Coordinate, error) {
	if len(polygon) == 0 {
		return nil, fmt.Errorf("it has no outline")
	}
	rings := make([][]kml.Coordinate, len(polygon))
	for i, ring := range polygon {
		rounded, err := writtenRing(ring, i == 0, round8)
		if err != nil {
			return nil, fmt.Errorf("ring %d: %w", i+1, err)
		}
		for _, p := range rounded {
			rings[i] = append(rings[i], kml.Coordinate{Lon: p[0], Lat: p[1]})
		}
	}
	return rings, nil
}

// writtenRing is ring as files carry it: each number rounded, closed, and
// turned counter-clockwise for an outline, clockwise for a hole.
func writtenRing(ring orb.Ring, outline bool, round func(float64) float64) (orb.Ring, error) {
	var out orb.Ring
	for i, p := range ring {
		if !(math.Abs(p[0]) <= 180 && math.Abs(p[1]) <= 90) { // NaN fails too
			return nil, fmt.Errorf("vertex %d at longitude %v, latitude %v is not on the globe", i+1, p[0], p[1])
		}
		out = append(out, orb.Point{round(p[0]), round(p[1])})
	}
	if n := len(out); n > 0 && out[0] != out[n-1] {
		out = append(out, out[0])
	}
	if len(out) < 4 {
		return nil, fmt.Errorf("it has %s; a ring needs 3 or more, and the first again", count(len(out), "position", "positions"))
	}
	switch out.Orientation() {
	case 0:
		return nil, fmt.Errorf("it encloses nothing")
	case orb.CCW:
		if !outline {
			out.Reverse()
		}
	case orb.CW:
		if outline {
			out.Reverse()
		}
	}
	return out, nil
}

// round8 rounds degrees to 8 decimals by way of the text form, whose shortest
// spelling then has no more than those. It returns no minus zero.
func round8(degrees float64) float64 {
	x, _ := strconv.ParseFloat(strconv.FormatFloat(degrees, 'f', 8, 64), 64)
	if x == 0 {
		return 0
	}
	return x
}
