package boundary

import (
	"errors"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// recordSeparator may stand before each value of a text sequence (RFC 8142).
const recordSeparator = 0x1e

// readGeoJSON reads one GeoJSON object (RFC 7946), or several that follow one
// another, one a line or in a text sequence.
func readGeoJSON(r *reading) (format string, err error) {
	j := walkFrom(r, 0, 0)
	values, separated := 0, false
	for {
		for j.next(recordSeparator) {
			j.at++
			separated = true
		}
		if j.at == len(j.text) {
			break
		}
		if !j.next('{') {
			if values == 0 {
				return "", j.unexpected("a GeoJSON object")
			}
			return "", r.fault(j.upcoming(), "more text follows after the end of the GeoJSON object")
		}
		if err := j.document(); err != nil {
			return "", err
		}
		values++
	}
	switch {
	case values == 0:
		return "", j.unexpected("a GeoJSON object")
	case values > 1 || separated:
		return "GeoJSON, newline-delimited", nil
	}
	return "GeoJSON", nil
}

// document reads one outermost object.
func (j *jsonWalk) document() error {
	start := j.upcoming()
	kind, err := walkFrom(j.reading, start, 0).kind()
	if err != nil {
		if placed := walkFrom(j.reading, start, 0).collection(); placed != nil {
			return placed // the same fault, with its feature and vertex
		}
		return err
	}
	switch {
	case kind == "FeatureCollection":
		return j.collection()
	case kind == "Feature":
		return j.feature()
	case slices.Contains(geometries, kind):
		j.beginFeature()
		if err := j.geometry(); err != nil {
			return err
		}
		j.endFeature(start, "")
		return nil
	case kind == "":
		return j.fault(start, "this is JSON but not GeoJSON: the outermost object has no type")
	case kind == "Topology":
		return j.fault(start, "this is TopoJSON, not GeoJSON")
	}
	return j.fault(start, "%s is not a type of GeoJSON object", quote(kind))
}

var geometries = []string{
	"Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection",
}

// kind is the type of the object that comes next, "" when it has none.
func (j *jsonWalk) kind() (string, error) {
	kind := ""
	found := errors.New("found") // ends the walk early
	err := j.members(func(key string) error {
		if key != "type" {
			return j.skip()
		}
		if err := j.word(&kind); err != nil {
			return err
		}
		return found
	})
	if err == found {
		err = nil
	}
	return kind, err
}

func (j *jsonWalk) collection() error {
	return j.members(func(key string) error {
		switch key {
		case "features":
			return j.list("a list of features", j.feature)
		case "crs":
			return j.crs()
		}
		return j.skip()
	})
}

func (j *jsonWalk) feature() error {
	j.beginFeature()
	start := j.upcoming()
	var kind, name, id string
	err := j.members(func(key string) error {
		switch key {
		case "type":
			return j.word(&kind)
		case "geometry":
			return j.geometry()
		case "properties":
			return j.properties(&name)
		case "id":
			return j.label(&id)
		case "crs":
			return j.crs()
		}
		return j.skip()
	})
	if err != nil {
		return err
	}
	if kind != "Feature" {
		return j.fault(start, "this object should have the type “Feature”, not %s", quote(kind))
	}
	if name == "" {
		name = id
	}
	j.endFeature(start, name)
	return nil
}

// nameKeys are the properties that name a feature, the best first.
var nameKeys = []string{"name", "Name", "NAME", "title", "id"}

func (j *jsonWalk) properties(name *string) error {
	if !j.next('{') {
		return j.skip()
	}
	best := len(nameKeys)
	return j.members(func(key string) error {
		if isBuffer(key) {
			return j.buffer()
		}
		rank := slices.Index(nameKeys, key)
		if rank < 0 || rank >= best {
			return j.skip()
		}
		label := ""
		err := j.label(&label)
		if label != "" {
			best, *name = rank, label
		}
		return err
	})
}

// buffer reads the buffer of the feature, a text or number; null is none.
func (j *jsonWalk) buffer() error {
	at, text := j.upcoming(), ""
	if j.next('"') {
		err := j.word(&text)
		j.addBuffer(at, text)
		return err
	}
	err := j.skip()
	if text = string(j.text[at:j.at]); text != "null" && err == nil {
		j.addBuffer(at, text)
	}
	return err
}

// geometry reads a geometry or null. Members come in any order, so coordinates
// that come before their type are gone back to.
func (j *jsonWalk) geometry() error {
	if j.next('n') {
		return j.skip()
	}
	start := j.upcoming()
	kind, passed := "", int64(-1)
	err := j.members(func(key string) error {
		switch key {
		case "type":
			return j.word(&kind)
		case "coordinates":
			if kind != "" {
				return j.coordinates(kind)
			}
			passed = j.upcoming()
		case "geometries":
			return j.list("a list of geometries", j.geometry)
		case "crs":
			return j.crs()
		}
		return j.skip()
	})
	if err != nil {
		return err
	}
	switch {
	case kind == "":
		return j.fault(start, "this geometry has no type")
	case !slices.Contains(geometries, kind):
		return j.fault(start, "%s is not a type of geometry", quote(kind))
	case passed >= 0:
		return walkFrom(j.reading, passed, j.depth).coordinates(kind)
	}
	return nil
}

func (j *jsonWalk) coordinates(kind string) error {
	if j.next('n') {
		return j.skip()
	}
	switch kind {
	case "Point":
		return j.point()
	case "MultiPoint":
		return j.list("a list of positions", j.point)
	case "LineString":
		return j.path()
	case "MultiLineString":
		return j.list("a list of paths", j.path)
	case "Polygon":
		return j.polygon()
	case "MultiPolygon":
		return j.list("a list of polygons", j.polygon)
	}
	return j.skip()
}

func (j *jsonWalk) point() error {
	place := j.place(j.upcoming())
	p, _, err := j.position()
	j.addPoint(place, p)
	return err
}

func (j *jsonWalk) path() error {
	place := j.place(j.upcoming())
	line, err := j.positions(false)
	j.addPath(place, line)
	return err
}

func (j *jsonWalk) polygon() error {
	place := j.beginPart(j.upcoming())
	var rings orb.Polygon
	err := j.list("a list of rings", func() error {
		j.ring++
		ring, err := j.positions(true)
		rings = append(rings, ring)
		return err
	})
	if err == nil {
		j.endPart(place, rings)
	}
	return err
}

// positions reads the vertices of a ring or path. Only the heights of polygons
// are tallied.
func (j *jsonWalk) positions(ofPolygon bool) (orb.Ring, error) {
	if !j.spend() {
		return nil, j.overspent(j.upcoming())
	}
	j.scratch = j.scratch[:0]
	err := j.list("a list of positions", func() error {
		j.vertex++
		p, height, err := j.position()
		j.scratch = append(j.scratch, p)
		if ofPolygon && !math.IsNaN(height) {
			j.heights.add(height)
		}
		return err
	})
	if err == nil {
		j.vertex = 0
	}
	return slices.Clone(j.scratch), err
}

// position reads [longitude, latitude] and perhaps a height, else NaN. What
// stands after the height has no meaning and is passed over.
func (j *jsonWalk) position() (p orb.Point, height float64, err error) {
	height = math.NaN()
	at := j.upcoming()
	if !j.spend() {
		return p, height, j.overspent(at)
	}
	if !j.next('[') {
		return p, height, j.misplaced("a position such as [10.5, 48.2]")
	}
	if err := j.enter(); err != nil {
		return p, height, err
	}
	n := 0
	for {
		more, err := j.more(']', n == 0)
		if err != nil {
			return p, height, err
		}
		if !more {
			break
		}
		if n++; n > 2 && j.next('n') {
			err = j.skip() // longitude and latitude are all that is needed
		} else {
			var x float64
			x, err = j.coordinate()
			if n < 3 {
				p[n-1] = x
			} else if n == 3 {
				height = x
			}
		}
		if err != nil {
			return p, height, err
		}
	}
	if n < 2 {
		return p, height, j.fault(at, "this position has %s; it needs a longitude and a latitude", count(n, "number", "numbers"))
	}
	return p, height, nil
}

// crs reads the coordinate system that GeoJSON could name before RFC 7946.
func (j *jsonWalk) crs() error {
	if j.next('n') {
		return j.skip()
	}
	at, name := j.upcoming(), ""
	err := j.members(func(key string) error {
		if key != "properties" || !j.next('{') {
			return j.skip()
		}
		return j.members(func(key string) error {
			if key != "name" {
				return j.skip()
			}
			return j.word(&name)
		})
	})
	if err != nil {
		return err
	}
	return j.addSystem(at, name)
}
