package coverage

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/coverage/sequence"
)

func TestConvexIntersectionAgainstOverlay(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	both := 0
	for range 300 {
		quad := func() orb.Ring {
			ring, _ := footprint(lens, pose{
				at: orb.Point{50_000 + random.Float64()*150, random.Float64() * 150}, height: 50,
				yaw: random.Float64() * 360, pitch: -90 + random.Float64()*20, roll: random.Float64() * 10,
			})
			return ring
		}
		a, b := quad(), quad()
		shared, err := geom.Intersection(geometryOf(a), geometryOf(b))
		if err != nil {
			t.Fatal(err)
		}
		got := 0.0
		if ring := convexIntersection(a, b); ring != nil {
			got = planar.Area(ring)
			both++
		}
		near(t, "shared area", got, shared.Area(), 1e-6)
		near(t, "share", sharedWith(a, b), shared.Area()/planar.Area(a), 1e-9)
	}
	if both < 50 {
		t.Errorf("only %d pairs met", both)
	}
}

func geometryOf(ring orb.Ring) geom.Geometry {
	var flat []float64
	for _, p := range ring {
		flat = append(flat, p[0], p[1])
	}
	return geom.NewPolygon([]geom.LineString{geom.NewLineString(geom.NewSequence(flat, geom.DimXY))}).AsGeometry()
}

// By derivation: a square a, turned by 45°, and the same 0.4 a on, share
// (1 − 0.4/√2)² = 0.5143 instead of 0.6.
func TestOverlapOfTurnedSquares(t *testing.T) {
	square := lens
	square.SensorHeight = square.SensorWidth
	for _, c := range []struct{ yaw, want float64 }{{0, 0.6}, {45, 0.5143}, {90, 0.6}} {
		a, _ := footprint(square, pose{height: 50, yaw: c.yaw, pitch: -90})
		b, _ := footprint(square, pose{at: orb.Point{0, 40}, height: 50, yaw: c.yaw, pitch: -90})
		near(t, "overlap", sharedWith(a, b), c.want, 0.00005)
	}
}

// fieldAround has straight-down footprints with the top to the north.
func fieldAround(at []orb.Point, site orb.MultiPolygon) field {
	f := field{at: at, onSite: func(p orb.Point) bool { return planar.MultiPolygonContains(site, p) }}
	for _, p := range at {
		ring, _ := footprint(lens, pose{at: p, height: 50, pitch: -90})
		f.footprints = append(f.footprints, ring)
		f.counted = append(f.counted, true)
	}
	return f
}

// grid flies lines north and south; offset shifts the shots of every second line.
func grid(spacing, base, offset float64, lines, shots int) []orb.Point {
	var at []orb.Point
	for l := range lines {
		for s := range shots {
			if l%2 == 0 {
				at = append(at, orb.Point{float64(l) * spacing, float64(s) * base})
			} else {
				at = append(at, orb.Point{float64(l) * spacing, float64(shots-1-s)*base + offset})
			}
		}
	}
	return at
}

// Aligned footprints of 100 by 75 m: PE = 1 − B/75, PS = 1 − W/100 (Wolf,
// Dewitt & Wilkinson, ch. 18, from memory), wherever the shots of neighbouring
// lines lie.
func TestOverlapsOfAGrid(t *testing.T) {
	everywhere := rectangle(-1e4, -1e4, 1e4, 1e4)
	for _, c := range []struct{ spacing, base, offset float64 }{
		{30, 15, 0}, {25, 18.75, 9}, {60, 30, -12}, {120, 20, 0}, {40, 90, 0},
	} {
		at := grid(c.spacing, c.base, c.offset, 4, 6)
		lines := sequence.FindLines(at, make([]time.Time, len(at)))
		if len(lines) != 4 {
			t.Fatalf("%d lines", len(lines))
		}
		f := fieldAround(at, everywhere)
		forward := spread(shares(f.forwardOverlaps(lines)), lowOverlap(0.75))
		side := spread(f.sideOverlaps(lines), lowOverlap(0.60))
		for _, v := range []struct {
			name   string
			got    Spread
			n      int
			want   float64
			missed bool
		}{
			{"forward", forward, 4 * 5, ForwardOverlap(c.base, 75), ForwardOverlap(c.base, 75) < 0.745},
			{"side", side, 0, SideOverlap(c.spacing, 100), SideOverlap(c.spacing, 100) < 0.595},
		} {
			near(t, v.name+" median", v.got.Median, v.want, 1e-9)
			near(t, v.name+" least", v.got.Min, v.want, 1e-9)
			near(t, v.name+" most", v.got.Max, v.want, 1e-9)
			near(t, v.name+" share below", v.got.Below, float64(one(v.missed)), 0)
			if v.n > 0 && v.got.N != v.n {
				t.Errorf("%s: %d values, want %d", v.name, v.got.N, v.n)
			}
		}
		if c.offset == 0 && side.N != 6*6 { // the outer lines have one neighbour, the inner two
			t.Errorf("side: %d values, want 36", side.N)
		}
	}
}

