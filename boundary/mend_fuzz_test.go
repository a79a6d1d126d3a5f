package boundary

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// fuzzFile draws a file from bytes: parts of rings on a lattice of 14 by 16,
// with some vertices off it by any distance down to a billionth of a degree.
func fuzzFile(data []byte) *File {
	next := func() byte {
		if len(data) == 0 {
			return 0
		}
		b := data[0]
		data = data[1:]
		return b
	}
	origins := []orb.Point{{7, 47}, {0, 0}, {179.9999, -16.8}, {-70.123456789012345, -45.98765432109876}, {25, 84.2}}
	units := []float64{1e-3, 1e-3 / 3, 1e-5, 1e-7, 1e-9}
	first := next()
	origin, unit := origins[int(first)%len(origins)], units[int(first/8)%len(units)]
	f := &File{Name: "fuzz"}
	polygon := orb.Polygon{nil}
	end := func() {
		f.Parts = append(f.Parts, Part{Place: finding.Place{Feature: len(f.Parts) + 1, Part: 1}, Polygon: polygon})
		polygon = orb.Polygon{nil}
	}
	for vertices := 0; len(data) > 0 && vertices < 100; vertices++ {
		ring := &polygon[len(polygon)-1]
		switch b := next(); {
		case b == 0xff:
			end()
		case b == 0xfe:
			polygon = append(polygon, nil)
		case b == 0xfd && len(*ring) > 0: // again
			*ring = append(*ring, (*ring)[next()%byte(len(*ring))])
		case b >= 0xf0 && b < 0xfd && len(*ring) > 0: // a trifle beside the last, or far off
			step := math.Pow10(-int(b - 0xf0))
			last := (*ring)[len(*ring)-1]
			*ring = append(*ring, orb.Point{last[0] + step*unit*float64(int8(next())), last[1] + step*unit*float64(int8(next()))})
		default:
			*ring = append(*ring, orb.Point{origin[0] + unit*float64(b>>4), origin[1] + unit*float64(b&15)})
		}
	}
	end()
	return f
}

func fuzzChoices(b byte) Choices {
	return Choices{
		Crossing: []Crossing{"", Lobes, Uncross, Outer}[b%4],
		Hole:     []CrossingHole{"", Clip, Drop}[b/4%3],
		Tolerate: []float64{0, 1e-9, 0.5}[b/16%3],
	}
}

// secondOpinion asks simplefeatures whether a shape is valid. It works in
// floating point and takes a side that passes within 1e-15 degrees of a vertex
// for one that touches it; GEOS does not. So its complaint stands only if two
// sides do meet elsewhere than in a vertex of both, by the exact sign of
// plane.Orient, or we see a fault too.
func secondOpinion(shape orb.MultiPolygon) error {
	complaint := asGeom(shape).Validate()
	if complaint == nil || plane.Valid(shape) != nil {
		return complaint
	}
	var sides [][2]orb.Point
	for _, p := range shape {
		for _, ring := range p {
			for i, q := range ring[1:] {
				sides = append(sides, [2]orb.Point{ring[i], q})
			}
		}
	}
	for i, s := range sides {
		for _, r := range sides[:i] {
			apart := plane.Orient(s[0], s[1], r[0])*plane.Orient(s[0], s[1], r[1]) > 0 ||
				plane.Orient(r[0], r[1], s[0])*plane.Orient(r[0], r[1], s[1]) > 0 ||
				!orb.MultiPoint(s[:]).Bound().Intersects(orb.MultiPoint(r[:]).Bound())
			joined := s[0] == r[0] || s[0] == r[1] || s[1] == r[0] || s[1] == r[1]
			if !apart && !joined {
				return complaint
			}
		}
	}
	return nil
}

func FuzzMend(f *testing.F) {
	for _, seed := range []string{
		"\x00\x00\xa0\xaa\x0a",                                 // a square
		"\x00\x00\xaa\xa0\x0a",                                 // a bow-tie
		"\x08\x00\xa0\xaa\x0a\xfe\x22\x24\x44\x42",             // a hole
		"\x00\x00\xa0\xaa\x0a\xfe\x84\x86\xe6\xe4",             // that crosses
		"\x01\x00\xa0\xa5\xd5\xa5\xaa\x0a",                     // a spike
		"\x02\x00\xa0\xaa\x0a\xff\x55\xc5\xcc\x5c",             // parts that overlap
		"\x00\x00\xa0\xaa\x0a\xff\xa0\xe0\xea\xaa",             // or share a side
		"\x00\x00\xa0\xaa\xf8\x10\x20\xf4\x01\xff\x0a\xfd\x01", // vertices beside each other
	} {
		for _, choice := range []byte{0, 1, 2, 3, 8, 32} {
			f.Add(choice, []byte(seed))
		}
	}
	f.Fuzz(func(t *testing.T, choice byte, data []byte) {
		drawn, choices := fuzzFile(data), fuzzChoices(choice)
		site, err := Mend(drawn, choices)
		if err != nil {
			return
		}
		whole := site.Shape()
		if err := secondOpinion(whole); err != nil {
			t.Fatalf("not valid: %v\n%v\n%v", err, drawn.Parts, whole)
		}
		if site.Area <= 0 || math.IsNaN(site.Area) || math.IsNaN(site.AreaBefore) {
			t.Fatalf("%v m² of %v", site.Area, site.AreaBefore)
		}
		for _, q := range site.Questions {
			for _, c := range q.Candidates {
				if err := secondOpinion(c.Shape); err != nil {
					t.Fatalf("%s is not valid: %v\n%v", c.Choice, err, drawn.Parts)
				}
			}
		}
		if site.Area > 1 { // on less, overlaps of 10 cm² that count as none can come together
			mendsOnce(t, drawn, site, choices)
		}
		if choices.Crossing != Uncross { // which draws sides that the file has not
			verticesAreTheFiles(t, drawn, whole)
		}
		groundIsMeant(t, drawn, whole, choices)
	})
}

