package photo

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/paulmach/orb"
)

// The fields are read here and not through an Exif library, because the ones at
// hand turn a coordinate whose denominator is 0 into 0, and so a photo without
// a position into one at a wrong place. Only a handful of directories is read,
// each once, so no chain of offsets can go round in a circle.

// Tags, CIPA DC-008-2019 (Exif 2.32) section 4.6 unless another source stands
// beside them; section number from memory.
const (
	tagSubfileType = 0x00FE // TIFF 6.0 section 8, as are the image's size and its further directories
	tagColumns     = 0x0100
	tagRows        = 0x0101
	tagModel       = 0x0110
	tagOrientation = 0x0112
	tagXResolution = 0x011A
	tagYResolution = 0x011B
	tagResUnit     = 0x0128
	tagSoftware    = 0x0131
	tagSubIFDs     = 0x014A // TIFF 6.0, supplement 1
	tagYCbCrPos    = 0x0213
	tagXMP         = 0x02BC // XMP specification part 3, section 1.1.5 "TIFF"; from memory
	tagExifIFD     = 0x8769
	tagGPSIFD      = 0x8825
	tagDNGVersion  = 0xC612 // DNG specification 1.7, as is the next; from memory
	tagCropSize    = 0xC620

	tagExposureTime     = 0x829A
	tagFNumber          = 0x829D
	tagSensitivity      = 0x8827
	tagOutputISO        = 0x8831
	tagExposureIndex    = 0x8832
	tagISOSpeed         = 0x8833
	tagExifVersion      = 0x9000
	tagDateTimeOriginal = 0x9003
	tagOffsetOriginal   = 0x9011
	tagComponents       = 0x9101
	tagFocalLength      = 0x920A
	tagSubSecOriginal   = 0x9291
	tagElevationAngle   = 0x9405
	tagFlashpixVersion  = 0xA000
	tagColorSpace       = 0xA001
	tagPixelX           = 0xA002
	tagPixelY           = 0xA003
	tagInteropIFD       = 0xA005
	tagFocalPlaneX      = 0xA20E
	tagFocalPlaneY      = 0xA20F
	tagFocalPlaneUnit   = 0xA210
	tagDigitalZoom      = 0xA404
	tagFocalLength35    = 0xA405
	tagLensModel        = 0xA434

	tagInteropIndex   = 0x0001 // CIPA DC-009 (DCF), as are the next three; from memory
	tagInteropVersion = 0x0002
	tagRelatedWidth   = 0x1001
	tagRelatedHeight  = 0x1002

	tagGPSVersion      = 0x00
	tagLatitudeRef     = 0x01
	tagLatitude        = 0x02
	tagLongitudeRef    = 0x03
	tagLongitude       = 0x04
	tagAltitudeRef     = 0x05
	tagAltitude        = 0x06
	tagGPSTime         = 0x07
	tagDOP             = 0x0B
	tagImgDirectionRef = 0x10
	tagImgDirection    = 0x11
	tagMapDatum        = 0x12
	tagGPSDate         = 0x1D
	tagPositionError   = 0x1F
)

// dcfThumbnail is the interoperability index of an image that stands for a
// larger one: DCF thumbnail files, CIPA DC-009; from memory.
const dcfThumbnail = "THM"

// metadata is the directories of a TIFF structure that matter here.
type metadata struct {
	tiff             tiff
	main, exif, gps  directory
	interoperability directory
	broken           error // why there is no position directory although one is announced
}

