package boundary

import (
	"encoding/binary"
	"reflect"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/paulmach/orb"
)

// A file says the same whatever ends its lines and whichever way its text is
// kept, as editors and spreadsheets on each system have it.
func TestLineEndsAndEncodings(t *testing.T) {
	utf16le := func(s string) string {
		out := []byte("\xff\xfe")
		for _, unit := range utf16.Encode([]rune(s)) {
			out = binary.LittleEndian.AppendUint16(out, unit)
		}
		return string(out)
	}
	ways := map[string]func(string) string{
		"CRLF":          func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") },
		"CR":            func(s string) string { return strings.ReplaceAll(s, "\n", "\r") },
		"BOM":           func(s string) string { return "\ufeff" + s },
		"BOM and CRLF":  func(s string) string { return "\ufeff" + strings.ReplaceAll(s, "\n", "\r\n") },
		"UTF-16":        utf16le,
		"UTF-16, CRLF":  func(s string) string { return utf16le(strings.ReplaceAll(s, "\n", "\r\n")) },
		"no end at all": func(s string) string { return strings.TrimRight(s, "\n") },
		"empty lines":   func(s string) string { return s + "\n\n\r\n" },
	}
	type shape struct {
		Name    string
		Polygon orb.Polygon
		Buffer  float64
	}
	read := func(way, name, text string) (shapes []shape) {
		f, err := Read(name, []byte(text), Options{})
		if err != nil {
			t.Errorf("%s, %s: %v", name, way, err)
			return nil
		}
		for _, p := range f.Parts {
			shapes = append(shapes, shape{p.Name, p.Polygon, p.Buffer})
		}
		return shapes
	}
	for name, text := range map[string]string{
		"a.kml": `<?xml version="1.0"?>
<kml xmlns="http://www.opengis.net/kml/2.2">
<Placemark>
<name>Élan</name>
<Polygon><outerBoundaryIs><LinearRing><coordinates>
10,0.5,3
10.001,0.5,3
10.001,0.501,3
10,0.5,3
</coordinates></LinearRing></outerBoundaryIs></Polygon>
</Placemark>
</kml>
`,
		"a.geojson": `{
"type": "Feature",
"properties": {"name": "Élan",
"buffer": "30m"},
"geometry": {"type": "Polygon", "coordinates":
[[[10, 0.5], [10.001, 0.5],
[10.001, 0.501], [10, 0.5]]]}
}
`,
		"a.wkt": `POLYGON((10 0.5,
10.001 0.5,
10.001 0.501,
10 0.5))
`,
		"a.csv": `name,lat,lon
Élan,0.5,10
Élan,0.5,10.001
Élan,0.501,10.001
Élan,0.5,10
`,
		"b.csv": `sep=;
name;lat;lon
"Élan";0,5;10
"Élan";0,5;10,001
"Élan";0,501;10,001
"Élan";0,5;10
`,
	} {
		want := read("LF", name, text)
		if len(want) != 1 || len(want[0].Polygon) != 1 || len(want[0].Polygon[0]) != 4 || name != "a.wkt" && want[0].Name != "Élan" {
			t.Errorf("%s: %v", name, want)
		}
		for way, change := range ways {
			if got := read(way, name, change(text)); !reflect.DeepEqual(got, want) {
				t.Errorf("%s, %s: %v, want %v", name, way, got, want)
			}
		}
	}
}
