// Package sequence tells from places, times and file names how photos were
// flown: in which order, in how many flights, on which lines, how fast, and
// what is missing between them. It is pure.
package sequence

import (
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
)

// Shot is what is known of one exposure. Heights are metres, NaN when unknown.
type Shot struct {
	File     string    // path with slashes; "" when it has none
	At       orb.Point // plane metres
	Height   float64   // above ground
	Altitude float64   // above any one level
	Time     time.Time // zero when unknown
	Clock    string    // where the time was read; times of different clocks are not compared
}

// Phase says what the aircraft was about when a photo was taken.
type Phase string

const (
	OnLine    Phase = "on line"
	InTurn    Phase = "in turn"    // between parallel lines
	InTransit Phase = "in transit" // on the way to or from the lines
	InClimb   Phase = "in climb"   // or descent
	OnGround  Phase = "on the ground"
)

const (
	// LowShare is the share of the median height under which a photo was taken
	// on the ground, in climb or in descent.
	LowShare    = 1.0 / 3
	groundLevel = 3.0 // metres; lower is on the ground
)

// Ordering says what the order flown was taken from.
type Ordering int

const (
	AsListed Ordering = iota
	ByTime
	ByName // the counters in the file names
)

// Trace is how the shots were flown. But for Order, all indexes count in the
// order flown, and all lists have one element a shot or run in that order.
type Trace struct {
	Order      []int // Order[i] is the index of the i-th shot as given
	Ordering   Ordering
	Resolution float64 // of the times, seconds: 1 where none has a fraction, else 0
	Phases     []Phase
	Headings   []float64 // of the track, degrees clockwise from north
	Speeds     []Speed   // over ground, of the shots on lines; unknown for others
	Flights    []Flight
	Lines      []Line
	Missing    []Missing
	SetBack    []SetBack
	// LeftOut[i] is how many photos without more than a name were taken
	// between shot i and the one before.
	LeftOut []int
}

// Speed is a speed over ground in metres a second, NaN when unknown. Least is
// what it was at least, as the times may be whole seconds.
type Speed struct{ Usual, Least float64 }

// Flight is a run of shots without a long pause or a jump.
type Flight struct {
	First, Last int // shots
	// Interval is the shortest time between photos that was kept for several in
	// a row, seconds; NaN when unknown.
	Interval float64
}

// Line is a flight line: successive shots on one course.
type Line struct {
	Shots  []int
	Course float64 // from the first shot to the last, degrees clockwise from north
	Length float64 // from shot to shot, metres
	Flight int
	Speed  float64 // over ground, pauses left out, metres a second; NaN when unknown
	Flown  float64 // time from the first shot to the last, pauses left out, seconds; NaN when unknown
	Paused float64 // time of the pauses, seconds
	Base   float64 // usual distance between photos, metres
}

// Of puts shots into the order flown and tells how they were flown. present
// are the names of more photos that exist, although nothing else is known of
// them, so that they are not missing.
func Of(shots []Shot, present []string) Trace {
	t := tracer{names: make([]name, len(shots))}
	for i, s := range shots {
		t.names[i] = parseName(s.File)
	}
	t.arrange(shots)
	t.Phases = make([]Phase, len(t.shots))
	t.Headings = make([]float64, len(t.shots))
	t.Speeds = make([]Speed, len(t.shots))
	t.LeftOut = make([]int, len(t.shots))
	for i := range t.Speeds {
		t.Speeds[i] = Speed{math.NaN(), math.NaN()}
	}
	t.findFlights()
	t.findMissing(present)
	t.findSetBacks()
	return t.Trace
}

// tracer is a trace as it grows. shots, names and streams are in the order flown.
type tracer struct {
	Trace
	shots   []Shot
	names   []name
	streams []int // which aircraft, as far as the folders and places tell
}

// arrange puts shots and names in the order flown. Times of other clocks than
// the commonest are dropped.
func (t *tracer) arrange(shots []Shot) {
	t.shots = slices.Clone(shots)
	clocks := map[string]int{}
	for _, s := range shots {
		if !s.Time.IsZero() {
			clocks[s.Clock]++
		}
	}
	common, timed := "", 0
	for clock, n := range clocks {
		if n > timed || n == timed && clock < common {
			common, timed = clock, n
		}
	}
	t.Resolution = 1
	for i := range t.shots {
		s := &t.shots[i]
		if s.Clock != common {
			s.Time = time.Time{}
		}
		if s.Time.Nanosecond() != 0 {
			t.Resolution = 0
		}
	}
	t.Order = make([]int, len(shots))
	for i := range t.Order {
		t.Order[i] = i
	}
	rank, counted := ranks(t.names)
	byStream := make([]int, len(shots))
	switch {
	case len(shots) > 0 && timed == len(shots):
		t.Ordering = ByTime
		t.Order, byStream = orderByTime(t.shots, t.names, rank)
	case len(shots) > 0 && counted:
		t.Ordering = ByName
		slices.SortFunc(t.Order, func(i, j int) int { return rank[i] - rank[j] })
	}
	given, names := t.shots, t.names
	t.shots, t.names, t.streams = make([]Shot, len(shots)), make([]name, len(shots)), make([]int, len(shots))
	for i, k := range t.Order {
		t.shots[i], t.names[i], t.streams[i] = given[k], names[k], byStream[k]
	}
}

// wait returns the seconds from the shot before to shot i, NaN when unknown.
func (t *tracer) wait(i int) float64 { return waitBetween(t.shots[i-1].Time, t.shots[i].Time) }

func waitBetween(a, b time.Time) float64 {
	if a.IsZero() || b.IsZero() || b.Before(a) {
		return math.NaN()
	}
	return b.Sub(a).Seconds()
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
