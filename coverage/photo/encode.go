package photo

import (
	"bytes"
	"cmp"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"math"
	"slices"
	"time"

	"selvage/coverage/ifd"
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

func encodeExif(p Photo, thumbnail bool) ([]byte, error) {
	lon, lat := p.Position[0], p.Position[1]
	if math.IsNaN(within(lon, -180, 180)) || math.IsNaN(within(lat, -90, 90)) {
		return nil, fmt.Errorf("photo %q: position %g, %g is not on the globe", p.File, lon, lat)
	}
	p.Time = p.Time.Round(time.Millisecond)
	main, exif, gps := mainEntries(p), exifEntries(p), gpsEntries(p)
	var related []ifd.Field
	if thumbnail {
		related = relatedEntries(p.Camera)
		exif = append(exif, ifd.Long(tagInteropIFD, 0))
	}
	exifOffset := len(ifd.Header) + ifd.Size(main)
	gpsOffset := exifOffset + ifd.Size(exif)
	ifd.Point(main, tagExifIFD, exifOffset)
	ifd.Point(main, tagGPSIFD, gpsOffset)
	out := append([]byte(ifd.Header), ifd.Encode(len(ifd.Header), main)...)
	if !thumbnail {
		return slices.Concat(out, ifd.Encode(exifOffset, exif), ifd.Encode(gpsOffset, gps)), nil
	}
	relatedOffset := gpsOffset + ifd.Size(gps)
	ifd.Point(exif, tagInteropIFD, relatedOffset)
	return slices.Concat(out, ifd.Encode(exifOffset, exif), ifd.Encode(gpsOffset, gps),
		ifd.Encode(relatedOffset, related)), nil
}

// relatedEntries say that the image stands for a larger one.
func relatedEntries(c Camera) []ifd.Field {
	return []ifd.Field{
		ascii(tagInteropIndex, dcfThumbnail),
		ifd.Undefined(tagInteropVersion, "0100"),
		ifd.Long(tagRelatedWidth, c.Columns),
		ifd.Long(tagRelatedHeight, c.Rows),
	}
}

func mainEntries(p Photo) []ifd.Field {
	const dotsPerInch, inch, centred = 72, 2, 1
	return []ifd.Field{
		ascii(tagModel, cmp.Or(p.CameraModel, "Invented Camera")),
		ifd.Shorts(tagOrientation, uint16(max(p.Orientation, 1))),
		rationals(tagXResolution, dotsPerInch),
		rationals(tagYResolution, dotsPerInch),
		ifd.Shorts(tagResUnit, inch),
		ascii(tagSoftware, "Selvage"),
		ifd.Shorts(tagYCbCrPos, centred),
		ifd.Long(tagExifIFD, 0),
		ifd.Long(tagGPSIFD, 0),
	}
}

func exifEntries(p Photo) []ifd.Field {
	version := "0232"
	if p.AltitudeDatum == Ellipsoid {
		version = "0300"
	}
	const sRGB = 1
	entries := []ifd.Field{
		ifd.Undefined(tagExifVersion, version),
		ifd.Undefined(tagComponents, "\x01\x02\x03\x00"), // Y, Cb, Cr
		ifd.Undefined(tagFlashpixVersion, "0100"),
		ifd.Shorts(tagColorSpace, sRGB),
	}
	if p.ExposureTime > 0 {
		entries = append(entries, rationals(tagExposureTime, p.ExposureTime))
	}
	if p.FNumber > 0 {
		entries = append(entries, rationals(tagFNumber, p.FNumber))
	}
	if p.ISO >= 1 && p.ISO < math.MaxUint16 {
		entries = append(entries, ifd.Shorts(tagSensitivity, uint16(p.ISO)))
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
		entries = append(entries, ifd.Long(tagPixelX, c.Columns), ifd.Long(tagPixelY, c.Rows))
		if plausibleSensor(c) {
			const centimetre, millimetres = 3, 10
			entries = append(entries,
				rationals(tagFocalPlaneX, float64(c.Columns)/c.SensorWidth*millimetres),
				rationals(tagFocalPlaneY, float64(c.Rows)/c.SensorHeight*millimetres),
				ifd.Shorts(tagFocalPlaneUnit, centimetre))
		}
	}
	return entries
}

func gpsEntries(p Photo) []ifd.Field {
	lon, lat := p.Position[0], p.Position[1]
	entries := []ifd.Field{
		ifd.Bytes(tagGPSVersion, 2, 3, 0, 0),
		ascii(tagLatitudeRef, hemisphere(lat, "N", "S")), degrees(tagLatitude, lat),
		ascii(tagLongitudeRef, hemisphere(lon, "E", "W")), degrees(tagLongitude, lon),
		ascii(tagMapDatum, cmp.Or(p.MapDatum, "WGS-84")),
	}
	if !math.IsNaN(p.Altitude) {
		ref := byte(0)
		if p.Altitude < 0 {
			ref = 1
		}
		entries = append(entries, ifd.Bytes(tagAltitudeRef, ref),
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

func ascii(tag uint16, s string) ifd.Field {
	const longest = 128
	return ifd.ASCII(tag, s[:min(len(s), longest)])
}

func rationals(tag uint16, values ...float64) ifd.Field {
	fractions := make([][2]uint32, len(values))
	for i, x := range values {
		top, bottom := fraction(x, math.MaxUint32)
		fractions[i] = [2]uint32{uint32(top), uint32(bottom)}
	}
	return ifd.Rationals(tag, fractions...)
}

func srational(tag uint16, x float64) ifd.Field {
	top, bottom := fraction(math.Abs(x), math.MaxInt32)
	if x < 0 {
		top = -top
	}
	return ifd.SignedRational(tag, int32(top), int32(bottom))
}

// degrees writes whole degrees, whole minutes and seconds to 1e-7, which is
// 3 micrometres on the ground.
func degrees(tag uint16, x float64) ifd.Field {
	const secondParts = 10_000_000
	total := int64(math.Round(math.Abs(x) * 3600 * secondParts))
	return ifd.Rationals(tag,
		[2]uint32{uint32(total / (3600 * secondParts)), 1},
		[2]uint32{uint32(total / (60 * secondParts) % 60), 1},
		[2]uint32{uint32(total % (60 * secondParts)), secondParts})
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
