package terrain

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// tile is an SRTM file of n × n heights with a few voids.
func tile(n int) []byte {
	return encodeHGT(n, func(i, j int) int {
		if i == 17 && j == 5 {
			return -32768
		}
		return i/3 - j/5 + (i*j)%7
	})
}

// N37W122 covers 37 to 38 N, 122 to 121 W, in 1201 or 3601 heights a side
// (SRTM User Guide, LP DAAC, from memory); their files have 2 884 802 and
// 25 934 402 bytes, which is 2n².
func TestHGT(t *testing.T) {
	for _, n := range []int{1201, 3601} {
		data := tile(n)
		if n == 1201 && len(data) != 2_884_802 || n == 3601 && len(data) != 25_934_402 {
			t.Errorf("%d bytes", len(data))
		}
		for name, corner := range map[string]orb.Point{
			"N37W122.hgt": {-122, 37}, `C:\dem\s23e018.HGT`: {18, -23}, "a/N00E179.SRTMGL1.hgt": {179, 0}, "S01W180.hgt": {-180, -1},
		} {
			f := mustOpen(t, name, data, Options{})
			if !near(f.Bound.Min, corner, 1e-9) || !near(f.Bound.Max, orb.Point{corner[0] + 1, corner[1] + 1}, 1e-9) {
				t.Errorf("%s: %v", name, f.Bound)
			}
			if f.Datum != "EGM96" || f.Unit != Metre || !f.Points {
				t.Errorf("%s: %+v", name, f.Source)
			}
			step := 1 / float64(n-1)
			at := func(i, j float64) orb.Point { return orb.Point{corner[0] + i*step, corner[1] + 1 - j*step} }
			g, err := f.Window(orb.Bound{Min: at(2, 30), Max: at(30, 2)})
			if err != nil {
				t.Fatal(err)
			}
			height := func(i, j int) float64 { return float64(i/3 - j/5 + (i*j)%7) }
			if h, ok := g.Elevation(at(3, 4)); !ok || math.Abs(h-height(3, 4)) > 1e-4 {
				t.Errorf("%s: %v at a height of %v", name, h, height(3, 4))
			}
			want := (height(3, 4) + height(4, 4) + height(3, 5) + height(4, 5)) / 4
			if h, ok := g.Elevation(at(3.5, 4.5)); !ok || math.Abs(h-want) > 1e-4 {
				t.Errorf("%s: %v between heights, want %v", name, h, want)
			}
			if h, ok := g.Elevation(at(16.5, 5.5)); ok {
				t.Errorf("%s: %v beside a void", name, h)
			}
			if _, ok := g.Elevation(at(16, 5)); !ok {
				t.Errorf("%s: unknown at a height beside a void", name)
			}
		}
	}
	for name, size := range map[string]int{"N37W122.hgt": 2_884_800, "tile.hgt": 2_884_802, "N91E000.hgt": 2_884_802, "N37W181.hgt": 2_884_802} {
		if _, err := Open(name, bytes.NewReader(make([]byte, size)), int64(size), Options{}); err == nil {
			t.Errorf("%s of %d bytes accepted", name, size)
		}
	}
	if _, err := Open("N37W122.hgt", bytes.NewReader(nil), 2_884_802, Options{System: "EPSG:32632"}); err == nil {
		t.Error("an SRTM file in UTM accepted")
	}
	if _, err := mustOpenShort(t).Whole(); err == nil || !strings.Contains(err.Error(), "cut off") {
		t.Errorf("cut off: %v", err)
	}
}

