package photo

import (
	"bytes"
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

// almost also takes two unknown numbers as equal.
func almost(a, b, tolerance float64) bool {
	return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) <= tolerance
}

// decode reads a whole file that lies in memory.
func decode(data []byte) (Photo, error) {
	return Read("a.jpg", bytes.NewReader(data), int64(len(data)), nil)
}

func mustDecode(t *testing.T, data []byte) Photo {
	t.Helper()
	p, err := decode(data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// 40°26'46"N 79°58'56"W is 40 + 26/60 + 46/3600 = 40.446111°, -79.982222°.
func TestDecodePosition(t *testing.T) {
	for name, b := range bothOrders {
		t.Run(name, func(t *testing.T) {
			p := mustDecode(t, jpegOf(exifSegment(b.tiff(fields{gps: b.pittsburgh()}))))
			if !almost(p.Position.Lat(), 40.446111, 5e-7) || !almost(p.Position.Lon(), -79.982222, 5e-7) {
				t.Errorf("position %v", p.Position)
			}
			if p.File != "a.jpg" || p.Camera.Columns != 40 || p.Camera.Rows != 30 {
				t.Errorf("file %q, %d × %d pixels", p.File, p.Camera.Columns, p.Camera.Rows)
			}
			for what, x := range map[string]float64{"altitude": p.Altitude, "height": p.Height, "yaw": p.Yaw,
				"pitch": p.Pitch, "roll": p.Roll, "exposure": p.ExposureTime, "error": p.PositionError} {
				if !math.IsNaN(x) {
					t.Errorf("%s is %g although nothing states it", what, x)
				}
			}
			if !p.Time.IsZero() || p.TimeSource != "" || p.AltitudeDatum != "" || p.CameraSource != "" || p.CameraModel != "" {
				t.Errorf("words for what is unknown: %+v", p)
			}
		})
	}
}

// The three numbers may be fractional, CIPA DC-008-2019 section 4.6.6 (GPSLatitude); section number from memory.
func TestDecodePositionForms(t *testing.T) {
	b := bothOrders["big-endian"]
	for name, parts := range map[string][]uint32{
		"decimal degrees": {40446111, 1000000, 0, 1, 0, 1},
		"decimal minutes": {40, 1, 2676667, 100000, 0, 1},
		"decimal seconds": {40, 1, 26, 1, 46000, 1000},
	} {
		gps := b.pittsburgh()
		gps[1] = b.fractions(2, parts...)
		if p := mustDecode(t, jpegOf(exifSegment(b.tiff(fields{gps: gps})))); !almost(p.Position.Lat(), 40.446111, 5e-7) {
			t.Errorf("%s: latitude %.7f", name, p.Position.Lat())
		}
	}
}

func TestDecodeRefuses(t *testing.T) {
	b := builder{binary.LittleEndian}
	sound := b.pittsburgh()
	change := func(i int, f rawField) fields {
		gps := slices.Clone(sound)
		gps[i] = f
		return fields{gps: gps}
	}
	without := func(i int) fields { return fields{gps: slices.Delete(slices.Clone(sound), i, i+1)} }
	latitude := func(parts ...uint32) fields { return change(1, b.fractions(2, parts...)) }
	for _, c := range []struct {
		name string
		f    fields
		want string
	}{
		{"no position directory", fields{}, "no position in its metadata"},
		{"empty position directory", fields{gps: []rawField{b.text(0x12, "WGS-84")}}, "no position in its metadata"},
		{"no latitude reference", without(0), "position is incomplete: its latitude does not say N or S"},
		{"no latitude", without(1), "position is incomplete: it has no latitude"},
		{"no longitude reference", without(2), "position is incomplete: its longitude does not say E or W"},
		{"no longitude", without(3), "position is incomplete: it has no longitude"},
		{"references exchanged", change(0, b.text(1, "E")), "position is incomplete: its latitude does not say N or S"},
		{"reference empty", change(2, b.text(3, "")), "position is incomplete: its longitude does not say E or W"},
		{"degrees 0/0", latitude(0, 0, 0, 0, 0, 0), "latitude is unreadable: a denominator is 0"},
		{"minutes over 0", latitude(40, 1, 26, 0, 46, 1), "latitude is unreadable: a denominator is 0"},
		{"seconds over 0", latitude(40, 1, 26, 1, 46, 0), "latitude is unreadable: a denominator is 0"},
		{"two numbers", latitude(40, 1, 26, 1), "latitude is unreadable: it is not three fractions"},
		{"text", change(1, b.text(2, "40,26.7667N")), "latitude is unreadable: it is not three fractions"},
		{"61 minutes", latitude(40, 1, 61, 1, 0, 1), "latitude is unreadable: 40 degrees, 61 minutes, 0 seconds"},
		{"negative", change(1, b.signed(2, -40, 1, 26, 1, 46, 1)), "latitude is unreadable: -40 degrees, 26 minutes, 46 seconds"},
		{"past the pole", latitude(91, 1, 0, 1, 0, 1), "latitude of 91 degrees is more than 90"},
		{"just past the pole", latitude(90, 1, 0, 1, 1, 10), "latitude of 90.000028 degrees is more than 90"},
		{"past the antimeridian", change(3, b.fractions(4, 181, 1, 0, 1, 0, 1)), "longitude of 181 degrees is more than 180"},
		{"no fix", fields{gps: []rawField{
			b.text(1, "N"), b.fractions(2, 0, 1, 0, 1, 0, 1), b.text(3, "E"), b.fractions(4, 0, 1, 0, 1, 0, 1)}},
			"position is 0, 0: the receiver had no fix"},
		{"no fix, south and west", fields{gps: []rawField{
			b.text(1, "S"), b.fractions(2, 0, 1, 0, 1, 0, 1), b.text(3, "W"), b.fractions(4, 0, 1, 0, 1, 0, 1)}},
			"position is 0, 0: the receiver had no fix"},
		{"value past the end", change(1, sound[1].withOffset(1<<20)), "latitude is unreadable: it is not three fractions"},
		{"value wraps round", change(1, sound[1].withOffset(math.MaxUint32)), "latitude is unreadable: it is not three fractions"},
		{"value in the header", change(1, sound[1].withOffset(0)), "latitude is unreadable: it is not three fractions"},
		{"huge count", change(1, sound[1].withCount(math.MaxUint32)), "latitude is unreadable: it is not three fractions"},
		{"count that wraps round to 24 bytes", change(1, sound[1].withCount(1<<29+3)), "latitude is unreadable: it is not three fractions"},
		{"unknown type", change(1, sound[1].withKind(77)), "latitude is unreadable: it is not three fractions"},
		{"two latitudes", fields{gps: append(slices.Clone(sound), b.fractions(2, 41, 1, 0, 1, 0, 1))},
			"latitude is unreadable: it is not three fractions"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := decode(jpegOf(exifSegment(b.tiff(c.f))))
			if err == nil {
				t.Fatalf("accepted at %v", p.Position)
			}
			if err.Error() != c.want {
				t.Errorf("said %q, want %q", err, c.want)
			}
		})
	}
}

func TestDecodeZeroLatitudeAlone(t *testing.T) {
	b := builder{binary.LittleEndian}
	gps := b.pittsburgh()
	gps[1] = b.fractions(2, 0, 1, 0, 1, 0, 1)
	if p := mustDecode(t, jpegOf(exifSegment(b.tiff(fields{gps: gps})))); p.Position.Lat() != 0 || p.Position.Lon() > -79 {
		t.Errorf("a place on the equator came out at %v", p.Position)
	}
}

// decodeWith adds fields to a sound position.
func decodeWith(t *testing.T, b builder, f fields) Photo {
	t.Helper()
	f.gps = append(b.pittsburgh(), f.gps...)
	return mustDecode(t, jpegOf(exifSegment(b.tiff(f))))
}

// Up to Exif 2.32 (CIPA DC-008-2019) reference 0 is above and 1 below sea
// level; Exif 3.0 (CIPA DC-008-2023) has 0 and 1 for the ellipsoid, 2 and 3 for
// sea level: from memory.
func TestDecodeAltitude(t *testing.T) {
	b := builder{binary.BigEndian}
	metres := b.fractions(6, 1234, 10)
	ref := func(x byte) rawField { return b.raw(5, typeByte, x) }
	for _, c := range []struct {
		name, version string
		gps           []rawField
		want          float64
		datum         string
	}{
		{"above sea level", "0232", []rawField{ref(0), metres}, 123.4, SeaLevel},
		{"below sea level", "0210", []rawField{ref(1), metres}, -123.4, SeaLevel},
		{"above the ellipsoid", "0300", []rawField{ref(0), metres}, 123.4, Ellipsoid},
		{"below the ellipsoid", "0300", []rawField{ref(1), metres}, -123.4, Ellipsoid},
		{"above sea level, 3.0", "0300", []rawField{ref(2), metres}, 123.4, SeaLevel},
		{"below sea level, 3.0", "0300", []rawField{ref(3), metres}, -123.4, SeaLevel},
		{"no edition", "", []rawField{ref(0), metres}, 123.4, UnknownDatum},
		{"no reference", "0232", []rawField{metres}, 123.4, UnknownDatum},
		{"unknown reference", "0232", []rawField{ref(7), metres}, math.NaN(), ""},
		{"reference of a wrong type", "0232", []rawField{b.text(5, "0"), metres}, math.NaN(), ""},
		{"denominator 0", "0232", []rawField{ref(0), b.fractions(6, 1234, 0)}, math.NaN(), ""},
		{"all bits set", "0232", []rawField{ref(0), b.fractions(6, math.MaxUint32, 1)}, math.NaN(), ""},
		{"signed and below", "0232", []rawField{ref(1), b.signed(6, -50, 10)}, -5, SeaLevel},
		{"zero is a height", "0232", []rawField{ref(0), b.fractions(6, 0, 1)}, 0, SeaLevel},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := fields{gps: c.gps}
			if c.version != "" {
				f.exif = []rawField{b.raw(0x9000, typeUndefined, []byte(c.version)...)}
			}
			if p := decodeWith(t, b, f); !almost(p.Altitude, c.want, 1e-9) || p.AltitudeDatum != c.datum {
				t.Errorf("%g %q, want %g %q", p.Altitude, p.AltitudeDatum, c.want, c.datum)
			}
		})
	}
}

