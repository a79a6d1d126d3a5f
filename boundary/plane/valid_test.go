package plane

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"testing"

	"github.com/paulmach/orb"
)

// kindsOf returns the kinds of faults, each once, sorted.
func kindsOf(faults []Fault) []FaultKind {
	var kinds []FaultKind
	for _, f := range faults {
		kinds = append(kinds, f.Kind)
	}
	slices.Sort(kinds)
	return slices.Compact(kinds)
}

func TestFaultsByRule(t *testing.T) {
	const square = "(0 0,10 0,10 10,0 10,0 0)"
	for _, c := range []struct {
		name, wkt string
		want      []FaultKind
		at        orb.Point // of the first fault
	}{
		// Verdicts and, where named so, places of GEOS 3.11.1, IsValidReason.
		{"bow-tie", "POLYGON((0 0,10 10,10 0,0 10,0 0))", []FaultKind{SelfCrossing}, orb.Point{5, 5}},
		{"spike", "POLYGON((0 0,10 0,10 5,15 5,10 5,10 10,0 10,0 0))", []FaultKind{Retraced}, orb.Point{15, 5}},
		{"hole outside", "POLYGON(" + square + ",(15 15,16 15,16 16,15 16,15 15))", []FaultKind{HoleOutside}, orb.Point{15, 15}},
		{"hole along the outline", "POLYGON(" + square + ",(0 2,0 4,3 4,3 2,0 2))", []FaultKind{RingsShareEdge}, orb.Point{0, 4}},
		{"hole touching at a point", "POLYGON(" + square + ",(0 5,3 4,3 6,0 5))", nil, orb.Point{}},
		{"hole touching at two points", "POLYGON(" + square + ",(0 5,5 4,10 5,5 6,0 5))", []FaultKind{InteriorDisconnected}, orb.Point{0, 5}},
		// GEOS stops at the foot of this spike, 5 5; its tip is at 0 10.
		{"spike at a corner", "POLYGON((0 0,10 0,10 10,5 5,0 10,5 5,0 0))", []FaultKind{Retraced}, orb.Point{0, 10}},
		{"outline touching itself", "POLYGON((0 0,5 0,5 5,8 8,2 8,5 5,0 5,0 0))", []FaultKind{SelfTouch}, orb.Point{5, 5}},
		{"duplicate hole", "POLYGON(" + square + ",(2 2,4 2,4 4,2 4,2 2),(2 2,4 2,4 4,2 4,2 2))", []FaultKind{HolesNested}, orb.Point{2, 2}},
		{"overlapping holes", "POLYGON(" + square + ",(2 2,6 2,6 6,2 6,2 2),(4 4,8 4,8 8,4 8,4 4))", []FaultKind{RingsCross}, orb.Point{6, 4}},
		{"nested holes", "POLYGON(" + square + ",(1 1,9 1,9 9,1 9,1 1),(3 3,6 3,6 6,3 6,3 3))", []FaultKind{HolesNested}, orb.Point{3, 3}},
		{"repeated vertex", "POLYGON((0 0,10 0,10 0,10 10,0 10,0 0))", nil, orb.Point{}},
		{"no area", "POLYGON((0 0,10 0,5 0,0 0))", []FaultKind{Retraced}, orb.Point{0, 0}},
		{"nested parts", "MULTIPOLYGON((" + square + "),((2 2,8 2,8 8,2 8,2 2)))", []FaultKind{PartsNested}, orb.Point{2, 2}},
		{"parts sharing an edge", "MULTIPOLYGON((" + square + "),((10 0,20 0,20 10,10 10,10 0)))", []FaultKind{PartsShareEdge}, orb.Point{10, 0}},
		{"parts touching at a corner", "MULTIPOLYGON((" + square + "),((10 10,20 10,20 20,10 20,10 10)))", nil, orb.Point{}},
		{"clockwise outline", "POLYGON((0 0,0 10,10 10,10 0,0 0))", nil, orb.Point{}},

		// The rules of the JTS Topology Suite's general/TestValid.xml, shapes our own.
		{"hole of two points", "POLYGON(" + square + ",(1 1,2 2,1 1))", []FaultKind{TooFew}, orb.Point{1, 1}},
		{"two points back and forth", "POLYGON((0 0,5 5,0 0,5 5,0 0))", []FaultKind{TooFew}, orb.Point{0, 0}},
		{"ring within a ring", "POLYGON(" + square + ",(2 2,8 2,8 8,2 8,2 2))", nil, orb.Point{}},
		{"chain of holes from side to side", "POLYGON(" + square + ",(0 5,3 3,5 5,3 7,0 5),(5 5,7 3,10 5,7 7,5 5))", []FaultKind{InteriorDisconnected}, orb.Point{5, 5}},
		{"chain of holes that ends before", "POLYGON(" + square + ",(0 5,3 3,5 5,3 7,0 5),(5 5,7 3,9 5,7 7,5 5))", nil, orb.Point{}},
		{"holes that meet at one point", "POLYGON(" + square + ",(5 5,4 8,6 8,5 5),(5 5,8 4,8 6,5 5),(5 5,4 2,6 2,5 5))", nil, orb.Point{}},
		{"ring of holes", "POLYGON(" + square + ",(3 5,5 3,4 2,2 4,3 5),(5 3,7 5,8 4,6 2,5 3),(7 5,5 7,6 8,8 6,7 5),(5 7,3 5,2 6,4 8,5 7))", []FaultKind{InteriorDisconnected}, orb.Point{5, 7}},

		// OGC 06-103r4, 6.1.11.1 and 6.1.14.1, applied by hand.
		{"empty", "MULTIPOLYGON EMPTY", nil, orb.Point{}},
		{"not closed", "POLYGON((0 0,10 0,10 10,0 10))", []FaultKind{NotClosed}, orb.Point{0, 10}},
		{"crossing through a vertex", "POLYGON((0 0,5 5,10 10,10 0,5 5,0 10,0 0))", []FaultKind{SelfCrossing}, orb.Point{5, 5}},
		{"rings crossing through vertices", "POLYGON(" + square + ",(-5 5,0 2,5 5,0 8,-5 5))", []FaultKind{RingsCross}, orb.Point{0, 2}},
		{"parts crossing", "MULTIPOLYGON((" + square + "),((5 5,15 5,15 15,5 15,5 5)))", []FaultKind{PartsCross}, orb.Point{10, 5}},
		{"parts overlapping between shared edges", "MULTIPOLYGON((" + square + "),((5 0,15 0,15 10,5 10,5 0)))", []FaultKind{PartsCross, PartsShareEdge}, orb.Point{5, 0}},
		{"part within another along its edge", "MULTIPOLYGON((" + square + "),((0 2,5 2,5 8,0 8,0 2)))", []FaultKind{PartsNested, PartsShareEdge}, orb.Point{0, 8}},
		{"the same part twice", "MULTIPOLYGON((" + square + "),((10 0,10 10,0 10,0 0,10 0)))", []FaultKind{PartsNested}, orb.Point{10, 0}},
		{"the same part twice, a vertex more", "MULTIPOLYGON((" + square + "),((10 0,10 10,5 10,0 10,0 0,10 0)))", []FaultKind{PartsNested}, orb.Point{10, 0}},
		{"the same part twice with its hole", "MULTIPOLYGON((" + square + ",(2 2,4 2,4 4,2 2)),(" + square + ",(2 2,4 2,4 4,2 2)))", []FaultKind{PartsNested}, orb.Point{0, 0}},
		{"island in a hole", "MULTIPOLYGON((" + square + ",(2 2,8 2,8 8,2 8,2 2)),((3 3,5 3,5 5,3 3)))", nil, orb.Point{}},
		{"island touching its hole", "MULTIPOLYGON((" + square + ",(2 2,8 2,8 8,2 8,2 2)),((5 2,8 5,5 8,2 5,5 2)))", nil, orb.Point{}},
		{"island that fills its hole", "MULTIPOLYGON((" + square + ",(2 2,8 2,8 8,2 8,2 2)),((2 2,8 2,8 8,2 8,2 2)))", []FaultKind{PartsShareEdge}, orb.Point{2, 2}},
		{"hole that fills its outline", "POLYGON(" + square + "," + square + ")", []FaultKind{RingsShareEdge}, orb.Point{0, 0}},
		{"hole in a notch, all corners on the outline", "POLYGON((0 0,10 0,10 10,5 2,0 10,0 0),(2.5 6,7.5 6,5 2,2.5 6))", []FaultKind{HoleOutside, RingsShareEdge}, orb.Point{5, 2}},
		{"hole in a notch, touching its walls", "POLYGON((0 0,9 0,9 9,6 9,6 3,3 3,3 9,0 9,0 0),(3 6,5 3,6 7,3 6))", []FaultKind{HoleOutside}, orb.Point{6, 7}},
		{"island with all corners on the outline", "MULTIPOLYGON(((0 0,9 0,9 9,5 9,5 8,8 8,8 1,1 1,1 8,3 8,3 9,0 9,0 0)),((1 4,8 5,3 8,1 4)))", nil, orb.Point{}},
		{"hole with all corners on the outline", "POLYGON(" + square + ",(0 5,5 0,10 5,5 10,0 5))", []FaultKind{InteriorDisconnected}, orb.Point{0, 5}},
	} {
		mp := shape(t, c.wkt)
		got := Faults(mp)
		slices.Sort(c.want)
		if !slices.Equal(kindsOf(got), c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		} else if len(got) > 0 && !slices.ContainsFunc(got, func(f Fault) bool { return f.At == c.at }) {
			t.Errorf("%s: %v, want one at %v", c.name, got, c.at)
		}
		if err := sfValid(mp); (err == nil) != (c.want == nil) {
			t.Errorf("%s: simplefeatures: %v", c.name, err)
		}
		if err := Valid(mp); (err == nil) != (c.want == nil) {
			t.Errorf("%s: Valid: %v", c.name, err)
		}
	}
}

