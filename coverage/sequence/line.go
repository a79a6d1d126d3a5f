package sequence

import (
	"cmp"
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
	// strayLeg is how many times the median leg a leg must have to be on the way
	// to or from the line where it leads beside it.
	strayLeg = 2
	// closeLeg is the distance between photos, in metres, from which their
	// course can be told (common practice, no source), and fewStations how many
	// times it must go into the extent of the flight.
	closeLeg, fewStations = 8.0, 15
	// wander is how far, in metres, a short leg may lead aside, which is no
	// more than positions are off (common practice, no source).
	wander = 1.5
)

// FindLines groups photos, in the order flown and in plane metres, into flight
// lines: runs of at least two legs that keep their course. Runs that only lead
// from one line to the next belong to none. times may hold zero times, which
// are unknown.
func FindLines(at []orb.Point, times []time.Time) []Line {
	legs := legsOf(at)
	usual := Median(legs[min(1, len(legs)):])
	stations := stationsOf(at, usual)
	if len(stations) == len(at) {
		return withoutTransits(withoutTurns(findRuns(at, times, legs, usual)))
	}
	var places []orb.Point
	var when []time.Time
	for _, i := range stations {
		places, when = append(places, at[i]), append(when, times[i])
	}
	legs = legsOf(places)
	runs := findRuns(places, when, legs, Median(legs[min(1, len(legs)):]))
	for k, l := range runs {
		runs[k] = lineOf(at, stations[l.Shots[0]], stations[l.Shots[len(l.Shots)-1]])
	}
	return withoutTransits(withoutTurns(runs))
}

// legsOf returns how far each photo lies from the one before.
func legsOf(at []orb.Point) []float64 {
	legs := make([]float64, len(at))
	for i := 1; i < len(at); i++ {
		legs[i] = Distance(at[i-1], at[i])
	}
	return legs
}

// stationsOf picks photos so far apart that their errors of position do not
// matter for the course: all, unless they usually lie closer together.
func stationsOf(at []orb.Point, usual float64) []int {
	apart := closeLeg
	if len(at) > 0 {
		bound := orb.MultiPoint(at).Bound()
		apart = min(apart, Distance(bound.Min, bound.Max)/fewStations)
	}
	var stations []int
	for i, p := range at {
		if i == 0 || usual >= apart || Distance(at[stations[len(stations)-1]], p) >= apart {
			stations = append(stations, i)
		}
	}
	return stations
}

// findRuns finds runs that keep their course.
func findRuns(at []orb.Point, times []time.Time, legs []float64, usual float64) []Line {
	breaks := breaksBetween(legs, usual, times)
	var runs []Line
	start := 0
	end := func(last int) {
		if last-start >= 2 && strays(at[last], at[start+1], legs[start+1], usual, at[start]) {
			start++ // on the way to the line
		}
		if last-start >= 2 {
			runs = append(runs, lineOf(at, start, last))
		}
	}
	for i := 1; i < len(at); i++ {
		if breaks[i] || i-1 > start && strays(at[start], at[i-1], legs[i], usual, at[i]) {
			end(i - 1)
			start = i
		} else if i-1 > start && legs[i] > shortLeg*usual &&
			leaves(legs[i], Apart(Course(at[start], at[i-1]), Course(at[i-1], at[i])), min(wander, usual/2)) {
			end(i - 1)
			start = i - 1
		}
	}
	end(len(at) - 1)
	return runs
}

// breaksBetween tells for every photo whether the leg to it is so long, and
// took so long, that it can belong to no line.
func breaksBetween(legs []float64, usual float64, times []time.Time) []bool {
	waits := make([]float64, len(legs)) // NaN where unknown
	var known []float64
	for i := 1; i < len(legs); i++ {
		if waits[i] = waitBetween(times[i-1], times[i]); finite(waits[i]) {
			known = append(known, waits[i])
		}
	}
	wait := longLeg * Median(known)
	breaks := make([]bool, len(legs))
	for i := 1; i < len(legs); i++ {
		breaks[i] = legs[i] > longLeg*usual && !(waits[i] <= wait)
	}
	return breaks
}

