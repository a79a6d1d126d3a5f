package crs

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// The texts in testdata were written by GDAL 3.6.2, gdalsrsinfo -o wkt_esri
// (.prj) and -o wkt1 (.wkt); their names are the EPSG codes.
func TestWellKnownText(t *testing.T) {
	files, err := filepath.Glob("testdata/*.*")
	if err != nil || len(files) < 40 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		code, _, _ := strings.Cut(filepath.Base(file), ".")
		want, err := Parse("EPSG:" + code)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Parse(string(text))
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if got.Geographic() != want.Geographic() || got.Unit() != want.Unit() || got.IsWGS84() != want.IsWGS84() {
			t.Errorf("%s: %s, %s; want %s, %s", file, got.Name(), got.Unit(), want.Name(), want.Unit())
		}
		if got.Caveat().Empty() != want.Caveat().Empty() {
			t.Errorf("%s: caveat %q, want %q", file, got.Caveat(), want.Caveat())
		}
		p := orb.Point{want.lon0 + 0.5, 50}
		switch code {
		case "3111", "2193", "32733":
			p[1] = -40
		}
		p, err = want.FromWGS84(p)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		a, err := want.ToWGS84(p)
		if err != nil {
			t.Fatal(err)
		}
		b, err := got.ToWGS84(p)
		// Texts give angles to 13 decimals and false origins to a millimetre
		// of a foot.
		if err != nil || ground(a, b) > 1e-5 {
			t.Errorf("%s: %v, want %v (%v)", file, b, a, err)
		}
	}
}

func TestParse(t *testing.T) {
	tests := []struct{ text, name, unit, caveat string }{
		{"EPSG:4326", "WGS 84", "degrees", ""},
		{" epsg:4326\n", "WGS 84", "degrees", ""},
		{"CRS84", "WGS 84", "degrees", ""},
		{"urn:ogc:def:crs:OGC:1.3:CRS84", "WGS 84", "degrees", ""},
		{"urn:ogc:def:crs:EPSG::32632", "WGS 84 / UTM zone 32N", "metres", ""},
		{"urn:ogc:def:crs:EPSG:9.8.2:32632", "WGS 84 / UTM zone 32N", "metres", ""},
		{"http://www.opengis.net/def/crs/EPSG/0/32632", "WGS 84 / UTM zone 32N", "metres", ""},
		{"32632", "WGS 84 / UTM zone 32N", "metres", ""},
		{"UTM 32N", "WGS 84 / UTM zone 32N", "metres", ""},
		{"utm zone 05s", "WGS 84 / UTM zone 5S", "metres", ""},
		{"WGS 84 / UTM zone 32N", "WGS 84 / UTM zone 32N", "metres", ""},
		{"WGS_1984_UTM_Zone_32N", "WGS 84 / UTM zone 32N", "metres", ""},
		{"NAD_1983_UTM_Zone_18N", "NAD83 / UTM zone 18N", "metres", "NAD83 and ETRS89 differ from WGS 84 by up to about 1–2 m."},
		{"26918", "NAD83 / UTM zone 18N", "metres", "NAD83 and ETRS89 differ from WGS 84 by up to about 1–2 m."},
		{"EPSG:25832", "ETRS89 / UTM zone 32N", "metres", "NAD83 and ETRS89 differ from WGS 84 by up to about 1–2 m."},
		{"EPSG:2277", "NAD83 / Texas Central (ftUS)", "US survey feet", "NAD83 and ETRS89 differ from WGS 84 by up to about 1–2 m."},
		{"EPSG:2256", "NAD83 / Montana (ft)", "international feet", "NAD83 and ETRS89 differ from WGS 84 by up to about 1–2 m."},
		{"NAD83", "NAD83", "degrees", "NAD83 and ETRS89 differ from WGS 84 by up to about 1–2 m."},
		{"GDA94 / MGA zone 55", "GDA94 / MGA zone 55", "metres", "GDA94 differs from WGS 84 by up to about 2 m."},
		{"EPSG:27700", "OSGB36 / British National Grid", "metres", "OSGB36 is brought to WGS 84 by a shift that is good to about 2 m."},
		{"EPSG:3857", "WGS 84 / Pseudo-Mercator", "metres", ""},
		{"Web Mercator", "WGS 84 / Pseudo-Mercator", "metres", ""},
		// A system with heights above it.
		{`COMPD_CS["both",GEOGCS["flat",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]],VERT_CS["high"]]`, "flat", "degrees", ""},
		// Round brackets, words without quotation marks, doubled marks.
		{`geogcs ( "a ""b""" , datum("WGS_1984",spheroid("WGS 84",6378137,298.257223563)), UNIT("degree",1.745329251994E-2), AXIS("Lon",EAST) )`, `a "b"`, "degrees", ""},
		{`PROJCRS["new",BASEGEOGCRS["WGS 84"],ID["EPSG",32632]]`, "WGS 84 / UTM zone 32N", "metres", ""},
		{`PROJCS["WGS_1984_Web_Mercator",GEOGCS["GCS_WGS_1984_Major_Auxiliary_Sphere",DATUM["D_WGS_1984_Major_Auxiliary_Sphere",SPHEROID["WGS_1984_Major_Auxiliary_Sphere",6378137.0,0.0]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Mercator"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",0.0],PARAMETER["Standard_Parallel_1",0.0],UNIT["Meter",1.0]]`, "WGS_1984_Web_Mercator", "metres", ""},
	}
	for _, tt := range tests {
		s, err := Parse(tt.text)
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		if s.Name() != tt.name || s.Unit() != tt.unit || s.Caveat().String() != tt.caveat {
			t.Errorf("%s: %q in %s, caveat %q", tt.text, s.Name(), s.Unit(), s.Caveat())
		}
		if s.Geographic() != (tt.unit == "degrees") || s.IsWGS84() != (tt.unit == "degrees" && tt.name != "OSGB36") {
			t.Errorf("%s: geographic %v, WGS 84 %v", tt.text, s.Geographic(), s.IsWGS84())
		}
	}
}

