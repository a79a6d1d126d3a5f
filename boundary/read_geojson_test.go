package boundary

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
)

func TestReadGeoJSONSystems(t *testing.T) {
	for name, want := range map[string]string{
		"urn:ogc:def:crs:OGC:1.3:CRS84":                "",
		"urn:ogc:def:crs:OGC::CRS84":                   "",
		"OGC:CRS84":                                    "",
		"EPSG:4326":                                    "",
		"EPSG:4979":                                    "",
		"urn:ogc:def:crs:EPSG::4326":                   "",
		"http://www.opengis.net/def/crs/EPSG/0/4326":   "",
		"http://www.opengis.net/def/crs/OGC/1.3/CRS84": "",
		"urn:ogc:def:crs:EPSG::4258":                   "ETRS89",
		"EPSG:3857":                                    "WGS 84 / Pseudo-Mercator",
		"ESRI:4326":                                    "error",
		"CRS27":                                        "error",
		"":                                             "error",
	} {
		text := fmt.Sprintf(`{"crs":{"type":"name","properties":{"name":%q}},"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[1,2],[3,2],[3,4],[1,2]]]}}`, name)
		f, err := Read("a.geojson", []byte(text), Options{})
		switch {
		case err != nil:
			if want != "error" {
				t.Errorf("%q: %v", name, err)
			}
		case want == "":
			if len(f.Findings) > 0 {
				t.Errorf("%q: %v", name, f.Findings)
			}
		case len(f.Findings) == 0 || !strings.Contains(f.Findings[0].Text.String(), " "+want):
			t.Errorf("%q: %v", name, f.Findings)
		}
	}
	if _, err := Read("a.geojson", []byte(`{"crs":null,"type":"FeatureCollection","features":[]}`), Options{}); err != nil {
		t.Error(err)
	}
}

func TestReadSeveralValues(t *testing.T) {
	const a = `{"type":"Feature","properties":{"name":"A"},"geometry":{"type":"Polygon","coordinates":[[[1,2],[3,2],[3,4],[1,2]]]}}`
	const b = `{"type":"Polygon","coordinates":[[[1,2],[3,2],[3,4],[1,2]]]}`
	const c = `{"type":"FeatureCollection","features":[` + a + `,` + a + `]}`
	const lined = "GeoJSON, newline-delimited"
	for _, tt := range []struct {
		name, text, format string
		parts              []string
	}{
		{"one a line", a + "\n" + b + "\n", lined, []string{"1.1 A [4]", "2.1  [4]"}},
		{"CRLF, blank lines", "\r\n" + a + "\r\n\r\n" + c + "\r\n", lined, []string{"1.1 A [4]", "2.1 A [4]", "3.1 A [4]"}},
		{"text sequence", "\x1e" + a + "\n\x1e" + b + "\n", lined, []string{"1.1 A [4]", "2.1  [4]"}},
		{"text sequence of one", "\x1e" + a + "\n", lined, []string{"1.1 A [4]"}},
		{"doubled separators", "\x1e\x1e \x1e" + a, lined, []string{"1.1 A [4]"}},
		{"byte order mark", "\ufeff\x1e" + a + "\n", lined, []string{"1.1 A [4]"}},
		{"on one line", a + b, lined, []string{"1.1 A [4]", "2.1  [4]"}},
		{"single", "\n" + a + "\n\n", "GeoJSON", []string{"1.1 A [4]"}},
	} {
		f, err := Read("a", []byte(tt.text), Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got := summary(f); f.Format != tt.format || !slices.Equal(got, tt.parts) {
			t.Errorf("%s: %s %q", tt.name, f.Format, got)
		}
		if last := f.Parts[len(f.Parts)-1].Place; tt.name == "CRLF, blank lines" && last.Line != 4 {
			t.Errorf("%s: the last part in line %d", tt.name, last.Line)
		}
	}
	for text, want := range map[string]string{
		a + "\n" + `{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[1,2],[3]]]}}`: "a:2:70: feature 2, part 1, ring 1, vertex 2: this position has 1 number; it needs a longitude and a latitude",
		a + "\n{}":                     "a:2:1: this is JSON but not GeoJSON: the outermost object has no type",
		a + "\n[1]":                    "a:2:1: more text follows after the end of the GeoJSON object",
		"\x1e" + a[:20] + "\n\x1e" + a: "a:1:22: feature 1: the JSON is damaged here: a text is broken by a line end or control character",
		"\x1e\n":                       "a:2:1: the file ends in the middle; it may be cut off",
	} {
		if _, err := Read("a", []byte(text), Options{}); err == nil || err.Error() != want {
			t.Errorf("%q:\n got %v\nwant %s", text, err, want)
		}
	}
}

// The walk takes what encoding/json takes, and nothing else.
func FuzzJSONWalk(f *testing.F) {
	for _, s := range []string{
		`{"a":[1,-2.5e+7,0.1,-0],"b":"\u00e9\\","c":null,"d":[true,false,{}]}`,
		`[01]`, `[1.]`, `[.5]`, `[+1]`, `["\x"]`, "[\"\x01\"]", `[1,]`, `{"a"}`, `{,}`, `[1 2]`, `nul`, `"`, `-`, "\ufeff1", "[]\x00",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		j := walkFrom(&reading{src: newSource(text), lim: Limits{Depth: 10_000}}, 0, 0)
		err := j.skip()
		j.peek()
		if ours := err == nil && j.at == len(text); ours != json.Valid(text) {
			t.Fatalf("taken: %v (%v, %d of %d bytes); it is JSON: %v", ours, err, j.at, len(text), !ours)
		}
	})
}
