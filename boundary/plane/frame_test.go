package plane

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

var frameCentres = []orb.Point{{0, 0}, {-1.5, 48}, {25, 70.5}, {151, -33.9}, {179.999, 10}, {-180, -45}, {12, 89.9}, {40, -90}}

func TestFrameThereAndBack(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 5))
	for _, centre := range frameCentres {
		f := NewFrame(centre)
		if got := f.Metres(centre); planar.Distance(got, orb.Point{}) > 1e-10 { // not 0 where products are rounded together with sums
			t.Errorf("centre %v is at %v", centre, got)
		}
		for range 300 {
			xy := orb.Point{(r.Float64() - 0.5) * 2e5, (r.Float64() - 0.5) * 2e5}
			lonlat := f.Degrees(xy)
			if math.Abs(lonlat[0]-centre[0]) > 180 {
				t.Fatalf("centre %v: longitude %v is the far way round", centre, lonlat[0])
			}
			if d := planar.Distance(f.Metres(lonlat), xy); d > 1e-7 {
				t.Fatalf("centre %v: %v comes back %v m away", centre, xy, d)
			}
			if d := planar.Distance(f.Metres(orb.Point{lonlat[0] + 360, lonlat[1]}), xy); d > 1e-7 {
				t.Fatalf("centre %v: a whole turn moves %v by %v m", centre, xy, d)
			}
			if d := GeodesicDistance(centre, lonlat); math.Abs(d-math.Hypot(xy[0], xy[1])) > 1e-7 {
				t.Fatalf("centre %v: %v lies %v m off", centre, xy, d)
			}
		}
	}
}

// North is up and east is right, to the accuracy of a degree's length.
func TestFrameAxes(t *testing.T) {
	// A degree at 45° N: 111131.7774 m along the meridian, 78846.8351 m along
	// the parallel, by the formulas for the radii of curvature of WGS 84.
	f := NewFrame(orb.Point{8, 45})
	if got := f.Metres(orb.Point{8, 45.001}); math.Abs(got[0]) > 1e-9 || math.Abs(got[1]-111.1317774) > 2e-5 {
		t.Errorf("a thousandth of a degree north: %v", got)
	}
	if got := f.Metres(orb.Point{8.001, 45}); math.Abs(got[0]-78.8468351) > 2e-7 || math.Abs(got[1]) > 1e-3 {
		t.Errorf("a thousandth of a degree east: %v", got)
	}
}

// Lengths and areas away from the centre, against geodesic ones, which take no
// part in the projection: within r²/6R² for lengths, and for areas too since a
// circle is stretched that much one way only.
func TestFrameKeepsLengthsAndAreas(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 5))
	for _, centre := range frameCentres[:6] {
		f := NewFrame(centre)
		for _, reach := range []float64{2e3, 1e4, 1e5} {
			limit := reach * reach / (6 * 6.33e6 * 6.33e6)
			for range 30 {
				turn := r.Float64() * 2 * math.Pi
				at := orb.Point{0.99 * reach * math.Cos(turn), 0.99 * reach * math.Sin(turn)}
				turn = r.Float64() * 2 * math.Pi
				step := reach / 1000
				to := orb.Point{at[0] + step*math.Cos(turn), at[1] + step*math.Sin(turn)}
				length := GeodesicDistance(f.Degrees(at), f.Degrees(to))
				if e := step/length - 1; e < -limit/100-1e-8 || e > limit+1e-8 {
					t.Fatalf("centre %v, %v m out: length off by %v, limit %v", centre, reach, e, limit)
				}
			}
			circle := make(orb.Ring, 0, 721)
			for i := range 720 {
				sin, cos := math.Sincos(2 * math.Pi * float64(i) / 720)
				circle = append(circle, orb.Point{reach * cos, reach * sin})
			}
			mp := orb.MultiPolygon{{append(circle, circle[0])}}
			if e := planar.Area(mp)/GeodesicArea(f.ToDegrees(mp)) - 1; e < 0 || e > limit {
				t.Errorf("centre %v, %v m out: area off by %v, limit %v", centre, reach, e, limit)
			}
		}
	}
}

func TestToMetresFollowsEdges(t *testing.T) {
	for _, lat := range []float64{0, 45, -45, 70, 85} {
		f := NewFrame(orb.Point{20, lat})
		for _, deviation := range []float64{0.001, 0.1, 5} {
			for _, size := range []float64{100, 1000, 20_000, 140_000} {
				for _, turn := range []float64{0, 20, 35.3, 45, 90, 135, 170} {
					for _, place := range []orb.Point{{0, 0}, {-size / 2, -size / 2}, {size / 3, -size / 2}} {
						sin, cos := math.Sincos(radians(turn))
						a, b := f.Degrees(place), f.Degrees(orb.Point{place[0] + size*cos, place[1] + size*sin})
						line := f.ToMetres(orb.MultiPolygon{{{a, b}}}, deviation)[0][0]
						worst := worstDeviation(f, a, b, line)
						if worst > deviation {
							t.Fatalf("lat %v, %v m at %v° from %v: off by %v m of %v with %d pieces",
								lat, size, turn, place, worst, deviation, len(line)-1)
						}
						// No more pieces than needed, where an edge runs east.
						if turn == 0 && math.Abs(lat) >= 45 && len(line) > 4 && worst < deviation*0.4 {
							t.Errorf("lat %v, %v m from %v: off by %v m only of %v with %d pieces",
								lat, size, place, worst, deviation, len(line)-1)
						}
					}
				}
			}
		}
	}
}