// gridRing returns a closed ring through n points of a size × size grid.
func gridRing(r *rand.Rand, n, x, y, size int) orb.Ring {
	ring := make(orb.Ring, n, n+1)
	for i := range ring {
		ring[i] = orb.Point{float64(x + r.IntN(size)), float64(y + r.IntN(size))}
	}
	return append(ring, ring[0])
}

// starRing is gridRing with the points in order of direction from the middle,
// so that it is often simple.
func starRing(r *rand.Rand, n, x, y, size int) orb.Ring {
	ring := gridRing(r, n, x, y, size)[:n]
	middle := orb.Point{float64(x) + float64(size-1)/2 + 0.1, float64(y) + float64(size-1)/2 + 0.2}
	slices.SortFunc(ring, func(p, q orb.Point) int {
		return cmp.Compare(math.Atan2(p[1]-middle[1], p[0]-middle[0]), math.Atan2(q[1]-middle[1], q[0]-middle[0]))
	})
	if r.IntN(2) == 0 {
		slices.Reverse(ring)
	}
	return append(ring, ring[0])
}

func squareRing(x, y, size int) orb.Ring {
	return orb.Bound{
		Min: orb.Point{float64(x), float64(y)},
		Max: orb.Point{float64(x + size), float64(y + size)},
	}.ToRing()
}

