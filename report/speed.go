package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"
	"time"

	"selvage/coverage"
)

//go:embed speed.html.tmpl
var speedTemplate string

// flown is what the note says of flights and speed, in words.
type flown struct {
	Sentences []string
	Flights   []flightRow
	Charts    []speedChart
	Lines     []speedRow
	Totals    speedRow
	Blurred   []blurRow
	Blur      string // the limit
	Missed    []missedRow
	Weakest   []weakRow
	MoreLines string
	MoreBlur  string
	MoreGaps  string
}

type flightRow struct {
	Number                                 int
	Start, Time, Interval                  string
	Photos, Lines, OnLine, InTurn, OffLine string
}

type speedRow struct {
	Number                                                int
	Flight, Photos, Length, Speed, Allowed, Limit, Timing string
	Spare                                                 string
}

type blurRow struct{ File, Blur, Speed, Exposure string }

type missedRow struct{ Kind, Count, After, Before, Position, Time string }

type weakRow struct{ First, Second, Overlap, Apart, Cause string }

const mostBlurRows = 200

func flownOf(n Note) flown {
	a, u := n.Audit, n.Units
	f := flown{
		Sentences: flownSentences(n), Charts: drawSpeeds(n),
		Blur:      roundNumber(a.Speed.MaxBlur) + " px",
		MoreLines: more(len(a.Lines), "more line", "more lines"),
		MoreGaps:  more(len(a.Missed), "more place", "more places"),
	}
	if over := len(a.Speed.Blurred) - mostBlurRows; over > 0 {
		f.MoreBlur = Count(over, "more photo", "more photos")
	}
	for i, flight := range a.Flights {
		f.Flights = append(f.Flights, flightRow{
			Number: i + 1, Start: clock(flight.Start, true), Time: minutes(flight.End.Sub(flight.Start).Seconds()), Interval: interval(flight.Interval),
			Photos: Number(flight.Photos), Lines: Number(flight.Lines), OnLine: Number(flight.OnLine), InTurn: Number(flight.InTurn),
			OffLine: Number(flight.InTransit + flight.InClimb + flight.OnGround),
		})
	}
	for i, l := range first(a.Lines, mostTableRows) {
		v := l.Speed
		f.Lines = append(f.Lines, speedRow{
			i + 1, Number(l.Flight + 1), Number(v.Photos), u.Length(v.Length), u.SpeedBoth(v.Ground),
			u.Speed(positive(v.Allowed)), limitName(v), minutes(v.Flown), minutes(v.Spare),
		})
	}
	f.Totals = speedRow{
		Speed: u.SpeedBoth(a.Speed.Ground), Allowed: u.Speed(positive(a.Speed.Allowed)),
		Timing: minutes(a.Speed.Flown), Spare: minutes(a.Speed.Spare),
	}
	for _, i := range first(a.Speed.Blurred, mostBlurRows) {
		s := a.Shots[i]
		f.Blurred = append(f.Blurred, blurRow{clean(s.File), fixed(s.Blur, 1) + " px", u.Speed(s.Speed), exposure(s.ExposureTime)})
	}
	for _, m := range first(a.Missed, mostTableRows) {
		f.Missed = append(f.Missed, missedRow{clean(m.Kind), Number(m.Count), clean(m.After), clean(m.Before), Position(m.Position), clock(m.Time, false)})
	}
	for _, w := range a.Weakest {
		f.Weakest = append(f.Weakest, weakRow{clean(w.First), clean(w.Second), Percent(w.Overlap), u.Length(w.Apart), clean(w.Cause)})
	}
	return f
}

