package report

import (
	"html/template"
	"math"

	"github.com/paulmach/orb"
)

// The sheet that the map is drawn on, in drawing units. The plot leaves room
// for the longitudes and the scale bar below it and the latitudes beside it.
const (
	sheetWidth  = 760.0
	plotLeft    = 36.0
	plotTop     = 4.0
	plotWidth   = sheetWidth - plotLeft - 4
	leastHeight = 240.0
	mostHeight  = 820.0
	belowPlot   = 72.0
)

// More labels than this would hide the map, or its small picture on a narrow
// screen; the tables list the rest.
const (
	mostLabels  = 40
	majorLabels = 8
)

// key is one line of the legend.
type key struct {
	Swatch template.HTML
	Text   string
}

// picture is the map and what explains it.
type picture struct {
	SVG     template.HTML
	Legend  []key
	Remarks []string
	Narrow  string // a remark for narrow screens
}

// openMap begins the picture of a map, with its definitions and ground;
// closeMap ends it. What is drawn in between keeps to the clip path "plot".
func openMap(c *canvas, v *view, title, text string, definitions ...string) {
	c.addf(`<svg class="map" viewBox="0 0 %s %s" role="img" aria-labelledby="map-title map-text">`, px(sheetWidth), px(plotTop+v.height+belowPlot))
	c.addf(`<title id="map-title">%s</title>`, template.HTMLEscapeString(title))
	c.addf(`<desc id="map-text">%s</desc>`, template.HTMLEscapeString(text))
	c.addf(`<defs>`)
	c.addf(`<clipPath id="plot"><rect %s/></clipPath>`, v.box())
	for _, d := range definitions {
		c.addf("%s", d)
	}
	c.addf(`</defs>`)
	c.addf(`<rect class="sheet" %s/>`, v.box())
}

// closeMap frames the map and names its meridians, its scale and north.
func closeMap(c *canvas, v *view, u Units) {
	c.addf(`<rect class="frame" %s/>`, v.box())
	drawGridLabels(c, v)
	drawScale(c, v, u)
	c.addf(`</svg>`)
}

// openChart begins a chart, with the ground that it is drawn on; an end tag ends
// it.
func openChart(c *canvas, id, title string, top, height float64) {
	c.addf(`<svg class="profile" viewBox="0 0 %s %s" role="img" aria-labelledby="%s">`, px(sheetWidth), px(top+height+profileBelow), id)
	c.addf(`<title id="%s">%s</title>`, id, template.HTMLEscapeString(title))
	c.addf(`<rect class="sheet" x="%s" y="%s" width="%s" height="%s"/>`, px(plotLeft), px(top), px(plotWidth), px(height))
}

// drawGrid draws the meridians and parallels; drawGridLabels names them.
func drawGrid(c *canvas, v *view) {
	step, _ := gridStep(v)
	for _, lon := range multiples(step, v.west, v.east) {
		x, _ := v.at(orb.Point{lon, v.lat})
		c.addf(`<path class="grid" d="M%s %sv%s"/>`, px(x), px(v.top), px(v.height))
	}
	for _, lat := range multiples(step, v.south, v.north) {
		_, y := v.at(orb.Point{v.lon, lat})
		c.addf(`<path class="grid" d="M%s %sh%s"/>`, px(v.left), px(y), px(v.width))
	}
}

// drawGridLabels keeps clear of the corners and, on a low map, of the label
// before: as the labels grow on a narrow screen, they need room there.
func drawGridLabels(c *canvas, v *view) {
	const half, apart = 64, 140
	step, decimals := gridStep(v)
	last := math.Inf(-1)
	for _, lon := range multiples(step, v.west, v.east) {
		x, _ := v.at(orb.Point{lon, v.lat})
		if x-half < v.left || x+half > v.left+v.width || x-last < apart {
			continue
		}
		last = x
		c.text("degree lon", x, v.top+v.height+25, angle(wrap(lon), decimals, "E", "W"))
	}
	last = math.Inf(-1)
	parallels := multiples(step, v.south, v.north)
	for i := len(parallels) - 1; i >= 0; i-- {
		_, y := v.at(orb.Point{v.lon, parallels[i]})
		if y-half < v.top || y+half > v.top+v.height || y-last < apart {
			continue
		}
		last = y
		c.addf(`<text class="degree lat" transform="translate(%s %s) rotate(-90)">%s</text>`,
			px(v.left-8), px(y), angle(parallels[i], decimals, "N", "S"))
	}
}

// gridStep is one step for both directions, so that the graticule shows how
// degrees of longitude shorten, and the decimals that it needs.
func gridStep(v *view) (step float64, decimals int) {
	step = round125(math.Max(v.east-v.west, 1e-7) / 2.5)
	return step, max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}

func multiples(step, from, to float64) []float64 {
	var out []float64
	for k := math.Ceil(from / step); k*step <= to && len(out) < 50; k++ {
		out = append(out, k*step)
	}
	return out
}

func drawScale(c *canvas, v *view, u Units) {
	y := v.top + v.height + 54
	drawBar(c, v, u, y)
	x := v.left + v.width - 12
	c.addf(`<path class="north" d="M%s %sl9 24l-9 -6l-9 6z"/>`, px(x), px(y-16))
	c.text("scale end", x-16, y+6, "N")
}

// drawBar draws the scale bar alone.
func drawBar(c *canvas, v *view, u Units, y float64) {
	length, label := u.roundLength(v.metresAcross * 0.3)
	w := length * v.perMetre
	c.addf(`<path class="bar" d="M%s %sv8h%sv-8m%s 8v-5"/>`, px(v.left), px(y-4), px(w), px(-w/2))
	c.text("scale", v.left+w+10, y+6, label)
}

// roundLength is the greatest round length in the unit of the size of most, both in
// metres, and its label.
func (u Units) roundLength(most float64) (length float64, label string) {
	length = round125(most)
	switch {
	case u.Measures != Imperial && length >= 1000:
		label = u.fixed(length/1000, 0) + " km"
	case u.Measures != Imperial && length < 0.5:
		label = u.round(length*100) + " cm"
	case u.Measures != Imperial:
		label = u.round(length) + " m"
	case most >= metresPerFoot*feetPerMile:
		miles := round125(most / metresPerFoot / feetPerMile)
		length, label = miles*feetPerMile*metresPerFoot, u.fixed(miles, 0)+" mi"
	case most < metresPerFoot:
		inches := round125(most / metresPerInch)
		length, label = inches*metresPerInch, u.round(inches)+" in"
	default:
		feet := round125(most / metresPerFoot)
		length, label = feet*metresPerFoot, u.round(feet)+" ft"
	}
	return length, label
}

func swatch(shapes, text string) key {
	return key{template.HTML(`<svg class="key" viewBox="0 0 32 16" aria-hidden="true">` + shapes + `</svg>`), text}
}
