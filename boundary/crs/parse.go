package crs

import (
	_ "embed"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"github.com/wroge/wgs84/v2"
)

// Parse finds the coordinate system that text means: an EPSG code
// ("EPSG:32632", "32632", a URN or URL of one), a name ("NAD83 / Texas Central
// (ftUS)", "UTM 32N", which is on WGS 84), or the well-known text of a .prj
// file. The error, without a full stop, names the system and what to ask for.
func Parse(text string) (System, error) {
	text = strings.TrimSpace(strings.TrimPrefix(strings.TrimRight(text, "\x00"), "\ufeff"))
	switch {
	case text == "":
		return System{}, fmt.Errorf("no coordinate system is named")
	case len(text) > 100_000:
		return System{}, fmt.Errorf("the text of the coordinate system is too long to be one")
	case wellKnown.MatchString(text):
		return fromWKT(text)
	}
	if m := epsgCode.FindStringSubmatch(text); m != nil {
		code, _ := strconv.Atoi(m[1])
		return fromCode(code)
	}
	return fromName(text)
}

var (
	wellKnown = regexp.MustCompile(`(?i)^(PROJCS|GEOGCS|GEOCCS|COMPD_CS|LOCAL_CS|FITTED_CS|VERT_CS|\w+CRS)\s*[\[(]`)
	epsgCode  = regexp.MustCompile(`(?i)^(?:(?:urn:ogc:def:crs:|https?://www\.opengis\.net/def/crs/)?EPSG\s*[:/ ]\s*(?:[\d.]*[:/])?\s*)?(\d{4,6})$`)
	utm       = regexp.MustCompile(`^utm(\d{1,2})([ns]?)$`)
)

// epsg.csv lists the systems of the EPSG dataset, version 10.076, that are in
// use and are projected by the methods 9807, 9801 or 9802 from one of the
// datums in known: code, name, base, method, unit, and the projection's
// figures in degrees and metres. They were taken from the tables of PROJ 9.1.1.
//
//go:embed epsg.csv
var epsgTable string

// listed indexes the rows of the table by code and by spelling of the name.
var listed = sync.OnceValues(func() (map[int]string, map[string]int) {
	rows, codes := map[int]string{}, map[string]int{}
	for row := range strings.Lines(epsgTable) {
		field := strings.SplitN(row, ",", 3)
		code, _ := strconv.Atoi(field[0])
		rows[code] = row
		codes[spelling(field[1])] = code
	}
	for code, name := range lonlat {
		codes[spelling(name)] = code
	}
	for name, code := range map[string]int{"CRS84": 4326, "OGC:CRS84": 4326, "urn:ogc:def:crs:OGC:1.3:CRS84": 4326, "Web Mercator": 3857, "WGS 84 / Pseudo-Mercator": 3857} {
		codes[spelling(name)] = code
	}
	return rows, codes
})

// lonlat lists systems of longitude and latitude by their EPSG codes.
var lonlat = map[int]string{
	4326: "WGS 84", 4269: "NAD83", 6318: "NAD83(2011)", 4617: "NAD83(CSRS)", 4152: "NAD83(HARN)", 4759: "NAD83(NSRS2007)",
	4258: "ETRS89", 4171: "RGF93", 4619: "SWEREF99", 4173: "IRENET95",
	4283: "GDA94", 7844: "GDA2020", 4167: "NZGD2000", 4674: "SIRGAS 2000",
	4277: "OSGB36", 4299: "TM65", 4300: "TM75", 4314: "DHDN", 4312: "MGI", 4313: "BD72",
}

func fromCode(code int) (System, error) {
	if name := lonlat[code]; name != "" {
		return base(name)
	}
	switch {
	case code == 3857, code == 900913, code == 102100, code == 102113:
		s, err := base("WGS 84")
		s.name, s.unit, s.plane = "WGS 84 / Pseudo-Mercator", metre, wgs84.WebMercator{}
		return s, err
	case code == 4267, code/100 == 267, code/100 == 320:
		_, err := datumNamed("NAD27")
		return System{}, fmt.Errorf("EPSG:%d is on NAD27: %w", code, err)
	case code == 4230, code/100 == 230:
		_, err := datumNamed("ED50")
		return System{}, fmt.Errorf("EPSG:%d is on ED50: %w", code, err)
	}
	rows, _ := listed()
	row, ok := rows[code]
	if !ok {
		return System{}, fmt.Errorf("EPSG:%d is not among the coordinate systems that are known here: please give the text of its .prj file, or send longitude and latitude on WGS 84", code)
	}
	field := strings.Split(strings.TrimSpace(row), ",")
	s, err := base(field[2])
	if err != nil {
		return System{}, err
	}
	s.name = field[1]
	s.unit = map[string]unit{"m": metre, "ft": foot, "ftUS": usSurveyFoot}[field[4]]
	var x [6]float64
	for i, text := range field[5:] {
		x[i], _ = strconv.ParseFloat(text, 64)
	}
	p := projection{method: method(field[3]), lat0: x[0], lon0: x[1], scale: x[2], easting: x[3], northing: x[4]}
	if p.method == lambert2 {
		p = projection{method: lambert2, lat0: x[0], lon0: x[1], sp1: x[2], sp2: x[3], easting: x[4], northing: x[5]}
	}
	return s.onto(p)
}

// base is the system of longitude and latitude on a datum.
func base(name string) (System, error) {
	datum, err := datumNamed(name)
	return System{name: name, datum: datum, unit: degrees, spheroid: datum.spheroid()}, err
}

func fromName(text string) (System, error) {
	name := spelling(text)
	_, codes := listed()
	if m := utm.FindStringSubmatch(name); m != nil {
		if m[2] == "" {
			return System{}, fmt.Errorf("%s does not say which half of the earth: please write UTM %sN or UTM %sS", quote(text), m[1], m[1])
		}
		name = "wgs84" + name
	}
	if code, ok := codes[name]; ok {
		return fromCode(code)
	}
	for _, f := range far {
		if matches(plain(text), f.names) || matches(plain(strings.Split(text, "/")[0]), f.names) {
			return base(f.name)
		}
	}
	return System{}, fmt.Errorf("the coordinate system %s is not known here: please give its EPSG code, for example EPSG:32632, or the text of its .prj file", quote(text))
}

// spelling is a name without what people write differently.
func spelling(name string) string {
	return strings.NewReplacer("wgs1984", "wgs84", "nad1983", "nad83", "etrs1989", "etrs89", "gda1994", "gda94",
		"osgb1936", "osgb36", "rgf93v1", "rgf93", "zone0", "", "zone", "", "utm0", "utm").Replace(plain(name))
}
