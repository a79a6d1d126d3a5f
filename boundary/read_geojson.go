package boundary

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
)

// jsonWalk reads GeoJSON (RFC 7946) token by token.
type jsonWalk struct {
	*reading
	dec   *json.Decoder
	base  int64 // where dec began in the text
	depth int
}

func readGeoJSON(r *reading) error {
	kind, err := walkFrom(r, 0, 0).kind()
	if err != nil {
		if placed := walkFrom(r, 0, 0).collection(); placed != nil {
			return placed // the same fault, with its feature and vertex
		}
		return err
	}
	j := walkFrom(r, 0, 0)
	start := j.upcoming()
	switch {
	case kind == "FeatureCollection":
		err = j.collection()
	case kind == "Feature":
		err = j.feature()
	case slices.Contains(geometries, kind):
		r.beginFeature()
		if err = j.geometry(); err == nil {
			r.endFeature(start, "")
		}
	case kind == "":
		err = r.fault(start, "this is JSON but not GeoJSON: the outermost object has no type")
	case kind == "Topology":
		err = r.fault(start, "this is TopoJSON, not GeoJSON")
	default:
		err = r.fault(start, "%s is not a type of GeoJSON object", quote(kind))
	}
	if err != nil {
		return err
	}
	end := j.base + j.dec.InputOffset()
	if len(bytes.TrimSpace(r.src.data[end:])) > 0 {
		return r.fault(j.upcoming(), "more text follows after the end of the GeoJSON object")
	}
	return nil
}

func walkFrom(r *reading, offset int64, depth int) *jsonWalk {
	dec := json.NewDecoder(bytes.NewReader(r.src.data[offset:]))
	dec.UseNumber()
	return &jsonWalk{reading: r, dec: dec, base: offset, depth: depth}
}

// upcoming is the offset at which the next token begins.
func (j *jsonWalk) upcoming() int64 {
	at := j.base + j.dec.InputOffset()
	for at < int64(len(j.src.data)) && strings.IndexByte(" \t\r\n,:", j.src.data[at]) >= 0 {
		at++
	}
	return at
}

func (j *jsonWalk) token() (json.Token, int64, error) {
	at := j.upcoming()
	token, err := j.dec.Token()
	if err != nil {
		return nil, at, j.broken(at, err)
	}
	switch token {
	case json.Delim('{'), json.Delim('['):
		if j.depth++; j.depth > j.lim.Depth {
			return nil, at, j.fault(at, "objects and lists lie more than the limit of %d inside one another", j.lim.Depth)
		}
	case json.Delim('}'), json.Delim(']'):
		j.depth--
	}
	return token, at, nil
}

func (j *jsonWalk) broken(at int64, err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return j.fault(int64(len(j.src.data)), "the file ends in the middle; it may be cut off")
	}
	rest := bytes.TrimPrefix(j.src.data[at:], []byte("-"))
	for _, word := range []string{"NaN", "Infinity"} {
		if bytes.HasPrefix(rest, []byte(word)) {
			return j.fault(at, "%s is not a number", word)
		}
	}
	return j.fault(at, "the JSON is damaged here: %s", printable(err.Error(), 120))
}

// skip passes over one value.
func (j *jsonWalk) skip() error {
	for level := j.depth; ; {
		if _, _, err := j.token(); err != nil {
			return err
		}
		if j.depth <= level {
			return nil
		}
	}
}

// unique are the members that would give an object two meanings if doubled.
var unique = []string{"type", "features", "geometry", "geometries", "coordinates"}

// members reads an object and calls visit for each member, whose value visit
// has to read.
func (j *jsonWalk) members(visit func(key string) error) error {
	token, at, err := j.token()
	if err != nil {
		return err
	}
	if token != json.Delim('{') {
		return j.fault(at, "%s stands where an object is expected", describe(token))
	}
	var seen []string
	for j.dec.More() {
		token, at, err := j.token()
		if err != nil {
			return err
		}
		key, _ := token.(string) // the decoder lets nothing else be a key
		if slices.Contains(seen, key) {
			return j.fault(at, "this object has a second member %s", quote(key))
		}
		if slices.Contains(unique, key) {
			seen = append(seen, key)
		}
		if err := visit(key); err != nil {
			return err
		}
	}
	_, _, err = j.token()
	return err
}

