package report

import (
	"errors"
	"strings"
	"time"
	"unicode"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage"
)

// Note is all that a coverage note says. Shapes are degrees lon/lat.
type Note struct {
	Title, Site   string
	Letterhead    Letterhead
	Tool, Version string
	Made          time.Time
	Inputs        []Input
	Parameters    []Setting
	Command       Command
	Units         Units
	Audit         *coverage.Audit
	SiteArea      orb.MultiPolygon
	FlightArea    orb.MultiPolygon  // may be empty
	KeepOut       orb.MultiPolygon  // ground that was not to be flown; may be empty
	Findings      []finding.Finding // from before the flight
	Files         []File
}

// Input is a file that the audit read. SHA256 is in hexadecimal. Its JSON form is
// part of the machine output, as those of the two below.
type Input struct {
	Role   string `json:"role"`
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

// Setting is a setting of an audit and its value.
type Setting struct{ Name, Value finding.Text }

// Parameter is a name and a value, both in words.
type Parameter struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// NotLookedInto is the parameter that tells what lay among the photos besides.
const NotLookedInto = "Not looked into"

// File is a file that was written.
type File struct {
	Role string `json:"role"`
	Path string `json:"path"`
}

// FiguresRole is the role of the JSON file.
const FiguresRole = "figures"

// Cautions are the sentences that every sheet carries.
func (l Locale) Cautions() []string {
	return []string{
		l.Say("This sheet is not a legal boundary survey; only a licensed surveyor can make one."),
		l.Say("It is no clearance of airspace, terrain or obstacles."),
		l.Say("An extended area can reach over ground or airspace where permission is needed."),
		l.Say("Flights higher than 120 m or 400 ft above ground need a look at the rules first: " +
			"14 CFR 107.51 names 400 ft, (EU) 2019/947 names 120 m for the open category. The local rule decides."),
	}
}

var errNoAudit = errors.New("there is no audit to report")

// findings are those from before the flight and then the audit's own, each once.
func (n Note) findings() []finding.Finding {
	all := make([]finding.Finding, 0, len(n.Findings)+len(n.Audit.Findings))
	type said struct {
		code     finding.Code
		severity finding.Severity
		place    finding.Place
		text     string
	}
	seen := map[said]bool{}
	for _, list := range [][]finding.Finding{n.Findings, n.Audit.Findings} {
		for _, f := range list {
			if what := (said{f.Code, f.Severity, f.Place, f.Text.String()}); !seen[what] {
				seen[what] = true
				all = append(all, f)
			}
		}
	}
	return all
}

// Clean makes a string from a file safe to show: control characters could
// drive a terminal and may not stand in a page.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return ' '
		case unicode.IsControl(r), r == '\ufffe', r == '\uffff', unicode.Is(unicode.Bidi_Control, r):
			return unicode.ReplacementChar
		}
		return r
	}, strings.ToValidUTF8(s, string(unicode.ReplacementChar)))
}

// edgeRing says which ring of the boundary is meant.
func (l Locale) edgeRing(e coverage.Edge, index int) string {
	if index < 0 || index >= len(e.Rings) {
		return l.unknown()
	}
	r := e.Rings[index]
	name := l.ringName(max(r.Ring, 1))
	for _, other := range e.Rings {
		if other.Part != r.Part {
			return l.Say("part %d", r.Part) + ", " + name
		}
	}
	return name
}

// kindName puts a class of zone into words.
func (l Locale) kindName(k coverage.ZoneKind) string {
	switch k {
	case coverage.Gap:
		return l.Say("gap")
	case coverage.NoStereo:
		return l.Say("no stereo")
	case coverage.Thin:
		return l.Say("thin")
	}
	return Clean(string(k))
}

// kindViews says how many views a class of zone has.
func (l Locale) kindViews(k coverage.ZoneKind, wanted int) string {
	switch k {
	case coverage.Gap:
		return l.views(0, 0)
	case coverage.NoStereo:
		return l.views(1, 1)
	}
	return l.views(2, max(wanted-1, 2))
}
