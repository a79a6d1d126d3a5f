package report

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"strings"
	"testing"

	"selvage/coverage/photo"
)

// What was written down of photos that were read is read again alike: a second
// list is the first, byte for byte.
func FuzzPhotosCSV(f *testing.F) {
	var list bytes.Buffer
	if err := WritePhotosCSV(&list, hostilePhotos(), []photo.LeftOut{{File: "=2.jpg", Reason: "+no position"}}); err != nil {
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

// A record is refused in a line, or it can be compared and verified with itself.
func FuzzReadRecord(f *testing.F) {
	figures := render(f, fakeNote(), WriteJSON)
	f.Add([]byte(figures), []byte(render(f, fakeNote(), WriteGeoJSON)))
	f.Add([]byte("\xFF\xFE{\x00}\x00"), []byte(nil))
	f.Add([]byte(planText), []byte("{}"))
	f.Add([]byte(`{"site_area_m2":1,"totals":{"gap_m2":1e15},"photos":{},"zones":[{"kind":"gap","area_m2":1}],"edge":null,"speed":null}`),
		[]byte(`{"features":[{"properties":{"role":"site"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}},{"properties":{"role":"zone","kind":"gap","area_m2":1},"geometry":{"type":"Polygon","coordinates":[[[540,90],[1,0],[1,1],[540,90]]]}}]}`))
	f.Fuzz(func(t *testing.T, data, shapes []byte) {
		told := func(err error) {
			if s := err.Error(); !strings.HasPrefix(s, "in.") || strings.ContainsAny(s, "\n\r\x1b") || len(s) > 1000 {
				t.Errorf("said %q", s)
			}
		}
		r, err := ReadRecord("in.json", data, "")
		if err != nil {
			told(err)
			return
		}
		if r.Audit != nil {
			if err := r.ReadShapes("in.geojson", shapes); err != nil {
				told(err)
			}
		}
		c, err := Compare(r, r, metric)
		if err == nil {
			for _, g := range c.Figures {
				if g.Judgement == Better || g.Judgement == Worse {
					t.Errorf("%s is %s than itself", g.Key, g.Judgement)
				}
			}
			var out bytes.Buffer
			if err := c.WriteText(&out, Style{}); err != nil || strings.ContainsAny(out.String(), "\x1b\r") {
				t.Errorf("%v: %q", err, &out)
			}
			if err := c.WriteJSON(&out); err != nil {
				t.Error(err)
			}
		}
		if r.Audit != nil {
			v, err := Verify(r, data, data)
			if err == nil && !v.Equal() {
				t.Errorf("a note is not itself: %+v", v.Mismatches)
			}
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
