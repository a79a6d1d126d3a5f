package compare

import (
	"math"
)

// measureKind says how a figure is shown.
type measureKind int

const (
	anArea measureKind = iota
	aLength
	aDistance
	aShare
	aCount
	aGSD // millimetres a pixel
	aSpeed
	aTime
)

// direction says which way a figure gets better.
type direction int

const (
	neither direction = iota
	upwards
	downwards
)

// figureKind is a figure that two records have in common.
type figureKind struct {
	Key, Name string
	measure   measureKind
	better    direction
	audit     func(*Audit) amount // by its kind
	plan      func(*Plan) amount
	// A change up to slack, in the figure's own unit, or up to share of the
	// value before, counts for nothing.
	slack, share float64
}

func (f figureKind) from(r *Record) amount {
	switch {
	case r.Audit != nil && f.audit != nil:
		return f.audit(r.Audit)
	case r.Plan != nil && f.plan != nil:
		return f.plan(r.Plan)
	}
	return nil
}

// A median that another few photos have moved has not got worse. What a pilot
// would not fly again for; common practice, no source.
const (
	overlapSlack = 0.01
	gsdShare     = 0.02
	planOverlap  = 0.02
	planShare    = 0.05
)

func count[T any](list []T) amount {
	n := float64(len(list))
	return &n
}

// shareOf is a part of a whole that may not be known.
func shareOf(part, whole amount) amount {
	if part == nil || whole == nil || *whole <= 0 {
		return nil
	}
	x := min(1, *part / *whole)
	return &x
}

// auditFigures are those of two audits.
var auditFigures = []figureKind{
	{Key: "gap_m2", Name: "Gaps", measure: anArea, better: downwards, slack: 0.1, audit: func(a *Audit) amount { return a.Totals.Gap }},
	{Key: "no_stereo_m2", Name: "No stereo", measure: anArea, better: downwards, slack: 0.1, audit: func(a *Audit) amount { return a.Totals.NoStereo }},
	{Key: "thin_m2", Name: "Thin", measure: anArea, better: downwards, slack: 0.1, audit: func(a *Audit) amount { return a.Totals.Thin }},
	{Key: "covered_share", Name: "Covered", measure: aShare, better: upwards, slack: 1e-5, audit: func(a *Audit) amount { return a.Totals.CoveredShare }},
	{Key: "enough_share", Name: "Enough views", measure: aShare, better: upwards, slack: 1e-5, audit: func(a *Audit) amount { return a.Totals.EnoughShare }},
	{Key: "edge_captured_share", Name: "Edge captured", measure: aShare, better: upwards, slack: 1e-5, audit: func(a *Audit) amount { return shareOf(a.Edge.Captured, a.Edge.Length) }},
	{Key: "edge_captured_m", Name: "", measure: aDistance, audit: func(a *Audit) amount { return a.Edge.Captured }},
	{Key: "edge_stretches", Name: "Short stretches", measure: aCount, audit: func(a *Audit) amount { return count(a.Edge.Stretches) }},
	{Key: "forward_overlap_median", Name: "Forward overlap, median", measure: aShare, better: upwards, slack: overlapSlack, audit: func(a *Audit) amount { return a.Overlap.Forward.Median }},
	{Key: "forward_overlap_min", Name: "  least", measure: aShare, audit: func(a *Audit) amount { return a.Overlap.Forward.Min }},
	{Key: "forward_below_share", Name: "  pairs that fall short", measure: aShare, audit: func(a *Audit) amount { return asked(a.Wanted.Forward, a.Overlap.Forward.Below) }},
	{Key: "side_overlap_median", Name: "Side overlap, median", measure: aShare, better: upwards, slack: overlapSlack, audit: func(a *Audit) amount { return a.Overlap.Side.Median }},
	{Key: "side_overlap_min", Name: "  least", measure: aShare, audit: func(a *Audit) amount { return a.Overlap.Side.Min }},
	{Key: "side_below_share", Name: "  pairs that fall short", measure: aShare, audit: func(a *Audit) amount { return asked(a.Wanted.Side, a.Overlap.Side.Below) }},
	{Key: "gsd_median_mm", Name: "GSD, median", measure: aGSD, better: downwards, share: gsdShare, audit: func(a *Audit) amount { return a.GSD.Median }},
	{Key: "gsd_max_mm", Name: "  coarsest", measure: aGSD, audit: func(a *Audit) amount { return a.GSD.Max }},
	{Key: "height_median_m", Name: "Height, median", measure: aLength, audit: func(a *Audit) amount { return a.Flown.Height.Median }},
	{Key: "photos_used", Name: "Photos used", measure: aCount, audit: func(a *Audit) amount { return a.Photos.Used }},
	{Key: "photos_left_out", Name: "Photos left out", measure: aCount, audit: func(a *Audit) amount { return count(a.Photos.LeftOut) }},
	{Key: "flights", Name: "Flights", measure: aCount, audit: func(a *Audit) amount { return countUnless(a.Flights) }},
	{Key: "lines", Name: "Flight lines", measure: aCount, audit: func(a *Audit) amount { return countUnless(a.Lines) }},
	{Key: "speed_m_s", Name: "Speed on the lines", measure: aSpeed, audit: func(a *Audit) amount { return a.Speed.Speed }},
}

