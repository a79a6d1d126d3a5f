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

// same compares what findings say, however that is put together.
func same(a, b finding.Finding) bool {
	a.Text, b.Text = finding.Plain(a.Text.String()), finding.Plain(b.Text.String())
	return reflect.DeepEqual(a, b)
}

func TestReadFixtures(t *testing.T) {
	old := []string{"1.1 Old [4]"}
	fields := []string{"1.1 Lower & upper meadow [5 4]", "2.1 Twin copse [4]", "2.2 Twin copse [4]"}
	tests := []struct {
		file, format string
		parts        []string
		codes        []finding.Code
	}{
		{"fields.kml", "KML", fields, nil},
		{"fields.geojson", "GeoJSON", fields, nil},
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
		{"fields.geojsonl", "GeoJSON, newline-delimited", fields, nil},
		{"fields.geojsons", "GeoJSON, newline-delimited", fields, nil},
		{"fields.wkt", "WKT", []string{"1.1  [5 4]", "2.1  [4]", "2.2  [4]"}, nil},
		{"fields-wkt.csv", "CSV with WKT", fields, nil},
		{"fields-dms.csv", "CSV of vertices", fields, []finding.Code{finding.RowsAsOutline}},
		{"fields-25832.geojson", "GeoJSON", fields, []finding.Code{finding.Transformed}},
		{"fields-25832.ewkt", "EWKT (SRID 25832)", []string{"1.1  [5 4]", "2.1  [4]", "2.2  [4]"}, []finding.Code{finding.Transformed}},
		{"fields-25832.csv", "CSV of vertices", fields, []finding.Code{finding.RowsAsOutline, finding.LooksProjected}},
		{"walk.gpx", "GPX 1.1", nil, []finding.Code{finding.NoPolygon, finding.PathNotArea, finding.PointsNotArea}},
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

// All formats of the same fields agree, and an independent reader of GeoJSON
// finds the same vertices. GDAL 3.6.2 wrote the files in EPSG:25832, to 0.1 mm
// or finer; ETRS89 is taken as WGS 84 by both.
func TestReadAgrees(t *testing.T) {
	data := fixture(t, "fields.geojson")
	a, err := Read("fields.geojson", data, Options{})
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
	if len(a.Parts) != 3 || len(others) != 3 {
		t.Fatalf("%d and %d parts", len(a.Parts), len(others))
	}
	for i, part := range a.Parts {
		if got := asSimpleFeature(part.Polygon).AsText(); got != others[i].AsText() {
			t.Errorf("part %d: %s, independently %s", i, got, others[i].AsText())
		}
	}
	const tenthOfMillimetre = 1e-9 // degrees
	for _, tt := range []struct {
		file, system string
		within       float64 // degrees
	}{
		{"fields.kml", "", 0},
		{"fields.geojsonl", "", 0},
		{"fields.geojsons", "", 0},
		{"fields.wkt", "", 0},
		{"fields-wkt.csv", "", 0},
		{"fields-dms.csv", "", 1e-14},
		{"fields-25832.geojson", "", 2 * tenthOfMillimetre},
		{"fields-25832.ewkt", "", 2 * tenthOfMillimetre},
		{"fields-25832.csv", "ETRS89 / UTM zone 32N", 2 * tenthOfMillimetre},
	} {
		b, err := Read(tt.file, fixture(t, tt.file), Options{CRS: tt.system})
		if err != nil || len(b.Parts) != len(a.Parts) {
			t.Errorf("%s: %v", tt.file, err)
			continue
		}
		for i, part := range a.Parts {
			for k, ring := range part.Polygon {
				other := b.Parts[i].Polygon[k]
				if len(other) != len(ring) {
					t.Errorf("%s, part %d, ring %d: %d vertices", tt.file, i, k, len(other))
					continue
				}
				for v, p := range ring {
					if q := other[v]; math.Abs(p[0]-q[0]) > tt.within || math.Abs(p[1]-q[1]) > tt.within {
						t.Errorf("%s, part %d, ring %d: vertex %v, in GeoJSON %v", tt.file, i, k, q, p)
					}
				}
			}
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
				Text: finding.Plain("3 paths with 9 points are left out: a path is not an area."), Amount: 3, Unit: "paths"},
			{Code: finding.PointsNotArea, Severity: finding.Note, Place: finding.Place{File: "mixed.kml", Line: 4, Column: 31, Feature: 1, Name: "Gate"},
				Text: finding.Plain("1 single point is left out: a point is not an area."), Amount: 1, Unit: "points"},
			{Code: finding.NoGeometry, Severity: finding.NeedsAnswer, Place: finding.Place{File: "mixed.kml", Line: 18, Column: 3, Feature: 5, Name: "Forgotten"},
				Text: finding.Plain("2 features have no shape or an empty one; the first is feature 5 (“Forgotten”). Ask the client whether something is missing."), Amount: 2, Unit: "features"},
			{Code: finding.NetworkLink, Severity: finding.NeedsAnswer, Place: finding.Place{File: "mixed.kml", Line: 23, Column: 3},
				Text: finding.Plain("1 link points to another file; links are never followed. If the area lies there, ask the client for that file."), Amount: 1, Unit: "links"},
			{Code: finding.AltitudePresent, Severity: finding.Note, Place: finding.Place{File: "mixed.kml"},
				Text: finding.Plain("3 of 8 vertices carry a height (60.5 m to 72 m). A boundary needs none, so heights are left out."), Amount: 3, Unit: "vertices"},
		}},
		{"path.kml", []finding.Finding{
			{Code: finding.NoPolygon, Severity: finding.NeedsAnswer, Place: finding.Place{File: "path.kml"},
				Text: finding.Plain("The file holds no polygon, only 1 path of 4 points and 2 single points. Ask the client for the area as a polygon. If the path walks around the site, it can be taken as its outline (--close-path)."), Amount: 0, Unit: "polygons"},
			{Code: finding.PathNotArea, Severity: finding.Note, Place: finding.Place{File: "path.kml", Line: 2, Column: 29, Feature: 1, Name: "Edge"},
				Text: finding.Plain("1 path with 4 points is left out: a path is not an area."), Amount: 1, Unit: "paths"},
			{Code: finding.PointsNotArea, Severity: finding.Note, Place: finding.Place{File: "path.kml", Line: 3, Column: 12, Feature: 2},
				Text: finding.Plain("2 single points are left out: a point is not an area."), Amount: 2, Unit: "points"},
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
			if !same(f.Findings[i], want) {
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
		{"plain text", "Dear pilot,\nfly here", "this is not KML, KMZ, GPX, GeoJSON, WKT, a shapefile or a table of vertices (CSV): it begins with “Dear pilot,”"},
		{"PDF", "%PDF-1.7\n", "this is a PDF document, not KML, KMZ, GPX, GeoJSON, WKT, a shapefile or a table of vertices (CSV)"},
		{"web page", "<!DOCTYPE html>‹<html><body></body></html>", "this is a web page, not a boundary file; perhaps a page was saved in place of the file it links to"},
		{"other XML", "<?xml version='1.0'?>\n‹<svg version='1.1'></svg>", "this XML file begins with <svg>; a KML file begins with <kml>, a GPX file with <gpx>"},
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
		{"damaged JSON", `{"type": "FeatureCollection", "features": [‹}`, "feature 1: the JSON is damaged here: “}” stands where a value is expected"},
		{"no comma", `{"type": "Polygon" ‹"coordinates": []}`, "feature 1: the JSON is damaged here: “\"” stands where a comma is expected"},
		{"no colon", `{"type" ‹"Polygon"}`, "the JSON is damaged here: “\"” stands where a colon is expected"},
		{"comma at the end", `{"type": "Polygon", ‹}`, "feature 1: the JSON is damaged here: “}” stands where a name in quotation marks is expected"},
		{"line end in a text", "{\"type\": \"Poly‹\ngon\"}", "the JSON is damaged here: a text is broken by a line end or control character"},
		{"unknown escape", `{"type": ‹"Poly\gon"}`, "the JSON is damaged here: a text has a “\\” that stands for nothing"},
		{"text without end", `{"type": "Polygon‹`, "the file ends in the middle; it may be cut off"},
		{"zero in front", polygon("[[[1,‹02]]]"), "feature 1, part 1, ring 1, vertex 1: the JSON is damaged here: “02” is not a number"},
		{"no digit after the point", polygon("[[[1,‹2.]]]"), "feature 1, part 1, ring 1, vertex 1: the JSON is damaged here: “2.” is not a number"},
		{"half an exponent", polygon("[[[1,‹2e]]]"), "feature 1, part 1, ring 1, vertex 1: the JSON is damaged here: “2e” is not a number"},
		{"number cut off", `{"type": "Polygon", "coordinates": [[[1, -‹`, "feature 1, part 1, ring 1, vertex 1: the file ends in the middle; it may be cut off"},

		{"text after the end", "{\"type\": \"FeatureCollection\", \"features\": []}\n‹]", "more text follows after the end of the GeoJSON object"},
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
		{"unknown system", `{"type": "FeatureCollection", "crs": ‹{"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::2056"}}, "features": []}`,
			"EPSG:2056 is not among the coordinate systems that are known here: please give the text of its .prj file, or send longitude and latitude on WGS 84"},
		{"linked system", `{"type": "FeatureCollection", "crs": ‹{"type": "link", "properties": {"href": "http://maps.example/crs"}}, "features": []}`,
			"the file names the coordinate system of its numbers in a way that is not read here; please say which it is (--crs)"},
		{"two systems", `{"type": "FeatureCollection", "crs": {"properties": {"name": "EPSG:4326"}}, "features": [{"type": "Feature", "crs": ‹{"properties": {"name": "EPSG:25832"}}}]}`,
			"feature 1: the coordinate system “EPSG:25832” is not the “EPSG:4326” from before; one file is read in one system"},
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
		{"bytes", make([]byte, 4001), "a: the file is larger than the limit of 4000 bytes (--limit size)"},
		{"unzipped bytes", zipOf(t, "doc.kml", "<kml>"+strings.Repeat(" ", 100_000)+"</kml>"), "a: “doc.kml” in the archive unzips to more than the limit of 5000 bytes (--limit unzipped)"},
		{"depth of KML", []byte("<kml>" + deep + "</kml>"), "a:1:94: elements lie more than the limit of 12 inside one another (--limit depth)"},
		{"depth of an unknown element", []byte("<kml>" + strings.ReplaceAll(deep, "Folder", "x") + "</kml>"), "a:1:39: elements lie more than the limit of 12 inside one another (--limit depth)"},
		{"depth of GeoJSON", []byte(`{"type":"FeatureCollection","x":` + list + `}`), ""},
		{"depth of a foreign member", []byte(`{"x":` + list + `,"type":"FeatureCollection","features":[]}`), "a:1:17: objects and lists lie more than the limit of 12 inside one another (--limit depth)"},
		{"vertices of KML", []byte(ringKML(many)), "feature 1, part 1, ring 1, vertex 8: the file holds more than the limit of 8 vertices and rings (--limit vertices)"},
		{"rings of KML", []byte("<kml><Placemark><Polygon><outerBoundaryIs><LinearRing/></outerBoundaryIs><innerBoundaryIs>" + strings.Repeat("<LinearRing/>", 9) + "</innerBoundaryIs></Polygon></Placemark></kml>"),
			"feature 1, part 1, ring 9: the file holds more than the limit of 8 vertices and rings (--limit vertices)"},
		{"points of GeoJSON", []byte(`{"type":"MultiPoint","coordinates":[` + strings.Repeat("[1,2],", 8) + `[1,2]]}`), "feature 1: the file holds more than the limit of 8 vertices and rings (--limit vertices)"},
		{"rings of GeoJSON", []byte(`{"type":"Polygon","coordinates":[` + strings.Repeat("[],", 8) + `[]]}`), "feature 1, part 1, ring 9: the file holds more than the limit of 8 vertices and rings (--limit vertices)"},
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