// flownSentences are how the flights went, in a sentence or a few.
func flownSentences(n Note) []string {
	a, u := n.Audit, n.Units
	if len(a.Flights) == 0 {
		return nil
	}
	v := a.Speed
	out := []string{fmt.Sprintf("%s with %s over the site.", Count(len(a.Flights), "flight", "flights"), Count(len(a.Lines), "line", "lines"))}
	if positive(v.Ground) != v.Ground {
		out[0] += " How fast they were flown cannot be told from the photos."
	} else {
		out[0] += fmt.Sprintf(" They were flown at %s on average, in %s.", u.SpeedBoth(v.Ground), minutes(v.Flown))
		if v.Allowed > 0 && finite(v.Allowed) {
			out = append(out, fmt.Sprintf("Allowed: %s, set by %s. Time to spare: %s.", u.SpeedBoth(v.Allowed), limits(a.Lines), minutes(v.Spare)))
		} else {
			out = append(out, "What was allowed cannot be told from the photos.")
		}
	}
	switch {
	case v.BlurKnown == 0:
		out = append(out, "Motion blur cannot be told, for want of exposure times or speeds.")
	default:
		out = append(out, fmt.Sprintf("Moved by more than %s px while the shutter was open: %s of %s.", roundNumber(v.MaxBlur),
			Number(len(v.Blurred)), Count(v.BlurKnown, "photo", "photos")))
	}
	if len(a.Missed) > 0 {
		photos := 0
		for _, m := range a.Missed {
			photos += m.Count
		}
		out = append(out, fmt.Sprintf("Missing within the flights: %s in %s.", Count(photos, "photo", "photos"), Count(len(a.Missed), "place", "places")))
	}
	return out
}

// writeFlown writes the flights for a terminal.
func writeFlown(out io.Writer, n Note) {
	for _, line := range Wrap(strings.Join(flownSentences(n), " "), textWidth-2) {
		fmt.Fprintf(out, "  %s\n", line)
	}
}

// limits names what sets the speed, the commonest first.
func limits(lines []coverage.Line) string {
	counts := map[string]int{}
	for _, l := range lines {
		counts[l.Speed.Limit]++
	}
	best := ""
	for _, limit := range []string{coverage.SetByBlur, coverage.SetByTrigger, coverage.SetByFlight} {
		if counts[limit] > counts[best] || best == "" && counts[limit] > 0 {
			best = limit
		}
	}
	return clean(best)
}

func limitName(v coverage.LineSpeed) string {
	if v.Limit == "" {
		return "–"
	}
	return clean(strings.TrimPrefix(v.Limit, "the "))
}

// positive is NaN for what is not a speed over 0, so that it shows as unknown.
func positive(x float64) float64 {
	if x > 0 && finite(x) {
		return x
	}
	return math.NaN()
}

// minutes formats seconds as minutes.
func minutes(seconds float64) string {
	if !finite(seconds) || seconds < 0 {
		return unknown
	}
	return measure(seconds/60, "min")
}

func interval(seconds float64) string {
	if !(seconds > 0) || !finite(seconds) {
		return unknown
	}
	return fixed(seconds, 1) + " s"
}

// exposure formats an exposure time as photographers write it.
func exposure(seconds float64) string {
	switch {
	case !(seconds > 0) || !finite(seconds):
		return unknown
	case seconds >= 0.4:
		return fixed(seconds, 1) + " s"
	}
	return "1/" + fixed(1/seconds, 0) + " s"
}

func clock(t time.Time, day bool) string {
	switch {
	case t.IsZero():
		return unknown
	case day:
		return t.UTC().Format("2006-01-02 15:04:05")
	}
	return t.UTC().Format("15:04:05")
}

// SpeedBoth formats metres a second, and kilometres an hour; or miles an hour,
// and metres a second.
func (u Units) SpeedBoth(mps float64) string {
	mps = positive(mps)
	if !finite(mps) {
		return unknown
	}
	if u == Imperial {
		return u.Speed(mps) + " (" + Metric.Speed(mps) + ")"
	}
	return u.Speed(mps) + " (" + measure(mps*3.6, "km/h") + ")"
}

// speedChart is the chart of one flight: speed against time.
type speedChart struct {
	Caption string
	SVG     template.HTML
}
