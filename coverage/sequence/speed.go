package sequence

import "math"

const (
	// sureSpan is how many times their resolution times must span for a speed:
	// a second more or less is then a fifth.
	sureSpan = 5
	// pauseTimes is how many times the usual time between photos, and pauseLeast
	// how many seconds more, a leg of the usual length must take for a pause.
	pauseTimes, pauseLeast = 3, 3
	// steadyLegs is for how many legs in a row an interval must be kept, and
	// steadySpan how many times their resolution they must span.
	steadyLegs, steadySpan = 5, 20
	leastSpan              = 2 // seconds over which the speed of one shot is taken
)

// measure works out the speeds of the lines from begin on, which are those of
// the last flight, and of their shots.
func (t *tracer) measure(begin int) {
	flight := &t.Flights[len(t.Flights)-1]
	shortest, kept := math.Inf(1), false
	for k := begin; k < len(t.Lines); k++ {
		l := &t.Lines[k]
		stops := t.stops(l.Shots)
		t.measureLine(l, stops)
		t.measureShots(l.Shots)
		if v, ok := t.keptInterval(stops); ok && (!kept || v < shortest) {
			shortest, kept = v, true
		}
		if legs := len(stops) - 1; !kept && legs > 0 && l.Flown > 0 {
			shortest = min(shortest, l.Flown/float64(legs))
		}
	}
	if finite(shortest) && shortest > 0 {
		flight.Interval = shortest
	}
}

// stops are the shots of a line without those taken where another was: a camera
// may take several at each place.
func (t *tracer) stops(shots []int) []int {
	legs := t.legs(shots)
	least := shortLeg * Median(legs)
	stops := shots[:1:1]
	for _, i := range shots[1:] {
		if Distance(t.shots[stops[len(stops)-1]].At, t.shots[i].At) > least {
			stops = append(stops, i)
		}
	}
	return stops
}

func (t *tracer) legs(shots []int) []float64 {
	legs := make([]float64, 0, len(shots))
	for k := 1; k < len(shots); k++ {
		legs = append(legs, Distance(t.shots[shots[k-1]].At, t.shots[shots[k]].At))
	}
	return legs
}

func (t *tracer) between(i, j int) float64 { return waitBetween(t.shots[i].Time, t.shots[j].Time) }

// measureLine takes the speed from the ends of what lies between pauses, so
// that neither single positions nor the resolution of times matter much.
func (t *tracer) measureLine(l *Line, stops []int) {
	l.Base = Median(t.legs(stops))
	l.Speed, l.Flown = math.NaN(), math.NaN()
	var waits []float64
	for k := 1; k < len(stops); k++ {
		if w := t.between(stops[k-1], stops[k]); finite(w) {
			waits = append(waits, w)
		}
	}
	if len(waits) == 0 {
		return
	}
	usual := Median(waits)
	var length, flown float64
	from := 0
	end := func(to int) {
		if to > from {
			length += Distance(t.shots[stops[from]].At, t.shots[stops[to]].At)
			flown += t.between(stops[from], stops[to])
		}
	}
	for k := 1; k < len(stops); k++ {
		w := t.between(stops[k-1], stops[k])
		pause := w > pauseTimes*usual && w > usual+pauseLeast &&
			Distance(t.shots[stops[k-1]].At, t.shots[stops[k]].At) < 1.5*l.Base
		if pause {
			l.Paused += w
		}
		if pause || math.IsNaN(w) {
			end(k - 1)
			from = k
		}
	}
	end(len(stops) - 1)
	l.Flown = flown
	if flown > 0 && flown >= sureSpan*t.Resolution {
		l.Speed = length / flown
	}
}

// measureShots gives each shot the speed over enough of the line around it.
func (t *tracer) measureShots(shots []int) {
	need := max(leastSpan, 2*sureSpan*t.Resolution)
	for k, i := range shots {
		from, to := k, k
		span := 0.0
		for span < need || to-from < 2 {
			before, after := math.Inf(1), math.Inf(1)
			if from > 0 {
				if w := t.between(shots[from-1], i); finite(w) {
					before = w
				}
			}
			if to+1 < len(shots) {
				if w := t.between(i, shots[to+1]); finite(w) {
					after = w
				}
			}
			if math.IsInf(before, 1) && math.IsInf(after, 1) {
				break
			}
			if before <= after {
				from--
			} else {
				to++
			}
			span = t.between(shots[from], shots[to])
		}
		if span > 0 && span >= sureSpan*t.Resolution {
			d := Distance(t.shots[shots[from]].At, t.shots[shots[to]].At)
			t.Speeds[i] = Speed{d / span, d / (span + t.Resolution)}
		}
	}
}

// keptInterval is the shortest time between photos kept for several legs in a row.
func (t *tracer) keptInterval(stops []int) (float64, bool) {
	shortest := math.Inf(1)
	to := 0
	for from := range stops {
		to = max(to, from+steadyLegs)
		for to < len(stops) && !(t.between(stops[from], stops[to]) >= steadySpan*t.Resolution) {
			to++
		}
		if to >= len(stops) {
			break
		}
		shortest = min(shortest, t.between(stops[from], stops[to])/float64(to-from))
	}
	return shortest, finite(shortest) && shortest > 0
}
