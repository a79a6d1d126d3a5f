package boundary

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"selvage/boundary/crs"
	"selvage/boundary/finding"
)

// Options say how a file is to be read. The zero Options are the usual ones.
type Options struct {
	Limits    Limits            // the zero Limits stand for DefaultLimits
	CRS       string            // the coordinate system of the file's numbers, as crs.Parse takes it; "" for the file's own, else lon/lat on WGS 84
	ClosePath bool              // take a path or a row of points as the outline of an area
	Beside    map[string][]byte // the files that belong to this one, by lower-case extension: ".prj", ".dbf"

	points bool // whether the file is read for its points, of which each row of a table is one
}

// Limits bound what Read takes in. Start from DefaultLimits.
type Limits struct {
	Bytes         int64 // of the file
	UnzippedBytes int64 // of all that is unzipped of a KMZ
	Depth         int   // elements, objects or lists inside one another
	Vertices      int   // of all shapes together; each ring or path counts as one more
	Points        int   // that ReadPoints takes
	Crossings     int   // of the sides of all shapes together
}

// DefaultLimits are far beyond any boundary that is flown in one job.
var DefaultLimits = Limits{
	Bytes:         100_000_000,
	UnzippedBytes: 300_000_000,
	Depth:         100,
	Vertices:      2_000_000,
	Points:        10_000,
	Crossings:     100_000,
}

// File is a boundary file as it was read.
type File struct {
	Name     string
	Format   string // in words: "KML", "KMZ (doc.kml)", "GeoJSON", "EWKT (SRID 4326)"
	SHA256   string // of the file's bytes, in hexadecimal
	Parts    []Part
	Paths    []Path            // lines, which are no areas
	Findings []finding.Finding // what reading noticed
}

// Path is one line of a file, in degrees lon/lat, as the file has it. A vertex
// that its coordinate system cannot place is NaN.
type Path struct {
	Name  string
	Place finding.Place
	Line  orb.LineString
}

// Part is one polygon of a file, in degrees lon/lat. Its rings are exactly as
// the file has them: perhaps unclosed, crossing or empty, but every number is
// finite. Place gives the feature, the part within it, and line and column.
type Part struct {
	Name    string
	Place   finding.Place
	Polygon orb.Polygon
	Buffer  float64 // metres that its feature asks for, inwards below 0; 0 for none
}

// Area is a named, valid shape in degrees lon/lat.
type Area struct {
	Name  string
	Shape orb.MultiPolygon
	Parts []Part // of a site area: the parts of the file that it is made of
}

// ReadError says what stopped the reading of a file, and where.
type ReadError struct {
	Place finding.Place
	Text  string
}

func (e *ReadError) Error() string {
	var b strings.Builder
	p := e.Place
	switch {
	case p.File != "" && p.Line > 0:
		fmt.Fprintf(&b, "%s:%d:%d: ", p.File, p.Line, p.Column)
	case p.File != "":
		b.WriteString(p.File + ": ")
	case p.Line > 0:
		fmt.Fprintf(&b, "line %d, column %d: ", p.Line, p.Column)
	}
	if words := where(p); words != "" {
		b.WriteString(words + ": ")
	}
	b.WriteString(e.Text)
	return b.String()
}

// where puts a place within a file in words: "feature 3 (“North”), part 1, ring 1, vertex 5".
func where(p finding.Place) string {
	var words []string
	add := func(word string, n int) {
		if n > 0 {
			words = append(words, fmt.Sprintf("%s %d", word, n))
		}
	}
	add("feature", p.Feature)
	if p.Feature > 0 && p.Name != "" {
		words[0] += " (“" + p.Name + "”)"
	}
	add("part", p.Part)
	add("ring", p.Ring)
	add("vertex", p.Vertex)
	return strings.Join(words, ", ")
}

// readable are the formats in words.
const readable = "KML, KMZ, GPX, GeoJSON, WKT, a shapefile or a table of vertices (CSV)"

// Read reads the polygons of a boundary file: KML, KMZ, GPX, GeoJSON, WKT or
// EWKT, a shapefile, or a table of vertices. The content decides which of them it is; name
// only labels findings and errors. A file without any polygon is read without
// error: it has no parts, and a finding says what it holds instead. An error is
// a *ReadError, with a place where there is one.
func Read(name string, data []byte, o Options) (*File, error) {
	if o.Limits == (Limits{}) {
		o.Limits = DefaultLimits
	}
	fail := func(format string, args ...any) (*File, error) {
		return nil, &ReadError{finding.Place{File: name}, fmt.Sprintf(format, args...)}
	}
	if int64(len(data)) > o.Limits.Bytes {
		return fail("the file is larger than the limit of %s (--limit size)", megabytes(o.Limits.Bytes))
	}
	if len(data) == 0 {
		return fail("the file is empty")
	}
	sum := sha256.Sum256(data)
	file := &File{Name: name, SHA256: hex.EncodeToString(sum[:])}

	var asked *crs.System
	if o.CRS != "" {
		system, err := parseSystem(o.CRS)
		if err != nil {
			return fail("%v", err)
		}
		asked = &system
	}
	r, format, err := readAny(name, data, o)
	if err != nil {
		return nil, err
	}
	file.Format = format
	var closed []outline
	if o.ClosePath {
		closed = r.closePaths()
	}
	buffers := r.giveBuffers()
	file.Parts, file.Paths, file.Findings = r.parts, r.paths.lines(), append(r.findings(), buffers...)
	if err := file.transform(r, asked); err != nil {
		return nil, err
	}
	file.Findings = append(file.Findings, sayClosed(file.Parts, closed)...)
	if err := file.checkCrossings(o.Limits.Crossings); err != nil {
		return nil, err
	}
	return file, nil
}