const prjWGS84 = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// tm and lcc are projected systems with other ends of the text.
func tm(end string) string {
	return `PROJCS["Site",` + prjWGS84 + `,PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",5],PARAMETER["False_Northing",0],PARAMETER["Central_Meridian",9],PARAMETER["Latitude_Of_Origin",0],` + end + `]`
}

func lcc(end string) string {
	return `PROJCS["Site",` + prjWGS84 + `,PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",5],PARAMETER["False_Northing",0],PARAMETER["Central_Meridian",9],PARAMETER["Latitude_Of_Origin",50],UNIT["Meter",1],` + end + `]`
}

func TestParseErrors(t *testing.T) {
	const nad27 = "NAD27 lies 10 to over 100 m from WGS 84 and needs a datum shift that this tool does not have: please send longitude and latitude on WGS 84"
	const damaged = "the text of the coordinate system is damaged or cut off"
	tests := []struct{ text, want string }{
		{"", "no coordinate system is named"},
		{"EPSG:4267", "EPSG:4267 is on NAD27: " + nad27},
		{"EPSG:26713", "EPSG:26713 is on NAD27: " + nad27},
		{"NAD27", nad27},
		{"NAD27 / UTM zone 13N", nad27},
		{`GEOGCS["GCS_North_American_1927",DATUM["D_North_American_1927",SPHEROID["Clarke_1866",6378206.4,294.9786982]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`, nad27},
		{"EPSG:23032", "EPSG:23032 is on ED50: ED50 lies 100 to 200 m from WGS 84 and"},
		{strings.Replace(prjWGS84, "D_WGS_1984", "D_Tokyo", 1), "Tokyo Datum lies 400 to 700 m from WGS 84 and"},
		{strings.Replace(prjWGS84, "D_WGS_1984", "D_MGI_1901", 1), "the datum “MGI_1901” is not one that this tool can bring to WGS 84: please send longitude and latitude on WGS 84"},
		{strings.Replace(prjWGS84, "298.25", "299.25", 1), "the coordinate system “GCS_WGS_1984” puts the datum WGS 84 on an ellipsoid that is not its own"},
		{strings.Replace(prjWGS84, `"Greenwich",0.0`, `"Paris",2.33722917`, 1), "the coordinate system “GCS_WGS_1984” counts longitudes from “Paris”, not from Greenwich"},
		{strings.Replace(prjWGS84, `"Degree",0.0174532925199433`, `"Grad",0.0157079632679489`, 1), "the coordinate system “GCS_WGS_1984” does not count angles in degrees"},
		{"EPSG:99999", "EPSG:99999 is not among the coordinate systems that are known here"},
		{"UTM 32", "“UTM 32” does not say which half of the earth: please write UTM 32N or UTM 32S"},
		{"UTM 61N", "the coordinate system “UTM 61N” is not known here"},
		{"State plane", "the coordinate system “State plane” is not known here: please give its EPSG code, for example EPSG:32632, or the text of its .prj file"},
		{"GEOGCS[", damaged},
		{prjWGS84[:100], damaged},
		{prjWGS84 + "x", damaged},
		{`GEOGCS["a`, damaged},
		{`GEOGCS["a"]`, damaged},
		{strings.Repeat("GEOGCS[", 10000), damaged},
		{`GEOCCS["a"]`, "the coordinate system “a” is given as GEOCCS, which is not read here"},
		{`PROJCRS["new"]`, "the coordinate system “new” is given as PROJCRS, which is not read here: please give its EPSG code, or a .prj file"},
		{tm(`PARAMETER["Scale_Factor",1]`), "the coordinate system “Site” does not say in what unit it counts"},
		{tm(`PARAMETER["Scale_Factor",1],UNIT["Foot_US",0.3048]`), "the coordinate system “Site” names the unit “Foot_US” but gives the length of the international foot: please ask which foot is meant"},
		{tm(`PARAMETER["Scale_Factor",1],UNIT["Chain",20.1168]`), "the coordinate system “Site” counts in “Chain” of 20.1168 m; metres, international feet and US survey feet are read"},
		{tm(`PARAMETER["Scale_Factor",1],UNIT["Meter",1],AXIS["Y",WEST]`), "the coordinate system “Site” counts towards the west"},
		{tm(`UNIT["Meter",1]`), "the coordinate system “Site” cannot be used: its projection gives no scale factor"},
		{tm(`PARAMETER["Scale_Factor",0],UNIT["Meter",1]`), "the coordinate system “Site” cannot be used: the projection has the scale factor 0"},
		{tm(`PARAMETER["Scale_Factor",1],PARAMETER["Azimuth",45],UNIT["Meter",1]`), "the coordinate system “Site” cannot be used: its projection gives “Azimuth”, which is not used in this projection"},
		{strings.Replace(tm(`UNIT["Meter",1]`), "Transverse_Mercator", "Hotine_Oblique_Mercator", 1), "the coordinate system “Site” is in the projection “Hotine_Oblique_Mercator”, which is not read here"},
		{strings.Replace(tm(`UNIT["Meter",1]`), "Transverse_Mercator", "Mercator_Auxiliary_Sphere", 1), "the coordinate system “Site” is not the usual Web Mercator of metres on WGS 84"},
		{strings.Replace(tm(`UNIT["Meter",1]`), "Transverse_Mercator", "Mercator_1SP", 1), "the coordinate system “Site” is in the projection “Mercator_1SP”, which is not read here"},
		{lcc(`AXIS["X",EAST]`), "the coordinate system “Site” cannot be used: its projection gives no standard parallel"},
		{lcc(`PARAMETER["Standard_Parallel_1",49],PARAMETER["Standard_Parallel_2",51],PARAMETER["Scale_Factor",0.9]`), "the coordinate system “Site” cannot be used: its projection gives two standard parallels and a scale factor as well"},
		{lcc(`PARAMETER["Standard_Parallel_1",49],PARAMETER["Scale_Factor",0.9]`), "the coordinate system “Site” cannot be used: its projection gives a standard parallel apart"},
		{lcc(`PARAMETER["Standard_Parallel_1",49],PARAMETER["Standard_Parallel_2",-49]`), "the coordinate system “Site” cannot be used: the standard parallels of the conic projection make no cone"},
		{lcc(`PARAMETER["Standard_Parallel_1",49],PARAMETER["Standard_Parallel_2",91]`), "the coordinate system “Site” cannot be used: the projection has an angle that is out of range"},
		{lcc(`PARAMETER["Standard_Parallel_1",49],PARAMETER["Standard_Parallel_2",NaN]`), "the coordinate system “Site” cannot be used: the projection has a figure that is out of range"},
	}
	for _, tt := range tests {
		s, err := Parse(tt.text)
		if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%.80s:\n got %v %v\nwant %s", tt.text, s.Name(), err, tt.want)
		}
	}
}

