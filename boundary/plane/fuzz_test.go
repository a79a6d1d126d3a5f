package plane

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// fuzzShape draws parts of rings on a lattice of 15 by 16 from bytes. Rings are
// closed; exact whole numbers are also exact for the second opinion.
func fuzzShape(data []byte) orb.MultiPolygon {
	mp := orb.MultiPolygon{{nil}}
	for _, b := range data[:min(len(data), 150)] {
		part := &mp[len(mp)-1]
		switch b {
		case 0xff:
			mp = append(mp, orb.Polygon{nil})
		case 0xfe:
			*part = append(*part, nil)
		default:
			ring := &(*part)[len(*part)-1]
			*ring = append(*ring, orb.Point{float64(b >> 4), float64(b & 15)})
		}
	}
	var out orb.MultiPolygon
	for _, part := range mp {
		var p orb.Polygon
		for _, ring := range part {
			if len(ring) > 0 {
				p = append(p, closed(ring))
			}
		}
		if len(p) > 0 {
			out = append(out, p)
		}
	}
	return out
}

func FuzzFaults(f *testing.F) {
	f.Add([]byte("\x00\xa0\xaa\x0a\xfe\x22\x24\x44\x42"))
	f.Add([]byte("\x00\xa0\xaa\x0a\xfe\x00\x24\x44\x42\xff\xaa\xca\xcc"))
	f.Add([]byte("\x00\x40\x44\x04\xff\x40\x80\x84\x44\xfe\x51\x61\x62"))
	f.Fuzz(func(t *testing.T, data []byte) {
		mp := fuzzShape(data)
		faults := Faults(mp)
		if err := sfValid(mp); (err == nil) != (len(faults) == 0) {
			t.Fatalf("faults %v, simplefeatures %v\n%v", faults, err, mp)
		}
	})
}

// What is offset is valid, holds the area and keeps the distance; with round
// joins it holds by more what it was by less.
func FuzzOffset(f *testing.F) {
	f.Add([]byte("\x00\xa0\xaa\x0a"), uint16(1000), uint16(20), byte(0))
	f.Add([]byte("\x00\xa0\xaa\x0a\xfe\x22\x24\x44\x42\xff\xc0\xe0\xee"), uint16(30000), uint16(1), byte(1))
	f.Add([]byte("\x00\xaa\xa0\x0a"), uint16(5), uint16(900), byte(7))
	f.Fuzz(func(t *testing.T, data []byte, first, more uint16, how byte) {
		drawn := fuzzShape(data)
		if len(drawn) == 0 {
			return
		}
		if how&2 != 0 { // off the grid
			sin, cos := math.Sincos(float64(how))
			for _, p := range drawn {
				for _, ring := range p {
					for i, q := range ring {
						ring[i] = orb.Point{q[0]*cos - q[1]*sin, q[0]*sin + q[1]*cos}
					}
				}
			}
		}
		area := union(MetreGrid(drawn.Bound()), drawn)
		if len(area) == 0 {
			return
		}
		style := Style{Join: Join(how & 1), ArcTolerance: 0.001}
		d := 0.001 * (1 + float64(first))
		got := Offset(area, d, style)
		// Of the two the curve and the area are put on a grid of 0.1 mm.
		const cells = 2e-4
		checkOffset(t, area, got, d, style, cells)
		by := d + 0.001*(1+float64(more))
		wider := Offset(area, by, style)
		checkOffset(t, area, wider, by, style, cells)
		for _, q := range someOf(got) {
			// A mitre stands only where a ball can touch the corner, and a
			// greater ball touches fewer.
			if style.Join == Round && !Contains(wider, q) && BoundaryDistance(wider, q) > cells {
				t.Fatalf("%v is within %v m, not within %v\n%v", q, d, by, area)
			}
		}
		// And inwards: what is left keeps the distance from what is around.
		core := Offset(area, -d, style)
		if err := sfValid(core); err != nil {
			t.Fatalf("by %v: %v\n%v", -d, err, area)
		}
		for _, q := range someOf(core) {
			if !Contains(area, q) || BoundaryDistance(area, q) < d-cells {
				t.Fatalf("by %v: %v lies %v from the rim\n%v", -d, q, BoundaryDistance(area, q), area)
			}
		}
	})
}

