package report

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"selvage/boundary"
	"selvage/boundary/finding"
)

// Receipt is all that a receipt sheet says: what a client's file holds, what
// was mended in it, and what the client is asked.
type Receipt struct {
	Title         string // "" for the file's name
	Letterhead    Letterhead
	Made          time.Time
	Tool, Version string
	File          *boundary.File
	Receipt       boundary.Receipt
	Units         Units
}

var errNoFile = errors.New("there is no file to write a receipt for")

func (r Receipt) title() string {
	if r.Title == "" {
		return r.File.Name
	}
	return r.Title
}

// faultName is the name of a finding, from its index, on the map and in the
// tables.
func faultName(index int) string { return "F" + strconv.Itoa(index+1) }

func faultNames(indexes []int) string {
	var out []string
	for _, i := range indexes {
		out = append(out, faultName(i))
	}
	return strings.Join(out, ", ")
}

// sheetVerdict is the gist of a sheet.
type sheetVerdict struct {
	Good, Short bool
	Heading     string
	Sentences   []string // the first is the verdict itself
}

func (r Receipt) verdict() sheetVerdict {
	site, u := r.Receipt.Site, r.Units
	asked := 0
	for _, q := range r.questions() {
		if !q.Settled {
			asked++
		}
	}
	v := sheetVerdict{Good: asked == 0 && len(site.Areas) > 0, Short: len(site.Areas) == 0}
	holds := fmt.Sprintf("%s, %s", u.Count(r.Receipt.Parts, "part", "parts"), u.AreaBoth(site.Area))
	switch ask := u.Count(asked, "question to answer", "questions to answer"); {
	case v.Short && asked == 0:
		v.Heading, v.Sentences = "No area to fly", []string{"The file holds no area that could be flown."}
	case v.Short:
		v.Heading, v.Sentences = "No area to fly", []string{"The file holds no area that could be flown: " + ask + "."}
	case v.Good:
		v.Heading, v.Sentences = "Sound", []string{"Sound: " + holds + "."}
		if len(site.Mends) > 0 {
			v.Heading, v.Sentences[0] = "Sound once mended", "Sound once mended: "+holds+"."
		}
	default:
		until := "Until they are answered"
		if asked == 1 {
			until = "Until it is answered"
		}
		v.Heading = "Questions to answer"
		v.Sentences = []string{ask + ".", fmt.Sprintf("%s, the site area is taken to be %s.", until, u.AreaBoth(site.Area))}
	}
	if v.Short {
		return v
	}
	return sheetVerdict{v.Good, v.Short, v.Heading, append(v.Sentences, r.mending())}
}

// mending sums up what was mended in one sentence.
func (r Receipt) mending() string {
	mended := 0
	for _, f := range r.Receipt.Findings {
		if f.Severity == finding.Mended {
			mended++
		}
	}
	site := r.Receipt.Site
	if mended == 0 && len(site.Mends) == 0 {
		return "Nothing had to be mended; every vertex is as it was received."
	}
	one, many := "fault was mended without asking", "faults were mended without asking"
	if slices.ContainsFunc(r.questions(), func(q question) bool { return q.Settled }) {
		one, many = "fault was mended", "faults were mended"
	}
	done := "Mending"
	if mended > 0 {
		done = r.Units.Count(mended, one, many) + "; all mending together"
	}
	switch change := r.Units.change(site.AreaBefore, site.Area); {
	case change == unchanged:
		return done + " leaves the area unchanged."
	case r.uncertainArea() && mended > 0:
		return r.Units.Count(mended, one, many) + "."
	case r.uncertainArea():
		return "Nothing was mended without asking."
	default:
		return done + " changes the area by " + change + "."
	}
}

const unchanged = "unchanged"

// change is the shift from one area to another with its sign and its share:
// "−768 m² (0.6 %)".
func (u Units) change(before, after float64) string {
	d := after - before
	switch {
	case !finite(d):
		return unknown
	case math.Abs(d) < leastArea:
		return unchanged
	}
	sign := "+"
	if d < 0 {
		sign = "−"
	}
	s := sign + u.Area(math.Abs(d))
	if share := math.Abs(d) / before; share < 1 {
		s = aside(s, u.Percent(share))
	}
	return s
}

// uncertainArea says whether a line crosses itself, so that the area as
// received counts loops that run opposite ways against each other.
func (r Receipt) uncertainArea() bool {
	for _, f := range r.Receipt.Findings {
		if f.Code == finding.SelfCrossing {
			return true
		}
	}
	return false
}

// figures are the figures of the file that mending does not divide in two.
func (r Receipt) figures() []Parameter {
	receipt := r.Receipt
	out := []Parameter{{"Format", clean(r.File.Format)}}
	if receipt.Parts > 0 {
		out = append(out, Parameter{"Coordinates", r.coordinates()})
	}
	if len(receipt.Site.Areas) == 0 {
		return out
	}
	return append(out,
		Parameter{"Perimeter, holes included", r.Units.Distance(receipt.Perimeter)},
		Parameter{"South-west corner (lat, lon)", Position(receipt.Bound.Min)},
		Parameter{"North-east corner (lat, lon)", Position(receipt.Bound.Max)},
		Parameter{"Centre (lat, lon)", Position(receipt.Centre)},
	)
}

// coordinates says in which system the file has its numbers.
func (r Receipt) coordinates() string {
	for _, f := range r.Receipt.Findings {
		switch f.Code {
		case finding.Transformed:
			return r.Units.toClient(f.Text)
		case finding.LooksProjected:
			return unknown
		}
	}
	return "longitude and latitude on WGS 84"
}

// inWords lists the findings of one severity: each finding of a kind
// that occurs a few times, and the kind for one that occurs often.
func (r Receipt) inWords(severity finding.Severity) []string {
	const few = 3
	count := map[finding.Code]int{}
	for _, f := range r.Receipt.Findings {
		if f.Severity == severity {
			count[f.Code]++
		}
	}
	var out []string
	for _, f := range r.Receipt.Findings {
		if f.Severity != severity {
			continue
		}
		switch n := count[f.Code]; {
		case n > few:
			out = append(out, strings.TrimSuffix(meaning(f.Code), ".")+" ("+r.Units.Number(n)+" times).")
			count[f.Code] = 0
		case n > 0:
			out = append(out, r.Units.toClient(f.Text))
		}
	}
	return out
}

// meaning is what a code says in general.
func meaning(code finding.Code) string {
	for _, e := range finding.Table {
		if e.Code == code {
			return e.Meaning
		}
	}
	return clean(string(code))
}

// placeInFile says where a finding lies, without the name of the one file
// that the sheet is about.
func placeInFile(p finding.Place) string {
	p.File, p.Line, p.Column = "", 0, 0
	return Where(p)
}
