package boundary

import (
	"errors"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Site is the site area: what the client's file means once its faults are
// mended, and the account of each mend.
type Site struct {
	// Areas are valid each by itself. Ground that two parts of the file hold is
	// in one of them only; parts that merely share a side stay apart.
	Areas      []Area
	Mends      []Mended
	Questions  []Question // faults whose readings differ, answered or not
	AreaBefore float64    // m², the client area as drawn, part by part
	Area       float64    // m²
	Perimeter  float64    // m, of outlines and holes
	Findings   []finding.Finding
}

// Shape returns the whole site area as one valid multi-polygon, in which parts
// that share a side are one.
func (s Site) Shape() orb.MultiPolygon {
	shapes := make([]orb.MultiPolygon, len(s.Areas))
	for i, a := range s.Areas {
		shapes[i] = a.Shape
	}
	return unite(shapes)
}

// unite returns the ground of all shapes, with their own coordinates where
// nothing has to change.
func unite(shapes []orb.MultiPolygon) orb.MultiPolygon {
	if len(shapes) == 1 {
		return shapes[0]
	}
	var all orb.MultiPolygon
	for _, shape := range shapes {
		all = append(all, shape...)
	}
	grid := plane.DegreeGrid(all.Bound(), decimals)
	return settle(grid, plane.Union(grid, shapes...), all)
}

// ErrNoArea is returned when a file has no part that can be flown.
var ErrNoArea = errors.New("no part of it encloses ground that could be flown")

// Mend checks every part of the file and mends what it can. The error is
// ErrNoArea, with Site.Findings saying why.
func Mend(f *File, choices Choices) (Site, error) {
	site := Site{Findings: slices.Clone(f.Findings)}
	parts := placeParts(f, &site)
	shapes := make([]orb.MultiPolygon, len(parts))
	for i, part := range parts {
		m := &partMender{part: part, place: part.Place, choices: choices, local: localAt(part.Polygon.Bound().Center())}
		shapes[i] = m.mend()
		site.Findings = append(site.Findings, m.found...)
		site.Mends = append(site.Mends, m.mends...)
		site.Questions = append(site.Questions, m.asked...)
	}
	site.gather(parts, shapes, choices)
	for _, a := range site.Areas {
		area, perimeter := plane.GeodesicSize(a.Shape)
		site.Area += area
		site.Perimeter += perimeter
	}
	if len(parts) == 1 && len(site.Areas) == 1 && site.Areas[0].Shape.Equal(orb.MultiPolygon{parts[0].Polygon}) {
		site.AreaBefore = site.Area
	} else {
		for _, part := range parts {
			site.AreaBefore += plane.GeodesicArea(orb.MultiPolygon{part.Polygon})
		}
	}
	if len(site.Areas) == 0 {
		return site, ErrNoArea
	}
	return site, nil
}

// placeParts returns the parts that lie on the earth, with longitudes that run
// on past 180 degrees where the file crosses that meridian.
func placeParts(f *File, site *Site) []Part {
	var parts []Part
	for _, part := range f.Parts {
		if len(part.Polygon) == 0 || len(part.Polygon[0]) == 0 {
			continue
		}
		if found, usable := inRange(part); !usable {
			site.Findings = append(site.Findings, found)
			continue
		} else if found.Code != "" {
			site.Findings = append(site.Findings, found)
		}
		parts = append(parts, part)
	}
	drawn := make(orb.MultiPolygon, len(parts))
	for i, part := range parts {
		drawn[i] = part.Polygon
	}
	for i, polygon := range plane.Unwrap(drawn) {
		parts[i].Polygon = polygon
	}
	return parts
}

// inRange checks that all coordinates of a part can be longitudes and latitudes.
func inRange(part Part) (found finding.Finding, usable bool) {
	swappable, past180 := true, false
	var first finding.Place // without a position: it is none on the earth
	var given orb.Point
	outside := 0
	for r, ring := range part.Polygon {
		for v, p := range ring {
			lon, lat := math.Abs(p[0]), math.Abs(p[1])
			past180 = past180 || lon > 180
			swappable = swappable && lon <= 90 && lat <= 180
			if lon > 360 || lat > 90 {
				if outside++; outside == 1 {
					first, given = part.Place, p
					first.Ring, first.Vertex = r+1, v+1
				}
			}
		}
	}
	switch {
	case outside > 0 && swappable:
		return finding.Finding{Code: finding.SwappedCoordinates, Severity: finding.NeedsAnswer, Place: first, Amount: float64(outside), Unit: "vertices",
			Text: finding.Say("Longitude and latitude of %s are evidently exchanged: vertex %d would lie at latitude %s. Read the other way round it lies at latitude %s, longitude %s. Please send the file again with longitude first.",
				partName(first), first.Vertex, plain(given[1]), plain(given[0]), plain(given[1]))}, false
	case outside > 0:
		return finding.Finding{Code: finding.OutOfRange, Severity: finding.NeedsAnswer, Place: first, Amount: float64(outside), Unit: "vertices",
			Text: finding.Say("%s has %s off the earth, first vertex %d at longitude %s, latitude %s. The numbers may be metres of a national or UTM grid: please send longitude and latitude on WGS 84.",
				finding.Start(partName(first)), finding.Counted(outside, "vertex", "vertices"), first.Vertex, plain(given[0]), plain(given[1]))}, false
	case past180:
		p := part.Polygon[0][0]
		place := part.Place.At(p[0], p[1])
		return finding.Finding{Code: finding.OutOfRange, Severity: finding.Mended, Place: place,
			Text: finding.Say("%s counts longitudes past 180 degrees; they are taken to run on around the earth.", finding.Start(partName(place)))}, true
	}
	return finding.Finding{}, true
}

// plain writes a number as a file has it, without an exponent.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
