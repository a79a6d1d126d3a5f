package boundary

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/boundary/finding"
)

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "read", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// summary tells what was read in a form that is easy to compare: per part its
// feature, part, name and vertices per ring.
func summary(f *File) []string {
	var out []string
	for _, p := range f.Parts {
		var rings []int
		for _, ring := range p.Polygon {
			rings = append(rings, len(ring))
		}
		out = append(out, fmt.Sprintf("%d.%d %s %v", p.Place.Feature, p.Place.Part, p.Name, rings))
	}
	return out
}

func codes(f *File) []finding.Code {
	var out []finding.Code
	for _, x := range f.Findings {
		out = append(out, x.Code)
	}
	return out
}

func TestReadFixtures(t *testing.T) {
	old := []string{"1.1 Old [4]"}
	tests := []struct {
		file, format string
		parts        []string
		codes        []finding.Code
	}{
		{"fields.kml", "KML", []string{"1.1 Lower & upper meadow [5 4]", "2.1 Twin copse [4]", "2.2 Twin copse [4]"}, nil},
		{"fields.geojson", "GeoJSON", []string{"1.1 Lower & upper meadow [5 4]", "2.1 Twin copse [4]", "2.2 Twin copse [4]"}, nil},
		{"mixed.kml", "KML", []string{"2.1 Gravel pit [4]", "6.1 Hollow [4]"},
			[]finding.Code{finding.PathNotArea, finding.PointsNotArea, finding.NoGeometry, finding.NetworkLink, finding.AltitudePresent}},
		{"mixed.geojson", "GeoJSON", []string{"2.1 pit [4]", "3.1 Mixture [4]"},
			[]finding.Code{finding.PathNotArea, finding.PointsNotArea, finding.NoGeometry, finding.AltitudePresent}},
		{"namespace-2.0.kml", "KML", old, nil},
		{"namespace-2.1.kml", "KML", old, nil},
		{"namespace-none.kml", "KML", old, nil},
		{"namespace-prefix.kml", "KML", old, nil},
		// Rings that the KML standard forbids are read as they are, so that
		// they can be judged: OGC 12-007r2 10.5.3.7 (four tuples, closed),
		// 10.8.2 (holes within, direction, no crossing).
		{"defects.kml", "KML", []string{
			"1.1 Three tuples, heights mixed [3]", "2.1 Not closed [4]", "3.1 Hole far outside [4 4]",
			"4.1 Both clockwise, crossing [5]", "5.1 Off the globe [4]",
			"6.1 Holes first, two in one boundary [5 4 4]", "7.1 No vertices [0]"}, nil},
		{"path.kml", "KML", nil, []finding.Code{finding.NoPolygon, finding.PathNotArea, finding.PointsNotArea}},
		{"link.kml", "KML", nil, []finding.Code{finding.NoPolygon, finding.NetworkLink}},
		{"bare.geojson", "GeoJSON", []string{"1.1  [4]"}, nil},
	}
	for _, tt := range tests {
		data := fixture(t, tt.file)
		f, err := Read(tt.file, data, Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.file, err)
			continue
		}
		if f.Format != tt.format || f.Name != tt.file {
			t.Errorf("%s: read as %q, %q", tt.file, f.Name, f.Format)
		}
		if want := fmt.Sprintf("%x", sha256.Sum256(data)); f.SHA256 != want {
			t.Errorf("%s: SHA-256 %s, want %s", tt.file, f.SHA256, want)
		}
		if got := summary(f); !reflect.DeepEqual(got, tt.parts) {
			t.Errorf("%s: parts\n got %q\nwant %q", tt.file, got, tt.parts)
		}
		if got := codes(f); !reflect.DeepEqual(got, tt.codes) {
			t.Errorf("%s: findings %q, want %q", tt.file, got, tt.codes)
		}
	}
}

