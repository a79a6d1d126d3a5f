package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"selvage/coverage"
)

//go:embed certain.html.tmpl
var certainTemplate string

//go:embed certain.css
var certainStyle string

// groundNotes is what the note says of what is certain and of what is known by
// place, in words.
type groundNotes struct {
	Certain  table
	Errors   table
	Radius   string
	Chart    template.HTML
	Caption  string
	OneLine  placed
	Coarse   placed
	Fineness []string
}

// placed is ground of one kind with its pieces.
type placed struct {
	Sentence string
	Pieces   table
	More     string
}

func groundNotesOf(n Note) groundNotes {
	k := groundNotes{
		Certain: n.certainTable(), Errors: n.errorTable(), Radius: n.radiusSentence(),
		OneLine:  placedOf(n.Units, n.oneLineTable(), n.oneLineSentence()),
		Coarse:   placedOf(n.Units, n.coarseTable(), n.coarseSentence()),
		Fineness: n.finenessSentences(),
	}
	k.Chart, k.Caption = drawShares(n)
	return k
}

func placedOf(u Units, t table, sentence string) placed {
	return placed{Sentence: sentence, Pieces: t.shown(), More: u.more(len(t.Rows), "more piece stands in the GeoJSON file", "more pieces stand in the GeoJSON file")}
}

func (n Note) oneLineTable() table {
	return pieceTable("one-line", "ground seen from one flight line only", n.Units.Short(), n.Audit.OneLine)
}

func (n Note) coarseTable() table {
	return pieceTable("coarse", "ground coarser than wanted", n.Units.Short(), n.Audit.GSDByPlace.Coarse)
}

func pieceTable(name, about string, u Units, g coverage.Ground) table {
	t := table{Name: name, About: about, ID: name, Snug: true, Listed: true, Columns: u.heads("No.|number", "Area|area_m2|figure", "Position (lat, lon)|lat_deg lon_deg")}
	for i, piece := range g.Pieces {
		t.add(marked("", i), valued(u.Area(piece.Area), piece.Area, 2), u.spot(piece.Label))
	}
	return t
}

// doubtful says whether the errors of the photos leave anything open.
func (n Note) doubtful() bool { return n.Audit.Certainty.Radius.Max > 0 }

// certainTable puts what is short for certain and perhaps beside what was
// measured. It has rows of two units, which they name.
func (n Note) certainTable() table {
	c, wanted, u := n.Audit.Certainty, n.Audit.Wanted.Views, n.Units.Short()
	t := table{Name: "certain", About: "certain and possible", ID: "certain", Snug: true, Columns: u.heads(
		"What|what", "Certainly|certain|figure", "Measured|measured|figure", "Perhaps|possible|figure")}
	if !n.doubtful() {
		return t
	}
	row := func(text, name string, show func(float64) string, least float64, decimals int, of func(coverage.Short) float64) {
		line := []entry{named(text, name)}
		for _, s := range []coverage.Short{c.Certain, c.Measured, c.Possible} {
			x := undusted(of(s), least)
			line = append(line, valued(show(x), x, decimals))
		}
		t.add(line...)
	}
	row(u.Say("Gap: no view"), "no_view_m2", u.Area, leastArea, 2, func(s coverage.Short) float64 { return s.NoView })
	if wanted > 1 {
		row(u.Say("Fewer than 2 views"), "below_2_views_m2", u.Area, leastArea, 2, func(s coverage.Short) float64 { return s.BelowTwo })
	}
	if wanted > 2 {
		row(u.Say("Fewer than %s", u.Count(wanted, "view", "views")), "below_wanted_m2", u.Area, leastArea, 2, func(s coverage.Short) float64 { return s.BelowWanted })
	}
	row(u.Say("Edge with fewer than %s", u.Count(max(wanted, 1), "view", "views")), "edge_m", u.Length, leastLength, 3, func(s coverage.Short) float64 { return s.Edge })
	return t
}

// undusted is 0 for what is too little to be told from rounding.
func undusted(x, least float64) float64 {
	if x < least {
		return 0
	}
	return x
}

// certainShare is the part of a zone that is short for certain.
func (n Note) certainShare(z coverage.Zone) string {
	if !n.doubtful() {
		return "–"
	}
	return n.Units.Percent(z.Certain)
}

