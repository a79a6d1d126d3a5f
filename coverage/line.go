package coverage

import (
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
)

const (
	// steady is how far a leg may turn from its line's course, degrees.
	steady = 20
	// longLeg is how many times the median leg, and the median time between
	// photos, ends a line even where the course goes on.
	longLeg = 10
	// shortLeg is the share of the median leg under which a leg is hovering,
	// whose direction says nothing.
	shortLeg = 0.1
)

// findLines groups photos, in the order flown and in plane metres, into flight
// lines: runs of at least two legs that keep their course. Runs that only lead
// from one line to the next belong to none. times may hold zero times, which
// are unknown.
func findLines(at []orb.Point, times []time.Time) []Line {
	legs := make([]float64, len(at)) // legs[i] leads to photo i
	for i := 1; i < len(at); i++ {
		legs[i] = distance(at[i-1], at[i])
	}
	usual := median(legs[min(1, len(legs)):])
	breaks := breaksBetween(legs, usual, times)
	var runs []Line
	start := 0
	end := func(last int) {
		if last-start >= 2 {
			runs = append(runs, lineOf(at, start, last))
		}
	}
	for i := 1; i < len(at); i++ {
		if breaks[i] {
			end(i - 1)
			start = i
		} else if i-1 > start && legs[i] > shortLeg*usual &&
			apart(course(at[start], at[i-1]), course(at[i-1], at[i])) > steady {
			end(i - 1)
			start = i - 1
		}
	}
	end(len(at) - 1)
	return withoutTurns(runs)
}

// breaksBetween tells for every photo whether the leg to it is so long, and
// took so long, that it can belong to no line.
func breaksBetween(legs []float64, usual float64, times []time.Time) []bool {
	waits := make([]float64, len(legs)) // NaN where unknown
	var known []float64
	for i := 1; i < len(legs); i++ {
		if times[i-1].IsZero() || times[i].IsZero() {
			waits[i] = math.NaN()
			continue
		}
		waits[i] = times[i].Sub(times[i-1]).Seconds()
		known = append(known, waits[i])
	}
	wait := longLeg * median(known)
	breaks := make([]bool, len(legs))
	for i := 1; i < len(legs); i++ {
		breaks[i] = legs[i] > longLeg*usual && !(waits[i] <= wait)
	}
	return breaks
}

func lineOf(at []orb.Point, first, last int) Line {
	l := Line{Course: course(at[first], at[last])}
	for i := first; i <= last; i++ {
		l.Shots = append(l.Shots, i)
		if i > first {
			l.Length += distance(at[i-1], at[i])
		}
	}
	return l
}

// withoutTurns drops the runs between two lines: shorter than both, and not
// parallel to them where they are parallel to each other.
func withoutTurns(runs []Line) []Line {
	var lines []Line
	for i, run := range runs {
		if i > 0 && i+1 < len(runs) {
			before, after := runs[i-1], runs[i+1]
			if parallel(before, after) && !parallel(run, before) && run.Length < min(before.Length, after.Length) {
				continue
			}
		}
		lines = append(lines, run)
	}
	return lines
}

// headings returns a heading for every photo from the track alone: the course
// of its line, or of the shorter leg beside it.
func headings(at []orb.Point, lines []Line) []float64 {
	out := make([]float64, len(at))
	for i := range at {
		shortest := math.Inf(1)
		for _, j := range [2]int{i - 1, i} { // the leg from j to j+1
			if j < 0 || j+1 >= len(at) {
				continue
			}
			if d := distance(at[j], at[j+1]); d > 0 && d < shortest {
				shortest, out[i] = d, course(at[j], at[j+1])
			}
		}
	}
	for _, l := range slices.Backward(lines) {
		for _, i := range l.Shots {
			out[i] = l.Course
		}
	}
	return out
}

// parallel reports whether two lines run the same or the opposite way.
func parallel(a, b Line) bool {
	d := apart(a.Course, b.Course)
	return min(d, 180-d) <= steady
}

// course returns the direction from p to q, degrees clockwise from north.
func course(p, q orb.Point) float64 {
	c := math.Atan2(q[0]-p[0], q[1]-p[1]) * 180 / math.Pi
	if c < 0 {
		c += 360
	}
	return c
}

// apart returns the angle between two courses, 0 to 180 degrees.
func apart(a, b float64) float64 {
	return math.Abs(math.Remainder(a-b, 360))
}

func distance(p, q orb.Point) float64 { return math.Hypot(q[0]-p[0], q[1]-p[1]) }

// median returns the middle value, the mean of the middle two of an even
// number, 0 of none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
