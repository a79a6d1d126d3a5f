package report

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"selvage/coverage"
)

type overlayXML struct {
	Color string  `xml:"color"`
	Href  string  `xml:"Icon>href"`
	North float64 `xml:"LatLonBox>north"`
	South float64 `xml:"LatLonBox>south"`
	East  float64 `xml:"LatLonBox>east"`
	West  float64 `xml:"LatLonBox>west"`
}

type viewsKMZ struct {
	XMLName xml.Name
	Grounds []overlayXML `xml:"Document>GroundOverlay"`
	Screens []overlayXML `xml:"Document>ScreenOverlay"`

	pictures map[string]image.Image
}

func readKMZ(t *testing.T, data string) viewsKMZ {
	t.Helper()
	z, err := zip.NewReader(strings.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := viewsKMZ{pictures: map[string]image.Image{}}
	for i, f := range z.File {
		if f.Flags&8 != 0 {
			t.Errorf("the size of %s stands behind it", f.Name)
		}
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case i == 0 && f.Name == "doc.kml": // readers take the first (OGC 12-007r2, annex C, from memory)
			err = xml.Unmarshal(content, &out)
		default:
			out.pictures[f.Name], err = png.Decode(bytes.NewReader(content))
		}
		if err != nil {
			t.Errorf("%s: %v", f.Name, err)
		}
	}
	return out
}

// Every cell has the colour of the note's map where the box says that it lies,
// on one side of the antimeridian or both. KML 2.2 has longitudes from -180 to
// 180, north above south and east above west (OGC 07-134r2, ATC 2 and 11).
func TestViewsKMZ(t *testing.T) {
	for corner, boxes := range map[float64]int{0.25: 1, 180 - 20*0.0001: 2, 180: 1, -180: 1, 180 - 57*0.0001: 1} {
		n := fakeNote()
		m := &n.Audit.Map
		m.Corner[0] = corner
		k := readKMZ(t, render(t, n, WriteViewsKMZ))
		if k.XMLName.Space != "http://www.opengis.net/kml/2.2" || len(k.Grounds) != boxes || len(k.Screens) != 1 || k.pictures["legend.png"] == nil {
			t.Fatalf("from %v: %+v", corner, k)
		}
		all := shades(n.Audit.Views, n.Audit.Wanted.Views)
		cells := 0
		for _, g := range k.Grounds {
			p := k.pictures[g.Href]
			if p == nil || !(g.East > g.West) || !(g.North > g.South) || g.West < -180 || g.East > 180 {
				t.Fatalf("from %v: %+v", corner, g)
			}
			size := p.Bounds().Size()
			for y := range size.Y {
				for x := range size.X {
					cells++
					lon := g.West + (float64(x)+0.5)/float64(size.X)*(g.East-g.West)
					lat := g.North - (float64(y)+0.5)/float64(size.Y)*(g.North-g.South)
					column := math.Mod(lon-corner+360+1e-9, 360) / m.Step[0]
					row := (lat - m.Corner[1]) / m.Step[1]
					views := m.Views[int(row)*m.Columns+int(column)]
					got := fmt.Sprint(p.At(x, y).RGBA())
					want := fmt.Sprint(palette[shadeClass(all, int(views))].RGBA())
					if got != want || math.Abs(column-math.Floor(column)-0.5) > 0.01 || math.Abs(row-math.Floor(row)-0.5) > 0.01 {
						t.Fatalf("from %v: at %v, %v of cell %v, %v with %d views the colour is %s, want %s", corner, lon, lat, column, row, views, got, want)
					}
				}
			}
		}
		if cells != len(m.Views) {
			t.Errorf("from %v: %d cells are shown, there are %d", corner, cells, len(m.Views))
		}
	}
}

// shadeClass is the class of the shade of a number of views, "" off the site.
func shadeClass(all []shade, views int) string {
	for _, s := range all {
		if views != coverage.OffSite && s.from <= views && (views <= s.to || s.to < 0) {
			return s.class
		}
	}
	return ""
}

// The legend has a box of each colour, in the order of the note.
func TestViewsLegend(t *testing.T) {
	n := fakeNote()
	all := shades(n.Audit.Views, n.Audit.Wanted.Views)
	p := drawLegend(n, all)
	var found []string
	last := ""
	for y := range p.Bounds().Dy() {
		for _, s := range all {
			if p.At(25, y) == palette[s.class] && last != s.class {
				found, last = append(found, s.class), s.class
			}
		}
	}
	var want []string
	for _, s := range all {
		want = append(want, s.class)
	}
	if fmt.Sprint(found) != fmt.Sprint(want) {
		t.Errorf("the colours are %v, want %v", found, want)
	}
	for x := range p.Bounds().Dx() - 2 { // words end before the frame
		if right := p.Bounds().Dx() - 2; x > right-8 {
			for y := 1; y < p.Bounds().Dy()-1; y++ {
				if p.At(x, y) != palette["paper"] {
					t.Fatalf("a word runs out of the legend at %d, %d", x, y)
				}
			}
		}
	}
}

// The colours that pictures use are those of the style sheet.
func TestPalette(t *testing.T) {
	for _, name := range []string{"ink", "soft", "paper", "v0", "v1", "v2", "e0", "e1", "e2", "e3", "green", "refly", "keep-out"} {
		c, known := palette[name]
		if !known {
			t.Errorf("there is no colour %s", name)
		}
		hex := fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
		if hex == "#ffffff" {
			hex = "#fff"
		}
		if !strings.Contains(sheetStyle, fmt.Sprintf("--%s: %s;", name, hex)) {
			t.Errorf("%s is %s", name, hex)
		}
	}
}

// As many cells as an audit has.
func BenchmarkViews(b *testing.B) {
	n := fakeNote()
	m := &n.Audit.Map
	m.Columns, m.Rows, m.Views = 500, 500, make([]uint16, 250_000)
	for k := range m.Views {
		m.Views[k] = uint16(k / 500 / 20 % 15)
	}
	for name, write := range map[string]func(io.Writer, Note) error{"KMZ": WriteViewsKMZ, "TIFF": WriteViewsTIFF} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if err := write(io.Discard, n); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
