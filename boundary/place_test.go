package boundary

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// EPSG Guidance Note 7-2 (IOGP 373-7-2), 3.2.1.1: Web Mercator of 100°20'00.000"W,
// 24°22'54.433"N is E -11169055.58 m, N 2800000.00 m (from memory).
func TestTransform(t *testing.T) {
	const metres = "-11169055.58 2800000,-11169000 2800000,-11169000 2800100"
	want := orb.Point{-(100 + 20.0/60), 24 + 22.0/60 + 54.433/3600}
	for _, tt := range []struct {
		name, text string
		o          Options
		codes      []finding.Code
	}{
		{"named by the file", "SRID=3857;POLYGON((" + metres + "))", Options{}, []finding.Code{finding.Transformed}},
		{"asked for", "POLYGON((" + metres + "))", Options{CRS: "EPSG:3857"}, []finding.Code{finding.Transformed}},
		{"both", "SRID=3857;POLYGON((" + metres + "))", Options{CRS: "Web Mercator"}, []finding.Code{finding.Transformed}},
		{"overruled", "SRID=4326;POLYGON((" + metres + "))", Options{CRS: "EPSG:3857"}, []finding.Code{finding.SystemOverruled, finding.Transformed}},
		{"unknown, overruled", "SRID=999999;POLYGON((" + metres + "))", Options{CRS: "EPSG:3857"}, []finding.Code{finding.SystemOverruled, finding.Transformed}},
		{"of a path", "LINESTRING(" + metres + ")", Options{CRS: "EPSG:3857", ClosePath: true}, []finding.Code{finding.Transformed, finding.PathClosed}},
		{"of columns", "easting,northing\n-11169055.58,2800000\n-11169000,2800000\n-11169000,2800100\n-11169055.58,2800000\n", Options{CRS: "EPSG:3857"},
			[]finding.Code{finding.RowsAsOutline, finding.Transformed}},
		{"of a faulty KML", ringKML(strings.NewReplacer(" ", ",", ",", " ").Replace(metres)), Options{CRS: "EPSG:3857"}, []finding.Code{finding.Transformed}},
	} {
		f, err := Read("a", []byte(tt.text), tt.o)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got := codes(f); strings.Join(words(got), " ") != strings.Join(words(tt.codes), " ") {
			t.Errorf("%s: findings %q, want %q", tt.name, got, tt.codes)
		}
		// A hundredth of a metre, and the half of a thousandth of a second.
		if p := f.Parts[0].Polygon[0][0]; math.Abs(p[0]-want[0]) > 1e-7 || math.Abs(p[1]-want[1]) > 1.5e-7 {
			t.Errorf("%s: %v, want %v", tt.name, p, want)
		}
	}
}

func words(codes []finding.Code) []string {
	var out []string
	for _, c := range codes {
		out = append(out, string(c))
	}
	return out
}

func TestTransformTexts(t *testing.T) {
	for _, tt := range []struct {
		text string
		o    Options
		want []string // beginnings
	}{
		{"SRID=25832;POLYGON((500000 5800000,500100 5800000,500100 5800100))", Options{},
			[]string{"The coordinates are in ETRS89 / UTM zone 32N and are brought to longitude and latitude on WGS 84. "}},
		{"SRID=4258;POLYGON((9 52,9.1 52,9.1 52.1))", Options{},
			[]string{"The coordinates are longitude and latitude on ETRS89 and are taken as WGS 84. "}},
		{"SRID=4326;POLYGON((9 52,9.1 52,9.1 52.1))", Options{}, nil},
		{"POLYGON((9 52,9.1 52,9.1 52.1))", Options{CRS: "WGS 84"}, nil},
		{"SRID=25833;POLYGON((500000 5800000,500100 5800000,500100 5800100))", Options{CRS: "EPSG:25832"},
			[]string{"The file names the coordinate system of its numbers as ETRS89 / UTM zone 33N, but they are read as ETRS89 / UTM zone 32N, as was asked for. Ask the client which is right.", "The coordinates are in ETRS89 / UTM zone 32N"}},
		{`{"crs":{"type":"link","properties":{"href":"x"}},"type":"Polygon","coordinates":[[[500000,5800000],[500100,5800000],[500100,5800100]]]}`, Options{CRS: "EPSG:25832"},
			[]string{"The file names the coordinate system of its numbers as one that is not read here, but they are read as ETRS89 / UTM zone 32N, as was asked for.", "The coordinates"}},
		{"POLYGON((500000 5800000,500100 5800000,500100 5800100))", Options{},
			[]string{"The numbers are no longitudes and latitudes (the first vertex is 500000, 5800000) but probably metres or feet of a map grid: UTM (which zone?), Web Mercator (it would lie at latitude 46.122, longitude 4.492) or a national or state grid in metres or feet (which?). Ask the client which; once it is known it can be given (--crs, such as --crs EPSG:32632)."}},
		{"POLYGON((32500000 5800000,32500100 5800000,32500100 5800100))", Options{},
			[]string{"The numbers are no longitudes and latitudes (the first vertex is 32500000, 5800000) but probably metres or feet of a map grid: a national or state grid in metres or feet (which?)."}},
		{"POLYGON((500000 5800000,500100 5800000,9 52))", Options{}, nil}, // one lies on the earth: that is judged later
		{"POLYGON((95 182,95 183,96 183))", Options{}, nil},
		{"POLYGON((9 52,9.1 52,9.1 52.1))", Options{}, nil},
	} {
		f, err := Read("a", []byte(tt.text), tt.o)
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		if len(f.Findings) != len(tt.want) {
			t.Errorf("%s: %v", tt.text, f.Findings)
			continue
		}
		for i, want := range tt.want {
			if !strings.HasPrefix(f.Findings[i].Text.String(), want) {
				t.Errorf("%s:\n got %s\nwant %s", tt.text, f.Findings[i].Text.String(), want)
			}
		}
	}
}

func TestTransformErrors(t *testing.T) {
	for _, tt := range []struct {
		text string
		o    Options
		want string
	}{
		{"POLYGON((1 2,3 2,3 4))", Options{CRS: "Atlantis"}, "a: "},
		{"POLYGON((500000 5800000,500100 5800000,9e9 5800100))", Options{CRS: "EPSG:25832"}, "a:1:8: feature 1, part 1, ring 1, vertex 3: easting 9000000000, northing 5800100 lie outside the area of ETRS89 / UTM zone 32N"},
		{"POLYGON((14 47,14.1 47,14.1 47.1))", Options{CRS: "EPSG:31468"}, "a:1:8: feature 1, part 1, ring 1, vertex 1: longitude -25.41722793, latitude 0.004083503059 lie outside western Germany, for which the shift from DHDN to WGS 84 is known; the numbers look like longitudes and latitudes"},
		{"SRID=2;POLYGON((1 2,3 2,3 4))", Options{}, "a:1:1: "},
	} {
		if _, err := Read("a", []byte(tt.text), tt.o); err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%s:\n got %v\nwant %s", tt.text, err, tt.want)
		}
	}
}
