package views

import (
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Zones are those of one arrangement of everything, for footprints and sites
// drawn from bytes: triangles and rectangles, those that coincide among them.
func FuzzBelow(f *testing.F) {
	f.Add([]byte("\x20\x20\xc0\xc0\x40\x40\x30\x20\x50\x40\x30\x20\x48\x48\x30\x20"), uint8(1), uint8(3))
	f.Add([]byte("\x00\x00\xff\xff\x80\x80\x80\x80\x80\x80\x80\x80\x80\x80\x80\x80"), uint8(2), uint8(1))
	f.Add([]byte("\x10\x10\x08\x09\x00\x00\x00\x01\x10\x10\x02\xf0"), uint8(1), uint8(0))
	f.Fuzz(func(t *testing.T, data []byte, first, more uint8) {
		if len(data) < 4 {
			return
		}
		if len(data) > 400 {
			data = data[:400]
		}
		drawn := func(b []byte) orb.Ring {
			x, y, w, h := float64(b[0]), float64(b[1]), 1+float64(b[2])/2, 1+float64(b[3]&^1)/2
			if b[3]&1 != 0 {
				return orb.Ring{{x, y}, {x + w, y + h/3}, {x + w/3, y + h}, {x, y}}
			}
			return orb.Ring{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}}
		}
		site := orb.MultiPolygon{{drawn(data)}}
		var footprints []Footprint
		for data = data[4:]; len(data) >= 4; data = data[4:] {
			footprints = append(footprints, Footprint{drawn(data)})
		}
		limits := []int{1 + int(first%8), 2 + int(first%8) + int(more%8)}
		got, want := Below(site, footprints, limits), whole(site, footprints, limits)
		for k := range limits {
			if err := plane.Valid(got[k]); err != nil {
				t.Fatal(err)
			}
			checkSame(t, site, got[k], want[k])
		}
	})
}
