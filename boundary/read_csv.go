package boundary

import (
	"slices"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// table is a table of vertices, one a row. Its first line names the columns.
type table struct {
	*reading
	cells
	header  []cell
	columns columns
	rings   []*rowRing
}

// columns are the indices of the columns that are looked at, -1 for none.
type columns struct {
	x, y   int
	kind   [2]string // what x and y are called in words
	metric bool      // whether they are called easting and northing
	name   int
	keys   []int // may say which rows belong to a feature, the likeliest first
	key    int   // the one of keys at hand
	part   int
	ring   int
	hole   int
	shape  int // holds well-known text
	buffer int
}

// rowRing is a ring, or the points in its place. Features and parts are
// numbered as they first appear.
type rowRing struct {
	feature, part int
	hole          bool
	name          string
	buffers       []cell // the first, and the first that differs
	place         finding.Place
	vertices      orb.Ring
}

// openTable reads the line of names at start, and returns nil when the text is
// no table of vertices. An error says why a table cannot be read as one.
func openTable(r *reading, start int) (*table, error) {
	body := r.src.data[start:]
	if line := firstLine(body); len(line) >= 5 && strings.EqualFold(line[:4], "sep=") {
		start += min(len(line)+1, len(body)) // a spreadsheet's own hint
	}
	var unnamed error
	for _, delimiter := range []byte("\t;,") {
		t := &table{reading: r, cells: cells{r.src.data, start, delimiter}}
		header, err := t.row()
		if err != nil || len(header) < 2 {
			continue
		}
		t.header = header
		if err := t.findColumns(); err != nil {
			return nil, err
		}
		if t.columns.x >= 0 || t.columns.shape >= 0 {
			return t, nil
		}
		if row, err := t.row(); unnamed == nil && err == nil && len(row) == len(header) {
			unnamed = r.fault(int64(start), "this looks like a table, but its first line %s does not name columns for longitude and latitude or for easting and northing", quote(firstLine(r.src.data[start:])))
		}
	}
	return nil, unnamed
}

// columnWords are the words that give a column its meaning.
var columnWords = []struct {
	meaning string
	words   []string
}{
	{"longitude", []string{"lon", "lng", "long", "longitude"}},
	{"latitude", []string{"lat", "latitude"}},
	{"easting", []string{"easting", "east", "e"}},
	{"northing", []string{"northing", "north", "n"}},
	{"x", []string{"x"}},
	{"y", []string{"y"}},
	{"name", []string{"name", "title", "label"}},
	{"feature", []string{"feature", "field", "polygon", "parcel", "plot", "site", "block", "group"}},
	{"id", []string{"id", "fid"}},
	{"part", []string{"part"}},
	{"ring", []string{"ring"}},
	{"hole", []string{"hole"}},
	{"shape", []string{"wkt", "geometry", "geom", "shape"}},
}

// findColumns tells which columns the names in the first line mean. Longitude
// and latitude go before x and y, and those before easting and northing, unless
// the numbers are to be read in a system of metres or feet.
func (t *table) findColumns() error {
	at := map[string]int{}
	for _, m := range columnWords {
		at[m.meaning] = -1
		for i, c := range t.header {
			words := strings.FieldsFunc(strings.ToLower(c.text), func(c rune) bool { return !unicode.IsLetter(c) })
			if len(words) == 0 || !slices.Contains(m.words, words[0]) && !slices.Contains(m.words, words[len(words)-1]) {
				continue
			}
			if first := at[m.meaning]; first < 0 {
				at[m.meaning] = i
			} else if slices.Contains([]string{"longitude", "latitude", "x", "y"}, m.meaning) {
				return t.fault(int64(c.offset), "the columns %s and %s could both be meant for %s", quote(t.header[first].text), quote(c.text), m.meaning)
			}
		}
	}
	t.columns = columns{x: -1, y: -1, name: at["name"], part: at["part"], ring: at["ring"], hole: at["hole"], shape: at["shape"],
		buffer: slices.IndexFunc(t.header, func(c cell) bool { return isBuffer(c.text) })}
	if t.columns.keys = []int{at["feature"]}; at["feature"] < 0 {
		// Names and numbers may as well be those of single vertices.
		t.columns.keys = slices.DeleteFunc([]int{at["name"], at["id"]}, func(i int) bool { return i < 0 })
		t.columns.keys = append(t.columns.keys, -1)
	}
	pairs := [][2]string{{"longitude", "latitude"}, {"x", "y"}, {"easting", "northing"}}
	if t.inPlane {
		slices.Reverse(pairs)
	}
	for _, pair := range pairs {
		if x, y := at[pair[0]], at[pair[1]]; x >= 0 && y >= 0 {
			t.columns.x, t.columns.y, t.columns.kind, t.columns.metric = x, y, pair, pair[0] == "easting"
			break
		}
	}
	if t.inPlane && t.columns.kind[0] == "longitude" {
		return t.fault(int64(t.header[t.columns.x].offset), "the columns are called longitude and latitude, but the numbers are to be read in a system of eastings and northings")
	}
	return nil
}

// read reads all rows.
func (t *table) read() (format string, err error) {
	if t.columns.x < 0 {
		return "CSV with WKT", t.readShapes()
	}
	if t.rows {
		return "CSV of points", t.readPoints()
	}
	return "CSV of vertices", t.readVertices()
}

// filledRow returns the next row that is not blank, none at the end of the
// table or with an error.
func (t *table) filledRow() ([]cell, error) {
	for {
		row, err := t.row()
		if err != nil {
			return nil, t.fault(int64(t.at), "%v", err)
		}
		if len(row) == 0 || !blank(row) {
			return row, nil
		}
	}
}

// readShapes reads rows of which each holds a shape as well-known text.
func (t *table) readShapes() error {
	for {
		row, err := t.filledRow()
		if len(row) == 0 {
			return err
		}
		t.beginFeature()
		shape := get(row, t.columns.shape)
		end := shape.offset + len(shape.text)
		if string(t.text[shape.offset:min(end, len(t.text))]) != shape.text {
			return t.fault(int64(shape.offset), "%s is not well-known text such as POLYGON((…))", quote(shape.text))
		}
		w := &wktWalk{reading: t.reading, text: t.text[:end], at: shape.offset}
		if shape.text != "" {
			if err := w.single(); err != nil {
				return err
			}
			if w.peek() != 0 {
				return w.unexpected("the end of the shape")
			}
		}
		name := ""
		for _, i := range append([]int{t.columns.name}, t.columns.keys...) {
			if name == "" {
				name = get(row, i).text
			}
		}
		own := get(row, t.columns.buffer)
		t.addBuffer(int64(own.offset), own.text)
		t.endFeature(int64(shape.offset), name)
	}
}

func blank(row []cell) bool {
	return !slices.ContainsFunc(row, func(c cell) bool { return c.text != "" })
}

// get is a cell of a row, an empty one when it is not there.
func get(row []cell, column int) cell {
	if column >= 0 && column < len(row) {
		return row[column]
	}
	return cell{offset: row[len(row)-1].offset}
}

// readVertices reads rows of which each is a vertex, and makes parts of them,
// or points.
func (t *table) readVertices() error {
	start, used := t.at, t.used
	for _, t.columns.key = range t.columns.keys {
		t.at, t.used, t.rings = start, used, nil
		if err := t.readRows(); err != nil {
			return err
		}
		if t.enclose() {
			break
		}
	}
	c := t.columns
	t.metric = c.metric
	grouping := ""
	for _, i := range []int{c.hole, c.ring, c.part, c.key} {
		if i >= 0 {
			grouping = t.header[i].text
		}
	}
	area := t.enclose() && (grouping != "" || t.closed())
	slices.SortStableFunc(t.rings, func(a, b *rowRing) int {
		if a.feature != b.feature {
			return a.feature - b.feature
		}
		return a.part - b.part
	})
	for i, ring := range t.rings {
		if i == 0 || ring.feature != t.rings[i-1].feature {
			t.beginFeature()
		}
		if area {
			if err := t.addRing(i); err != nil {
				return err
			}
		} else {
			for _, p := range ring.vertices {
				place := ring.place
				place.Feature = t.feature
				t.addPoint(place, p)
			}
		}
		for _, own := range ring.buffers {
			t.addBuffer(int64(own.offset), own.text)
		}
		if i+1 == len(t.rings) || ring.feature != t.rings[i+1].feature {
			t.endFeature(0, ring.name)
		}
	}
	if area {
		t.sayOutline(grouping)
	}
	return nil
}

// addRing makes an outline of the i-th ring, or a hole in the part before.
func (t *table) addRing(i int) error {
	ring := t.rings[i]
	begins := i == 0 || ring.feature != t.rings[i-1].feature || ring.part != t.rings[i-1].part
	if t.columns.hole >= 0 {
		if begins && ring.hole {
			return &ReadError{ring.place, "this polygon has a hole but no outline before it"}
		}
		begins = !ring.hole
	}
	if !begins {
		last := &t.parts[len(t.parts)-1]
		last.Polygon = append(last.Polygon, ring.vertices)
		return nil
	}
	t.polygons++
	place := ring.place
	place.Feature, place.Part = t.feature, t.polygons
	t.endPart(place, orb.Polygon{ring.vertices})
	return nil
}

// sayOutline tells that rows were taken as outlines, which no table says of
// itself.
func (t *table) sayOutline(grouping string) {
	parts := finding.Counted(len(t.parts), "part", "parts")
	text := finding.Say("The rows of the table are taken as the vertices of %s, in their order and since the last repeats the first.", parts)
	if grouping != "" {
		text = finding.Say("The rows of the table are taken as the vertices of %s, in their order and grouped by the column %s.", parts, quote(grouping))
	}
	t.notes = append(t.notes, finding.Finding{
		Code: finding.RowsAsOutline, Severity: finding.Note, Place: t.parts[0].Place, Amount: float64(len(t.parts)), Unit: "parts",
		Text: text,
	})
}

// enclose reports whether there are rings and each could enclose ground.
func (t *table) enclose() bool {
	for _, ring := range t.rings {
		if !threeDifferent(ring.vertices) {
			return false
		}
	}
	return len(t.rings) > 0
}

// closed reports whether each ring ends where it begins.
func (t *table) closed() bool {
	for _, ring := range t.rings {
		if ring.vertices[0] != ring.vertices[len(ring.vertices)-1] {
			return false
		}
	}
	return true
}

// readRows reads all rows into rings.
func (t *table) readRows() error {
	type rowKey struct{ feature, part, ring, hole string }
	rings := map[rowKey]*rowRing{}
	features := map[string]int{}
	parts := map[rowKey]int{}
	for {
		row, err := t.filledRow()
		if len(row) == 0 {
			return err
		}
		key := rowKey{get(row, t.columns.key).text, get(row, t.columns.part).text, get(row, t.columns.ring).text, holeKey(get(row, t.columns.hole).text)}
		name := get(row, t.columns.name).text
		if name == "" {
			name = key.feature
		}
		ring := rings[key]
		if ring == nil {
			if !t.spend() {
				return t.overspent(int64(row[0].offset))
			}
			if _, known := features[key.feature]; !known {
				features[key.feature] = len(features)
			}
			partKey := rowKey{feature: key.feature, part: key.part}
			if _, known := parts[partKey]; !known {
				parts[partKey] = len(parts)
			}
			ring = &rowRing{
				feature: features[key.feature], part: parts[partKey], hole: key.hole != "",
				name: name, place: t.place(int64(row[0].offset)),
			}
			rings[key] = ring
			t.rings = append(t.rings, ring)
		}
		if own := get(row, t.columns.buffer); own.text != "" && len(ring.buffers) < 2 && (len(ring.buffers) == 0 || ring.buffers[0].text != own.text) {
			ring.buffers = append(ring.buffers, own)
		}
		if name != ring.name {
			ring.name = key.feature // the names are those of the vertices
		}
		if !t.spend() {
			return t.overspent(int64(row[0].offset))
		}
		var p orb.Point
		for axis, c := range []cell{get(row, t.columns.x), get(row, t.columns.y)} {
			if p[axis], err = t.value(c, axis); err != nil {
				return err
			}
		}
		ring.vertices = append(ring.vertices, p)
	}
}

// holeKey is "" for the ways in which a row says that it is of no hole.
func holeKey(text string) string {
	text = strings.ToLower(text)
	if slices.Contains([]string{"0", "-", "no", "n", "false", "f", "outer", "outline", "shell"}, text) {
		return ""
	}
	return text
}

// value reads a coordinate: a number, or degrees, minutes and seconds.
func (t *table) value(c cell, axis int) (float64, error) {
	kind := t.columns.kind[axis]
	if c.text == "" {
		return 0, t.fault(int64(c.offset), "this row has no %s", kind)
	}
	text := strings.Replace(c.text, "−", "-", 1) // the minus sign of typesetters
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	if x, ok := decimal([]byte(text)); ok {
		return x, nil
	}
	if t.columns.metric || t.inPlane {
		return 0, t.fault(int64(c.offset), "%s is not a number", quote(c.text))
	}
	x, fault := sexagesimal(text, axis)
	switch {
	case fault == "":
		return x, nil
	case kind == "x" || kind == "y":
		return 0, t.fault(int64(c.offset), "%s in column %s is not read: %s", quote(c.text), kind, fault)
	}
	return 0, t.fault(int64(c.offset), "%s is not a %s: %s", quote(c.text), kind, fault)
}
