package report

import (
	"fmt"
	"html/template"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary"
	"selvage/boundary/finding"
)

// drawn are the client's parts that have a place on the earth.
func (r Receipt) drawn() (parts []boundary.Part, elsewhere int) {
	for _, part := range r.File.Parts {
		if onEarth(part.Polygon) {
			parts = append(parts, part)
		} else {
			elsewhere++
		}
	}
	return parts, elsewhere
}

func onEarth(polygon orb.Polygon) bool {
	for _, ring := range polygon {
		for _, p := range ring {
			if !(math.Abs(p.Lon()) <= 360 && math.Abs(p.Lat()) <= 90) { // NaN fails too
				return false
			}
		}
	}
	return true
}

func (r Receipt) siteShapes() orb.MultiPolygon {
	var all orb.MultiPolygon
	for _, a := range r.Receipt.Site.Areas {
		all = append(all, a.Shape...)
	}
	return all
}

// receiptView fits the outlines as drawn and the site area.
func (r Receipt) receiptView() (*view, bool) {
	var rings []orb.Ring
	parts, _ := r.drawn()
	for _, part := range parts {
		rings = append(rings, part.Polygon...)
	}
	for _, polygon := range r.siteShapes() {
		rings = append(rings, polygon...)
	}
	return newView(plotLeft, plotTop, plotWidth, leastHeight, mostHeight, rings)
}

func drawReceiptMap(r Receipt) picture {
	v, ok := r.receiptView()
	if !ok {
		return picture{}
	}
	var p picture
	c := &canvas{}
	openMap(c, v, r.Units.Say("Map of the client’s outlines and the site area"), r.Units.Say("North is up. The table of findings lists every number with its position."))
	c.addf(`<g clip-path="url(#plot)">`)
	var site, outlines path
	site.area(v, r.siteShapes())
	parts, elsewhere := r.drawn()
	for _, part := range parts {
		for _, ring := range part.Polygon {
			outlines.open(v, orb.LineString(ring))
		}
	}
	if site.Len() > 0 {
		c.addf(`<g transform="scale(.1)"><path class="site-fill" d="%s"/></g>`, &site)
	}
	drawGrid(c, v)
	c.addf(`<g transform="scale(.1)">`)
	if site.Len() > 0 {
		c.addf(`<path class="site-edge" d="%s"/>`, &site)
		p.Legend = append(p.Legend, swatch(`<rect class="site-fill" x="1" y="1" width="30" height="14"/><rect class="site-edge" x="1" y="1" width="30" height="14"/>`,
			r.Units.Say("site area, after mending: %s", r.Units.Area(r.Receipt.Site.Area))))
	}
	c.addf(`<path class="drawn" d="%s"/>`, &outlines)
	p.Legend = append(p.Legend, swatch(`<path class="drawn" d="M0 8h32"/>`, r.Units.Say("outline as received")))
	c.addf(`</g>`)
	p.Remarks = drawFaults(c, v, r.Units, r.Receipt.Findings, r.names(v))
	c.addf(`</g>`)
	closeMap(c, v, r.Units)
	p.SVG = template.HTML(c.String())

	if elsewhere > 0 {
		p.Remarks = append(p.Remarks, r.Units.Count(elsewhere, "part has no place on the earth and cannot be shown.", "parts have no place on the earth and cannot be shown."))
	}
	shown := map[finding.Severity]int{}
	for _, f := range r.Receipt.Findings {
		if f.Place.Located {
			shown[severityOf(f)]++
		}
	}
	for _, s := range []finding.Severity{finding.NeedsAnswer, finding.Mended, finding.Note} {
		if shown[s] > 0 {
			p.Legend = append(p.Legend, key{spotSwatch(s), r.Units.severityName(s)})
		}
	}
	if shown[finding.NeedsAnswer]+shown[finding.Mended]+shown[finding.Note] > majorLabels {
		p.Narrow = r.Units.Say("On a narrow screen the map numbers the first %s.", r.Units.Number(majorLabels))
	}
	return p
}

