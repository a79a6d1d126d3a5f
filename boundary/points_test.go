package boundary

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// pointShapefile is one with points, as the ESRI Shapefile Technical Description
// of July 1998 has it.
func pointShapefile(points ...orb.Point) []byte {
	little, big := binary.LittleEndian, binary.BigEndian
	var records []byte
	for i, p := range points {
		records, _ = binary.Append(records, big, []int32{int32(i + 1), 10})
		records, _ = binary.Append(records, little, int32(1))
		records, _ = binary.Append(records, little, p[:])
	}
	file, _ := binary.Append(nil, big, []int32{9994, 0, 0, 0, 0, 0, int32(100+len(records)) / 2})
	file, _ = binary.Append(file, little, []int32{1000, 1})
	file, _ = binary.Append(file, little, make([]float64, 8))
	return append(file, records...)
}

func TestReadPoints(t *testing.T) {
	kml := `<kml xmlns="http://www.opengis.net/kml/2.2"><Document>
<Placemark><name>A</name><Point><coordinates> 10.5,48.2,431.7 </coordinates></Point></Placemark>
<Folder><Placemark><MultiGeometry><Point><coordinates>10.6,48.3</coordinates></Point><Point><coordinates>10.7,48.4</coordinates></Point></MultiGeometry><name>B</name></Placemark></Folder>
</Document></kml>`
	var kmz bytes.Buffer
	z := zip.NewWriter(&kmz)
	w, _ := z.Create("doc.kml")
	fmt.Fprint(w, kml)
	z.Close()
	three := []NamedPoint{{Name: "A", Position: orb.Point{10.5, 48.2}}, {Name: "B-1", Position: orb.Point{10.6, 48.3}}, {Name: "B-2", Position: orb.Point{10.7, 48.4}}}
	two := []NamedPoint{{Name: "T1", Position: orb.Point{10.5, 48.2}}, {Name: "T2", Position: orb.Point{10.6, 48.3}}}
	bare := []NamedPoint{{Position: orb.Point{10.5, 48.2}}, {Position: orb.Point{10.6, 48.3}}}
	for name, c := range map[string]struct {
		data string
		crs  string
		want []NamedPoint
	}{
		"KML":                 {kml, "", three},
		"KMZ":                 {kmz.String(), "", three},
		"CSV":                 {"name,lon,lat\nT1,10.5,48.2\nT2,10.6,48.3\n", "", two},
		"CSV, other order":    {"Latitude;Longitude;Label\n48,2;10,5;T1\n48,3;10,6;T2\n", "", two},
		"CSV without names":   {"lon,lat\n10.5,48.2\n10.6,48.3\n", "", bare},
		"CSV by number":       {"GCP,lat,lon\nT1,48.2,10.5\nT2,48.3,10.6\n", "", two},
		"CSV, closed by rows": {"id,lon,lat\nT1,10.5,48.2\nT2,10.6,48.3\nT3,10.7,48.2\nT1,10.5,48.2\n", "", []NamedPoint{two[0], two[1], {Name: "T3", Position: orb.Point{10.7, 48.2}}, two[0]}},
		"CSV with WKT":        {"name,wkt\nT1,POINT(10.5 48.2)\nT2,POINT Z (10.6 48.3 7)\n", "", two},
		"GPX":                 {`<gpx version="1.1"><wpt lat="48.2" lon="10.5"><name>T1</name></wpt><wpt lat="48.3" lon="10.6"><name>T2</name></wpt></gpx>`, "", two},
		"GeoJSON":             {`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"T1"},"geometry":{"type":"Point","coordinates":[10.5,48.2]}},{"type":"Feature","id":"T2","properties":null,"geometry":{"type":"Point","coordinates":[10.6,48.3,5]}}]}`, "", two},
		"GeoJSON multipoint":  {`{"type":"MultiPoint","coordinates":[[10.5,48.2],[10.6,48.3]]}`, "", bare},
		"WKT":                 {"MULTIPOINT((10.5 48.2),(10.6 48.3))", "", bare},
		"shapefile":           {string(pointShapefile(bare[0].Position, bare[1].Position)), "", bare},
		// Web Mercator has the formulas of a sphere of 6,378,137 m.
		"CSV in a grid": {mercator(two), "EPSG:3857", two},
	} {
		t.Run(name, func(t *testing.T) {
			got, _, err := ReadPoints("marks", []byte(c.data), Options{CRS: c.crs})
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != len(c.want) {
				t.Fatalf("%d points, want %d: %v", len(got), len(c.want), got)
			}
			for i, p := range got {
				if p.Name != c.want[i].Name || math.Abs(p.Position[0]-c.want[i].Position[0]) > 1e-9 || math.Abs(p.Position[1]-c.want[i].Position[1]) > 1e-9 {
					t.Errorf("point %d is %+v, want %+v", i+1, p, c.want[i])
				}
				if p.Place.File == "" {
					t.Errorf("point %d has no place", i+1)
				}
			}
		})
	}
}

func mercator(points []NamedPoint) string {
	out := "name,x,y\n"
	for _, p := range points {
		const r = 6378137
		out += fmt.Sprintf("%s,%.6f,%.6f\n", p.Name, r*p.Position[0]*math.Pi/180, r*math.Log(math.Tan(math.Pi/4+p.Position[1]*math.Pi/360)))
	}
	return out
}

