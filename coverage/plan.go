package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

const (
	// UsualTurnTime is what slowing down, turning and speeding up again takes at
	// the end of a line, seconds (common practice, no source).
	UsualTurnTime = 5.0
	// usualPhotoSize is the size of a compressed photo, megabytes a million
	// pixels (common practice, no source).
	usualPhotoSize = 0.5

	mostLines     = 10_000     // of a part
	mostCrossings = 20_000_000 // of them with its outline
	// speedUS is the greatest ground speed in 14 CFR 107.51(a), 87 knots, in
	// metres a second.
	speedUS = 87 * 1852.0 / 3600
	// farOver is how many times the wanted speed is worth a word.
	farOver = 1.5
	// rise is how much higher ground may be, as a share of the height, to show
	// what hills do to the overlaps.
	rise = 0.1
)

// PlanInput is what the figures of a flight are worked out from. A zero field
// is not given, but for Course and TurnTime.
type PlanInput struct {
	Setup
	Course          float64 // of the lines, degrees clockwise from north; NaN: the best for each part
	Blur            float64 // pixels that the image may move while the shutter is open
	ExposureTime    float64 // seconds
	TriggerInterval float64 // least time between photos, seconds
	Speed           float64 // wanted, metres a second
	TurnTime        float64 // seconds a line, see UsualTurnTime
	PhotoSize       float64 // megabytes; 0: half a megabyte a million pixels
}

// Plan is the figures of a flight. Lengths are metres, times seconds, speeds
// metres a second; what is not known for want of a speed is 0.
type Plan struct {
	Layout
	Area          float64 // m², on the ellipsoid
	Parts         []PlannedPart
	Lines, Photos int
	LineLength    float64 // all lines
	Track         float64 // all lines and the straight ways between their ends, not between parts
	// BlurSpeed and TriggerSpeed are what motion blur and the trigger interval
	// allow, Speed is the least of them and the wanted speed, and SpeedSetBy
	// says which, in words.
	BlurSpeed, TriggerSpeed, Speed float64
	SpeedSetBy                     string
	Interval                       float64 // between photos at Speed
	// FlightTime is the track at Speed and the turn time of every line: no
	// take-off, no landing, no way between parts, no change of battery.
	FlightTime         float64
	PhotoSize, Storage float64 // megabytes
	Findings           []finding.Finding
}

// What sets the speed of a plan.
const (
	SetByWish    = "the wanted speed"
	SetByBlur    = "motion blur"
	SetByTrigger = "the trigger interval"
)

// PlannedPart is one polygon of the flight area with its lines, in the order flown.
type PlannedPart struct {
	Course float64 // of the first line, degrees clockwise from true north
	Width  float64 // across the course
	Lines  []PlannedLine
	Photos int
	Track  float64
}

// PlannedLine is one flight line, from where it first enters its part to where
// it last leaves it.
type PlannedLine struct {
	From, To orb.Point // degrees, in the order flown
	Length   float64
	Inside   float64 // the length of it that lies inside the part
	Pieces   int     // in which it does
	Photos   int     // LinePhotos of its length
}

// PlanFlight lays flight lines over a flight area, in degrees lon/lat, and
// returns the figures. The lines of a part are FlightLines of its width, one
// line spacing apart, the outer ones equally far within it; they are not
// clipped where the outline bends in and out again, but flown from first entry
// to last exit. The best course takes the fewest lines, and then the shortest
// track among the courses tried: whole degrees and the one of least width.
// The ground is level.
//
// It is an error when the Setup is one, when a figure is out of its range, when
// a part holds no ground or is wider than 200 km, or when it takes more than
// 10,000 lines.
func PlanFlight(area orb.MultiPolygon, in PlanInput) (Plan, error) {
	layout, err := in.Layout()
	if err != nil {
		return Plan{}, err
	}
	if err := in.check(); err != nil {
		return Plan{}, err
	}
	if len(area) == 0 {
		return Plan{}, errors.New("the flight area is empty")
	}
	p := Plan{Layout: layout, PhotoSize: in.PhotoSize}
	for i, polygon := range plane.Unwrap(area) {
		part, err := planPart(polygon, layout, in.Course)
		if err != nil {
			return Plan{}, fmt.Errorf("part %d of the flight area: %w", i+1, err)
		}
		p.Parts = append(p.Parts, part)
		p.Lines += len(part.Lines)
		p.Photos += part.Photos
		p.Track += part.Track
		for _, l := range part.Lines {
			p.LineLength += l.Length
		}
	}
	p.Area = plane.GeodesicArea(area)
	if p.PhotoSize == 0 {
		p.PhotoSize = usualPhotoSize * float64(in.Camera.Columns) * float64(in.Camera.Rows) / 1e6
	}
	p.Storage = p.PhotoSize * float64(p.Photos)
	p.setSpeed(in)
	if p.Speed > 0 {
		p.Interval = p.AirBase / p.Speed
		p.FlightTime = p.Track/p.Speed + in.TurnTime*float64(p.Lines)
	}
	p.judge(in)
	return p, nil
}

func (in PlanInput) check() error {
	for _, f := range []struct {
		name            string
		value, greatest float64
		unit            string
	}{
		{"motion blur", in.Blur, 100, "pixels"},
		{"exposure time", in.ExposureTime, 60, "s"},
		{"trigger interval", in.TriggerInterval, 3600, "s"},
		{"speed", in.Speed, 300, "m/s"},
		{"turn time", in.TurnTime, 3600, "s"},
		{"photo size", in.PhotoSize, 10_000, "MB"},
	} {
		if !(f.value >= 0 && f.value <= f.greatest) {
			return fmt.Errorf("the %s must lie between 0 and %g %s", f.name, f.greatest, f.unit)
		}
	}
	if in.Course < 0 || in.Course > 360 {
		return errors.New("the course must lie between 0 and 360 degrees")
	}
	return nil
}

