package boundary

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

const wgs84PRJ = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// The shapefiles in testdata were written once by GDAL 3.6.2:
//
//	ogr2ogr -s_srs EPSG:4269 -t_srs EPSG:2277 -lco ENCODING=UTF-8 -nlt MULTIPOLYGON texas.shp parcels.geojson
//	ogr2ogr -a_srs EPSG:4326 -lco ENCODING=CP1252 -nlt MULTIPOLYGON25D windows.shp (the same with heights of 12.5)
//	ogr2ogr -a_srs EPSG:4326 path.shp, points.shp (a line and two points)
func shapefileFixture(t testing.TB, name string) (data []byte, beside map[string][]byte) {
	t.Helper()
	beside = map[string][]byte{}
	for _, extension := range []string{".shp", ".dbf", ".prj", ".cpg"} {
		part, err := os.ReadFile(filepath.Join("testdata", "shapefile", name+extension))
		if err != nil && (extension != ".cpg" || !errors.Is(err, os.ErrNotExist)) {
			t.Fatal(err)
		}
		beside[extension] = part
	}
	return beside[".shp"], beside
}

// A polygon in US survey feet of a state plane, with holes, an island in a
// hole and a name beyond ASCII, comes out where GDAL and PROJ took it from.
func TestReadShapefile(t *testing.T) {
	source, err := os.ReadFile(filepath.Join("testdata", "shapefile", "parcels.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	want, err := Read("parcels.geojson", source, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, within := range map[string]float64{
		"texas":   1e-9, // degrees; GDAL writes the feet as they are, so 0.1 mm
		"windows": 0,
	} {
		data, beside := shapefileFixture(t, name)
		f, err := Read(name+".shp", data, Options{Beside: beside})
		if err != nil {
			t.Fatal(err)
		}
		if f.Format != "shapefile" || len(f.SHA256) != 64 {
			t.Errorf("%s: read as %q, %q", name, f.Format, f.SHA256)
		}
		names := []string{"1.1 Low meadow [5 5]", "2.1 Señor Núñez – Südfeld [5 5]", "2.2 Señor Núñez – Südfeld [4]"}
		if got := summary(f); !reflect.DeepEqual(got, names) {
			t.Errorf("%s: parts %q", name, got)
			continue
		}
		for i, part := range f.Parts {
			for j, ring := range part.Polygon {
				if (ring.Orientation() == orb.CCW) != (j == 0) {
					t.Errorf("%s: ring %d of %+v runs the wrong way", name, j+1, part.Place)
				}
				for _, v := range ring {
					if !slices.ContainsFunc(want.Parts[i].Polygon[j], func(w orb.Point) bool {
						return math.Abs(v[0]-w[0]) <= within && math.Abs(v[1]-w[1]) <= within
					}) {
						t.Errorf("%s: vertex %.12f of ring %d of %+v is not in the source", name, v, j+1, part.Place)
					}
				}
			}
		}
		got := codes(f)
		if !slices.Contains(got, finding.NoGeometry) || slices.Contains(got, finding.NoCRS) || slices.Contains(got, finding.NamesUnread) ||
			slices.Contains(got, finding.AltitudePresent) != (name == "windows") {
			t.Errorf("%s: findings %q", name, got)
		}
	}
}

func TestReadShapefileOfOtherKinds(t *testing.T) {
	for name, code := range map[string]finding.Code{"path": finding.PathNotArea, "points": finding.PointsNotArea} {
		data, beside := shapefileFixture(t, name)
		f, err := Read(name+".shp", data, Options{Beside: beside})
		if err != nil {
			t.Fatal(err)
		}
		if got := codes(f); len(f.Parts) != 0 || !reflect.DeepEqual(got, []finding.Code{finding.NoPolygon, code}) {
			t.Errorf("%s: %v, findings %q", name, summary(f), got)
		}
	}
}

func TestReadZippedShapefile(t *testing.T) {
	data, beside := shapefileFixture(t, "texas")
	points, _ := shapefileFixture(t, "points")
	all := []string{"__MACOSX/._site.shp", "x", "deep/Site.SHP", string(data), "deep/site.dbf", string(beside[".dbf"]),
		"deep/site.prj", string(beside[".prj"]), "deep/site.cpg", string(beside[".cpg"]), "deep/site.shx", "not needed"}
	f, err := Read("site.zip", zipOf(t, all...), Options{})
	if err != nil {
		t.Fatal(err)
	}
	loose, err := Read("site.shp", data, Options{Beside: beside})
	if err != nil {
		t.Fatal(err)
	}
	if f.Format != "zipped shapefile (deep/Site.SHP)" || f.Parts[0].Place.File != "site.zip/deep/Site.SHP" {
		t.Errorf("read as %q, placed in %q", f.Format, f.Parts[0].Place.File)
	}
	if !reflect.DeepEqual(summary(f), summary(loose)) || !reflect.DeepEqual(f.Parts[1].Polygon, loose.Parts[1].Polygon) {
		t.Errorf("zipped %q, loose %q", summary(f), summary(loose))
	}

	// One of two shapefiles is read: the one that holds polygons.
	f, err = Read("site.zip", zipOf(t, append([]string{"a.shp", string(points)}, all...)...), Options{})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(f.Findings, func(x finding.Finding) bool { return x.Code == finding.SeveralShapefiles })
	want := "The archive holds 2 shapefiles. Only “deep/Site.SHP” is read; left unread: “a.shp”. Ask the client whether the area is complete."
	if i < 0 || f.Findings[i].Text.String() != want || f.Findings[i].Amount != 2 || len(f.Parts) != 3 {
		t.Errorf("%d parts, findings %+v", len(f.Parts), f.Findings)
	}

	// A KML beside it makes the archive a KMZ.
	if f, err = Read("site.kmz", zipOf(t, append([]string{"doc.kml", named("A")}, all...)...), Options{}); err != nil || f.Format != "KMZ (doc.kml)" {
		t.Errorf("%v, %v", f, err)
	}
	// A bomb is stopped by what may be unzipped in all.
	if _, err = Read("site.zip", zipOf(t, all...), Options{Limits: Limits{Bytes: 1e6, UnzippedBytes: 700, Depth: 9, Vertices: 99}}); err == nil || !strings.Contains(err.Error(), "unzips to more than the limit") {
		t.Errorf("%v", err)
	}
}

// made is a shapefile of records of one type.
func made(kind uint32, records ...[]byte) []byte {
	var out bytes.Buffer
	for i, r := range records {
		out.Write(binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(i+1)), uint32(len(r)/2)))
		out.Write(r)
	}
	head := make([]byte, shapefileHeader)
	copy(head, shapefileMagic)
	binary.BigEndian.PutUint32(head[24:], uint32((len(head)+out.Len())/2))
	binary.LittleEndian.PutUint32(head[28:], 1000)
	binary.LittleEndian.PutUint32(head[32:], kind)
	return append(head, out.Bytes()...)
}

