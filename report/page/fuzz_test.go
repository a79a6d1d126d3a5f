package page

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/paulmach/orb"
)

// What a map is told of points leads back to them, to a ten millionth of a degree.
func FuzzCoder(f *testing.F) {
	doubles := func(x ...float64) (out []byte) {
		for _, v := range x {
			out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
		}
		return out
	}
	f.Add(10.0, 50.0, doubles(10.1, 50.1, 10.1, 50.1, 9.9, 49.9))
	f.Add(179.9, -90.0, doubles(-179.9, 90, 360, 1, -360, -1, math.NaN(), 0, 0, math.Inf(1)))
	f.Fuzz(func(t *testing.T, lon, lat float64, data []byte) {
		c := Coder{Origin: orb.Point{lon, lat}}
		if !(math.Abs(lon) <= 180 && math.Abs(lat) <= 90) {
			return
		}
		var all, on []orb.Point
		for ; len(data) >= 16; data = data[16:] {
			p := orb.Point{math.Float64frombits(binary.LittleEndian.Uint64(data)), math.Float64frombits(binary.LittleEndian.Uint64(data[8:]))}
			if all = append(all, p); math.Abs(p.Lon()) <= 360 && math.Abs(p.Lat()) <= 90 {
				on = append(on, p)
			}
		}
		coded := c.Points(all)
		if len(coded) != 2*len(on) {
			t.Fatalf("%d numbers for %d points", len(coded), len(on))
		}
		x, y := 0, 0
		for i, p := range on {
			x, y = x+coded[2*i], y+coded[2*i+1]
			east := math.Remainder(lon+float64(x)/perDegree-p.Lon(), 360)
			if north := lat + float64(y)/perDegree - p.Lat(); math.Abs(east) > 1e-7 || math.Abs(north) > 1e-7 {
				t.Errorf("%v is %v° east and %v° north of where it was", p, east, north)
			}
		}
		if line := c.Line(all); len(line) > len(coded) || len(line) == 0 && len(on) > 0 {
			t.Errorf("a line of %d numbers from %d points", len(line), len(on))
		}
		for _, ring := range c.Rings(orb.Polygon{all}) {
			if len(ring) < 6 || len(ring)%2 != 0 {
				t.Errorf("a ring of %d numbers", len(ring))
			}
		}
	})
}