// smallShape returns a small shape on whole numbers, where rings meet often.
func smallShape(r *rand.Rand) orb.MultiPolygon {
	switch r.IntN(6) {
	case 0: // one ring
		return orb.MultiPolygon{{gridRing(r, 3+r.IntN(5), 0, 0, 5)}}
	case 1: // holes in a square
		p := orb.Polygon{squareRing(0, 0, 6)}
		for range 1 + r.IntN(3) {
			p = append(p, gridRing(r, 3+r.IntN(2), 0, 0, 7))
		}
		return orb.MultiPolygon{p}
	case 2: // small holes in a square, touching in chains
		p := orb.Polygon{squareRing(0, 0, 8)}
		for range 2 + r.IntN(5) {
			p = append(p, starRing(r, 3+r.IntN(2), r.IntN(6), r.IntN(6), 3))
		}
		return orb.MultiPolygon{p}
	case 3: // a star with holes
		p := orb.Polygon{starRing(r, 5+r.IntN(6), 0, 0, 9)}
		for range r.IntN(3) {
			p = append(p, starRing(r, 3, 2+r.IntN(3), 2+r.IntN(3), 4))
		}
		return orb.MultiPolygon{p}
	case 4: // parts side by side
		var mp orb.MultiPolygon
		for range 2 + r.IntN(3) {
			mp = append(mp, orb.Polygon{starRing(r, 3+r.IntN(3), r.IntN(5), r.IntN(5), 4)})
		}
		return mp
	}
	// an island in a hole, and more
	return orb.MultiPolygon{
		{squareRing(0, 0, 8), starRing(r, 4+r.IntN(4), 0, 0, 9)},
		{starRing(r, 3+r.IntN(3), 1, 1, 7)},
	}
}

