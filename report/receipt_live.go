package report

import (
	"cmp"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	pages "selvage/report/page"
)

// liveMap is the interactive map of a receipt sheet.
func (r Receipt) liveMap() (live, error) {
	v, ok := r.receiptView()
	if !ok {
		return live{}, nil
	}
	m, c := mapOf(v, r.Units, r.title())
	m.Layers = filled(r.mapFindings(c), r.mapSite(c), r.mapOutlines(c))
	return liveOf(m)
}

func (r Receipt) mapFindings(c pages.Coder) pages.MapLayer {
	l := pages.MapLayer{Key: "findings", Name: r.Units.Say("Findings"), Table: "findings"}
	shown := map[finding.Severity]bool{}
	for i, f := range first(r.Receipt.Findings, mostTableRows) {
		p := orb.Point{f.Place.Lon, f.Place.Lat}
		if !f.Place.Located || !c.Holds(p) {
			continue
		}
		shown[severityOf(f)] = true
		l.Items = append(l.Items, pages.MapItem{
			Look: "spot-" + severityClass(f.Severity), At: c.Place(p), Ref: faultName(i),
			Title: faultName(i) + ": " + r.Units.severityName(f.Severity), Text: []string{r.Units.toClient(f.Text)},
		})
	}
	for _, s := range []finding.Severity{finding.NeedsAnswer, finding.Mended, finding.Note} {
		if shown[s] {
			l.Legend = append(l.Legend, [2]string{"spot-" + severityClass(s), r.Units.severityName(s)})
		}
	}
	return l
}

func (r Receipt) mapSite(c pages.Coder) pages.MapLayer {
	u := r.Units
	l := pages.MapLayer{Key: "site", Name: u.Say("Site area, after mending"), Legend: [][2]string{{"mended-site", u.Area(r.Receipt.Site.Area)}}}
	if rings := c.Rings(r.siteShapes()...); len(rings) > 0 {
		l.Items = []pages.MapItem{{Look: "mended-site", Rings: rings, Title: u.Say("Site area, after mending"), Text: []string{u.AreaBoth(r.Receipt.Site.Area)}}}
	}
	return l
}

func (r Receipt) mapOutlines(c pages.Coder) pages.MapLayer {
	u := r.Units
	parts, _ := r.drawn()
	l := pages.MapLayer{Key: "received", Name: u.Say("Outlines as received"), Legend: [][2]string{{"received", u.Number(len(parts))}}}
	for _, part := range parts {
		item := pages.MapItem{Look: "received", Title: u.Say("Outline as received"), Text: []string{cmp.Or(Clean(part.Name), u.Say("without a name"))}}
		for _, ring := range part.Polygon {
			if path := c.Line(ring); len(path) > 0 {
				item.Paths = append(item.Paths, path)
			}
		}
		if len(item.Paths) > 0 {
			l.Items = append(l.Items, item)
		}
	}
	return l
}
