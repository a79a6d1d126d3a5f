package report

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/boundary/plane"
)

// WriteGeoJSON writes a feature collection (RFC 7946). Each feature has a
// property "role": site, flight, photo centre, footprint, zone, stretch,
// control point or refly; zones, stretches and re-fly areas are numbered as in the note.
// Positions have at most 8 decimals, and shapes are cut at the antimeridian.
func WriteGeoJSON(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	out := &features{Writer: bufio.NewWriter(w)}
	a := n.Audit
	out.WriteString(`{"type":"FeatureCollection","features":[`)
	if len(n.SiteArea) > 0 {
		out.add(n.SiteArea, struct {
			Role string  `json:"role"`
			Name string  `json:"name,omitempty"`
			Area rounded `json:"area_m2"`
		}{"site", Clean(n.Site), squareMetres(a.SiteArea)})
	}
	if len(n.KeepOut) > 0 {
		out.add(n.KeepOut, struct {
			Role string `json:"role"`
		}{"keep-out"})
	}
	if len(n.FlightArea) > 0 {
		out.add(n.FlightArea, struct {
			Role string `json:"role"`
		}{"flight"})
	}
	for i, r := range a.Refly {
		out.add(r.Shape, struct {
			Role   string `json:"role"`
			Number int    `json:"number"`
			reflyJSON
		}{"refly", i + 1, reflyOf(r)})
	}
	for i, z := range a.Zones {
		out.add(z.Shape, struct {
			Role   string  `json:"role"`
			Number int     `json:"number"`
			Kind   string  `json:"kind"`
			Area   rounded `json:"area_m2"`
			Sure   rounded `json:"certain_share"`
		}{"zone", i + 1, string(z.Kind), squareMetres(z.Area), share(z.Certain)})
	}
	out.addGround("one line", a.OneLine)
	out.addGround("coarse", a.GSDByPlace.Coarse)
	for i, s := range a.Edge.Stretches {
		out.add(s.Path, struct {
			Role     string  `json:"role"`
			Number   int     `json:"number"`
			Ring     int     `json:"ring"`
			From     rounded `json:"from_m"`
			To       rounded `json:"to_m"`
			MinViews int     `json:"min_views"`
		}{"stretch", i + 1, s.Ring + 1, metres(s.From), metres(s.To), s.MinViews})
	}
	out.addPoints(a)
	for _, s := range a.Shots {
		out.add(s.Position, struct {
			Role   string  `json:"role"`
			File   string  `json:"file"`
			Line   int     `json:"line"` // from 1; 0 is none
			Height rounded `json:"height_m"`
			GSD    rounded `json:"gsd_mm"`
		}{"photo centre", Clean(s.File), s.Line + 1, metres(s.Height), millimetres(s.GSD)})
	}
	for _, s := range a.Shots {
		if len(s.Footprint) > 0 {
			out.add(orb.Polygon{s.Footprint}, struct {
				Role string `json:"role"`
				File string `json:"file"`
			}{"footprint", Clean(s.File)})
		}
	}
	out.WriteString("\n]}\n")
	if out.err != nil {
		return fmt.Errorf("writing GeoJSON: %w", out.err)
	}
	return out.Flush()
}

// WriteReflyKML writes the areas to fly again for a flight controller. It is
// an error when there are none.
func WriteReflyKML(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	if len(n.Audit.Refly) == 0 {
		return errors.New("there is no area to fly again")
	}
	var areas []boundary.Area
	for i, r := range n.Audit.Refly {
		areas = append(areas, boundary.Area{Name: "Re-fly " + strconv.Itoa(i+1), Shape: orb.MultiPolygon{r.Shape}})
	}
	return boundary.WriteKML(w, documentName("To fly again", n), areas)
}

type features struct {
	*bufio.Writer
	count int
	err   error
}

func (f *features) add(g orb.Geometry, properties any) {
	data, err := json.Marshal(properties)
	if err != nil && f.err == nil {
		f.err = err
	}
	if f.count > 0 {
		f.WriteByte(',')
	}
	f.count++
	g = withinGlobe(g)
	fmt.Fprintf(f, "\n"+`{"type":"Feature","properties":%s,"geometry":{"type":"%s","coordinates":`, data, g.GeoJSONType())
	f.coordinates(g)
	f.WriteString("}}")
}

// withinGlobe is a shape with longitudes from -180 to 180, cut at the antimeridian
// where it crosses that (RFC 7946, 3.1.9).
func withinGlobe(g orb.Geometry) orb.Geometry {
	if b := g.Bound(); b.Min.Lon() >= -180 && b.Max.Lon() <= 180 {
		return g
	}
	switch g := g.(type) {
	case orb.Point:
		return plane.WrapPoint(g)
	case orb.LineString:
		pieces := orb.MultiLineString(cutAtAntimeridian(g))
		if len(pieces) == 1 {
			return pieces[0]
		}
		return pieces
	case orb.Polygon:
		pieces := boundary.OnGlobe(orb.MultiPolygon{g})
		if len(pieces) == 1 {
			return pieces[0]
		}
		return pieces
	case orb.MultiPolygon:
		return boundary.OnGlobe(g)
	}
	return g
}

func (f *features) coordinates(g orb.Geometry) {
	switch g := g.(type) {
	case orb.Point:
		if (!finite(g.Lon()) || !finite(g.Lat())) && f.err == nil {
			f.err = errors.New("a position is not a number")
		}
		f.WriteString("[" + trimmed(g.Lon(), 8) + "," + trimmed(g.Lat(), 8) + "]")
	case orb.LineString:
		list(f, g)
	case orb.Ring:
		list(f, g)
	case orb.Polygon:
		// Outlines run counter-clockwise and holes clockwise (RFC 7946, 3.1.6).
		rings := make([]orb.Ring, len(g))
		for i, r := range g {
			want := orb.CW
			if i == 0 {
				want = orb.CCW
			}
			if rings[i] = r; r.Orientation() == -want {
				rings[i] = slices.Clone(r)
				slices.Reverse(rings[i])
			}
		}
		list(f, rings)
	case orb.MultiLineString:
		list(f, g)
	case orb.MultiPolygon:
		list(f, g)
	}
}

func list[G orb.Geometry](f *features, items []G) {
	f.WriteByte('[')
	for i, item := range items {
		if i > 0 {
			f.WriteByte(',')
		}
		f.coordinates(item)
	}
	f.WriteByte(']')
}
