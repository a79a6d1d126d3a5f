package plane

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/peterstace/simplefeatures/geom"
)

// shape reads WKT into orb types without asking whether it is valid.
func shape(t testing.TB, wkt string) orb.MultiPolygon {
	t.Helper()
	g, err := geom.UnmarshalWKT(wkt, geom.NoValidate{})
	if err != nil {
		t.Fatal(err)
	}
	rings := func(p geom.Polygon) (out orb.Polygon) {
		for _, ls := range p.DumpRings() {
			var ring orb.Ring
			seq := ls.Coordinates()
			for i := range seq.Length() {
				ring = append(ring, orb.Point{seq.GetXY(i).X, seq.GetXY(i).Y})
			}
			out = append(out, ring)
		}
		return out
	}
	var mp orb.MultiPolygon
	switch {
	case g.IsPolygon():
		mp = append(mp, rings(g.MustAsPolygon()))
	case g.IsMultiPolygon():
		for i := range g.MustAsMultiPolygon().NumPolygons() {
			mp = append(mp, rings(g.MustAsMultiPolygon().PolygonN(i)))
		}
	default:
		t.Fatalf("not an area: %s", wkt)
	}
	return mp
}

// Steiner's formula for a convex area A with perimeter P: the offset by d has
// area A + Pd + πd² with round joins; mitres of a square give (a+2d)². An L
// with five convex corners and one reflex has A + Pd + (5/4)πd² - d² with round joins.
func TestOffsetAreas(t *testing.T) {
	square := shape(t, "POLYGON((0 0,100 0,100 100,0 100,0 0))")
	ell := shape(t, "POLYGON((0 0,200 0,200 100,100 100,100 200,0 200,0 0))")
	holed := shape(t, "POLYGON((0 0,100 0,100 100,0 100,0 0),(30 30,30 70,70 70,70 30,30 30))")
	for _, c := range []struct {
		name string
		area orb.MultiPolygon
		d    float64
		join Join
		want float64
	}{
		{"square", square, 10, Round, 14314.159265},
		{"square", square, 30, Round, 24827.433388},
		{"square", square, 10, Mitre, 14400},
		{"square", square, 30, Mitre, 25600},
		{"ell", ell, 10, Round, 38292.699},
		{"ell", ell, 30, Round, 56634.292},
		{"ell", ell, 10, Mitre, 38400},
		{"ell", ell, 30, Mitre, 57600},
		{"square inwards", square, -10, Round, 6400},
		{"square to nothing", square, -51, Round, 0},
		{"hole shrinks", holed, 10, Mitre, 14400 - 400},
		{"hole vanishes", holed, 30, Mitre, 25600},
		{"hole grows", holed, -5, Round, 8100 - (1600 + 4*40*5 + math.Pi*25)},
	} {
		t.Run(fmt.Sprint(c.name, c.d, c.join), func(t *testing.T) {
			const tolerance = 1e-4
			got := Offset(c.area, c.d, Style{Join: c.join, ArcTolerance: tolerance})
			if err := sfValid(got); err != nil {
				t.Error(err)
			}
			// Arcs lie outside the true ones by at most the tolerance along
			// their length (2πd in all at most), and a cell is 0.1 mm.
			bound := 2*math.Pi*math.Abs(c.d)*tolerance + 1e-4*1000
			if a := planar.Area(got); math.Abs(a-c.want) > bound {
				t.Errorf("area %v, want %v ± %v", a, c.want, bound)
			}
		})
	}
}

// hostileRing draws on a small lattice, so that vertices repeat, edges are
// retraced and overlap, and rings run through each other's vertices.
func hostileRing(r *rand.Rand, n, size int) orb.Ring {
	ring := make(orb.Ring, 0, n+1)
	for range n {
		ring = append(ring, orb.Point{float64(r.IntN(size)), float64(r.IntN(size))})
		if k := len(ring); r.IntN(6) == 0 {
			ring = append(ring, ring[k-1]) // repeated
		} else if k > 2 && r.IntN(6) == 0 {
			ring = append(ring, ring[k-2], ring[k-1]) // retraced
		}
	}
	return append(ring, ring[0])
}

func hostilePolygon(r *rand.Rand) orb.Polygon {
	size := 3 + r.IntN(10)
	p := orb.Polygon{hostileRing(r, 3+r.IntN(9), size)}
	for range r.IntN(3) {
		p = append(p, hostileRing(r, 3+r.IntN(4), size))
	}
	// Half of them turned by an angle, so that no coordinate is on the grid.
	if sin, cos := math.Sincos(r.Float64()); r.IntN(2) == 0 {
		for _, ring := range p {
			for i, q := range ring {
				ring[i] = orb.Point{q[0]*cos - q[1]*sin, q[0]*sin + q[1]*cos}
			}
		}
	}
	return p
}

// windingAt counts how often the ring goes around p, by angles: slow, and
// nothing like the kernel's way.
func windingAt(ring orb.Ring, p orb.Point) int {
	var sum float64
	for i := range ring {
		a, b := ring[i], ring[(i+1)%len(ring)]
		ax, ay, bx, by := a[0]-p[0], a[1]-p[1], b[0]-p[0], b[1]-p[1]
		sum += math.Atan2(ax*by-ay*bx, ax*bx+ay*by)
	}
	return int(math.Round(sum / (2 * math.Pi)))
}

