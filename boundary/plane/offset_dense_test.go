package plane

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// ragged draws a star-shaped outline of n vertices whose radius wanders and
// jitters, so that with a large distance most vertices lie in bays.
func ragged(r *rand.Rand, n int, radius, jitter float64) orb.Ring {
	ring := make(orb.Ring, 0, n+1)
	phase, wave := r.Float64()*6, 2+r.IntN(7)
	for i := range n {
		at := 2 * math.Pi * float64(i) / float64(n)
		sin, cos := math.Sincos(at)
		d := radius * (1 + 0.3*math.Sin(float64(wave)*at+phase) + jitter*(r.Float64()-0.5))
		ring = append(ring, orb.Point{d * cos, d * sin})
	}
	return append(ring, ring[0])
}

// denseCases calls check with areas whose vertices lie far closer together than
// the distance, with and without a ragged hole, and the bound on the area's
// error: our arcs lie outside the true ones by the tolerance at most and the
// other's inside by d(1-cos(π/4·quadrant)), both along no more than the rim of
// the result; every vertex is moved by less than a cell.
func denseCases(n int, quadrant float64, check func(i int, area orb.MultiPolygon, d float64, got orb.MultiPolygon, bound float64)) {
	r := rand.New(rand.NewPCG(31, 32))
	for i := range n {
		radius := 20 + 80*r.Float64()
		area := orb.MultiPolygon{{ragged(r, 50+r.IntN(400), radius, 0.3*r.Float64())}}
		if r.IntN(2) == 0 {
			hole := ragged(r, 50+r.IntN(200), radius*0.25, 0.2*r.Float64())
			area = Difference(MetreGrid(area.Bound()), area, orb.MultiPolygon{{hole}})
		}
		d := radius * math.Pow(10, -2+2.3*r.Float64())
		if r.IntN(3) == 0 {
			d = -d / 4
		}
		const tolerance = 1e-4
		got := Offset(area, d, Style{ArcTolerance: tolerance})
		bound := planar.Length(got)*(tolerance+math.Abs(d)*(1-math.Cos(math.Pi/(4*quadrant)))) + 1e-4*planar.Length(area)
		check(i, area, d, got, bound)
	}
}

// Every point of the rim must lie at the distance from the area, to the arcs'
// tolerance and the grid's cells: then no ground is missing and none is too
// much, whatever way the curve was drawn.
func TestOffsetDense(t *testing.T) {
	n := cases(30, 50)
	if testing.Short() {
		n = 15
	}
	const quadrant = 200
	denseCases(n, quadrant, func(i int, area orb.MultiPolygon, d float64, got orb.MultiPolygon, bound float64) {
		if err := sfValid(got); err != nil {
			t.Fatalf("case %d by %v: %v\n%v", i, d, err, area)
		}
		for _, polygon := range got {
			for _, ring := range polygon {
				for k := 1; k < len(ring); k++ {
					middle := orb.Point{(ring[k-1][0] + ring[k][0]) / 2, (ring[k-1][1] + ring[k][1]) / 2}
					for _, p := range []orb.Point{ring[k], middle} {
						// A vertex is snapped by up to 0.7 cells of 0.1 mm, and so are both ends of what it is held against.
						if off := BoundaryDistance(area, p) - math.Abs(d); off < -3e-4 || off > 1e-4+3e-4 {
							t.Fatalf("case %d by %v: %v is %v too far", i, d, p, off)
						}
					}
				}
			}
		}
		for _, polygon := range area {
			if d > 0 && !Contains(got, polygon[0][0]) {
				t.Fatalf("case %d by %v: the area is not inside", i, d)
			}
		}
		if i%10 > 0 {
			return // the second opinion is slow
		}
		// It drops bays shallower than a hundredth of the distance first.
		want, err := sfBuffer(area, d, quadrant)
		if err != nil {
			t.Fatalf("case %d: second opinion: %v", i, err)
		}
		if have := planar.Area(got); math.Abs(have-want) > bound+0.01*math.Abs(d)*planar.Length(got) {
			t.Errorf("case %d by %v: %v m², second opinion %v ± %v", i, d, have, want, bound)
		}
	})
}

func TestOffsetDenseAgainstGEOS(t *testing.T) {
	g := startGEOS(t)
	denseCases(cases(40, 300), 200, func(i int, area orb.MultiPolygon, d float64, got orb.MultiPolygon, bound float64) {
		if valid, _ := g.ask(t, "self", 0, got, nil); !valid {
			t.Fatalf("case %d by %v: not valid for GEOS: %v", i, d, area)
		}
		// GEOS first drops bays shallower than a hundredth of the distance,
		// which can add that much along the rim.
		bound += 0.01 * math.Abs(d) * planar.Length(got)
		if _, want := g.ask(t, "buffer", d, area, nil); math.Abs(planar.Area(got)-want) > bound {
			t.Errorf("case %d by %v: %v m², by GEOS %v ± %v", i, d, planar.Area(got), want, bound)
		}
	})
}

// rim returns the rings of an area as lines.
func rim(area orb.MultiPolygon) []orb.LineString {
	var lines []orb.LineString
	for _, polygon := range area {
		for _, ring := range polygon {
			lines = append(lines, orb.LineString(ring))
		}
	}
	return lines
}

// By its definition an offset is the area and all that lies near its rim, each
// side taken by itself. Neither the ball nor any other shortcut has a part in
// that.
func TestOffsetByDefinition(t *testing.T) {
	const tolerance = 1e-4
	denseCases(cases(25, 60), 200, func(i int, area orb.MultiPolygon, d float64, got orb.MultiPolygon, _ float64) {
		near := OffsetLines(rim(area), math.Abs(d), Style{ArcTolerance: tolerance})
		g := MetreGrid(near.Bound().Union(got.Bound()).Pad(1))
		want := Difference(g, area, near)
		if d > 0 {
			want = Union(g, area, near)
		}
		// Both draw arcs up to the tolerance beyond the true ones, and move
		// vertices by less than a cell of 0.1 mm each.
		bound := (tolerance + 2e-4) * (planar.Length(want) + planar.Length(got))
		missing, extra := planar.Area(Difference(g, want, got)), planar.Area(Difference(g, got, want))
		if missing > bound || extra > bound {
			t.Errorf("case %d by %v: %v m² missing, %v m² too much, ± %v: %v", i, d, missing, extra, bound, area)
		}
	})
}
