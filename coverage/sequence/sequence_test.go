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

var morning = time.Date(2026, 5, 12, 9, 0, 0, 0, time.UTC)

// survey is a flight of which everything is known.
type survey struct {
	lines, shots   int     // of a line
	base, spacing  float64 // metres
	speed          float64 // metres a second
	turn           float64 // seconds from line to line
	begin          time.Time
	folder         string
	counter        int  // of the first photo
	climb, landing int  // photos on the way up, and on the ground
	whole          bool // times lose their fractions
	east           float64
}

// fly photographs a survey: all at 80 m, the photos in the order taken. at says
// of each on which line and the how manieth of it it is, -1 for off the lines.
func (s survey) fly() (shots []Shot, at [][2]int) {
	now := s.begin
	add := func(p orb.Point, height float64, line, k int) {
		when := now
		if s.whole {
			when = when.Truncate(time.Second)
		}
		n := (s.counter+len(shots)-1)%9999 + 1
		shots = append(shots, Shot{
			File: fmt.Sprintf("%s/IMG_%04d.JPG", s.folder, n), At: orb.Point{p[0] + s.east, p[1]},
			Height: height, Altitude: 132 + height, Time: when, Clock: "GPS",
		})
		at = append(at, [2]int{line, k})
	}
	pass := func(seconds float64) { now = now.Add(time.Duration(seconds * 1e9)) }
	for range s.landing {
		add(orb.Point{-30, -30}, 0.4, -1, 0)
		pass(3)
	}
	for i := range s.climb {
		add(orb.Point{-30, -30}, 5+70*float64(i)/float64(max(1, s.climb)), -1, 0)
		pass(3)
	}
	for l := range s.lines {
		for k := range s.shots {
			y := float64(k) * s.base
			if l%2 == 1 {
				y = float64(s.shots-1-k) * s.base
			}
			add(orb.Point{float64(l) * s.spacing, y}, 80, l, k)
			pass(s.base / s.speed)
		}
		pass(s.turn)
	}
	return shots, at
}

var usual = survey{lines: 5, shots: 20, base: 19, spacing: 36, speed: 8.3, turn: 9, begin: morning, folder: "DCIM/100MEDIA", counter: 1}

// noise puts positions off by about so many metres.
func noise(shots []Shot, metres float64) {
	random := rand.New(rand.NewPCG(1, 2))
	for i := range shots {
		shots[i].At[0] += random.NormFloat64() * metres
		shots[i].At[1] += random.NormFloat64() * metres
	}
}

func TestKnownFlight(t *testing.T) {
	for _, whole := range []bool{false, true} {
		for _, counter := range []int{1, 9950} {
			for _, speed := range []float64{1.34, 4, 8.3, 15} {
				s := usual
				s.whole, s.counter, s.speed, s.climb, s.landing = whole, counter, speed, 4, 2
				shots, at := s.fly()
				noise(shots, 0.4)
				name := fmt.Sprintf("whole seconds %v, from %d, %v m/s", whole, counter, speed)
				tr := Of(shots, nil)
				if len(tr.Flights) != 1 || len(tr.Lines) != s.lines || tr.Ordering != ByTime || tr.Resolution != map[bool]float64{true: 1}[whole] {
					t.Fatalf("%s: %d flights, %d lines, %v, %v", name, len(tr.Flights), len(tr.Lines), tr.Ordering, tr.Resolution)
				}
				if len(tr.Missing) != 0 || len(tr.SetBack) != 0 {
					t.Errorf("%s: missing %+v, set back %+v", name, tr.Missing, tr.SetBack)
				}
				for i, l := range tr.Lines {
					near(t, name+": speed", l.Speed/speed, 1, 0.06)
					near(t, name+": course", Apart(l.Course, float64(180*(i%2))), 0, 1)
					near(t, name+": base", l.Base, s.base, 0.5)
					near(t, name+": time on the line", l.Flown, 19*s.base/speed, 1.01)
					near(t, name+": pauses", l.Paused, 0, 0)
					for _, k := range l.Shots {
						if at[tr.Order[k]][0] != i {
							t.Errorf("%s: photo %v on line %d", name, at[tr.Order[k]], i)
						}
						if v := tr.Speeds[k]; !(math.Abs(v.Usual/speed-1) < 0.25 && v.Least <= v.Usual && v.Least < speed*1.15) {
							t.Errorf("%s: speed of a photo %+v", name, v)
						}
					}
				}
				near(t, name+": interval", tr.Flights[0].Interval/(s.base/speed), 1, 0.1)
				for i, want := range []Phase{OnGround, OnGround, InClimb, InClimb, InClimb, InClimb, OnLine} {
					if tr.Phases[i] != want {
						t.Errorf("%s: photo %d is %s, want %s", name, i, tr.Phases[i], want)
					}
				}
			}
		}
	}
}