func TestSideOverlapSkipsTheSameLine(t *testing.T) {
	at := grid(40, 15, 0, 3, 6)
	for _, p := range grid(40, 15, 0, 3, 6) { // flown again, 1 m beside
		at = append(at, orb.Point{p[0] + 1, p[1]})
	}
	f := fieldAround(at, rectangle(-1e4, -1e4, 1e4, 1e4))
	side := f.sideOverlaps(sequence.FindLines(at, make([]time.Time, len(at))))
	got := spread(side, lowOverlap(0))
	near(t, "greatest side overlap", got.Max, 1-39.0/100, 1e-9)
	near(t, "least side overlap", got.Min, 1-40.0/100, 0.011)
}

// Photos of two fields that lie far apart need no overlap between the fields.
func TestOverlapOnlyWhereTheSiteIs(t *testing.T) {
	at := grid(40, 15, 0, 2, 6)
	for _, p := range grid(40, 15, 0, 2, 6) {
		at = append(at, orb.Point{p[0] + 500, p[1]})
	}
	lines := sequence.FindLines(at, make([]time.Time, len(at)))
	two := append(rectangle(-50, -50, 90, 130), rectangle(450, -50, 590, 130)...)
	one := rectangle(-50, -50, 590, 130)
	near(t, "least over two fields", spread(fieldAround(at, two).sideOverlaps(lines), lowOverlap(0)).Min, 0.6, 1e-9)
	near(t, "least over one field", spread(fieldAround(at, one).sideOverlaps(lines), lowOverlap(0)).Min, 0, 0)
}

// How far apart tracks are against their shots one by one: never more than the
// least, and as much where they run alike.
func TestClearOf(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	aside := 0
	for i := range 500 {
		var at []orb.Point
		var lines [2]sequence.Line
		turn := float64(i%2) * random.NormFloat64() * 10
		for k, course := range [2]float64{float64(i), float64(i) + turn} {
			lines[k].Course = course
			sin, cos := math.Sincos(radians(course))
			from := orb.Point{random.Float64() * 200, random.Float64() * 200}
			for n := range 3 + random.IntN(8) {
				along, across := float64(n)*20, random.NormFloat64()*2
				lines[k].Shots = append(lines[k].Shots, len(at))
				at = append(at, orb.Point{from[0] + along*sin + across*cos, from[1] + along*cos - across*sin})
			}
		}
		f := fieldAround(at, nil)
		a, b := f.trackOf(lines[0]), f.trackOf(lines[1])
		least, most := math.Inf(1), math.Inf(-1)
		for _, j := range a.shots {
			for _, k := range b.shots {
				d := a.across(at[j]) - a.across(at[k])
				least, most = min(least, d), max(most, d)
			}
		}
		want := max(0, least, -most)
		if want > 0 {
			aside++
		}
		if got := a.clearOf(&b); got > want || turn == 0 && got < want-1e-5 {
			t.Fatalf("case %d: %v m apart, want %v", i, got, want)
		}
	}
	if aside < 200 {
		t.Errorf("only %d tracks lie beside another", aside)
	}
}

// The nearest lines first, and no more than it takes, against all of them.
func TestNearestLinesAgainstAll(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	n := 0
	for i := range 40 {
		at := grid(25, 15, random.Float64()*10, 4+random.IntN(8), 8)
		for k := range at {
			at[k][0] += random.NormFloat64() * 3
		}
		lines := sequence.FindLines(at, make([]time.Time, len(at)))
		f := fieldAround(at, rectangle(0, 0, 400, 400))
		var want []float64
		for k, l := range lines {
			var all []neighbour
			for m, other := range lines {
				if m == k || !sequence.Parallel(l, other) {
					continue
				}
				t := f.trackOf(other)
				if sequence.Apart(l.Course, other.Course) > 90 {
					t = t.reversed()
				}
				all = append(all, neighbour{track: &t, line: m})
			}
			for _, shot := range l.Shots {
				want = f.appendSideOverlaps(want, shot, all)
			}
		}
		if got := f.sideOverlaps(lines); !slices.Equal(got, want) {
			t.Fatalf("case %d: %d overlaps, want %d, or others", i, len(got), len(want))
		}
		n += len(want)
	}
	if n < 1000 {
		t.Errorf("only %d overlaps", n)
	}
}

