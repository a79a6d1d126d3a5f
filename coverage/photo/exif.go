package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode"
)

// The fields are read here and not through an Exif library, because the ones at
// hand turn a coordinate whose denominator is 0 into 0, and so a photo without
// a position into one at a wrong place. Only three directories are read, each
// once, so no chain of offsets can go round in a circle.

// Exif tags, CIPA DC-008-2019 (Exif 2.32) section 4.6; section number from memory.
const (
	tagModel       = 0x0110
	tagOrientation = 0x0112
	tagXResolution = 0x011A
	tagYResolution = 0x011B
	tagResUnit     = 0x0128
	tagSoftware    = 0x0131
	tagYCbCrPos    = 0x0213
	tagExifIFD     = 0x8769
	tagGPSIFD      = 0x8825

	tagExposureTime     = 0x829A
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
	tagFocalPlaneX      = 0xA20E
	tagFocalPlaneY      = 0xA20F
	tagFocalPlaneUnit   = 0xA210
	tagFocalLength35    = 0xA405

	tagGPSVersion      = 0x00
	tagLatitudeRef     = 0x01
	tagLatitude        = 0x02
	tagLongitudeRef    = 0x03
	tagLongitude       = 0x04
	tagAltitudeRef     = 0x05
	tagAltitude        = 0x06
	tagGPSTime         = 0x07
	tagImgDirectionRef = 0x10
	tagImgDirection    = 0x11
	tagMapDatum        = 0x12
	tagGPSDate         = 0x1D
	tagPositionError   = 0x1F
)

// Field types, TIFF 6.0 section 2; UTF-8 since Exif 3.0, from memory.
const (
	typeByte      = 1
	typeASCII     = 2
	typeShort     = 3
	typeLong      = 4
	typeRational  = 5
	typeUndefined = 7
	typeSRational = 10
	typeUTF8      = 129
)

var typeSizes = map[uint16]uint64{
	typeByte: 1, typeASCII: 1, typeShort: 2, typeLong: 4, typeRational: 8,
	typeUndefined: 1, typeSRational: 8, typeUTF8: 1,
}

// field is one tag's value: its bytes, exactly as many as its count asks for.
type field struct {
	kind uint16
	data []byte
}

// directory holds the readable fields of one IFD.
type directory struct {
	order  binary.ByteOrder
	fields map[uint16]field
}

// metadata is the three directories of an Exif segment that matter here.
type metadata struct{ main, exif, gps directory }

// readMetadata reads a TIFF structure. A missing or damaged camera directory is
// no error, since the position does not depend on it.
func readMetadata(data []byte) (metadata, error) {
	var m metadata
	if len(data) < 8 {
		return m, errors.New("damaged metadata: it is too short")
	}
	var order binary.ByteOrder
	switch string(data[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return m, errors.New("damaged metadata: its byte order is not stated")
	}
	var err error
	if m.main, err = readDirectory(data, order, order.Uint32(data[4:])); err != nil {
		return m, fmt.Errorf("damaged metadata: %w", err)
	}
	if offset, ok := m.main.integer(tagExifIFD); ok {
		m.exif, _ = readDirectory(data, order, offset)
	}
	if m.main.has(tagGPSIFD) {
		offset, _ := m.main.integer(tagGPSIFD)
		if m.gps, err = readDirectory(data, order, offset); err != nil {
			return m, fmt.Errorf("damaged position metadata: %w", err)
		}
	}
	return m, nil
}

// readDirectory reads the IFD at offset. A field whose type is unknown, whose
// value reaches outside data, or that comes twice with different values counts
// as unreadable: its data is nil.
func readDirectory(data []byte, order binary.ByteOrder, offset uint32) (directory, error) {
	const entrySize = 12
	d := directory{order: order, fields: map[uint16]field{}}
	size := uint64(len(data))
	if offset < 8 || uint64(offset)+2 > size {
		return d, errors.New("a directory lies outside it")
	}
	count := int(order.Uint16(data[offset:]))
	entries := data[offset+2:]
	if len(entries) < count*entrySize {
		return d, errors.New("a directory is cut short")
	}
	for i := range count {
		entry := entries[i*entrySize:][:entrySize]
		tag := order.Uint16(entry)
		f := field{kind: order.Uint16(entry[2:])}
		length := typeSizes[f.kind] * uint64(order.Uint32(entry[4:]))
		start := uint64(order.Uint32(entry[8:]))
		switch {
		case length == 0:
		case length <= 4:
			f.data = entry[8 : 8+length]
		case start >= 8 && start+length <= size:
			f.data = data[start : start+length]
		}
		if old, twice := d.fields[tag]; twice && (old.kind != f.kind || !bytes.Equal(old.data, f.data)) {
			f = field{}
		}
		d.fields[tag] = f
	}
	return d, nil
}

// has reports whether the tag is present, readable or not.
func (d directory) has(tag uint16) bool {
	_, ok := d.fields[tag]
	return ok
}

// text returns a string without its padding and without anything unprintable.
func (d directory) text(tag uint16) string {
	f := d.fields[tag]
	if f.kind != typeASCII && f.kind != typeUTF8 {
		return ""
	}
	before, _, _ := bytes.Cut(f.data, []byte{0})
	const longest = 128
	s := strings.ToValidUTF8(string(before[:min(len(before), longest)]), "")
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, s))
}

// integer returns a single BYTE, SHORT or LONG.
func (d directory) integer(tag uint16) (uint32, bool) {
	f := d.fields[tag]
	switch {
	case f.kind == typeByte && len(f.data) == 1:
		return uint32(f.data[0]), true
	case f.kind == typeShort && len(f.data) == 2:
		return uint32(d.order.Uint16(f.data)), true
	case f.kind == typeLong && len(f.data) == 4:
		return d.order.Uint32(f.data), true
	}
	return 0, false
}

// rationals returns exactly n numbers, or nil when the tag does not hold that
// many. A number whose denominator is 0 is NaN.
func (d directory) rationals(tag uint16, n int) []float64 {
	f := d.fields[tag]
	if f.kind != typeRational && f.kind != typeSRational || len(f.data) != n*8 {
		return nil
	}
	values := make([]float64, n)
	for i := range values {
		top, bottom := d.order.Uint32(f.data[i*8:]), d.order.Uint32(f.data[i*8+4:])
		switch {
		case bottom == 0:
			values[i] = math.NaN()
		case f.kind == typeRational:
			values[i] = float64(top) / float64(bottom)
		case bottom == math.MaxUint32:
			values[i] = math.NaN() // "unknown" in Exif 2.31 and later, from memory
		default:
			values[i] = float64(int32(top)) / float64(int32(bottom))
		}
	}
	return values
}

// rational returns one number, NaN when it is absent or its denominator is 0.
func (d directory) rational(tag uint16) float64 {
	if v := d.rationals(tag, 1); v != nil {
		return v[0]
	}
	return math.NaN()
}
