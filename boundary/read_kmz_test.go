package boundary

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"reflect"
	"strings"
	"testing"

	"selvage/boundary/finding"
)

// named is a KML file with one polygon of the given name.
func named(name string) string {
	return strings.Replace(ringKML("1,2 3,2 3,4 1,2"), "<name>A</name>", "<name>"+name+"</name>", 1)
}

func TestReadKMZ(t *testing.T) {
	inner := string(zipOf(t, "doc.kml", named("A")))
	tests := []struct {
		name  string
		files []string // pairs of name and content
		part  string
		main  string
		codes []finding.Code
	}{
		{"plain", []string{"doc.kml", named("A")}, "A", "doc.kml", nil},
		{"doc.kml is not first", []string{"a.kml", named("other"), "images/a.png", "x", "doc.kml", named("A")}, "A", "doc.kml", []finding.Code{finding.SeveralKML}},
		{"upper case", []string{"DOC.KML", named("A")}, "A", "DOC.KML", nil},
		{"upper case and not first", []string{"a.kml", named("other"), "Doc.Kml", named("A")}, "A", "Doc.Kml", []finding.Code{finding.SeveralKML}},
		{"in a folder", []string{"files/", "", "files/area.kml", named("A")}, "A", "files/area.kml", nil},
		{"a doc.kml in a folder has no rights", []string{"b.kml", named("A"), "files/doc.kml", named("other")}, "A", "b.kml", []finding.Code{finding.SeveralKML}},
		{"first in archive order", []string{"z.kml", named("A"), "a.kml", named("other")}, "A", "z.kml", []finding.Code{finding.SeveralKML}},
		{"two of the same name", []string{"doc.kml", named("A"), "doc.kml", named("other")}, "A", "doc.kml", []finding.Code{finding.SeveralKML}},
		{"shadow files", []string{"__MACOSX/._doc.kml", "\x00\x05\x16\x07", "._doc.kml", "\x00\x05\x16\x07", "__MACOSX/doc.kml", "x", "doc.kml", named("A")}, "A", "doc.kml", nil},
		{"outside names", []string{"../../doc.kml", named("A")}, "A", "../../doc.kml", nil},
		{"absolute names", []string{"/etc/doc.kml", named("A")}, "A", "/etc/doc.kml", nil},
		{"backslashes", []string{`files\doc.kml`, named("A")}, "A", `files\doc.kml`, nil},
		{"byte order mark", []string{"doc.kml", "\ufeff" + named("A")}, "A", "doc.kml", nil},
		{"archive in an archive", []string{"inner.KMZ", inner}, "A", "inner.KMZ, doc.kml", nil},
		{"KML before an inner archive", []string{"inner.kmz", inner, "z.kml", named("A")}, "A", "z.kml", []finding.Code{finding.SeveralKML}},
		{"archive by another name", []string{"doc.kml", inner}, "A", "doc.kml, doc.kml", nil},
		{"two inner archives", []string{"1.kmz", inner, "2.kmz", inner}, "A", "1.kmz, doc.kml", []finding.Code{finding.SeveralKML}},
	}
	for _, tt := range tests {
		f, err := Read("area.kmz", zipOf(t, tt.files...), Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if want := "KMZ (" + tt.main + ")"; f.Format != want || f.Name != "area.kmz" {
			t.Errorf("%s: read as %q, want %q", tt.name, f.Format, want)
		}
		if len(f.Parts) != 1 || f.Parts[0].Name != tt.part {
			t.Errorf("%s: parts %q", tt.name, summary(f))
		} else if want := "area.kmz/" + strings.ReplaceAll(tt.main, ", ", "/"); f.Parts[0].Place.File != want {
			t.Errorf("%s: placed in %q, want %q", tt.name, f.Parts[0].Place.File, want)
		}
		if got := codes(f); !reflect.DeepEqual(got, tt.codes) {
			t.Errorf("%s: findings %q, want %q", tt.name, got, tt.codes)
		}
	}
}

func TestReadKMZNamesWhatIsLeft(t *testing.T) {
	f, err := Read("area.kmz", zipOf(t, "a.kml", named("a"), "doc.kml", named("A"), "b/b.kml", named("b")), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := finding.Finding{
		Code: finding.SeveralKML, Severity: finding.NeedsAnswer, Place: finding.Place{File: "area.kmz"},
		Text:   finding.Plain("The archive holds 3 KML files. Only “doc.kml” is read; left unread: “a.kml” and “b/b.kml”. Ask the client whether the area is complete."),
		Amount: 3, Unit: "files",
	}
	if len(f.Findings) != 1 || !same(f.Findings[0], want) {
		t.Errorf("got %+v\nwant %+v", f.Findings, want)
	}
}

func TestReadKMZErrors(t *testing.T) {
	good := zipOf(t, "doc.kml", named(strings.Repeat("long ", 200)))
	// Places in a local and central header: APPNOTE.TXT 4.3.7 and 4.3.12 (from memory).
	central := bytes.Index(good, []byte("PK\x01\x02"))
	changed := func(change func(z []byte)) []byte {
		z := bytes.Clone(good)
		change(z)
		return z
	}
	tests := []struct {
		name string
		data []byte
		want string
	}{
		{"empty archive", zipOf(t), "a.kmz: this ZIP archive holds no KML file; it is empty"},
		{"drawing in an archive", zipOf(t, "area.dwg", "x", "area.dbf", "x", "area.prj", "x"),
			"a.kmz: this ZIP archive holds no KML file; it holds “area.dwg”, “area.dbf” and “area.prj”"},
		{"many files", zipOf(t, "1", "", "2", "", "3", "", "4", "", "5", "", "6", "", "7", ""),
			"a.kmz: this ZIP archive holds no KML file; it holds “1”, “2”, “3”, “4”, “5” and 2 more"},
		{"only a shadow", zipOf(t, "__MACOSX/doc.kml", "x"), "a.kmz: this ZIP archive holds no KML file; it holds “__MACOSX/doc.kml”"},
		{"cut off", good[:len(good)-30], "a.kmz: the ZIP archive is damaged or cut off"},
		{"locked", changed(func(z []byte) { z[central+8] |= 1 }), "a.kmz: “doc.kml” in the archive is locked with a password"},
		{"unknown compression", changed(func(z []byte) { binary.LittleEndian.PutUint16(z[central+10:], 99) }),
			"a.kmz: “doc.kml” in the archive is compressed in a way that is not read here; plain ZIP is"},
		{"wrong checksum", changed(func(z []byte) { z[central+16] ^= 1 }), "a.kmz: “doc.kml” in the archive is damaged or cut off"},
		{"empty KML", zipOf(t, "doc.kml", ""), "a.kmz: “doc.kml” in the archive is empty"},
		{"GeoJSON by another name", zipOf(t, "doc.kml", `{"type":"FeatureCollection","features":[]}`), "a.kmz: “doc.kml” in the archive is GeoJSON, not KML"},
		{"archive in an archive in an archive", zipOf(t, "a.kmz", string(zipOf(t, "b.kmz", string(good)))),
			"a.kmz/a.kmz: “b.kmz” in the archive is an archive again; one inside another is as deep as is read"},
		{"picture by another name", zipOf(t, "doc.kml", "\x89PNG\r\n\x1a\n"), "a.kmz/doc.kml: this is not KML"},
		{"fault in the KML", zipOf(t, "x/doc.kml", "<kml>\n <Folder>"), "a.kmz/x/doc.kml:2:10: the file ends in the middle; it may be cut off"},
	}
	for _, tt := range tests {
		_, err := Read("a.kmz", tt.data, Options{})
		if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%s:\n got %v\nwant %s", tt.name, err, tt.want)
		}
	}
}

// A stored file is read as well as a compressed one.
func TestReadKMZStored(t *testing.T) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	w, err := z.CreateHeader(&zip.FileHeader{Name: "doc.kml", Method: zip.Store})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write([]byte(named("A"))); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := Read("a", out.Bytes(), Options{})
	if err != nil || len(f.Parts) != 1 {
		t.Errorf("%v, %v", f, err)
	}
}
