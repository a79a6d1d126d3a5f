package sequence

import (
	"math"
	"time"

	"github.com/paulmach/orb"
)

const (
	// longPause is the time without a photo, in seconds, that ends a flight if
	// it is also longLeg times the usual one: enough to land and to change the
	// battery (common practice, no source).
	longPause = 120
	// tooFast is the speed in metres a second that no aircraft flew: the next
	// photo is of another one.
	tooFast = 100
	// farAway is how many times the usual leg leads to another flight where
	// times do not tell.
	farAway = 50
)

// findFlights divides the shots into flights, and those into lines.
func (t *tracer) findFlights() {
	n := len(t.shots)
	if n == 0 {
		return
	}
	low := t.low()
	var legs, waits []float64
	for i := 1; i < n; i++ {
		legs = append(legs, Distance(t.shots[i-1].At, t.shots[i].At))
		if w := t.wait(i); finite(w) {
			waits = append(waits, w)
		}
	}
	leg, wait := Median(legs), Median(waits)
	first := 0
	for i := 1; i <= n; i++ {
		if i == n || t.otherFlight(i, leg, wait) {
			t.addFlight(first, i-1, low)
			first = i
		}
	}
}

func (t *tracer) otherFlight(i int, leg, usualWait float64) bool {
	if t.streams[i] != t.streams[i-1] {
		return true
	}
	d, wait := Distance(t.shots[i-1].At, t.shots[i].At), t.wait(i)
	if math.IsNaN(wait) {
		return d > farAway*leg && leg > 0
	}
	return wait > longPause && wait > longLeg*usualWait ||
		d > longLeg*leg && d > tooFast*(wait+t.Resolution)
}

// low tells which shots were taken on the ground, in climb or in descent by
// their height.
func (t *tracer) low() []bool {
	var heights []float64
	for _, s := range t.shots {
		if finite(s.Height) {
			heights = append(heights, s.Height)
		}
	}
	least := LowShare * Median(heights)
	low := make([]bool, len(t.shots))
	for i, s := range t.shots {
		low[i] = s.Height < least
	}
	return low
}

// addFlight adds the flight of the shots from first to last with its lines and
// what the shots of it were taken in.
func (t *tracer) addFlight(first, last int, low []bool) {
	flight := Flight{First: first, Last: last, Interval: math.NaN()}
	var up []int // in the air, by index
	var at []orb.Point
	var times []time.Time
	for i := first; i <= last; i++ {
		if !low[i] {
			up = append(up, i)
			at = append(at, t.shots[i].At)
			times = append(times, t.shots[i].Time)
		}
	}
	lines := FindLines(at, times)
	for k, heading := range Headings(at, lines) {
		t.Headings[up[k]] = heading
	}
	for i := first; i <= last; i++ {
		switch {
		case !low[i]:
			t.Phases[i] = InTransit
		case t.shots[i].Height < groundLevel:
			t.Phases[i] = OnGround
		default:
			t.Phases[i] = InClimb
		}
	}
	begin := len(t.Lines)
	for k, l := range lines {
		for s, j := range l.Shots {
			l.Shots[s] = up[j]
			t.Phases[up[j]] = OnLine
		}
		l.Flight = len(t.Flights)
		t.Lines = append(t.Lines, l)
		if k > 0 && Parallel(lines[k-1], l) {
			before := t.Lines[begin+k-1].Shots
			for i := before[len(before)-1] + 1; i < l.Shots[0]; i++ {
				if !low[i] {
					t.Phases[i] = InTurn
				}
			}
		}
	}
	for i := first; i <= last; i++ {
		if !low[i] && t.Phases[i] != OnLine && (i > first && t.steep(i) || i < last && t.steep(i+1)) {
			t.Phases[i] = InClimb
		}
	}
	t.Flights = append(t.Flights, flight)
	t.measure(begin)
}

// steep tells whether the leg to shot i leads up or down more than along.
func (t *tracer) steep(i int) bool {
	a, b := t.shots[i-1], t.shots[i]
	rise := math.Abs(b.Altitude - a.Altitude)
	if math.IsNaN(rise) {
		rise = math.Abs(b.Height - a.Height)
	}
	return rise > groundLevel && rise > Distance(a.At, b.At)
}
