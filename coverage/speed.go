package coverage

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"selvage/coverage/sequence"
)

// usualBlur is by how many pixels the image may move while the shutter is open
// when the job does not say (common practice, no source; 0.5 to 1 are usual).
const usualBlur = 0.7

// SetByFlight is the limit of speed where the shortest interval that the flight
// shows stands for the camera's.
const SetByFlight = "the trigger interval, as flown"

// LineSpeed is how fast a line was flown, and how fast it could have been.
// What is not known is NaN.
type LineSpeed struct {
	Photos        int       // of the whole line, those that took no part included
	Start         time.Time // zero when unknown
	Length        float64   // of the whole line, metres
	Flown         float64   // time on it, pauses left out, seconds
	Ground        float64   // speed over ground, metres a second
	Blur, Trigger float64   // speeds that motion blur and the trigger interval allow
	Allowed       float64   // the lesser of them, when both are known
	Limit         string    // what sets it, in words; "" when it is not known
	Spare         float64   // seconds that the allowed speed would have saved
}

// Speeds sums the lines up. What is not known is NaN.
type Speeds struct {
	MaxBlur   float64 // pixels
	Trigger   float64 // shortest time between photos as given for the job, seconds; 0 when not given
	Flown     float64 // time on the lines whose speed is known, seconds
	Ground    float64 // speed over ground on them, metres a second
	Allowed   float64 // over the lines for which it is known
	Spare     float64 // seconds
	BlurKnown int     // photos whose blur is known
	Blurred   []int   // indexes into Audit.Shots: moved by more than MaxBlur for sure, the worst first
}

// measureSpeeds works out the speeds of the lines, of which number gives the
// place in the trace.
func (a *Audit) measureSpeeds(job Job, s *selection, lines []sequence.Line, number []int) []LineSpeed {
	a.Speed = Speeds{MaxBlur: job.MaxBlur, Trigger: job.Trigger}
	if a.Speed.MaxBlur <= 0 {
		a.Speed.MaxBlur = usualBlur
	}
	speeds := make([]LineSpeed, len(lines))
	for n, l := range lines {
		whole := s.trace.Lines[number[n]]
		v := LineSpeed{
			Photos: len(whole.Shots), Length: whole.Length, Flown: whole.Flown, Ground: whole.Speed,
			Blur: math.NaN(), Trigger: math.NaN(), Allowed: math.NaN(), Spare: math.NaN(),
		}
		if s.trace.Ordering == sequence.ByTime {
			v.Start = s.traced[whole.Shots[0]].Time
		}
		var sides []float64
		for _, i := range l.Shots {
			c := s.candidates[i]
			if allowed := BlurSpeed(a.Speed.MaxBlur, c.gsd(), c.ExposureTime); allowed > 0 && finite(allowed) {
				v.Blur = min(chooseFinite(v.Blur, allowed), allowed)
			}
			if c.footprint != nil {
				sides = append(sides, lengthAlong(c.footprint, l.Course))
			}
		}
		base := whole.Base
		if wanted := job.Wanted.Forward; wanted > 0 && len(sides) > 0 {
			base = AirBase(wanted, sequence.Median(sides))
		}
		interval, limit := job.Trigger, SetByTrigger
		if interval <= 0 {
			interval, limit = s.trace.Flights[l.Flight].Interval, SetByFlight
		}
		if allowed := TriggerSpeed(base, interval); allowed > 0 && finite(allowed) {
			v.Trigger = allowed
		}
		v.limit(limit)
		speeds[n] = v
	}
	return speeds
}

// limit sets what the two limits allow together; trigger is the name of one.
func (v *LineSpeed) limit(trigger string) {
	if v.Allowed = min(v.Blur, v.Trigger); math.IsNaN(v.Allowed) {
		return
	}
	v.Limit = trigger
	if v.Blur < v.Trigger {
		v.Limit = SetByBlur
	}
	v.Spare = max(0, v.Flown*(1-v.Ground/v.Allowed))
}