func TestReadPointsFaults(t *testing.T) {
	many := "lon,lat\n" + strings.Repeat("10.5,48.2\n", DefaultLimits.Points+1)
	for name, c := range map[string]struct{ data, crs, want string }{
		"nothing":              {"", "", "marks: the file is empty"},
		"no point":             {`{"type":"FeatureCollection","features":[]}`, "", "marks: the file holds no point"},
		"areas and lines":      {`{"type":"GeometryCollection","geometries":[{"type":"LineString","coordinates":[[1,2],[3,4]]},{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}]}`, "", "marks: the file holds no point; only points count here, and it has 1 line and 1 area"},
		"no latitude":          {"name,lon,lat\nT1,10.5,\n", "", "marks:2:9: feature 1: this row has no latitude"},
		"not a number":         {"name,lon,lat\nT1,10.5,48.2\nT2,east,48.2\n", "", "marks:3:4: feature 2: “east” is not a longitude"},
		"a point nowhere":      {`<kml><Placemark><name>A</name><Point><coordinates>10.5</coordinates></Point></Placemark></kml>`, "", "marks:1:31: feature 1 (“A”): this point has no position that can be read"},
		"beyond the pole":      {"name,lon,lat\nT1,10.5,98.2\n", "", "marks:2:1: feature 1 (“T1”): 10.5, 98.2 is no longitude and latitude"},
		"metres":               {"name,x,y\nT1,611319.5,55316\n", "", "marks:2:1: feature 1 (“T1”): the numbers are no longitude and latitude (611319.5, 55316)"},
		"easting":              {"name,easting,northing\nT1,61.5,55.3\n", "", "marks:2:1: feature 1 (“T1”): the columns are called easting and northing; please say"},
		"out of the system":    {"name,easting,northing\nT1,61131900,55316\n", "EPSG:32632", "marks:2:1: feature 1 (“T1”): "},
		"no such system":       {"name,lon,lat\nT1,10.5,48.2\n", "EPSG:1", "marks: "},
		"too many":             {many, "", "marks: the file holds more than the limit of 10000 points"},
		"a picture":            {"\x89PNG", "", "marks: this is a PNG image, not "},
		"a table without head": {"T1,10.5,48.2\nT2,10.6,48.3\n", "", "marks:1:1: this looks like a table"},
	} {
		_, _, err := ReadPoints("marks", []byte(c.data), Options{CRS: c.crs})
		var fault *ReadError
		if !errors.As(err, &fault) || !strings.HasPrefix(fault.Error(), c.want) {
			t.Errorf("%s: %v\nwant %s", name, err, c.want)
		}
	}
	if _, _, err := ReadPoints("marks", []byte("lon,lat\n1,2\n3,4\n"), Options{Limits: Limits{Bytes: 100, Depth: 10, Vertices: 1, Points: 5}}); err == nil || !strings.Contains(err.Error(), "marks:3:1: the file holds more than the limit of 1 vertices") {
		t.Errorf("vertices: %v", err)
	}
	few := DefaultLimits
	few.Points = 1
	if _, _, err := ReadPoints("marks", []byte("lon,lat\n1,2\n3,4\n5,6\n"), Options{Limits: few}); err == nil || !strings.Contains(err.Error(), "marks:4:1: the file holds more than the limit of 1 points") {
		t.Errorf("points: %v", err)
	}
	if _, _, err := ReadPoints("marks", []byte("lon,lat\n1,2\n"), Options{Limits: Limits{Bytes: 5}}); err == nil || !strings.Contains(err.Error(), "larger than the limit") {
		t.Errorf("bytes: %v", err)
	}
}

func TestReadPointsFindings(t *testing.T) {
	codes := func(data string) (all []finding.Code) {
		t.Helper()
		_, found, err := ReadPoints("marks", []byte(data), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			all = append(all, f.Code)
		}
		return all
	}
	for name, c := range map[string]struct {
		data string
		want []finding.Code
	}{
		"nothing":    {"lon,lat\n10.5,48.2\n", nil},
		"an outline": {`{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1,2]},{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}]}`, []finding.Code{finding.PointsOnly}},
		"no .prj":    {string(pointShapefile(orb.Point{10.5, 48.2})), []finding.Code{finding.NamesUnread, finding.NoCRS}},
		"no shape":   {`<kml><Placemark><name>A</name></Placemark><Placemark><Point><coordinates>10.5,48.2</coordinates></Point></Placemark></kml>`, []finding.Code{finding.NoGeometry}},
	} {
		if got := codes(c.data); fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// Whatever is read for points must neither panic nor give one that is no
// position.
func FuzzReadPoints(f *testing.F) {
	f.Add([]byte("name,lon,lat\nT1,10.5,48.2\n"))
	f.Add([]byte(`{"type":"MultiPoint","coordinates":[[10.5,48.2],[10.6,48.3]]}`))
	f.Add([]byte(`<kml><Placemark><Point><coordinates>1e999,48.2</coordinates></Point></Placemark></kml>`))
	f.Add(pointShapefile(orb.Point{1, 2}))
	f.Fuzz(func(t *testing.T, data []byte) {
		points, _, err := ReadPoints("marks", data, Options{})
		if err == nil && len(points) == 0 {
			t.Error("neither points nor an error")
		}
		for _, p := range points {
			if !(math.Abs(p.Position[0]) <= 360 && math.Abs(p.Position[1]) <= 90) {
				t.Errorf("%+v", p)
			}
		}
	})
}
