package coverage

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

// setup flies lens, which sees 75 m along and 100 m across, 50 m up.
func setup(forward, side float64) Setup {
	return Setup{Camera: lens, Height: 50, Forward: forward, Side: side}
}

// By derivation, worked by hand: at 75/70 the base is 18.75 m and the spacing
// 30 m, 4 photos of 3 lines see any place, and 5 views take 3 photos of 2 lines.
func TestDeriveBuffer(t *testing.T) {
	wide := setup(0.50, 0.50)
	wide.Camera.SensorWidth, wide.Camera.SensorHeight = 40, 10 // 200 m across, 50 m along
	for _, c := range []struct {
		name              string
		in                BufferInput
		lines, linePhotos int
		views             int
		want, full        Reach
	}{
		{"5 views", BufferInput{setup(0.75, 0.70), 5}, 2, 3, 5,
			Reach{28.125, 30, 42}, Reach{37.5, 50, 63}}, // diagonal 41.12; 3 lines of 2 photos would take 48.75
		{"all views", BufferInput{setup(0.75, 0.70), 0}, 3, 4, 12,
			Reach{37.5, 50, 63}, Reach{37.5, 50, 63}}, // diagonal 62.5
		{"one view", BufferInput{setup(0.75, 0.70), 1}, 1, 1, 1,
			Reach{9.375, 15, 18}, Reach{37.5, 50, 63}}, // diagonal 17.69
		{"most that is sure", BufferInput{setup(0.75, 0.70), 12}, 3, 4, 12,
			Reach{37.5, 45, 59}, Reach{37.5, 50, 63}}, // diagonal 58.58
		{"stereo on film overlaps", BufferInput{setup(0.60, 0.30), 2}, 1, 2, 2,
			Reach{30, 35, 47}, Reach{37.5, 50, 63}}, // diagonal 46.10
		{"wide photos", BufferInput{wide, 4}, 2, 2, 4,
			Reach{25, 100, 104}, Reach{25, 100, 104}}, // 1 line of 4 photos would take 71, but only 2 see a place
	} {
		got, err := DeriveBuffer(c.in)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		for what, pair := range map[string][2]Reach{"reach": {got.Reach, c.want}, "full reach": {got.Full, c.full}} {
			near(t, c.name+", "+what+" along", pair[0].Along, pair[1].Along, 1e-9)
			near(t, c.name+", "+what+" across", pair[0].Across, pair[1].Across, 1e-9)
			near(t, c.name+", "+what+" buffer", pair[0].Buffer, pair[1].Buffer, 0)
		}
		if got.Lines != c.lines || got.LinePhotos != c.linePhotos || got.Views != c.views {
			t.Errorf("%s: %d views from %d lines of %d photos, want %d from %d of %d",
				c.name, got.Views, got.Lines, got.LinePhotos, c.views, c.lines, c.linePhotos)
		}
	}
}

// lattice is a regular flight without end, as far as it matters to a site: its
// lines start anywhere, and each line's photos do.
func lattice(random *rand.Rand, site orb.MultiPolygon, l Layout, course float64) []orb.Point {
	const margin = 300
	bound := site.Bound()
	reach := distance(bound.Min, bound.Max)/2 + margin
	var centres []orb.Point
	for across := -reach + random.Float64()*l.LineSpacing; across < reach; across += l.LineSpacing {
		for along := -reach + random.Float64()*l.AirBase; along < reach; along += l.AirBase {
			p := turned(orb.Point{along, across}, course)
			centres = append(centres, orb.Point{p[0] + bound.Center()[0], p[1] + bound.Center()[1]})
		}
	}
	return centres
}

// edgeOf walks the edge of a site under the centres that lie within the buffer.
func edgeOf(t *testing.T, site orb.MultiPolygon, centres []orb.Point, course, buffer float64, views int) Edge {
	t.Helper()
	flight := site
	if buffer > 0 {
		flight = plane.Offset(site, buffer, plane.Style{})
	}
	var photos []photo.Photo
	for _, p := range centres {
		if plane.Contains(flight, p) {
			shot := exposure(len(photos), p[0], p[1])
			shot.Yaw = course
			photos = append(photos, shot)
		}
	}
	if len(photos) == 0 {
		return Edge{}
	}
	return run(t, jobOf(site, photos, views)).Edge
}

func leastViews(e Edge) int {
	if len(e.Rings) == 0 {
		return 0
	}
	least := math.MaxInt
	for _, ring := range e.Rings {
		for _, step := range ring.Profile {
			if step.To-step.From > 2*tick { // the walk's own resolution
				least = min(least, step.Views)
			}
		}
	}
	return least
}

var edgeSites = map[string]orb.MultiPolygon{
	"rectangle":    rectangle(0, 0, 160, 120),
	"strip":        rectangle(0, 0, 150, 1),
	"spot":         rectangle(0, 0, 2, 2),
	"sharp corner": {{{{0, 0}, {200, 10}, {190, 40}, {0, 0}}}},
	"angle":        {{{{0, 0}, {150, 0}, {150, 40}, {40, 40}, {40, 150}, {0, 150}, {0, 0}}}},
}