// mendsOnce: mending the mended changes nothing, down to the last bit.
func mendsOnce(t *testing.T, drawn *File, site Site, choices Choices) {
	t.Helper()
	again := &File{Name: "again"}
	for i, a := range site.Areas {
		for j, p := range a.Shape {
			again.Parts = append(again.Parts, Part{Place: finding.Place{Feature: i + 1, Part: j + 1}, Polygon: p})
		}
	}
	twice, err := Mend(again, choices)
	if err != nil {
		t.Fatalf("mending the mended: %v\n%v\n%v", err, drawn.Parts, site.Areas)
	}
	if len(twice.Mends) > 0 {
		t.Fatalf("mending the mended: %+v\n%v\n%v", twice.Mends, drawn.Parts, site.Areas)
	}
	if len(twice.Areas) != len(again.Parts) {
		t.Fatalf("mending the mended makes %d areas of %d\n%v", len(twice.Areas), len(again.Parts), drawn.Parts)
	}
	for k, a := range twice.Areas {
		if len(a.Shape) != 1 || !slices.EqualFunc(a.Shape[0], again.Parts[k].Polygon, func(r, s orb.Ring) bool { return slices.Equal(r, s) }) {
			t.Fatalf("mending the mended moves part %d\n%v\n%v\n%v", k, drawn.Parts, again.Parts[k].Polygon, a.Shape)
		}
	}
}

// drawnSides returns what the file draws, with longitudes that run on, and its
// sides in metres.
func drawnSides(drawn *File) (all orb.MultiPolygon, local local, sides [][2]orb.Point) {
	for _, part := range drawn.Parts {
		if len(part.Polygon[0]) > 0 {
			all = append(all, part.Polygon)
		}
	}
	all = plane.Unwrap(all)
	local = localAt(all.Bound().Center())
	for _, p := range all {
		for _, ring := range p {
			for i, q := range ring {
				sides = append(sides, [2]orb.Point{local.metres(q), local.metres(ring[(i+1)%len(ring)])})
			}
		}
	}
	return all, local, sides
}

// verticesAreTheFiles: every vertex is one of the file's, bit for bit, or lies on
// a side of the file: to twice the width of a spike, since the side that is
// left of one is new.
func verticesAreTheFiles(t *testing.T, drawn *File, whole orb.MultiPolygon) {
	t.Helper()
	all, local, sides := drawnSides(drawn)
	given := map[orb.Point]bool{}
	for _, p := range all {
		for _, ring := range p {
			for _, q := range ring {
				given[q] = true
			}
		}
	}
	for _, p := range whole {
		for _, ring := range p {
			for _, q := range ring {
				if given[q] {
					continue
				}
				if meeting := slices.ContainsFunc(sides, func(s [2]orb.Point) bool { return distanceToSide(local.metres(q), s) <= 2*spikeWidth }); !meeting {
					t.Fatalf("%v is neither a vertex of the file nor on a side\n%v\n%v", q, drawn.Parts, whole)
				}
			}
		}
	}
}

func distanceToSide(p orb.Point, s [2]orb.Point) float64 {
	dx, dy := s[1][0]-s[0][0], s[1][1]-s[0][1]
	share := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		share = min(max(((p[0]-s[0][0])*dx+(p[1]-s[0][1])*dy)/l, 0), 1)
	}
	return math.Hypot(p[0]-s[0][0]-share*dx, p[1]-s[0][1]-share*dy)
}

