package plane

import (
	"errors"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
)

// The second opinion in these tests is simplefeatures, whose overlay and
// buffer are a port of the JTS Topology Suite. It can fail silently on invalid
// input, so what goes in has to be valid already.

// sfMultiPolygon converts mp without judging it; the error is for shapes that
// simplefeatures cannot hold at all.
func sfMultiPolygon(mp orb.MultiPolygon) (geom.MultiPolygon, error) {
	polygons := make([]geom.Polygon, len(mp))
	for i, polygon := range mp {
		if len(polygon) == 0 {
			return geom.MultiPolygon{}, errors.New("polygon without a ring")
		}
		rings := make([]geom.LineString, len(polygon))
		for j, ring := range polygon {
			flat := make([]float64, 0, 2*len(ring))
			for _, p := range ring {
				flat = append(flat, p[0], p[1])
			}
			rings[j] = geom.NewLineString(geom.NewSequence(flat, geom.DimXY))
		}
		polygons[i] = geom.NewPolygon(rings)
	}
	return geom.NewMultiPolygon(polygons), nil
}

// sfValid returns nil if simplefeatures finds mp valid.
func sfValid(mp orb.MultiPolygon) error {
	converted, err := sfMultiPolygon(mp)
	if err != nil {
		return err
	}
	return converted.Validate()
}

// sfArea returns the planar area of mp.
func sfArea(mp orb.MultiPolygon) (float64, error) {
	converted, err := sfMultiPolygon(mp)
	if err != nil {
		return 0, err
	}
	return converted.Area(), nil
}

func sfUnion(a, b orb.MultiPolygon) (area float64, err error) {
	return sfOverlay(geom.Union, a, b)
}

func sfDifference(a, b orb.MultiPolygon) (area float64, err error) {
	return sfOverlay(geom.Difference, a, b)
}

func sfIntersection(a, b orb.MultiPolygon) (area float64, err error) {
	return sfOverlay(geom.Intersection, a, b)
}

func sfOverlay(operation func(a, b geom.Geometry) (geom.Geometry, error), a, b orb.MultiPolygon) (float64, error) {
	first, err := sfMultiPolygon(a)
	if err != nil {
		return 0, err
	}
	second, err := sfMultiPolygon(b)
	if err != nil {
		return 0, err
	}
	result, err := operation(first.AsGeometry(), second.AsGeometry())
	if err != nil {
		return 0, err
	}
	return result.Area(), nil
}

// sfBuffer returns the area of mp grown by distance with round joins of
// quadrantSegments chords to a quarter circle, or as the options have it. The
// input is not simplified first.
func sfBuffer(mp orb.MultiPolygon, distance float64, quadrantSegments int, options ...geom.BufferOption) (area float64, err error) {
	converted, err := sfMultiPolygon(mp)
	if err != nil {
		return 0, err
	}
	options = append([]geom.BufferOption{
		geom.BufferQuadSegments(quadrantSegments),
		geom.BufferSimplifyFactor(0),
	}, options...)
	result, err := geom.Buffer(converted.AsGeometry(), distance, options...)
	if err != nil {
		return 0, err
	}
	return result.Area(), nil
}
