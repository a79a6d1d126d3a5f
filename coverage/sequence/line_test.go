package sequence

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

// pathOf places photos from step to step, each so many legs of 10 m on a course.
func pathOf(steps ...struct {
	legs   int
	course float64
}) []orb.Point {
	at := []orb.Point{{0, 0}}
	for _, s := range steps {
		sin, cos := math.Sincos(s.course * math.Pi / 180)
		for range s.legs {
			p := at[len(at)-1]
			at = append(at, orb.Point{p[0] + 10*sin, p[1] + 10*cos})
		}
	}
	return at
}

type step = struct {
	legs   int
	course float64
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %v, want %v ± %v", what, got, want, tolerance)
	}
}

func TestFindLines(t *testing.T) {
	for _, c := range []struct {
		name string
		at   []orb.Point
		want [][2]int // first and last shot
	}{
		{"none", nil, nil},
		{"one photo", pathOf(), nil},
		{"one leg", pathOf(step{1, 0}), nil},
		{"three photos", pathOf(step{2, 0}), [][2]int{{0, 2}}},
		{"serpentine, one leg across", pathOf(step{5, 0}, step{1, 90}, step{5, 180}, step{1, 90}, step{5, 0}), [][2]int{{0, 5}, {6, 11}, {12, 17}}},
		{"serpentine, four legs across", pathOf(step{9, 0}, step{4, 90}, step{9, 180}, step{4, 90}, step{9, 0}), [][2]int{{0, 9}, {13, 22}, {26, 35}}},
		{"rounded turn", pathOf(step{6, 0}, step{1, 45}, step{2, 90}, step{1, 135}, step{6, 180}), [][2]int{{0, 6}, {10, 16}}},
		{"crossed lines at the end", pathOf(step{9, 0}, step{1, 90}, step{9, 180}, step{9, 90}, step{1, 0}, step{9, 270}), [][2]int{{0, 9}, {10, 19}, {19, 28}, {29, 38}}},
		{"slight bend", pathOf(step{4, 0}, step{4, 15}), [][2]int{{0, 8}}},
		{"a way to the line that runs nearly along it", append([]orb.Point{{-34, -260}}, pathOf(step{9, 0})...), [][2]int{{1, 10}}},
		{"a way from the line that runs nearly along it", append(pathOf(step{9, 0}), orb.Point{34, 350}), [][2]int{{0, 9}}},
		{"a few photos missing at the begin", append([]orb.Point{{1, -40}}, pathOf(step{9, 0})...), [][2]int{{0, 10}}},
		{"sharp bend", pathOf(step{4, 0}, step{4, 25}), [][2]int{{0, 4}, {4, 8}}},
		{"across north", pathOf(step{3, 355}, step{3, 5}), [][2]int{{0, 6}}},
		{"hovering in a line", append(pathOf(step{4, 0}), orb.Point{0.5, 40}, orb.Point{0, 40.5}, orb.Point{0, 50}, orb.Point{0, 60}, orb.Point{0, 70}), [][2]int{{0, 9}}},
		{"all in one place", make([]orb.Point, 5), [][2]int{{0, 4}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got [][2]int
			for _, l := range FindLines(c.at, make([]time.Time, len(c.at))) {
				got = append(got, [2]int{l.Shots[0], l.Shots[len(l.Shots)-1]})
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestLinesOverPauses(t *testing.T) {
	at := pathOf(step{20, 90})
	timed := func(pause time.Duration) []time.Time {
		times := make([]time.Time, len(at))
		for i := range times {
			times[i] = time.Unix(int64(2*i), 0)
			if i > 10 {
				times[i] = times[i].Add(pause)
			}
		}
		return times
	}
	apart := func(by float64) []orb.Point {
		moved := slices.Clone(at)
		for i := 11; i < len(moved); i++ {
			moved[i][0] += by
		}
		return moved
	}
	for _, c := range []struct {
		name  string
		at    []orb.Point
		times []time.Time
		want  int
	}{
		{"a missing photo", apart(10), timed(2 * time.Second), 1},
		{"a pause in place", at, timed(time.Hour), 1},
		{"a long leg, flown fast", apart(200), timed(5 * time.Second), 1},
		{"a long leg after a pause", apart(200), timed(time.Hour), 2},
		{"a long leg, times unknown", apart(200), make([]time.Time, len(at)), 2},
	} {
		if got := FindLines(c.at, c.times); len(got) != c.want {
			t.Errorf("%s: %d lines, want %d", c.name, len(got), c.want)
		}
	}
}

// Errors of position of 1 m with 10 m between photos must not break lines.
func TestLinesUnderNoise(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		at := pathOf(step{20, 30}, step{3, 120}, step{20, 210}, step{3, 120}, step{20, 30})
		for i := range at {
			at[i][0] += random.NormFloat64() * 0.5
			at[i][1] += random.NormFloat64() * 0.5
		}
		lines := FindLines(at, make([]time.Time, len(at)))
		if len(lines) != 3 {
			t.Fatalf("%d lines, want 3", len(lines))
		}
		for i, l := range lines {
			near(t, "course", Apart(l.Course, []float64{30, 210, 30}[i]), 0, 2)
		}
	}
}

func TestHeadings(t *testing.T) {
	at := pathOf(step{5, 0}, step{1, 90}, step{5, 180})
	got := Headings(at, FindLines(at, make([]time.Time, len(at))))
	for i, want := range []float64{0, 0, 0, 0, 0, 0, 180, 180, 180, 180, 180, 180} {
		near(t, "heading", Apart(got[i], want), 0, 1e-9)
	}
	// Without a line, the shorter leg beside a photo decides.
	corner := []orb.Point{{0, 0}, {0, 10}, {5, 10}}
	for i, want := range []float64{0, 90, 90} {
		near(t, "heading", Headings(corner, nil)[i], want, 1e-9)
	}
	near(t, "heading beside a repeated place", Headings([]orb.Point{{0, 0}, {0, 0}, {5, 0}}, nil)[1], 90, 1e-9)
	near(t, "heading of a single photo", Headings(corner[:1], nil)[0], 0, 0)
}

// The way to the next line back is no missed trigger, even where it leads almost
// along that line: 33 m long and 10 m aside, with photos 19 m apart. A photo left
// out of a line is one, although the next lies a metre aside.
func TestTurnIsNoMissedTrigger(t *testing.T) {
	const east, north = 16.4, 9.1 // from photo to photo
	for _, tt := range []struct {
		what    string
		next    orb.Point
		way     float64
		seconds int
		want    int
	}{
		{"from line to line", orb.Point{22, 24}, 1, 10, 0},
		{"within a line", orb.Point{-2*east + 0.5, -2*north - 0.9}, -1, 4, 1},
	} {
		var shots []Shot
		add := func(p orb.Point, seconds int) {
			shots = append(shots, Shot{
				File: fmt.Sprintf("IMG_%04d.JPG", len(shots)+1), At: p, Height: 80, Altitude: 212,
				Time: morning.Add(time.Duration(seconds) * time.Second), Clock: "GPS",
			})
		}
		for k := range 6 {
			add(orb.Point{east * float64(5-k), north * float64(5-k)}, 2*k)
		}
		for k := range 6 {
			add(orb.Point{tt.next[0] + tt.way*east*float64(k), tt.next[1] + tt.way*north*float64(k)}, 10+tt.seconds+2*k)
		}
		if missing := Of(shots, nil).Missing; len(missing) != tt.want {
			t.Errorf("%s: missing are %+v, want %d", tt.what, missing, tt.want)
		}
	}
}
