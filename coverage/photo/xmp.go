package photo

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"

	"github.com/paulmach/orb"
)

// quantities are those that the user may name, in the order of named.
var quantities = [...]Quantity{Height, Altitude, Yaw, Pitch, Roll, PositionError}

// named is one property that the user named, and what was found of it.
type named struct {
	prefix, local string
	value         float64 // NaN while nothing or nothing certain was found
	found         bool
}

type wanted [len(quantities)]named

// ask returns what names ask for.
func ask(names Names) (w wanted, any bool) {
	if len(names) == 0 {
		return w, false
	}
	for i, q := range quantities {
		name := names[q]
		if name == "" {
			continue
		}
		prefix, local, ok := strings.Cut(name, ":")
		if !ok {
			prefix, local = "", name
		}
		w[i] = named{prefix: prefix, local: local, value: math.NaN()}
		any = true
	}
	return w, any
}

// see takes a property that goes by a wanted name. One that is there twice with
// different values is unknown.
func (w *wanted) see(p property) {
	for i := range w {
		n := &w[i]
		if len(n.local) != len(p.local) || n.local == "" || !equalFold(p.local, n.local) ||
			n.prefix != "" && !equalFold(p.prefix, n.prefix) {
			continue
		}
		x := number(p.value)
		if n.found && x != n.value {
			x = math.NaN()
		}
		n.value, n.found = x, true
	}
}

// equalFold compares without regard to the case of ASCII letters.
func equalFold(a []byte, b string) bool {
	if len(a) != len(b) {
		return false
	}
	for i, c := range a {
		d := b[i]
		if c != d && (c|0x20 != d|0x20 || c|0x20 < 'a' || c|0x20 > 'z') {
			return false
		}
	}
	return true
}

// number reads a decimal number or a fraction such as 1234/10, NaN for any
// other text.
func number(text []byte) float64 {
	const longest = 40
	if len(text) == 0 || len(text) > longest {
		return math.NaN()
	}
	top, bottom, isFraction := bytes.Cut(text, []byte{'/'})
	x, ok := parseDecimal(string(top))
	if isFraction && ok {
		var y float64
		y, ok = parseDecimal(string(bottom))
		ok = ok && y != 0
		x /= y
	}
	if !ok || math.IsInf(x, 0) {
		return math.NaN()
	}
	return x
}

// fill sets what was found under the names that the user gave.
func (w *wanted) fill(p *Photo) {
	set := func(i int, to *float64, source *Source, low, high float64) bool {
		if !w[i].found {
			return false
		}
		x := within(w[i].value, low, high)
		if math.IsNaN(x) {
			return false
		}
		*to, *source = x, XMP
		return true
	}
	set(0, &p.Height, &p.Sources.Height, -1e5, 1e5)
	if set(1, &p.Altitude, &p.Sources.Altitude, -1e5, 1e5) {
		p.AltitudeDatum = UnknownDatum
	}
	if set(2, &p.Yaw, &p.Sources.Yaw, -360, 360) {
		p.Yaw = compass(p.Yaw)
	}
	set(3, &p.Pitch, &p.Sources.Pitch, -180, 180)
	set(4, &p.Roll, &p.Sources.Roll, -180, 180)
	set(5, &p.PositionError, &p.Sources.PositionError, math.SmallestNonzeroFloat64, 1e5)
}

// compass turns -360 to 360 degrees into 0 to 360, without the latter.
func compass(degrees float64) float64 {
	if degrees < 0 {
		degrees += 360
	}
	return math.Mod(degrees, 360)
}

// standard is what the XMP properties of the Exif and TIFF namespaces say: XMP
// specification part 2, section 2.3 "Exif schemas"; section number from memory.
type standard struct {
	lat, lon, altitude, direction, positionError, dop []byte
	altitudeRef, directionRef, datum                  []byte
	gpsTime, clock                                    []byte
	exposure, fNumber, focal, equivalent, zoom        []byte
	pixelX, pixelY, model, lens, orientation          []byte
}

