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
	Flights   table
	Charts    []speedChart
	Lines     table
	Blurred   table
	Blur      string // the limit
	Missed    table
	Weakest   table
	MoreLines string
	MoreBlur  string
	MoreGaps  string
}

const mostBlurRows = 200

func flownOf(n Note) flown {
	a := n.Audit
	f := flown{
		Sentences: flownSentences(n), Charts: drawSpeeds(n),
		Lines: n.lineTable().shown(), Flights: n.flightTable().shown(), Missed: n.missedTable().shown(),
		Weakest: n.weakTable().shown(), Blurred: n.blurTable(),
		Blur:      n.Units.round(a.Speed.MaxBlur) + " px",
		MoreLines: n.Units.more(len(a.Lines), "more line", "more lines"),
		MoreGaps:  n.Units.more(len(a.Missed), "more place", "more places"),
	}
	if over := len(a.Speed.Blurred) - mostBlurRows; over > 0 {
		f.MoreBlur = n.Units.Count(over, "more photo", "more photos")
	}
	f.Blurred.Rows = first(f.Blurred.Rows, mostBlurRows)
	return f
}

// flownSentences are how the flights went, in a sentence or a few.
func flownSentences(n Note) []string {
	a, u := n.Audit, n.Units
	if len(a.Flights) == 0 {
		return nil
	}
	v := a.Speed
	out := []string{fmt.Sprintf("%s with %s over the site.", u.Count(len(a.Flights), "flight", "flights"), u.Count(len(a.Lines), "line", "lines"))}
	if positive(v.Ground) != v.Ground {
		out[0] += " How fast they were flown cannot be told from the photos."
	} else {
		out[0] += fmt.Sprintf(" They were flown at %s on average, in %s.", u.SpeedBoth(v.Ground), u.minutes(v.Flown))
		if v.Allowed > 0 && finite(v.Allowed) {
			out = append(out, fmt.Sprintf("Allowed: %s, set by %s. Time to spare: %s.", u.SpeedBoth(v.Allowed), limits(a.Lines), u.minutes(v.Spare)))
		} else {
			out = append(out, "What was allowed cannot be told from the photos.")
		}
	}
	switch {
	case v.BlurKnown == 0:
		out = append(out, "Motion blur cannot be told, for want of exposure times or speeds.")
	default:
		out = append(out, fmt.Sprintf("Moved by more than %s px while the shutter was open: %s of %s.", u.round(v.MaxBlur),
			u.Number(len(v.Blurred)), u.Count(v.BlurKnown, "photo", "photos")))
	}
	if len(a.Missed) > 0 {
		photos := 0
		for _, m := range a.Missed {
			photos += m.Count
		}
		out = append(out, fmt.Sprintf("Missing within the flights: %s in %s.", u.Count(photos, "photo", "photos"), u.Count(len(a.Missed), "place", "places")))
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
func (l Locale) minutes(seconds float64) string {
	if !finite(seconds) || seconds < 0 {
		return unknown
	}
	return l.measure(seconds/60, "min")
}

func (l Locale) interval(seconds float64) string {
	if !(seconds > 0) || !finite(seconds) {
		return unknown
	}
	return l.fixed(seconds, 1) + " s"
}

// exposure formats an exposure time as photographers write it.
func (l Locale) exposure(seconds float64) string {
	switch {
	case !(seconds > 0) || !finite(seconds):
		return unknown
	case seconds >= 0.4:
		return l.fixed(seconds, 1) + " s"
	}
	return "1/" + l.fixed(1/seconds, 0) + " s"
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
// and metres a second. Both are metres a second and miles an hour.
func (u Units) SpeedBoth(mps float64) string {
	mps = positive(mps)
	if !finite(mps) {
		return unknown
	}
	switch u.Measures {
	case Imperial:
		return aside(u.Speed(mps), u.In(Metric).Speed(mps))
	case Metric:
		return aside(u.Speed(mps), u.measure(mps*3.6, "km/h"))
	}
	return u.Speed(mps)
}

// speedChart is the chart of one flight: speed against time.
type speedChart struct {
	Caption string
	SVG     template.HTML
}
