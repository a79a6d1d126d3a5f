package boundary

import (
	"fmt"
	"io"
	"math"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"

	"selvage/boundary/finding"
)

// WriteKML writes areas for flight controllers and map viewers: one placemark
// for each polygon that SplitAreas makes of them, clamped to the ground and
// without heights. It fails as SplitAreas does, before anything is written.
func WriteKML(w io.Writer, document string, areas []Area) error {
	split, err := SplitAreas(areas)
	if err != nil {
		return err
	}
	doc := kml.Document(kml.Name(document))
	for _, area := range split {
		doc.Add(kml.Placemark(kml.Name(area.Name), KMLPolygon(area.Shape[0])))
	}
	return WriteKMLDocument(w, doc)
}

// WriteKMLDocument writes a document as a file of KML 2.2.
func WriteKMLDocument(w io.Writer, document *kml.DocumentElement) error {
	if err := kml.KML(document).WriteIndent(w, "", " "); err != nil {
		return fmt.Errorf("writing KML: %w", err)
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// KMLPolygon is a polygon that SplitAreas made, clamped to the ground.
func KMLPolygon(p orb.Polygon) kml.Element {
	shape := kml.Polygon(kml.Tessellate(true), kml.AltitudeMode(kml.AltitudeModeClampToGround))
	for i, ring := range p {
		coordinates := make([]kml.Coordinate, len(ring))
		for k, p := range ring {
			coordinates[k] = kml.Coordinate{Lon: p[0], Lat: p[1]}
		}
		boundary := kml.LinearRing(kml.Coordinates(coordinates...))
		if i == 0 {
			shape.Add(kml.OuterBoundaryIs(boundary))
		} else {
			shape.Add(kml.InnerBoundaryIs(boundary))
		}
	}
	return shape
}

// SplitAreas returns the areas as files carry them, one polygon each under a
// name of its own. Degrees are rounded to 8 decimals, about a millimetre. Rings
// are closed, outlines run counter-clockwise and holes clockwise. It fails on a
// position that is not on the globe and on a ring that encloses nothing. A
// shape across the antimeridian is cut there.
func SplitAreas(areas []Area) ([]Area, error) {
	taken := map[string]bool{}
	var split []Area
	for _, area := range areas {
		for i, polygon := range OnGlobe(area.Shape) {
			if len(polygon) == 0 {
				return nil, fmt.Errorf("area %s, polygon %d: it has no outline", quote(area.Name), i+1)
			}
			rings := make(orb.Polygon, len(polygon))
			for k, ring := range polygon {
				rounded, err := writtenRing(ring, k == 0, round8)
				if err != nil {
					return nil, fmt.Errorf("area %s, polygon %d: ring %d: %w", quote(area.Name), i+1, k+1, err)
				}
				rings[k] = rounded
			}
			split = append(split, Area{Name: uniqueName(area.Name, taken), Shape: orb.MultiPolygon{rings}})
		}
	}
	return split, nil
}

// uniqueName returns name on one line and printable, or that with the first
// free number from 2 on. It is cut where readers would cut the number off.
func uniqueName(name string, taken map[string]bool) string {
	if name = printable(name, 180); name == "" {
		name = "Area"
	}
	unique := name
	for n := 2; taken[unique]; n++ {
		unique = fmt.Sprintf("%s %d", name, n)
	}
	taken[unique] = true
	return unique
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

func round8(degrees float64) float64 { return finding.Round(degrees, 8) }
