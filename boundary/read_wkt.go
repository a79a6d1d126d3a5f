package boundary

import (
	"bytes"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

// wktWalk reads well-known text (OGC 06-103r4, clause 7) and the extended form
// that begins with SRID=…; and may leave out the letters Z and M. Vertices are
// x before y, so longitude before latitude, as all software writes them.
type wktWalk struct {
	*reading
	text  []byte
	at    int // offset of the next byte
	depth int
}

var wktStart = regexp.MustCompile(`(?i)^(SRID\s*=|(POINT|LINESTRING|LINEARRING|POLYGON|TRIANGLE|MULTI[A-Z]+|GEOMETRYCOLLECTION|CIRCULARSTRING|[A-Z]+CURVE|CURVEPOLYGON|TIN|POLYHEDRALSURFACE)\s*(ZM|Z|M)?\s*(\(|EMPTY))`)

func isWKT(text []byte) bool { return wktStart.Match(text[:min(len(text), 200)]) }

// readWKT reads the geometries that begin at start, each a feature, with white
// space or semicolons between them.
func readWKT(r *reading, start int) (format string, err error) {
	w := &wktWalk{reading: r, text: r.src.data, at: start}
	for {
		for w.peek() == ';' {
			w.at++
		}
		if w.at == len(w.text) {
			break
		}
		if !isLetter(w.text[w.at]) {
			return "", w.unexpected("a shape such as POLYGON")
		}
		at := int64(w.at)
		w.beginFeature()
		if err := w.single(); err != nil {
			return "", err
		}
		w.endFeature(at, "")
	}
	if r.system.named {
		return "EWKT (SRID " + strings.TrimPrefix(r.system.name, epsg) + ")", nil
	}
	return "WKT", nil
}

const epsg = "EPSG:"

// single reads one geometry, and what may stand before it.
func (w *wktWalk) single() error {
	if err := w.reference(); err != nil {
		return err
	}
	return w.geometry()
}

// reference reads "SRID=4326;", where it is given.
func (w *wktWalk) reference() error {
	at := w.at
	if w.word() != "SRID" {
		w.at = at
		return nil
	}
	if w.peek() != '=' {
		return w.unexpected("“=”")
	}
	w.at++
	w.peek()
	from := w.at
	for w.at < len(w.text) && w.text[w.at]-'0' <= 9 {
		w.at++
	}
	number := strings.TrimLeft(string(w.text[from:w.at]), "0")
	switch {
	case w.at == from:
		return w.unexpected("the number of a coordinate system")
	case len(number) > 9:
		return w.fault(int64(from), "%s is not the number of a coordinate system", quote(number))
	case w.peek() != ';':
		return w.unexpected("“;”")
	}
	w.at++
	w.peek()
	if number == "" {
		return nil // 0 says that the system is not known
	}
	return w.addSystem(int64(at), epsg+number)
}

// peek passes over white space and returns the next byte, 0 at the end.
func (w *wktWalk) peek() byte {
	for w.at < len(w.text) && isBlank(w.text[w.at]) {
		w.at++
	}
	if w.at == len(w.text) {
		return 0
	}
	return w.text[w.at]
}

// word reads the letters that come next, in upper case.
func (w *wktWalk) word() string {
	w.peek()
	from := w.at
	for w.at < len(w.text) && isLetter(w.text[w.at]) {
		w.at++
	}
	return strings.ToUpper(string(w.text[from:min(w.at, from+40)]))
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

func (w *wktWalk) unexpected(wanted string) error {
	w.peek()
	if w.at == len(w.text) {
		return w.fault(int64(w.at), "the file ends in the middle; it may be cut off")
	}
	c, _ := utf8.DecodeRune(w.text[w.at:])
	return w.fault(int64(w.at), "the text is damaged here: %s stands where %s is expected", quote(string(c)), wanted)
}

var wktKinds = []string{
	"POINT", "MULTIPOINT", "LINESTRING", "LINEARRING", "MULTILINESTRING",
	"POLYGON", "TRIANGLE", "MULTIPOLYGON", "GEOMETRYCOLLECTION",
}

// geometry reads one geometry with its name.
func (w *wktWalk) geometry() error {
	w.peek()
	at := int64(w.at)
	kind := w.word()
	numbers := ""
	for _, letters := range []string{"ZM", "Z", "M"} {
		if short, found := strings.CutSuffix(kind, letters); found {
			kind, numbers = short, letters
			break
		}
	}
	behind := w.at
	next := w.word()
	if next == "Z" || next == "M" || next == "ZM" {
		behind = w.at
		numbers, next = next, w.word()
	}
	switch {
	case kind == "":
		return w.unexpected("a shape such as POLYGON")
	case !slices.Contains(wktKinds, kind):
		return w.fault(at, "%s is not a shape that is read here; ask for a POLYGON or MULTIPOLYGON", quote(kind+numbers))
	case next == "EMPTY":
		return w.empty(kind, at)
	case next != "":
		w.at = behind
		return w.unexpected("“(”")
	}
	switch kind {
	case "POINT", "MULTIPOINT":
		return w.list(func() error { return w.point(numbers) })
	case "LINESTRING", "LINEARRING":
		return w.path(numbers)
	case "MULTILINESTRING":
		return w.list(func() error { return w.path(numbers) })
	case "POLYGON", "TRIANGLE":
		return w.polygon(numbers)
	case "MULTIPOLYGON":
		return w.list(func() error { return w.polygon(numbers) })
	}
	return w.list(w.geometry)
}

// empty takes note of a shape without vertices.
func (w *wktWalk) empty(kind string, at int64) error {
	if kind == "POLYGON" || kind == "TRIANGLE" || kind == "MULTIPOLYGON" {
		w.endPart(w.beginPart(at), nil)
	}
	return nil
}

// isEmpty passes over EMPTY in place of a list.
func (w *wktWalk) isEmpty() bool {
	w.peek()
	from := w.at
	if w.word() == "EMPTY" {
		return true
	}
	w.at = from
	return false
}

// list reads "(…, …)" and calls visit for each element, which visit has to read.
func (w *wktWalk) list(visit func() error) error {
	if w.peek() != '(' {
		return w.unexpected("“(”")
	}
	if w.depth++; w.depth > w.lim.Depth {
		return w.fault(int64(w.at), "brackets lie more than the limit of %d inside one another (--limit depth)", w.lim.Depth)
	}
	for {
		w.at++
		w.peek()
		if err := visit(); err != nil {
			return err
		}
		switch w.peek() {
		case ',':
		case ')':
			w.at++
			w.depth--
			return nil
		default:
			return w.unexpected("a comma or “)”")
		}
	}
}

// point reads a vertex, of which several may each have brackets of their own.
func (w *wktWalk) point(numbers string) error {
	place := w.place(int64(w.at))
	if w.isEmpty() {
		return nil
	}
	var p orb.Point
	read := func() (err error) {
		p, err = w.vertexOf(numbers, false)
		return err
	}
	var err error
	if w.peek() == '(' {
		err = w.list(read)
	} else {
		err = read()
	}
	w.addPoint(place, p)
	return err
}

func (w *wktWalk) path(numbers string) error {
	place := w.place(int64(w.at))
	if w.isEmpty() {
		return nil
	}
	line, err := w.vertices(numbers, false)
	w.addPath(place, line)
	return err
}

func (w *wktWalk) polygon(numbers string) error {
	place := w.beginPart(int64(w.at))
	if w.isEmpty() {
		w.endPart(place, nil)
		return nil
	}
	var rings orb.Polygon
	err := w.list(func() error {
		w.ring++
		if w.isEmpty() {
			rings = append(rings, nil)
			if !w.spend() {
				return w.overspent(int64(w.at))
			}
			return nil
		}
		ring, err := w.vertices(numbers, true)
		rings = append(rings, ring)
		return err
	})
	if err == nil {
		w.endPart(place, rings)
	}
	return err
}

// vertices reads a ring or path. Only the heights of polygons are tallied.
func (w *wktWalk) vertices(numbers string, ofPolygon bool) (orb.Ring, error) {
	if !w.spend() {
		return nil, w.overspent(int64(w.at))
	}
	w.scratch = w.scratch[:0]
	err := w.list(func() error {
		w.vertex++
		p, err := w.vertexOf(numbers, ofPolygon)
		w.scratch = append(w.scratch, p)
		return err
	})
	if err == nil {
		w.vertex = 0
	}
	return slices.Clone(w.scratch), err
}

func endsNumber(c byte) bool { return isBlank(c) || c == ',' || c == ')' || c == '(' || c == ';' }

// notNumber is the fault that what comes next is not a number.
func (w *wktWalk) notNumber() error {
	word := w.text[w.at:min(w.at+100, len(w.text))]
	if stop := bytes.IndexAny(word, " \t\r\n,;()"); stop == 0 {
		return w.unexpected("a number")
	} else if stop > 0 {
		word = word[:stop]
	}
	return w.fault(int64(w.at), "%s is not a number", quote(string(word)))
}

// vertexOf reads "longitude latitude" and perhaps a height and a measure, which
// the letters numbers announce.
func (w *wktWalk) vertexOf(numbers string, ofPolygon bool) (p orb.Point, err error) {
	at := w.at
	if !w.spend() {
		return p, w.overspent(int64(at))
	}
	n := 0
	height := 0.0
	for ; ; n++ {
		c := w.peek()
		if c == ',' || c == ')' || c == 0 {
			break
		}
		x, end := scanDecimal(w.text, w.at)
		if end == w.at || math.IsInf(x, 0) || end < len(w.text) && !endsNumber(w.text[end]) {
			return p, w.notNumber()
		}
		w.at = end
		switch n {
		case 0, 1:
			p[n] = x
		case 2:
			height = x
		}
	}
	switch least := 2 + len(numbers); {
	case w.at == len(w.text):
		return p, w.unexpected("")
	case n < least || n > 4 || numbers != "" && n > least:
		return p, w.fault(int64(at), "this vertex has %s; it needs a longitude and a latitude%s",
			count(n, "number", "numbers"), map[string]string{"Z": " and a height", "M": " and a measure", "ZM": ", a height and a measure"}[numbers])
	}
	if ofPolygon && n > 2 && numbers != "M" {
		w.heights.add(height)
	}
	return p, nil
}
