package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
)

func TestBands(t *testing.T) {
	for wanted := 1; wanted < 8; wanted++ {
		next := 0
		for _, b := range bands(wanted) {
			if b.From != next || b.To >= 0 && b.To < b.From {
				t.Fatalf("wanted %d: %+v", wanted, bands(wanted))
			}
			next = b.To + 1
			if b.From < wanted && b.To >= wanted {
				t.Errorf("wanted %d: band %+v is short and enough", wanted, b)
			}
		}
		if next != 0 {
			t.Errorf("wanted %d: the last band ends", wanted)
		}
	}
}

// Conservation, exact on any pattern: the areas seen at least once, at least
// twice and so on add up to the parts of the footprints within the area.
func TestViewsConserveFootprints(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 12))
	for range 8 {
		footprints := ringsOfFootprints(randomFlight(random, 25), ground)
		site := rectangle(50, 60, 250, 240)
		want := 0.0
		for _, f := range footprints {
			if ring := convexIntersection(f, site[0][0]); ring != nil {
				want += planar.Area(ring)
			}
		}
		got := 0.0
		for k := 1; k <= len(footprints); k++ {
			views := viewBands(site, footprints, k)
			totals, area := totalsOf(views, k)
			near(t, "site area", area, 200*180, 0.01)
			more := totals.EnoughShare * area
			if got += more; more == 0 {
				break
			}
		}
		// Rounding to 0.1 mm moves the 10 km of rims by less than that.
		near(t, "sum over views", got, want, 0.5)
	}
}

// The bands against photos asked one by one.
func TestViewBandsAgainstSampling(t *testing.T) {
	random := rand.New(rand.NewPCG(13, 14))
	const wanted = 3
	for range 2 {
		photos := randomFlight(random, 40)
		footprints := ringsOfFootprints(photos, ground)
		site := orb.MultiPolygon{star(random)}
		views := viewBands(site, footprints, wanted)
		rims := site
		for _, f := range footprints {
			rims = append(rims, orb.Polygon{f})
		}
		counts := make([]float64, len(views))
		unsure := 0.0
		const raster = 2.0 // metres
		for x := 1.0; x < 300; x += raster {
			for y := 1.0; y < 300; y += raster {
				p := orb.Point{x, y}
				d := plane.BoundaryDistance(rims, p)
				if d < raster/math.Sqrt2 {
					unsure++
				}
				if !plane.Contains(site, p) {
					continue
				}
				n := 0
				for _, ph := range photos {
					n += one(sawPoint(ph, ground, ph.Height, p))
				}
				for i, b := range views {
					in := n >= b.From && (b.To < 0 || n <= b.To)
					counts[i] += float64(one(in))
					if d > 0.2 && plane.Contains(b.Shape, p) != in {
						t.Fatalf("%v has %d views, band %d to %d says otherwise", p, n, b.From, b.To)
					}
				}
			}
		}
		for i, b := range views {
			// Only raster cells that a rim crosses can be counted wrongly.
			near(t, "area of a band", b.Area, counts[i]*raster*raster, unsure*raster*raster)
			if err := plane.Valid(b.Shape); err != nil {
				t.Error(err)
			}
		}
	}
}

// Steps of the edge walk against the zones beside them.
func TestEdgeAgreesWithZones(t *testing.T) {
	random := rand.New(rand.NewPCG(15, 16))
	const wanted, inwards = 3, 0.001
	steps := 0
	for range 10 {
		footprints := ringsOfFootprints(randomFlight(random, 40), ground)
		site := orb.MultiPolygon{star(random)}
		views := viewBands(site, footprints, wanted)
		edge := walkEdge(site, indexFootprints(footprints, site), wanted, ground, make([]bool, len(footprints)))
		for i, ring := range site[0] {
			chainages := chainagesOf(ring)
			for _, s := range edge.Rings[i].Profile {
				middle := (s.From + s.To) / 2
				if s.To-s.From < 0.5 {
					continue
				}
				a, b := along(ring, chainages, middle-0.001, middle-0.001)[0], along(ring, chainages, middle+0.001, middle+0.001)[0]
				d := distance(a, b) // the area lies to the left
				p := orb.Point{a[0] - (b[1]-a[1])/d*inwards, a[1] + (b[0]-a[0])/d*inwards}
				onRim := false
				for _, f := range footprints {
					onRim = onRim || plane.BoundaryDistance(orb.MultiPolygon{{f}}, p) < 2*inwards
				}
				if onRim {
					continue
				}
				steps++
				for _, v := range views {
					in := s.Views >= v.From && (v.To < 0 || s.Views <= v.To)
					if plane.Contains(v.Shape, p) != in {
						t.Fatalf("%d views on the edge at %v, band %d to %d beside it says otherwise", s.Views, p, v.From, v.To)
					}
				}
			}
		}
	}
	if steps < 300 {
		t.Errorf("only %d steps compared", steps)
	}
}