func severityOf(f finding.Finding) finding.Severity {
	return finding.Severity(severityClass(f.Severity))
}

// names are the labels of the client's parts that have room for their names.
func (r Receipt) names(v *view) []tag {
	const mostNames, mostLetters = 12, 30
	parts, _ := r.drawn()
	if len(parts) > mostNames {
		return nil
	}
	var tags []tag
	for _, part := range parts {
		name := Clean(part.Name)
		if letters := []rune(name); len(letters) > mostLetters {
			name = string(letters[:mostLetters-1]) + "…"
		}
		middle, area := planar.CentroidArea(part.Polygon)
		if name == "" || area == 0 || len(part.Polygon[0]) < 3 {
			continue
		}
		t := tag{class: "tag-name", text: name}
		t.atX, t.atY = v.at(middle)
		t.x, t.y = t.atX, t.atY
		room := true
		for _, corner := range [][2]float64{{-1, -1}, {-1, 1}, {1, 1}, {1, -1}, {0, 0}} {
			p := v.degrees(t.x+corner[0]*t.width()/2, t.y+corner[1]*tagHeight/2)
			room = room && planar.PolygonContains(part.Polygon, p)
		}
		if room && free(&t, tags, v) {
			tags = append(tags, t)
		}
	}
	return tags
}

// drawFaults marks and numbers the findings that have a place in the view, and
// remarks on the others. Their numbers keep clear of the names.
func drawFaults(c *canvas, v *view, u Units, findings []finding.Finding, names []tag) (remarks []string) {
	tags := names
	away, more := 0, 0
	for i, f := range first(findings, mostTableRows) {
		p := orb.Point{f.Place.Lon, f.Place.Lat}
		switch {
		case !f.Place.Located:
		case !finite(p.Lon()) || !finite(p.Lat()) || !v.holds(p):
			away++
		case len(tags)-len(names) == mostLabels:
			more++
			fallthrough
		default:
			x, y := v.at(p)
			drawSpot(c, x, y, f.Severity)
			if more == 0 {
				tags = append(tags, tag{class: "tag-" + severityClass(f.Severity), text: faultName(i), atX: x, atY: y, beside: true, minor: len(tags)-len(names) >= majorLabels})
			}
		}
	}
	drawTags(c, tags, v)
	if away > 0 {
		remarks = append(remarks, u.Count(away, "finding lies outside the map.", "findings lie outside the map."))
	}
	if more > 0 {
		remarks = append(remarks, u.Say("The map numbers the first %s findings.", u.Number(mostLabels)))
	}
	return remarks
}

// spots are the marks of the severities, told apart by their shape as well as
// by their colour.
var spots = map[string]string{
	string(finding.NeedsAnswer): "M0-6l6 6l-6 6l-6-6z",
	string(finding.Mended):      "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0z",
	string(finding.Note):        "M-3.5-3.5h7v7h-7z",
}

func drawSpot(c *canvas, x, y float64, s finding.Severity) {
	class := severityClass(s)
	c.addf(`<g transform="translate(%s %s)"><path class="spot spot-%s" d="%s"/></g>`, px(x), px(y), class, spots[class])
}

// spotSwatch shows a severity's mark.
func spotSwatch(s finding.Severity) template.HTML {
	class := severityClass(s)
	return template.HTML(fmt.Sprintf(`<svg class="key" viewBox="0 0 32 16" aria-hidden="true"><g transform="translate(16 8)"><path class="spot spot-%s" d="%s"/></g></svg>`,
		class, spots[class]))
}

// faultTag is a finding's number in the border that it has on the map.
func faultTag(f finding.Finding, index int) template.HTML {
	t := tag{class: "tag-" + severityClass(f.Severity), text: faultName(index)}
	w := t.width() + 12
	return template.HTML(fmt.Sprintf(`<svg class="number" style="width:%spx" viewBox="0 0 %s 22"><g transform="translate(%s 11)"><g class="tag %s">%s<text y="4">%s</text></g></g></svg>`,
		px(w), px(w), px(w/2), t.class, t.outline(), t.text))
}
