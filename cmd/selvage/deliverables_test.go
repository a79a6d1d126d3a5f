package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
)

// demoJob is the folder in which a demonstration leaves what it wrote.
func demoJob(t *testing.T) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "demo")
	if err := runDemo(terminal{out: io.Discard, err: io.Discard}, folder); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(folder, "job")
}

// Other programs read what an audit writes as we meant it.
func TestDeliverables(t *testing.T) {
	job := demoJob(t)
	t.Run("KML by GDAL", func(t *testing.T) { coverageKMLByGDAL(t, job) })
	t.Run("views by GDAL", func(t *testing.T) { viewsByGDAL(t, job) })
	t.Run("KML by its schema", func(t *testing.T) { kmlBySchema(t, job) })
}

type writtenShapes struct {
	Features []struct {
		Properties struct {
			Role, Name string
			Number     int
			Area       float64 `json:"area_m2"`
			From       float64 `json:"from_m"`
			To         float64 `json:"to_m"`
		}
		Geometry struct {
			Type        string
			Coordinates json.RawMessage
		}
	}
}

func shapesIn(t *testing.T, data []byte) (s writtenShapes) {
	t.Helper()
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	return s
}

func geometry[G any](t *testing.T, data json.RawMessage) (g G) {
	t.Helper()
	if err := json.Unmarshal(data, &g); err != nil {
		t.Fatal(err)
	}
	return g
}

// GDAL reads in the KML the zones and stretches of the figures: areas agree
// with the audit's but for the rounding of vertices to 8 decimals, 0.8 mm at
// most, and lengths but for 1.6 mm a stretch, where they do not turn.
func coverageKMLByGDAL(t *testing.T, job string) {
	figures := shapesIn(t, read(t, filepath.Join(job, "invented-quarry-coverage.geojson")))
	path := filepath.Join(job, "invented-quarry-coverage.kml")
	found := map[string]json.RawMessage{}
	for _, layer := range strings.Split(strings.TrimSpace(string(ask(t, "", "ogrinfo", "-ro", "-q", path))), "\n") {
		_, name, _ := strings.Cut(layer, ": ")
		for _, f := range shapesIn(t, ask(t, "", "ogr2ogr", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "-dim", "XY", "/vsistdout/", path, name)).Features {
			found[f.Properties.Name] = f.Geometry.Coordinates
		}
	}
	zones, stretches := 0, 0
	for _, f := range figures.Features {
		p := f.Properties
		switch p.Role {
		case "zone":
			zones++
			shape := orb.MultiPolygon{geometry[orb.Polygon](t, found[fmt.Sprint("Zone ", p.Number)])}
			d := math.Abs(plane.GeodesicArea(shape) - p.Area)
			if err := plane.Valid(shape); err != nil || d > 0.0008*plane.GeodesicPerimeter(shape)+0.005 {
				t.Errorf("zone %d: GDAL reads an area that is %.4f m² off; %v", p.Number, d, err)
			}
		case "stretch":
			stretches++
			line, length := geometry[orb.LineString](t, found[fmt.Sprint("E", p.Number)]), 0.0
			for i := 1; i < len(line); i++ {
				length += plane.GeodesicDistance(line[i-1], line[i])
			}
			if d := math.Abs(length - (p.To - p.From)); d > 0.0016*float64(len(line)) {
				t.Errorf("E%d: GDAL reads a length that is %.4f m off", p.Number, d)
			}
		}
	}
	if zones < 10 || stretches < 3 || found["R1"] == nil || found["Site area"] == nil || found["Flight area"] == nil {
		t.Errorf("%d zones, %d stretches, and %d others", zones, stretches, len(found))
	}
}

