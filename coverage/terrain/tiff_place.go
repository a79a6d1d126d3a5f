package terrain

import (
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"selvage/boundary/crs"
)

// geoKeys are the keys of OGC GeoTIFF 1.1 (19-008r4).
type geoKeys struct {
	codes map[int]int
	texts map[int]string
}

const (
	keyModelType       = 1024
	keyRasterType      = 1025
	keyCitation        = 1026
	keyGeographic      = 2048
	keyGeogCitation    = 2049
	keyAngularUnit     = 2054
	keyProjected       = 3072
	keyProjCitation    = 3073
	keyLinearUnit      = 3076
	keyVertical        = 4096
	keyVerticalText    = 4097
	keyVerticalUnit    = 4099
	modelProjected     = 1
	modelGeographic    = 2
	modelGeocentric    = 3
	rasterOfPoints     = 2
	userDefined        = 32767
	angularUnitDegrees = 9102
)

func (t *tiff) geoKeys(d directory) (geoKeys, error) {
	keys := geoKeys{map[int]int{}, map[int]string{}}
	raw, err := t.numbers(d, tagGeoKeys)
	if err != nil || raw == nil {
		return keys, err
	}
	text, err := t.text(d, tagGeoText)
	if err != nil {
		return keys, err
	}
	if d[tagGeoKeys].kind != 3 || len(raw) < 4 || raw[0] != 1 || int(raw[3]) > (len(raw)-4)/4 {
		return keys, errors.New("has damaged GeoTIFF keys")
	}
	for i := range int(raw[3]) {
		key, location, count, value := int(raw[4+4*i]), int(raw[5+4*i]), int(raw[6+4*i]), int(raw[7+4*i])
		switch location {
		case 0:
			keys.codes[key] = value
		case tagGeoText:
			if value < 0 || count < 0 || value+count > len(text) {
				count = max(0, len(text)-value)
			}
			if value <= len(text) {
				keys.texts[key] = strings.TrimRight(text[value:value+count], "|\x00 ")
			}
		}
	}
	return keys, nil
}

func (k geoKeys) points() bool { return k.codes[keyRasterType] == rasterOfPoints }

// system is what crs.Parse makes the coordinate system of, "" when the file
// has no keys.
func (k geoKeys) system() (string, error) {
	code := 0
	switch k.codes[keyModelType] {
	case modelProjected:
		code = k.codes[keyProjected]
	case modelGeographic:
		code = k.codes[keyGeographic]
		if unit := k.codes[keyAngularUnit]; unit != 0 && unit != angularUnitDegrees {
			return "", fmt.Errorf("has longitudes and latitudes in a unit (EPSG:%d) that is not read here; degrees are", unit)
		}
		if code == 4979 { // WGS 84 with a height
			code = 4326
		}
	case modelGeocentric:
		return "", errors.New("is in geocentric coordinates, which are not read here")
	case 0:
		return "", nil
	default:
		return k.wellKnown()
	}
	if code == 0 || code == userDefined {
		return k.wellKnown()
	}
	return fmt.Sprintf("EPSG:%d", code), nil
}

// wellKnown finds a well-known text among the citations, where some programs
// write the system that has no code.
func (k geoKeys) wellKnown() (string, error) {
	name := ""
	for _, key := range []int{keyProjCitation, keyCitation, keyGeogCitation} {
		text := k.texts[key]
		for _, keyword := range []string{"PROJCS[", "GEOGCS[", "COMPD_CS["} {
			if at := strings.Index(text, keyword); at >= 0 {
				return text[at:], nil
			}
		}
		if name == "" {
			name = text
		}
	}
	if name == "" {
		name = "without a name"
	}
	return "", fmt.Errorf("is in a coordinate system of its own, %s: name the one that it equals with --terrain-crs, for example --terrain-crs EPSG:32632", quote(name))
}

// agree finds a unit of length in the keys that is not the system's own.
func (k geoKeys) agree(system crs.System, said string) error {
	names := map[int]string{9001: "metres", 9002: "international feet", 9003: "US survey feet"}
	unit := k.codes[keyLinearUnit]
	if said == "" || system.Geographic() || unit == 0 || names[unit] == system.Unit() {
		return nil
	}
	name := names[unit]
	if name == "" {
		name = fmt.Sprintf("the unit EPSG:%d", unit)
	}
	return fmt.Errorf("counts in %s, but its coordinate system %s in %s: name the right system with --terrain-crs", name, system.Name(), system.Unit())
}

