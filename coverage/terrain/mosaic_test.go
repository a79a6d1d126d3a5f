package terrain

import (
	"bytes"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Two tiles of one bitmap have no seam, whether their cells abut or their
// outermost heights are the same.
func TestMosaicSeams(t *testing.T) {
	b := hills(60, 20)
	part := func(from, to int) bitmap {
		p := bitmap{columns: to - from, rows: b.rows}
		for j := range b.rows {
			p.heights = append(p.heights, b.heights[j*60+from:j*60+to]...)
		}
		return p
	}
	grid := func(from, to int) *Grid {
		f := plain()
		f.tie = []float64{0, 0, 0, 10 + 0.001*float64(from), 50, 0}
		return mustGrid(t, "a.tif", encodeTIFF(part(from, to), f), Options{})
	}
	whole := grid(0, 60)
	for name, m := range map[string]*Mosaic{
		"abutting": NewMosaic(grid(0, 30), grid(30, 60)), "sharing": NewMosaic(grid(29, 60), grid(0, 30)),
		"overlapping": NewMosaic(grid(10, 50), grid(0, 40), grid(40, 60)),
	} {
		for lon := 10.0005; lon < 10.0595; lon += 0.000173 {
			p := orb.Point{lon, 49.9912}
			want, ok := whole.Elevation(p)
			got, ok2 := m.Elevation(p)
			if !ok || !ok2 || math.Abs(got-want) > 1e-6 {
				t.Fatalf("%s, at %v: %v, %v, want %v, %v", name, p, got, ok2, want, ok)
			}
		}
		if len(m.Sources()) < 2 {
			t.Errorf("%s: %d sources", name, len(m.Sources()))
		}
	}
}

func TestMosaicFinest(t *testing.T) {
	level := func(height float64, n int) bitmap {
		b := bitmap{columns: n, rows: n}
		for range n * n {
			b.heights = append(b.heights, height)
		}
		return b
	}
	coarse := plain()
	coarse.scale = []float64{0.002, 0.002, 0}
	fine := plain()
	fine.scale = []float64{0.0005, 0.0005, 0}
	fine.tie = []float64{0, 0, 0, 10.01, 49.99, 0}
	holed := level(200, 20)
	holed.heights[10*20+10] = -9999
	m := NewMosaic(
		mustGrid(t, "coarse.tif", encodeTIFF(level(100, 20), coarse), Options{}),
		mustGrid(t, "fine.tif", encodeTIFF(holed, fine), Options{}))
	for _, test := range []struct {
		at   orb.Point
		want float64
	}{
		{orb.Point{10.005, 49.995}, 100},
		{orb.Point{10.012, 49.988}, 200},
		{orb.Point{10.01525, 49.98475}, 100}, // the finer has a hole
		{orb.Point{10.0301, 49.975}, 100},
	} {
		if h, ok := m.Elevation(test.at); !ok || math.Abs(h-test.want) > 1e-9 {
			t.Errorf("at %v: %v, %v, want %v", test.at, h, ok, test.want)
		}
	}
	if _, ok := m.Elevation(orb.Point{11, 50}); ok {
		t.Error("a height outside")
	}
	if want := plane.GeodesicDistance(orb.Point{10.015, 49.985}, orb.Point{10.015, 49.9855}); math.Abs(m.Resolution()-want) > 0.01 || m.Sources()[0].Name != "coarse.tif" {
		t.Errorf("resolution %v, want %v; sources %v", m.Resolution(), want, m.Sources())
	}
}

// Tiles either side of the 180th meridian are one ground.
func TestMosaicAcrossAntimeridian(t *testing.T) {
	var grids []*Grid
	area := orb.Bound{Min: orb.Point{179.98, -16.52}, Max: orb.Point{180.02, -16.5}}
	for name, east := range map[string]int{"S17E179.hgt": 0, "S17W180.hgt": 1200} {
		data := encodeHGT(1201, func(i, j int) int { return (i + east) / 2 })
		f, err := Open(name, bytes.NewReader(data), int64(len(data)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		g, err := f.Window(area)
		if err != nil {
			t.Fatal(err)
		}
		grids = append(grids, g)
	}
	m := NewMosaic(grids...)
	if len(m.grids) != 1 {
		t.Errorf("%d grids", len(m.grids))
	}
	for _, lon := range []float64{179.985, 180 - 0.5/1200, 180, -180, -179.9996, 180.0004, -179.985} {
		east := math.Mod(lon+360, 360) - 179
		h, ok := m.Elevation(orb.Point{lon, -16.51})
		if !ok || math.Abs(h-east*600) > 0.51 {
			t.Errorf("at %v: %v, %v, want %v", lon, h, ok, east*600)
		}
	}
	frame := plane.NewFrame(orb.Point{180, -16.51})
	s, err := NewSurface(frame, m, orb.Bound{Min: orb.Point{-1500, -500}, Max: orb.Point{1500, 500}}, 0)
	if err != nil {
		t.Fatal(err)
	}
	for x := -1500.0; x <= 1500; x += 7 {
		if h, ok := s.Height(orb.Point{x, 3}); !ok || math.Abs(h-(600+x/107_000*600)) > 1.2 {
			t.Fatalf("%v m east: %v, %v", x, h, ok)
		}
	}
}