// worstDeviation samples the straight edge from a to b, in degrees, and returns
// the greatest distance of its exact projection from the line.
func worstDeviation(f Frame, a, b orb.Point, line orb.Ring) float64 {
	worst, pieces := 0.0, len(line)-1
	step := max(1, pieces/7) // a few pieces will do
	for i := 0; i < pieces; i += step {
		for _, within := range []float64{0.25, 0.5, 0.75} {
			t := (float64(i) + within) / float64(pieces)
			p := f.Metres(orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
			worst = max(worst, distanceToEdge(p, line[i], line[i+1]))
		}
	}
	return worst
}

// The sagitta of an edge from west to east is d² tan φ / 8R: 22 mm on 1 km at
// 48°, so one piece at 25 mm and two at 20 mm.
func TestToMetresDividesByNeed(t *testing.T) {
	f := NewFrame(orb.Point{0, 48})
	half := 500 / 111.320e3 / math.Cos(radians(48))
	edge := orb.MultiPolygon{{{{-half, 48}, {half, 48}}}}
	for deviation, want := range map[float64]int{0.025: 1, 0.020: 2, 0: 1, -1: 1, math.NaN(): 1, 1e-12: mostPieces} {
		if got := len(f.ToMetres(edge, deviation)[0][0]) - 1; got != want {
			t.Errorf("deviation %v m: %d pieces, want %d", deviation, got, want)
		}
	}
}

func TestToMetresKeepsRingsTogether(t *testing.T) {
	mp := Unwrap(orb.MultiPolygon{
		{{{179.9, 60}, {-179.9, 60.01}, {-179.8, 60.1}, {179.9, 60.1}, {179.9, 60}}},
		{{{-179.7, 60}, {-179.7, 60.1}, {-179.8, 60.1}, {-179.9, 60.01}, {-179.7, 60}}},
		{{{179.9, 60.01}, {-179.9, 60.01}}}, // open
		{{}, {{180, 60}}},
	})
	f, err := FrameFor(mp)
	if err != nil {
		t.Fatal(err)
	}
	got := f.ToMetres(mp, 0.001)
	for i := range 2 {
		if ring := got[i][0]; ring[0] != ring[len(ring)-1] || len(ring) < 20 {
			t.Errorf("ring %d of %d vertices ends at %v, begins at %v", i, len(ring), ring[len(ring)-1], ring[0])
		}
	}
	from, to := f.Metres(mp[0][0][1]), f.Metres(mp[0][0][2])
	first, second := got[0][0], slices.Clone(got[1][0])
	first = first[slices.Index(first, from) : slices.Index(first, to)+1]
	slices.Reverse(second)
	second = second[slices.Index(second, from) : slices.Index(second, to)+1]
	if !slices.Equal(first, second) || len(first) < 5 {
		t.Errorf("the shared edge is %v in one ring, %v in the other", first, second)
	}
	if open := got[2][0]; open[0] == open[len(open)-1] || len(got[3][0]) != 0 || len(got[3][1]) != 1 {
		t.Errorf("open and short rings changed: %v, %v", open, got[3])
	}
	// Back again, every vertex is where it was.
	back := f.ToDegrees(f.ToMetres(mp, 0))
	for i, ring := range mp[0][0] {
		if d := GeodesicDistance(back[0][0][i], ring); d > 1e-7 {
			t.Errorf("vertex %d comes back %v m away", i, d)
		}
	}
}

func TestFrameFor(t *testing.T) {
	for _, c := range []struct {
		name   string
		mp     orb.MultiPolygon
		centre orb.Point
		text   string // of the error
	}{
		{"a field", orb.MultiPolygon{{{{10, 50}, {10.2, 50}, {10.2, 50.1}, {10, 50}}}}, orb.Point{10.1, 50.05}, ""},
		{"across the 180th meridian", orb.MultiPolygon{{{{179.9, 50}, {-179.7, 50}, {-179.7, 50.1}, {179.9, 50}}}}, orb.Point{180.1, 50.05}, ""},
		{"190 km at 60°", orb.MultiPolygon{{{{10, 60}, {13.4, 60}, {13.4, 60.1}, {10, 60}}}}, orb.Point{11.7, 60.05}, ""},
		{"two sites", orb.MultiPolygon{{{{10, 50}, {10.2, 50}, {10.2, 50.1}, {10, 50}}}, {{{10, 53}, {10.2, 53}, {10.2, 53.1}, {10, 53}}}}, orb.Point{},
			"the area is 347 km wide, and a job may be 200 km wide at most"},
		{"wide at the equator", orb.MultiPolygon{{{{10, -1}, {13.4, -0.5}, {13.4, 0.5}, {10, -1}}}}, orb.Point{}, "380 km wide"},
		{"empty", orb.MultiPolygon{{}}, orb.Point{}, "the area is empty"},
		{"latitude and longitude swapped", orb.MultiPolygon{{{{-33, 151}, {-33, 151.1}, {-33.1, 151}, {-33, 151}}}}, orb.Point{}, "longitude -33, latitude 151 is no place on Earth"},
		{"not a number", orb.MultiPolygon{{{{1, 2}, {math.NaN(), 3}}}}, orb.Point{}, "longitude NaN, latitude 3 is no place on Earth"},
	} {
		f, err := FrameFor(c.mp)
		if c.text != "" {
			if err == nil || !strings.Contains(err.Error(), c.text) {
				t.Errorf("%s: %v, want %q", c.name, err, c.text)
			}
			continue
		}
		if err != nil || planar.Distance(f.Centre(), c.centre) > 1e-9 {
			t.Errorf("%s: centre %v, error %v, want %v", c.name, f.Centre(), err, c.centre)
		}
	}
}

func BenchmarkMetres(b *testing.B) {
	f := NewFrame(orb.Point{8, 45})
	for b.Loop() {
		f.Metres(orb.Point{8.01, 45.01})
	}
}
