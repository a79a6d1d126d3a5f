package coverage

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

func TestSpareFootprintsChangeNothing(t *testing.T) {
	random := rand.New(rand.NewPCG(33, 34))
	for _, enough := range []int{2, 4, 6, 10} {
		left := 0
		for range 4 {
			all := ringsOfFootprints(randomFlight(random, 150), ground)
			kept := needed(all, enough)
			left += len(all) - len(kept)
			for range 2000 {
				p := orb.Point{random.Float64()*400 - 50, random.Float64()*400 - 50}
				of := func(rings []orb.Ring) (n int) {
					for _, r := range rings {
						n += one(plane.Contains(orb.MultiPolygon{{r}}, p))
					}
					return n
				}
				if before, after := of(all), of(kept); min(before, enough) != min(after, enough) {
					t.Fatalf("enough %d: %d views at %v became %d", enough, before, p, after)
				}
			}
		}
		if enough < 10 && left == 0 {
			t.Errorf("enough %d: no footprint was spare", enough)
		}
	}
}

// Others all around a footprint, but not in its middle, do not make it spare.
func TestMiddleIsNotSpare(t *testing.T) {
	around := []orb.Ring{
		rectangle(-50, -50, 20, 110)[0][0], rectangle(40, -50, 110, 110)[0][0],
		rectangle(-50, -50, 110, 20)[0][0], rectangle(-50, 40, 110, 110)[0][0],
	}
	if kept := needed(append([]orb.Ring{rectangle(0, 0, 60, 60)[0][0]}, around...), 1); len(kept) != 5 {
		t.Errorf("%d footprints kept, want all 5", len(kept))
	}
	above := rectangle(-60, -60, 120, 120)[0][0]
	if kept := needed(append([]orb.Ring{rectangle(0, 0, 60, 60)[0][0], above}, around...), 1); len(kept) != 1 {
		t.Errorf("%d footprints kept, want only the one over all", len(kept))
	}
}

// The bands of a dense flight, where footprints are spare, against all footprints.
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

func TestEachVisitsWhatAFootprintTouches(t *testing.T) {
	random := rand.New(rand.NewPCG(35, 36))
	for _, ring := range ringsOfFootprints(randomFlight(random, 50), ground) {
		tiles := tiling{7}
		seen := map[tile]bool{}
		tiles.each(ring, func(at tile, whole bool) bool {
			if _, again := seen[at]; again {
				t.Fatalf("tile %v twice", at)
			}
			seen[at] = whole
			return true
		})
		for _, p := range ring {
			if _, touched := seen[tile{floor(p[0] / 7), floor(p[1] / 7)}]; !touched {
				t.Fatalf("corner %v lies in no tile", p)
			}
		}
		box := ring.Bound().Pad(20)
		for range 500 {
			p := orb.Point{box.Min[0] + random.Float64()*(box.Max[0]-box.Min[0]), box.Min[1] + random.Float64()*(box.Max[1]-box.Min[1])}
			whole, touched := seen[tile{floor(p[0] / 7), floor(p[1] / 7)}]
			inside := plane.Contains(orb.MultiPolygon{{ring}}, p)
			if inside && !touched || whole && !inside {
				t.Fatalf("%v: inside %v, tile touched %v, whole %v", p, inside, touched, whole)
			}
		}
	}
}

func floor(v float64) int {
	n := int(v)
	if float64(n) > v {
		n--
	}
	return n
}