// At random cells GDAL reads in the GeoTIFF as many views as footprints, which
// the GeoJSON has, hold the middle of the cell by the library orb; and it places
// the picture of the KMZ as the GeoTIFF.
func viewsByGDAL(t *testing.T, job string) {
	type info struct {
		Size         [2]int
		GeoTransform [6]float64
	}
	path := filepath.Join(job, "invented-quarry-coverage-views.tif")
	raster := geometry[info](t, ask(t, "", "gdalinfo", "-json", path))
	picture := geometry[info](t, ask(t, "", "gdalinfo", "-json", strings.TrimSuffix(path, ".tif")+".kmz"))
	at := raster.GeoTransform
	for k, x := range picture.GeoTransform {
		if picture.Size != raster.Size || math.Abs(x-at[k]) > 1e-12 {
			t.Fatalf("the picture is placed by %v, the raster by %v", picture, raster)
		}
	}

	var site orb.MultiPolygon
	var footprints []orb.Polygon
	for _, f := range shapesIn(t, read(t, filepath.Join(job, "invented-quarry-coverage.geojson"))).Features {
		switch f.Properties.Role {
		case "site":
			site = geometry[orb.MultiPolygon](t, f.Geometry.Coordinates)
		case "footprint":
			footprints = append(footprints, geometry[orb.Polygon](t, f.Geometry.Coordinates))
		}
	}
	random := rand.New(rand.NewPCG(75, 76))
	var places []orb.Point
	var input strings.Builder
	for range 3000 {
		column, row := random.IntN(raster.Size[0]), random.IntN(raster.Size[1])
		p := orb.Point{at[0] + (float64(column)+0.5)*at[1], at[3] + (float64(row)+0.5)*at[5]}
		places = append(places, p)
		fmt.Fprintf(&input, "%.12f %.12f\n", p[0], p[1])
	}
	values := strings.Fields(string(ask(t, input.String(), "gdallocationinfo", "-valonly", "-wgs84", path)))
	if len(values) != len(places) {
		t.Fatalf("%d values of %d places", len(values), len(places))
	}
	compared, onSite, most := 0, 0, 0
	for k, p := range places {
		onRim := plane.BoundaryDistance(site, p) < 1e-7 // degrees, 6 to 11 mm
		n := 0
		for _, f := range footprints {
			onRim = onRim || plane.BoundaryDistance(orb.MultiPolygon{f}, p) < 1e-7
			if planar.PolygonContains(f, p) {
				n++
			}
		}
		if onRim {
			continue
		}
		if compared++; planar.MultiPolygonContains(site, p) {
			onSite, most = onSite+1, max(most, n)
		} else {
			n = math.MaxUint16
		}
		if got, err := strconv.Atoi(values[k]); err != nil || got != n {
			t.Fatalf("at %v: %s views, counted %d", p, values[k], n)
		}
	}
	t.Logf("%d places, %d of them on the site, with up to %d views", compared, onSite, most)
	if compared < 2900 || onSite < 1000 || most < 10 {
		t.Errorf("%d places were compared, %d of them on the site, with up to %d views", compared, onSite, most)
	}
}

// What is KML obeys the XML schema of the OGC (ogckml22.xsd, of OGC 07-147r2),
// which the library that writes KML carries. The two schemas that it refers to
// are not at hand; nothing of theirs is written.
func kmlBySchema(t *testing.T, job string) {
	tool, folder := referenceTool(t, "xmllint"), t.TempDir()
	module := strings.TrimSpace(string(goTool(t, "list", "-m", "-f", "{{.Dir}}", "github.com/twpayne/go-kml/v3")))
	schema := strings.ReplaceAll(string(read(t, filepath.Join(module, "xsd", "ogckml22.xsd"))), "http://docs.oasis-open.org/election/external/xAL.xsd", "xal.xsd")
	const stub = `<schema xmlns="http://www.w3.org/2001/XMLSchema" targetNamespace="%s">%s</schema>`
	files := map[string]string{
		"kml.xsd":              schema,
		"atom-author-link.xsd": fmt.Sprintf(stub, "http://www.w3.org/2005/Atom", `<element name="author"/><element name="link"/>`),
		"xal.xsd":              fmt.Sprintf(stub, "urn:oasis:names:tc:ciq:xsdschema:xAL:2.0", `<element name="AddressDetails"/>`),
	}
	archive, err := zip.OpenReader(filepath.Join(job, "invented-quarry-coverage-views.kmz"))
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	in, err := archive.Open("doc.kml")
	if err != nil {
		t.Fatal(err)
	}
	views, err := io.ReadAll(in)
	if err != nil {
		t.Fatal(err)
	}
	files["views.kml"] = string(views)
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, path := range []string{
		filepath.Join(folder, "views.kml"), filepath.Join(job, "invented-quarry-coverage.kml"),
		filepath.Join(job, "invented-quarry-refly.kml"), filepath.Join(job, "invented-quarry-flight.kml"),
	} {
		out, err := exec.Command(tool, "--nonet", "--noout", "--schema", filepath.Join(folder, "kml.xsd"), path).CombinedOutput()
		if err != nil {
			t.Errorf("%s: %v\n%s", filepath.Base(path), err, out)
		}
	}
}

// At a time that is given, the same job gives the same bytes in all files.
func TestSameBytesAtAGivenTime(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1748959500")
	once, again := contents(t, demoJob(t)), contents(t, demoJob(t))
	for name, data := range once {
		if !bytes.Equal(data, again[name]) {
			t.Errorf("%s differs", name)
		}
	}
	if len(once) != len(again) || len(once) < 13 {
		t.Errorf("%d files, then %d", len(once), len(again))
	}
	for _, name := range []string{"invented-quarry-coverage.html", "invented-quarry-receipt.html"} {
		if !bytes.Contains(once[name], []byte("3 June 2025, 14:05 UTC")) {
			t.Errorf("%s does not bear the time that was given", name)
		}
	}
}

func TestTimeThatIsNone(t *testing.T) {
	for _, text := range []string{"today", "-1", "1.5", "1e9", " 1", "007", "99999999999999"} {
		t.Setenv("SOURCE_DATE_EPOCH", text)
		if made, err := now(); err == nil || !strings.Contains(err.Error(), strconv.Quote(text)) {
			t.Errorf("%q: %v, %v", text, made, err)
		}
	}
	t.Setenv("SOURCE_DATE_EPOCH", "0")
	if made, err := now(); err != nil || made.Unix() != 0 {
		t.Errorf("0: %v, %v", made, err)
	}
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}