func TestLabelPointLiesInside(t *testing.T) {
	random := rand.New(rand.NewPCG(17, 18))
	polygons := []orb.Polygon{
		rectangle(0, 0, 100, 50)[0],
		{{{0, 0}, {1, 0}, {1e-4, 1e-4}, {0, 0}}}, // a sliver
		{{{0, 0}, {90, 0}, {90, 90}, {80, 90}, {80, 10}, {10, 10}, {10, 90}, {0, 90}, {0, 0}}}, // a U
		{rectangle(0, 0, 10, 10)[0][0], {{1, 1}, {1, 9}, {9, 9}, {9, 1}, {1, 1}}},              // a frame
	}
	for range 100 {
		polygons = append(polygons, star(random))
	}
	for _, p := range polygons {
		label := labelPoint(p)
		if area := (orb.MultiPolygon{p}); !plane.Contains(area, label) || plane.BoundaryDistance(area, label) == 0 {
			t.Errorf("%v is not inside %v", label, p)
		}
	}
	label := labelPoint(polygons[0])
	near(t, "distance from the middle of a rectangle", distance(label, orb.Point{50, 25}), 0, 1e-9)
}

func TestZonesAreSortedAndLargeEnough(t *testing.T) {
	random := rand.New(rand.NewPCG(21, 22))
	footprints := ringsOfFootprints(randomFlight(random, 30), ground)
	views := viewBands(rectangle(0, 0, 300, 300), footprints, 3)
	all, large := zonesOf(views, 3, 0), zonesOf(views, 3, 50)
	rank := map[ZoneKind]int{Gap: 0, NoStereo: 1, Thin: 2}
	sum := map[ZoneKind]float64{}
	big := 0
	for i, z := range all {
		sum[z.Kind] += z.Area
		big += one(z.Area >= 50)
		if i > 0 && (rank[z.Kind] < rank[all[i-1].Kind] || z.Kind == all[i-1].Kind && z.Area > all[i-1].Area) {
			t.Errorf("zone %d is out of order", i)
		}
	}
	if len(large) != big || big == len(all) || big == 0 {
		t.Errorf("%d large zones of %d, want %d", len(large), len(all), big)
	}
	totals, _ := totalsOf(views, 3)
	near(t, "gaps", sum[Gap], totals.Gap, 1e-6)
	near(t, "no stereo", sum[NoStereo], totals.NoStereo, 1e-6)
	near(t, "thin", sum[Thin], totals.Thin, 1e-6)
	// One view is enough when one is wanted: only gaps fall short.
	for _, z := range zonesOf(viewBands(rectangle(0, 0, 300, 300), footprints, 1), 1, 0) {
		if z.Kind != Gap {
			t.Errorf("a %s zone although one view is wanted", z.Kind)
		}
	}
}

// The bands of a dense flight, where most ground is settled by counting, against all footprints.
func TestBandsOfADenseFlight(t *testing.T) {
	random := rand.New(rand.NewPCG(37, 38))
	all := ringsOfFootprints(randomFlight(random, 150), ground)
	for wanted := 1; wanted <= 3; wanted++ {
		views := viewBands(rectangle(0, 0, 300, 300), all, wanted)
		for range 1000 {
			p := orb.Point{random.Float64() * 300, random.Float64() * 300}
			n, onRim := 0, false
			for _, r := range all {
				n += one(plane.Contains(orb.MultiPolygon{{r}}, p))
				onRim = onRim || plane.BoundaryDistance(orb.MultiPolygon{{r}}, p) < 0.001
			}
			for _, b := range views {
				if in := n >= b.From && (b.To < 0 || n <= b.To); !onRim && plane.Contains(b.Shape, p) != in {
					t.Fatalf("%v has %d views, band %d to %d says otherwise", p, n, b.From, b.To)
				}
			}
		}
	}
}
