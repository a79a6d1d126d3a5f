package photo

import (
	"image"
	"io"
	"math"
	"slices"
	"testing"
)

// rich has every field that Decode reads.
func (b builder) rich() fields {
	return fields{
		main: []rawField{b.text(0x0110, "Invented Camera"), b.short(0x0112, 1)},
		exif: []rawField{
			b.fractions(0x829A, 1, 1000), b.raw(0x9000, typeUndefined, []byte("0232")...),
			b.text(0x9003, "2026:05:01 12:00:00"), b.text(0x9011, "+02:00"), b.text(0x9291, "25"),
			b.fractions(0x920A, 88, 10), b.signed(0x9405, -90, 1), b.long(0xA002, 5472), b.long(0xA003, 3648),
			b.fractions(0xA20E, 414545, 100), b.fractions(0xA20F, 414545, 100), b.short(0xA210, 3), b.short(0xA405, 24),
		},
		gps: append(b.pittsburgh(),
			b.raw(5, typeByte, 0), b.fractions(6, 1234, 10), b.fractions(7, 10, 1, 0, 1, 5, 1),
			b.text(0x10, "T"), b.fractions(0x11, 90, 1), b.text(0x12, "WGS-84"), b.text(0x1D, "2026:05:01"), b.fractions(0x1F, 2, 1)),
	}
}

// checkWhole fails unless every number of p is unknown or within its range.
func checkWhole(t *testing.T, p Photo) {
	t.Helper()
	if lon, lat := p.Position[0], p.Position[1]; !(math.Abs(lon) <= 180) || !(math.Abs(lat) <= 90) || lon == 0 && lat == 0 {
		t.Errorf("position %v", p.Position)
	}
	for what, x := range map[string]float64{"altitude": p.Altitude, "height": p.Height, "yaw": p.Yaw, "pitch": p.Pitch,
		"roll": p.Roll, "exposure": p.ExposureTime, "position error": p.PositionError,
		"sensor width": p.Camera.SensorWidth, "sensor height": p.Camera.SensorHeight, "focal length": p.Camera.FocalLength} {
		if math.IsInf(x, 0) {
			t.Errorf("%s is infinite", what)
		}
	}
	if p.Yaw < 0 || p.Yaw >= 360 {
		t.Errorf("yaw %g", p.Yaw)
	}
	c := p.Camera
	if c.SensorWidth < 0 || math.IsNaN(c.SensorWidth+c.SensorHeight+c.FocalLength) || c.Columns < 0 || c.Rows < 0 ||
		(p.CameraSource == "") != (c.SensorWidth == 0) {
		t.Errorf("camera %+v from %q", c, p.CameraSource)
	}
	if math.IsNaN(p.Altitude) != (p.AltitudeDatum == "") || p.Time.IsZero() != (p.TimeSource == "") {
		t.Errorf("a value without its source: %+v", p)
	}
}

// Whatever is cut off, what comes back is an error or the true value.
func TestTruncatedAnywhere(t *testing.T) {
	for name, b := range bothOrders {
		t.Run(name, func(t *testing.T) {
			tiff := b.tiff(b.rich())
			whole := jpegOf(exifSegment(tiff))
			want := mustDecode(t, whole)
			for n := range whole {
				if p, err := Decode("a.jpg", whole[:n]); err == nil {
					t.Errorf("file cut after %d of %d bytes accepted at %v", n, len(whole), p.Position)
				}
			}
			for n := range tiff {
				p, err := Decode("a.jpg", jpegOf(exifSegment(tiff[:n])))
				if err == nil && p.Position != want.Position {
					t.Errorf("metadata cut after %d of %d bytes: %v, want %v", n, len(tiff), p.Position, want.Position)
				}
			}
			// The main directory laid out first, so that what is cut is the position and the camera.
			flipped, err := encodeExif(want)
			if err != nil {
				t.Fatal(err)
			}
			accepted := 0
			for n := range flipped {
				p, err := Decode("a.jpg", jpegOf(exifSegment(flipped[:n])))
				if err != nil {
					continue
				}
				accepted++
				if !almost(p.Position[0], want.Position[0], 1e-8) || !almost(p.Position[1], want.Position[1], 1e-8) {
					t.Errorf("metadata cut after %d of %d bytes: %v, want %v", n, len(flipped), p.Position, want.Position)
				}
				checkWhole(t, p)
			}
			if accepted == 0 {
				t.Error("no cut leaves the position whole: the test proves nothing")
			}
		})
	}
}

func TestHostileDirectories(t *testing.T) {
	for name, b := range bothOrders {
		t.Run(name, func(t *testing.T) {
			rich := b.rich()
			want := mustDecode(t, jpegOf(exifSegment(b.tiff(rich)))).Position
			for i := range rich.gps {
				for _, change := range []func(rawField) rawField{
					func(f rawField) rawField { return f.withOffset(0) },
					func(f rawField) rawField { return f.withOffset(math.MaxUint32 - 3) },
					func(f rawField) rawField { return f.withCount(0) },
					func(f rawField) rawField { return f.withCount(math.MaxUint32) },
					func(f rawField) rawField { return f.withCount(1 << 29) },
					func(f rawField) rawField { return f.withKind(0) },
					func(f rawField) rawField { return f.withKind(12) },
					func(f rawField) rawField { return f.withKind(65535) },
				} {
					gps := slices.Clone(rich.gps)
					gps[i] = change(gps[i])
					p, err := Decode("a.jpg", jpegOf(exifSegment(b.tiff(fields{rich.main, rich.exif, gps}))))
					if err != nil {
						continue
					}
					if !almost(p.Position[0], want[0], 1e-12) || !almost(p.Position[1], want[1], 1e-12) {
						t.Errorf("field 0x%02x changed to %+v: %v, want %v", rich.gps[i].tag, gps[i], p.Position, want)
					}
					checkWhole(t, p)
				}
			}
			// Directories that point at themselves, at each other and at nothing.
			tiff := b.tiff(rich)
			main := b.order.Uint32(tiff[4:])
			for _, target := range []uint32{0, 1, 8, main, main + 2, uint32(len(tiff)) - 1, uint32(len(tiff)), math.MaxUint32} {
				pointed := append(slices.Clone(rich.main), b.long(0x8825, target), b.long(0x8769, target), b.long(0xA005, target))
				if p, err := Decode("a.jpg", jpegOf(exifSegment(b.tiff(fields{main: pointed})))); err == nil {
					t.Errorf("a position directory at %d gave %v", target, p.Position)
				}
			}
		})
	}
}

func FuzzDecode(f *testing.F) {
	for _, b := range bothOrders {
		f.Add(jpegOf(exifSegment(b.tiff(b.rich()))))
		f.Add(b.tiff(b.rich()))
		f.Add(b.tiff(fields{gps: b.pittsburgh()}))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		inputs := [][]byte{data}
		if len(data) < 60_000 {
			inputs = append(inputs, jpegOf(exifSegment(data)))
		}
		for _, head := range inputs {
			p, err := Decode("a.jpg", head)
			if err != nil {
				if err.Error() == "" {
					t.Error("an error without words")
				}
				continue
			}
			checkWhole(t, p)
			if err := Encode(io.Discard, image.NewGray(image.Rect(0, 0, 1, 1)), p); err != nil {
				t.Errorf("what was read cannot be written: %v", err)
			}
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	little := bothOrders["little-endian"]
	data := jpegOf(exifSegment(little.tiff(little.rich())), segment(0xE1, make([]byte, 60_000)))
	head := append(data, make([]byte, HeadBytes-len(data))...)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode("a.jpg", head); err != nil {
			b.Fatal(err)
		}
	}
}