// Photos a second or less apart, with times of whole seconds: several share one.
func TestFastTrigger(t *testing.T) {
	s := usual
	s.whole, s.speed, s.base, s.shots, s.counter = true, 12, 8, 50, 9980
	shots, _ := s.fly()
	tr := Of(shots, nil)
	if !slices.IsSorted(tr.Order) {
		t.Fatal("photos of the same second are out of order")
	}
	if len(tr.Lines) != 5 || len(tr.Missing) != 0 {
		t.Fatalf("%d lines, missing %+v", len(tr.Lines), tr.Missing)
	}
	near(t, "interval", tr.Flights[0].Interval, 8.0/12, 0.04)
	for i, v := range tr.Speeds {
		near(t, fmt.Sprint("speed of ", i), v.Usual, 12, 1.5)
	}
}

func TestMissing(t *testing.T) {
	for _, whole := range []bool{false, true} {
		s := usual
		s.whole, s.counter = whole, 9970 // runs over 9999 on the second line
		cut := func(drop func(line, k int) bool, renumber bool) []Shot {
			shots, at := s.fly()
			var out []Shot
			n := s.counter
			for i, shot := range shots {
				if drop(at[i][0], at[i][1]) {
					continue
				}
				if renumber {
					shot.File = fmt.Sprintf("%s/IMG_%04d.JPG", s.folder, (n-1)%9999+1)
					n++
				}
				out = append(out, shot)
			}
			return out
		}
		one := func(line, k int) bool { return line == 2 && k == 7 }
		two := func(line, k int) bool { return line == 1 && (k == 10 || k == 11) } // 10000 and 10001: 0001 and 0002
		bare := func(shots []Shot) []Shot {
			for i := range shots {
				shots[i].File = ""
			}
			return shots
		}
		for _, c := range []struct {
			name    string
			shots   []Shot
			present []string
			kind    Kind
			count   int
			at      orb.Point
		}{
			{"a file", cut(one, false), nil, File, 1, orb.Point{72, 7 * 19}},
			{"a trigger", cut(one, true), nil, Trigger, 1, orb.Point{72, 7 * 19}},
			{"either", bare(cut(one, false)), nil, Unclear, 1, orb.Point{72, 7 * 19}},
			{"two files over the wrap", cut(two, false), nil, File, 2, orb.Point{36, 8.5 * 19}},
			{"two triggers", cut(two, true), nil, Trigger, 2, orb.Point{36, 8.5 * 19}},
			{"there after all", cut(one, false), []string{"DCIM/100MEDIA/IMG_0018.JPG"}, "", 0, orb.Point{}},
			{"a file between lines", cut(func(line, k int) bool { return line == 2 && k == 0 }, false), nil, File, 1, orb.Point{54, 9.5}},
		} {
			name := fmt.Sprintf("%s, whole seconds %v", c.name, whole)
			got := Of(c.shots, c.present).Missing
			if c.count == 0 {
				if len(got) != 0 {
					t.Errorf("%s: %+v", name, got)
				}
				continue
			}
			if len(got) != 1 || got[0].Kind != c.kind || got[0].Count != c.count || got[0].Before != got[0].After+1 || got[0].Time.IsZero() {
				t.Errorf("%s: %+v", name, got)
				continue
			}
			near(t, name+": place", Distance(got[0].At, c.at), 0, 1e-9)
		}
		mixed := cut(func(line, k int) bool { return one(line, k) || two(line, k) }, false)
		for i := range mixed { // line 1 has a hole in the numbers too small by one
			if n := parseName(mixed[i].File).number; n > 2 && n < 9000 {
				mixed[i].File = fmt.Sprintf("%s/IMG_%04d.JPG", s.folder, n-1)
			}
		}
		got := Of(mixed, nil).Missing
		if len(got) != 3 || got[0].Kind != File || got[1].Kind != Trigger || got[0].Count != 1 || got[1].Count != 1 || got[0].Before != got[1].Before || got[2].Kind != File {
			t.Errorf("a file and a trigger in one place, whole seconds %v: %+v", whole, got)
		}
	}
}