func TestReadKeepsRings(t *testing.T) {
	f, err := Read("defects.kml", fixture(t, "defects.kml"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []struct {
		part    int
		polygon orb.Polygon
	}{
		{0, orb.Polygon{{{1, 2}, {3, 2}, {3, 4}}}},
		{1, orb.Polygon{{{1, 2}, {3, 2}, {3, 4}, {1, 4}}}},
		{3, orb.Polygon{{{0, 0}, {10, 10}, {10, 0}, {0, 10}, {0, 0}}}},
		{4, orb.Polygon{{{500000, 5800000}, {500100, 5800000}, {500100, 5800100}, {500000, 5800000}}}},
		{5, orb.Polygon{
			{{0, 0}, {9, 0}, {9, 9}, {0, 9}, {0, 0}},
			{{1, 1}, {1, 2}, {2, 2}, {1, 1}},
			{{4, 4}, {4, 5}, {5, 5}, {4, 4}}}},
	} {
		if got := f.Parts[want.part].Polygon; !reflect.DeepEqual(got, want.polygon) {
			t.Errorf("part %d: got %v, want %v", want.part, got, want.polygon)
		}
	}
}

func TestReadOddPlaces(t *testing.T) {
	const ring = `<outerBoundaryIs><LinearRing><coordinates>1,2 3,2 3,4 1,2</coordinates></LinearRing></outerBoundaryIs>`
	tests := []struct {
		name, text string
		parts      []string
		codes      []finding.Code
	}{
		{"polygons outside placemarks", "<kml><Polygon>" + ring + "</Polygon><Document><MultiGeometry><Polygon>" + ring + "</Polygon></MultiGeometry></Document></kml>",
			[]string{"1.1  [4]", "2.1  [4]"}, nil},
		{"polygons in what is no part of the map", "<kml><NetworkLinkControl><Update><Create><Placemark><Polygon>" + ring + "</Polygon></Placemark></Create></Update></NetworkLinkControl></kml>",
			nil, []finding.Code{finding.NoPolygon}},
		{"elements within a name", "<kml><Placemark><name>A<b>C</b>B</name><Polygon>" + ring + "</Polygon></Placemark></kml>", []string{"1.1 AB [4]"}, nil},
		{"what follows the root", "<kml/>\n\x00\x00<", nil, []finding.Code{finding.NoPolygon}},
		{"null coordinates", `{"type":"Polygon","coordinates":null}`, nil, []finding.Code{finding.NoPolygon, finding.NoGeometry}},
		{"nothing at all", `{"type":"FeatureCollection","features":[]}`, nil, []finding.Code{finding.NoPolygon}},
		{"properties that are a list", `{"type":"Feature","properties":["name"],"id":{},"geometry":{"type":"Polygon","coordinates":[[]]}}`, []string{"1.1  [0]"}, nil},
		{"a name that is none", `{"type":"Feature","properties":{"name":null,"id":12},"geometry":{"type":"Polygon","coordinates":[[]]}}`, []string{"1.1 12 [0]"}, nil},
		{"a long name", `{"type":"Feature","id":"` + strings.Repeat("ä", 300) + `","geometry":{"type":"Polygon","coordinates":[[]]}}`, []string{"1.1 " + strings.Repeat("ä", 199) + "… [0]"}, nil},
	}
	for _, tt := range tests {
		f, err := Read("a", []byte(tt.text), Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got := summary(f); !reflect.DeepEqual(got, tt.parts) {
			t.Errorf("%s: parts %q, want %q", tt.name, got, tt.parts)
		}
		if got := codes(f); !reflect.DeepEqual(got, tt.codes) {
			t.Errorf("%s: findings %q, want %q", tt.name, got, tt.codes)
		}
	}
}

// Two formats of the same fields agree, and an independent reader of GeoJSON
// finds the same vertices.
func TestReadAgrees(t *testing.T) {
	data := fixture(t, "fields.geojson")
	a, err := Read("fields.geojson", data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Read("fields.kml", fixture(t, "fields.kml"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var features geom.GeoJSONFeatureCollection
	if err := json.Unmarshal(data, &features); err != nil {
		t.Fatal(err)
	}
	var others []geom.Geometry
	for _, f := range features.Features {
		others = append(others, f.Geometry.Dump()...)
	}
	if len(a.Parts) != 3 || len(b.Parts) != 3 || len(others) != 3 {
		t.Fatalf("%d, %d and %d parts", len(a.Parts), len(b.Parts), len(others))
	}
	for i, part := range a.Parts {
		if !reflect.DeepEqual(part.Polygon, b.Parts[i].Polygon) {
			t.Errorf("part %d: %v in GeoJSON, %v in KML", i, part.Polygon, b.Parts[i].Polygon)
		}
		if got := asSimpleFeature(part.Polygon).AsText(); got != others[i].AsText() {
			t.Errorf("part %d: %s, independently %s", i, got, others[i].AsText())
		}
	}
}

func TestReadFindings(t *testing.T) {
	tests := []struct {
		file string
		want []finding.Finding
	}{
		{"mixed.kml", []finding.Finding{
			{Code: finding.PathNotArea, Severity: finding.Note, Place: finding.Place{File: "mixed.kml", Line: 11, Column: 5, Feature: 3, Name: "Fence"},
				Text: "3 paths with 9 points are left out: a path is not an area.", Amount: 3, Unit: "paths"},
			{Code: finding.PointsNotArea, Severity: finding.Note, Place: finding.Place{File: "mixed.kml", Line: 4, Column: 31, Feature: 1, Name: "Gate"},
				Text: "1 single point is left out: a point is not an area.", Amount: 1, Unit: "points"},
			{Code: finding.NoGeometry, Severity: finding.NeedsAnswer, Place: finding.Place{File: "mixed.kml", Line: 18, Column: 3, Feature: 5, Name: "Forgotten"},
				Text: "2 features have no shape or an empty one; the first is feature 5 (“Forgotten”). Ask the client whether something is missing.", Amount: 2, Unit: "features"},
			{Code: finding.NetworkLink, Severity: finding.NeedsAnswer, Place: finding.Place{File: "mixed.kml", Line: 23, Column: 3},
				Text: "1 link points to another file; links are never followed. If the area lies there, ask the client for that file.", Amount: 1, Unit: "links"},
			{Code: finding.AltitudePresent, Severity: finding.Note, Place: finding.Place{File: "mixed.kml"},
				Text: "3 of 8 vertices carry a height (60.5 m to 72 m). A boundary needs none, so heights are left out.", Amount: 3, Unit: "vertices"},
		}},
		{"path.kml", []finding.Finding{
			{Code: finding.NoPolygon, Severity: finding.NeedsAnswer, Place: finding.Place{File: "path.kml"},
				Text: "The file holds no polygon, only 1 path of 4 points and 2 single points. Ask the client for the area as a polygon.", Amount: 0, Unit: "polygons"},
			{Code: finding.PathNotArea, Severity: finding.Note, Place: finding.Place{File: "path.kml", Line: 2, Column: 29, Feature: 1, Name: "Edge"},
				Text: "1 path with 4 points is left out: a path is not an area.", Amount: 1, Unit: "paths"},
			{Code: finding.PointsNotArea, Severity: finding.Note, Place: finding.Place{File: "path.kml", Line: 3, Column: 12, Feature: 2},
				Text: "2 single points are left out: a point is not an area.", Amount: 2, Unit: "points"},
		}},
	}
	for _, tt := range tests {
		f, err := Read(tt.file, fixture(t, tt.file), Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.file, err)
			continue
		}
		if len(f.Findings) != len(tt.want) {
			t.Errorf("%s: %d findings, want %d", tt.file, len(f.Findings), len(tt.want))
			continue
		}
		for i, want := range tt.want {
			if f.Findings[i] != want {
				t.Errorf("%s:\n got %+v\nwant %+v", tt.file, f.Findings[i], want)
			}
		}
	}
}

// Heights of 0 are the filler of most KML files and tell nothing.
func TestReadFillerHeights(t *testing.T) {
	for text, want := range map[string]int{
		"1,2,0 3,2,0 3,4,0 1,2,0":    0,
		"1,2,0 3,2,0 3,4,-1.5 1,2,0": 1,
	} {
		f, err := Read("a.kml", []byte(ringKML(text)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Findings) != want {
			t.Errorf("%s: %v", text, f.Findings)
		}
	}
}

func TestReadPlaces(t *testing.T) {
	for file, want := range map[string][]string{
		"fields.kml":     {"12:7", "26:11", "28:13"},
		"fields.geojson": {"12:24", "22:11", "23:11"},
	} {
		f, err := Read(file, fixture(t, file), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range f.Parts {
			if got := fmt.Sprintf("%d:%d", p.Place.Line, p.Place.Column); got != want[i] {
				t.Errorf("%s, part %d: at %s, want %s", file, i, got, want[i])
			}
			if p.Place.File != file || p.Place.Name != p.Name || p.Place.Ring != 0 || p.Place.Vertex != 0 {
				t.Errorf("%s, part %d: place %+v", file, i, p.Place)
			}
		}
	}
}

// ringKML is a KML file whose one ring has the given text as coordinates.
func ringKML(coordinates string) string {
	return `<kml><Placemark><name>A</name><Polygon><outerBoundaryIs><LinearRing><coordinates>` +
		coordinates + `</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`
}

// marked takes the mark ‹ out of text, and returns the line
// and column where it stood, 0 when there is none.
func marked(text string) (clean string, line, column int) {
	at := strings.Index(text, "‹")
	if at < 0 {
		return text, 0, 0
	}
	before := text[:at]
	line = strings.Count(before, "\n") + 1
	column = utf8.RuneCountInString(before[strings.LastIndex(before, "\n")+1:]) + 1
	return strings.Replace(text, "‹", "", 1), line, column
}

func TestReadErrors(t *testing.T) {
	polygon := func(coordinates string) string {
		return "{\"type\": \"Feature\", \"geometry\": {\"type\": \"Polygon\",\n \"coordinates\": " + coordinates + "}}"
	}
	tests := []struct{ name, text, want string }{
		{"empty", "", "the file is empty"},
		{"blank", " \n\t", "the file holds nothing but white space"},
		{"plain text", "name;lat;lon\nA;1;2", "not a KML, KMZ or GeoJSON file: it begins with “name;lat;lon”"},
		{"PDF", "%PDF-1.7\n", "this is a PDF document, not a KML, KMZ or GeoJSON file"},
		{"shapefile", "\x00\x00\x27\x0a\x00\x00", "this is a shapefile, not a KML, KMZ or GeoJSON file"},
		{"web page", "<!DOCTYPE html>‹<html><body></body></html>", "this is a web page, not a KML file; perhaps a page was saved in place of the file it links to"},
		{"other XML", "<?xml version='1.0'?>\n‹<gpx version='1.1'></gpx>", "this XML file begins with <gpx>; a KML file begins with <kml>"},
		{"comments only", "<!-- a --> ‹", "the file ends before any element begins"},
		{"cut off", "<kml><Document>\n<Placemark>‹", "feature 1: the file ends in the middle; it may be cut off"},
		{"not well-formed", "<kml><Document></Folder>‹</kml>", "the XML is damaged here: element <Document> closed by </Folder>"},
		{"entity bomb", `<!DOCTYPE kml [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><kml><Placemark><name>&b;‹</name></Placemark></kml>`,
			"feature 1: the XML is damaged here: invalid character entity &b;"},

		{"no number", ringKML("1,2\n 3,2\n ‹3,abc 1,2"), "feature 1, part 1, ring 1, vertex 3: “abc” is not a number"},
		{"after CRLF", ringKML("1,2\r\n 3,2\r\n ‹3,4x 1,2"), "feature 1, part 1, ring 1, vertex 3: “4x” is not a number"},
		{"not a number by name", ringKML("1,2 ‹NaN,2 3,4 1,2"), "feature 1, part 1, ring 1, vertex 2: “NaN” is not a number"},
		{"infinite", ringKML("1,2 ‹3,-Inf 3,4 1,2"), "feature 1, part 1, ring 1, vertex 2: “-Inf” is not a number"},
		{"too large", ringKML("1,2 ‹1e999,2 3,4 1,2"), "feature 1, part 1, ring 1, vertex 2: “1e999” is not a number"},
		{"hexadecimal", ringKML("1,2 ‹0x10,2 3,4 1,2"), "feature 1, part 1, ring 1, vertex 2: “0x10” is not a number"},
		{"one number", ringKML("1,2 ‹3 3,4 1,2"), "feature 1, part 1, ring 1, vertex 2: “3” is not a vertex; one is longitude,latitude or longitude,latitude,height"},
		{"four numbers", ringKML("1,2 ‹3,2,0,0 3,4 1,2"), "feature 1, part 1, ring 1, vertex 2: “3,2,0,0” is not a vertex; one is longitude,latitude or longitude,latitude,height"},
		{"commas between tuples", ringKML("‹1,2, 3,2, 3,4, 1,2"), "feature 1, part 1, ring 1, vertex 1: “1,2, 3,2, 3,4, 1,2” is not a vertex; one is longitude,latitude or longitude,latitude,height"},
		{"missing latitude", ringKML("1,2 ‹3,,0 3,4 1,2"), "feature 1, part 1, ring 1, vertex 2: a number is missing in “3,,0”"},
		{"hole with a fault",
			"<kml><Placemark/><Placemark><MultiGeometry><Polygon/><Polygon><outerBoundaryIs><LinearRing/></outerBoundaryIs>" +
				"<innerBoundaryIs><LinearRing/></innerBoundaryIs><innerBoundaryIs><LinearRing><coordinates>\n1,2\n‹1;2</coordinates></LinearRing></innerBoundaryIs></Polygon></MultiGeometry></Placemark></kml>",
			"feature 2, part 1, ring 3, vertex 2: “1;2” is not a vertex; one is longitude,latitude or longitude,latitude,height"},
		{"two outlines",
			"<kml><Placemark><Polygon><outerBoundaryIs><LinearRing/></outerBoundaryIs>\n<outerBoundaryIs>‹<LinearRing/></outerBoundaryIs></Polygon></Placemark></kml>",
			"feature 1, part 1, ring 1: this polygon has a second outline; one polygon has one outline and perhaps holes"},
		{"no outline",
			"<kml><Placemark>\n ‹<Polygon><innerBoundaryIs><LinearRing/></innerBoundaryIs></Polygon></Placemark></kml>",
			"feature 1, part 1: this polygon has a hole but no outline"},
		{"two lists",
			"<kml><Placemark><LineString><coordinates/>‹<coordinates/></LineString></Placemark></kml>",
			"feature 1: this ring or path has a second list of coordinates"},

		{"JSON list", "[1, 2]", "this looks like JSON, but a GeoJSON file begins with an object { }, not with a list [ ]"},
		{"not GeoJSON", ` ‹{"a": 1}`, "this is JSON but not GeoJSON: the outermost object has no type"},
		{"TopoJSON", `‹{"type": "Topology", "objects": {}}`, "this is TopoJSON, not GeoJSON"},
		{"unknown type", `‹{"type": "Circle"}`, "“Circle” is not a type of GeoJSON object"},
		{"cut off JSON", `{"type": "FeatureCollection", "features": [{"type": "Feature"‹`, "feature 1: the file ends in the middle; it may be cut off"},
		{"damaged JSON", `{"type": "FeatureCollection", "features": [‹}`, "the JSON is damaged here: invalid character '}' looking for beginning of value"},
		{"text after the end", "{\"type\": \"FeatureCollection\", \"features\": []}\n‹{}", "more text follows after the end of the GeoJSON object"},
		{"feature of another type", `{"type": "FeatureCollection", "features": [‹{"type": "Polygon"}]}`, "feature 1: this object should have the type “Feature”, not “Polygon”"},
		{"feature that is none", `{"type": "FeatureCollection", "features": [‹7]}`, "feature 1: the number 7 stands where an object is expected"},
		{"features that are no list", `{"type": "FeatureCollection", "features": ‹{}}`, "an object stands where a list of features is expected"},
		{"geometry without type", `{"type": "Feature", "geometry": ‹{}}`, "feature 1: this geometry has no type"},
		{"geometry of unknown type", `{"type": "Feature", "geometry": ‹{"type": "Circle"}}`, "feature 1: “Circle” is not a type of geometry"},
		{"doubled member", `{"type": "Polygon", "coordinates": [], ‹"coordinates": []}`, "feature 1: this object has a second member “coordinates”"},
		{"one number in a position", polygon("[[[1,2],‹[5],[3,4],[1,2]]]"), "feature 1, part 1, ring 1, vertex 2: this position has 1 number; it needs a longitude and a latitude"},
		{"empty position", polygon("[[[1,2],‹[],[3,4],[1,2]]]"), "feature 1, part 1, ring 1, vertex 2: this position has 0 numbers; it needs a longitude and a latitude"},
		{"null position", polygon("[[[1,2],[3,2],\n ‹null,[1,2]]]"), "feature 1, part 1, ring 1, vertex 3: null stands where a position such as [10.5, 48.2] is expected"},
		{"null longitude", polygon("[[[‹null,1],[3,2],[3,4],[1,2]]]"), "feature 1, part 1, ring 1, vertex 1: null stands where a number is expected"},
		{"text for a number", polygon(`[[[1,‹"2"],[3,2],[3,4],[1,2]]]`), "feature 1, part 1, ring 1, vertex 1: the text “2” stands where a number is expected"},
		{"NaN", polygon("[[[1,2],[3,2],[3,4],[1,2]],[[1,2],[‹NaN,2],[3,4],[1,2]]]"), "feature 1, part 1, ring 2, vertex 2: NaN is not a number"},
		{"Infinity", polygon("[[[1,2],[3,‹-Infinity]]]"), "feature 1, part 1, ring 1, vertex 2: Infinity is not a number"},
		{"number too large", polygon("[[[1,2],[3,‹1e999]]]"), "feature 1, part 1, ring 1, vertex 2: the number 1e999 is too large a number"},
		{"a level too few", polygon("[[‹1,2],[3,2],[3,4],[1,2]]"), "feature 1, part 1, ring 1, vertex 1: the number 1 stands where a position such as [10.5, 48.2] is expected"},
		{"a level too many", polygon("[[[‹[1,2],[3,2],[3,4],[1,2]]]]"), "feature 1, part 1, ring 1, vertex 1: a list stands where a number is expected"},
		{"null ring", polygon("[‹null]"), "feature 1, part 1, ring 1: null stands where a list of positions is expected"},
		{"second polygon, type last", `{"geometry": {"coordinates": [[[[1,2]]], [[[3,4],‹[5]]]], "type": "MultiPolygon"}, "type": "Feature"}`,
			"feature 1, part 2, ring 1, vertex 2: this position has 1 number; it needs a longitude and a latitude"},
		{"NaN, type last", `{"features": [{"geometry": {"type": "Polygon", "coordinates": [[[1,2],[‹NaN,2]]]}, "type": "Feature"}], "type": "FeatureCollection"}`,
			"feature 1, part 1, ring 1, vertex 2: NaN is not a number"},
		{"projected", `{"type": "FeatureCollection", "crs": ‹{"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}}, "features": []}`,
			"the coordinates are in the system “urn:ogc:def:crs:EPSG::32632”; ask for longitude and latitude in WGS 84"},
		{"linked system", `{"type": "FeatureCollection", "crs": ‹{"type": "link", "properties": {"href": "http://maps.example/crs"}}, "features": []}`,
			"the file names its coordinate system in a way that is not read here; GeoJSON is in WGS 84"},
	}
	for _, tt := range tests {
		text, line, column := marked(tt.text)
		want := "area.dat: " + tt.want
		if line > 0 {
			want = fmt.Sprintf("area.dat:%d:%d: %s", line, column, tt.want)
		}
		f, err := Read("area.dat", []byte(text), Options{})
		if err == nil {
			t.Errorf("%s: read without error: %q", tt.name, summary(f))
			continue
		}
		if err.Error() != want {
			t.Errorf("%s:\n got %s\nwant %s", tt.name, err, want)
		}
		var placed *ReadError
		if !errors.As(err, &placed) || placed.Place.File != "area.dat" {
			t.Errorf("%s: %T", tt.name, err)
		}
	}
}

func TestReadLimits(t *testing.T) {
	lim := Limits{Bytes: 4000, UnzippedBytes: 5000, Depth: 12, Vertices: 8}
	deep := strings.Repeat("<Folder>", 30) + strings.Repeat("</Folder>", 30)
	list := strings.Repeat("[", 30) + strings.Repeat("]", 30)
	many := strings.Repeat("1,2 ", 9)
	tests := []struct {
		name string
		data []byte
		want string
	}{
		{"bytes", make([]byte, 4001), "a: the file is larger than the limit of 4000 bytes"},
		{"unzipped bytes", zipOf(t, "doc.kml", "<kml>"+strings.Repeat(" ", 100_000)+"</kml>"), "a: “doc.kml” in the archive unzips to more than the limit of 5000 bytes"},
		{"depth of KML", []byte("<kml>" + deep + "</kml>"), "a:1:94: elements lie more than the limit of 12 inside one another"},
		{"depth of an unknown element", []byte("<kml>" + strings.ReplaceAll(deep, "Folder", "x") + "</kml>"), "a:1:39: elements lie more than the limit of 12 inside one another"},
		{"depth of GeoJSON", []byte(`{"type":"FeatureCollection","x":` + list + `}`), ""},
		{"depth of a foreign member", []byte(`{"x":` + list + `,"type":"FeatureCollection","features":[]}`), "a:1:17: objects and lists lie more than the limit of 12 inside one another"},
		{"vertices of KML", []byte(ringKML(many)), "feature 1, part 1, ring 1, vertex 8: the file holds more than the limit of 8 vertices and rings"},
		{"rings of KML", []byte("<kml><Placemark><Polygon><outerBoundaryIs><LinearRing/></outerBoundaryIs><innerBoundaryIs>" + strings.Repeat("<LinearRing/>", 9) + "</innerBoundaryIs></Polygon></Placemark></kml>"),
			"feature 1, part 1, ring 9: the file holds more than the limit of 8 vertices and rings"},
		{"points of GeoJSON", []byte(`{"type":"MultiPoint","coordinates":[` + strings.Repeat("[1,2],", 8) + `[1,2]]}`), "feature 1: the file holds more than the limit of 8 vertices and rings"},
		{"rings of GeoJSON", []byte(`{"type":"Polygon","coordinates":[` + strings.Repeat("[],", 8) + `[]]}`), "feature 1, part 1, ring 9: the file holds more than the limit of 8 vertices and rings"},
	}
	for _, tt := range tests {
		_, err := Read("a", tt.data, Options{Limits: lim})
		if err == nil || !strings.HasSuffix(err.Error(), tt.want) || tt.want == "" && !strings.Contains(err.Error(), "limit of 12") {
			t.Errorf("%s:\n got %v\nwant %s", tt.name, err, tt.want)
		}
	}
	// Exactly the limit is allowed: one ring and 7 vertices.
	if _, err := Read("a", []byte(ringKML(strings.Repeat("1,2 ", 7))), Options{Limits: lim}); err != nil {
		t.Error(err)
	}
}

// The number nearest to each decimal is kept to the last bit.
func TestReadExactNumbers(t *testing.T) {
	values := []float64{0.1, -0.30000000000000004, 179.99999999999997, 5e-324, 1.7976931348623157e308, math.Pi, -math.Sqrt2, 52.123456789012345}
	for _, format := range []string{"%v", "%.25f"} {
		var kml, json []string
		for _, v := range values {
			if format != "%v" && math.Abs(v) < 1e-9 {
				v = 0
			}
			kml = append(kml, fmt.Sprintf(format+",1", v))
			json = append(json, fmt.Sprintf("["+format+",1]", v))
		}
		for _, text := range []string{
			ringKML(strings.Join(kml, " ")),
			`{"type":"Polygon","coordinates":[[` + strings.Join(json, ",") + `]]}`,
		} {
			f, err := Read("a", []byte(text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range f.Parts[0].Polygon[0] {
				want := values[i]
				if format != "%v" && math.Abs(want) < 1e-9 {
					want = 0
				}
				if math.Float64bits(p[0]) != math.Float64bits(want) {
					t.Errorf("%s: %v became %v", f.Format, want, p[0])
				}
			}
		}
	}
}

// zipOf makes an archive of pairs of name and content.
func zipOf(t testing.TB, pairs ...string) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i := 0; i+1 < len(pairs); i += 2 {
		w, err := z.Create(pairs[i])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(pairs[i+1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