func (s *standard) see(space string, p property) {
	if space != spaceExif && space != spaceTIFF && space != spaceExifEX {
		return
	}
	for _, f := range [...]struct {
		local string
		to    *[]byte
	}{
		{"GPSLatitude", &s.lat}, {"GPSLongitude", &s.lon}, {"GPSAltitude", &s.altitude}, {"GPSAltitudeRef", &s.altitudeRef},
		{"GPSImgDirection", &s.direction}, {"GPSImgDirectionRef", &s.directionRef}, {"GPSMapDatum", &s.datum},
		{"GPSHPositioningError", &s.positionError}, {"GPSDOP", &s.dop}, {"GPSTimeStamp", &s.gpsTime},
		{"DateTimeOriginal", &s.clock}, {"ExposureTime", &s.exposure}, {"FNumber", &s.fNumber}, {"FocalLength", &s.focal},
		{"FocalLengthIn35mmFilm", &s.equivalent}, {"DigitalZoomRatio", &s.zoom}, {"PixelXDimension", &s.pixelX},
		{"PixelYDimension", &s.pixelY}, {"Model", &s.model}, {"LensModel", &s.lens}, {"Orientation", &s.orientation},
	} {
		if string(p.local) == f.local {
			*f.to = p.value
			return
		}
	}
}

// position reads "48,12.345N" or "48,12,20.7N"; both must be there.
func (s *standard) position() (orb.Point, error) {
	if s.lat == nil || s.lon == nil {
		return nowhere, ErrUnlocated
	}
	lat, err := coordinateXMP("latitude", s.lat, 'N', 'S', 90)
	if err != nil {
		return nowhere, err
	}
	lon, err := coordinateXMP("longitude", s.lon, 'E', 'W', 180)
	if err != nil {
		return nowhere, err
	}
	return usable(orb.Point{lon, lat})
}

func coordinateXMP(what string, text []byte, plus, minus byte, limit float64) (float64, error) {
	fail := fmt.Errorf("%s is unreadable: %.40q", what, text)
	if len(text) < 4 {
		return 0, fail
	}
	letter := text[len(text)-1]
	parts := bytes.Split(text[:len(text)-1], []byte{','})
	if letter != plus && letter != minus || len(parts) < 2 || len(parts) > 3 {
		return 0, fail
	}
	var dms [3]float64
	for i, part := range parts {
		x, ok := parseDecimal(string(part))
		if !ok || i < len(parts)-1 && x != math.Trunc(x) {
			return 0, fail
		}
		dms[i] = x
	}
	degrees, err := angle(what, dms, limit)
	if letter == minus {
		degrees = 0 - degrees
	}
	return degrees, err
}