func TestDecodeAttitude(t *testing.T) {
	b := builder{binary.LittleEndian}
	for _, c := range []struct {
		name       string
		ref        string
		direction  []uint32
		elevation  []int32
		yaw, pitch float64
	}{
		{"true north, straight down", "T", []uint32{12345, 100}, []int32{-90, 1}, 123.45, -90},
		{"magnetic stays unknown", "M", []uint32{12345, 100}, []int32{-899, 10}, math.NaN(), -89.9},
		{"no reference", "", []uint32{12345, 100}, []int32{10, -1}, math.NaN(), math.NaN()},
		{"full circle", "T", []uint32{360, 1}, []int32{-90, 0}, 0, math.NaN()},
		{"more than a circle", "T", []uint32{361, 1}, []int32{-181, 1}, math.NaN(), math.NaN()},
		{"denominator 0", "T", []uint32{90, 0}, []int32{0, 1}, math.NaN(), 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := fields{
				exif: []rawField{b.signed(0x9405, c.elevation...)},
				gps:  []rawField{b.fractions(0x11, c.direction...)},
			}
			if c.ref != "" {
				f.gps = append(f.gps, b.text(0x10, c.ref))
			}
			if p := decodeWith(t, b, f); !almost(p.Yaw, c.yaw, 1e-9) || !almost(p.Pitch, c.pitch, 1e-9) {
				t.Errorf("yaw %g pitch %g, want %g %g", p.Yaw, p.Pitch, c.yaw, c.pitch)
			}
		})
	}
}

