package report

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

// Where says in words where a finding lies in its file: "site.kml, line 12,
// feature 2 “North”, outline, vertex 5", and its position where that is known.
func Where(p finding.Place) string { return Locale{}.where(p) }

func (l Locale) where(p finding.Place) string {
	var out []string
	add := func(said bool, text string) {
		if said {
			out = append(out, text)
		}
	}
	add(p.File != "", Clean(p.File))
	add(p.Line > 0, l.Say("line %d", p.Line))
	add(p.Line > 0 && p.Column > 0, l.Say("column %d", p.Column))
	switch name := Clean(p.Name); {
	case p.Feature > 0 && p.Name != "":
		add(true, l.Say("feature %d “%s”", p.Feature, name))
	case p.Feature > 0:
		add(true, l.Say("feature %d", p.Feature))
	case p.Name != "":
		add(true, l.Say("“%s”", name))
	}
	add(p.Part > 0, l.Say("part %d", p.Part))
	add(p.Ring > 0, l.ringName(p.Ring))
	add(p.Vertex > 0, l.Say("vertex %d", p.Vertex))
	if p.Located {
		out = append(out, l.Position(orb.Point{p.Lon, p.Lat}))
	}
	return strings.Join(out, ", ")
}

// ringName says which ring of a polygon is meant, from 1.
func (l Locale) ringName(ring int) string {
	if ring == 1 {
		return l.Say("outline")
	}
	return l.Say("hole %d", ring-1)
}

// role says what a file is for. A role is data, and that of a program that is not
// known here stays as it is.
func (l Locale) role(role string) string {
	if k := slices.Index(Locale{}.roles(), role); k >= 0 {
		return l.roles()[k]
	}
	return Clean(role)
}

func (l Locale) roles() []string {
	return l.SayAll(
		"boundary", "job record", "client's boundary, as the job record names it", "photos", "positions table", "control points", "terrain",
		"coverage note", "coverage note as PDF", "figures", "shapes", "shapes for map viewers",
		"views for map viewers", "views as a raster", "areas to fly again",
		"table: wanted and found", "table: zones with too few views", "table: edge with too few views", "table: where chainage starts",
		"table: areas to fly again", "table: overlap and ground sample distance", "table: certain and possible", "table: errors of the photos",
		"table: ground seen from one flight line only", "table: ground coarser than wanted", "table: control points", "table: lines",
		"table: flights", "table: missing photos", "table: least forward overlap", "table: blurred photos",
		"table: what the file holds", "table: findings", "table: mends")
}

// SeverityName puts a severity into words.
func SeverityName(s finding.Severity) string { return Locale{}.severityName(s) }

func (l Locale) severityName(s finding.Severity) string {
	switch s {
	case finding.NeedsAnswer:
		return l.Say("needs an answer")
	case finding.Mended:
		return l.Say("mended")
	}
	return l.Say("note|severity")
}

// severityClass is a severity as a CSS class.
func severityClass(s finding.Severity) string {
	if s == finding.NeedsAnswer || s == finding.Mended {
		return string(s)
	}
	return string(finding.Note)
}

// assumption tells the findings about values that the audit had to take from
// somewhere from those about what it found.
func assumption(f finding.Finding) bool {
	switch f.Code {
	case finding.OrderAsListed, finding.OrderByName, finding.CameraSource, finding.HeightSource, finding.FlatGround,
		finding.TerrainSource, finding.TerrainMissing, finding.HiddenGround,
		finding.LensDistortion, finding.AssumedNadir, finding.HeadingFromTrack, finding.PositionErrorAssumed, finding.AttitudeErrorAssumed:
		return true
	}
	return false
}

// reason is why some photos were left out.
type reason struct {
	Reason finding.Text
	Files  []string
}

// reasons groups photos by reason, in the order in which reasons first occur.
func reasons(leftOut []photo.LeftOut) []reason {
	var out []reason
	index := map[string]int{}
	for _, l := range leftOut {
		key := l.Reason.String()
		i, ok := index[key]
		if !ok {
			i = len(out)
			index[key] = i
			out = append(out, reason{Reason: l.Reason})
		}
		out[i].Files = append(out[i].Files, Clean(l.File))
	}
	return out
}

// zoneList names zones by their numbers, from indexes that count from 0.
const noBreak = "\u00a0"

var figure = regexp.MustCompile(`([\d°]) ([\pL%])`)

// tie keeps each figure on one line with the word or unit after it.
func tie(s string) string { return figure.ReplaceAllString(s, "${1}"+noBreak+"${2}") }

func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + s[size:]
}