// flightFigures are those of a plan and an audit.
var flightFigures = []figureKind{
	{Key: "lines", Name: "Flight lines", measure: aCount, better: upwards, share: planShare,
		plan: func(p *Plan) amount { return p.Lines }, audit: func(a *Audit) amount { return countUnless(a.Lines) }},
	{Key: "line_length_m", Name: "Length of lines", measure: aDistance, better: upwards, share: planShare,
		plan: func(p *Plan) amount { return p.LineLength }, audit: func(a *Audit) amount { return a.Flown.LineLength }},
	{Key: "photos", Name: "Photos on the lines", measure: aCount, better: upwards, share: planShare,
		plan: func(p *Plan) amount { return p.Photos }, audit: func(a *Audit) amount { return a.Flown.LinePhotos }},
	{Key: "track_m", Name: "Track", measure: aDistance,
		plan: func(p *Plan) amount { return p.Track }, audit: func(a *Audit) amount { return a.Flown.Track }},
	{Key: "height_m", Name: "Height above ground", measure: aLength,
		plan: func(p *Plan) amount { return p.Height }, audit: func(a *Audit) amount { return a.Flown.Height.Median }},
	{Key: "gsd_mm", Name: "GSD", measure: aGSD, better: downwards, share: planShare,
		plan: func(p *Plan) amount { return p.GSD }, audit: func(a *Audit) amount { return a.GSD.Median }},
	{Key: "forward_overlap", Name: "Forward overlap", measure: aShare, better: upwards, slack: planOverlap,
		plan: func(p *Plan) amount { return p.Forward }, audit: func(a *Audit) amount { return a.Overlap.Forward.Median }},
	{Key: "side_overlap", Name: "Side overlap", measure: aShare, better: upwards, slack: planOverlap,
		plan: func(p *Plan) amount { return p.Side }, audit: func(a *Audit) amount { return a.Overlap.Side.Median }},
	{Key: "speed_m_s", Name: "Speed on the lines", measure: aSpeed,
		plan: func(p *Plan) amount { return p.Speed }, audit: func(a *Audit) amount { return a.Speed.Speed }},
	{Key: "interval_s", Name: "Time between photos", measure: aTime,
		plan: func(p *Plan) amount { return p.Interval }, audit: shortestInterval},
	{Key: "flight_time_s", Name: "Flight time", measure: aTime,
		plan: func(p *Plan) amount { return p.FlightTime }, audit: func(a *Audit) amount { return a.Flown.Time }},
}

// figuresOf are all that a record may have.
func figuresOf(r *Record) []figureKind {
	if r.Audit != nil {
		return append(append([]figureKind{}, auditFigures...), flightFigures...)
	}
	return flightFigures
}

// asked is a figure that means something only where something was wanted.
func asked(wanted, x amount) amount {
	if wanted == nil {
		return nil
	}
	return x
}

// countUnless counts a list that an older record may not have.
func countUnless[T any](list []T) amount {
	if list == nil {
		return nil
	}
	return count(list)
}

func shortestInterval(a *Audit) amount {
	var least amount
	for _, f := range a.Flights {
		if f.Interval != nil && (least == nil || *f.Interval < *least) {
			least = f.Interval
		}
	}
	return least
}

// Judgement says whether a figure got better.
type Judgement string

const (
	NotJudged     Judgement = "not-judged"
	Better        Judgement = "better"
	Same          Judgement = "same"
	Worse         Judgement = "worse"
	NotComparable Judgement = "not-comparable"
)

// Figure is one figure of two records, in the unit that its key names. What is
// not known is NaN.
type Figure struct {
	figureKind
	Before, After float64
	Judgement     Judgement
}

// Change is the difference, as an amount and as a share of what was before;
// NaN where there is none to tell.
func (f Figure) Change() (amount, share float64) {
	amount, share = f.After-f.Before, math.NaN()
	if f.Judgement == NotComparable {
		return math.NaN(), math.NaN()
	}
	if part := amount / f.Before; !math.IsInf(part, 0) {
		share = part
	}
	return amount, share
}

func (f *Figure) judge() {
	change := f.After - f.Before
	switch {
	case f.Judgement == NotComparable:
	case f.better == neither || !known(change):
		f.Judgement = NotJudged
	case math.Abs(change) <= max(f.slack, f.share*math.Abs(f.Before)):
		f.Judgement = Same
	case (change > 0) == (f.better == upwards):
		f.Judgement = Better
	default:
		f.Judgement = Worse
	}
}

func (f Figure) worse() bool { return f.Judgement == Worse }
