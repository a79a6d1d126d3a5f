package coverage

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

func ringsOfFootprints(photos []photo.Photo, frame plane.Frame) []orb.Ring {
	var out []orb.Ring
	for _, p := range photos {
		if ring, _ := footprint(p.Camera, pose{frame.Metres(p.Position), p.Height, p.Yaw, p.Pitch, p.Roll}); ring != nil {
			out = append(out, ring)
		}
	}
	return out
}

func TestWalkOfKnownViews(t *testing.T) {
	square := rectangle(0, 0, 100, 100)[0][0]
	for _, c := range []struct {
		name       string
		footprints []orb.Ring
		want       []Step
	}{
		{"nothing", nil, []Step{{0, 400, 0}}},
		{"all", []orb.Ring{rectangle(-1, -1, 101, 101)[0][0]}, []Step{{0, 400, 1}}},
		{"exactly the area", []orb.Ring{square}, []Step{{0, 400, 1}}},
		{"inside, touching nothing", []orb.Ring{rectangle(10, 10, 90, 90)[0][0]}, []Step{{0, 400, 0}}},
		{"a corner", []orb.Ring{rectangle(70, -10, 120, 20)[0][0]}, []Step{{0, 70, 0}, {70, 120, 1}, {120, 400, 0}}},
		{"along a side from outside", []orb.Ring{rectangle(20, -10, 60, 0)[0][0]}, []Step{{0, 20, 0}, {20, 60, 1}, {60, 400, 0}}},
		{"side by side", []orb.Ring{rectangle(-1, -1, 50, 101)[0][0], rectangle(50, -1, 101, 101)[0][0]}, []Step{{0, 400, 1}}},
		{"one upon another", []orb.Ring{rectangle(-1, -1, 60, 101)[0][0], rectangle(40, -1, 101, 101)[0][0]},
			[]Step{{0, 40, 1}, {40, 60, 2}, {60, 240, 1}, {240, 260, 2}, {260, 400, 1}}},
		{"touching a corner", []orb.Ring{{{100, 100}, {130, 100}, {130, 130}, {100, 130}, {100, 100}}}, []Step{{0, 400, 0}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			x := indexFootprints(c.footprints, orb.MultiPolygon{{square}})
			length, profile := x.walk(square, make([]bool, len(c.footprints)))
			near(t, "length", length, 400, 0)
			if len(profile) != len(c.want) {
				t.Fatalf("got %v, want %v", profile, c.want)
			}
			for i, s := range profile {
				near(t, "from", s.From, c.want[i].From, 1e-4)
				near(t, "to", s.To, c.want[i].To, 1e-4)
				if s.Views != c.want[i].Views {
					t.Errorf("step %d: %d views, want %d", i, s.Views, c.want[i].Views)
				}
			}
		})
	}
}

// randomFlight takes photos anywhere around a 300 m square, looking anywhere.
func randomFlight(random *rand.Rand, n int) []photo.Photo {
	var photos []photo.Photo
	for i := range n {
		p := exposure(i, random.Float64()*300, random.Float64()*300)
		p.Height = 30 + 40*random.Float64()
		p.Yaw = random.Float64() * 360
		p.Pitch = -90 + math.Abs(random.NormFloat64())*12
		p.Roll = random.NormFloat64() * 10
		photos = append(photos, p)
	}
	return photos
}

// star is an area with corners of all kinds and a hole.
func star(random *rand.Rand) orb.Polygon {
	ring := func(least, most float64, corners int) orb.Ring {
		var r orb.Ring
		for i := range corners {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(corners))
			d := least + random.Float64()*(most-least)
			r = append(r, orb.Point{150 + d*cos, 150 + d*sin})
		}
		return append(r, r[0])
	}
	hole := ring(15, 35, 7)
	hole.Reverse()
	return orb.Polygon{ring(60, 140, 13), hole}
}