// read reads a TIFF structure. A missing or damaged camera directory is no
// error, since the position does not depend on it.
func (m *metadata) read(file *window, base, size int64) error {
	m.main, m.exif, m.gps, m.interoperability, m.broken = directory{}, directory{}, directory{}, directory{}, nil
	first, err := m.tiff.open(file, base, size)
	if err == nil {
		m.main, err = m.tiff.directory(first)
	}
	if err != nil {
		return err
	}
	// Images of TIFF/EP, ISO 12234-2, have the camera's fields in the main directory.
	m.exif = m.main
	if offset, ok := m.main.integer(tagExifIFD); ok {
		m.exif, _ = m.tiff.directory(offset)
	}
	if offset, ok := m.exif.integer(tagInteropIFD); ok {
		m.interoperability, _ = m.tiff.directory(offset)
	}
	if m.main.has(tagGPSIFD) {
		offset, _ := m.main.integer(tagGPSIFD)
		if m.gps, err = m.tiff.directory(offset); err != nil {
			m.broken = fmt.Errorf("damaged position metadata: %w", err)
		}
	}
	return nil
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
func (m *metadata) position() (orb.Point, error) {
	if m.broken != nil {
		return nowhere, m.broken
	}
	if !m.gps.has(tagLatitude) && !m.gps.has(tagLongitude) {
		return nowhere, ErrUnlocated
	}
	lat, err := m.coordinate("latitude", tagLatitude, tagLatitudeRef, 'N', 'S', 90)
	if err != nil {
		return nowhere, err
	}
	lon, err := m.coordinate("longitude", tagLongitude, tagLongitudeRef, 'E', 'W', 180)
	if err != nil {
		return nowhere, err
	}
	return usable(orb.Point{lon, lat})
}

// usable refuses the position that stands for none.
func usable(p orb.Point) (orb.Point, error) {
	if p[0] == 0 && p[1] == 0 {
		return nowhere, errors.New("position is 0, 0: the receiver had no fix")
	}
	return p, nil
}

// coordinate reads degrees, minutes and seconds with their hemisphere.
func (m *metadata) coordinate(what string, tag, refTag uint16, plus, minus byte, limit float64) (float64, error) {
	if !m.gps.has(tag) {
		return 0, fmt.Errorf("position is incomplete: it has no %s", what)
	}
	dms, ok := m.gps.rationals(tag, 3)
	if !ok {
		return 0, fmt.Errorf("%s is unreadable: it is not three fractions", what)
	}
	for _, part := range dms {
		if math.IsNaN(part) {
			return 0, fmt.Errorf("%s is unreadable: a denominator is 0", what)
		}
	}
	degrees, err := angle(what, dms, limit)
	if err != nil {
		return 0, err
	}
	switch m.gps.letter(refTag) {
	case plus:
		return degrees, nil
	case minus:
		return 0 - degrees, nil
	}
	return 0, fmt.Errorf("position is incomplete: its %s does not say %c or %c", what, plus, minus)
}

// angle adds up degrees, minutes and seconds.
func angle(what string, dms [3]float64, limit float64) (float64, error) {
	if !(dms[0] >= 0) || within(dms[1], 0, 60) != dms[1] || within(dms[2], 0, 60) != dms[2] {
		return 0, fmt.Errorf("%s is unreadable: %.6g degrees, %.6g minutes, %.6g seconds", what, dms[0], dms[1], dms[2])
	}
	degrees := dms[0] + dms[1]/60 + dms[2]/3600
	if degrees > limit {
		return 0, fmt.Errorf("%s of %.8g degrees is more than %g", what, degrees, limit)
	}
	return degrees, nil
}

// altitude returns metres, and what they are measured from. Up to Exif 2.32
// the references 0 and 1 mean above and below sea level; Exif 3.0 (CIPA
// DC-008-2023) gives them to the ellipsoid and adds 2 and 3 for sea level.
// That wording is from memory.
func (m *metadata) altitude() (float64, string) {
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
	f, _ := m.exif.field(tagExifVersion)
	switch version := m.exif.bytes(f, 4); {
	case f.length != 4 || version == nil:
		return metres, UnknownDatum
	case string(version) < "0300":
		return metres, SeaLevel
	default:
		return metres, Ellipsoid
	}
}

// yaw returns the image direction when it counts from true north. A magnetic
// one stays unknown: turning it would need the declination of that day.
func (m *metadata) yaw() float64 {
	if m.gps.letter(tagImgDirectionRef) != 'T' {
		return math.NaN()
	}
	return math.Mod(within(m.gps.rational(tagImgDirection), 0, 360), 360)
}

// sensitivity returns the ISO speed. 65535 in the older tag refers to those of
// Exif 2.3; from memory.
func (m *metadata) sensitivity() float64 {
	f, _ := m.exif.field(tagSensitivity)
	x, _ := m.exif.integerAt(f, 0)
	if x > 0 && x < math.MaxUint16 {
		return float64(x)
	}
	for _, tag := range []uint16{tagOutputISO, tagExposureIndex, tagISOSpeed} {
		if more, ok := m.exif.integer(tag); ok && more > 0 {
			return float64(more)
		}
	}
	return positive(float64(x))
}

// size returns that of the main image, which need not be the one in the main
// directory: raw files have a small one there.
func (m *metadata) size() (columns, rows int) {
	const reduced = 1 // bit 0 of NewSubfileType
	take := func(d directory) {
		kind, _ := d.integer(tagSubfileType)
		x, okX := d.integer(tagColumns)
		y, okY := d.integer(tagRows)
		if kind&reduced != 0 || !okX || !okY || x > mostPixels || y > mostPixels {
			return
		}
		if crop, ok := d.cropSize(); ok {
			x, y = min(x, crop[0]), min(y, crop[1])
		}
		if int(x)*int(y) > columns*rows {
			columns, rows = int(x), int(y)
		}
	}
	take(m.main)
	const mostImages = 16
	f, _ := m.main.field(tagSubIFDs)
	for i := range uint64(mostImages) {
		offset, ok := m.main.integerAt(f, i)
		if !ok {
			break
		}
		if d, err := m.tiff.directory(offset); err == nil {
			take(d)
		}
	}
	return columns, rows
}

// cropSize is the part of a raw image that a picture is made of.
func (d directory) cropSize() (size [2]uint32, ok bool) {
	if v, ok := d.rationals(tagCropSize, 2); ok && v[0] >= 1 && v[1] >= 1 && max(v[0], v[1]) <= mostPixels {
		return [2]uint32{uint32(v[0]), uint32(v[1])}, true
	}
	f, _ := d.field(tagCropSize)
	x, okX := d.integerAt(f, 0)
	y, okY := d.integerAt(f, 1)
	return [2]uint32{x, y}, okX && okY && x > 0 && y > 0
}

// time prefers the receiver's clock, which counts in UTC, to the camera's.
func (m *metadata) time(zones *zones) (time.Time, string) {
	if day, ok := parseDay(m.gps.text(tagGPSDate)); ok {
		if hms, ok := m.gps.rationals(tagGPSTime, 3); ok {
			seconds := within(hms[0], 0, 23)*3600 + within(hms[1], 0, 59)*60 + within(hms[2], 0, 61) // 60 in a leap second
			if !math.IsNaN(seconds) {
				return day.Add(time.Duration(seconds * float64(time.Second)).Round(time.Microsecond)), TimeFromGPS
			}
		}
	}
	clock, ok := parseClock(m.exif.text(tagDateTimeOriginal), m.exif.text(tagSubSecOriginal))
	if !ok {
		return time.Time{}, ""
	}
	if placed, ok := zones.place(clock, m.exif.text(tagOffsetOriginal)); ok {
		return placed, TimeWithOffset
	}
	return clock, TimeWithoutZone
}