func checkOffset(t *testing.T, area, got orb.MultiPolygon, d float64, style Style, cells float64) {
	t.Helper()
	if err := sfValid(got); err != nil {
		t.Fatalf("by %v: %v\n%v", d, err, area)
	}
	for _, q := range someOf(area) {
		if !Contains(got, q) {
			t.Fatalf("by %v: %v of the area is left out\n%v", d, q, area)
		}
	}
	reach := d + style.ArcTolerance
	if style.Join == Mitre {
		reach = 5 * d // the limit; the cut's corners lie at most √2 further
		reach *= math.Sqrt2
	}
	for _, q := range someOf(got) {
		if far := BoundaryDistance(area, q); far < d-cells || far > reach+cells {
			t.Fatalf("by %v: %v lies %v from the area\n%v", d, q, far, area)
		}
	}
	if planar.Area(got) < planar.Area(area) {
		t.Fatalf("by %v: %v m² of %v\n%v", d, planar.Area(got), planar.Area(area), area)
	}
}

// someOf returns vertices and middles of sides, some hundred at most.
func someOf(mp orb.MultiPolygon) []orb.Point {
	var all []orb.Point
	for _, p := range mp {
		for _, ring := range p {
			for i, q := range ring[1:] {
				all = append(all, q, orb.Point{(q[0] + ring[i][0]) / 2, (q[1] + ring[i][1]) / 2})
			}
		}
	}
	step := len(all)/200 + 1
	var out []orb.Point
	for i := 0; i < len(all); i += step {
		out = append(out, all[i])
	}
	return out
}

// Areas laid over each other are valid, and share and add up as sets do.
func FuzzOverlay(f *testing.F) {
	f.Add([]byte("\x00\xa0\xaa\x0a"), []byte("\x55\xe5\xee\x5e"), byte(0))
	f.Add([]byte("\x00\xa0\xaa\x0a\xfe\x22\x24\x44\x42"), []byte("\x00\xa0\xaa\x0a\xff\x22\x24\x44\x42"), byte(0))
	f.Add([]byte("\x00\xaa\xa0\x0a"), []byte("\x05\xa5\x50\x5a"), byte(3))
	f.Fuzz(func(t *testing.T, first, second []byte, turn byte) {
		both := append(fuzzShape(first), fuzzShape(second)...)
		if len(both) == 0 {
			return
		}
		a, b := both[:len(fuzzShape(first))], both[len(fuzzShape(first)):]
		sin, cos := math.Sincos(float64(turn))
		for _, p := range b {
			for _, ring := range p {
				for i, q := range ring {
					ring[i] = orb.Point{q[0]*cos - q[1]*sin, q[0]*sin + q[1]*cos}
				}
			}
		}
		g := MetreGrid(both.Bound())
		a, b = Union(g, a), Union(g, b)
		area := func(mp orb.MultiPolygon) float64 {
			if err := sfValid(mp); err != nil {
				t.Fatalf("%v\n%v\n%v", err, a, b)
			}
			return planar.Area(mp)
		}
		all, shared, onlyA, onlyB := area(Union(g, a, b)), area(Intersection(g, a, b)), area(Difference(g, a, b)), area(Difference(g, b, a))
		// Each side may move by a cell of 0.1 mm where it is broken.
		slack := 2e-4 * (planar.Length(a) + planar.Length(b))
		for _, sum := range []float64{all - shared - onlyA - onlyB, area(a) - shared - onlyA, area(b) - shared - onlyB} {
			if math.Abs(sum) > slack {
				t.Fatalf("%v m² apart: all %v, shared %v, only in one %v and %v\n%v\n%v", sum, all, shared, onlyA, onlyB, a, b)
			}
		}
	})
}
