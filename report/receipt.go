package report

import (
	"errors"
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
	parts, area := u.Count(r.Receipt.Parts, "part", "parts"), u.AreaBoth(site.Area)
	ask := u.Count(asked, "question to answer", "questions to answer")
	say := func(heading string, sentences ...string) { v.Heading, v.Sentences = heading, sentences }
	switch {
	case v.Short && asked == 0:
		say(u.Say("No area to fly"), u.Say("The file holds no area that could be flown."))
	case v.Short:
		say(u.Say("No area to fly"), u.Say("The file holds no area that could be flown: %s.", ask))
	case v.Good && len(site.Mends) > 0:
		say(u.Say("Sound once mended"), u.Say("Sound once mended: %s, %s.", parts, area), r.mending())
	case v.Good:
		say(u.Say("Sound"), u.Say("Sound: %s, %s.", parts, area), r.mending())
	case asked == 1:
		say(u.Say("Needs an answer"), u.Say("%s.", ask), u.Say("Until it is answered, the site area is taken to be %s.", area), r.mending())
	default:
		say(u.Say("Needs an answer"), u.Say("%s.", ask), u.Say("Until they are answered, the site area is taken to be %s.", area), r.mending())
	}
	return v
}

// mending sums up what was mended in one sentence.
func (r Receipt) mending() string {
	mended := 0
	for _, f := range r.Receipt.Findings {
		if f.Severity == finding.Mended {
			mended++
		}
	}
	site, u := r.Receipt.Site, r.Units
	if mended == 0 && len(site.Mends) == 0 {
		return u.Say("Nothing had to be mended; every vertex is as it was received.")
	}
	faults := u.Count(mended, "fault was mended without asking", "faults were mended without asking")
	if slices.ContainsFunc(r.questions(), func(q question) bool { return q.Settled }) {
		faults = u.Count(mended, "fault was mended", "faults were mended")
	}
	unchanged := u.Say("unchanged")
	switch change := u.change(site.AreaBefore, site.Area); {
	case change == unchanged && mended > 0:
		return u.Say("%s; all mending together leaves the area unchanged.", faults)
	case change == unchanged:
		return u.Say("Mending leaves the area unchanged.")
	case r.uncertainArea() && mended > 0:
		return u.Say("%s.", faults)
	case r.uncertainArea():
		return u.Say("Nothing was mended without asking.")
	case mended > 0:
		return u.Say("%s; all mending together changes the area by %s.", faults, change)
	default:
		return u.Say("Mending changes the area by %s.", change)
	}
}

// change is the shift from one area to another with its sign and its share:
// "−768 m² (0.6 %)".
func (u Units) change(before, after float64) string {
	d := after - before
	switch {
	case !finite(d):
		return u.unknown()
	case math.Abs(d) < leastArea:
		return u.Say("unchanged")
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
	receipt, u := r.Receipt, r.Units
	out := []Parameter{{u.Say("Format"), Clean(r.File.Format)}}
	if receipt.Parts > 0 {
		out = append(out, Parameter{u.Say("Coordinates"), r.coordinates()})
	}
	if len(receipt.Site.Areas) == 0 {
		return out
	}
	return append(out,
		Parameter{u.Say("Perimeter, holes included"), u.Distance(receipt.Perimeter)},
		Parameter{u.Say("South-west corner (lat, lon)"), u.Position(receipt.Bound.Min)},
		Parameter{u.Say("North-east corner (lat, lon)"), u.Position(receipt.Bound.Max)},
		Parameter{u.Say("Centre (lat, lon)"), u.Position(receipt.Centre)},
	)
}

// coordinates says in which system the file has its numbers.
func (r Receipt) coordinates() string {
	for _, f := range r.Receipt.Findings {
		switch f.Code {
		case finding.Transformed:
			return r.Units.toClient(f.Text)
		case finding.LooksProjected:
			return r.Units.unknown()
		}
	}
	return r.Units.Say("longitude and latitude on WGS 84")
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
			out = append(out, r.Units.Say("%s (%s times).", strings.TrimSuffix(r.Units.meaning(f.Code), "."), r.Units.Number(n)))
			count[f.Code] = 0
		case n > 0:
			out = append(out, r.Units.toClient(f.Text))
		}
	}
	return out
}

// meaning is what a code says in general.
func (l Locale) meaning(code finding.Code) string {
	for _, e := range finding.Table {
		if e.Code == code {
			return l.texts.Text(e.Meaning)
		}
	}
	return Clean(string(code))
}

// placeInFile says where a finding lies, without the name of the one file
// that the sheet is about.
func (l Locale) placeInFile(p finding.Place) string {
	p.File, p.Line, p.Column = "", 0, 0
	return l.where(p)
}