// readAny reads whatever format the data are in.
func readAny(name string, data []byte, o Options) (*reading, string, error) {
	switch {
	case isZip(data):
		return readZip(name, data, o)
	case isShapefile(data):
		return readShapefile(name, data, o)
	}
	if what := binaryKind(data); what != "" {
		return nil, "", &ReadError{finding.Place{File: name}, fmt.Sprintf("%s, not %s", what, readable)}
	}
	return readText(name, data, o)
}

// readText reads a format that is text, whichever the first characters announce.
func readText(name string, data []byte, o Options) (r *reading, format string, err error) {
	fail := func(format string, args ...any) (*reading, string, error) {
		return nil, "", &ReadError{finding.Place{File: name}, fmt.Sprintf(format, args...)}
	}
	text, doubt, err := decodeText(data)
	if err != nil {
		return fail("%v", err)
	}
	r = &reading{file: name, src: newSource(text), lim: o.Limits, keep: o.ClosePath || o.points, rows: o.points, inPlane: inPlane(o.CRS)}
	if !doubt.Empty() {
		r.notes = append(r.notes, finding.Finding{
			Code: finding.WrongEncoding, Severity: finding.Note, Place: finding.Place{File: name}, Text: doubt,
		})
	}
	body := bytes.TrimLeftFunc(text, unicode.IsSpace)
	start := len(text) - len(body)
	switch {
	case len(body) == 0:
		return fail("the file holds nothing but white space")
	case body[0] == '<':
		format, err = readXML(r, start)
	case body[0] == '{' || body[0] == recordSeparator:
		format, err = readGeoJSON(r)
	case body[0] == '[':
		return fail("this looks like JSON, but a GeoJSON file begins with an object { }, not with a list [ ]")
	case isWKT(body):
		format, err = readWKT(r, start)
	default:
		var table *table
		if table, err = openTable(r, start); table != nil {
			format, err = table.read()
		} else if err == nil {
			return fail("this is not %s: it begins with %s", readable, quote(firstLine(body)))
		}
	}
	return r, format, err
}

func isZip(data []byte) bool {
	return bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("PK\x05\x06"))
}

// binaryKind names the content that is sometimes sent in place of a boundary
// file, by its first bytes, "" when it may be text.
func binaryKind(data []byte) string {
	for _, kind := range []struct{ magic, what string }{
		{"%PDF-", "this is a PDF document"},
		{"\xff\xd8\xff", "this is a JPEG image"},
		{"\x89PNG", "this is a PNG image"},
		{"II*\x00", "this is a TIFF image"},
		{"MM\x00*", "this is a TIFF image"},
		{"AC10", "this is a DWG drawing"},
		{"SQLite format 3", "this is a database, perhaps a GeoPackage"},
		{"\x1f\x8b", "this is a gzip archive"},
		{"7z\xbc\xaf", "this is a 7z archive"},
		{"Rar!", "this is a RAR archive"},
		{"\x00\x05\x16\x07", "this is a shadow that macOS keeps beside a file, as its name with “._” says"},
	} {
		if bytes.HasPrefix(data, []byte(kind.magic)) {
			return kind.what
		}
	}
	return ""
}

func firstLine(text []byte) string {
	text = text[:min(len(text), 400)]
	if end := bytes.IndexAny(text, "\r\n"); end >= 0 {
		text = text[:end]
	}
	return string(text)
}

// quote puts s in quotation marks, shortened and with nothing unprintable in it.
func quote(s string) string { return "“" + printable(s, 40) + "”" }

// printable is s on one line, cut after limit characters.
func printable(s string, limit int) string {
	whole := len(s)
	s = s[:min(len(s), 100*limit)] // much more than is shown
	s = strings.Map(func(c rune) rune {
		if unicode.IsSpace(c) {
			return ' '
		}
		if !unicode.IsPrint(c) {
			return '\ufffd'
		}
		return c
	}, s)
	s = strings.Join(strings.Fields(s), " ")
	if letters := []rune(s); len(letters) > limit {
		return string(letters[:limit-1]) + "…"
	}
	if whole > 100*limit {
		return s + "…"
	}
	return s
}

func megabytes(n int64) string {
	if n < 1_000_000 {
		return fmt.Sprintf("%d bytes", n)
	}
	return fmt.Sprintf("%.4g MB", float64(n)/1e6)
}