// sumSpeeds sums up the lines and lists the blurred photos; used are the shots.
func (a *Audit) sumSpeeds(s *selection, used []*candidate) {
	sum := &a.Speed
	var length, limited, fastest float64
	sum.Spare = math.NaN()
	for _, l := range a.Lines {
		v := l.Speed
		if !finite(v.Ground) {
			continue
		}
		sum.Flown += v.Flown
		length += v.Ground * v.Flown
		if finite(v.Spare) {
			sum.Spare = v.Spare + chooseFinite(sum.Spare, 0)
			limited += v.Ground * v.Flown
			fastest += v.Ground * v.Flown / v.Allowed
		}
	}
	sum.Ground, sum.Allowed = length/sum.Flown, limited/fastest
	worst := map[int]float64{}
	for i, c := range used {
		if finite(a.Shots[i].Blur) {
			sum.BlurKnown++
		}
		if sure := blurOf(c, s.trace.Speeds[c.flown].Least); sure > sum.MaxBlur {
			worst[i] = sure
			sum.Blurred = append(sum.Blurred, i)
		}
	}
	slices.SortStableFunc(sum.Blurred, func(i, j int) int { return cmp.Compare(worst[j], worst[i]) })
}

func chooseFinite(v, unless float64) float64 {
	if finite(v) {
		return v
	}
	return unless
}

// blurOf returns by how many pixels the image of a photo moved at a speed, NaN
// when its exposure time or the speed is unknown.
func blurOf(c *candidate, speed float64) float64 {
	gsd := c.gsd()
	if !(c.ExposureTime > 0) || !(gsd > 0) || !finite(gsd*c.ExposureTime) {
		return math.NaN()
	}
	return Blur(speed, c.ExposureTime, gsd)
}

// lengthAlong returns how long a convex ring is along a course, in its middle.
func lengthAlong(ring orb.Ring, course float64) float64 {
	laid := make(orb.Ring, len(ring))
	for i, p := range ring {
		laid[i] = turned(p, course)
	}
	from, to := levelSpan(laid, laid.Bound().Center()[1])
	return to - from
}

// weakest lists the pairs with the least forward overlap among those that have
// less than wanted, and why.
func (a *Audit) weakest(s *selection, lines []sequence.Line, forward []pair) {
	low := lowOverlap(a.Wanted.Forward)
	weak := slices.DeleteFunc(slices.Clone(forward), func(p pair) bool { return !low(p.share) })
	slices.SortStableFunc(weak, func(p, q pair) int { return cmp.Compare(p.share, q.share) })
	missing := map[int]bool{}
	for _, m := range s.trace.Missing {
		missing[m.Before] = true
	}
	for _, p := range weak[:min(len(weak), mostWeakest)] {
		first, second := s.candidates[p.i], s.candidates[p.j]
		apart := distance(first.at, second.at)
		line := lines[p.line]
		var heights []float64
		for _, i := range line.Shots {
			heights = append(heights, s.candidates[i].height)
		}
		wait := second.Time.Sub(first.Time).Seconds()
		cause := turnedOrTilted
		switch {
		case second.flown > first.flown+1 || s.trace.LeftOut[second.flown] > 0:
			cause = betweenLeftOut
		case missing[second.flown]:
			cause = betweenMissing
		case first.height < nearerThanUsual*sequence.Median(heights):
			cause = tooLow
		case apart > AirBase(a.Wanted.Forward, lengthAlong(first.footprint, line.Course)):
			cause = triggeredLate
			if wait > 0 && wait <= a.usualInterval(s, line.Flight)*1.2 {
				cause = tooFast
			}
		}
		a.Weakest = append(a.Weakest, WeakPair{first.File, second.File, p.share, apart, cause})
	}
}

// usualInterval is the shortest time between photos that the camera keeps, as
// given or as flown.
func (a *Audit) usualInterval(s *selection, flight int) float64 {
	if a.Speed.Trigger > 0 {
		return a.Speed.Trigger
	}
	return s.trace.Flights[flight].Interval
}