// fill sets what p does not know yet.
func (s *standard) fill(p *Photo, o *optics, texts *texts) {
	set := func(to *float64, source *Source, text []byte, low, high float64) bool {
		if !math.IsNaN(*to) {
			return false
		}
		*to = within(number(text), low, high)
		if !math.IsNaN(*to) && source != nil {
			*source = XMP
		}
		return !math.IsNaN(*to)
	}
	if set(&p.Altitude, &p.Sources.Altitude, s.altitude, -1e5, 1e5) {
		p.AltitudeDatum = UnknownDatum
		switch string(s.altitudeRef) {
		case "1", "3":
			p.Altitude = -math.Abs(p.Altitude)
		}
		if ref := string(s.altitudeRef); ref == "2" || ref == "3" {
			p.AltitudeDatum = SeaLevel
		}
	}
	if string(s.directionRef) == "T" && set(&p.Yaw, &p.Sources.Yaw, s.direction, 0, 360) {
		p.Yaw = compass(p.Yaw)
	}
	set(&p.PositionError, &p.Sources.PositionError, s.positionError, math.SmallestNonzeroFloat64, 1e5)
	set(&p.DOP, nil, s.dop, math.SmallestNonzeroFloat64, 1e5)
	set(&p.ExposureTime, nil, s.exposure, math.SmallestNonzeroFloat64, 1e5)
	set(&p.FNumber, nil, s.fNumber, math.SmallestNonzeroFloat64, 1e5)
	set(&p.DigitalZoom, nil, s.zoom, 1, mostZoom)
	if p.Time.IsZero() {
		p.Time, p.TimeSource = s.time()
		if p.TimeSource != "" {
			p.Sources.Time = XMP
		}
	}
	if p.MapDatum == "" {
		p.MapDatum = texts.datum.of(s.datum)
	}
	if p.CameraModel == "" {
		p.CameraModel = texts.model.of(s.model)
	}
	if p.Lens == "" {
		p.Lens = texts.lens.of(s.lens)
	}
	if x, ok := digits(s.orientation); ok && p.Orientation == 0 && x >= 1 && x <= 8 && len(s.orientation) == 1 {
		p.Orientation = x
	}
	if o.focal == 0 {
		o.focal = orZero(within(number(s.focal), leastFocal, mostFocal))
	}
	if o.equivalent == 0 {
		o.equivalent = orZero(within(number(s.equivalent), 1, mostFocal))
	}
	if o.zoom == 0 {
		o.zoom = orZero(p.DigitalZoom)
	}
	if o.pixelX == 0 {
		x, y := within(number(s.pixelX), 1, mostPixels), within(number(s.pixelY), 1, mostPixels)
		if !math.IsNaN(x + y) {
			o.pixelX, o.pixelY = int(x), int(y)
		}
	}
}

// time reads dates of ISO 8601. The receiver's goes first.
func (s *standard) time() (time.Time, string) {
	if t, err := time.Parse(time.RFC3339, string(s.gpsTime)); err == nil {
		return t, TimeFromGPS
	}
	clock := string(s.clock)
	if t, err := time.Parse(time.RFC3339, clock); err == nil {
		return t, TimeWithOffset
	}
	if t, err := time.Parse("2006-01-02T15:04:05", clock); err == nil {
		return t, TimeWithoutZone
	}
	return time.Time{}, ""
}

const mostProperties = 500

// numeric lists the properties of a packet that hold numbers.
func (p *packet) numeric(data []byte) []Property {
	var list []Property
	p.walk(data, func(q property) {
		if x := number(q.value); !math.IsNaN(x) && len(list) < mostProperties && len(q.local) <= longestText {
			list = append(list, Property{printable(string(q.prefix) + ":" + string(q.local)), x})
		}
	})
	return list
}

// suggest is Suggest for one property.
func suggest(p Property) (Quantity, bool) {
	_, local, _ := strings.Cut(p.Name, ":")
	is := words(local)
	angle := math.Abs(p.Value) <= 360
	switch {
	case is("yaw") && angle:
		return Yaw, true
	case is("pitch") && angle:
		return Pitch, true
	case is("roll") && angle:
		return Roll, true
	case (is("relative") || is("above") || is("ground")) && (is("altitude") || is("height")) && math.Abs(p.Value) <= 1e5:
		return Height, true
	}
	return "", false
}

// words returns a function that tells whether a name holds a word. Names in
// one case throughout have no bounds between words, and any place counts.
func words(name string) func(string) bool {
	var parts []string
	start := 0
	cut := func(end int) {
		if end > start {
			parts = append(parts, strings.ToLower(name[start:end]))
		}
		start = end
	}
	for i, c := range name {
		lowerBefore := i > 0 && name[i-1] >= 'a' && name[i-1] <= 'z'
		switch {
		case !unicode.IsLetter(c):
			cut(i)
			start = i + len(string(c))
		case unicode.IsUpper(c) && lowerBefore:
			cut(i)
		}
	}
	cut(len(name))
	return func(word string) bool {
		for _, part := range parts {
			if part == word || len(parts) == 1 && strings.Contains(part, word) {
				return true
			}
		}
		return false
	}
}

// printable cuts what cannot be shown from a text.
func printable(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, strings.ToValidUTF8(s, "")))
}