func TestAbeam(t *testing.T) {
	at := []orb.Point{{0, 0}, {10, 0}, {20, 0}, {40, 0}} // flown to the east, one photo missing
	f := fieldAround(at, nil)
	line := sequence.Line{Shots: []int{0, 1, 2, 3}, Course: 90, Length: 40}
	for _, c := range []struct {
		x     float64
		shot  int
		along float64
		ok    bool
	}{{0, 0, 0, true}, {4, 0, 4, true}, {6, 1, -4, true}, {31, 3, -9, true}, {29, 2, 9, true}, {-6, 0, -6, true}, {46, 3, 6, true}, {-7, 0, 0, false}, {47, 0, 0, false}} {
		shot, along, ok := f.trackOf(line).abeam(orb.Point{c.x, 33})
		if shot != c.shot || math.Abs(along-c.along) > 1e-9 || ok != c.ok {
			t.Errorf("abeam of %v: shot %d, %v along, %v", c.x, shot, along, ok)
		}
		shot, along, ok = f.trackOf(line).reversed().abeam(orb.Point{c.x, 33})
		if shot != c.shot || math.Abs(along+c.along) > 1e-9 || ok != c.ok {
			t.Errorf("flown the other way, abeam of %v: shot %d, %v along, %v", c.x, shot, along, ok)
		}
	}
}

func TestSpread(t *testing.T) {
	if got := spread(nil, lowOverlap(0.7)); !reflect.DeepEqual(got, Spread{}) {
		t.Errorf("of nothing: %+v", got)
	}
	got := spread([]float64{0.9, 0.5, 0.8, 0.6949, 0.696}, lowOverlap(0.7))
	got.Bins = nil
	if want := (Spread{N: 5, Median: 0.696, Min: 0.5, Max: 0.9, Below: 0.4}); !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if v := math.Abs(sequence.Median([]float64{4, 1, 3, 2}) - 2.5); v != 0 {
		t.Error("median of an even number")
	}
}

func TestBins(t *testing.T) {
	missed := lowOverlap(0.75)
	got := spread([]float64{0.742, 0.744, 0.746, 0.75, 0.7599, 0.77, 0.70}, missed).Bins
	var counts, short []int
	for i, b := range got {
		near(t, "start of a bin", b.From, 0.70+0.01*float64(i), 1e-12)
		near(t, "end of a bin", b.To, b.From+0.01, 1e-12)
		counts, short = append(counts, b.N), append(short, b.Missed)
	}
	// 0.746 is 75 % when rounded to whole per cent.
	if want := []int{1, 0, 0, 0, 3, 2, 0, 1}; !slices.Equal(counts, want) {
		t.Errorf("counts %v, want %v", counts, want)
	}
	if want := []int{1, 0, 0, 0, 2, 0, 0, 0}; !slices.Equal(short, want) {
		t.Errorf("short %v, want %v", short, want)
	}
	for _, tt := range []struct {
		values []float64
		bins   int
		width  float64
	}{
		{[]float64{0, 0, 0}, 0, 0},
		{[]float64{0.0219}, 1, 0.0005},
		{[]float64{0.0219, 0.02191}, 1, 0.0005},
		{[]float64{0, 0.8}, 41, 0.02},
		{[]float64{0.1, 0.29}, 39, 0.005},
		{[]float64{0.29}, 1, 0.005},
	} {
		bins := spread(tt.values, missed).Bins
		if len(bins) != tt.bins {
			t.Errorf("%v: %d bins, want %d", tt.values, len(bins), tt.bins)
			continue
		}
		for _, b := range bins {
			near(t, "width", b.To-b.From, tt.width, 1e-12)
		}
	}
}

// Whatever the values, every one of them is in its bin, and the bins tell the
// same of what falls short as the share does.
func TestBinsHoldAll(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 1))
	for range 500 {
		values := make([]float64, 1+random.IntN(60))
		scale := math.Pow(10, 6*random.Float64()-4)
		for i := range values {
			values[i] = scale * random.Float64()
		}
		s := spread(values, lowOverlap(scale/2))
		all, missed := 0, 0
		for i, b := range s.Bins {
			all, missed = all+b.N, missed+b.Missed
			if i > 0 && b.From != s.Bins[i-1].To {
				t.Fatalf("a hole between bins at %v", b.From)
			}
			n := 0
			for _, v := range values {
				n += one(v >= b.From-1e-8*(b.To-b.From) && v < b.To-1e-8*(b.To-b.From))
			}
			if n != b.N {
				t.Fatalf("%v to %v: %d, want %d", b.From, b.To, b.N, n)
			}
		}
		if all != len(values) || float64(missed)/float64(all) != s.Below || len(s.Bins) > mostBins+1 {
			t.Fatalf("%d values: %d in %d bins, %d short of %v", len(values), all, len(s.Bins), missed, s.Below)
		}
	}
}
