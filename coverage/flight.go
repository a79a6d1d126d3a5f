package coverage

import (
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/sequence"
)

// Flight is a run of photos without a long pause or a jump, in the order flown.
type Flight struct {
	Start, End time.Time // of its photos; zero when unknown
	Photos     int       // those that took no part in the audit included
	Lines      int       // of Audit.Lines
	// How many photos were taken on a flight line, in a turn between two, on the
	// way to or from the lines, in climb or descent, and on the ground.
	OnLine, InTurn, InTransit, InClimb, OnGround int
	Interval                                     float64 // shortest between photos that was kept, seconds; NaN when unknown
}

// Missed is a place in a flight where photos are missing.
type Missed struct {
	Kind          string // in words, as in package sequence
	Count         int
	After, Before string    // files
	Position      orb.Point // midway, degrees
	Time          time.Time // midway; zero when unknown
	Flight        int       // index into Audit.Flights
}

// addFlights takes over flights and missing photos from the trace. The lines
// must be there.
func (a *Audit) addFlights(s *selection, frame plane.Frame) {
	for _, f := range s.trace.Flights {
		flight := Flight{Photos: f.Last - f.First + 1, Interval: f.Interval}
		for i := f.First; i <= f.Last; i++ {
			// Times of another clock than the rest are not those of the order.
			if t := s.traced[i].Time; s.trace.Ordering == sequence.ByTime {
				if i == f.First {
					flight.Start = t
				}
				flight.End = t
			}
			switch s.trace.Phases[i] {
			case sequence.OnLine:
				flight.OnLine++
			case sequence.InTurn:
				flight.InTurn++
			case sequence.InTransit:
				flight.InTransit++
			case sequence.InClimb:
				flight.InClimb++
			case sequence.OnGround:
				flight.OnGround++
			}
		}
		a.Flights = append(a.Flights, flight)
	}
	for _, l := range a.Lines {
		a.Flights[l.Flight].Lines++
	}
	for _, m := range s.trace.Missing {
		a.Missed = append(a.Missed, Missed{
			Kind: string(m.Kind), Count: m.Count,
			After: s.traced[m.After].File, Before: s.traced[m.Before].File,
			Position: plane.WrapPoint(frame.Degrees(m.At)), Time: m.Time, Flight: m.Flight,
		})
	}
}

// WeakPair is two successive photos of a line with less forward overlap than wanted.
type WeakPair struct {
	First, Second string // files
	Overlap       float64
	Apart         float64      // metres
	Cause         finding.Text // as a clause
}

// mostWeakest is how many of the weakest pairs are listed.
const mostWeakest = 20

// Why photos that follow each other overlap too little, as clauses.
var (
	betweenMissing = finding.Say("a photo between them is missing")
	betweenLeftOut = finding.Say("a photo between them takes no part")
	tooLow         = finding.Say("taken nearer to the ground than the rest of the line")
	tooFast        = finding.Say("flown too fast for the trigger interval")
	triggeredLate  = finding.Say("too far apart")
	turnedOrTilted = finding.Say("the camera was turned or tilted")
)

const nearerThanUsual = 0.9 // share of the line's usual height