// A regular flight over the flight area must show every point of the edge as
// often as promised, wherever it starts and whatever its course; with 60 % of
// the buffer it must fall short somewhere, or the buffer would be too much.
func TestBufferIsEnoughAndNeeded(t *testing.T) {
	random := rand.New(rand.NewPCG(41, 42))
	for _, c := range []struct {
		forward, side float64
		views         int
	}{{0.75, 0.70, 5}, {0.80, 0.70, 3}, {0.60, 0.30, 2}, {0.75, 0.70, 12}, {0.80, 0.75, 0}} {
		r, err := DeriveBuffer(BufferInput{setup(c.forward, c.side), c.views})
		if err != nil {
			t.Fatal(err)
		}
		short := 0
		for _, name := range slices.Sorted(maps.Keys(edgeSites)) {
			site := edgeSites[name]
			for _, course := range []float64{0, 45, 131} {
				centres := lattice(random, site, r.Layout, course)
				edge := edgeOf(t, site, centres, course, r.Buffer, r.Views)
				if least := leastViews(edge); least < r.Views || edge.Length-edge.Captured > 10*tick {
					t.Errorf("%v on %s, course %v: %v of %v m captured, least views %d, buffer %v",
						c, name, course, edge.Captured, edge.Length, least, r.Buffer)
				}
				if leastViews(edgeOf(t, site, centres, course, 0.6*r.Buffer, r.Views)) < r.Views {
					short++
				}
			}
		}
		if short == 0 {
			t.Errorf("%v: 60 %% of the buffer never falls short", c)
		}
	}
}

// With the full buffer the edge is seen exactly as under a flight without end;
// the larger of along and across alone is not enough for that.
func TestFullBufferMissesNothing(t *testing.T) {
	random := rand.New(rand.NewPCG(43, 44))
	r, err := DeriveBuffer(BufferInput{setup(0.80, 0.70), 0})
	if err != nil {
		t.Fatal(err)
	}
	larger, tooLittle := max(r.Along, r.Across), 0
	for _, name := range slices.Sorted(maps.Keys(edgeSites)) {
		site := edgeSites[name]
		for _, course := range []float64{0, 30} {
			centres := lattice(random, site, r.Layout, course)
			endless := edgeOf(t, site, centres, course, 250, r.Views)
			same := func(buffer float64) bool {
				got := edgeOf(t, site, centres, course, buffer, r.Views)
				return slices.EqualFunc(got.Rings, endless.Rings, func(a, b EdgeRing) bool {
					return slices.EqualFunc(a.Profile, b.Profile, func(a, b Step) bool {
						return a.Views == b.Views && math.Abs(a.From-b.From) < 10*tick && math.Abs(a.To-b.To) < 10*tick
					})
				})
			}
			if !same(r.Buffer) {
				t.Errorf("%s, course %v: the edge is not seen as under an endless flight", name, course)
			}
			tooLittle += one(!same(larger))
		}
	}
	if tooLittle == 0 {
		t.Errorf("%v m, the larger of along and across, was enough too", larger)
	}
}

// The lines and photos that PlanFlight counts must keep what DeriveBuffer
// promises, on any course.
func TestPlannedFlightKeepsTheViews(t *testing.T) {
	for _, views := range []int{3, 5, 8} {
		in := setup(0.75, 0.70)
		r, err := DeriveBuffer(BufferInput{in, views})
		if err != nil {
			t.Fatal(err)
		}
		for name, site := range edgeSites {
			flight := ground.ToDegrees(plane.Offset(site, r.Buffer, plane.Style{}))
			for _, course := range []float64{math.NaN(), 20, 110} {
				p, err := PlanFlight(flight, PlanInput{Setup: in, Course: course})
				if err != nil {
					t.Fatal(err)
				}
				var photos []photo.Photo
				for _, l := range p.Parts[0].Lines {
					from, to := ground.Metres(l.From), ground.Metres(l.To)
					for i := range l.Photos {
						at := between(from, to, float64(i)/float64(l.Photos-1))
						shot := exposure(len(photos), at[0], at[1])
						shot.Yaw = p.Parts[0].Course
						photos = append(photos, shot)
					}
				}
				edge := run(t, jobOf(site, photos, views)).Edge
				if least := leastViews(edge); least < views {
					t.Errorf("%d views on %s, course %v: least views %d", views, name, p.Parts[0].Course, least)
				}
			}
		}
	}
}

func TestSetupRefused(t *testing.T) {
	good := setup(0.75, 0.70)
	for _, c := range []struct {
		change func(in *BufferInput)
		want   string
	}{
		{func(in *BufferInput) { in.Camera.FocalLength = 0 }, "camera"},
		{func(in *BufferInput) { in.Camera.Columns = 0 }, "camera"},
		{func(in *BufferInput) { in.Camera.SensorWidth = math.Inf(1) }, "camera"},
		{func(in *BufferInput) { in.GSD = 0.02 }, "not both"},
		{func(in *BufferInput) { in.Height = 0 }, "height above ground or the ground sample distance"},
		{func(in *BufferInput) { in.Height = -5 }, "height above ground must be over 0"},
		{func(in *BufferInput) { in.Height = math.NaN() }, "height above ground must be over 0"},
		{func(in *BufferInput) { in.Height = 10_001 }, "at most 10000 m"},
		{func(in *BufferInput) { in.Height, in.GSD = 0, -1 }, "ground sample distance must be over 0"},
		{func(in *BufferInput) { in.Height, in.GSD = 0, math.NaN() }, "ground sample distance must be over 0"},
		{func(in *BufferInput) { in.Height, in.GSD = 0, 10 }, "takes 20000 m"},
		{func(in *BufferInput) { in.Forward = 1 }, "forward overlap"},
		{func(in *BufferInput) { in.Forward = math.NaN() }, "forward overlap"},
		{func(in *BufferInput) { in.Side = -0.1 }, "side overlap"},
		{func(in *BufferInput) { in.Views = -1 }, "below 0"},
		{func(in *BufferInput) { in.Views = 13 }, "make sure of 12 even inside the area, from 3 lines with 4 photos each"},
	} {
		in := BufferInput{good, 5}
		c.change(&in)
		if _, err := DeriveBuffer(in); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("want %q, got %v", c.want, err)
		}
	}
}