func planPart(polygon orb.Polygon, layout Layout, course float64) (PlannedPart, error) {
	frame, err := plane.FrameFor(orb.MultiPolygon{polygon})
	if err != nil {
		return PlannedPart{}, err
	}
	ground := frame.ToMetres(orb.MultiPolygon{polygon}, edgeDeviation)
	if areaOf(ground) == 0 {
		return PlannedPart{}, errors.New("it holds no ground")
	}
	var s sweep
	if math.IsNaN(course) {
		s = bestSweep(ground[0], layout.LineSpacing)
	} else {
		s = newSweep(ground[0], math.Mod(course, 360), layout.LineSpacing)
	}
	if s.lines > mostLines {
		return PlannedPart{}, fmt.Errorf("it takes %d lines, and at most %d can be planned; check the height and the side overlap", s.lines, mostLines)
	}
	inside, err := s.inside()
	if err != nil {
		return PlannedPart{}, err
	}
	track := s.track(s.flown())
	part := PlannedPart{Course: s.course, Width: s.width, Track: trackLength(track)}
	for i, pieces := range inside {
		from, to := track[2*i], track[2*i+1]
		line := PlannedLine{
			From: frame.Degrees(turned(from, s.course)), To: frame.Degrees(turned(to, s.course)),
			Length: distance(from, to), Pieces: len(pieces),
		}
		for _, piece := range pieces {
			line.Inside += piece.to - piece.from
		}
		line.Photos = LinePhotos(line.Length, layout.AirBase)
		part.Photos += line.Photos
		part.Lines = append(part.Lines, line)
	}
	return part, nil
}

func (p *Plan) setSpeed(in PlanInput) {
	if in.Blur > 0 && in.ExposureTime > 0 {
		p.BlurSpeed = BlurSpeed(in.Blur, p.GSD, in.ExposureTime)
	}
	if in.TriggerInterval > 0 {
		p.TriggerSpeed = TriggerSpeed(p.AirBase, in.TriggerInterval)
	}
	for _, limit := range []struct {
		speed float64
		by    string
	}{{in.Speed, SetByWish}, {p.BlurSpeed, SetByBlur}, {p.TriggerSpeed, SetByTrigger}} {
		if limit.speed > 0 && (p.Speed == 0 || limit.speed < p.Speed) {
			p.Speed, p.SpeedSetBy = limit.speed, limit.by
		}
	}
}

// setBy is SpeedSetBy as a part of a sentence.
func (p *Plan) setBy() finding.Text {
	switch p.SpeedSetBy {
	case SetByBlur:
		return finding.Say("motion blur")
	case SetByTrigger:
		return finding.Say("the trigger interval")
	}
	return finding.Say("the wanted speed")
}

// judge says what the reader of a plan has to know.
func (p *Plan) judge(in PlanInput) {
	j := &judgement{}
	higher := rise * p.Height
	along, across := p.FootprintAlong*(1-rise), p.FootprintAcross*(1-rise)
	j.note(finding.FlatGround, 0, "", finding.Say("The ground is taken as level. Where it is %s higher, a tenth of the height, forward overlap falls from %s to %s and side overlap from %s to %s.",
		finding.Length(higher), finding.Share(in.Forward), finding.Share(ForwardOverlap(p.AirBase, along)),
		finding.Share(in.Side), finding.Share(SideOverlap(p.LineSpacing, across))))
	if p.Height > limitEU {
		j.note(finding.HeightOverLimit, rounded(p.Height), "m", finding.Sentences(
			finding.Say("The planned height is %s, more than %s above ground.", finding.Tenths(p.Height), finding.Stated(limitEU)), heightRule(p.Height)))
	}
	if p.Speed > speedUS {
		j.note(finding.SpeedOverLimit, rounded(p.Speed), "m/s", finding.Say("The planned speed is %s, set by %s. 14 CFR 107.51(a) allows 87 knots (%s); the local rule decides, and so does the aircraft.",
			finding.Speed(p.Speed), p.setBy(), finding.Speed(speedUS)))
	}
	allowed := math.Inf(1)
	for _, v := range []float64{p.BlurSpeed, p.TriggerSpeed} {
		if v > 0 {
			allowed = min(allowed, v)
		}
	}
	switch {
	case in.Speed == 0 || math.IsInf(allowed, 1):
	case allowed < in.Speed:
		j.note(finding.SpeedTooHigh, rounded(allowed), "m/s", finding.Say("The wanted speed of %s is more than %s allows; the plan flies at %s.",
			finding.Speed(in.Speed), p.setBy(), finding.Speed(allowed)))
	case allowed >= farOver*in.Speed:
		j.note(finding.SpeedToSpare, rounded(allowed), "m/s", finding.Either(allowed == p.BlurSpeed,
			finding.Say("The wanted speed is %s, and motion blur would allow %s.", finding.Speed(in.Speed), finding.Speed(allowed)),
			finding.Say("The wanted speed is %s, and the trigger interval would allow %s.", finding.Speed(in.Speed), finding.Speed(allowed))))
	}
	p.Findings = j.found
}
