package boundary

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Margin is how far and how the site area is extended.
type Margin struct {
	Buffer     float64 // metres on the ground, over 0
	Join       plane.Join
	MitreLimit float64 // 0: 5
}

// Flight is the flight area: the site area extended by its margin.
type Flight struct {
	Areas       []Area  // one polygon each
	Area        float64 // m²
	MinDistance float64 // least distance in metres from its boundary to the site area's
	Vertices    int
	Findings    []finding.Finding
}

// Shape returns all areas as one multi-polygon.
func (f Flight) Shape() orb.MultiPolygon {
	var mp orb.MultiPolygon
	for _, a := range f.Areas {
		mp = append(mp, a.Shape...)
	}
	return mp
}

const (
	// flightDecimals is the precision of the flight area: 1e-8 degrees is 1.1 mm.
	flightDecimals = 8
	// deviation is how far, in metres, a straight side in the plane may leave
	// the straight side between the same longitudes and latitudes.
	deviation = 0.002
	// arcTolerance is how far an arc may reach beyond the true one.
	arcTolerance = 0.005
	// slack is added to the buffer, so that the deviation (2 mm), the rounding
	// to decimals (0.8 mm along the diagonal) and the cells of the plane's grid
	// (0.1 mm each way) cannot make it fall short.
	slack = 0.003
	// shortfall is the most that the least distance may be under the buffer.
	shortfall = 0.01
)

// Expand extends the site area by the margin and proves the result: it is
// valid, contains the site area, and keeps the buffer to 1 cm everywhere. It
// is an error if one of these fails, if the margin is not positive, or if the
// site is wider than 200 km.
func Expand(s Site, m Margin) (Flight, error) {
	if !(m.Buffer > 0 && m.Buffer <= 10000) {
		return Flight{}, fmt.Errorf("the buffer must be over 0 m and at most 10 km, not %g m", m.Buffer)
	}
	site := s.Shape()
	frame, err := plane.FrameFor(site)
	if err != nil {
		return Flight{}, err
	}
	ground := frame.ToMetres(site, deviation)
	outline := plane.Offset(ground, m.Buffer+slack, plane.Style{Join: m.Join, MitreLimit: m.MitreLimit, ArcTolerance: arcTolerance})
	shape := frame.ToDegrees(outline)
	// Once more on the decimals that are written, so that it is valid as written.
	shape = plane.Union(plane.DegreeGrid(shape.Bound(), flightDecimals), shape)

	f := Flight{Area: plane.GeodesicArea(shape), Vertices: corners(shape)}
	if f.MinDistance, err = Prove(site, shape, m.Buffer); err != nil {
		return Flight{}, err
	}
	f.name(s, shape)
	f.Findings = append(f.Findings, filled(s, shape)...)
	return f, nil
}

// Prove checks that the flight area is valid, contains the site area, and that
// its boundary keeps the buffer to 1 cm. It returns the least distance in
// metres between the boundaries.
func Prove(site, flight orb.MultiPolygon, buffer float64) (float64, error) {
	if err := plane.Valid(flight); err != nil {
		return 0, fmt.Errorf("the flight area is not valid: %w", err)
	}
	frame, err := plane.FrameFor(flight)
	if err != nil {
		return 0, err
	}
	siteGround, flightGround := frame.ToMetres(site, deviation/2), frame.ToMetres(flight, deviation/2)
	distance := plane.LeastDistance(siteGround, flightGround)
	if distance < buffer-shortfall {
		return 0, fmt.Errorf("the flight area keeps only %s from the site area, %s were asked", metres(distance), metres(buffer))
	}
	// The boundaries stay apart, so that each piece of one lies wholly inside
	// or outside the other: one vertex of each ring tells.
	for _, p := range siteGround {
		if !plane.Contains(flightGround, p[0][0]) {
			return 0, fmt.Errorf("the flight area does not hold the part of the site area at %s", latLon(frame.Degrees(p[0][0])))
		}
	}
	for _, p := range flightGround {
		for _, ring := range p {
			if plane.Contains(siteGround, ring[0]) {
				return 0, fmt.Errorf("the flight area leaves out ground of the site area at %s", latLon(frame.Degrees(ring[0])))
			}
		}
	}
	return distance, nil
}

// name makes one area of each polygon, named after the parts that it holds.
func (f *Flight) name(s Site, shape orb.MultiPolygon) {
	for _, polygon := range shape {
		var names []string
		pieces := 0
		for _, a := range s.Areas {
			if !slices.ContainsFunc(a.Shape, func(p orb.Polygon) bool { return plane.Contains(orb.MultiPolygon{polygon}, p[0][0]) }) {
				continue
			}
			pieces++
			if a.Name != "" && !slices.Contains(names, a.Name) {
				names = append(names, a.Name)
			}
		}
		f.Areas = append(f.Areas, Area{Name: strings.Join(names, " + "), Shape: orb.MultiPolygon{polygon}})
		if pieces > 1 {
			p := polygon[0][0]
			f.Findings = append(f.Findings, finding.Finding{Code: finding.PartsMerged, Severity: finding.Note, Place: finding.Place{}.At(p[0], p[1]), Amount: float64(pieces), Unit: "parts",
				Text: fmt.Sprintf("With their buffers %d parts meet and are flown as one area: %s.", pieces, strings.Join(names, ", "))})
		}
	}
}

// filled lists the site area's holes that the flight area covers altogether.
func filled(s Site, flight orb.MultiPolygon) []finding.Finding {
	var found []finding.Finding
	for _, a := range s.Areas {
		for _, polygon := range a.Shape {
			for _, hole := range polygon[1:] {
				outside := slices.ContainsFunc(flight, func(p orb.Polygon) bool {
					return slices.ContainsFunc(p[1:], func(r orb.Ring) bool {
						return plane.Contains(orb.MultiPolygon{{hole}}, r[0])
					})
				})
				if outside {
					continue
				}
				area := plane.GeodesicArea(orb.MultiPolygon{{hole}})
				centre := hole.Bound().Center()
				found = append(found, finding.Finding{Code: finding.HoleFilled, Severity: finding.Note, Place: finding.Place{Name: a.Name}.At(centre[0], centre[1]), Amount: area, Unit: "m²",
					Text: fmt.Sprintf("The buffer fills a hole of %s in “%s”; it will be flown over.", squareMetres(area), a.Name)})
			}
		}
	}
	return found
}

// latLon writes a place as latitude, longitude.
func latLon(p orb.Point) string {
	p = plane.WrapPoint(p)
	ns, ew := "N", "E"
	if p[1] < 0 {
		ns = "S"
	}
	if p[0] < 0 {
		ew = "W"
	}
	return fmt.Sprintf("%.6f° %s, %.6f° %s", math.Abs(p[1]), ns, math.Abs(p[0]), ew)
}
