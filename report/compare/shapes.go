package compare

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary"
	"selvage/report"
)

// Shapes are those of an audit's GeoJSON that a comparison needs, in degrees.
type Shapes struct {
	Site, Flight orb.MultiPolygon
	Zones        []ZoneShape // in the order of the audit's zones

	corners int
}

// ZoneShape is one zone.
type ZoneShape struct {
	Kind  string
	Area  float64 // m²
	Shape orb.Polygon
}

type featureRecord struct {
	Properties struct {
		Role string  `json:"role"`
		Kind string  `json:"kind"`
		Area float64 `json:"area_m2"`
	} `json:"properties"`
	Geometry json.RawMessage `json:"geometry"`
}

// ReadShapes reads the GeoJSON of the audit. It is an error if that is of
// another audit. An error is a sentence that begins with the name.
func (r *Record) ReadShapes(name string, data []byte) error {
	fail := func(format string, args ...any) error {
		return fmt.Errorf("%s "+format, append([]any{report.Clean(name)}, args...)...)
	}
	if err := uncrowded(data); err != nil {
		return fail("%w", err)
	}
	shapes, err := readShapes(bytes.NewReader(data))
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return fail("ends in the middle; it was not written whole")
	case err != nil:
		return fail("cannot be taken as the GeoJSON of an audit: %w", err)
	case planar.Area(shapes.Site) == 0:
		return fail("has no site area; it is not the GeoJSON of an audit")
	}
	if len(shapes.Zones) != len(r.Audit.Zones) {
		return fail("is not of the same audit as %s: it has %s where that has %s", r.Name,
			report.Count(len(shapes.Zones), "zone", "zones"), report.Number(len(r.Audit.Zones)))
	}
	const rounding = 0.011 // m²; areas have two decimals
	for i, z := range shapes.Zones {
		if told := r.Audit.Zones[i]; z.Kind != told.Kind || math.Abs(z.Area-told.Area) > rounding {
			return fail("is not of the same audit as %s: zone %d is another", r.Name, i+1)
		}
	}
	r.Shapes = shapes
	return nil
}

func readShapes(in io.Reader) (*Shapes, error) {
	shapes := &Shapes{}
	d := json.NewDecoder(in)
	if err := expect(d, json.Delim('{')); err != nil {
		return nil, err
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return nil, err
		}
		if key != "features" {
			if err := d.Decode(&json.RawMessage{}); err != nil {
				return nil, err
			}
			continue
		}
		if err := expect(d, json.Delim('[')); err != nil {
			return nil, err
		}
		for number := 1; d.More(); number++ {
			var f featureRecord
			if err := d.Decode(&f); err != nil {
				return nil, err
			}
			if err := shapes.add(f); err != nil {
				return nil, fmt.Errorf("feature %d: %w", number, err)
			}
		}
		if err := expect(d, json.Delim(']')); err != nil {
			return nil, err
		}
	}
	return shapes, expect(d, json.Delim('}'))
}

func expect(d *json.Decoder, want json.Delim) error {
	got, err := d.Token()
	if err == nil && got != want {
		return fmt.Errorf("%v where %v should be", got, want)
	}
	return err
}

func (s *Shapes) add(f featureRecord) error {
	switch f.Properties.Role {
	case "site", "flight", "zone":
	default:
		return nil
	}
	if s.corners += bytes.Count(f.Geometry, []byte("],")); s.corners > mostCorners {
		return fmt.Errorf("the areas have more than the limit of %d vertices", mostCorners)
	}
	// As many as were counted are not too many.
	shape, err := boundary.ReadShape(f.Geometry, boundary.Limits{Depth: deepest, Vertices: math.MaxInt, Crossings: boundary.DefaultLimits.Crossings})
	switch {
	case err != nil:
		return err
	case len(shape) == 0:
		return errors.New("it has no polygon")
	case !onEarth(shape.Bound()):
		return errors.New("a position is no place on Earth")
	}
	switch f.Properties.Role {
	case "site":
		s.Site = append(s.Site, shape...)
	case "flight":
		s.Flight = append(s.Flight, shape...)
	case "zone":
		if len(shape) != 1 {
			return errors.New("a zone is one polygon")
		}
		s.Zones = append(s.Zones, ZoneShape{f.Properties.Kind, f.Properties.Area, shape[0]})
	}
	return nil
}

// deepest is how deep the lists of a MultiPolygon lie within its geometry, and more.
const deepest = 8

// onEarth lets shapes of older records run on past the 180th meridian.
func onEarth(b orb.Bound) bool {
	return b.Min[0] >= -540 && b.Max[0] <= 540 && b.Min[1] >= -90 && b.Max[1] <= 90
}