func (n Note) errorTable() table {
	c, u := n.Audit.Certainty, n.Units.Short()
	t := table{Name: "errors", About: "errors of the photos", ID: "errors", Snug: true, Columns: u.heads(
		"Error of|error_of", "Median|median|figure", "Greatest|greatest|figure")}
	if !n.doubtful() {
		return t
	}
	row := func(text, name string, s coverage.Spread, show func(float64) string) {
		t.add(named(text, name), valued(show(s.Median), s.Median, 3), valued(show(s.Max), s.Max, 3))
	}
	row(u.Say("Position"), "position_m", c.Position, u.Length)
	row(u.Say("Attitude"), "attitude_deg", c.Attitude, func(x float64) string { return u.fixed(x, 1) + "°" })
	row(u.Say("Height above ground"), "height_m", c.Height, u.Length)
	row(u.Say("Rim of a photo, by all of these"), "rim_m", c.Radius, u.Length)
	return t
}

func (n Note) radiusSentence() string {
	if !n.doubtful() {
		return ""
	}
	c, u := n.Audit.Certainty, n.Units
	if c.Radius.Max > c.Radius.Median+0.05 {
		return u.Say("By the errors of position, attitude and height, the rim of a photo may lie %s and at most %s off.", u.Length(c.Radius.Median), u.Length(c.Radius.Max))
	}
	return u.Say("By the errors of position, attitude and height, the rim of a photo may lie %s off.", u.Length(c.Radius.Median))
}

func (n Note) oneLineSentence() string {
	a := n.Audit
	if a.OneLine.Area < leastArea {
		return ""
	}
	return n.Units.Say("On %s enough photos see the ground, but all of them from one flight line.", aside(n.Units.Area(a.OneLine.Area), n.Units.Percent(a.OneLine.Area/a.SiteArea)))
}

func (n Note) coarseSentence() string {
	a := n.Audit
	if a.GSDByPlace.Coarse.Area < leastArea {
		return ""
	}
	return n.Units.Say("On %s photos see the ground, but none as finely as the wanted %s.",
		aside(n.Units.Area(a.GSDByPlace.Coarse.Area), n.Units.Percent(a.GSDByPlace.Coarse.Area/a.SiteArea)), n.Units.GSD(a.Wanted.GSD))
}

// finenessSentences are the ground sample distance by place.
func (n Note) finenessSentences() []string {
	g, u := n.Audit.GSDByPlace, n.Units
	if g.Best.N == 0 {
		return nil
	}
	best := u.Say("By the finest photo of each place: median %s, at the coarsest place %s.", u.GSD(g.Best.Median), u.GSD(g.Best.Max))
	if len(g.Tenths) == 11 {
		best = u.Say("By the finest photo of each place: median %s, on nine tenths of the ground %s or finer, at the coarsest place %s.",
			u.GSD(g.Best.Median), u.GSD(g.Tenths[9]), u.GSD(g.Best.Max))
	}
	return []string{
		best,
		u.Say("By the median of the photos that see it: median %s, at the coarsest place %s. Both are taken at the middles of cells of %s.",
			u.GSD(g.Usual.Median), u.GSD(g.Usual.Max), u.Length(g.Cell)),
	}
}

// judgeGround compares the ground sample distance by place with what was
// wanted: where a finer photo sees the same ground, a coarse one does no harm.
func (c *Check) judgeGround(u Units, a *coverage.Audit) {
	coarse := a.GSDByPlace.Coarse.Area
	if coarse < leastArea {
		if c.Met = Yes; a.GSD.Below > 0 {
			c.Found += "; " + u.Say("every place seen is in a photo that is fine enough")
		}
		return
	}
	share := coarse / a.SiteArea
	short := u.Say("none fine enough on %s of the ground", u.Percent(share))
	c.Found += "; " + short
	if c.Met, c.short = InPart, u.Say("%s; wanted %s", short, c.Wanted); share > 0.5 {
		c.Met = No
	}
}

// writeKnown writes what is certain, and the ground of one line, for a terminal.
func writeKnown(out io.Writer, n Note, heading func(string), columns func([][]string)) {
	paragraph := func(sentences ...string) {
		for _, line := range Wrap(strings.Join(sentences, " "), textWidth-2) {
			fmt.Fprintf(out, "  %s\n", line)
		}
	}
	u := n.Units
	if n.doubtful() {
		heading(u.Say("Certain and possible"))
		c := n.Audit.Certainty
		paragraph(u.Say("Certainly a gap: %s; perhaps: %s.", u.Area(undusted(c.Certain.NoView, leastArea)), u.Area(undusted(c.Possible.NoView, leastArea))), n.radiusSentence())
		rows := n.certainTable().lines(append([]string{""}, u.SayAll("certainly", "measured", "perhaps")...)...)
		rows = slices.Delete(rows, 1, 2) // a gap is said above
		columns(rows)
	}
	if s := n.oneLineSentence(); s != "" {
		heading(u.Say("Seen from one flight line only"))
		paragraph(s)
	}
}