// The three ways to write a cone with one standard parallel are the same.
func TestOneStandardParallel(t *testing.T) {
	var first orb.Point
	for i, end := range []string{
		`PARAMETER["Standard_Parallel_1",50],PARAMETER["Scale_Factor",1]`,
		`PARAMETER["Scale_Factor",1]`,
		`PARAMETER["Standard_Parallel_1",50],PARAMETER["Standard_Parallel_2",50]`,
	} {
		s, err := Parse(lcc(end))
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.ToWGS84(orb.Point{50_000, 60_000})
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			first = got
		} else if math.Abs(got[0]-first[0])+math.Abs(got[1]-first[1]) > 1e-12 {
			t.Errorf("%s: %v, want %v", end, got, first)
		}
	}
}

// Every row of the table makes a system whose middle leads there and back.
func TestTable(t *testing.T) {
	rows, codes := listed()
	if len(rows) < 1400 || len(codes) < len(rows) {
		t.Errorf("%d rows, %d names", len(rows), len(codes))
	}
	for code := range rows {
		s, err := fromCode(code)
		if err != nil {
			t.Errorf("%d: %v", code, err)
			continue
		}
		if again, err := Parse(s.Name()); err != nil || again != s {
			t.Errorf("%d: the name %q leads to %+v (%v)", code, s.Name(), again, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	files, err := filepath.Glob("testdata/*.*")
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text), 500_000.0, 5e6)
	}
	f.Add("EPSG:27700", 1e5, 2e5)
	f.Add("UTM 32N", 1e5, 2e5)
	f.Add(lcc(`PARAMETER["Standard_Parallel_1",-50],PARAMETER["Scale_Factor",1]`), 5e4, 5e4)
	f.Fuzz(func(t *testing.T, text string, x, y float64) {
		s, err := Parse(text)
		if err != nil {
			if err.Error() == "" || strings.ContainsAny(err.Error(), "\n\r\x00") {
				t.Fatalf("error %q", err)
			}
			return
		}
		p, err := s.ToWGS84(orb.Point{x, y})
		if err != nil || s.IsWGS84() {
			return
		}
		if !(math.Abs(p[0]) <= 180 && math.Abs(p[1]) <= 90) {
			t.Fatalf("%v %v comes out as %v", x, y, p)
		}
	})
}
