package report

import (
	_ "embed"
	"html/template"
	"io"

	"selvage/boundary/finding"
	"selvage/coverage"
)

//go:embed note.html.tmpl
var noteTemplate string

//go:embed table.html.tmpl
var tableTemplate string

//go:embed table.css
var tableStyle string

//go:embed note.css
var noteStyle string

var notePage = sheetPage("note", noteTemplate+tableTemplate+speedTemplate+pointsTemplate+certainTemplate)

// page is what the template shows: words and pictures only.
type page struct {
	Note
	Style     template.CSS
	Scripts   []script
	Date      string
	Good      bool
	Short     bool
	Sentences []string
	Checks    table
	Map       picture
	Live      live
	Zones     table
	Stretch   table
	Refly     table
	Again     []string
	Rings     table
	Profiles  []profile
	Wanted    int
	Reasons   []reason
	Spreads   table
	Charts    []spreadChart
	Assumed   []finding.Finding
	Findings  []finding.Finding
	Cautions  []string
	Lines     int
	Facts     []Parameter
	Settings  []Parameter
	Flown     flown
	Points    seenPoints
	Ground    groundNotes
	Reach     []string
	Foot      string // in metres

	NoZones, MoreZones, MoreStretches string
}

// A page with more rows than this would be slow to open.
const mostTableRows = 1000

// WriteHTML writes the coverage note: one page that needs nothing else, no
// network and no font. Its scripts only help; where they cannot run, the picture
// of the map and the tables stay as they are.
func WriteHTML(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	p := pageOf(n)
	var err error
	if p.Live, err = n.liveMap(); err != nil {
		return err
	}
	if p.Live.Data != "" {
		p.Scripts = append(p.Scripts, moduleOf(sheetScript))
	}
	p.Scripts = append(p.Scripts, moduleOf(tableScript))
	return writeSheet(w, notePage, n.Units.Locale, p)
}

func pageOf(n Note) page {
	a, u := n.Audit, n.Units
	p := page{
		Note: n, Style: sheetCSS(noteStyle + certainStyle + tableStyle),
		Date: u.Moment(n.Made),
		Good: n.Met(), Short: !n.Captured(),
		Sentences: n.verdict(), Checks: n.checkTable(),
		Map: drawMap(n), Profiles: drawProfiles(n), Wanted: a.Wanted.Views,
		Spreads: n.spreadTable(), Charts: drawSpreads(n),
		Reasons: reasons(a.Photos.LeftOut), Lines: len(a.Lines),
		Cautions: u.Cautions(),
		Flown:    flownOf(n),
		Ground:   groundNotesOf(n),
		Points:   pointsOf(n), Reach: n.reachSentences(), Foot: u.fixed(metresPerFoot, 4),
	}
	p.Facts = []Parameter{
		{u.Say("Site area"), u.AreaBoth(a.SiteArea)},
		{u.Say("Edge"), u.Distance(a.Edge.Length)},
		{u.Say("Photos"), u.Say("%s used of %s", u.Number(a.Photos.Used), u.Number(a.Photos.Read))},
	}
	if n.NothingAgain() {
		p.Sentences = append(p.Sentences, u.Say("Nothing has to be flown again."))
	}
	for _, s := range n.Parameters {
		p.Settings = append(p.Settings, Parameter{u.Sentence(s.Name), u.Sentence(s.Value)})
	}
	for _, f := range n.findings() {
		f.Text = finding.Plain(u.Sentence(f.Text))
		if assumption(f) {
			p.Assumed = append(p.Assumed, f)
		} else {
			p.Findings = append(p.Findings, f)
		}
	}

	p.Zones, p.Stretch, p.Rings = n.zoneTable().shown(), n.stretchTable().shown(), n.ringTable().shown()
	p.Refly, p.Again = n.reflyTable().shown(), n.reflySentences()
	p.NoZones = u.Say("There are none.")
	for _, c := range n.classes() {
		if c.met() != Yes {
			p.NoZones = u.Say("None is large enough to be listed.")
		}
	}
	p.MoreZones = u.more(len(a.Zones), "more zone stands in the GeoJSON file", "more zones stand in the GeoJSON file")
	p.MoreStretches = u.more(len(a.Edge.Stretches), "more stretch stands in the GeoJSON file", "more stretches stand in the GeoJSON file")
	return p
}

func (l Locale) more(total int, one, many string) string {
	if total <= mostTableRows {
		return ""
	}
	return l.Count(total-mostTableRows, one, many)
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

// way says which way round a ring is walked, when the site area tells.
func (l Locale) way(n Note, r coverage.EdgeRing) string {
	if r.Part < 1 || r.Part > len(n.SiteArea) || r.Ring < 1 || r.Ring > len(n.SiteArea[r.Part-1]) {
		return ""
	}
	switch n.SiteArea[r.Part-1][r.Ring-1].Orientation() {
	case 1:
		return l.Say("counter-clockwise")
	case -1:
		return l.Say("clockwise")
	}
	return ""
}
