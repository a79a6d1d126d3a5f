package boundary

import (
	"bytes"
	"encoding/xml"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"
)

// writtenKML is what an independent reader finds in a KML file.
type writtenKML struct {
	XMLName  xml.Name
	Document struct {
		Name       string `xml:"name"`
		Placemarks []struct {
			Name    string `xml:"name"`
			Polygon struct {
				Extrude    *string      `xml:"extrude"`
				Tessellate string       `xml:"tessellate"`
				Altitude   string       `xml:"altitudeMode"`
				Outer      []writtenRim `xml:"outerBoundaryIs>LinearRing"`
				Inner      []writtenRim `xml:"innerBoundaryIs>LinearRing"`
			} `xml:"Polygon"`
		} `xml:"Placemark"`
	} `xml:"Document"`
}

type writtenRim struct {
	Coordinates string    `xml:"coordinates"`
	Others      []anyNode `xml:",any"`
}

type anyNode struct{ XMLName xml.Name }

func parseKML(t testing.TB, data []byte) writtenKML {
	t.Helper()
	var doc writtenKML
	if err := xml.Unmarshal(data, &doc); err != nil {
		t.Fatalf("%v in\n%s", err, data)
	}
	return doc
}

// OGC 12-007r2 16.10: a tuple is two or three of xsd:decimal, which has no
// exponent, joined by commas; here always two, of at most 8 decimals.
var decimalPair = regexp.MustCompile(`^-?\d{1,3}(\.\d{1,8})?,-?\d{1,2}(\.\d{1,8})?$`)

// rim checks one ring against OGC 12-007r2 and returns it: 10.5.3.7 (four or
// more tuples, first and last the same), 10.5 (a ring of a polygon carries
// neither extrude, tessellate nor altitudeMode).
func rim(t testing.TB, r writtenRim) orb.Ring {
	t.Helper()
	if len(r.Others) > 0 {
		t.Errorf("the ring also has %v", r.Others)
	}
	var ring orb.Ring
	for _, tuple := range strings.Fields(r.Coordinates) {
		if !decimalPair.MatchString(tuple) {
			t.Fatalf("tuple %q", tuple)
		}
		lon, lat, _ := strings.Cut(tuple, ",")
		x, _ := strconv.ParseFloat(lon, 64)
		y, _ := strconv.ParseFloat(lat, 64)
		ring = append(ring, orb.Point{x, y})
	}
	if n := len(ring); n < 4 || ring[0] != ring[n-1] {
		t.Fatalf("not a closed ring: %v", ring)
	}
	return ring
}

// shoelace is the signed area, positive for counter-clockwise.
func shoelace(ring orb.Ring) float64 {
	sum := 0.0
	for i := 1; i < len(ring); i++ {
		a := orb.Point{ring[i-1][0] - ring[0][0], ring[i-1][1] - ring[0][1]}
		b := orb.Point{ring[i][0] - ring[0][0], ring[i][1] - ring[0][1]}
		sum += a[0]*b[1] - a[1]*b[0]
	}
	return sum / 2
}

func square(lon, lat, size float64) orb.Ring {
	return orb.Ring{{lon, lat}, {lon + size, lat}, {lon + size, lat + size}, {lon, lat + size}, {lon, lat}}
}

func reversed(ring orb.Ring) orb.Ring {
	ring = ring.Clone()
	ring.Reverse()
	return ring
}

