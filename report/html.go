package report

import (
	"bytes"
	_ "embed"
	"html/template"
	"io"

	"selvage/boundary/finding"
	"selvage/coverage"
)

//go:embed note.html.tmpl
var noteTemplate string

//go:embed note.css
var noteStyle string

var notePage = sheetPage("note", noteTemplate+speedTemplate+pointsTemplate+certainTemplate)

// page is what the template shows: words and pictures only.
type page struct {
	Note
	Style     template.CSS
	Date      string
	Good      bool
	Short     bool
	Sentences []string
	Checks    []Check
	Map       picture
	Live      live
	Zones     []zoneRow
	Stretch   []stretchRow
	Refly     []reflyRow
	Again     []string
	Rings     []ringRow
	Profiles  []profile
	Wanted    int
	Reasons   []reason
	Spreads   []spreadRow
	Assumed   []finding.Finding
	Findings  []finding.Finding
	Cautions  []string
	Lines     int
	Facts     []Parameter
	Flown     flown
	Points    seenPoints
	Ground    groundNotes
	Reach     []string

	NoZones, MoreZones, MoreStretches string
}

// A page with more rows than this would be slow to open.
const mostTableRows = 1000

type zoneRow struct {
	Number                             int
	Kind, Class, Views, Area, Position string
	Certain                            string // share that is short for certain
	Refly                              string
}

type stretchRow struct {
	Number                                  int
	Ring, From, To, Length, Views, Position string
}

type ringRow struct{ Name, Length, Start, Way string }

type spreadRow struct{ Name, Wanted, Median, Least, Most, Below, N string }

// WriteHTML writes the coverage note: one page that needs nothing else, no
// network, no font and no script: its own script only makes the map move, and
// where that cannot run, the picture of the map stays.
func WriteHTML(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	var out bytes.Buffer
	p := pageOf(n)
	var err error
	if p.Live, err = liveMap(n); err != nil {
		return err
	}
	if err := notePage.Execute(&out, p); err != nil {
		return err
	}
	_, err = out.WriteTo(w)
	return err
}

func pageOf(n Note) page {
	a, u := n.Audit, n.Units
	p := page{
		Note: n, Style: sheetCSS(noteStyle + certainStyle),
		Date: date(n.Made),
		Good: n.Met(), Short: !n.Captured(),
		Sentences: n.verdict(), Checks: n.Checks(),
		Map: drawMap(n), Profiles: drawProfiles(n), Wanted: a.Wanted.Views,
		Reasons: reasons(a.Photos.LeftOut), Lines: len(a.Lines),
		Cautions: Cautions(),
		Flown:    flownOf(n),
		Ground:   groundNotesOf(n),
		Points:   pointsOf(n), Reach: n.reachSentences(),
	}
	p.Facts = []Parameter{
		{"Site area", u.AreaBoth(a.SiteArea)},
		{"Edge", u.Distance(a.Edge.Length)},
		{"Photos", Number(a.Photos.Used) + " used of " + Number(a.Photos.Read)},
	}
	for _, f := range n.findings() {
		if assumption(f) {
			p.Assumed = append(p.Assumed, f)
		} else {
			p.Findings = append(p.Findings, f)
		}
	}

	p.Refly, p.Again = first(n.reflyRows(), mostTableRows), n.reflySentences()
	inRefly := n.reflyOfZones()
	for i, z := range first(a.Zones, mostTableRows) {
		p.Zones = append(p.Zones, zoneRow{
			i + 1, kindName(z.Kind), zoneClass(z.Kind), kindViews(z.Kind, a.Wanted.Views),
			u.Area(z.Area), Position(z.Label), n.certainShare(z), inRefly[i],
		})
	}
	for i, s := range first(a.Edge.Stretches, mostTableRows) {
		p.Stretch = append(p.Stretch, stretchRow{
			i + 1, ringName(a.Edge, s.Ring), u.Chainage(s.From), u.Chainage(s.To), u.Length(s.To - s.From),
			Number(s.MinViews), Position(middle(s.Path)),
		})
	}
	for i, r := range a.Edge.Rings {
		p.Rings = append(p.Rings, ringRow{ringName(a.Edge, i), u.Length(r.Length), Position(r.Start), way(n, r)})
	}
	p.NoZones = "There are none."
	for _, c := range n.classes() {
		if c.met() != Yes {
			p.NoZones = "None is large enough to be listed."
		}
	}
	p.MoreZones = more(len(a.Zones), "more zone", "more zones")
	p.MoreStretches = more(len(a.Edge.Stretches), "more stretch", "more stretches")
	p.Spreads = []spreadRow{
		overlapRow("Forward overlap", a.Wanted.Forward, a.Overlap.Forward),
		overlapRow("Side overlap", a.Wanted.Side, a.Overlap.Side),
		gsdRow(u, a.Wanted.GSD, a.GSD),
	}
	return p
}

func more(total int, one, many string) string {
	if total <= mostTableRows {
		return ""
	}
	return Count(total-mostTableRows, one, many)
}

func zoneClass(k coverage.ZoneKind) string {
	switch k {
	case coverage.Gap:
		return "v0"
	case coverage.NoStereo:
		return "v1"
	}
	return "v2"
}

func overlapRow(name string, wanted float64, s coverage.Spread) spreadRow {
	r := spreadRow{name, "not asked", unknown, unknown, unknown, "–", Count(s.N, "pair", "pairs")}
	if wanted > 0 {
		r.Wanted = Overlap(wanted) + " or more"
	}
	if s.N > 0 {
		r.Median, r.Least, r.Most = Percent(s.Median), Percent(s.Min), Percent(s.Max)
		if wanted > 0 {
			r.Below = Percent(s.Below)
		}
	}
	return r
}

func gsdRow(u Units, wanted float64, s coverage.Spread) spreadRow {
	r := spreadRow{"Ground sample distance", "not asked", unknown, unknown, unknown, "–", Count(s.N, "photo", "photos")}
	if wanted > 0 {
		r.Wanted = u.GSD(wanted) + " or finer"
	}
	if s.N > 0 {
		r.Median, r.Least, r.Most = u.GSD(s.Median), u.GSD(s.Min), u.GSD(s.Max)
		if wanted > 0 {
			r.Below = Percent(s.Below)
		}
	}
	return r
}

// way says which way round a ring is walked, when the site area tells.
func way(n Note, r coverage.EdgeRing) string {
	if r.Part < 1 || r.Part > len(n.SiteArea) || r.Ring < 1 || r.Ring > len(n.SiteArea[r.Part-1]) {
		return ""
	}
	switch n.SiteArea[r.Part-1][r.Ring-1].Orientation() {
	case 1:
		return "counter-clockwise"
	case -1:
		return "clockwise"
	}
	return ""
}
