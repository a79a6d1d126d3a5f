package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

func thumbnail() image.Image {
	img := image.NewRGBA(image.Rect(0, 0, 48, 32))
	for x := range 48 {
		for y := range 32 {
			img.Set(x, y, color.RGBA{uint8(5 * x), uint8(8 * y), 90, 255})
		}
	}
	return img
}

var invented = Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648}

// samples differ in hemisphere, zone, edition and in what is known.
func samples() map[string]Photo {
	full := New("full.jpg", orb.Point{13.37654321, 52.51234567})
	full.Altitude, full.AltitudeDatum = 123.456, SeaLevel
	full.Yaw, full.Pitch = 271.25, -89.9
	full.Time, full.TimeSource = time.Date(2026, 5, 1, 23, 59, 59, 250e6, time.FixedZone("", 2*3600)), TimeFromGPS
	full.ExposureTime, full.PositionError, full.DOP = 1.0/640, 1.5, 0.75
	full.FNumber, full.ISO, full.Lens = 2.8, 400, "8.8 mm f/2.8"
	full.Camera, full.CameraModel, full.CameraSource = invented, "Wide lens", "focal-plane resolution"
	full.MapDatum, full.Orientation = "WGS-84", 1

	south := New("south.jpg", orb.Point{-68.30000001, -54.80000001})
	south.Altitude, south.AltitudeDatum = -12.5, Ellipsoid
	south.Yaw = 0
	south.Time, south.TimeSource = time.Date(2026, 12, 31, 22, 0, 0, 0, time.FixedZone("", -3*3600)), TimeWithOffset
	south.Camera = Camera{SensorWidth: 35.9, SensorHeight: 24, FocalLength: 35, Columns: 9504, Rows: 6336}

	bare := New("bare.jpg", orb.Point{179.99999999, -0.00000001})
	bare.Time, bare.TimeSource = time.Date(2026, 5, 1, 10, 0, 0, 7e6, time.UTC), TimeWithoutZone
	return map[string]Photo{"full": full, "south": south, "bare": bare}
}

func encoded(t interface {
	Helper()
	Fatal(...any)
}, p Photo) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Encode(&out, thumbnail(), p); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// differences lists where b does not repeat a, but for the fields that Exif
// has no place for.
func differences(a, b Photo) (out []string) {
	for _, c := range []struct {
		what      string
		a, b      float64
		tolerance float64
	}{
		{"longitude", a.Position[0], b.Position[0], 1e-10},
		{"latitude", a.Position[1], b.Position[1], 1e-10},
		{"altitude", a.Altitude, b.Altitude, 1e-4},
		{"yaw", a.Yaw, b.Yaw, 1e-6},
		{"pitch", a.Pitch, b.Pitch, 1e-6},
		{"exposure time", a.ExposureTime, b.ExposureTime, 1e-7},
		{"dilution of precision", a.DOP, b.DOP, 1e-6},
		{"F number", a.FNumber, b.FNumber, 1e-6},
		{"sensitivity", a.ISO, b.ISO, 0},
		{"position error", a.PositionError, b.PositionError, 1e-6},
		{"focal length", a.Camera.FocalLength, b.Camera.FocalLength, 1e-6},
		{"sensor width", a.Camera.SensorWidth, b.Camera.SensorWidth, 1e-6},
		{"sensor height", a.Camera.SensorHeight, b.Camera.SensorHeight, 1e-6},
	} {
		if !almost(c.a, c.b, c.tolerance) {
			out = append(out, c.what)
		}
	}
	if !a.Time.Equal(b.Time) || a.TimeSource != b.TimeSource {
		out = append(out, "time")
	}
	if a.Lens != b.Lens {
		out = append(out, "lens")
	}
	if a.AltitudeDatum != b.AltitudeDatum {
		out = append(out, "altitude datum")
	}
	if a.Camera.Columns != b.Camera.Columns || a.Camera.Rows != b.Camera.Rows {
		out = append(out, "image size")
	}
	return out
}

