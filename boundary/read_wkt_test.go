package boundary

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/boundary/finding"
)

func TestReadWKT(t *testing.T) {
	none := []finding.Code{finding.NoPolygon, finding.NoGeometry}
	high := []finding.Code{finding.AltitudePresent}
	for _, tt := range []struct {
		text, format string
		parts        []string
		codes        []finding.Code
	}{
		{"POLYGON((1 2,3 2,3 4,1 2))", "WKT", []string{"1.1  [4]"}, nil},
		{"  polygon\n( ( 1 2 , 3 2\t,3 4,\r\n1 2 ) , (1.1 2.1,2 2.1,2 2.2,1.1 2.1) )\n", "WKT", []string{"1.1  [4 4]"}, nil},
		{"SRID=4326;POLYGON((1 2,3 2,3 4,1 2))", "EWKT (SRID 4326)", []string{"1.1  [4]"}, nil},
		{"srid = 04326 ; POLYGON((1 2,3 2,3 4,1 2))", "EWKT (SRID 4326)", []string{"1.1  [4]"}, nil},
		{"SRID=4979;POLYGON Z((1 2 0,3 2 0,3 4 0,1 2 0))", "EWKT (SRID 4979)", []string{"1.1  [4]"}, nil},
		{"SRID=0;POLYGON((1 2,3 2,3 4,1 2))", "WKT", []string{"1.1  [4]"}, nil},
		{"POLYGON Z ((1 2 5,3 2 5,3 4 5,1 2 5))", "WKT", []string{"1.1  [4]"}, high},
		{"POLYGONZ((1 2 5,3 2 5,3 4 5,1 2 5))", "WKT", []string{"1.1  [4]"}, high},
		{"POLYGON((1 2 5,3 2 5,3 4 5,1 2 5))", "WKT", []string{"1.1  [4]"}, high},
		{"POLYGON M ((1 2 5,3 2 5,3 4 5,1 2 5))", "WKT", []string{"1.1  [4]"}, nil},
		{"POLYGONM((1 2 5,3 2 5,3 4 5,1 2 5))", "WKT", []string{"1.1  [4]"}, nil},
		{"POLYGON ZM ((1 2 5 7,3 2 5 7,3 4 5 7,1 2 5 7))", "WKT", []string{"1.1  [4]"}, high},
		{"POLYGON((1 2 5 7,3 2 5 7,3 4 5 7,1 2 5 7))", "WKT", []string{"1.1  [4]"}, high},
		{"MULTIPOLYGON(((1 2,3 2,3 4,1 2)),EMPTY,((5 2,6 2,6 4,5 2),(5.1 2.1,5.2 2.1,5.2 2.2,5.1 2.1)))", "WKT",
			[]string{"1.1  [4]", "1.2  [4 4]"}, []finding.Code{finding.NoGeometry}},
		{"GEOMETRYCOLLECTION(POLYGON((1 2,3 2,3 4,1 2)),GEOMETRYCOLLECTION(MULTIPOLYGON(((1 2,3 2,3 4))),POINT(1 2)),LINESTRING(1 2,3 4))", "WKT",
			[]string{"1.1  [4]", "1.2  [3]"}, []finding.Code{finding.PathNotArea, finding.PointsNotArea}},
		{"POLYGON EMPTY", "WKT", nil, none},
		{"MULTIPOLYGON Z EMPTY", "WKT", nil, none},
		{"GEOMETRYCOLLECTION EMPTY", "WKT", nil, none},
		{"POINT ZM EMPTY", "WKT", nil, none},
		{"POLYGON(EMPTY)", "WKT", []string{"1.1  [0]"}, nil},
		{"TRIANGLE((1 2,3 2,3 4,1 2))", "WKT", []string{"1.1  [4]"}, nil},
		{"LINESTRING(1 2,3 2,3 4)", "WKT", nil, []finding.Code{finding.NoPolygon, finding.PathNotArea}},
		{"MULTILINESTRING((1 2,3 2),EMPTY,(3 4,1 2))", "WKT", nil, []finding.Code{finding.NoPolygon, finding.PathNotArea}},
		{"MULTIPOINT((1 2),(3 2),EMPTY)", "WKT", nil, []finding.Code{finding.NoPolygon, finding.PointsNotArea}},
		{"MULTIPOINT(1 2,3 2)", "WKT", nil, []finding.Code{finding.NoPolygon, finding.PointsNotArea}},
		{"POLYGON((1 2,3 2,3 4,1 2))\nPOLYGON((1 2,3 2,3 4,1 2))\n\nPOINT(1 2)", "WKT", []string{"1.1  [4]", "2.1  [4]"}, []finding.Code{finding.PointsNotArea}},
		{"POLYGON((1 2,3 2,3 4,1 2));SRID=4326;POLYGON((1 2,3 2,3 4,1 2));", "EWKT (SRID 4326)", []string{"1.1  [4]", "2.1  [4]"}, nil},
		{"POLYGON((-1.5e0 +2,.5 2.,3 4))", "WKT", []string{"1.1  [3]"}, nil},
		{"\ufeffPOLYGON((1 2,3 2,3 4,1 2))", "WKT", []string{"1.1  [4]"}, nil},
	} {
		f, err := Read("a", []byte(tt.text), Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		if got := summary(f); f.Format != tt.format || !slices.Equal(got, tt.parts) {
			t.Errorf("%s: %s %q", tt.text, f.Format, got)
		}
		if got := codes(f); !slices.Equal(got, tt.codes) {
			t.Errorf("%s: findings %q, want %q", tt.text, got, tt.codes)
		}
	}
}

func TestReadWKTErrors(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"POLYGON((1 2,3 2,3 4,1 2)‹", "feature 1, part 1, ring 1: the file ends in the middle; it may be cut off"},
		{"POLYGON((1 2,3 2,3‹", "feature 1, part 1, ring 1, vertex 3: the file ends in the middle; it may be cut off"},
		{"POLYGON((1 2,‹3,3 4,1 2))", "feature 1, part 1, ring 1, vertex 2: this vertex has 1 number; it needs a longitude and a latitude"},
		{"POLYGON((1 2,3 2,‹,1 2))", "feature 1, part 1, ring 1, vertex 3: this vertex has 0 numbers; it needs a longitude and a latitude"},
		{"POLYGON((1 2,3 2,\n‹3 4 5 6 7,1 2))", "feature 1, part 1, ring 1, vertex 3: this vertex has 5 numbers; it needs a longitude and a latitude"},
		{"POLYGON Z((‹1 2,3 2 1))", "feature 1, part 1, ring 1, vertex 1: this vertex has 2 numbers; it needs a longitude and a latitude and a height"},
		{"POLYGON M((‹1 2 3 4,3 2 1))", "feature 1, part 1, ring 1, vertex 1: this vertex has 4 numbers; it needs a longitude and a latitude and a measure"},
		{"POLYGON((1 2,3 ‹NaN,3 4))", "feature 1, part 1, ring 1, vertex 2: “NaN” is not a number"},
		{"POLYGON((1 2,3 ‹1e999,3 4))", "feature 1, part 1, ring 1, vertex 2: “1e999” is not a number"},
		{"POLYGON((1 2,3 ‹2x,3 4))", "feature 1, part 1, ring 1, vertex 2: “2x” is not a number"},
		{"POLYGON((1 2,3 2‹;3 4))", "feature 1, part 1, ring 1, vertex 2: the text is damaged here: “;” stands where a number is expected"},
		{"POLYGON(‹1 2,3 2,3 4)", "feature 1, part 1, ring 1: the text is damaged here: “1” stands where “(” is expected"},
		{"POLYGON((1 2,3 2,3 4))‹)", "the text is damaged here: “)” stands where a shape such as POLYGON is expected"},
		{"POLYGON((1 2,3 2,3 4))\n‹CIRCLE(1 2)", "feature 2: “CIRCLE” is not a shape that is read here; ask for a POLYGON or MULTIPOLYGON"},
		{"‹CURVEPOLYGON(CIRCULARSTRING(0 0,1 1,2 0,1 -1,0 0))", "feature 1: “CURVEPOLYGON” is not a shape that is read here; ask for a POLYGON or MULTIPOLYGON"},
		{"SRID=‹x;POINT(1 2)", "feature 1: the text is damaged here: “x” stands where the number of a coordinate system is expected"},
		{"SRID=4326 ‹POINT(1 2)", "feature 1: the text is damaged here: “P” stands where “;” is expected"},
		{"‹SRID=999999;POINT(1 2)", "EPSG:999999 is not among the coordinate systems that are known here: please give the text of its .prj file, or send longitude and latitude on WGS 84"},
		{"SRID=4326;POINT(1 2)\n‹SRID=25832;POINT(1 2)", "feature 2: the coordinate system “EPSG:25832” is not the “EPSG:4326” from before; one file is read in one system"},
		{"GEOMETRYCOLLECTION(" + strings.Repeat("GEOMETRYCOLLECTION(", 98) + "POINT(‹(1 2))", "feature 1: brackets lie more than the limit of 100 inside one another (--limit depth)"},
	} {
		text, line, column := marked(tt.text)
		want := fmt.Sprintf("a:%d:%d: %s", line, column, tt.want)
		if f, err := Read("a", []byte(text), Options{}); err == nil || err.Error() != want {
			t.Errorf("%s:\n got %v %v\nwant %s", text, f, err, want)
		}
	}
}