// groundIsMeant: at points clear of every side, ground is what some outline
// winds around and none of its part's holes does. Only where the choices ask
// for another reading may it differ, and then lie within the extent of an
// outline.
func groundIsMeant(t *testing.T, drawn *File, whole orb.MultiPolygon, choices Choices) {
	t.Helper()
	all, local, sides := drawnSides(drawn)
	check := func(p orb.Point) {
		// Spikes and slivers of 1 cm go, with the millimetres that rounding moves.
		m := local.metres(p)
		if slices.ContainsFunc(sides, func(s [2]orb.Point) bool { return distanceToSide(m, s) < 0.03 }) {
			return
		}
		meant, within := false, false
		for _, polygon := range all {
			ground := winding(polygon[0], p) != 0
			for _, hole := range polygon[1:] {
				ground = ground && winding(hole, p) == 0
			}
			meant = meant || ground
			within = within || polygon[0].Bound().Contains(p)
		}
		got := plane.Contains(whole, p)
		if got && !within {
			t.Fatalf("%v is ground, and within no outline\n%v\n%v", p, drawn.Parts, whole)
		}
		plain := (choices.Crossing == "" || choices.Crossing == Lobes) && choices.Hole != Drop
		if plain && got != meant {
			t.Fatalf("%v is ground: %v, meant: %v\n%v\n%v", p, got, meant, drawn.Parts, whole)
		}
	}
	bound := all.Bound()
	const steps = 9
	for i := range steps {
		for j := range steps {
			check(orb.Point{
				bound.Min[0] + (float64(i)+0.37)/steps*(bound.Max[0]-bound.Min[0]),
				bound.Min[1] + (float64(j)+0.61)/steps*(bound.Max[1]-bound.Min[1])})
		}
	}
	for _, p := range all {
		for _, ring := range p {
			for i, a := range ring {
				b, c := ring[(i+1)%len(ring)], ring[(i+2)%len(ring)]
				check(orb.Point{(a[0] + b[0] + c[0]) / 3, (a[1] + b[1] + c[1]) / 3})
			}
		}
	}
}

// winding counts how often the ring goes around p, which is on none of its sides.
func winding(ring orb.Ring, p orb.Point) int {
	n := 0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if up := a[1] <= p[1]; up != (b[1] <= p[1]) {
			if left := plane.Orient(a, b, p) > 0; left == up {
				if up {
					n++
				} else {
					n--
				}
			}
		}
	}
	return n
}

func FuzzExpand(f *testing.F) {
	f.Add([]byte("\x00\x00\xa0\xaa\x0a"), uint16(300), uint16(20))
	f.Add([]byte("\x00\x00\xa0\xaa\x0a\xfe\x22\x24\x44\x42\xff\xc0\xe0\xee"), uint16(3000), uint16(1))
	f.Add([]byte("\x12\x00\xa0\xa5\xd5\xa5\xaa\x0a"), uint16(1), uint16(1))
	f.Add([]byte("\x04\x00\xaa\xa0\x0a"), uint16(500), uint16(900))
	f.Fuzz(func(t *testing.T, data []byte, first, more uint16) {
		site, err := Mend(fuzzFile(data), Choices{})
		if err != nil {
			return
		}
		whole := site.Shape()
		if b := whole.Bound(); b.Max[0]-b.Min[0] > 1 || b.Max[1]-b.Min[1] > 1 {
			return // wide sites are refused at some width
		}
		// From 0.1 m to 650 m.
		margin := Margin{Buffer: 0.1 + float64(first)/100}
		if first%2 == 1 {
			margin.Join = plane.Mitre
		}
		flight, err := Expand(site, margin)
		if err != nil {
			t.Fatalf("by %v: %v\n%v", margin, err, whole)
		}
		keepsDistance(t, whole, flight, margin.Buffer)
		margin.Buffer += 0.1 + float64(more)/100
		wider, err := Expand(site, margin)
		if err != nil {
			t.Fatalf("by %v: %v\n%v", margin, err, whole)
		}
		if margin.Join == plane.Mitre {
			return // a greater ball touches fewer corners, so that fewer have a mitre
		}
		for _, p := range flight.Shape() {
			for _, ring := range p {
				for _, q := range ring {
					if !plane.Contains(wider.Shape(), q) {
						t.Fatalf("%v is in the flight area by a lesser buffer, but not by %v\n%v", q, margin, whole)
					}
				}
			}
		}
	})
}

// keepsDistance measures from some points of the flight area's boundary to some of
// the site's along geodesics, with nothing of the plane.
func keepsDistance(t *testing.T, site orb.MultiPolygon, flight Flight, buffer float64) {
	t.Helper()
	if err := secondOpinion(flight.Shape()); err != nil {
		t.Fatalf("by %v: %v\n%v", buffer, err, site)
	}
	thinned := func(mp orb.MultiPolygon, most int) []orb.Point {
		var out []orb.Point
		for _, p := range mp {
			for _, ring := range p {
				for i, q := range ring {
					if i > 0 {
						out = append(out, q, orb.Point{(q[0] + ring[i-1][0]) / 2, (q[1] + ring[i-1][1]) / 2})
					}
				}
			}
		}
		for len(out) > most {
			for i := range len(out) / 2 {
				out[i] = out[2*i+1]
			}
			out = out[:len(out)/2]
		}
		return out
	}
	outer := thinned(flight.Shape(), 60)
	for _, p := range thinned(site, 60) {
		if !plane.Contains(flight.Shape(), p) {
			t.Fatalf("by %v: %v is not in the flight area\n%v", buffer, p, site)
		}
		for _, q := range outer {
			if d := plane.GeodesicDistance(p, q); d < buffer-0.01 {
				t.Fatalf("by %v: %v and %v are %v m apart\n%v", buffer, p, q, d, site)
			}
		}
	}
}