// Whole numbers keep simplefeatures exact too: it works in floating point, and
// decimal fractions that are only nearly in line lead it astray.
func TestFaultsAgainstSecondOpinion(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	seen := map[FaultKind]int{}
	for i := range 20_000 {
		mp := smallShape(r)
		faults := Faults(mp)
		if len(faults) == 0 {
			seen["valid"]++
		}
		for _, k := range kindsOf(faults) {
			seen[k]++
		}
		if err := sfValid(mp); (err == nil) != (len(faults) == 0) {
			t.Fatalf("case %d: faults %v, simplefeatures %v\n%v", i, faults, err, mp)
		}
	}
	for _, k := range []FaultKind{"valid", TooFew, SelfCrossing, SelfTouch, Retraced, RingsCross, RingsShareEdge,
		HoleOutside, HolesNested, PartsCross, PartsShareEdge, PartsNested, InteriorDisconnected} {
		if seen[k] < 80 {
			t.Errorf("%s: only %d cases", k, seen[k])
		}
	}
}

// sameVerdict compares kinds of faults. Where a ring touches itself, what lies
// inside it may be left undecided, so that only the first fault counts.
func sameVerdict(got, want []FaultKind) bool {
	for _, k := range []FaultKind{SelfCrossing, SelfTouch, Retraced} {
		if slices.Contains(want, k) {
			return slices.Contains(got, k)
		}
	}
	return slices.Equal(got, want)
}

// An affine map that is exact in float64 changes no verdict, nor do the order
// and the direction in which rings are written.
func TestFaultsDoNotDependOnWriting(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for i := range 8_000 {
		mp := smallShape(r)
		want := kindsOf(Faults(mp))
		sheared := mapRings(mp, func(ring orb.Ring) orb.Ring {
			out := make(orb.Ring, len(ring))
			for k, p := range ring {
				out[k] = orb.Point{(3*p[0]+7*p[1])*0x1p-20 - 0x1p20, (2*p[0]+5*p[1])*0x1p-21 + 0x1p19}
			}
			return out
		})
		if got := kindsOf(Faults(sheared)); !sameVerdict(got, want) {
			t.Fatalf("case %d: sheared %v, want %v\n%v", i, got, want, mp)
		}
		rewritten := mapRings(mp, func(ring orb.Ring) orb.Ring {
			n := len(ring) - 1
			start, out := r.IntN(n), orb.Ring(nil)
			for k := range n + 1 {
				p := ring[(start+k)%n]
				for range 1 + r.IntN(2) {
					out = append(out, p)
				}
			}
			if r.IntN(2) == 0 {
				slices.Reverse(out)
			}
			return out
		})
		r.Shuffle(len(rewritten), func(i, j int) { rewritten[i], rewritten[j] = rewritten[j], rewritten[i] })
		for _, p := range rewritten {
			r.Shuffle(len(p)-1, func(i, j int) { p[i+1], p[j+1] = p[j+1], p[i+1] })
		}
		if got := kindsOf(Faults(rewritten)); !sameVerdict(got, want) {
			t.Fatalf("case %d: rewritten %v, want %v\n%v\n%v", i, got, want, mp, rewritten)
		}
	}
}