func TestWriteKML(t *testing.T) {
	areas := []Area{
		{Name: "Meadow", Shape: orb.MultiPolygon{
			{reversed(square(10.1, 52.3, 0.01)), square(10.102, 52.302, 0.001)},
			{square(-0.0000000001, -0.005, 0.01)[:4]},
		}},
		{Name: "Meadow 2", Shape: orb.MultiPolygon{{square(1.0/3, -1.0/3, 0.0000001)}}},
		{Name: "", Shape: orb.MultiPolygon{{square(179, 89, 1)}}},
		{Name: "<&>\x00\u2028 \"'", Shape: orb.MultiPolygon{{square(-180, -90, 0.5)}}},
		{Name: "Nothing"},
		{Name: "Meadow", Shape: orb.MultiPolygon{{square(3, 3, 1)}}},
	}
	var out bytes.Buffer
	if err := WriteKML(&out, "Job <1>", areas); err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(out.Bytes(), []byte("<?xml")) || !bytes.HasSuffix(out.Bytes(), []byte("</kml>\n")) {
		t.Errorf("the file begins or ends wrongly:\n%s", out.String())
	}
	doc := parseKML(t, out.Bytes())
	if doc.XMLName.Space != "http://www.opengis.net/kml/2.2" || doc.XMLName.Local != "kml" || doc.Document.Name != "Job <1>" {
		t.Errorf("root %v, document %q", doc.XMLName, doc.Document.Name)
	}
	var names []string
	for _, p := range doc.Document.Placemarks {
		names = append(names, p.Name)
		polygon := p.Polygon
		// OGC 12-007r2, conformance classes of level 1: extrude only off the
		// ground, tessellate only on it.
		if polygon.Extrude != nil || polygon.Tessellate != "1" || polygon.Altitude != "clampToGround" {
			t.Errorf("%s: %+v", p.Name, polygon)
		}
		if len(polygon.Outer) != 1 {
			t.Fatalf("%s: %d outlines", p.Name, len(polygon.Outer))
		}
		// Directions: 10.8.2, counter-clockwise outside and clockwise inside.
		if shoelace(rim(t, polygon.Outer[0])) <= 0 {
			t.Errorf("%s: the outline is clockwise", p.Name)
		}
		for _, hole := range polygon.Inner {
			if shoelace(rim(t, hole)) >= 0 {
				t.Errorf("%s: a hole is counter-clockwise", p.Name)
			}
		}
	}
	want := []string{"Meadow", "Meadow 2", "Meadow 2 2", "Area", "<&>\ufffd \"'", "Meadow 3"}
	if !reflect.DeepEqual(names, want) {
		t.Errorf("names %q, want %q", names, want)
	}
	if got := len(doc.Document.Placemarks[0].Polygon.Inner); got != 1 {
		t.Errorf("%d holes", got)
	}
	if got, want := strings.TrimSpace(doc.Document.Placemarks[2].Polygon.Outer[0].Coordinates),
		"0.33333333,-0.33333333 0.33333343,-0.33333333 0.33333343,-0.33333323 0.33333333,-0.33333323 0.33333333,-0.33333333"; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	if strings.Contains(out.String(), "-0,") {
		t.Error("a minus zero was written")
	}
}

func TestWriteKMLRefuses(t *testing.T) {
	spoilt := func(p orb.Point) orb.Ring {
		ring := square(1, 1, 1)
		ring[2] = p
		return ring
	}
	tests := []struct {
		name    string
		polygon orb.Polygon
		want    string
	}{
		{"NaN", orb.Polygon{spoilt(orb.Point{math.NaN(), 2})}, "area “Meadow”, polygon 2: ring 1: vertex 3 at longitude NaN, latitude 2 is not on the globe"},
		{"infinite", orb.Polygon{square(0, 0, 9), spoilt(orb.Point{2, math.Inf(-1)})}, "area “Meadow”, polygon 2: ring 2: vertex 3 at longitude 2, latitude -Inf is not on the globe"},
		{"longitude", orb.Polygon{spoilt(orb.Point{580.5, 2})}, "area “Meadow”, polygon 2: ring 1: vertex 3 at longitude 580.5, latitude 2 is not on the globe"},
		{"latitude", orb.Polygon{spoilt(orb.Point{2, -90.5})}, "area “Meadow”, polygon 2: ring 1: vertex 3 at longitude 2, latitude -90.5 is not on the globe"},
		{"no ring", orb.Polygon{}, "area “Meadow”, polygon 2: it has no outline"},
		{"no vertex", orb.Polygon{{}}, "area “Meadow”, polygon 2: ring 1: it has 0 positions; a ring needs 3 or more, and the first again"},
		{"two vertices", orb.Polygon{{{1, 1}, {2, 2}}}, "area “Meadow”, polygon 2: ring 1: it has 3 positions; a ring needs 3 or more, and the first again"},
		{"no area", orb.Polygon{{{1, 1}, {2, 2}, {3, 3}, {1, 1}}}, "area “Meadow”, polygon 2: ring 1: it encloses nothing"},
		{"too small to be written", orb.Polygon{square(1, 1, 1e-10)}, "area “Meadow”, polygon 2: ring 1: it encloses nothing"},
	}
	for _, tt := range tests {
		var out bytes.Buffer
		err := WriteKML(&out, "Job", []Area{{Name: "Meadow", Shape: orb.MultiPolygon{{square(5, 5, 1)}, tt.polygon}}})
		if err == nil || err.Error() != tt.want {
			t.Errorf("%s:\n got %v\nwant %s", tt.name, err, tt.want)
		}
		if out.Len() > 0 {
			t.Errorf("%s: something was written all the same", tt.name)
		}
	}
}

