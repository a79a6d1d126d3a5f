package boundary

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// inRings tells by the rule of even and odd crossings whether a point lies in an
// area; nothing of the plane is used.
func inRings(mp orb.MultiPolygon, p orb.Point) bool {
	inside := false
	for _, polygon := range mp {
		for _, ring := range polygon {
			for i := 1; i < len(ring); i++ {
				a, b := ring[i-1], ring[i]
				if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
					inside = !inside
				}
			}
		}
	}
	return inside
}

// edgeDistance is the geodesic distance (Karney 2013) from p to the nearest
// point of the sides. Which point that is, is told with degrees stretched to
// metres, whose error of 1e-4 moves it along the side only.
func edgeDistance(mp orb.MultiPolygon, p orb.Point) float64 {
	east, north := 111_320*math.Cos(p[1]*math.Pi/180), 111_200.0
	least := math.Inf(1)
	var nearest orb.Point
	for _, polygon := range mp {
		for _, ring := range polygon {
			for i := 1; i < len(ring); i++ {
				a, b := ring[i-1], ring[i]
				ux, uy := (b[0]-a[0])*east, (b[1]-a[1])*north
				wx, wy := (p[0]-a[0])*east, (p[1]-a[1])*north
				t := max(0, min(1, (ux*wx+uy*wy)/max(1e-12, ux*ux+uy*uy)))
				if d := math.Hypot(wx-t*ux, wy-t*uy); d < least {
					least, nearest = d, orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
				}
			}
		}
	}
	return plane.GeodesicDistance(p, nearest)
}

// blob is a ring around a centre, in metres about a place.
func blob(r *rand.Rand, at orb.Point, x, y, radius float64) orb.Polygon {
	l := localAt(at)
	var ring orb.Ring
	n := 5 + r.IntN(12)
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		reach := radius * (0.6 + 0.4*r.Float64())
		ring = append(ring, l.degrees(orb.Point{x + reach*cos, y + reach*sin}))
	}
	return orb.Polygon{append(ring, ring[0])}
}

func filledIn(mp orb.MultiPolygon) orb.MultiPolygon {
	var outlines orb.MultiPolygon
	for _, polygon := range mp {
		outlines = append(outlines, polygon[:1])
	}
	return outlines
}

// Every part has its own margin and no other: points all over the ground are
// held against what distances by geodesics alone say of them.
func TestEachPartHasItsOwnMargin(t *testing.T) {
	cases := 60
	if testing.Short() {
		cases = 10
	}
	r := rand.New(rand.NewPCG(7, 8))
	codes := map[finding.Code]int{}
	for i := range cases {
		at := orb.Point{7, []float64{0, 47, -33, 68}[r.IntN(4)]}
		var parts []Part
		for k := range 1 + r.IntN(4) {
			buffer := 5 + 45*r.Float64()
			if r.IntN(2) == 0 {
				buffer = -3 - 22*r.Float64()
			}
			if r.IntN(4) == 0 {
				buffer = 0 // the job's
			}
			hole := r.IntN(3) == 0
			spread := 60 + 200*r.Float64()
			parts = append(parts, Part{Name: fmt.Sprintf("Part %d", k+1), Buffer: buffer,
				Polygon: blob(r, at, spread*float64(k%2), spread*float64(k/2), 60+60*r.Float64())})
			if hole {
				inner := blob(r, at, spread*float64(k%2), spread*float64(k/2), 5+20*r.Float64())
				parts[k].Polygon = append(parts[k].Polygon, inner[0])
			}
		}
		m := Margin{Buffer: 30, KeepSeparate: r.IntN(4) == 0}
		if r.IntN(3) == 0 {
			m.Buffer = -8
		}
		if r.IntN(2) == 0 {
			m.MaxVertices = 8 + r.IntN(40)
		}
		if r.IntN(3) == 0 {
			m.Join = plane.Mitre
		}
		if r.IntN(4) == 0 {
			m.FillHoles, m.HoleMin = r.IntN(2) == 0, 2000*r.Float64()
		}
		var zone orb.MultiPolygon
		if r.IntN(3) == 0 {
			zone = orb.MultiPolygon{blob(r, at, 100*r.Float64(), 100*r.Float64(), 30)}
			m.KeepOut = []KeepOut{{Name: "yard", Shape: zone, Margin: 5}}
		}
		if r.IntN(4) == 0 {
			m.ByName = map[string]float64{"Part 1": -4 + 20*float64(r.IntN(2))}
		}
		site := siteOf(t, parts...)
		f, err := Expand(site, m)
		if errors.Is(err, ErrVanished) {
			continue
		}
		if err != nil {
			t.Fatalf("case %d, %+v: %v\n%v", i, m, err, parts)
		}
		if _, err := ProveWritten(site, m, f.Areas); err != nil {
			t.Fatalf("case %d: read back: %v", i, err)
		}
		for _, found := range f.Findings {
			codes[found.Code]++
		}
		bound := site.Shape().Bound().Pad(0.0008)
		for range 1500 {
			p := orb.Point{bound.Min[0] + r.Float64()*(bound.Max[0]-bound.Min[0]), bound.Min[1] + r.Float64()*(bound.Max[1]-bound.Min[1])}
			flown := false
			for _, a := range f.Areas {
				flown = flown || inRings(a.Shape, p)
			}
			must, may := false, false
			extended := false
			for _, a := range site.Areas {
				// The rule of precedence, told again.
				buffer := math.Inf(-1)
				for _, part := range a.Parts {
					own := m.Buffer
					if part.Buffer != 0 {
						own = part.Buffer
					}
					if named, ok := m.ByName[part.Name]; ok {
						own = named
					}
					buffer = max(buffer, own)
				}
				extended = extended || buffer > 0
				in, d := inRings(a.Shape, p), edgeDistance(a.Shape, p)
				if in {
					d = -d // the distance outwards
				}
				// Mitred, the corners that turn inwards keep further off.
				must = must || d < buffer-0.02 && (buffer > 0 || m.Join == plane.Round)
				reach := 0.02
				if buffer > 0 && m.Join == plane.Mitre {
					reach = 4.1 * buffer // at the limit of 5
				} else if buffer < 0 && m.MaxVertices > 0 {
					reach = -buffer // as far as the edge
				}
				may = may || d < buffer+reach
				if in, d := inRings(filledIn(a.Shape), p), edgeDistance(filledIn(a.Shape), p); m.FillHoles || m.HoleMin > 0 {
					if in {
						d = -d
					}
					may = may || d < buffer+reach
				}
			}
			if zone != nil {
				d := edgeDistance(zone, p)
				if inRings(zone, p) || d < 5-0.01 {
					if flown {
						t.Fatalf("case %d, %+v: %v is flown and must not be\n%v", i, m, p, parts)
					}
					continue
				}
				must = must && d > 5.6 // corners may reach a tenth further
			}
			if must && !flown {
				t.Fatalf("case %d, %+v: %v is not flown\n%v", i, m, p, parts)
			}
			between := extended && (m.FillHoles || m.HoleMin > 0) // holes that several parts enclose are filled too
			if flown && !may && !between && (m.MaxVertices == 0 || !extended) {
				t.Fatalf("case %d, %+v: %v is flown\n%v", i, m, p, parts)
			}
		}
	}
	t.Log(codes)
	for _, code := range []finding.Code{finding.EdgePassed, finding.EdgeNearer, finding.BuffersDiffer, finding.Simplified, finding.PartsMerged} {
		if codes[code] == 0 && !testing.Short() {
			t.Errorf("no case has shown %s", code)
		}
	}
}
