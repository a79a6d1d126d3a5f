package boundary

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

// kmlWalk reads KML element by element. Namespaces are not looked at: files
// in use carry that of the standard, older ones, or none.
type kmlWalk struct {
	*reading
	dec   *xml.Decoder
	base  int64 // where dec began in the text
	depth int
	buf   []byte // the text of the element at hand
}

// readKML reads the KML whose first element begins at start.
func readKML(r *reading, start int) error {
	k := &kmlWalk{reading: r, dec: xml.NewDecoder(bytes.NewReader(r.src.data[start:])), base: int64(start)}
	k.dec.Entity = xml.HTMLEntity // descriptions are full of them; no other entity is expanded
	k.dec.CharsetReader = func(_ string, text io.Reader) (io.Reader, error) {
		return text, nil // the text is UTF-8 by now, whatever it declares
	}
	for {
		token, at, err := k.token()
		if err != nil {
			return err
		}
		root, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		switch name := root.Name.Local; {
		case strings.EqualFold(name, "html"):
			return k.fault(at, "this is a web page, not a KML file; perhaps a page was saved in place of the file it links to")
		case name != "kml":
			return k.fault(at, "this XML file begins with <%s>; a KML file begins with <kml>", printable(name, 40))
		}
		return k.children(k.container)
	}
}

// token returns the next token and the offset at which it begins.
func (k *kmlWalk) token() (xml.Token, int64, error) {
	at := k.base + k.dec.InputOffset()
	token, err := k.dec.Token()
	if err == nil {
		return token, at, nil
	}
	var broken *xml.SyntaxError
	switch end := k.base + k.dec.InputOffset(); {
	case errors.Is(err, io.EOF):
		return nil, at, k.fault(end, "the file ends before any element begins")
	case errors.As(err, &broken) && broken.Msg == "unexpected EOF":
		return nil, at, k.fault(end, "the file ends in the middle; it may be cut off")
	case errors.As(err, &broken):
		return nil, at, k.fault(end, "the XML is damaged here: %s", printable(broken.Msg, 120))
	default:
		return nil, at, k.fault(end, "the XML is damaged here: %s", printable(err.Error(), 120))
	}
}

// children calls visit for each element inside the one that was just begun,
// and returns at its end. visit has to read its element to the end.
func (k *kmlWalk) children(visit func(name string, at int64) error) error {
	k.depth++
	defer func() { k.depth-- }()
	for {
		token, at, err := k.token()
		if err != nil {
			return err
		}
		switch token := token.(type) {
		case xml.EndElement:
			return nil
		case xml.StartElement:
			if k.depth >= k.lim.Depth {
				return k.fault(at, "elements lie more than the limit of %d inside one another", k.lim.Depth)
			}
			if err := visit(token.Name.Local, at); err != nil {
				return err
			}
		}
	}
}

func (k *kmlWalk) skip(string, int64) error { return k.children(k.skip) }

// text reads the characters of the element that was just begun, and the
// offset at which they begin.
func (k *kmlWalk) text() (text []byte, start int64, err error) {
	k.buf = k.buf[:0]
	start = -1
	k.depth++
	defer func() { k.depth-- }()
	for {
		token, at, err := k.token()
		if err != nil {
			return nil, 0, err
		}
		if start < 0 {
			start = at
		}
		switch token := token.(type) {
		case xml.CharData:
			k.buf = append(k.buf, token...)
		case xml.EndElement:
			return k.buf, start, nil
		case xml.StartElement:
			if err := k.skip("", at); err != nil {
				return nil, 0, err
			}
		}
	}
}

func (k *kmlWalk) container(name string, at int64) error {
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
		place := k.place(at)
		place.Feature = 0
		k.links.add(place, 0)
	}
	return k.skip(name, at)
}

func (k *kmlWalk) placemark(at int64) error {
	k.beginFeature()
	title := ""
	err := k.children(func(name string, at int64) error {
		if name != "name" {
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

func (k *kmlWalk) geometry(name string, at int64) error {
	switch name {
	case "MultiGeometry", "MultiTrack":
		return k.children(k.geometry)
	case "Polygon":
		return k.polygon(at)
	case "LineString", "LinearRing":
		place := k.place(at)
		line, err := k.coordinates(at, false)
		k.addPath(place, len(line))
		return err
	case "Track":
		place, vertices := k.place(at), 0
		err := k.children(func(name string, at int64) error {
			if name == "coord" {
				vertices++
			}
			return k.skip(name, at)
		})
		k.addPath(place, vertices)
		return err
	case "Point", "Model":
		k.addPoint(k.place(at))
	}
	return k.skip(name, at)
}

func (k *kmlWalk) polygon(at int64) error {
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
func (k *kmlWalk) coordinates(at int64, ofPolygon bool) (orb.Ring, error) {
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
		text, start, err := k.text()
		if err != nil {
			return err
		}
		ring, err = k.tuples(text, start, ofPolygon)
		return err
	})
	return ring, err
}

func (k *kmlWalk) tuples(text []byte, start int64, ofPolygon bool) (orb.Ring, error) {
	var ring orb.Ring
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
		ring = append(ring, orb.Point{numbers[0], numbers[1]})
		if ofPolygon && list.count == 3 {
			k.heights.add(numbers[2])
		}
	}
	k.vertex = 0
	return ring, nil
}

// tupleOffset finds the n-th tuple again in the file's own text, where line
// ends and character references are not yet replaced.
func (k *kmlWalk) tupleOffset(start int64, n int) int64 {
	raw := k.src.data[start : k.base+k.dec.InputOffset()]
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

// decimal reads a finite decimal number. The words and notations that
// strconv takes besides ("inf", "0x1p-2", "1_000") are no coordinates.
func decimal(text []byte) (float64, bool) {
	for _, c := range text {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	x, err := strconv.ParseFloat(string(text), 64)
	return x, err == nil && !math.IsInf(x, 0)
}
