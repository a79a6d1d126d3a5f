package photo

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/paulmach/orb"
)

// Decode reads the Exif metadata of a JPEG image. head is the first HeadBytes
// bytes of the file, or all of it when it is shorter. A photo comes back only
// with a position that its metadata states in full; everything else may be
// unknown. The error's text is a clause that fits LeftOut.Reason.
func Decode(name string, head []byte) (Photo, error) {
	h, err := readHead(head)
	if err != nil {
		return Photo{}, err
	}
	m, err := readMetadata(h.exif)
	if err != nil {
		return Photo{}, err
	}
	position, err := m.position()
	if err != nil {
		return Photo{}, err
	}
	p := New(name, position)
	p.Altitude, p.AltitudeDatum = m.altitude()
	p.Yaw = m.yaw()
	p.Pitch = within(m.exif.rational(tagElevationAngle), -180, 180)
	p.Time, p.TimeSource = m.time()
	p.ExposureTime = positive(m.exif.rational(tagExposureTime))
	p.PositionError = positive(m.gps.rational(tagPositionError))
	p.MapDatum = m.gps.text(tagMapDatum)
	p.Camera, p.CameraSource = m.camera(h.columns, h.rows)
	p.CameraModel = m.main.text(tagModel)
	if o, ok := m.main.integer(tagOrientation); ok && o >= 1 && o <= 8 {
		p.Orientation = int(o)
	}
	return p, nil
}

// within returns x, or NaN when it lies outside low to high.
func within(x, low, high float64) float64 {
	if x >= low && x <= high {
		return x
	}
	return math.NaN()
}

// positive returns x, or NaN when it is 0, which stands for unknown in fields
// that cannot be 0.
func positive(x float64) float64 {
	if x > 0 {
		return x
	}
	return math.NaN()
}

// position requires all four position tags.
func (m metadata) position() (orb.Point, error) {
	if !m.gps.has(tagLatitude) && !m.gps.has(tagLongitude) {
		return orb.Point{}, errors.New("no position in its metadata")
	}
	lat, err := m.coordinate("latitude", tagLatitude, tagLatitudeRef, "N", "S", 90)
	if err != nil {
		return orb.Point{}, err
	}
	lon, err := m.coordinate("longitude", tagLongitude, tagLongitudeRef, "E", "W", 180)
	if err != nil {
		return orb.Point{}, err
	}
	return usable(orb.Point{lon, lat})
}

// usable refuses the position that stands for none.
func usable(p orb.Point) (orb.Point, error) {
	if p[0] == 0 && p[1] == 0 {
		return p, errors.New("position is 0, 0: the receiver had no fix")
	}
	return p, nil
}

// coordinate reads degrees, minutes and seconds with their hemisphere.
func (m metadata) coordinate(what string, tag, refTag uint16, plus, minus string, limit float64) (float64, error) {
	if !m.gps.has(tag) {
		return 0, fmt.Errorf("position is incomplete: it has no %s", what)
	}
	dms := m.gps.rationals(tag, 3)
	if dms == nil {
		return 0, fmt.Errorf("%s is unreadable: it is not three fractions", what)
	}
	for _, part := range dms {
		if math.IsNaN(part) {
			return 0, fmt.Errorf("%s is unreadable: a denominator is 0", what)
		}
	}
	if dms[0] < 0 || within(dms[1], 0, 60) != dms[1] || within(dms[2], 0, 60) != dms[2] {
		return 0, fmt.Errorf("%s is unreadable: %.6g degrees, %.6g minutes, %.6g seconds", what, dms[0], dms[1], dms[2])
	}
	degrees := dms[0] + dms[1]/60 + dms[2]/3600
	if degrees > limit {
		return 0, fmt.Errorf("%s of %.8g degrees is more than %g", what, degrees, limit)
	}
	switch strings.ToUpper(m.gps.text(refTag)) {
	case plus:
		return degrees, nil
	case minus:
		return 0 - degrees, nil
	}
	return 0, fmt.Errorf("position is incomplete: its %s does not say %s or %s", what, plus, minus)
}

// altitude returns metres, and what they are measured from. Up to Exif 2.32
// the references 0 and 1 mean above and below sea level; Exif 3.0 (CIPA
// DC-008-2023) gives them to the ellipsoid and adds 2 and 3 for sea level.
// That wording is from memory.
func (m metadata) altitude() (float64, string) {
	metres := within(m.gps.rational(tagAltitude), -1e5, 1e5)
	if math.IsNaN(metres) {
		return metres, ""
	}
	if !m.gps.has(tagAltitudeRef) {
		return metres, UnknownDatum
	}
	ref, ok := m.gps.integer(tagAltitudeRef)
	if !ok || ref > 3 {
		return math.NaN(), ""
	}
	if ref%2 == 1 {
		metres = -math.Abs(metres)
	}
	if ref >= 2 {
		return metres, SeaLevel
	}
	switch version := string(m.exif.fields[tagExifVersion].data); {
	case len(version) != 4:
		return metres, UnknownDatum
	case version < "0300":
		return metres, SeaLevel
	default:
		return metres, Ellipsoid
	}
}

