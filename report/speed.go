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
	"selvage/coverage/sequence"
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
		MoreLines: n.Units.more(len(a.Lines), "more line stands in the JSON file", "more lines stand in the JSON file"),
		MoreGaps:  n.Units.more(len(a.Missed), "more place stands in the JSON file", "more places stand in the JSON file"),
	}
	if over := len(a.Speed.Blurred) - mostBlurRows; over > 0 {
		f.MoreBlur = n.Units.Count(over, "more photo stands in the JSON file", "more photos stand in the JSON file")
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
	out := []string{u.Say("%s with %s over the site.", u.Count(len(a.Flights), "flight", "flights"), u.Count(len(a.Lines), "line", "lines"))}
	if positive(v.Ground) != v.Ground {
		out[0] += " " + u.Say("How fast they were flown cannot be told from the photos.")
	} else {
		out[0] += " " + u.Say("They were flown at %s on average, in %s.", u.SpeedBoth(v.Ground), u.minutes(v.Flown))
		if v.Allowed > 0 && finite(v.Allowed) {
			out = append(out, u.Say("Allowed: %s, set by %s. Time to spare: %s.", u.SpeedBoth(v.Allowed), u.limits(a.Lines), u.minutes(v.Spare)))
		} else {
			out = append(out, u.Say("What was allowed cannot be told from the photos."))
		}
	}
	switch {
	case v.BlurKnown == 0:
		out = append(out, u.Say("Motion blur cannot be told, for want of exposure times or speeds."))
	default:
		out = append(out, u.Say("Moved by more than %s px while the shutter was open: %s of %s.", u.round(v.MaxBlur),
			u.Number(len(v.Blurred)), u.Count(v.BlurKnown, "photo", "photos")))
	}
	if len(a.Missed) > 0 {
		photos := 0
		for _, m := range a.Missed {
			photos += m.Count
		}
		out = append(out, u.Say("Missing within the flights: %s in %s.", u.Count(photos, "photo", "photos"), u.Count(len(a.Missed), "place", "places")))
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
func (l Locale) limits(lines []coverage.Line) string {
	counts := map[string]int{}
	for _, line := range lines {
		counts[line.Speed.Limit]++
	}
	best := ""
	for _, limit := range []string{coverage.SetByBlur, coverage.SetByTrigger, coverage.SetByFlight} {
		if counts[limit] > counts[best] || best == "" && counts[limit] > 0 {
			best = limit
		}
	}
	switch best {
	case coverage.SetByBlur:
		return l.Say("motion blur")
	case coverage.SetByTrigger:
		return l.Say("the trigger interval")
	case coverage.SetByFlight:
		return l.Say("the trigger interval, as flown")
	}
	return ""
}

func (l Locale) limitName(v coverage.LineSpeed) string {
	switch v.Limit {
	case "":
		return "–"
	case coverage.SetByBlur:
		return l.Say("motion blur")
	case coverage.SetByTrigger:
		return l.Say("trigger interval")
	case coverage.SetByFlight:
		return l.Say("trigger interval, as flown")
	}
	return Clean(v.Limit)
}

// missedName puts what is missing into words.
func (l Locale) missedName(m coverage.Missed) string {
	switch m.Kind {
	case string(sequence.File):
		return l.Say("file missing")
	case string(sequence.Trigger):
		return l.Say("trigger missed")
	case string(sequence.Unclear):
		return l.Say("photo not on hand")
	}
	return Clean(m.Kind)
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
		return l.unknown()
	}
	return l.measure(seconds/60, "min")
}

func (l Locale) interval(seconds float64) string {
	if !(seconds > 0) || !finite(seconds) {
		return l.unknown()
	}
	return l.fixed(seconds, 1) + " s"
}

// exposure formats an exposure time as photographers write it.
func (l Locale) exposure(seconds float64) string {
	switch {
	case !(seconds > 0) || !finite(seconds):
		return l.unknown()
	case seconds >= 0.4:
		return l.fixed(seconds, 1) + " s"
	}
	return "1/" + l.fixed(1/seconds, 0) + " s"
}

func (l Locale) clock(t time.Time, day bool) string {
	switch {
	case t.IsZero():
		return l.unknown()
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
		return u.unknown()
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