// polygonRecord is the content of a record of lines or polygons, without heights.
func polygonRecord(kind uint32, rings ...orb.Ring) []byte {
	out := binary.LittleEndian.AppendUint32(nil, kind)
	out = append(out, make([]byte, 32)...)
	points := 0
	var starts []byte
	for _, ring := range rings {
		starts = binary.LittleEndian.AppendUint32(starts, uint32(points))
		points += len(ring)
	}
	out = binary.LittleEndian.AppendUint32(out, uint32(len(rings)))
	out = binary.LittleEndian.AppendUint32(out, uint32(points))
	out = append(out, starts...)
	for _, ring := range rings {
		for _, v := range ring {
			out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v[0]))
			out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v[1]))
		}
	}
	return out
}

// squareAt runs clockwise, as outlines in shapefiles do.
func squareAt(x, y, side float64) orb.Ring {
	return orb.Ring{{x, y}, {x, y + side}, {x + side, y + side}, {x + side, y}, {x, y}}
}

func turned(ring orb.Ring) orb.Ring {
	ring = slices.Clone(ring)
	slices.Reverse(ring)
	return ring
}

func TestShapefileHoles(t *testing.T) {
	hole := func(x, y, side float64) orb.Ring { return turned(squareAt(x, y, side)) }
	tests := []struct {
		name  string
		rings []orb.Ring
		want  []string // x of the first vertex of each ring
	}{
		{"hole before its outline", []orb.Ring{hole(1, 1, 2), squareAt(0, 0, 9)}, []string{"0 1"}},
		{"holes in their own outlines", []orb.Ring{squareAt(0, 0, 9), squareAt(10, 0, 9), hole(11, 1, 2), hole(1, 1, 2)}, []string{"0 1", "10 11"}},
		{"island in a lake with a pond", []orb.Ring{squareAt(0, 0, 9), hole(1, 1, 7), squareAt(2, 2, 5), hole(3, 3, 2)}, []string{"0 1", "2 3"}},
		{"outlines within outlines stay outlines", []orb.Ring{squareAt(0, 0, 9), squareAt(1, 1, 2)}, []string{"0", "1"}},
		{"all the wrong way round", []orb.Ring{hole(0, 0, 9), squareAt(1, 1, 2), hole(20, 0, 3)}, []string{"0 1", "20"}},
		{"hole across the edge of its outline", []orb.Ring{squareAt(0, 0, 9), squareAt(20, 0, 9), hole(7, 1, 4)}, []string{"0 7", "20"}},
		{"hole outside goes with the outline before it", []orb.Ring{squareAt(0, 0, 9), squareAt(10, 0, 9), hole(40, 40, 4)}, []string{"0", "10 40"}},
		{"ring without area", []orb.Ring{squareAt(0, 0, 9), {{1, 1}, {2, 2}, {1, 1}}}, []string{"0 1"}},
		{"nothing but a ring without area", []orb.Ring{{{1, 1}, {2, 2}, {1, 1}}}, []string{"1"}},
		{"empty ring", []orb.Ring{squareAt(3, 0, 9), {}}, []string{"3 -"}},
	}
	for _, tt := range tests {
		f, err := Read("a.shp", made(5, polygonRecord(5, tt.rings...)), Options{Beside: map[string][]byte{".prj": []byte(wgs84PRJ)}})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		var got []string
		for _, part := range f.Parts {
			var x []string
			for _, ring := range part.Polygon {
				if len(ring) == 0 {
					x = append(x, "-")
					continue
				}
				x = append(x, fmt.Sprint(ring[0][0]))
			}
			got = append(got, strings.Join(x, " "))
		}
		if !reflect.DeepEqual(got, tt.want) {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

func TestShapefileWithoutPRJ(t *testing.T) {
	near := made(5, polygonRecord(5, squareAt(8, 50, 0.01)))
	f, err := Read("a.shp", near, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := codes(f); !slices.Contains(got, finding.NoCRS) || !slices.Contains(got, finding.NamesUnread) {
		t.Errorf("findings %q", got)
	}
	grid := made(5, polygonRecord(5, squareAt(450_000, 5_500_000, 100)))
	_, err = Read("a.shp", grid, Options{})
	want := "a.shp: the .prj file is missing, and numbers such as 450000, 5500000 are no longitude and latitude, but perhaps UTM (which zone?), Web Mercator (it would lie at latitude 44.223, longitude 4.042) or a national or state grid in metres or feet (which?). Please ask for the .prj file, or name the coordinate system (--crs)"
	if err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
	f, err = Read("a.shp", grid, Options{CRS: "EPSG:32632"})
	if err != nil {
		t.Fatal(err)
	}
	// From cs2cs -f %.9f +proj=utm +zone=32 +datum=WGS84 +to +proj=longlat +datum=WGS84.
	if p := f.Parts[0].Polygon[0][0]; math.Abs(p[0]-8.307335628) > 2e-9 || math.Abs(p[1]-49.650471118) > 2e-9 {
		t.Errorf("%.9f", p)
	}
	if slices.Contains(codes(f), finding.NoCRS) {
		t.Errorf("findings %q", codes(f))
	}
}

// A .prj that was put beside the wrong shapefile, and one on a datum that
// differs a little.
func TestShapefilePRJ(t *testing.T) {
	data := made(5, polygonRecord(5, squareAt(8, 50, 0.01)))
	for prj, code := range map[string]finding.Code{
		"EPSG:32632": finding.LooksGeographic,
		strings.Replace(wgs84PRJ, "D_WGS_1984", "D_ETRS_1989", 1): finding.Transformed,
		wgs84PRJ + "\r\n\x00": "",
	} {
		f, err := Read("a.shp", data, Options{Beside: map[string][]byte{".prj": []byte(prj)}})
		if err != nil {
			t.Errorf("%s: %v", prj, err)
			continue
		}
		if got := codes(f); code != "" && !slices.Contains(got, code) || code == "" && !reflect.DeepEqual(got, []finding.Code{finding.NamesUnread}) {
			t.Errorf("%s: findings %q", prj, got)
		}
	}
	f, err := Read("a.shp", data, Options{Beside: map[string][]byte{".prj": []byte("EPSG:32632")}, CRS: "EPSG:4326"})
	if err != nil || f.Parts[0].Polygon[0][0] != (orb.Point{8, 50}) || !slices.Contains(codes(f), finding.SystemOverruled) {
		t.Errorf("%v, %v", f, err)
	}
}

func TestShapefileErrors(t *testing.T) {
	good := made(5, polygonRecord(5, squareAt(8, 50, 1), turned(squareAt(8.2, 50.2, 0.1))), polygonRecord(5, squareAt(9, 50, 1)))
	changed := func(change func(data []byte)) []byte {
		data := bytes.Clone(good)
		change(data)
		return data
	}
	const first = shapefileHeader + recordHeader // the content of the first record
	tests := []struct {
		name string
		data []byte
		want string
	}{
		{"header cut off", good[:50], "a.shp: the shapefile ends within its header; it may be cut off"},
		{"no length", changed(func(d []byte) { binary.BigEndian.PutUint32(d[24:], 0) }), "a.shp: the shapefile's header is damaged"},
		{"cut off", good[:len(good)-16], "a.shp: the shapefile has 440 bytes, but its header promises 456; it may be cut off"},
		{"more behind the end", append(bytes.Clone(good), 0, 0, 1), "a.shp: the shapefile goes on behind the end that its header gives; it may be damaged"},
		{"unknown type", changed(func(d []byte) { d[32] = 7 }), "a.shp: this shapefile holds shapes of the unknown type 7"},
		{"multipatches", changed(func(d []byte) { d[32] = 31 }), "a.shp: this shapefile holds surfaces in space (multipatches); ask for the area as a polygon"},
		{"unknown type in a record", changed(func(d []byte) { d[first] = 99 }), "a.shp: feature 1: the record holds a shape of the type 99, which is not read here"},
		{"too many rings", changed(func(d []byte) { binary.LittleEndian.PutUint32(d[first+36:], 0xffffffff) }), "a.shp: feature 1: the record is damaged: its counts and its length do not agree"},
		{"too many points", changed(func(d []byte) { binary.LittleEndian.PutUint32(d[first+40:], 0xffffffff) }), "a.shp: feature 1: the record is damaged"},
		{"ring begins behind the next", changed(func(d []byte) { binary.LittleEndian.PutUint32(d[first+48:], 11) }), "a.shp: feature 1, ring 1: the record is damaged"},
		{"first ring begins late", changed(func(d []byte) { d[first+44] = 1 }), "a.shp: feature 1: the record is damaged"},
		{"record too long", changed(func(d []byte) { binary.BigEndian.PutUint32(d[first-4:], 0x7fffffff) }), "a.shp: feature 1: the record reaches beyond the end of the file; it may be damaged"},
		{"record too short", changed(func(d []byte) { binary.BigEndian.PutUint32(d[first-4:], 10) }), "a.shp: feature 1: the record is damaged"},
		{"heights that are not there", changed(func(d []byte) { d[first] = 15 }), "a.shp: feature 1: the record is damaged"},
		{"not a number", changed(func(d []byte) { binary.LittleEndian.PutUint64(d[first+52+5*16+2*16:], math.Float64bits(math.NaN())) }),
			"a.shp: feature 1, ring 2, vertex 3: the vertex is not a pair of numbers"},
	}
	for _, tt := range tests {
		_, err := Read("a.shp", tt.data, Options{Beside: map[string][]byte{".prj": []byte(wgs84PRJ)}})
		if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%s:\n got %v\nwant %s", tt.name, err, tt.want)
		}
	}
	_, err := Read("a.shp", good, Options{Limits: Limits{Bytes: 1000, Depth: 9, Vertices: 16}, Beside: map[string][]byte{".prj": []byte(wgs84PRJ)}})
	if want := "a.shp: feature 2, ring 1, vertex 4: the file holds more than the limit of 16 vertices and rings (--limit vertices)"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
	// Rings that would take too long to sort out are refused, not tried.
	var rings []orb.Ring
	for i := range 40_000 {
		side := 1 + float64(i)/1e5
		rings = append(rings, squareAt(0, 0, side), turned(squareAt(0, 0, side/2)))
	}
	_, err = Read("a.shp", made(5, polygonRecord(5, rings...)), Options{})
	if err == nil || !strings.Contains(err.Error(), "too many to find out which hole lies in which outline") {
		t.Errorf("%v", err)
	}
}

// tableOf is a .dbf of one column of text, which the rows fill.
func tableOf(mark byte, title string, rows ...string) []byte {
	const size = 20
	head := make([]byte, 32+32+1)
	head[0], head[29] = 3, mark
	binary.LittleEndian.PutUint32(head[4:], uint32(len(rows)))
	binary.LittleEndian.PutUint16(head[8:], uint16(len(head)))
	binary.LittleEndian.PutUint16(head[10:], size+1)
	copy(head[32:], title)
	head[32+11], head[32+16], head[64] = 'C', size, columnsEnd
	for _, row := range rows {
		head = append(head, fmt.Sprintf(" %s%s", row, strings.Repeat(" ", size-len(row)))...)
	}
	return head
}

func TestShapefileNames(t *testing.T) {
	data := made(5, polygonRecord(5, squareAt(8, 50, 1)), polygonRecord(5, squareAt(9, 50, 1)))
	short := tableOf(0, "NAME", "a", "b")
	tests := []struct {
		test  string
		dbf   []byte
		cpg   string
		names []string
		code  finding.Code
	}{
		{"UTF-8", tableOf(0, "NAME", "Öd", "b"), "UTF-8", []string{"Öd", "b"}, ""},
		{"UTF-8 without saying so", tableOf(0, "NAME", "Öd", "b"), "", []string{"Öd", "b"}, ""},
		{"Windows-1252 without saying so", tableOf(0, "NAME", "\xd6d", "\x80"), "", []string{"Öd", "€"}, ""},
		{"language mark", tableOf(0x57, "NAME", "\xd6d", "b"), "", []string{"Öd", "b"}, ""},
		{"ISO 8859-1", tableOf(0x57, "NAME", "\xd6d", "b"), "ISO-8859-1\r\n", []string{"Öd", "b"}, ""},
		{"another encoding", tableOf(0, "NAME", "\x8ed", "b"), "936", []string{"\ufffdd", "b"}, finding.WrongEncoding},
		{"another language mark", tableOf(0x4d, "NAME", "\x8ed", "b"), "", []string{"\ufffdd", "b"}, finding.WrongEncoding},
		{"another encoding does no harm to ASCII", tableOf(0x4d, "NAME", "a", "b"), "", []string{"a", "b"}, ""},
		{"other title", tableOf(0, "PARCEL_NO", "12", "13"), "", []string{"12", "13"}, ""},
		{"no title that looks like names", tableOf(0, "AREA", "12", "13"), "", []string{"", ""}, ""},
		{"no table", nil, "", []string{"", ""}, finding.NamesUnread},
		{"damaged", short[:40], "", []string{"", ""}, finding.NamesUnread},
		{"cut off", short[:len(short)-1], "", []string{"", ""}, finding.NamesUnread},
		{"too few rows", tableOf(0, "NAME", "a"), "", []string{"a", ""}, finding.NamesUnread},
		{"too many rows", tableOf(0, "NAME", "a", "b", "c"), "", []string{"a", "b"}, finding.NamesUnread},
	}
	for _, tt := range tests {
		f, err := Read("a.shp", data, Options{Beside: map[string][]byte{".prj": []byte(wgs84PRJ), ".dbf": tt.dbf, ".cpg": []byte(tt.cpg)}})
		if err != nil {
			t.Errorf("%s: %v", tt.test, err)
			continue
		}
		if got := []string{f.Parts[0].Name, f.Parts[1].Name}; !reflect.DeepEqual(got, tt.names) {
			t.Errorf("%s: %q, want %q", tt.test, got, tt.names)
		}
		var want []finding.Code
		if tt.code != "" {
			want = []finding.Code{tt.code}
		}
		if got := codes(f); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: findings %q, want %q", tt.test, got, want)
		}
	}
}

func FuzzReadShapefile(f *testing.F) {
	for _, name := range []string{"texas", "windows", "path", "points"} {
		data, beside := shapefileFixture(f, name)
		f.Add(data, beside[".dbf"], string(beside[".prj"]), string(beside[".cpg"]))
	}
	f.Add(made(5, polygonRecord(5, squareAt(8, 50, 1), turned(squareAt(8.2, 50.2, 0.1)), squareAt(20, 50, 1))), tableOf(1, "id", "\x80"), "", "")
	f.Add(made(8, make([]byte, 40)), []byte{}, wgs84PRJ, "1252")
	f.Fuzz(func(t *testing.T, data, dbf []byte, prj, cpg string) {
		if !isShapefile(data) {
			return
		}
		file, err := Read("fuzz.shp", data, Options{Limits: fuzzLimits, Beside: map[string][]byte{".dbf": dbf, ".prj": []byte(prj), ".cpg": []byte(cpg)}})
		if err != nil {
			var placed *ReadError
			if !errors.As(err, &placed) || placed.Text == "" || strings.ContainsAny(err.Error(), "\n\r\x00") {
				t.Fatalf("%#v", err)
			}
			return
		}
		spent := 0
		for _, part := range file.Parts {
			if part.Place.Feature < 1 || part.Place.Part < 1 || part.Place.Line != 0 || len(part.Polygon) == 0 {
				t.Fatalf("%+v", part)
			}
			for _, ring := range part.Polygon {
				spent += 1 + len(ring)
				for _, v := range ring {
					if !finitePoint(v) {
						t.Fatalf("vertex %v", v)
					}
				}
			}
		}
		if spent > fuzzLimits.Vertices {
			t.Fatalf("%d vertices and rings", spent)
		}
		for _, x := range file.Findings {
			if !strings.HasSuffix(x.Text.String(), ".") || strings.ContainsAny(x.Text.String(), "\n\r\x00") {
				t.Fatalf("not a sentence: %q", x.Text)
			}
		}
	})
}