func TestDecodeTime(t *testing.T) {
	b := builder{binary.BigEndian}
	gps := func(date string, hms ...uint32) []rawField {
		return []rawField{b.text(0x1D, date), b.fractions(7, hms...)}
	}
	camera := func(clock, fraction, offset string) (fs []rawField) {
		for tag, s := range map[uint16]string{0x9003: clock, 0x9291: fraction, 0x9011: offset} {
			if s != "" {
				fs = append(fs, b.text(tag, s))
			}
		}
		return append(fs, b.raw(0x9000, typeUndefined, []byte("0232")...))
	}
	noon := camera("2026:05:01 12:00:00", "05", "+09:00")
	for _, c := range []struct {
		name         string
		exif, gps    []rawField
		want, source string // want in RFC 3339, "" for unknown
	}{
		{"the receiver goes first", noon, gps("2026:05:01", 3, 1, 4, 1, 5500, 1000), "2026-05-01T03:04:05.5Z", TimeFromGPS},
		{"leap second", noon, gps("2016:12:31", 23, 1, 59, 1, 60, 1), "2017-01-01T00:00:00Z", TimeFromGPS},
		{"receiver without a date", noon, gps("", 3, 1, 4, 1, 5, 1), "2026-05-01T12:00:00.05+09:00", TimeWithOffset},
		{"receiver with hour 24", noon, gps("2026:05:01", 24, 1, 0, 1, 0, 1), "2026-05-01T12:00:00.05+09:00", TimeWithOffset},
		{"receiver over 0", noon, gps("2026:05:01", 3, 1, 4, 0, 5, 1), "2026-05-01T12:00:00.05+09:00", TimeWithOffset},
		{"no zone", camera("2026:05:01 12:00:00", "5", ""), nil, "2026-05-01T12:00:00.5Z", TimeWithoutZone},
		{"blank zone", camera("2026:05:01 12:00:00", "   ", "   :  "), nil, "2026-05-01T12:00:00Z", TimeWithoutZone},
		{"impossible zone", camera("2026:05:01 12:00:00", "", "+99:00"), nil, "2026-05-01T12:00:00Z", TimeWithoutZone},
		{"blank clock", camera("    :  :     :  :  ", "", "+09:00"), nil, "", ""},
		{"zero clock", camera("0000:00:00 00:00:00", "", ""), nil, "", ""},
		{"13th month", camera("2026:13:01 12:00:00", "", ""), nil, "", ""},
		{"nothing", nil, nil, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := decodeWith(t, b, fields{exif: c.exif, gps: c.gps})
			var want time.Time
			if c.want != "" {
				want, _ = time.Parse(time.RFC3339, c.want)
			}
			if !p.Time.Equal(want) || p.TimeSource != c.source {
				t.Errorf("%v %q, want %v %q", p.Time, p.TimeSource, want, c.source)
			}
		})
	}
}

