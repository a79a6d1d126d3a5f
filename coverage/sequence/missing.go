package sequence

import (
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
)

// Kind says what is missing between two photos.
type Kind string

const (
	File    Kind = "file missing"      // the counter in the names leaves numbers out
	Trigger Kind = "trigger missed"    // the counter goes on, and the distance is a multiple of the usual one
	Unclear Kind = "photo not on hand" // the distance tells, but the names do not tell of which kind
)

// Missing is one place where photos are missing.
type Missing struct {
	Kind          Kind
	Count         int
	After, Before int       // shots
	At            orb.Point // midway between them
	Time          time.Time // midway; zero when unknown
	Line          int       // that both are on, -1 when on none
	Flight        int
}

// SetBack is where a file counted later has an earlier time.
type SetBack struct {
	Before, After string  // files: the one before, and the next in number
	By            float64 // seconds
}

const (
	// farApart is how many times the usual distance, and the usual time, leaves
	// one photo out.
	farApart = 1.6
	// uneven is how many times the usual distance one leg in four may have for
	// a line to be called even, so that single long legs mean something.
	uneven      = 1.3
	fewestLegs  = 4    // from which a usual distance is told
	mostMissing = 1000 // between two photos; more is another series
	// manyHoles is the share of names out of step from which the numbers in the
	// names are no counter.
	manyHoles = 0.2
)

// findMissing compares each shot with the one before it in its flight.
func (t *tracer) findMissing(present []string) {
	known := map[name]bool{}
	for _, file := range present {
		known[parseName(file).bare()] = true
	}
	gaps := t.gaps()
	lineOf := make([]int, len(t.shots))
	for i := range lineOf {
		lineOf[i] = -1
	}
	for k, l := range t.Lines {
		for _, i := range l.Shots[1:] { // a shot may end one line and begin the next
			lineOf[i] = k
		}
	}
	for f, flight := range t.Flights {
		step := t.usualStep(flight)
		for i := flight.First + 1; i <= flight.Last; i++ {
			missing := Missing{
				After: i - 1, Before: i, Line: lineOf[i], Flight: f,
				At: orb.Point{(t.shots[i-1].At[0] + t.shots[i].At[0]) / 2, (t.shots[i-1].At[1] + t.shots[i].At[1]) / 2},
			}
			if a, b := t.shots[i-1].Time, t.shots[i].Time; finite(t.wait(i)) {
				missing.Time = a.Add(b.Sub(a) / 2)
			}
			add := func(kind Kind, n int) {
				if n > 0 {
					missing.Kind, missing.Count = kind, n
					t.Missing = append(t.Missing, missing)
				}
			}
			if step == 0 || t.names[i].series() != t.names[i-1].series() {
				add(Unclear, gaps[i])
				continue
			}
			lost, kept := holes(t.names[i-1], t.names[i], step, known)
			t.LeftOut[i] = kept
			add(File, lost)
			add(Trigger, gaps[i]-lost-kept)
		}
	}
}

// bare is a name with nothing but what tells it from others.
func (n name) bare() name {
	return name{folder: n.folder, before: n.before, after: n.after, number: n.number}
}

// holes counts the numbers left out between two names of a series, and those
// whose files are there although they are not among the shots.
func holes(a, b name, step int, known map[name]bool) (lost, kept int) {
	apart := a.steps(b)
	if apart > mostMissing*step {
		return 0, 0
	}
	for n := step; n+step/2 < apart; n += step {
		between := a.bare()
		if between.number += n; between.number > a.wrap {
			between.number -= a.wrap
		}
		if known[between] {
			kept++
		} else {
			lost++
		}
	}
	return lost, kept
}

// usualStep is by how much the counter usually goes on from shot to shot, 0
// when the names have none.
func (t *tracer) usualStep(f Flight) int {
	counts := map[int]int{}
	pairs := 0
	for i := f.First + 1; i <= f.Last; i++ {
		if a, b := t.names[i-1], t.names[i]; a.number >= 0 && a.series() == b.series() {
			counts[a.steps(b)]++
			pairs++
		}
	}
	usual, most := 0, 0
	for step, n := range counts {
		if n > most || n == most && step < usual {
			usual, most = step, n
		}
	}
	if usual <= 0 || float64(pairs-most) > max(2, manyHoles*float64(pairs)) {
		return 0
	}
	return usual
}

// gaps returns how many photos the legs of the lines leave out by distance and
// time, for the shot that each leads to.
func (t *tracer) gaps() []int {
	gaps := make([]int, len(t.shots))
	for _, l := range t.Lines {
		legs := t.legs(l.Shots)
		sorted := slices.Sorted(slices.Values(legs))
		if len(legs) < fewestLegs || l.Base == 0 || sorted[len(sorted)*3/4] > uneven*l.Base {
			continue
		}
		wait := l.Base / l.Speed // of the usual leg, NaN when unknown
		for k := 1; k < len(l.Shots); k++ {
			i := l.Shots[k]
			leg := legs[k-1]
			if i != l.Shots[k-1]+1 || leg < farApart*l.Base || leg < l.Base+2*wander || t.turns(l, k) {
				continue
			}
			took := t.between(i-1, i) + t.Resolution
			if took < farApart*wait { // flown faster, not left out
				continue
			}
			if times := math.Round(leg / l.Base); times <= mostMissing {
				gaps[i] = int(times) - 1
			}
		}
	}
	return gaps
}

// turns tells whether the leg to the k-th shot of a line leads aside of the
// longer piece of it before or after, as one does that comes from a line beside it.
func (t *tracer) turns(l Line, k int) bool {
	p, q := t.shots[l.Shots[k-1]].At, t.shots[l.Shots[k]].At
	from, to := t.shots[l.Shots[0]].At, p
	if len(l.Shots)-1-k > k-1 {
		from, to = q, t.shots[l.Shots[len(l.Shots)-1]].At
	}
	return aside(Course(from, to), p, q) > max(2*wander, l.Base/4)
}

// findSetBacks looks for files that are next in number and earlier in time by
// more than the times' resolution.
func (t *tracer) findSetBacks() {
	if t.Ordering != ByTime {
		return
	}
	rank, _ := ranks(t.names)
	order := make([]int, len(rank))
	for i, place := range rank {
		order[place] = i
	}
	next := 0
	for k := 1; k < len(order); k++ {
		a, b := order[k-1], order[k]
		if t.names[a].number < 0 || t.names[a].series() != t.names[b].series() || t.names[a].steps(t.names[b]) != 1 {
			continue
		}
		next++
		if by := t.shots[a].Time.Sub(t.shots[b].Time).Seconds(); by > t.Resolution {
			t.SetBack = append(t.SetBack, SetBack{Before: t.shots[a].File, After: t.shots[b].File, By: by})
		}
	}
	if float64(len(t.SetBack)) > max(2, manyHoles*float64(next)) {
		t.SetBack = nil // the numbers are no counter
	}
}
