package photo

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"math"
	"slices"
	"time"
)

// Encode writes img as a baseline JPEG image whose Exif metadata says what p
// says. Where p.Camera has another size than img, the metadata says that img
// stands for an image of that size, the way of a DCF thumbnail file. An
// altitude above the ellipsoid is written the way of Exif 3.0, the only edition
// that can say so, any other as above sea level. A time without a zone is
// written as the camera's clock alone. What is unknown is not written; Height,
// Roll and File have no place in Exif, and a digital zoom is in p.Camera.
func Encode(w io.Writer, img image.Image, p Photo) error {
	columns, rows := img.Bounds().Dx(), img.Bounds().Dy()
	if p.Camera.Columns == 0 || p.Camera.Rows == 0 {
		p.Camera.Columns, p.Camera.Rows = columns, rows
	}
	exif, err := encodeExif(p, p.Camera.Columns != columns || p.Camera.Rows != rows)
	if err != nil {
		return err
	}
	var body bytes.Buffer
	if err := jpeg.Encode(&body, img, nil); err != nil {
		return err
	}
	size := 2 + len(exifHeader) + len(exif)
	head := []byte{0xFF, markerSOI, 0xFF, markerAPP1, byte(size >> 8), byte(size)}
	for _, part := range [][]byte{head, []byte(exifHeader), exif, body.Bytes()[2:]} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// entry is a field to be written, its value in little-endian bytes.
type entry struct {
	tag, kind uint16
	count     int
	data      []byte
}

func encodeExif(p Photo, thumbnail bool) ([]byte, error) {
	lon, lat := p.Position[0], p.Position[1]
	if math.IsNaN(within(lon, -180, 180)) || math.IsNaN(within(lat, -90, 90)) {
		return nil, fmt.Errorf("photo %q: position %g, %g is not on the globe", p.File, lon, lat)
	}
	p.Time = p.Time.Round(time.Millisecond)
	const headerSize = 8
	main, exif, gps := mainEntries(p), exifEntries(p), gpsEntries(p)
	var related []entry
	if thumbnail {
		related = relatedEntries(p.Camera)
		exif = append(exif, long(tagInteropIFD, 0))
	}
	exifOffset := headerSize + directorySize(main)
	gpsOffset := exifOffset + directorySize(exif)
	point(main, tagExifIFD, exifOffset)
	point(main, tagGPSIFD, gpsOffset)
	out := append([]byte("II*\x00\x08\x00\x00\x00"), encodeDirectory(main, headerSize)...)
	if !thumbnail {
		return slices.Concat(out, encodeDirectory(exif, exifOffset), encodeDirectory(gps, gpsOffset)), nil
	}
	relatedOffset := gpsOffset + directorySize(gps)
	point(exif, tagInteropIFD, relatedOffset)
	return slices.Concat(out, encodeDirectory(exif, exifOffset), encodeDirectory(gps, gpsOffset),
		encodeDirectory(related, relatedOffset)), nil
}

// point sets the offset of a directory.
func point(entries []entry, tag uint16, offset int) {
	for i := range entries {
		if entries[i].tag == tag {
			entries[i] = long(tag, offset)
		}
	}
}

// relatedEntries say that the image stands for a larger one.
func relatedEntries(c Camera) []entry {
	return []entry{
		ascii(tagInteropIndex, dcfThumbnail),
		undefined(tagInteropVersion, "0100"),
		long(tagRelatedWidth, c.Columns),
		long(tagRelatedHeight, c.Rows),
	}
}

func mainEntries(p Photo) []entry {
	const dotsPerInch, inch, centred = 72, 2, 1
	return []entry{
		ascii(tagModel, cmp.Or(p.CameraModel, "Invented Camera")),
		short(tagOrientation, max(p.Orientation, 1)),
		rationals(tagXResolution, dotsPerInch),
		rationals(tagYResolution, dotsPerInch),
		short(tagResUnit, inch),
		ascii(tagSoftware, "Selvage"),
		short(tagYCbCrPos, centred),
		long(tagExifIFD, 0),
		long(tagGPSIFD, 0),
	}
}

func exifEntries(p Photo) []entry {
	version := "0232"
	if p.AltitudeDatum == Ellipsoid {
		version = "0300"
	}
	const sRGB = 1
	entries := []entry{
		undefined(tagExifVersion, version),
		undefined(tagComponents, "\x01\x02\x03\x00"), // Y, Cb, Cr
		undefined(tagFlashpixVersion, "0100"),
		short(tagColorSpace, sRGB),
	}
	if p.ExposureTime > 0 {
		entries = append(entries, rationals(tagExposureTime, p.ExposureTime))
	}
	if p.FNumber > 0 {
		entries = append(entries, rationals(tagFNumber, p.FNumber))
	}
	if p.ISO >= 1 && p.ISO < math.MaxUint16 {
		entries = append(entries, short(tagSensitivity, int(p.ISO)))
	}
	if p.Lens != "" {
		entries = append(entries, ascii(tagLensModel, p.Lens))
	}
	if !p.Time.IsZero() {
		entries = append(entries,
			ascii(tagDateTimeOriginal, p.Time.Format("2006:01:02 15:04:05")),
			ascii(tagSubSecOriginal, p.Time.Format(".000")[1:]))
		if hasZone(p) {
			entries = append(entries, ascii(tagOffsetOriginal, p.Time.Format("-07:00")))
		}
	}
	if !math.IsNaN(p.Pitch) {
		entries = append(entries, srational(tagElevationAngle, p.Pitch))
	}
	c := p.Camera
	if c.FocalLength > 0 {
		entries = append(entries, rationals(tagFocalLength, c.FocalLength))
	}
	if c.Columns > 0 && c.Rows > 0 {
		entries = append(entries, long(tagPixelX, c.Columns), long(tagPixelY, c.Rows))
		if plausibleSensor(c) {
			const centimetre, millimetres = 3, 10
			entries = append(entries,
				rationals(tagFocalPlaneX, float64(c.Columns)/c.SensorWidth*millimetres),
				rationals(tagFocalPlaneY, float64(c.Rows)/c.SensorHeight*millimetres),
				short(tagFocalPlaneUnit, centimetre))
		}
	}
	return entries
}

func gpsEntries(p Photo) []entry {
	lon, lat := p.Position[0], p.Position[1]
	entries := []entry{
		{tagGPSVersion, typeByte, 4, []byte{2, 3, 0, 0}},
		ascii(tagLatitudeRef, hemisphere(lat, "N", "S")), degrees(tagLatitude, lat),
		ascii(tagLongitudeRef, hemisphere(lon, "E", "W")), degrees(tagLongitude, lon),
		ascii(tagMapDatum, cmp.Or(p.MapDatum, "WGS-84")),
	}
	if !math.IsNaN(p.Altitude) {
		ref := byte(0)
		if p.Altitude < 0 {
			ref = 1
		}
		entries = append(entries, entry{tagAltitudeRef, typeByte, 1, []byte{ref}},
			rationals(tagAltitude, math.Abs(p.Altitude)))
	}
	if !math.IsNaN(p.Yaw) {
		entries = append(entries, ascii(tagImgDirectionRef, "T"),
			rationals(tagImgDirection, math.Mod(math.Mod(p.Yaw, 360)+360, 360)))
	}
	if p.PositionError > 0 {
		entries = append(entries, rationals(tagPositionError, p.PositionError))
	}
	if p.DOP > 0 {
		entries = append(entries, rationals(tagDOP, p.DOP))
	}
	if !p.Time.IsZero() && hasZone(p) && p.TimeSource != TimeWithOffset {
		t := p.Time.UTC()
		seconds := float64(t.Second()) + float64(t.Nanosecond())/1e9
		entries = append(entries, ascii(tagGPSDate, t.Format("2006:01:02")),
			rationals(tagGPSTime, float64(t.Hour()), float64(t.Minute()), seconds))
	}
	return entries
}

func hasZone(p Photo) bool {
	return p.TimeSource != TimeWithoutZone && p.TimeSource != TimeFromTableAsUTC
}

func hemisphere(x float64, plus, minus string) string {
	if x < 0 {
		return minus
	}
	return plus
}

func directorySize(entries []entry) int {
	size := 2 + 12*len(entries) + 4
	for _, e := range entries {
		if len(e.data) > 4 {
			size += len(e.data) + len(e.data)%2
		}
	}
	return size
}

// encodeDirectory lays out one IFD that starts at offset, its values behind
// it on even offsets, as TIFF 6.0 section 2 asks.
func encodeDirectory(entries []entry, offset int) []byte {
	slices.SortFunc(entries, func(a, b entry) int { return cmp.Compare(a.tag, b.tag) })
	le := binary.LittleEndian
	out := le.AppendUint16(nil, uint16(len(entries)))
	valueAt := offset + 2 + 12*len(entries) + 4
	var values []byte
	for _, e := range entries {
		out = le.AppendUint16(out, e.tag)
		out = le.AppendUint16(out, e.kind)
		out = le.AppendUint32(out, uint32(e.count))
		if len(e.data) <= 4 {
			out = append(out, e.data...)
			out = append(out, make([]byte, 4-len(e.data))...)
			continue
		}
		out = le.AppendUint32(out, uint32(valueAt+len(values)))
		values = append(values, e.data...)
		values = append(values, make([]byte, len(e.data)%2)...)
	}
	out = le.AppendUint32(out, 0) // no next directory
	return append(out, values...)
}

func ascii(tag uint16, s string) entry {
	const longest = 128
	data := append([]byte(s[:min(len(s), longest)]), 0)
	return entry{tag, typeASCII, len(data), data}
}

func undefined(tag uint16, s string) entry {
	return entry{tag, typeUndefined, len(s), []byte(s)}
}

func short(tag uint16, x int) entry {
	return entry{tag, typeShort, 1, binary.LittleEndian.AppendUint16(nil, uint16(x))}
}

func long(tag uint16, x int) entry {
	return entry{tag, typeLong, 1, binary.LittleEndian.AppendUint32(nil, uint32(x))}
}

func rationals(tag uint16, values ...float64) entry {
	e := entry{tag: tag, kind: typeRational, count: len(values)}
	for _, x := range values {
		top, bottom := fraction(x, math.MaxUint32)
		e.data = binary.LittleEndian.AppendUint32(e.data, uint32(top))
		e.data = binary.LittleEndian.AppendUint32(e.data, uint32(bottom))
	}
	return e
}

func srational(tag uint16, x float64) entry {
	top, bottom := fraction(math.Abs(x), math.MaxInt32)
	if x < 0 {
		top = -top
	}
	data := binary.LittleEndian.AppendUint32(nil, uint32(int32(top)))
	return entry{tag, typeSRational, 1, binary.LittleEndian.AppendUint32(data, uint32(bottom))}
}

// degrees writes whole degrees, whole minutes and seconds to 1e-7, which is
// 3 micrometres on the ground.
func degrees(tag uint16, x float64) entry {
	const secondParts = 10_000_000
	total := int64(math.Round(math.Abs(x) * 3600 * secondParts))
	e := entry{tag: tag, kind: typeRational, count: 3}
	for _, part := range [][2]int64{
		{total / (3600 * secondParts), 1},
		{total / (60 * secondParts) % 60, 1},
		{total % (60 * secondParts), secondParts},
	} {
		e.data = binary.LittleEndian.AppendUint32(e.data, uint32(part[0]))
		e.data = binary.LittleEndian.AppendUint32(e.data, uint32(part[1]))
	}
	return e
}

// fraction returns x >= 0 as a fraction in lowest terms, as fine as a decimal
// denominator of at most 1e9 and a numerator of at most most allow.
func fraction(x float64, most float64) (top, bottom int64) {
	bottom = 1_000_000_000
	for bottom > 1 && x*float64(bottom) > most {
		bottom /= 10
	}
	top = int64(math.Round(min(x*float64(bottom), most)))
	a, b := top, bottom
	for b != 0 {
		a, b = b, a%b
	}
	return top / a, bottom / a
}