func lineOf(at []orb.Point, first, last int) Line {
	l := Line{Course: Course(at[first], at[last])}
	for i := first; i <= last; i++ {
		l.Shots = append(l.Shots, i)
		if i > first {
			l.Length += Distance(at[i-1], at[i])
		}
	}
	return l
}

// strays tells whether a long leg from p on leads beside the line from far to p.
func strays(far, p orb.Point, leg, usual float64, to orb.Point) bool {
	if leg <= strayLeg*usual || far == p {
		return false
	}
	return aside(Course(far, p), p, to) > max(wander, usual/2)
}

// aside returns how far q lies beside the line through p on a course.
func aside(course float64, p, q orb.Point) float64 {
	sin, cos := math.Sincos(course * math.Pi / 180)
	return math.Abs((q[0]-p[0])*cos - (q[1]-p[1])*sin)
}

// leaves tells whether a leg leaves a course by its angle with it, degrees.
// Less than least, in metres, is none.
func leaves(leg, angle, least float64) bool {
	return angle > 90 || angle > steady && leg*math.Sin(angle*math.Pi/180) > least
}

// withoutTurns drops the runs between two lines that are parallel: shorter than
// both, the first one not parallel to them.
func withoutTurns(runs []Line) []Line {
	const most = 8 // runs of one turn
	var lines []Line
	for i := 0; i < len(runs); i++ {
		lines = append(lines, runs[i])
		between := 0.0
		for k := i + 1; k < min(i+2+most, len(runs)); k++ {
			if k > i+1 && Parallel(runs[i], runs[k]) && between < min(runs[i].Length, runs[k].Length) {
				if !Parallel(runs[i], runs[i+1]) {
					i = k - 1
				}
				break
			}
			between = max(between, runs[k].Length)
		}
	}
	return lines
}

// withoutTransits drops the first and the last runs where they lead to or from
// three parallel lines or more: shorter than is usual, and not parallel to them.
func withoutTransits(runs []Line) []Line {
	away := func(run Line, lines []Line) bool {
		var lengths []float64
		for _, l := range lines {
			lengths = append(lengths, l.Length)
		}
		usual := Median(lengths)
		main := slices.MaxFunc(lines, func(a, b Line) int { return cmp.Compare(a.Length, b.Length) })
		alike := 0
		for _, l := range lines {
			switch {
			case Parallel(main, l):
				alike++
			case l.Length >= usual:
				return false
			}
		}
		return alike >= 3 && !Parallel(main, run) && run.Length < usual
	}
	const most = 3 // runs of one way
	for range most {
		if n := len(runs); n > 3 && away(runs[0], runs[1:]) {
			runs = runs[1:]
		}
		if n := len(runs); n > 3 && away(runs[n-1], runs[:n-1]) {
			runs = runs[:n-1]
		}
	}
	return runs
}

// Headings returns a heading for every photo from the track alone: the course
// of its line, or of the shorter leg beside it.
func Headings(at []orb.Point, lines []Line) []float64 {
	out := make([]float64, len(at))
	for i := range at {
		shortest := math.Inf(1)
		for _, j := range [2]int{i - 1, i} { // the leg from j to j+1
			if j < 0 || j+1 >= len(at) {
				continue
			}
			if d := Distance(at[j], at[j+1]); d > 0 && d < shortest {
				shortest, out[i] = d, Course(at[j], at[j+1])
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

// Parallel reports whether two lines run the same or the opposite way.
func Parallel(a, b Line) bool {
	d := Apart(a.Course, b.Course)
	return min(d, 180-d) <= steady
}

// Course returns the direction from p to q, degrees clockwise from north.
func Course(p, q orb.Point) float64 {
	c := math.Atan2(q[0]-p[0], q[1]-p[1]) * 180 / math.Pi
	if c < 0 {
		c += 360
	}
	return c
}

// Apart returns the angle between two courses, 0 to 180 degrees.
func Apart(a, b float64) float64 {
	return math.Abs(math.Remainder(a-b, 360))
}

// Distance returns how far p lies from q.
func Distance(p, q orb.Point) float64 { return math.Hypot(q[0]-p[0], q[1]-p[1]) }

// Median returns the middle value, the mean of the middle two of an even
// number, 0 of none.
func Median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