// yaw returns the image direction when it counts from true north. A magnetic
// one stays unknown: turning it would need the declination of that day.
func (m metadata) yaw() float64 {
	if m.gps.text(tagImgDirectionRef) != "T" {
		return math.NaN()
	}
	return math.Mod(within(m.gps.rational(tagImgDirection), 0, 360), 360)
}

// time prefers the receiver's clock, which counts in UTC, to the camera's.
func (m metadata) time() (time.Time, string) {
	if t, ok := m.gpsTime(); ok {
		return t, TimeFromGPS
	}
	const layout = "2006:01:02 15:04:05"
	clock := m.exif.text(tagDateTimeOriginal)
	if _, err := time.Parse(layout, clock); err != nil {
		return time.Time{}, ""
	}
	if digits := m.exif.text(tagSubSecOriginal); digits != "" && strings.Trim(digits, "0123456789") == "" {
		clock += "." + digits
	}
	if t, err := time.Parse(layout+"Z07:00", clock+m.exif.text(tagOffsetOriginal)); err == nil {
		return t, TimeWithOffset
	}
	t, err := time.Parse(layout, clock)
	if err != nil {
		return time.Time{}, ""
	}
	return t, TimeWithoutZone
}

func (m metadata) gpsTime() (time.Time, bool) {
	day, err := time.Parse("2006:01:02", strings.ReplaceAll(m.gps.text(tagGPSDate), "-", ":"))
	hms := m.gps.rationals(tagGPSTime, 3)
	if err != nil || hms == nil {
		return time.Time{}, false
	}
	seconds := within(hms[0], 0, 23)*3600 + within(hms[1], 0, 59)*60 + within(hms[2], 0, 61) // 60 in a leap second
	if math.IsNaN(seconds) {
		return time.Time{}, false
	}
	return day.Add(time.Duration(seconds * float64(time.Second)).Round(time.Microsecond)), true
}

// mostPixels is the longest side of an image that is believed.
const mostPixels = 1_000_000

// camera returns what the metadata tells of the camera, and in words how the
// sensor size was found. columns and rows are those of the stored image.
func (m metadata) camera(columns, rows int) (Camera, string) {
	if x, ok := m.exif.integer(tagPixelX); ok && x > 0 && x <= mostPixels {
		if y, ok := m.exif.integer(tagPixelY); ok && y > 0 && y <= mostPixels {
			columns, rows = int(x), int(y)
		}
	}
	c := Camera{Columns: columns, Rows: rows}
	if f := within(m.exif.rational(tagFocalLength), 0.1, 5000); f > 0 {
		c.FocalLength = f
	}
	if columns == 0 || rows == 0 {
		return c, ""
	}
	plane, planeOK := m.sensorFromFocalPlane(c)
	equivalent, equivalentOK := m.sensorFrom35mm(c)
	switch {
	case planeOK:
		source := "focal-plane resolution"
		if ratio := equivalent.SensorWidth / plane.SensorWidth; equivalentOK && math.Abs(ratio-1) > 0.1 {
			source += fmt.Sprintf(" (the 35 mm equivalent gives a sensor %.1f mm wide instead of %.1f mm)",
				equivalent.SensorWidth, plane.SensorWidth)
		}
		return plane, source
	case equivalentOK:
		return equivalent, "35 mm equivalent (diagonal 43.27 mm, good to about 5 %)"
	}
	return c, ""
}

// sensorFromFocalPlane uses pixels a unit of length on the sensor. The unit is
// the inch unless stated: the default in CIPA DC-008-2019, from memory.
func (m metadata) sensorFromFocalPlane(c Camera) (Camera, bool) {
	millimetres := 25.4
	if m.exif.has(tagFocalPlaneUnit) {
		switch unit, _ := m.exif.integer(tagFocalPlaneUnit); unit {
		case 2:
		case 3:
			millimetres = 10
		default:
			return c, false
		}
	}
	c.SensorWidth = float64(c.Columns) / m.exif.rational(tagFocalPlaneX) * millimetres
	c.SensorHeight = float64(c.Rows) / m.exif.rational(tagFocalPlaneY) * millimetres
	return c, plausibleSensor(c)
}

// sensorFrom35mm takes the equivalent as one of diagonals. Some makers compare
// widths instead, which differs by up to about 5 %; that figure is common
// practice, without a source.
func (m metadata) sensorFrom35mm(c Camera) (Camera, bool) {
	equivalent, _ := m.exif.integer(tagFocalLength35)
	if equivalent == 0 {
		return c, false
	}
	diagonal := math.Hypot(36, 24) * c.FocalLength / float64(equivalent)
	scale := diagonal / math.Hypot(float64(c.Columns), float64(c.Rows))
	c.SensorWidth = float64(c.Columns) * scale
	c.SensorHeight = float64(c.Rows) * scale
	return c, plausibleSensor(c)
}

// plausibleSensor also turns away NaN and infinity.
func plausibleSensor(c Camera) bool {
	const least, most = 0.5, 200 // millimetres
	return c.SensorWidth >= least && c.SensorWidth <= most && c.SensorHeight >= least && c.SensorHeight <= most
}