func TestEncodeRoundTrip(t *testing.T) {
	for name, p := range samples() {
		t.Run(name, func(t *testing.T) {
			data := encoded(t, p)
			img, err := jpeg.Decode(bytes.NewReader(data))
			if err != nil || img.Bounds().Dx() != 48 || img.Bounds().Dy() != 32 {
				t.Fatalf("not the image that went in: %v", err)
			}
			back := mustDecode(t, data)
			want := p
			if p.Camera.Columns == 0 {
				want.Camera.Columns, want.Camera.Rows = 48, 32
			}
			if d := differences(want, back); d != nil {
				t.Errorf("%v differ:\n in %+v\nout %+v", d, want, back)
			}
			if back.MapDatum != "WGS-84" || back.Orientation != 1 || (p.CameraModel != "" && back.CameraModel != p.CameraModel) ||
				(p.CameraModel == "" && back.CameraModel != "Invented Camera") {
				t.Errorf("datum %q, orientation %d, model %q", back.MapDatum, back.Orientation, back.CameraModel)
			}
		})
	}
}

func TestEncodeRoundTripProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(name string, low, high float64) float64 {
			if rapid.Bool().Draw(t, name+" unknown") {
				return math.NaN()
			}
			return rapid.Float64Range(low, high).Draw(t, name)
		}
		p := New("a.jpg", orb.Point{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(1e-6, 90).Draw(t, "lat")})
		p.Altitude = number("altitude", -400, 9000)
		if !math.IsNaN(p.Altitude) {
			p.AltitudeDatum = rapid.SampledFrom([]string{SeaLevel, Ellipsoid}).Draw(t, "datum")
		}
		p.Yaw = number("yaw", 0, 359.9999)
		p.Pitch = number("pitch", -180, 180)
		p.ExposureTime = number("exposure", 1e-5, 30)
		p.PositionError = number("error", 0.01, 100)
		if rapid.Bool().Draw(t, "timed") {
			p.Time = time.UnixMilli(rapid.Int64Range(0, 4e12).Draw(t, "time")).UTC()
			p.TimeSource = rapid.SampledFrom([]string{TimeFromGPS, TimeWithOffset, TimeWithoutZone}).Draw(t, "clock")
		}
		p.Camera = Camera{
			SensorWidth:  rapid.Float64Range(1, 60).Draw(t, "width"),
			SensorHeight: rapid.Float64Range(1, 60).Draw(t, "height"),
			FocalLength:  rapid.Float64Range(1, 300).Draw(t, "focal"),
			Columns:      rapid.IntRange(100, 20000).Draw(t, "columns"),
			Rows:         rapid.IntRange(100, 20000).Draw(t, "rows"),
		}
		back, err := decode(encoded(t, p))
		if err != nil {
			t.Fatal(err)
		}
		if d := differences(p, back); d != nil {
			t.Fatalf("%v differ:\n in %+v\nout %+v", d, p, back)
		}
	})
}

// An altitude of which the datum is unknown is written as above sea level,
// since Exif has no word for the other.
func TestEncodeUnknownDatum(t *testing.T) {
	p := New("a.jpg", orb.Point{1, 2})
	p.Altitude, p.AltitudeDatum = 50, UnknownDatum
	if back := mustDecode(t, encoded(t, p)); back.AltitudeDatum != SeaLevel || back.Altitude != 50 {
		t.Errorf("%g %q", back.Altitude, back.AltitudeDatum)
	}
}

func TestEncodeRefuses(t *testing.T) {
	for _, position := range []orb.Point{{math.NaN(), 0}, {0, 91}, {181, 0}, {0, math.Inf(1)}} {
		var out bytes.Buffer
		if err := Encode(&out, thumbnail(), New("a.jpg", position)); err == nil || out.Len() > 0 {
			t.Errorf("position %v: %v, %d bytes written", position, err, out.Len())
		}
	}
}

func TestFraction(t *testing.T) {
	for _, c := range []struct {
		x           float64
		most        float64
		top, bottom int64
	}{
		{0, math.MaxUint32, 0, 1},
		{1.0 / 640, math.MaxUint32, 1, 640},
		{8.8, math.MaxUint32, 44, 5},
		{1e12, math.MaxUint32, math.MaxUint32, 1},
		{90, math.MaxInt32, 90, 1},
		{4145.454545454545, math.MaxUint32, 829090909, 200000},
	} {
		top, bottom := fraction(c.x, c.most)
		if top != c.top || bottom != c.bottom {
			t.Errorf("fraction(%g) = %d/%d, want %d/%d", c.x, top, bottom, c.top, c.bottom)
		}
	}
}