// What looks like a hole and is none.
func TestNotMissing(t *testing.T) {
	each := func(change func(i int, s *Shot)) []Shot {
		shots, _ := usual.fly()
		for i := range shots {
			change(i, &shots[i])
		}
		return shots
	}
	for name, shots := range map[string][]Shot{
		"two files at each place":     each(func(i int, s *Shot) { s.File = fmt.Sprintf("DCIM/IMG_%04d.JPG", 2*i+1) }),
		"names by the clock":          each(func(i int, s *Shot) { s.File = "P" + s.Time.Format("150405") + ".JPG" }),
		"names by the minute":         each(func(i int, s *Shot) { s.File = "P" + s.Time.Format("0405") + ".JPG" }),
		"numbers at random":           each(func(i int, s *Shot) { s.File = fmt.Sprintf("%04d.JPG", i*7919%9973) }),
		"a new folder for each line":  each(func(i int, s *Shot) { s.File = fmt.Sprintf("DCIM/%d/IMG_%04d.JPG", 100+i/20, i%20+1) }),
		"uneven, flown by hand":       each(func(i int, s *Shot) { s.At[1] += 9 * math.Sin(float64(i*i)) }),
		"faster on the second half":   faster(),
		"a wait of minutes in a line": waiting(),
	} {
		if got := Of(shots, nil).Missing; len(got) != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// faster is triggered by time, and the aircraft gets faster within the lines.
func faster() []Shot {
	s := usual
	s.lines = 1
	shots, _ := s.fly()
	y := 0.0
	for i := range shots {
		shots[i].At = orb.Point{0, y}
		if y += 10; i > 12 {
			y += 10
		}
		shots[i].Time = morning.Add(time.Duration(2*i) * time.Second)
	}
	return shots
}

func waiting() []Shot {
	s := usual
	s.lines = 1
	shots, _ := s.fly()
	for i := range shots[10:] {
		shots[10+i].Time = shots[10+i].Time.Add(100 * time.Second)
	}
	return shots
}

func TestPauseDoesNotSlowTheLine(t *testing.T) {
	tr := Of(waiting(), nil)
	near(t, "speed", tr.Lines[0].Speed, 8.3, 0.01)
	near(t, "paused", tr.Lines[0].Paused, 100+19/8.3, 0.01)
	near(t, "flown", tr.Lines[0].Flown, 18*19/8.3, 0.01)
}

func TestFlights(t *testing.T) {
	begin := func(when time.Time, counter int, folder string, east float64) []Shot {
		s := usual
		s.begin, s.counter, s.folder, s.east, s.whole = when, counter, folder, east, true
		shots, _ := s.fly()
		return shots
	}
	first := begin(morning, 1, "DCIM/100", 0)
	for _, c := range []struct {
		name   string
		second []Shot
		want   int
		lines  int
	}{
		{"a battery changed", begin(morning.Add(15*time.Minute), 101, "DCIM/100", 200), 2, 10},
		{"the next day", begin(morning.Add(24*time.Hour), 101, "DCIM/100", 200), 2, 10},
		{"the next day, counted anew", begin(morning.Add(24*time.Hour), 1, "DCIM/101", 200), 2, 10},
		{"two aircraft at a time", begin(morning.Add(3*time.Second), 1, "card 2/DCIM/100", 4000), 2, 10},
		{"two aircraft side by side", begin(morning.Add(3*time.Second), 1, "card 2/DCIM/100", 400), 2, 10},
	} {
		for _, all := range [][]Shot{slices.Concat(first, c.second), slices.Concat(c.second, first)} {
			tr := Of(all, nil)
			if len(tr.Flights) != c.want || len(tr.Lines) != c.lines || len(tr.Missing) != 0 || len(tr.SetBack) != 0 {
				t.Errorf("%s: %d flights, %d lines, missing %+v, set back %+v", c.name, len(tr.Flights), len(tr.Lines), tr.Missing, tr.SetBack)
			}
			for _, f := range tr.Flights {
				if f.Last-f.First != 99 {
					t.Errorf("%s: flight %+v", c.name, f)
				}
			}
		}
	}
	// One aircraft, some photos sorted into a folder of their own.
	apart := slices.Clone(first)
	for _, i := range []int{3, 40, 41, 77} {
		apart[i].File = "picked/" + apart[i].File
	}
	if tr := Of(apart, nil); len(tr.Flights) != 1 || len(tr.Lines) != 5 || !slices.IsSorted(tr.Order) {
		t.Errorf("picked photos: %d flights, %d lines", len(tr.Flights), len(tr.Lines))
	}
}

func TestOrderings(t *testing.T) {
	shots, _ := usual.fly()
	timeless := func(change func(i int, s *Shot)) []Shot {
		out := slices.Clone(shots)
		for i := range out {
			out[i].Time = time.Time{}
			change(i, &out[i])
		}
		slices.Reverse(out)
		return out
	}
	wrapped := timeless(func(i int, s *Shot) { s.File = fmt.Sprintf("DCIM/100/A%04d.JPG", (9950+i-1)%9999+1) })
	folders := timeless(func(i int, s *Shot) { s.File = fmt.Sprintf("flight-%d/A%04d.JPG", 9+i/50, i%50+1) })
	listed := timeless(func(i int, s *Shot) { s.File = "" })
	part := slices.Clone(shots)
	part[30].Time = time.Time{}
	slices.Reverse(part)
	for _, c := range []struct {
		name  string
		shots []Shot
		want  Ordering
		back  bool
	}{
		{"a wrap", wrapped, ByName, true}, {"folders", folders, ByName, true},
		{"no names", listed, AsListed, false}, {"one without a time", part, ByName, true},
	} {
		tr := Of(c.shots, nil)
		order := slices.Clone(tr.Order)
		if c.back {
			slices.Reverse(order)
		}
		if tr.Ordering != c.want || !slices.IsSorted(order) || len(tr.Lines) != 5 {
			t.Errorf("%s: %v, %d lines, %v", c.name, tr.Ordering, len(tr.Lines), tr.Order)
		}
	}
	// All but one know the time, so speeds are known.
	near(t, "speed", Of(part, nil).Lines[0].Speed, 8.3, 0.01)
	if v := Of(wrapped, nil).Lines[0]; !math.IsNaN(v.Speed) || !math.IsNaN(v.Flown) {
		t.Errorf("speed without times: %+v", v)
	}
}

func TestClockSetBack(t *testing.T) {
	shots, _ := usual.fly()
	for i := 60; i < len(shots); i++ {
		shots[i].Time = shots[i].Time.Add(-time.Hour)
	}
	got := Of(shots, nil).SetBack
	if len(got) != 1 || got[0].Before != shots[59].File || got[0].After != shots[60].File {
		t.Fatalf("%+v", got)
	}
	near(t, "by", got[0].By, 3600-19/8.3-9, 0.1)
}

func TestNames(t *testing.T) {
	for file, want := range map[string]name{
		"DCIM/100MEDIA/IMG_0042.JPG": {"DCIM/100MEDIA/", "IMG_", "", 42, 9999},
		"0042_wide.jpg":              {"", "", "_wide", 42, 9999},
		"20260512_104233_0007_V.JPG": {"", "20260512_104233_", "_V", 7, 9999},
		"a/b/row 12":                 {"a/b/", "row 12", "", -1, 0},
		"DSC00017.TIF":               {"", "DSC", "", 17, 99999},
		"P20260512_104233.jpg":       {"", "P20260512_104233", "", -1, 0},
		"":                           {"", "", "", -1, 0},
	} {
		if got := parseName(file); got != want {
			t.Errorf("%s: %+v, want %+v", file, got, want)
		}
	}
	for _, pair := range [][2]string{{"flight-9", "flight-10"}, {"a", "b"}, {"a2b", "a10"}, {"a", "a1"}, {"1x", "01y"}, {"", "0"}} {
		if natural(pair[0], pair[1]) >= 0 || natural(pair[1], pair[0]) <= 0 || natural(pair[0], pair[0]) != 0 {
			t.Errorf("%q does not come before %q", pair[0], pair[1])
		}
	}
}

func TestNothing(t *testing.T) {
	for n := range 4 {
		shots, _ := usual.fly()
		tr := Of(shots[:n], nil)
		if len(tr.Order) != n || len(tr.Phases) != n || len(tr.Headings) != n || len(tr.Speeds) != n || len(tr.Flights) != min(1, n) {
			t.Errorf("%d shots: %+v", n, tr)
		}
	}
	still := make([]Shot, 50) // nothing known, all in one place
	if tr := Of(still, nil); len(tr.Missing) != 0 || len(tr.Flights) != 1 {
		t.Errorf("%+v", tr)
	}
}

// track is a flight with take-off, a way to the first line, half circles
// between the lines and a way home, photographed all along by distance. It
// returns the true phase of each photo.
func track(base, speed float64, lines int) (shots []Shot, phases []Phase) {
	const length, spacing = 300.0, 36.0
	var way []orb.Point
	var phase []Phase
	to := func(p Phase, points ...orb.Point) {
		for _, q := range points {
			from := q
			if len(way) > 0 {
				from = way[len(way)-1]
			}
			steps := max(1, int(Distance(from, q)/0.1))
			for k := 1; k <= steps; k++ {
				part := float64(k) / float64(steps)
				way = append(way, orb.Point{from[0] + part*(q[0]-from[0]), from[1] + part*(q[1]-from[1])})
				phase = append(phase, p)
			}
		}
	}
	to(InTransit, orb.Point{-120, -60}, orb.Point{0, 0})
	for l := range lines {
		x, far, side := float64(l)*spacing, length, 1.0
		if l%2 == 1 {
			far, side = 0, -1
		}
		to(OnLine, orb.Point{x, far})
		for k := 1; k <= 30 && l+1 < lines; k++ {
			sin, cos := math.Sincos(math.Pi * float64(k) / 30)
			to(InTurn, orb.Point{x + spacing/2*(1-cos), far + side*spacing/2*sin})
		}
	}
	to(InTransit, orb.Point{60, -60})
	flown, next := 0.0, 0.0
	for i, p := range way {
		if i > 0 {
			flown += Distance(way[i-1], p)
		}
		if flown < next {
			continue
		}
		next += base
		shots = append(shots, Shot{
			File: fmt.Sprintf("DCIM/100/IMG_%04d.JPG", len(shots)+1), At: p, Height: 80, Altitude: 212, Clock: "GPS",
			Time: morning.Add(time.Duration(flown / speed * 1e9)).Truncate(time.Second),
		})
		phases = append(phases, phase[i])
	}
	return shots, phases
}

// Photos of turns and ways are on no line, but for those close to its ends.
func TestTurnsAreNoLines(t *testing.T) {
	for _, base := range []float64{1.5, 2.7, 6, 12, 19} {
		shots, truth := track(base, 7, 6)
		noise(shots, 0.3)
		tr := Of(shots, nil)
		if len(tr.Lines) != 6 || len(tr.Missing) != 0 || len(tr.Flights) != 1 {
			t.Errorf("base %v: %d lines, missing %+v", base, len(tr.Lines), tr.Missing)
			for _, l := range tr.Lines {
				t.Logf("course %.0f, length %.0f, photos %d to %d", l.Course, l.Length, l.Shots[0], l.Shots[len(l.Shots)-1])
			}
			continue
		}
		wrong := map[[2]Phase]int{}
		for i, p := range tr.Phases {
			if p != truth[i] {
				wrong[[2]Phase{truth[i], p}]++
			}
		}
		for pair, n := range wrong {
			// A line may lose or gain some 15 m at each end.
			if most := int(6 * 2 * max(2, 15/base)); n > most || pair[0] == OnLine && n > most/2 {
				t.Errorf("base %v: %d photos %s are said to be %s", base, n, pair[0], pair[1])
			}
		}
		for _, l := range tr.Lines {
			near(t, fmt.Sprint("speed with base ", base), l.Speed, 7, 0.5)
		}
	}
}
