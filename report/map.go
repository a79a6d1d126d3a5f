package report

import (
	"fmt"
	"html/template"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"selvage/coverage"
)

func drawMap(n Note) picture {
	v, remarks, ok := mapView(n)
	if !ok {
		return picture{}
	}
	c := &canvas{}
	u := n.Units
	openMap(c, v, u.Say("Map of the site area"), u.Say("North is up. The tables below list every numbered zone, stretch and area with its position."),
		`<pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="scale(10) rotate(45)"><path class="hatching" d="M0 3h6M3 0v6"/></pattern>`,
		`<pattern id="stripe" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="scale(10) rotate(45)"><path class="hatching" d="M0 3h6"/></pattern>`,
		ruled,
		`<pattern id="barred" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="scale(10) rotate(-45)"><path class="barring" d="M0 4h8"/></pattern>`)
	c.addf(`<g clip-path="url(#plot)">`)
	c.addf(`<g transform="scale(.1)">`)
	var legend []key
	legend = append(legend, drawGround(c, v, n)...)
	legend = append(legend, drawOneLine(c, v, n)...)
	c.addf(`</g>`)
	drawGrid(c, v)
	c.addf(`<g transform="scale(.1)">`)
	legend = append(legend, drawFlight(c, v, n)...)
	legend = append(legend, drawEdges(c, v, n)...)
	legend = append(legend, drawPoints(c, v, n)...)
	c.addf(`</g>`)
	drawLabels(c, v, n)
	c.addf(`</g>`)
	closeMap(c, v, u)
	p := picture{SVG: template.HTML(c.String()), Legend: legend, Remarks: remarks}
	if mostOfAKind(n.Audit) > majorLabels {
		p.Narrow = u.Say("On a narrow screen the map numbers the first %s of each kind.", u.Number(majorLabels))
	}
	return p
}

// mapView fits the areas, and the photo centres about them. Centres far off
// would shrink the site to a speck; they are named in a remark instead.
func mapView(n Note) (*view, []string, bool) {
	var rings []orb.Ring
	for _, mp := range []orb.MultiPolygon{n.SiteArea, n.FlightArea} {
		for _, polygon := range mp {
			rings = append(rings, polygon...)
		}
	}
	for _, r := range n.Audit.Refly {
		rings = append(rings, r.Shape...)
	}
	fit := func() (*view, bool) { return newView(plotLeft, plotTop, plotWidth, leastHeight, mostHeight, rings) }
	v, ok := fit()
	if !ok {
		return nil, nil, false
	}
	var centres orb.Ring
	for _, s := range n.Audit.Shots {
		x, y := v.at(s.Position)
		if math.Abs(x-v.midX) < 0.75*v.width && math.Abs(y-v.midY) < 0.75*v.height {
			centres = append(centres, s.Position)
		}
	}
	points, farOff := nearPoints(v, n)
	rings = append(rings, centres, points)
	v, _ = fit()
	var remarks []string
	if farOff > 0 {
		remarks = append(remarks, n.Units.Count(farOff, "control point lies too far off to be shown.", "control points lie too far off to be shown."))
	}
	if off := len(n.Audit.Shots) - len(centres); off > 0 {
		remarks = append(remarks, n.Units.Count(off, "photo centre lies too far off to be shown.", "photo centres lie too far off to be shown."))
	}
	if mostOfAKind(n.Audit) > mostLabels {
		remarks = append(remarks, n.Units.Say("The map numbers the first %s of each kind.", n.Units.Number(mostLabels)))
	}
	return v, remarks, true
}

func mostOfAKind(a *coverage.Audit) int {
	return max(len(a.Zones), len(a.Edge.Stretches), len(a.Refly), len(a.Points))
}

// drawGround paints the areas and their views.
func drawGround(c *canvas, v *view, n Note) []key {
	var legend []key
	if len(n.FlightArea) > 0 {
		var p path
		p.area(v, n.FlightArea)
		c.addf(`<path class="flight" d="%s"/>`, &p)
		legend = append(legend, swatch(`<rect class="flight" x="1" y="1" width="30" height="14"/>`, n.Units.Say("flight area")))
	}
	var site path
	site.area(v, n.SiteArea)
	c.addf(`<path class="site-ground" d="%s"/>`, &site)

	for _, b := range shades(n.Audit.Views, n.Audit.Wanted.Views) {
		var p path
		for _, shape := range b.shapes {
			p.area(v, shape)
		}
		c.addf(`<path class="%s" d="%s"/>`, b.class, &p)
		legend = append(legend, swatch(
			fmt.Sprintf(`<rect class="%s" x="0" y="0" width="32" height="16"/>%s`, b.class, swatchHatch(b.class)),
			n.Units.views(b.from, b.to)+": "+n.Units.Area(b.area)))
	}
	for _, kind := range []coverage.ZoneKind{coverage.Thin, coverage.NoStereo, coverage.Gap} {
		var p path
		for _, z := range n.Audit.Zones {
			if z.Kind == kind {
				p.polygon(v, z.Shape)
			}
		}
		if p.Len() == 0 {
			continue
		}
		class := map[coverage.ZoneKind]string{coverage.Gap: "v0", coverage.NoStereo: "v1", coverage.Thin: "v2"}[kind]
		c.addf(`<path class="%s zone" d="%s"/>`, class, &p)
		if pattern := map[coverage.ZoneKind]string{coverage.Gap: "hatch", coverage.NoStereo: "stripe"}[kind]; pattern != "" {
			c.addf(`<path fill="url(#%s)" fill-rule="evenodd" d="%s"/>`, pattern, &p)
		}
	}
	return legend
}