// An independent reader finds the same polygons.
func sameAsIndependent(text string, parts []Part) error {
	g, err := geom.UnmarshalWKT(text, geom.NoValidate{})
	if err != nil {
		return nil // it wants heights to be announced, for one
	}
	var want []orb.Polygon
	for _, single := range g.Dump() {
		p, is := single.AsPolygon()
		if !is || p.IsEmpty() {
			continue
		}
		var polygon orb.Polygon
		for _, ring := range p.DumpRings() {
			var vertices orb.Ring
			for s, i := ring.Coordinates(), 0; i < s.Length(); i++ {
				xy := s.GetXY(i)
				vertices = append(vertices, orb.Point{xy.X, xy.Y})
			}
			polygon = append(polygon, vertices)
		}
		want = append(want, polygon)
	}
	var got []orb.Polygon
	for _, p := range parts {
		if slices.ContainsFunc(p.Polygon, func(r orb.Ring) bool { return len(r) == 0 }) {
			return nil // an empty ring has no counterpart
		}
		got = append(got, p.Polygon)
	}
	if !reflect.DeepEqual(got, want) {
		return fmt.Errorf("%q\n got %v\nwant %v", text, got, want)
	}
	return nil
}

func TestReadWKTAgrees(t *testing.T) {
	for _, text := range []string{
		"POLYGON((1 2,3 2,3 4,1 2),(1.1 2.1,2 2.1,2 2.2,1.1 2.1))",
		"MULTIPOLYGON(((0.1 0.2,3e1 2,3 4.123456789012345,0.1 0.2)),((5 2,6 2,6 4,5 2)))",
		"GEOMETRYCOLLECTION Z(POLYGON Z((1 2 9,3 2 9,3 4 9,1 2 9)),POINT Z(1 2 3))",
	} {
		f, err := Read("a", []byte(text), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if err := sameAsIndependent(text, f.Parts); err != nil || len(f.Parts) == 0 {
			t.Error(len(f.Parts), err)
		}
	}
}

func FuzzReadWKT(f *testing.F) {
	for _, s := range []string{
		"SRID=4326;POLYGON Z((1 2 3,3 2 3,3 4 3,1 2 3));POINT EMPTY",
		"MULTIPOLYGON M(((1 2 3,3 2 3,3 4 3,1 2 3)),EMPTY)",
		"GEOMETRYCOLLECTION(MULTIPOINT(1 2,(3 4)),LINESTRING(1 2,3 4),TRIANGLE((1 2,3 2,3 4,1 2)))",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file, err := checkRead(t, []byte(text))
		if err != nil || file.Format != "WKT" || len(file.Parts) == 0 || file.Parts[len(file.Parts)-1].Place.Feature > 1 {
			return
		}
		utf8, _ := toUTF8([]byte(text))
		if err := sameAsIndependent(string(utf8), file.Parts); err != nil {
			t.Fatal(err)
		}
	})
}
