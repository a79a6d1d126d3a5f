package report

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"testing"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

// What was written down of photos that were read is read again alike: a second
// list is the first, byte for byte.
func FuzzPhotosCSV(f *testing.F) {
	var list bytes.Buffer
	if err := WritePhotosCSV(&list, hostilePhotos(), []photo.LeftOut{{File: "=2.jpg", Reason: finding.Plain("+no position")}}); err != nil {
		f.Fatal(err)
	}
	f.Add(list.Bytes())
	f.Add([]byte("lon;lat;alt_m;yaw_deg;time\n7,5;48;1e-9;-0,0001;2026-05-01 10:00:00\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		photos, left, err := photo.ReadPositions("t.csv", data, photo.TableLimits{})
		if err != nil {
			return
		}
		var first, second bytes.Buffer
		if err := WritePhotosCSV(&first, photos, left); err != nil {
			t.Fatal(err)
		}
		again, leftAgain, err := photo.ReadPositions("t.csv", first.Bytes(), photo.TableLimits{})
		if err != nil || len(again) != len(photos) || len(leftAgain) != len(left) {
			t.Fatalf("%d photos and %d left out became %d and %d: %v %v\n%s", len(photos), len(left), len(again), len(leftAgain), err, leftAgain, &first)
		}
		if err := WritePhotosCSV(&second, again, leftAgain); err != nil {
			t.Fatal(err)
		}
		if first.String() != second.String() {
			t.Errorf("written as\n%s\nread, and written as\n%s", &first, &second)
		}
	})
}

// A logo is refused, or it is a small picture of the size that it says.
func FuzzReadLogo(f *testing.F) {
	var out bytes.Buffer
	if err := png.Encode(&out, image.NewNRGBA(image.Rect(0, 0, 3, 2))); err != nil {
		f.Fatal(err)
	}
	f.Add(out.Bytes())
	out.Reset()
	if err := png.Encode(&out, image.NewPaletted(image.Rect(0, 0, 9, 1), color.Palette{color.Black, color.White})); err != nil {
		f.Fatal(err)
	}
	f.Add(out.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := ReadLogo(data)
		if err != nil {
			return
		}
		c, err := png.DecodeConfig(bytes.NewReader(l.png))
		if err != nil || c.Width != l.Width || c.Height != l.Height || l.Width < 1 || l.Height < 1 || l.Width*l.Height > mostLogoPixels {
			t.Errorf("%+v with %v of %d by %d", c, err, l.Width, l.Height)
		}
	})
}