func mustOpenShort(t *testing.T) *File {
	f, err := Open("N37W122.hgt", bytes.NewReader(make([]byte, 1000)), 2_884_802, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

const gaussian = `PROJCS["WGS 84 / UTM zone 32N",GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",9],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1]]`

// The place of 500005 E, 5500015 N in UTM zone 32 is that of PROJ 9.1.1.
func TestASCII(t *testing.T) {
	b := bitmap{3, 2, []float64{1, 2.5, -3, 4e1, -9999, 60}}
	nan := math.NaN()
	want := bitmap{3, 2, []float64{1, 2.5, -3, 40, nan, 60}}
	for name, test := range map[string]struct {
		header  string
		options Options
		first   orb.Point // of the north-west height
	}{
		"corner":          {"xllcorner 10\nyllcorner 50\ncellsize 0.01\n", Options{}, orb.Point{10.005, 50.015}},
		"center":          {"xllcenter 10\nyllcenter 50\ncellsize 0.01\n", Options{}, orb.Point{10, 50.01}},
		"mixed":           {"XLLCENTER 10\r\nyllcorner 50\r\ncellsize 0.01\r\nnodata_VALUE -9999\r\n", Options{}, orb.Point{10, 50.015}},
		"dx and dy":       {"xllcorner 10\nyllcorner 50\ndx 0.01\ndy 0.02\n", Options{}, orb.Point{10.005, 50.03}},
		"UTM by .prj":     {"xllcorner 500000\nyllcorner 5500000\ncellsize 10\n", Options{Projection: []byte(gaussian)}, orb.Point{9.000069269, 49.652677841}},
		"UTM by the user": {"xllcorner 500000\nyllcorner 5500000\ncellsize 10\n", Options{System: "EPSG:32632"}, orb.Point{9.000069269, 49.652677841}},
	} {
		t.Run(name, func(t *testing.T) {
			g := mustGrid(t, "a.asc", encodeASCII(b, test.header), test.options)
			checkHeights(t, g, want)
			if _, p, _ := g.At(0, 0); !near(p, test.first, 2e-9) {
				t.Errorf("at %v, want %v", p, test.first)
			}
		})
	}
	// All numbers on a line, a mark of its own, and a byte order mark.
	g := mustGrid(t, "a.asc", []byte("\ufeffnrows 2 ncols 2 cellsize .5 xllcorner -1 yllcorner 2 nodata_value 7 1 7 3 nan"), Options{Unit: Foot})
	checkHeights(t, g, bitmap{2, 2, []float64{float64(float32(1) * float32(0.3048)), nan, float64(float32(3) * float32(0.3048)), nan}})
}

func TestASCIIVertical(t *testing.T) {
	for wkt, want := range map[string]struct {
		datum string
		unit  Unit
	}{
		gaussian: {"", 0},
		`COMPD_CS["x",` + gaussian + `,VERT_CS["NAVD88 height (ftUS)",VERT_DATUM["North American Vertical Datum 1988",2005],UNIT["US survey foot",0.304800609601219],AXIS["Up",UP]]]`: {"NAVD88 height (ftUS)", USSurveyFoot},
		`COMPOUNDCRS["x",VERTCRS["EGM96 height",VDATUM["EGM96 geoid"],CS[vertical,1],AXIS["up",up],LENGTHUNIT["metre",1]]]`:                                                           {"EGM96 height", Metre},
	} {
		if datum, unit := verticalOf(wkt); datum != want.datum || unit != want.unit {
			t.Errorf("%q, %v, want %q, %v", datum, unit, want.datum, want.unit)
		}
	}
}

func TestASCIIRefused(t *testing.T) {
	good := "ncols 2\nnrows 2\nxllcorner 10\nyllcorner 50\ncellsize 0.1\n"
	for text, want := range map[string]string{
		"":                                "a.asc:1:1: the file ends too early",
		"DSAA 3 4":                        "a.asc:1:1: “DSAA” stands where",
		good + "1 2\n3":                   "a.asc:7:2: the file ends too early",
		good + "1 2\n3 x":                 "a.asc:7:3: “x” is not a number",
		good + "1 2\n3 4,5":               "a.asc:7:3: “4,5” has a comma where a decimal point must be",
		good + "ncols 2 1 2 3 4":          "a.asc:6:1: “ncols” stands twice",
		good + "north 2 1 2 3 4":          "a.asc:6:1: “north” stands where",
		"ncols 0\nnrows 2 cellsize 1 1 1": "a.asc:1:7: ncols is “0”",
		"ncols 2.5\nnrows 2 1 1":          "a.asc:1:7: ncols is “2.5”",
		"ncols 9999999\nnrows 2 1":        "a.asc:1:7: ncols is “9999999”; 2 to 1000000 are read here",
		"nrows 2 1 1":                     "a.asc: has no ncols in its header",
		"ncols 2\nnrows 2\nxllcorner 10\nyllcorner 50\n1 2":                            "a.asc: has no cellsize",
		"ncols 2\nnrows 2\nxllcorner 10\nyllcorner 50\ncellsize -1\n1 2":               "a.asc:5:10: the cell size is “-1”",
		"ncols 2\nnrows 2\nxllcorner 10\ncellsize 1\n1 2":                              "a.asc: has no yllcorner",
		"ncols 2\nnrows 2\nxllcorner 10\nxllcenter 10\nyllcorner 50\ncellsize .1\n1 2": "a.asc:4:11: both xllcorner and xllcenter",
		"ncols 2\nnrows 2\nxllcorner 500000\nyllcorner 5500000\ncellsize 10\n1 2 3 4":  "--terrain-crs",
		"ncols 2\nnrows 2\nxllcorner 100\nyllcorner 50\ncellsize 5\n1 2 3 4":           "--terrain-crs",
		"ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 0.5\n1 2 3 4":            "--terrain-crs",
		"ncols 2\nnrows 2\nxllcorner 1e300\nyllcorner 0\ncellsize 0.5\n1 2 3 4":        "no place on Earth",
		good + strings.Repeat("1", 500):                                                "is not a number",
	} {
		f, err := Open("a.asc", strings.NewReader(text), int64(len(text)), Options{})
		if err == nil {
			_, err = f.Whole()
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	if _, err := Open("a.asc", strings.NewReader(good), 3_000_000_000, Options{}); err == nil || !strings.Contains(err.Error(), "more than the limit of 2000 MB") {
		t.Errorf("3 GB of text: %v", err)
	}
	if _, err := Open("a.jpg", strings.NewReader(good), 9, Options{}); err == nil || !strings.Contains(err.Error(), "GeoTIFF (.tif)") {
		t.Errorf("a picture: %v", err)
	}
}

func TestParseUnit(t *testing.T) {
	for text, want := range map[string]Unit{"m": 1, "metres": 1, "ft": Foot, "Feet": Foot, "us-ft": USSurveyFoot, "US survey foot": USSurveyFoot, "Foot_US": USSurveyFoot} {
		if got, err := ParseUnit(text); err != nil || got != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	if _, err := ParseUnit("fathom"); err == nil {
		t.Error("fathoms accepted")
	}
}