// list reads a list and calls visit for each element, which visit has to read.
func (j *jsonWalk) list(expected string, visit func() error) error {
	token, at, err := j.token()
	if err != nil {
		return err
	}
	if token != json.Delim('[') {
		return j.fault(at, "%s stands where %s is expected", describe(token), expected)
	}
	for j.dec.More() {
		if err := visit(); err != nil {
			return err
		}
	}
	_, _, err = j.token()
	return err
}

func describe(token json.Token) string {
	switch t := token.(type) {
	case nil:
		return "null"
	case json.Delim:
		if t == '{' {
			return "an object"
		}
		return "a list"
	case string:
		return "the text " + quote(t)
	case json.Number:
		return "the number " + printable(t.String(), 40)
	}
	return fmt.Sprint(token)
}

// next reports whether the coming value begins with c.
func (j *jsonWalk) next(c byte) bool {
	at := j.upcoming()
	return at < int64(len(j.src.data)) && j.src.data[at] == c
}

// text reads a value that has to be a string.
func (j *jsonWalk) text(into *string) error {
	token, at, err := j.token()
	if err != nil {
		return err
	}
	text, ok := token.(string)
	if !ok {
		return j.fault(at, "%s stands where a text is expected", describe(token))
	}
	*into = text
	return nil
}

// label reads a string or number as text, and passes over anything else.
func (j *jsonWalk) label(into *string) error {
	if j.next('{') || j.next('[') {
		return j.skip()
	}
	token, _, err := j.token()
	switch token := token.(type) {
	case string:
		*into = token
	case json.Number:
		*into = token.String()
	}
	return err
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
		if err := j.text(&kind); err != nil {
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
			return j.text(&kind)
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
			return j.text(&kind)
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
	_, _, err := j.position()
	j.addPoint(place)
	return err
}

func (j *jsonWalk) path() error {
	place := j.place(j.upcoming())
	line, err := j.positions(false)
	j.addPath(place, len(line))
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
	var ring orb.Ring
	err := j.list("a list of positions", func() error {
		j.vertex++
		p, height, err := j.position()
		ring = append(ring, p)
		if ofPolygon && !math.IsNaN(height) {
			j.heights.add(height)
		}
		return err
	})
	if err == nil {
		j.vertex = 0
	}
	return ring, err
}

// position reads [longitude, latitude] and perhaps a height, else NaN. What
// stands after the height has no meaning and is passed over.
func (j *jsonWalk) position() (p orb.Point, height float64, err error) {
	at := j.upcoming()
	if !j.spend() {
		return p, 0, j.overspent(at)
	}
	n := 0
	height = math.NaN()
	err = j.list("a position such as [10.5, 48.2]", func() error {
		token, at, err := j.token()
		if err != nil {
			return err
		}
		n++
		number, ok := token.(json.Number)
		if !ok {
			if token == nil && n > 2 {
				return nil // longitude and latitude are all that is needed
			}
			return j.fault(at, "%s stands where a number is expected", describe(token))
		}
		x, ok := decimal([]byte(number))
		switch {
		case !ok:
			return j.fault(at, "%s is too large a number", describe(token))
		case n < 3:
			p[n-1] = x
		case n == 3:
			height = x
		}
		return nil
	})
	if err == nil && n < 2 {
		err = j.fault(at, "this position has %s; it needs a longitude and a latitude", count(n, "number", "numbers"))
	}
	return p, height, err
}

// crs reads the coordinate system that GeoJSON could name before RFC 7946. All
// that is taken is WGS 84, the only one since.
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
			return j.text(&name)
		})
	})
	switch {
	case err != nil:
		return err
	case name == "":
		return j.fault(at, "the file names its coordinate system in a way that is not read here; GeoJSON is in WGS 84")
	case !isWGS84(name):
		return j.fault(at, "the coordinates are in the system %s; ask for longitude and latitude in WGS 84", quote(name))
	}
	return nil
}

// isWGS84 knows names such as "EPSG:4326", "urn:ogc:def:crs:OGC:1.3:CRS84" and
// "http://www.opengis.net/def/crs/EPSG/0/4326".
func isWGS84(name string) bool {
	words := strings.FieldsFunc(strings.ToUpper(name), func(c rune) bool { return c == ':' || c == '/' })
	if len(words) < 2 {
		return false
	}
	last := words[len(words)-1]
	return last == "CRS84" && slices.Contains(words, "OGC") || last == "4326" && slices.Contains(words, "EPSG")
}
