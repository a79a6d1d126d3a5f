package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// elevations is a GeoTIFF of one strip, so many columns and rows of 16 bits, in
// cells of so many degrees from 10° E, 0.51° N on. The fields are those of TIFF
// 6.0 and OGC GeoTIFF 1.1.
func elevations(side uint32, cell float64, compression uint16, strip []byte) []byte {
	type entry struct {
		tag, kind uint16
		count     uint32
		value     []byte
	}
	order := binary.LittleEndian
	long := func(x uint32) []byte { return order.AppendUint32(nil, x) }
	short := func(x ...uint16) (out []byte) {
		for _, v := range x {
			out = order.AppendUint16(out, v)
		}
		return out
	}
	double := func(x ...float64) (out []byte) {
		for _, v := range x {
			out = order.AppendUint64(out, math.Float64bits(v))
		}
		return out
	}
	const offsets = 273
	entries := []entry{
		{256, 4, 1, long(side)}, {257, 4, 1, long(side)}, {258, 3, 1, short(16)}, {259, 3, 1, short(compression)},
		{262, 3, 1, short(1)}, {offsets, 4, 1, nil}, {277, 3, 1, short(1)}, {278, 4, 1, long(side)},
		{279, 4, 1, long(uint32(len(strip)))}, {33550, 12, 3, double(cell, cell, 0)},
		{33922, 12, 6, double(0, 0, 0, 10, 0.51, 0)},
		{34735, 3, 16, short(1, 1, 0, 3, 1024, 0, 1, 2, 1025, 0, 1, 1, 2048, 0, 1, 4326)},
	}
	at := 8 + 2 + 12*len(entries) + 4
	head, rest := append([]byte("II*\x00"), long(8)...), []byte(nil)
	head = append(head, short(uint16(len(entries)))...)
	for i, e := range entries {
		if e.tag == offsets {
			for _, later := range entries[i+1:] {
				if len(later.value) > 4 {
					at += len(later.value)
				}
			}
			e.value = long(uint32(at))
			at = 8 + 2 + 12*len(entries) + 4
		}
		head = append(head, short(e.tag, e.kind)...)
		head = append(head, long(e.count)...)
		if len(e.value) > 4 {
			head, rest = append(head, long(uint32(at+len(rest)))...), append(rest, e.value...)
		} else {
			head = append(head, append(e.value, 0, 0, 0)[:4]...)
		}
	}
	return slices.Concat(head, long(0), rest, strip)
}

