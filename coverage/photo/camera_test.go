package photo

import (
	"math"
	"strings"
	"testing"
)

func TestParseCamera(t *testing.T) {
	for _, text := range []string{
		"13.2x8.8mm,8.8mm,5472x3648", " 13.2 x 8.8 mm , 8.8 mm , 5472 x 3648 px ", "13.2X8.8,8.8,5472X3648", "13.2mm×8.8mm,8.8MM,5472×3648",
	} {
		got, err := ParseCamera(text)
		if err != nil || got != invented || !got.Complete() {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
}

func TestParseCameraRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":                                    "commas between them",
		"13.2x8.8mm,8.8mm":                    "commas between them",
		"13,2x8,8mm,8,8mm,5472x3648":          "commas between them",
		"13.2mm,8.8mm,5472x3648":              "sensor size",
		"0x8.8mm,8.8mm,5472x3648":             "sensor size",
		"-13.2x-8.8mm,8.8mm,5472x3648":        "sensor size",
		"NaNx8.8mm,8.8mm,5472x3648":           "sensor size",
		"1e999x8.8mm,8.8mm,5472x3648":         "sensor size",
		"0.0132x0.0088,8.8mm,5472x3648":       "sensor size",
		"13.2x8.8mm,8.8 m,5472x3648":          "focal length",
		"13.2x8.8mm,inf,5472x3648":            "focal length",
		"13.2x8.8mm,0mm,5472x3648":            "focal length",
		"13.2x8.8mm,8.8mm,5472":               "image size",
		"13.2x8.8mm,8.8mm,5472.5x3648":        "image size",
		"13.2x8.8mm,8.8mm,0x0":                "image size",
		"13.2x8.8mm,8.8mm,5472x9999999999999": "image size",
		"13.2x8.8mm,8.8mm,3648x5472":          "2.25 times as wide as high",
		"8.8x13.2mm,8.8mm,5472x3648":          "0.44 times as wide as high",
	} {
		_, err := ParseCamera(text)
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), cameraExample) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func TestCameraComplete(t *testing.T) {
	for i, strip := range []func(*Camera){
		func(c *Camera) { c.SensorWidth = 0 }, func(c *Camera) { c.SensorHeight = 0 }, func(c *Camera) { c.FocalLength = math.NaN() },
		func(c *Camera) { c.Columns = 0 }, func(c *Camera) { c.Rows = -1 },
	} {
		c := invented
		strip(&c)
		if c.Complete() {
			t.Errorf("case %d: %+v passes as complete", i, c)
		}
	}
}

func TestCameraMerge(t *testing.T) {
	got := invented.Merge(Camera{FocalLength: 24, Rows: 3078})
	if want := (Camera{13.2, 8.8, 24, 5472, 3078}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := (Camera{}).Merge(invented); got != invented {
		t.Errorf("nothing merged with a camera gave %+v", got)
	}
	if got := invented.Merge(Camera{}); got != invented {
		t.Errorf("a camera merged with nothing gave %+v", got)
	}
}

func TestPixelSize(t *testing.T) {
	// 13.2 mm over 5472 pixels are 2.412 micrometres.
	if got := invented.PixelSize(); !almost(got, 2.412e-6, 1e-9) {
		t.Errorf("%g m", got)
	}
	if got := (Camera{SensorWidth: 13.2}).PixelSize(); got != 0 {
		t.Errorf("%g m without an image size", got)
	}
}
