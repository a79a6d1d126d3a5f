package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Lines 30 m apart from x = −20 to 220 and photos 10 m apart from y = −30 to 180,
// about a site of 180 m by 150 m, with footprints of 75 m along by 100 m across:
// centres reach 30 m past the ends, 20 m past the west side and 40 m past the
// east. At least 37.5 − 10 m and 50 − 30 m are needed.
func TestReachOfARegularGrid(t *testing.T) {
	site := rectangle(0, 0, 180, 150)
	for _, c := range []struct {
		name          string
		site          orb.MultiPolygon
		x0, y0        float64
		lines, shots  int
		median, least float64
		enough        float64
		on            func(p orb.Point) bool // where the least is
	}{
		{"past all sides", site, -20, -30, 9, 22, 30, 20, 1, func(p orb.Point) bool { return p[0] == 0 }},
		{"short on the east", site, -20, -30, 7, 22, 30, 0, 510.0 / 660, func(p orb.Point) bool { return p[0] == 180 }},
		{"short at both ends", site, -20, -10, 9, 19, 20, 10, 300.0 / 660, func(p orb.Point) bool { return p[1] == 0 }},
		{"within", site, 15, 5, 6, 15, 0, 0, 0, func(p orb.Point) bool { return true }},
		// The side between the two is no edge of the site as a whole.
		{"two parts side by side", append(rectangle(0, 0, 90, 150), rectangle(90, 0, 180, 150)...), -20, -30, 9, 22, 30, 20, 1, func(p orb.Point) bool { return p[0] == 0 }},
		{"with a hole", orb.MultiPolygon{{site[0][0], {{60, 60}, {60, 90}, {90, 90}, {90, 60}, {60, 60}}}}, -20, -30, 9, 22, 30, 20, 1, func(p orb.Point) bool { return p[0] == 0 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			job := jobOf(c.site, serpentine(c.x0, c.y0, 30, 10, c.lines, c.shots), 5)
			r := run(t, job).Edge.Reach
			near(t, "half a footprint along", r.Along, 37.5, 1e-3)
			near(t, "half a footprint across", r.Across, 50, 1e-3)
			near(t, "what is needed along", r.NeedAlong, 27.5, 1e-3)
			near(t, "what is needed across", r.NeedAcross, 20, 1e-3)
			near(t, "median", r.Median, c.median, 1e-3)
			near(t, "least", r.Least, c.least, 1e-3)
			near(t, "share with enough", r.Enough, c.enough, 1.5/float64(r.N))
			at := ground.Metres(r.At)
			if r.N < 10 || !c.on(orb.Point{math.Round(at[0]*1000) / 1000, math.Round(at[1]*1000) / 1000}) {
				t.Errorf("%d places, the least at %v", r.N, at)
			}
		})
	}
}

// Photos in no line give no reach to speak of.
func TestReachWithoutLines(t *testing.T) {
	job := jobOf(rectangle(0, 0, 90, 100), serpentine(45, 50, 30, 20, 1, 1), 1)
	if r := run(t, job).Edge.Reach; r != (EdgeReach{}) {
		t.Errorf("%+v", r)
	}
}

// Against places and centres taken one by one, in polar coordinates and by
// another library's distances.
func TestReachAgainstBruteForce(t *testing.T) {
	random := rand.New(rand.NewPCG(31, 32))
	for range 10 {
		site := orb.MultiPolygon{star(random)}
		m := &reachMeter{site: site, course: orb.Point{0, 1}, along: 0.4, across: 0.5, aside: 10 + 20*random.Float64()}
		var all []orb.Point
		for range 400 {
			c := orb.Point{random.Float64()*500 - 100, random.Float64()*500 - 100}
			all = append(all, c)
			if !planar.MultiPolygonContains(site, c) {
				m.centres = append(m.centres, c)
				m.from = append(m.from, planar.DistanceFrom(site, c))
			}
		}
		ring := site[0][0]
		length := planar.Length(orb.LineString(ring))
		const step = 7
		places := m.places(ring, step)
		if want := int(math.Ceil(length / step)); len(places) != want {
			t.Fatalf("%d places, want %d", len(places), want)
		}
		passed := 0
		for i, p := range places {
			// The side that holds the chainage, from the ring itself.
			left := length * (float64(i) + 0.5) / float64(len(places))
			k := 1
			for ; k < len(ring)-1 && left > planar.Distance(ring[k-1], ring[k]); k++ {
				left -= planar.Distance(ring[k-1], ring[k])
			}
			course := math.Atan2(ring[k][1]-ring[k-1][1], ring[k][0]-ring[k-1][0])
			at := orb.Point{ring[k-1][0] + left*math.Cos(course), ring[k-1][1] + left*math.Sin(course)}
			near(t, "place", planar.Distance(at, p.at), 0, 1e-6)
			want := 0.0
			for _, c := range all {
				angle := math.Atan2(c[1]-at[1], c[0]-at[0]) - (course - math.Pi/2) // of the outline, counter-clockwise
				d := planar.Distance(at, c)
				out, aside := d*math.Cos(angle), math.Abs(d*math.Sin(angle))
				if aside <= m.aside && !planar.MultiPolygonContains(site, c) && planar.DistanceFrom(site, c) >= out/2 {
					want = max(want, out)
				}
			}
			got, ok := m.at(p)
			if !ok {
				passed++
				continue
			}
			near(t, "half a footprint", m.part(p, m.along, m.across), 0.5*math.Abs(math.Sin(course))+0.4*math.Abs(math.Cos(course)), 1e-9)
			near(t, "reach", got, want, 1e-6)
		}
		if passed > len(places)/4 {
			t.Errorf("%d of %d places are passed over", passed, len(places))
		}
	}
}

// The outline of a site may be drawn as finely as one likes.
func TestReachDoesNotDependOnDrawing(t *testing.T) {
	photos := serpentine(-20, -30, 30, 10, 9, 22)
	want := run(t, jobOf(rectangle(0, 0, 180, 150), photos, 5)).Edge.Reach
	corners := rectangle(0, 0, 180, 150)[0][0]
	random := rand.New(rand.NewPCG(41, 42))
	var fine orb.Ring
	for k := 1; k < len(corners); k++ {
		for i := range 300 {
			p := between(corners[k-1], corners[k], float64(i)/300)
			if i > 0 {
				p[0] += 0.02 * random.NormFloat64()
				p[1] += 0.02 * random.NormFloat64()
			}
			fine = append(fine, p)
		}
	}
	job := jobOf(orb.MultiPolygon{{append(fine, fine[0])}}, photos, 5)
	got := run(t, job).Edge.Reach
	near(t, "median", got.Median, want.Median, 0.2)
	near(t, "least", got.Least, want.Least, 0.2)
}
