package compare

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

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
	shape, err := areaFrom(f.Geometry)
	if err != nil {
		return err
	}
	shape = boundary.FromGlobe(shape)
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

// areaFrom reads a Polygon or a MultiPolygon.
func areaFrom(geometry json.RawMessage) (orb.MultiPolygon, error) {
	var g struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	}
	if err := json.Unmarshal(geometry, &g); err != nil {
		return nil, err
	}
	c := &coordinates{g.Coordinates}
	var out orb.MultiPolygon
	polygon := func() error {
		p, err := c.polygon()
		out = append(out, p)
		return err
	}
	var err error
	switch g.Type {
	case "Polygon":
		err = polygon()
	case "MultiPolygon":
		err = c.each(polygon)
	default:
		err = fmt.Errorf("it is a %q where a Polygon should be", report.Clean(g.Type))
	}
	return out, err
}

// coordinates are what is still to be read of lists in valid JSON without blanks
// around it. There can be millions, for which reading into slices of slices
// takes seconds.
type coordinates struct{ rest []byte }

func (c *coordinates) polygon() (polygon orb.Polygon, err error) {
	err = c.each(func() error {
		ring, err := c.ring()
		polygon = append(polygon, ring)
		return err
	})
	if err == nil && len(polygon) == 0 {
		err = errors.New("a polygon has no ring")
	}
	return polygon, err
}

func (c *coordinates) ring() (ring orb.Ring, err error) {
	err = c.each(func() error {
		p, err := c.position()
		ring = append(ring, p)
		return err
	})
	const fewest = 4 // of a closed triangle
	if err == nil && len(ring) < fewest {
		err = errors.New("a ring has fewer than 4 positions")
	}
	return ring, err
}

func (c *coordinates) position() (p orb.Point, err error) {
	n := 0
	err = c.each(func() error {
		x, err := c.number()
		if n < len(p) {
			p[n] = x
		}
		n++
		return err
	})
	// Shapes of older records run on past the 180th meridian.
	if err == nil && (n < len(p) || math.Abs(p[0]) > 540 || math.Abs(p[1]) > 90) {
		err = errors.New("a position is no place on Earth")
	}
	return p, err
}

func (c *coordinates) number() (float64, error) {
	end := bytes.IndexAny(c.rest, ",] \t\r\n")
	if end < 0 {
		end = len(c.rest)
	}
	x, err := strconv.ParseFloat(string(c.rest[:end]), 64)
	if err != nil {
		return 0, fmt.Errorf("%.20q is not a number", c.rest[:end])
	}
	c.rest = c.rest[end:]
	return x, nil
}

// each reads a list, of which read takes one element.
func (c *coordinates) each(read func() error) error {
	if !c.take('[') {
		return errors.New("the coordinates are not lists of positions")
	}
	for first := true; !c.take(']'); first = false {
		if !first {
			c.take(',')
		}
		if err := read(); err != nil {
			return err
		}
	}
	return nil
}

// take passes over blanks, and over a character if it comes next.
func (c *coordinates) take(char byte) bool {
	for len(c.rest) > 0 && c.rest[0] <= ' ' {
		c.rest = c.rest[1:]
	}
	if len(c.rest) == 0 || c.rest[0] != char {
		return false
	}
	c.rest = c.rest[1:]
	return true
}
