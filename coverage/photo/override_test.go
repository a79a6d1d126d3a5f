package photo

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

func TestOverrideMatching(t *testing.T) {
	for _, c := range []struct {
		name               string
		photos, rows       []string
		got                []int // the row of each photo, -1 for none
		unmatched, unnamed []string
	}{
		{"the same names", []string{"a.jpg", "b.jpg"}, []string{"b.jpg", "a.jpg"}, []int{1, 0}, nil, nil},
		{"case and extension", []string{"IMG_1.JPG", "img_2.jpg", "IMG_3.dng"}, []string{"img_1.jpg", "IMG_2", "IMG_3.JPG"}, []int{0, 1, 2}, nil, nil},
		{"another folder", []string{"flight/a.jpg"}, []string{`C:\job\photos\a.jpg`}, []int{0}, nil, nil},
		{"not there", []string{"a.jpg"}, []string{"c.jpg"}, []int{-1}, []string{"c.jpg"}, []string{"a.jpg"}},
		{"names that wrap round", []string{"100/a.jpg", "101/a.jpg"}, []string{"101/a.jpg", "x/100/A.JPG"}, []int{1, 0}, nil, nil},
		{"longest end", []string{"x/1/a.jpg", "y/1/a.jpg"}, []string{"p/y/1/a.jpg"}, []int{-1, 0}, nil, []string{"x/1/a.jpg"}},
		{"ambiguous", []string{"100/a.jpg", "101/a.jpg"}, []string{"a.jpg"}, []int{-1, -1}, []string{"a.jpg"}, []string{"100/a.jpg", "101/a.jpg"}},
		{"one of them lies where the table does", []string{"a.jpg", "101/a.jpg"}, []string{"a.jpg"}, []int{0, -1}, nil, []string{"101/a.jpg"}},
		{"two rows for one photo", []string{"a.jpg"}, []string{"a.jpg", "a.jpg"}, []int{-1}, []string{"a.jpg", "a.jpg"}, []string{"a.jpg"}},
		{"two rows, one nearer", []string{"1/a.jpg"}, []string{"1/a.jpg", "2/a.jpg"}, []int{0}, []string{"2/a.jpg"}, nil},
		{"raw and picture", []string{"a.jpg", "a.dng"}, []string{"a.dng", "a.jpg"}, []int{1, 0}, nil, nil},
		{"raw and picture, no extension", []string{"a.jpg", "a.dng"}, []string{"a"}, []int{-1, -1}, []string{"a"}, []string{"a.jpg", "a.dng"}},
		{"rows without a file", []string{"a.jpg"}, []string{"row 2"}, []int{-1}, []string{"row 2"}, []string{"a.jpg"}},
		{"marks by themselves", []string{"\u00c4cker/\u00e9.jpg"}, []string{"A\u0308cker/e\u0301.JPG"}, []int{0}, nil, nil},
		{"dots in names", []string{"f.1.jpg", "f.2.jpg"}, []string{"f.2", "f.1"}, []int{1, 0}, nil, nil},
		{"nothing", nil, nil, nil, nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var photos, rows []Photo
			for _, f := range c.photos {
				photos = append(photos, New(f, nowhere))
			}
			for i, f := range c.rows {
				rows = append(rows, New(f, orb.Point{float64(i), 50}))
			}
			unmatched, unnamed := Override(photos, rows)
			if !slices.Equal(unmatched, c.unmatched) || !slices.Equal(unnamed, c.unnamed) {
				t.Errorf("unmatched %q, unnamed %q", unmatched, unnamed)
			}
			for i, p := range photos {
				got := -1
				if p.Located() {
					got = int(p.Position[0])
				}
				if got != c.got[i] || p.File != c.photos[i] {
					t.Errorf("%s got row %d, want %d", p.File, got, c.got[i])
				}
			}
		})
	}
}

func TestOverrideValues(t *testing.T) {
	p := New("a.jpg", orb.Point{7, 48})
	p.Altitude, p.AltitudeDatum, p.Yaw, p.Height = 300, SeaLevel, 90, 80
	p.PositionError, p.DOP, p.MapDatum = 3, 1.5, "JGD2011"
	p.Sources = Sources{Position: Exif, Altitude: Exif, Yaw: Exif, Height: XMP, PositionError: Exif}
	row := New("A", orb.Point{7.1, 48.1})
	row.PositionError, row.Pitch = 0.02, -88
	photos := []Photo{p, p}
	photos[1].File = "b.jpg"
	full := row
	full.File, full.Altitude, full.Yaw, full.Roll, full.Height, full.PositionError = "b.jpg", 350, 10, 1, 70, math.NaN()
	if unmatched, unnamed := Override(photos, []Photo{row, full}); unmatched != nil || unnamed != nil {
		t.Fatal(unmatched, unnamed)
	}
	a, b := photos[0], photos[1]
	if a.Position != row.Position || a.Altitude != 300 || a.AltitudeDatum != SeaLevel || a.Yaw != 90 || a.Height != 80 ||
		a.PositionError != 0.02 || !math.IsNaN(a.DOP) || a.MapDatum != "" || a.Pitch != -88 {
		t.Errorf("%+v", a)
	}
	if want := (Sources{Position: Corrected, Altitude: Exif, Yaw: Exif, Height: XMP, Pitch: Corrected, PositionError: Corrected}); a.Sources != want {
		t.Errorf("sources %+v", a.Sources)
	}
	if b.Altitude != 350 || b.AltitudeDatum != UnknownDatum || b.Yaw != 10 || b.Roll != 1 || b.Height != 70 || !math.IsNaN(b.PositionError) {
		t.Errorf("%+v", b)
	}
	if want := (Sources{Corrected, Corrected, Corrected, Corrected, Corrected, Corrected, Unsaid, Unsaid}); b.Sources != want {
		t.Errorf("sources %+v", b.Sources)
	}
}
