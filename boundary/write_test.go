package boundary

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"io"
	"reflect"
	"regexp"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"
)

func kmz(t rapid.TB, areas []Area) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := WriteKMZ(&out, "Job", areas); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestWriteKMZ(t *testing.T) {
	areas := []Area{{Name: "Meadow", Shape: orb.MultiPolygon{{square(10, 50, 0.01)}}}, {Name: "Größe & <Co>", Shape: orb.MultiPolygon{{square(11, 50, 0.01)}}}}
	data := kmz(t, areas)
	if !bytes.Equal(data, kmz(t, areas)) {
		t.Error("the same areas give other bytes")
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	// OGC 12-007r2, annex on KMZ (from memory): a zip archive with one KML file
	// at its root, by convention doc.kml.
	if len(archive.File) != 1 || archive.File[0].Name != "doc.kml" || archive.File[0].Method != zip.Deflate {
		t.Fatalf("the archive holds %v", archive.File)
	}
	if m := archive.File[0].Modified; m.Year() != 1980 || m.Month() != 1 || m.Day() != 1 {
		t.Errorf("modified %v", m)
	}
	// The local header, APPNOTE 4.3.7: version 20 at offset 4, no flags at 6,
	// and sizes and checksum where they belong, at 14, 18 and 22.
	f := archive.File[0]
	local := binary.LittleEndian
	if string(data[:4]) != "PK\x03\x04" || local.Uint16(data[4:]) != 20 || local.Uint16(data[6:]) != 0 ||
		local.Uint32(data[14:]) != f.CRC32 || local.Uint32(data[18:]) != f.CompressedSize || local.Uint32(data[22:]) != f.UncompressedSize {
		t.Errorf("local header % x", data[:30])
	}
	r, err := f.Open()
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r) // checks the checksum too
	if err != nil {
		t.Fatal(err)
	}
	var plain bytes.Buffer
	if err := WriteKML(&plain, "Job", areas); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(text, plain.Bytes()) {
		t.Error("doc.kml is not what WriteKML writes")
	}
	if doc := parseKML(t, text); len(doc.Document.Placemarks) != 2 || doc.Document.Placemarks[1].Name != "Größe & <Co>" {
		t.Errorf("%+v", doc)
	}
	back, err := Read("a.kmz", data, Options{})
	if err != nil || back.Format != "KMZ (doc.kml)" || len(back.Parts) != 2 || len(back.Findings) > 0 {
		t.Errorf("%+v, %v", back, err)
	}

	var out bytes.Buffer
	if err := WriteKMZ(&out, "Job", []Area{{Name: "Meadow", Shape: orb.MultiPolygon{{}}}}); err == nil || out.Len() > 0 {
		t.Errorf("an area without outline: %v, %d bytes", err, out.Len())
	}
}

// writtenGeoJSON is what an independent reader finds in a GeoJSON file.
type writtenGeoJSON struct {
	Type     string
	Features []struct {
		Type       string
		Properties map[string]any
		Geometry   json.RawMessage
	}
}

func geoJSON(t rapid.TB, areas []Area) ([]byte, writtenGeoJSON) {
	t.Helper()
	var out bytes.Buffer
	if err := WriteGeoJSON(&out, areas); err != nil {
		t.Fatal(err)
	}
	var doc writtenGeoJSON
	strict := json.NewDecoder(bytes.NewReader(out.Bytes()))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&doc); err != nil {
		t.Fatalf("%v in\n%s", err, out.Bytes())
	}
	return out.Bytes(), doc
}

var longNumber = regexp.MustCompile(`\d\.\d{9}|\d[eE][-+]?\d`)

func TestWriteGeoJSON(t *testing.T) {
	data, doc := geoJSON(t, []Area{
		{Name: "Meadow <1> \"&\"", Shape: orb.MultiPolygon{{reversed(square(1.0/3, -1.0/3, 0.01)), square(0.335, -0.33, 0.001)}, {square(-0.0000000001, 50, 0.000001)}}},
		{Name: "", Shape: orb.MultiPolygon{{square(179.99, 10, 0.02)}}}, // across the antimeridian
	})
	if doc.Type != "FeatureCollection" {
		t.Errorf("type %s", doc.Type)
	}
	var names []any
	for _, f := range doc.Features {
		if f.Type != "Feature" || len(f.Properties) != 1 {
			t.Errorf("%s with %v", f.Type, f.Properties)
		}
		names = append(names, f.Properties["name"])
		var g geom.Geometry
		if err := json.Unmarshal(f.Geometry, &g); err != nil { // which validates
			t.Fatal(err)
		}
		if g.CoordinatesType() != geom.DimXY {
			t.Errorf("%v: with heights", f.Properties)
		}
		polygon := g.MustAsPolygon()
		// RFC 7946, 3.1.6: the outline counter-clockwise, holes clockwise; 3.1.9:
		// cut at the antimeridian.
		if polygon.ForceCCW().AsText() != polygon.AsText() {
			t.Errorf("%v runs the wrong way", f.Properties)
		}
		if e := polygon.Envelope(); e.IsEmpty() || e.Width() > 0.02 {
			t.Errorf("%v reaches over %v", f.Properties, e)
		}
	}
	if want := []any{"Meadow <1> \"&\"", "Meadow <1> \"&\" 2", "Area", "Area 2"}; !reflect.DeepEqual(names, want) {
		t.Errorf("names %q, want %q", names, want)
	}
	if found := longNumber.Find(data); found != nil || bytes.Contains(data, []byte("[-0,")) {
		t.Errorf("number %q in\n%s", found, data)
	}
	if data, doc := geoJSON(t, nil); doc.Features == nil || len(doc.Features) != 0 {
		t.Errorf("no areas: %s", data)
	}
	var out bytes.Buffer
	if err := WriteGeoJSON(&out, []Area{{Name: "Meadow", Shape: orb.MultiPolygon{{{{1, 1}, {2, 2}}}}}}); err == nil || out.Len() > 0 {
		t.Errorf("a ring of two: %v, %d bytes", err, out.Len())
	}
}

// What is written in each format is read back as the same.
func TestFormatsRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var areas []Area
		for range rapid.IntRange(1, 4).Draw(rt, "areas") {
			areas = append(areas, Area{Name: rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"", "Field", "Field 2"})).Draw(rt, "name"), Shape: orb.MultiPolygon{star(rt)}})
		}
		_, doc := geoJSON(rt, areas)
		for i, f := range doc.Features {
			var g geom.Geometry
			if err := json.Unmarshal(f.Geometry, &g); err != nil {
				rt.Fatal(err)
			}
			if err := g.Validate(); err != nil {
				rt.Fatalf("feature %d: %v", i+1, err)
			}
		}
		var first []Area
		for _, format := range formats {
			back, err := Reread("a"+format.extension, format.bytes(rt, areas), areas)
			if err != nil {
				rt.Fatal(err)
			}
			if first == nil {
				first = back
			}
			if !reflect.DeepEqual(back, first) {
				rt.Fatalf("%s: %v, want %v", format.extension, back, first)
			}
		}
	})
}

var formats = []struct {
	extension string
	bytes     func(t rapid.TB, areas []Area) []byte
}{
	{".kml", func(t rapid.TB, areas []Area) []byte {
		t.Helper()
		var out bytes.Buffer
		if err := WriteKML(&out, "Job", areas); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}},
	{".kmz", kmz},
	{".geojson", func(t rapid.TB, areas []Area) []byte {
		data, _ := geoJSON(t, areas)
		return data
	}},
}