// star draws a valid polygon with a hole around a centre, in degrees.
func star(t *rapid.T) orb.Polygon {
	centre := orb.Point{rapid.Float64Range(-170, 170).Draw(t, "lon"), rapid.Float64Range(-80, 80).Draw(t, "lat")}
	n := rapid.IntRange(3, 30).Draw(t, "corners")
	var outline, hole orb.Ring
	for i := range n {
		angle := 2 * math.Pi * float64(i) / float64(n)
		reach := rapid.Float64Range(0.001, 0.01).Draw(t, "reach")
		outline = append(outline, orb.Point{centre[0] + reach*math.Cos(angle), centre[1] + reach*math.Sin(angle)})
		hole = append(hole, orb.Point{centre[0] + reach/4*math.Cos(angle), centre[1] + reach/4*math.Sin(angle)})
	}
	outline, hole = append(outline, outline[0]), append(hole, hole[0])
	if rapid.Bool().Draw(t, "turned") {
		outline.Reverse()
		hole.Reverse()
	}
	return orb.Polygon{outline, hole}
}

// What is written is read again, by this reader and by an independent one, as
// the same shape to the eighth decimal, and stays valid.
func TestWriteKMLRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		polygon := star(rt)
		var out bytes.Buffer
		if err := WriteKML(&out, "Job", []Area{{Name: "Star", Shape: orb.MultiPolygon{polygon}}}); err != nil {
			rt.Fatal(err)
		}
		f, err := Read("star.kml", out.Bytes(), Options{})
		if err != nil {
			rt.Fatal(err)
		}
		if len(f.Parts) != 1 || len(f.Findings) != 0 || f.Parts[0].Name != "Star" {
			rt.Fatalf("%q %v", summary(f), f.Findings)
		}
		written := parseKML(t, out.Bytes()).Document.Placemarks[0].Polygon
		again := orb.Polygon{rim(t, written.Outer[0]), rim(t, written.Inner[0])}
		if !reflect.DeepEqual(f.Parts[0].Polygon, again) {
			rt.Fatalf("two readers differ: %v and %v", f.Parts[0].Polygon, again)
		}
		for i, ring := range again {
			original := polygon[i]
			if shoelace(original) < 0 != (shoelace(ring) < 0) {
				original = reversed(original)
			}
			for k, p := range ring {
				if math.Abs(p[0]-original[k][0]) > 0.51e-8 || math.Abs(p[1]-original[k][1]) > 0.51e-8 {
					rt.Fatalf("ring %d, vertex %d: %v became %v", i, k, original[k], p)
				}
			}
		}
		if err := asSimpleFeature(again).Validate(); err != nil {
			rt.Fatal(err)
		}
	})
}

func asSimpleFeature(polygon orb.Polygon) geom.Polygon {
	var rings []geom.LineString
	for _, ring := range polygon {
		var flat []float64
		for _, p := range ring {
			flat = append(flat, p[0], p[1])
		}
		rings = append(rings, geom.NewLineString(geom.NewSequence(flat, geom.DimXY)))
	}
	return geom.NewPolygon(rings)
}