// verticalSystems are common vertical systems by their EPSG codes (EPSG
// dataset, from memory).
var verticalSystems = map[int]struct {
	name string
	unit Unit
}{
	5773: {"EGM96 height", Metre}, 3855: {"EGM2008 height", Metre}, 5714: {"mean sea level height", Metre},
	5703: {"NAVD88 height", Metre}, 8228: {"NAVD88 height (ft)", Foot}, 6360: {"NAVD88 height (ftUS)", USSurveyFoot},
	7968: {"NGVD29 height (m)", Metre}, 5702: {"NGVD29 height (ftUS)", USSurveyFoot},
	6647: {"CGVD2013 height", Metre}, 5713: {"CGVD28 height", Metre},
	5701: {"ODN height", Metre}, 5711: {"AHD height", Metre}, 7839: {"NZVD2016 height", Metre},
	5783: {"DHHN92 height", Metre}, 7837: {"DHHN2016 height", Metre}, 5621: {"EVRF2007 height", Metre},
	5720: {"NGF-IGN69 height", Metre}, 5709: {"NAP height", Metre}, 5710: {"Ostend height", Metre},
	5728: {"LN02 height", Metre}, 5941: {"NN2000 height", Metre}, 5613: {"RH2000 height", Metre},
}

// vertical is the datum of the heights and their unit, 0 if the keys do not say.
func (k geoKeys) vertical() (string, Unit, error) {
	code := k.codes[keyVertical]
	system := verticalSystems[code]
	datum := k.texts[keyVerticalText]
	if datum == "" {
		datum = system.name
	}
	if datum == "" && code != 0 && code != userDefined {
		datum = fmt.Sprintf("EPSG:%d", code)
	}
	switch unit := k.codes[keyVerticalUnit]; unit {
	case 0:
		return datum, system.unit, nil
	case 9001:
		return datum, Metre, nil
	case 9002:
		return datum, Foot, nil
	case 9003:
		return datum, USSurveyFoot, nil
	default:
		return datum, 0, fmt.Errorf("has heights in a unit (EPSG:%d) that is not known here: name it with --terrain-unit", unit)
	}
}

// placement is where column 0, row 0 and all the others stand. A file of
// cells places the corner of the first, a file of points the point itself
// (19-008r4, on GTRasterTypeGeoKey).
func (t *tiff) placement(d directory, keys geoKeys) (affine, error) {
	scale, err := t.numbers(d, tagPixelScale)
	if err != nil {
		return affine{}, err
	}
	tie, err := t.numbers(d, tagTiepoint)
	if err != nil {
		return affine{}, err
	}
	m, err := t.numbers(d, tagTransformation)
	if err != nil {
		return affine{}, err
	}
	var a affine
	switch {
	case len(m) >= 16:
		a = affine{m[3], m[0], m[1], m[7], m[4], m[5]}
	case len(scale) >= 2 && len(tie) >= 6:
		// A scale is positive where rows run south; some programs write it negative.
		x, y := scale[0], math.Abs(scale[1])
		a = affine{tie[3] - tie[0]*x, x, 0, tie[4] + tie[1]*y, 0, -y}
	case len(tie) > 6:
		return a, errors.New("is placed by control points and not by a grid: please warp it first")
	default:
		return a, errors.New("does not say where on Earth it lies: it has no GeoTIFF tags of scale and place")
	}
	if !keys.points() {
		a = a.shifted(0.5, 0.5)
	}
	if !a.sound() {
		return a, errors.New("has figures for its place that are none on Earth")
	}
	return a, nil
}

// describe reads scale, offset and unit from GDAL's metadata.
func (v *values) describe(metadata string) error {
	var items struct {
		Item []struct {
			Role   string `xml:"role,attr"`
			Sample string `xml:"sample,attr"`
			Text   string `xml:",chardata"`
		}
	}
	if len(metadata) > 1<<20 || xml.Unmarshal([]byte(metadata), &items) != nil {
		return nil // a remark and no part of the image
	}
	for _, item := range items.Item {
		var into *float64
		switch item.Role {
		case "scale":
			into = &v.scale
		case "offset":
			into = &v.offset
		case "unittype":
			v.unit = item.Text
			continue
		default:
			continue
		}
		x, err := strconv.ParseFloat(strings.TrimSpace(item.Text), 64)
		if err != nil || math.IsNaN(x-x) {
			return fmt.Errorf("has a %s of its heights that is not a number: %s", item.Role, quote(item.Text))
		}
		*into = x
	}
	return nil
}
