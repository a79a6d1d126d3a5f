package boundary

import (
	"bytes"
	"encoding/xml"
	"math"
	"slices"
	"unicode"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

// kmlWalk reads KML 2.0 to 2.3 (OGC 12-007r2).
type kmlWalk struct{ *xmlWalk }

// readKML reads the file whose root was just begun.
func readKML(x *xmlWalk) error {
	k := kmlWalk{x}
	return k.children(k.container)
}

func (k kmlWalk) container(name string, at int64) error {
	switch name {
	case "Document", "Folder":
		return k.children(k.container)
	case "Placemark":
		return k.placemark(at)
	case "Polygon", "MultiGeometry": // not where the standard wants them, but areas all the same
		k.beginFeature()
		err := k.geometry(name, at)
		k.endFeature(at, "")
		return err
	case "NetworkLink":
		k.links.add(k.place(at), 0)
	}
	return k.skip(name, at)
}

func (k kmlWalk) placemark(at int64) error {
	if k.feature >= k.lim.Vertices { // each has a shape, if all is well
		return k.overspent(at)
	}
	k.beginFeature()
	title := ""
	err := k.children(func(name string, at int64) error {
		switch name {
		case "name":
		case "ExtendedData":
			return k.children(k.extended)
		default:
			return k.geometry(name, at)
		}
		text, _, err := k.text()
		title = string(text)
		return err
	})
	if err == nil {
		k.endFeature(at, title)
	}
	return err
}

// extended reads the feature's buffer from what ExtendedData holds: Data, or
// the SimpleData of a SchemaData.
func (k kmlWalk) extended(name string, at int64) error {
	ours := slices.ContainsFunc(k.attributes, func(a xml.Attr) bool { return a.Name.Local == "name" && isBuffer(a.Value) })
	switch {
	case name == "SchemaData":
		return k.children(k.extended)
	case name == "SimpleData" && ours:
		return k.buffer()
	case name == "Data" && ours:
		return k.children(func(name string, at int64) error {
			if name == "value" {
				return k.buffer()
			}
			return k.skip(name, at)
		})
	}
	return k.skip(name, at)
}

func (k kmlWalk) buffer() error {
	text, start, err := k.text()
	if err == nil {
		k.addBuffer(start, string(text))
	}
	return err
}

func (k kmlWalk) geometry(name string, at int64) error {
	switch name {
	case "MultiGeometry", "MultiTrack":
		return k.children(k.geometry)
	case "Polygon":
		return k.polygon(at)
	case "LineString", "LinearRing":
		place := k.place(at)
		line, err := k.coordinates(at, false)
		k.addPath(place, line)
		return err
	case "Track":
		return k.track(at)
	case "Point":
		return k.point(at)
	case "Model":
		k.addPoint(k.place(at))
	}
	return k.skip(name, at)
}

// point reads a point. It is no part of an area, so that one without a
// readable position is a point all the same.
func (k kmlWalk) point(at int64) error {
	if !k.spend() {
		return k.overspent(at)
	}
	place := k.place(at)
	var position []orb.Point
	err := k.children(func(name string, at int64) error {
		if name != "coordinates" {
			return k.skip(name, at)
		}
		text, _, err := k.text()
		list := tupleList{text: text}
		if list.next() && list.count >= 2 {
			lon, okLon := decimal(list.fields[0])
			lat, okLat := decimal(list.fields[1])
			if okLon && okLat {
				position = []orb.Point{{lon, lat}}
			}
		}
		return err
	})
	k.addPoint(place, position...)
	return err
}

// track reads the vertices of a track: "longitude latitude height" each, or
// nothing where the position was lost.
func (k kmlWalk) track(at int64) error {
	place := k.place(at)
	if !k.spend() {
		return k.overspent(at)
	}
	var line []orb.Point
	err := k.children(func(name string, at int64) error {
		if name != "coord" {
			return k.skip(name, at)
		}
		text, start, err := k.text()
		if err != nil {
			return err
		}
		fields := bytes.Fields(text)
		if len(fields) == 0 {
			return nil
		}
		k.vertex = len(line) + 1
		if !k.spend() {
			return k.overspent(start)
		}
		if len(fields) < 2 {
			return k.fault(start, "%s is not a vertex of a track; one is longitude, latitude and height", quote(string(text)))
		}
		lon, okLon := decimal(fields[0])
		lat, okLat := decimal(fields[1])
		if !okLon || !okLat {
			return k.fault(start, "%s is not a vertex of a track; one is longitude, latitude and height", quote(string(text)))
		}
		line = append(line, orb.Point{lon, lat})
		return nil
	})
	k.vertex = 0
	k.addPath(place, line)
	return err
}

func (k kmlWalk) polygon(at int64) error {
	place := k.beginPart(at)
	var outline, holes []orb.Ring
	err := k.children(func(name string, at int64) error {
		rings := &holes
		switch name {
		case "outerBoundaryIs":
			rings = &outline
		case "innerBoundaryIs":
		default:
			return k.skip(name, at)
		}
		return k.children(func(name string, at int64) error {
			if name != "LinearRing" {
				return k.skip(name, at)
			}
			k.ring = 1
			if rings == &holes {
				k.ring = len(holes) + 2
			} else if len(outline) > 0 {
				return k.fault(at, "this polygon has a second outline; one polygon has one outline and perhaps holes")
			}
			ring, err := k.coordinates(at, true)
			k.ring = 0
			*rings = append(*rings, ring)
			return err
		})
	})
	if err != nil {
		return err
	}
	if len(outline) == 0 && len(holes) > 0 {
		return &ReadError{place, "this polygon has a hole but no outline"}
	}
	k.endPart(place, append(outline, holes...))
	return nil
}

// coordinates reads the vertices of the LinearRing or LineString that begins
// at offset at. Only the heights of polygons are tallied.
func (k kmlWalk) coordinates(at int64, ofPolygon bool) (orb.Ring, error) {
	if !k.spend() {
		return nil, k.overspent(at)
	}
	var ring orb.Ring
	listed := false
	err := k.children(func(name string, at int64) error {
		if name != "coordinates" {
			return k.skip(name, at)
		}
		if listed {
			return k.fault(at, "this ring or path has a second list of coordinates")
		}
		listed = true
		if plain, ok, err := k.plainTuples(ofPolygon); err != nil {
			return err
		} else if ok {
			ring = plain
			return k.children(k.skip) // the end of the element is next
		}
		text, start, err := k.text()
		if err != nil {
			return err
		}
		ring, err = k.tuples(text, start, ofPolygon)
		return err
	})
	return ring, err
}

func (k kmlWalk) tuples(text []byte, start int64, ofPolygon bool) (orb.Ring, error) {
	k.scratch = k.scratch[:0]
	fault := func(format string, args ...any) (orb.Ring, error) {
		return nil, k.fault(k.tupleOffset(start, k.vertex), format, args...)
	}
	for list := (tupleList{text: text}); list.next(); {
		k.vertex++
		if !k.spend() {
			return nil, k.overspent(k.tupleOffset(start, k.vertex))
		}
		if list.count < 2 || list.count > 3 {
			return fault("%s is not a vertex; one is longitude,latitude or longitude,latitude,height", quote(string(list.tuple())))
		}
		var numbers [3]float64
		for i, field := range list.fields[:list.count] {
			x, ok := decimal(field)
			switch {
			case len(field) == 0:
				return fault("a number is missing in %s", quote(string(list.tuple())))
			case !ok:
				return fault("%s is not a number", quote(string(field)))
			}
			numbers[i] = x
		}
		k.scratch = append(k.scratch, orb.Point{numbers[0], numbers[1]})
		if ofPolygon && list.count == 3 {
			k.heights.add(numbers[2])
		}
	}
	k.vertex = 0
	return slices.Clone(k.scratch), nil
}

// plainTuples reads the text of the coordinates element that was just begun from
// the file itself, which is several times as fast as through the decoder. It
// reads nothing but numbers, commas and white space up to the end of the
// element; whatever is not that simple, most faults above all, it leaves untouched.
func (k kmlWalk) plainTuples(ofPolygon bool) (ring orb.Ring, ok bool, err error) {
	text := k.src.data
	at := int(k.offset())
	if text[at-2] == '/' {
		return nil, false, nil // <coordinates/>
	}
	k.scratch = k.scratch[:0]
	heights := k.heights
	for {
		for at < len(text) && isBlank(text[at]) {
			at++
		}
		if bytes.HasPrefix(text[at:], []byte("</")) {
			break
		}
		from := at
		var numbers [3]float64
		n := 0
		for {
			x, end := scanDecimal(text, at)
			if end == at || end == len(text) || math.IsInf(x, 0) {
				return nil, false, nil
			}
			numbers[n], at = x, end
			if n++; n == len(numbers) || text[at] != ',' {
				break
			}
			at++
		}
		if n < 2 || !isBlank(text[at]) && text[at] != '<' {
			return nil, false, nil
		}
		k.scratch = append(k.scratch, orb.Point{numbers[0], numbers[1]})
		if n == 3 {
			heights.add(numbers[2])
		}
		if k.used+len(k.scratch) > k.lim.Vertices {
			k.vertex = len(k.scratch)
			return nil, false, k.overspent(int64(from))
		}
	}
	k.used += len(k.scratch)
	if ofPolygon {
		k.heights = heights
	}
	k.jump(int64(at))
	return slices.Clone(k.scratch), true, nil
}

func isBlank(c byte) bool { return c == ' ' || c == '\n' || c == '\r' || c == '\t' }

// tupleOffset finds the n-th tuple again in the file's own text, where line
// ends and character references are not yet replaced.
func (k kmlWalk) tupleOffset(start int64, n int) int64 {
	raw := k.src.data[start:k.offset()]
	if bytes.HasPrefix(raw, []byte("<![CDATA[")) {
		start, raw = start+9, raw[9:]
	}
	list := tupleList{text: raw}
	for range n {
		if !list.next() {
			return start
		}
	}
	return start + int64(list.from)
}

// tupleList steps through the tuples of a coordinates element: numbers joined
// by commas, white space between tuples. White space beside a comma is let
// pass, as it cannot be mistaken.
type tupleList struct {
	text     []byte
	from, to int       // the tuple at hand lies in text[from:to]
	fields   [4][]byte // its first numbers
	count    int       // how many numbers it has
}

func (t *tupleList) tuple() []byte { return t.text[t.from:t.to] }

func (t *tupleList) next() bool {
	t.from = t.space(t.to)
	if t.from == len(t.text) {
		return false
	}
	t.count = 0
	for at := t.from; ; {
		end := at
		for end < len(t.text) && t.text[end] != ',' && t.space(end) == end {
			end++
		}
		if t.count < len(t.fields) {
			t.fields[t.count] = t.text[at:end]
		}
		t.count++
		t.to = end
		comma := t.space(end)
		if comma == len(t.text) || t.text[comma] != ',' {
			return true
		}
		t.to = comma + 1
		at = t.space(comma + 1)
	}
}

// space returns the first offset from at on that holds no white space.
func (t *tupleList) space(at int) int {
	for at < len(t.text) {
		c, size := rune(t.text[at]), 1
		if c >= utf8.RuneSelf {
			c, size = utf8.DecodeRune(t.text[at:])
		}
		if !unicode.IsSpace(c) {
			break
		}
		at += size
	}
	return at
}