func TestFaultsListsEveryCrossing(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	for range 50 {
		ring := gridRing(r, 60, 0, 0, 1<<20)
		turn := func(a, b, c orb.Point) int { // exact in int64: under 2^42
			return cmp.Compare(int64(b[0]-a[0])*int64(c[1]-a[1]), int64(b[1]-a[1])*int64(c[0]-a[0]))
		}
		want := map[[2]int]bool{}
		for j := range 60 {
			for i := range j {
				a, b, c, d := ring[i], ring[i+1], ring[j], ring[j+1]
				if turn(a, b, c)*turn(a, b, d) < 0 && turn(c, d, a)*turn(c, d, b) < 0 {
					want[[2]int{i, j}] = true
				}
			}
		}
		faults := Faults(orb.MultiPolygon{{ring}})
		for _, f := range faults {
			i, j := f.A.Segment, f.B.Segment
			if f.Kind != SelfCrossing || !want[[2]int{i, j}] {
				t.Fatalf("unexpected %v", f)
			}
			for _, k := range []int{i, j} {
				if d := distanceToEdge(f.At, ring[k], ring[k+1]); d > 1e-8 { // coordinates have an ulp of 1e-10
					t.Errorf("crossing of edges %d and %d is %v off edge %d", i, j, d, k)
				}
			}
		}
		if len(faults) != len(want) {
			t.Fatalf("%d crossings, want %d", len(faults), len(want))
		}
	}
}

func TestFaultsOfGarbage(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	r := rand.New(rand.NewPCG(17, 18))
	scribble := gridRing(r, 3000, 0, 0, 1000)
	huge := orb.Ring{{-math.MaxFloat64, 0}, {math.MaxFloat64, 5e-324}, {math.MaxFloat64, math.MaxFloat64}, {-math.MaxFloat64, 0}}
	for _, c := range []struct {
		name string
		mp   orb.MultiPolygon
		want []FaultKind
	}{
		{"nothing", nil, nil},
		{"polygon without rings", orb.MultiPolygon{{}, nil}, nil},
		{"empty ring", orb.MultiPolygon{{{}}}, []FaultKind{TooFew}},
		{"one point", orb.MultiPolygon{{{{1, 2}}}}, []FaultKind{TooFew}},
		{"one point many times", orb.MultiPolygon{{{{1, 2}, {1, 2}, {1, 2}, {1, 2}}}}, []FaultKind{TooFew}},
		{"two points", orb.MultiPolygon{{{{1, 2}, {3, 4}}}}, []FaultKind{TooFew}},
		{"not a number", orb.MultiPolygon{{{{0, 0}, {nan, 0}, {1, 1}, {0, 0}}}}, []FaultKind{BadNumber}},
		{"infinite", orb.MultiPolygon{{{{0, 0}, {1, 0}, {1, -inf}, {0, 0}}}}, []FaultKind{BadNumber}},
		{"hole of a bad outline", orb.MultiPolygon{{{{0, 0}, {nan, 0}, {1, 1}, {0, 0}}, squareRing(0, 0, 1)}}, []FaultKind{BadNumber}},
		{"ends of the float range", orb.MultiPolygon{{huge}}, nil},
		{"negative zero", orb.MultiPolygon{{{{math.Copysign(0, -1), 0}, {1, 0}, {1, 1}, {0, math.Copysign(0, -1)}}}}, nil},
		{"more faults than are listed", orb.MultiPolygon{{scribble}}, []FaultKind{SelfCrossing}},
	} {
		faults := Faults(c.mp)
		got := kindsOf(faults)
		if len(faults) == MostFaults {
			got = slices.DeleteFunc(got, func(k FaultKind) bool { return k != SelfCrossing })
		}
		if !slices.Equal(got, c.want) || len(faults) > MostFaults {
			t.Errorf("%s: %d faults, %v, want %v", c.name, len(faults), got, c.want)
		}
	}
	bad := Faults(orb.MultiPolygon{{squareRing(0, 0, 9), {{1, 1}, {2, nan}, {inf, 2}, {1, 1}}}})
	if len(bad) != 2 || bad[0].A != (RingRef{0, 1, 1}) || bad[1].A != (RingRef{0, 1, 2}) {
		t.Errorf("bad numbers at %v", bad)
	}
}