// The profile against photos asked one by one, point by point.
func TestWalkAgainstSampling(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	for range 8 {
		photos := randomFlight(random, 40)
		footprints := ringsOfFootprints(photos, ground)
		site := orb.MultiPolygon{star(random)}
		edge := walkEdge(site, indexFootprints(footprints, site), 3, ground, make([]bool, len(footprints)))
		for i, ring := range site[0] {
			profile := edge.Rings[i].Profile
			end := 0.0
			for k, s := range profile {
				if s.From != end || s.To <= s.From || k > 0 && s.Views == profile[k-1].Views {
					t.Fatalf("steps do not follow each other: %v", profile)
				}
				end = s.To
			}
			near(t, "end", end, edge.Rings[i].Length, 0)
			chainages := chainagesOf(ring)
			near(t, "length", chainages[len(ring)-1], edge.Rings[i].Length, 0)
			for c := 0.05; c < edge.Rings[i].Length; c += 0.83 {
				k := slices.IndexFunc(profile, func(s Step) bool { return c <= s.To })
				if min(c-profile[k].From, profile[k].To-c) < 0.001 {
					continue
				}
				p := along(ring, chainages, c, c)[0]
				views, onRim := 0, false
				for _, ph := range photos {
					views += one(sawPoint(ph, ground, ph.Height, p))
				}
				for _, f := range footprints {
					// The rim of cut footprints is a polygon, not the circle.
					onRim = onRim || plane.BoundaryDistance(orb.MultiPolygon{{f}}, p) < 0.2 && len(f) > 5
				}
				if views != profile[k].Views && !onRim {
					t.Fatalf("ring %d at %v: %d views by sampling, %d in %+v", i, c, views, profile[k].Views, profile[k])
				}
			}
		}
	}
}

// A finely drawn edge and a far away huge footprint change nothing.
func TestWalkDoesNotDependOnDrawing(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	footprints := ringsOfFootprints(randomFlight(random, 60), ground)
	coarse := star(random)[0]
	var fine orb.Ring
	for k := 1; k < len(coarse); k++ {
		for i := range 500 {
			fine = append(fine, between(coarse[k-1], coarse[k], float64(i)/500))
		}
	}
	fine = append(fine, coarse[0])
	huge := append(slices.Clone(footprints), rectangle(1000, 1000, 50_000, 50_000)[0][0])
	length, want := indexFootprints(footprints, orb.MultiPolygon{{coarse}}).walk(coarse, make([]bool, len(huge)))
	for _, ring := range []orb.Ring{coarse, fine} {
		l, got := indexFootprints(huge, orb.MultiPolygon{{ring}}).walk(ring, make([]bool, len(huge)))
		near(t, "length", l, length, 1e-6)
		if len(got) != len(want) {
			t.Fatalf("%d steps, want %d", len(got), len(want))
		}
		for i := range got {
			near(t, "from", got[i].From, want[i].From, 2e-4)
			if got[i].Views != want[i].Views {
				t.Errorf("step %d: %d views, want %d", i, got[i].Views, want[i].Views)
			}
		}
	}
}

func TestStretches(t *testing.T) {
	ring := rectangle(0, 0, 100, 100)[0][0]
	profile := []Step{{0, 50, 5}, {50, 120, 2}, {120, 150, 0}, {150, 200, 4}, {200, 260, 3}, {260, 400, 9}}
	got := stretches(ring, profile, 4, 7, ground)
	if len(got) != 2 {
		t.Fatalf("%d stretches: %+v", len(got), got)
	}
	for i, want := range []struct {
		from, to float64
		views    int
		path     orb.LineString
	}{
		{50, 150, 0, orb.LineString{{50, 0}, {100, 0}, {100, 50}}},
		{200, 260, 3, orb.LineString{{100, 100}, {40, 100}}},
	} {
		s := got[i]
		if s.From != want.from || s.To != want.to || s.MinViews != want.views || s.Ring != 7 || len(s.Path) != len(want.path) {
			t.Fatalf("got %+v, want %+v", s, want)
		}
		for k, p := range want.path {
			near(t, "path", distance(ground.Metres(s.Path[k]), p), 0, 1e-6)
		}
	}
}
