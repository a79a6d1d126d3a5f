package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
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
		"F number": p.FNumber, "sensitivity": p.ISO, "digital zoom": p.DigitalZoom, "DOP": p.DOP, "doubt": p.CameraDoubt,
		"sensor width": p.Camera.SensorWidth, "sensor height": p.Camera.SensorHeight, "focal length": p.Camera.FocalLength} {
		if math.IsInf(x, 0) {
			t.Errorf("%s is infinite", what)
		}
	}
	for what, s := range map[string]struct {
		x    float64
		from Source
	}{"altitude": {p.Altitude, p.Sources.Altitude}, "height": {p.Height, p.Sources.Height}, "yaw": {p.Yaw, p.Sources.Yaw},
		"pitch": {p.Pitch, p.Sources.Pitch}, "roll": {p.Roll, p.Sources.Roll}, "position error": {p.PositionError, p.Sources.PositionError}} {
		if math.IsNaN(s.x) != (s.from == Unsaid) {
			t.Errorf("%s %g from source %d", what, s.x, s.from)
		}
	}
	if p.CameraDoubt <= 0 || p.PositionError <= 0 || p.DigitalZoom < 1 || math.Abs(p.Pitch) > 180 || math.Abs(p.Roll) > 180 {
		t.Errorf("out of range: %+v", p)
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
				if p, err := decode(whole[:n]); err == nil {
					t.Errorf("file cut after %d of %d bytes accepted at %v", n, len(whole), p.Position)
				}
			}
			for n := range tiff {
				p, err := decode(jpegOf(exifSegment(tiff[:n])))
				if err == nil && p.Position != want.Position {
					t.Errorf("metadata cut after %d of %d bytes: %v, want %v", n, len(tiff), p.Position, want.Position)
				}
			}
			// The main directory laid out first, so that what is cut is the position and the camera.
			flipped, err := encodeExif(want, true)
			if err != nil {
				t.Fatal(err)
			}
			accepted := 0
			for n := range flipped {
				p, err := decode(jpegOf(exifSegment(flipped[:n])))
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
					p, err := decode(jpegOf(exifSegment(b.tiff(fields{main: rich.main, exif: rich.exif, gps: gps}))))
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
				if p, err := decode(jpegOf(exifSegment(b.tiff(fields{main: pointed})))); err == nil {
					t.Errorf("a position directory at %d gave %v", target, p.Position)
				}
			}
		})
	}
}

// checkRead reads data as a file and fails unless an error says why not, or what
// was read holds, within the bounds of reading.
func checkRead(t *testing.T, data []byte) {
	t.Helper()
	c := &counted{ReaderAt: bytes.NewReader(data)}
	p, err := Read("a.jpg", c, int64(len(data)), poseNames)
	if c.bytes > FirstRead+UsualHead || c.reads > 1+mostReads {
		t.Errorf("%d bytes read in %d places", c.bytes, c.reads)
	}
	if err != nil && (err.Error() == "" || strings.HasSuffix(err.Error(), ".")) {
		t.Errorf("said %q", err)
	}
	if p.Located() != (err == nil) && p.File != "" {
		t.Errorf("position %v with %v", p.Position, err)
	}
	switch {
	case err == nil:
		checkWhole(t, p)
		if err := Encode(io.Discard, image.NewGray(image.Rect(0, 0, 1, 1)), p); err != nil {
			t.Errorf("what was read cannot be written: %v", err)
		}
	case errors.Is(err, ErrUnlocated):
		p.Position = orb.Point{1, 1}
		checkWhole(t, p)
	case fmt.Sprintf("%+v", p) != fmt.Sprintf("%+v", Photo{}):
		t.Errorf("%v, and yet %+v", err, p)
	}
	list, listErr := Properties(bytes.NewReader(data), int64(len(data)))
	for _, q := range list {
		if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) || q.Name == "" {
			t.Errorf("property %+v", q)
		}
	}
	if listErr == nil {
		Suggest(list)
	}
}

func FuzzReadJPEG(f *testing.F) {
	for _, b := range bothOrders {
		f.Add(jpegOf(exifSegment(b.tiff(b.rich()))))
		f.Add(jpegOf(exifSegment(b.tiff(fields{gps: b.pittsburgh()}))))
		f.Add(jpegOf(segment(0xE1, []byte(xmpHeader+located))))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		checkRead(t, data)
		if len(data) < 60_000 {
			checkRead(t, jpegOf(exifSegment(data)))
			checkRead(t, jpegOf(segment(0xE1, append([]byte(xmpHeader), data...))))
		}
	})
}

func FuzzReadTIFF(f *testing.F) {
	for _, b := range bothOrders {
		f.Add(b.tiff(b.rich()))
		f.Add(b.dng(600, 400, b.rich()))
		f.Add(b.tiff(fields{main: append(b.picture(600, 400), b.raw(tagXMP, typeByte, []byte(located)...))}))
	}
	f.Fuzz(checkRead)
}

func FuzzReadHEIF(f *testing.F) {
	b := bothOrders["big-endian"]
	f.Add(heifOf(600, 400, b.tiff(b.rich()), ""))
	f.Add(heifOf(600, 400, nil, located))
	f.Fuzz(checkRead)
}

func FuzzReadPNG(f *testing.F) {
	b := bothOrders["big-endian"]
	f.Add(pngOf(600, 400, chunkOf("eXIf", b.tiff(b.rich()))))
	f.Add(pngOf(600, 400, chunkOf("iTXt", []byte(pngPacket+"\x00\x00\x00\x00"+located))))
	f.Add(pngOf(600, 400, chunkOf("iTXt", deflated(located))))
	f.Fuzz(checkRead)
}