// nearRim reports whether p is within d of an edge of a ring.
func nearRim(ring orb.Ring, p orb.Point, d float64) bool {
	for i := range ring {
		if planar.DistanceFromSegment(ring[i], ring[(i+1)%len(ring)], p) < d {
			return true
		}
	}
	return false
}

func TestRepairHostile(t *testing.T) {
	n := cases(1000, 4000)
	if testing.Short() {
		n = 400
	}
	r := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		p := hostilePolygon(r)
		g := MetreGrid(orb.MultiPolygon{p}.Bound())
		got := Repair(g, p)
		if err := sfValid(got); err != nil {
			t.Fatalf("case %d: %v\nin  %v\nout %v", i, err, p, got)
		}
		again := union(g, got)
		if d := planar.Area(again) - planar.Area(got); math.Abs(d) > 1e-12 || len(again) != len(got) {
			t.Fatalf("case %d: repairing the repaired changes it by %v m²: %v", i, d, p)
		}
		// What is inside is what the definition says, at points clear of every
		// edge: snapping moves an edge by less than a cell's diagonal a round.
		for range 20 {
			q := orb.Point{r.Float64()*16 - 4, r.Float64() * 16}
			clear, want := true, windingAt(p[0], q) != 0
			for k, ring := range p {
				clear = clear && !nearRim(ring, q, 1e-3)
				want = want && (k == 0 || windingAt(ring, q) == 0)
			}
			if clear && planar.MultiPolygonContains(got, q) != want {
				t.Fatalf("case %d: %v is inside: %v, want %v\nin  %v\nout %v", i, q, !want, want, p, got)
			}
		}
	}
}

// union mends each polygon and unites them.
func union(g Grid, mp orb.MultiPolygon) orb.MultiPolygon {
	var parts []orb.MultiPolygon
	for _, p := range mp {
		parts = append(parts, Repair(g, p))
	}
	return Union(g, parts...)
}

func TestOverlayAgainstSecondOpinion(t *testing.T) {
	n := cases(400, 1500)
	if testing.Short() {
		n = 150
	}
	r := rand.New(rand.NewPCG(3, 4))
	for i := range n {
		p, q := hostilePolygon(r), hostilePolygon(r)
		b := orb.MultiPolygon{p, q}.Bound()
		g := MetreGrid(b)
		a, c := Repair(g, p), Repair(g, q)
		for _, op := range []struct {
			name string
			ours orb.MultiPolygon
			sf   func(a, b orb.MultiPolygon) (float64, error)
		}{
			{"union", Union(g, a, c), sfUnion},
			{"intersection", Intersection(g, a, c), sfIntersection},
			{"difference", Difference(g, a, c), sfDifference},
		} {
			if err := sfValid(op.ours); err != nil {
				t.Fatalf("case %d: %s: %v\na %v\nb %v", i, op.name, err, a, c)
			}
			want, err := op.sf(a, c)
			if err != nil {
				t.Fatalf("case %d: second opinion: %v", i, err)
			}
			// Every edge moves by less than a cell (0.1 mm) along its length;
			// 200 edges of 20 m at most.
			if got := planar.Area(op.ours); math.Abs(got-want) > 1e-4*4000 || math.Abs(got-want) > 1e-4*(sumLength(a)+sumLength(c)) {
				t.Fatalf("case %d: %s has %v m², second opinion %v", i, op.name, got, want)
			}
		}
	}
}

func sumLength(mp orb.MultiPolygon) float64 { return planar.Length(mp) }

func TestOffsetAgainstSecondOpinion(t *testing.T) {
	n := cases(100, 300)
	if testing.Short() {
		n = 40
	}
	r := rand.New(rand.NewPCG(5, 6))
	for i := range n {
		p := hostilePolygon(r)
		a := Repair(MetreGrid(orb.MultiPolygon{p}.Bound()), p)
		if len(a) == 0 {
			continue
		}
		d := []float64{0.3, 1, 5, -0.2, -0.7}[r.IntN(5)]
		got := Offset(a, d, Style{ArcTolerance: 1e-4})
		if err := sfValid(got); err != nil {
			t.Fatalf("case %d by %v: %v\nin  %v\nout %v", i, d, err, a, got)
		}
		const quadrant = 200 // segments in the second opinion's arcs
		want, err := sfBuffer(a, d, quadrant)
		if err != nil {
			t.Fatalf("case %d: second opinion: %v", i, err)
		}
		// Theirs are inside the true arc by d(1-cos(π/4·200)), ours outside by
		// the tolerance, both along no more than the rim of the result.
		bound := planar.Length(got)*(1e-4+math.Abs(d)*(1-math.Cos(math.Pi/(4*quadrant)))) + 1e-4*planar.Length(a)
		if have := planar.Area(got); math.Abs(have-want) > bound {
			t.Fatalf("case %d by %v: %v m², second opinion %v ± %v\n%v", i, d, have, want, bound, a)
		}
	}
}

func BenchmarkOffset(b *testing.B) {
	ring := make(orb.Ring, 0, 1001)
	r := rand.New(rand.NewPCG(7, 8))
	for i := range 1000 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 1000)
		radius := 500 + 20*r.Float64()
		ring = append(ring, orb.Point{radius * cos, radius * sin})
	}
	area := orb.MultiPolygon{{append(ring, ring[0])}}
	for b.Loop() {
		Offset(area, 30, Style{})
	}
}