func TestFaultsSayWhere(t *testing.T) {
	for _, c := range []struct {
		name, wkt string
		want      Fault
		text      string
	}{
		{"segments count repeated vertices", "POLYGON((0 0,0 0,10 10,10 10,10 10,10 0,0 10,0 0))",
			Fault{SelfCrossing, orb.Point{5, 5}, RingRef{0, 0, 1}, RingRef{0, 0, 5}},
			"the outline of part 1 crosses itself at 5, 5"},
		{"the inner ring first", "MULTIPOLYGON(((2 2,4 2,4 4,2 2)),((0 0,10 0,10 10,0 10,0 0)))",
			Fault{PartsNested, orb.Point{2, 2}, RingRef{0, 0, 0}, RingRef{1, 0, 0}},
			"the outline of part 1 lies within the outline of part 2 at 2, 2"},
		{"the inner ring first, though it comes later", "POLYGON((0 0,9 0,9 9,0 9,0 0),(1 1,8 1,8 8,1 8,1 1),(3 3,6 3,6 6,3 6,3 3))",
			Fault{HolesNested, orb.Point{3, 3}, RingRef{0, 2, 0}, RingRef{0, 1, 0}},
			"hole 2 of part 1 lies within hole 1 of part 1 at 3, 3"},
		{"the vertex outside", "POLYGON((0 0,9 0,9 9,0 9,0 0),(9 5,12 4,12 6,9 5))",
			Fault{HoleOutside, orb.Point{12, 4}, RingRef{0, 1, 1}, RingRef{0, 0, 0}},
			"hole 1 of part 1 lies outside its outline at 12, 4"},
	} {
		got := Faults(shape(t, c.wkt))
		if len(got) != 1 || got[0] != c.want || got[0].String() != c.text {
			t.Errorf("%s: %+v (%v), want %+v", c.name, got, got, c.want)
		}
	}
}

// What is called valid covers as much ground as its rings enclose: overlay, by
// simplefeatures, of the shape with itself finds no overlap to take away.
func TestValidShapesHaveTheirArea(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	for i := range 2000 {
		mp := smallShape(r)
		if len(Faults(mp)) > 0 {
			continue
		}
		want, err := sfArea(mp)
		if err != nil {
			t.Fatal(err)
		}
		got, err := sfUnion(mp, mp)
		if err != nil || math.Abs(got-want) > 1e-9 {
			t.Fatalf("case %d: union has %v, rings enclose %v, error %v\n%v", i, got, want, err, mp)
		}
	}
}

func BenchmarkFaults(b *testing.B) {
	const n = 1_000_000
	r := rand.New(rand.NewPCG(19, 20))
	ring := make(orb.Ring, 0, n+1)
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		radius := 1000 + 0.001*r.Float64()
		ring = append(ring, orb.Point{radius * cos, radius * sin})
	}
	ring = append(ring, ring[0])
	field := orb.Polygon{squareRing(-1, -1, 500)}
	for i := range 200 * 200 {
		field = append(field, squareRing(2*(i%200), 2*(i/200), 1))
	}
	for name, mp := range map[string]orb.MultiPolygon{
		"one ring": {{ring}},
		"holes":    {field},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if faults := Faults(mp); len(faults) > 0 {
					b.Fatal(faults[0])
				}
			}
		})
	}
}