// As TestBombs, for what is read besides a boundary.
func TestBombsOfOtherInputs(t *testing.T) {
	const million = 1_000_000
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	for name, text := range map[string]string{
		"client.geojson": `{"type":"Polygon","coordinates":[[[10,0.5],[10.001,0.5],[10.001,0.501],[10,0.501],[10,0.5]]]}`,
		"table.csv":      "file,lon,lat,alt_m\na,10.0002,0.5002,200\nb,10.0004,0.5002,200\nc,10.0006,0.5002,200\n",
	} {
		if err := os.WriteFile(at(name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	audit := []string{"audit", at("table.csv"), "--area", at("client.geojson"), "--camera", "13.2x8.8mm,8.8mm,5472x3648", "--out", at("out"), "--replace"}
	commands := map[string][]string{
		"terrain.tif":     append(slices.Clone(audit), "--terrain"),
		"terrain.asc":     append(slices.Clone(audit), "--terrain"),
		"N00E010.hgt":     append(slices.Clone(audit), "--terrain"),
		"points.kml":      append(slices.Clone(audit), "--height", "80m", "--points"),
		"points.csv":      append(slices.Clone(audit), "--height", "80m", "--points"),
		"corrected.csv":   append(slices.Clone(audit), "--height", "80m", "--positions"),
		"positions.csv":   {"photos"},
		"a.jpg":           {"photos"},
		"keep-out.kml":    {"prepare", at("client.geojson"), "--buffer", "10m", "--out", at("job"), "--replace", "--keep-out"},
		"lines.geojson":   {"prepare", at("client.geojson"), "--buffer", "10m", "--out", at("job"), "--replace", "--margin-along"},
		"a.json":          {"compare", at("table.csv")},
		"a-coverage.json": {"compare"},
	}
	const record = `"site_area_m2":10000,"totals":{"gap_m2":0,"no_stereo_m2":0,"thin_m2":0,"covered_share":1,"enough_share":1},"photos":{"read":3,"used":3`
	const site = `{"type":"FeatureCollection","features":[{"properties":{"role":"site"},"geometry":{"type":"Polygon","coordinates":[[`
	const grid = "ncols %s\nnrows %s\nxllcorner 10\nyllcorner 0.5\ncellsize %s\n"
	header := func(columns, rows, cell string) string {
		return strings.NewReplacer("ncols %s", "ncols "+columns, "nrows %s", "nrows "+rows, "cellsize %s", "cellsize "+cell).Replace(grid)
	}
	placemark := "<Placemark><Point><coordinates>10,0.5</coordinates></Point></Placemark>"
	tests := []bomb{
		{"TIFF of 4e9 cells that are not there", "terrain.tif", is(func() []byte { return elevations(65535, 1e-6, 1, nil) }), "no heights of this area"},
		{"TIFF of 4e9 cells, all around the site", "terrain.tif", is(func() []byte { return elevations(65535, 1e-7, 8, []byte{1}) }), "terrain.tif"},
		{"TIFF of 4e9 zeros, deflated", "terrain.tif", is(func() []byte {
			return elevations(65535, 1e-6, 8, append([]byte{0x78, 0xda}, zeroBomb(t, 8192)...))
		}), "--limit heights"},
		{"TIFF with entries without end", "terrain.tif", is(func() []byte { return append([]byte("II*\x00\x08\x00\x00\x00\xff\xff"), make([]byte, 12*65535+4)...) }), "damaged TIFF"},
		{"text grid of 4e18 cells", "terrain.asc", is(func() []byte { return []byte(header("2000000000", "2000000000", "1e-9") + "1 2 3") }), "terrain.asc"},
		{"text grid on one line", "terrain.asc", repeated(header("5000", "5000", "1e-6"), "1", 50*million, ""), "terrain.asc"},
		{"points in KML within a billion words", "points.kml", is(func() []byte { return []byte(billion("kml", "<kml>&a9;</kml>")) }), "entity"},
		{"corrected positions on one line", "corrected.csv", repeated("file,lon,lat\na,", "1", 20*million, ""), ""},
		{"positions on one line", "positions.csv", repeated("", "lon,lat,", 20*million, ""), "longer than 64 KiB"},
		{"deep figures", "a-coverage.json", repeated(`{`+record+`},"x":`, "[", 20*million, ""), "a-coverage.json"},
	}
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		tests = append(tests, []bomb{
			{"as many inputs and parameters, all with other names", "a-coverage.json", is(func() []byte {
				out := []byte(`{` + record + `},"inputs":[`)
				for i := range 700_000 {
					out = fmt.Appendf(out, `{"role":"%d"},`, i)
				}
				out = append(out, `{}],"parameters":[`...)
				for i := range 700_000 {
					out = fmt.Appendf(out, `{"name":"%d","value":"a"},`, i)
				}
				return append(out, `{}]}`...)
			}), "more than the limit of 100000 entries in "},
			{"as many cameras", "a-coverage.json", repeated(`{`+record+`},"flown":{"cameras":[`, `{"rows":1},`, 3*million, `{}]}}`), "more than the limit of 1000 entries in flown"},
			{"all points that fit in, KML", "points.kml", repeated("<kml><Document>", placemark, 1_300_000, "</Document></kml>"), "--limit points"},
			{"all points that fit in, CSV", "points.csv", repeated("name,lon,lat\n", "a,10,0.5\n", 10*million, ""), "--limit points"},
			{"one line of points", "points.csv", repeated("name,lon,lat\n", "a,10,0.5,", 10*million, ""), "columns"},
			{"all points that fit in, keep-out", "keep-out.kml", repeated(`<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>`, "10,0.5 ", 14*million, `</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`), "--limit vertices"},
			{"all points that fit in, lines", "lines.geojson", repeated(`{"type":"LineString","coordinates":[`, "[10,0.5],", 11*million, "[10,0.5]]}"), "--limit vertices"},
			{"rows without end", "positions.csv", repeated("file,lon,lat\n", "\n", 199*million, ""), "--limit photos"},
			{"positions on the longest line", "positions.csv", repeated("lon,lat\n", "1", 199*million, "\n"), ""},
			{"a table that is too large", "positions.csv", repeated("lon,lat\n", "1,2,      \n", 21*million, "\n"), "--limit table"},
			{"a photo of nothing but markers", "a.jpg", repeated("\xff\xd8", "\xff", 90*million, ""), ""},
			{"the longest list of figures", "a-coverage.json", repeated(`{`+record+`},"zones":[`, "{},", 30*million, "{}]}"), "more than the limit of 4000000 entries"},
			{"zones without end", "a-coverage.json", repeated(`{`+record+`},"zones":[`, "{},", 3_900_000, "{}]}"), "more than the limit of 1000000 entries in zones"},
			{"as many zones as may be", "a-coverage.json", repeated(`{`+record+`},"zones":[`, "{},", 990_000, "{}]}"), "a-coverage.json"},
			{"figures that are too large", "a-coverage.json", repeated(`{`+record+`},"x":"`, "n", 110*million, `"}`), "--limit record"},
			{"a long name among the figures", "a-coverage.json", repeated(`{`+record+`},"x":"`, "n", 90*million, `"}`), ""},
		}...)
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := tt.lay(t)
			args := append(slices.Clone(commands[tt.file]), path)
			switch tt.file {
			case "a-coverage.json":
				args = append(args, path)
			case "lines.geojson":
				args[len(args)-1] += ":5m"
			}
			defuse(t, tt.want, args...)
		})
	}
	t.Run("shapes of an audit", func(t *testing.T) {
		for _, s := range []bomb{
			{"", "a-coverage.geojson", repeated(site, "[0,0],", 1_900_000, `[0,0]]]}}]}`), "more than the limit of 250000 vertices"},
			{"", "a-coverage.geojson", repeated(site, "[0,0],", 240_000, `[0,0]]]}}]}`), "has no site area"},
			{"", "a-coverage.geojson", is(func() []byte {
				out := []byte(site)
				for i := range 240_000 {
					sin, cos := math.Sincos(2 * math.Pi * float64(i) / 240_000)
					out = fmt.Appendf(out, "[%.8f,%.8f],", 10+cos/10, 50+sin/10)
				}
				return append(out, "[10.1,50]]]}}]}"...)
			}), ""},
			{"", "a-coverage.geojson", repeated(`{"features":`, "[", 20*million, ""), "a-coverage"},
		} {
			shapes := s.lay(t)
			figures := strings.TrimSuffix(shapes, ".geojson") + ".json"
			if err := os.WriteFile(figures, []byte("{"+record+"}}"), 0o666); err != nil {
				t.Fatal(err)
			}
			defuse(t, s.want, "compare", figures, figures)
		}
	})
}