func TestDecodeCamera(t *testing.T) {
	b := builder{binary.LittleEndian}
	// 5472 pixels over 13.2 mm are 5472/0.519685 = 10529.45 an inch.
	size := []rawField{b.short(0xA002, 5472), b.long(0xA003, 3648)}
	focal := b.fractions(0x920A, 88, 10)
	perInch := []rawField{b.fractions(0xA20E, 1052945, 100), b.fractions(0xA20F, 1052945, 100)}
	perCentimetre := []rawField{b.fractions(0xA20E, 414545, 100), b.fractions(0xA20F, 414545, 100)}
	const plane, equivalent = "focal-plane resolution", "35 mm equivalent (diagonal 43.27 mm, good to about 5 %)"
	for _, c := range []struct {
		name   string
		exif   []rawField
		want   Camera
		source string
	}{
		{"inches", slices.Concat(size, perInch, []rawField{focal, b.short(0xA210, 2)}),
			Camera{13.2, 8.8, 8.8, 5472, 3648}, plane},
		{"inches unless stated", slices.Concat(size, perInch, []rawField{focal}), Camera{13.2, 8.8, 8.8, 5472, 3648}, plane},
		{"centimetres", slices.Concat(size, perCentimetre, []rawField{focal, b.short(0xA210, 3)}),
			Camera{13.2, 8.8, 8.8, 5472, 3648}, plane},
		{"unknown unit", slices.Concat(size, perInch, []rawField{focal, b.short(0xA210, 1)}),
			Camera{0, 0, 8.8, 5472, 3648}, ""},
		// 43.2666 mm × 8.8/24 = 15.8644 mm diagonal, × 3/√13 and 2/√13.
		{"35 mm equivalent", slices.Concat(size, []rawField{focal, b.short(0xA405, 24)}),
			Camera{13.2, 8.8, 8.8, 5472, 3648}, equivalent},
		{"35 mm equivalent unknown", slices.Concat(size, []rawField{focal, b.short(0xA405, 0)}),
			Camera{0, 0, 8.8, 5472, 3648}, ""},
		{"35 mm equivalent without a focal length", slices.Concat(size, []rawField{b.short(0xA405, 24)}),
			Camera{0, 0, 0, 5472, 3648}, ""},
		{"resolution over 0", slices.Concat(size, []rawField{focal, b.fractions(0xA20E, 1, 0), b.fractions(0xA20F, 1, 0), b.short(0xA405, 24)}),
			Camera{13.2, 8.8, 8.8, 5472, 3648}, equivalent},
		{"resolution 0", slices.Concat(size, []rawField{focal, b.fractions(0xA20E, 0, 1), b.fractions(0xA20F, 0, 1)}),
			Camera{0, 0, 8.8, 5472, 3648}, ""},
		{"the two disagree", slices.Concat(size, perInch, []rawField{focal, b.short(0xA405, 48)}),
			Camera{13.2, 8.8, 8.8, 5472, 3648}, plane + " (the 35 mm equivalent gives a sensor 6.6 mm wide instead of 13.2 mm)"},
		{"size of the stored image", []rawField{focal}, Camera{0, 0, 8.8, 5472, 3648}, ""},
		{"size 0", []rawField{focal, b.short(0xA002, 0), b.short(0xA003, 0)}, Camera{0, 0, 8.8, 5472, 3648}, ""},
		{"focal length over 0", slices.Concat(size, []rawField{b.fractions(0x920A, 88, 0)}), Camera{0, 0, 0, 5472, 3648}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := fields{exif: c.exif, gps: b.pittsburgh()}
			p := mustDecode(t, jpegSized(5472, 3648, exifSegment(b.tiff(f))))
			got := p.Camera
			if !almost(got.SensorWidth, c.want.SensorWidth, 1e-3) || !almost(got.SensorHeight, c.want.SensorHeight, 1e-3) ||
				!almost(got.FocalLength, c.want.FocalLength, 1e-9) || got.Columns != c.want.Columns || got.Rows != c.want.Rows {
				t.Errorf("%+v, want %+v", got, c.want)
			}
			if p.CameraSource != c.source {
				t.Errorf("source %q, want %q", p.CameraSource, c.source)
			}
		})
	}
}