// shade is the ground drawn in one colour.
type shade struct {
	class    string
	from, to int
	area     float64
	shapes   []orb.MultiPolygon
}

// shades gives each band of views a CSS class: v0, v1 and v2 below the wanted
// views, e0 (light) to e3 (dark) from there on. Bands that share a colour are
// drawn as one.
func shades(bands []coverage.ViewBand, wanted int) []shade {
	const blues = 4
	enough := 0
	for _, b := range bands {
		if len(b.Shape) > 0 && shortClass(b, wanted) == "" {
			enough++
		}
	}
	var out []shade
	i := 0
	for _, b := range bands {
		class := shortClass(b, wanted)
		if len(b.Shape) == 0 {
			continue
		}
		if class == "" {
			class = "e" + strconv.Itoa(i*blues/max(enough, 2))
			i++
		}
		if last := len(out) - 1; last >= 0 && out[last].class == class {
			out[last].to = b.To
			out[last].area += b.Area
			out[last].shapes = append(out[last].shapes, b.Shape)
			continue
		}
		out = append(out, shade{class, b.From, b.To, b.Area, []orb.MultiPolygon{b.Shape}})
	}
	return out
}

func shortClass(b coverage.ViewBand, wanted int) string {
	switch {
	case b.From == 0:
		return "v0"
	case b.To < 0 || b.To >= max(wanted, 1):
		return ""
	case b.To == 1:
		return "v1"
	}
	return "v2"
}

func (l Locale) views(from, to int) string {
	switch {
	case to == 0:
		return l.Say("no view")
	case to < 0:
		return l.Count(from, "view or more", "views or more")
	case from == to:
		return l.Count(from, "view", "views")
	}
	return l.Say("%s to %s views", l.Number(from), l.Number(to))
}

func drawFlight(c *canvas, v *view, n Note) []key {
	var lines, centres path
	for _, l := range n.Audit.Lines {
		var track orb.LineString
		for _, i := range l.Shots {
			if i >= 0 && i < len(n.Audit.Shots) {
				track = append(track, n.Audit.Shots[i].Position)
			}
		}
		if len(track) > 1 {
			lines.open(v, track)
		}
	}
	for _, s := range n.Audit.Shots {
		if v.holds(s.Position) {
			centres.dot(v.tenths(s.Position))
		}
	}
	var legend []key
	if lines.Len() > 0 {
		c.addf(`<path class="line" d="%s"/>`, &lines)
		legend = append(legend, swatch(`<path class="line" d="M0 8h32"/>`, n.Units.Say("flight line")))
	}
	if centres.Len() > 0 {
		class := "centre"
		if crowded(n.Audit, v) {
			class += " many"
		}
		c.addf(`<path class="%s" d="%s"/>`, class, &centres)
		legend = append(legend, swatch(`<path class="centre" d="M16 8h.1"/>`, n.Units.Say("photo centre")))
	}
	return legend
}

// crowded says whether photo centres of the usual size would run together.
func crowded(a *coverage.Audit, v *view) bool {
	var length float64
	var shots int
	for _, l := range a.Lines {
		length += l.Length
		shots += len(l.Shots)
	}
	return length*v.perMetre < 9*float64(shots)
}

func drawEdges(c *canvas, v *view, n Note) []key {
	var legend []key
	var keepOut path
	keepOut.nearArea(v, n.KeepOut)
	if keepOut.Len() > 0 {
		c.addf(`<path class="keep-out" fill="url(#barred)" d="%s"/>`, &keepOut)
		legend = append(legend, swatch(`<path class="barring" d="M13 2L1 14M21 2L9 14M29 2L17 14"/><rect class="keep-out" fill="none" x="1" y="2" width="30" height="12"/>`, n.Units.Say("keep-out area")))
	}
	var site path
	site.area(v, n.SiteArea)
	c.addf(`<path class="site" d="%s"/>`, &site)
	legend = append(legend, swatch(`<path class="site" d="M0 8h32"/>`, n.Units.Say("site area")))

	var short path
	for _, s := range n.Audit.Edge.Stretches {
		short.open(v, s.Path)
	}
	if short.Len() > 0 {
		c.addf(`<path class="short-under" d="%s"/><path class="short" d="%s"/>`, &short, &short)
		legend = append(legend, swatch(`<path class="short-under" d="M3 8h26"/><path class="short" d="M3 8h26"/>`, n.Units.Say("E: edge with too few views")))
	}
	var refly path
	for _, r := range n.Audit.Refly {
		refly.polygon(v, r.Shape)
	}
	if refly.Len() > 0 {
		c.addf(`<path class="refly-under" d="%s"/><path class="refly" d="%s"/>`, &refly, &refly)
		legend = append(legend, swatch(`<rect class="refly" x="1" y="2" width="30" height="12"/>`, n.Units.Say("R: area to fly again")))
	}
	var starts path
	for _, r := range n.Audit.Edge.Rings {
		starts.dot(v.tenths(r.Start))
	}
	if starts.Len() > 0 {
		c.addf(`<path class="start-under" d="%s"/><path class="start" d="%s"/>`, &starts, &starts)
		legend = append(legend, swatch(`<path class="start-under" d="M16 8h.1"/><path class="start" d="M16 8h.1"/>`, n.Units.Say("start of chainage")))
	}
	return legend
}

func swatchHatch(class string) string {
	switch class {
	case "v0":
		return `<path class="hatching" d="M0 16L16 0M8 16L24 0M16 16L32 0M0 0L16 16M8 0L24 16M16 0L32 16"/>`
	case "v1":
		return `<path class="hatching" d="M0 0L16 16M8 0L24 16M16 0L32 16"/>`
	}
	return ""
}
