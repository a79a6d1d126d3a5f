package report

import (
	"html/template"

	"selvage/coverage"
)

const spreadHeight = 110.0

// spreadChart is the chart of one spread: how many of the values lie where.
type spreadChart struct {
	Caption string
	SVG     template.HTML
}

// drawSpreads draws the overlaps and the ground sample distance: that of the
// finest photo of each place, and of the photos where places are not known.
func drawSpreads(n Note) []spreadChart {
	a := n.Audit
	perGSD, unitGSD := 0.01, " cm/px"
	if n.Units == Imperial {
		perGSD, unitGSD = metresPerInch, " in/px"
	}
	gsd, of, allowed := a.GSDByPlace.Best, "places", ""
	if gsd.N == 0 {
		gsd, of = a.GSD, "photos"
	}
	if a.Wanted.GSD > 0 {
		allowed = " Up to 1 % coarser is taken as fine enough, as heights are not known better."
	}
	about := "Ground sample distance of the finest photo of each place, at the middles of cells of " + n.Units.Length(a.GSDByPlace.Cell) + "."
	if of == "photos" {
		about = "Ground sample distance at the middles of the photos."
	}
	var charts []spreadChart
	for _, h := range []histogram{
		{"forward-spread", "Forward overlap", "pairs", "Forward overlap of photos that follow each other.", a.Overlap.Forward, a.Wanted.Forward, Overlap(a.Wanted.Forward), 0.01, " %", roundedOverlaps},
		{"side-spread", "Side overlap", "pairs", "Side overlap of photos of neighbouring lines.", a.Overlap.Side, a.Wanted.Side, Overlap(a.Wanted.Side), 0.01, " %", roundedOverlaps},
		{"gsd-spread", "Ground sample distance", of, about, gsd, a.Wanted.GSD, n.Units.GSD(a.Wanted.GSD), perGSD, unitGSD, allowed},
	} {
		if len(h.spread.Bins) > 0 {
			charts = append(charts, h.draw())
		}
	}
	return charts
}

const roundedOverlaps = " Overlaps count in whole per cent."

// histogram is a spread and how it is shown.
type histogram struct {
	id, name, of, about string
	spread              coverage.Spread
	wanted              float64 // 0: not asked
	wantedText          string
	perUnit             float64 // what one of the unit of the axis is
	unit, allowed       string
}

func (h histogram) draw() spreadChart {
	bins := h.spread.Bins
	var tallest, missed int
	for _, b := range bins {
		tallest, missed = max(tallest, b.N), missed+b.Missed
	}
	// Half a bin of room to either side, and the wanted value in sight.
	width := bins[0].To - bins[0].From
	from, to := bins[0].From, bins[len(bins)-1].To
	if h.wanted > 0 {
		from, to = min(from, h.wanted), max(to, h.wanted)
	}
	from, to = max(from-width/2, 0), to+width/2
	bottom := chartTop + spreadHeight
	x := func(v float64) float64 { return plotLeft + plotWidth*(v-from)/(to-from) }
	high := func(n int) float64 {
		if n == 0 {
			return 0
		}
		return max(spreadHeight*float64(n)/float64(tallest), 1.5)
	}

	c := &canvas{}
	openChart(c, h.id, h.name+" by share of the "+h.of, chartTop, spreadHeight)
	c.text("degree", plotLeft-30, chartTop-8, Percent(float64(tallest)/float64(h.spread.N))+" of the "+h.of)
	c.text("degree end", plotLeft-6, bottom+4, "0")
	for _, b := range bins {
		left, right := x(b.From)+0.5, x(b.To)-0.5
		bar := func(class string, n int) {
			if n > 0 {
				c.addf(`<path class="share %s" d="M%s %sv-%sH%sv%sz"/>`, class, px(left), px(bottom), px(high(n)), px(right), px(high(n)))
			}
		}
		bar("e3", b.N)
		bar("v0", b.Missed)
	}
	if h.wanted > 0 {
		c.addf(`<path class="wanted" d="M%s %sV%s"/>`, px(x(h.wanted)), px(chartTop), px(bottom))
	}
	c.addf(`<path class="axis" d="M%s %sh%s"/>`, px(plotLeft), px(bottom), px(plotWidth))
	drawAxis(c, from, to, h.perUnit, h.unit, x, bottom)
	c.addf(`</svg>`)

	caption := h.about
	if h.wanted > 0 {
		caption += " The dashed line marks the wanted " + h.wantedText + "."
		if missed > 0 {
			caption += " The darker part of a bar falls short."
		}
		caption += h.allowed
	}
	return spreadChart{caption, template.HTML(c.String())}
}