func TestDecodeTheRest(t *testing.T) {
	b := builder{binary.BigEndian}
	p := decodeWith(t, b, fields{
		main: []rawField{b.text(0x0110, "  Wide \x01lens\x00 junk"), b.short(0x0112, 6)},
		exif: []rawField{b.fractions(0x829A, 1, 640)},
		gps:  []rawField{b.text(0x12, "GDA2020"), b.fractions(0x1F, 15, 10)},
	})
	if p.CameraModel != "Wide lens" || p.Orientation != 6 || p.ExposureTime != 1.0/640 || p.MapDatum != "GDA2020" || p.PositionError != 1.5 {
		t.Errorf("%+v", p)
	}
	p = decodeWith(t, b, fields{
		main: []rawField{b.text(0x0110, "\xff\xfe"), b.short(0x0112, 9)},
		exif: []rawField{b.fractions(0x829A, 0, 1)},
		gps:  []rawField{b.fractions(0x1F, 0, 1)},
	})
	if p.CameraModel != "" || p.Orientation != 0 || !math.IsNaN(p.ExposureTime) || !math.IsNaN(p.PositionError) {
		t.Errorf("%+v", p)
	}
}

func TestDecodeSegments(t *testing.T) {
	b := builder{binary.BigEndian}
	exif := exifSegment(b.tiff(fields{gps: b.pittsburgh()}))
	gps := b.pittsburgh()
	gps[1] = b.fractions(2, 10, 1, 0, 1, 0, 1)
	second := exifSegment(b.tiff(fields{gps: gps}))
	app0 := segment(0xE0, []byte("JFIF\x00\x01\x02\x00\x00\x01\x00\x01\x00\x00"))
	packet := segment(0xE1, []byte("http://ns.adobe.com/xap/1.0/\x00<x/>"))
	long := segment(0xE2, make([]byte, 65000))
	whole := jpegOf(exif)
	for _, c := range []struct {
		name string
		data []byte
		want string // "" for the sound position
	}{
		{"Exif after other segments", jpegOf(app0, packet, exif), ""},
		{"Exif after a long segment", jpegOf(long, exif), ""},
		{"fill bytes", jpegOf([]byte{0xFF, 0xFF, 0xFF}, exif, []byte{0xFF}), ""},
		{"bytes between segments", jpegOf([]byte{0xFF, 0x01, 0, 0}, exif, []byte{0, 1, 2}), ""},
		{"two Exif segments", jpegOf(exif, second), ""},
		{"image header past the head", jpegOf(exif, long, long, long), ""},
		{"Exif past the first part", jpegOf(long, long, long, exif), ""},
		{"Exif across the end of the first part", jpegOf(segment(0xE2, make([]byte, FirstRead-40)), exif), ""},
		{"ten long segments before it", jpegOf(slices.Concat(long, long, long, long, long, long, long, long, long, long), exif), ""},
		{"no Exif", jpegOf(app0, packet), "no Exif metadata"},
		{"empty file", nil, "the file is empty"},
		{"text", []byte("file,lon,lat\n"), "not a JPEG image"},
		{"TIFF image", b.tiff(fields{gps: b.pittsburgh()}), ""},
		{"zeros", make([]byte, 5000), "not a JPEG image"},
		{"cut in the metadata", whole[:60], "cut short: the file ends inside its metadata"},
		{"cut before the image data", whole[:2+len(exif)+5], "cut short: the file ends before its image data"},
		{"cut in the image data", whole[:len(whole)-1], "cut short: the image data has no end"},
		{"zeros instead of image data", append(slices.Clone(whole[:2+len(exif)]), make([]byte, 500)...),
			"cut short: the file ends before its image data"},
		{"end instead of image data", append(slices.Clone(whole[:2+len(exif)]), 0xFF, 0xD9), "cut short: it holds no image data"},
		{"segment without a length", jpegOf([]byte{0xFF, 0xE1, 0, 1}, exif), "damaged: a segment before the image data has no length"},
		{"Exif of no size", jpegOf(exifSegment(nil)), "damaged metadata: it is too short"},
		{"unknown byte order", jpegOf(exifSegment([]byte("IM*\x00\x08\x00\x00\x00\x00\x00"))), "damaged metadata: its byte order is not stated"},
		{"byte order exchanged", jpegOf(exifSegment(append([]byte("II*\x00"), b.tiff(fields{gps: b.pittsburgh()})[4:]...))),
			"damaged metadata: a directory lies outside it"},
		{"directory in the header", jpegOf(exifSegment([]byte("II*\x00\x00\x00\x00\x00\x00\x00"))), "damaged metadata: a directory lies outside it"},
		{"65535 fields", jpegOf(exifSegment([]byte("II*\x00\x08\x00\x00\x00\xff\xff\x00"))), "damaged metadata: a directory is cut short"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := decode(c.data)
			switch {
			case c.want == "" && err != nil:
				t.Error(err)
			case c.want == "" && !almost(p.Position.Lat(), 40.446111, 5e-7):
				t.Errorf("position %v", p.Position)
			case c.want != "" && (err == nil || err.Error() != c.want):
				t.Errorf("said %v, want %q", err, c.want)
			}
		})
	}
}

// Reasons follow the words "left out:", so each is one clause.
func TestReasonsAreClauses(t *testing.T) {
	for _, data := range [][]byte{nil, []byte("x"), jpegOf(), jpegOf(exifSegment(nil))} {
		_, err := decode(data)
		if err == nil || strings.HasSuffix(err.Error(), ".") || strings.Contains(err.Error(), "a.jpg") {
			t.Errorf("reason %q", err)
		}
	}
}
