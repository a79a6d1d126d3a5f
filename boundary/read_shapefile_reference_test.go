package boundary

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	shp "github.com/jonas-p/go-shp"
	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
)

// Another library's reader finds the same vertices.
func TestShapefileAgainstGoShp(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var records [][]byte
	for range 50 {
		x, y := 360*rng.Float64()-180, 170*rng.Float64()-85
		rings := []orb.Ring{squareAt(x, y, 4)}
		for range rng.IntN(4) {
			rings = append(rings, turned(squareAt(x+3*rng.Float64(), y+3*rng.Float64(), 0.5)))
		}
		records = append(records, polygonRecord(5, rings...))
	}
	data := made(5, records...)
	var table []string
	for range records {
		table = append(table, "x")
	}
	f, err := Read("a.shp", data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	other := shp.SequentialReaderFromExt(io.NopCloser(bytes.NewReader(data)), io.NopCloser(bytes.NewReader(tableOf(0, "NAME", table...))))
	n := 0
	for other.Next() {
		_, shape := other.Shape()
		var got orb.Ring
		for _, ring := range f.Parts[n].Polygon {
			got = append(got, turned(ring)...)
		}
		points := shape.(*shp.Polygon).Points
		if len(points) != len(got) {
			t.Fatalf("record %d: %d vertices, want %d", n+1, len(got), len(points))
		}
		for i, p := range points {
			if got[i] != (orb.Point{p.X, p.Y}) {
				t.Fatalf("record %d: %v, want %v", n+1, got[i], p)
			}
		}
		n++
	}
	if other.Err() != nil || n != len(f.Parts) {
		t.Errorf("%d records of %d: %v", n, len(f.Parts), other.Err())
	}
}

// The counties of North Carolina, in the Debian package r-cran-sf, are on
// NAD27, which is refused. Read as the numbers they are, their areas on the
// ellipsoid of NAD27 are those that the documentation of sf prints: Ashe
// 1137388604, Alleghany 611077263, Surry 1423489919 m².
func TestNorthCarolina(t *testing.T) {
	beside := map[string][]byte{}
	for _, extension := range []string{".shp", ".dbf", ".prj"} {
		data, err := os.ReadFile("/usr/lib/R/site-library/sf/shape/nc" + extension)
		if err != nil {
			if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
				t.Fatal(err)
			}
			t.Skip("the shapefile of r-cran-sf is not installed")
		}
		beside[extension] = data
	}
	_, err := Read("nc.shp", beside[".shp"], Options{Beside: beside})
	if err == nil || !strings.Contains(err.Error(), "NAD27 lies 10 to over 100 m from WGS 84") {
		t.Errorf("%v", err)
	}
	delete(beside, ".prj")
	f, err := Read("nc.shp", beside[".shp"], Options{Beside: beside})
	if err != nil {
		t.Fatal(err)
	}
	clarke1866 := geodesic.NewEllipsoid(6378206.4, (6378206.4-6356583.8)/6378206.4)
	areas, total := map[string]float64{}, 0.0
	for _, part := range f.Parts {
		for i, ring := range part.Polygon {
			p := clarke1866.PolygonInit(false)
			for _, v := range ring[1:] {
				p.AddPoint(v[1], v[0])
			}
			var area, perimeter float64
			p.Compute(false, true, &area, &perimeter)
			if (area > 0) != (i == 0) {
				t.Errorf("ring %d of %s has the area %g", i+1, part.Name, area)
			}
			areas[part.Name] += area
			total += area
		}
	}
	for name, want := range map[string]float64{"Ashe": 1137388604, "Alleghany": 611077263, "Surry": 1423489919} {
		if math.Abs(areas[name]-want) > 1 {
			t.Errorf("%s: %.2f m², published %.0f", name, areas[name], want)
		}
	}
	if len(areas) != 100 || f.Parts[len(f.Parts)-1].Place.Feature != 100 {
		t.Errorf("%d counties", len(areas))
	}
}
