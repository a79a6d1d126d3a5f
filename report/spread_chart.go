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

// drawSpreads draws the overlaps and the ground sample distance.
func drawSpreads(n Note) []spreadChart {
	a, w := n.Audit, n.Audit.Wanted
	var charts []spreadChart
	for _, h := range []histogram{
		overlapHistogram(n.Units, "forward-spread", "Forward overlap", "photos that follow each other", a.Overlap.Forward, w.Forward),
		overlapHistogram(n.Units, "side-spread", "Side overlap", "photos of neighbouring lines", a.Overlap.Side, w.Side),
		n.gsdHistogram(),
	} {
		if len(h.spread.Bins) > 0 {
			charts = append(charts, h.draw(n.Units))
		}
	}
	return charts
}

func overlapHistogram(u Units, id, name, between string, s coverage.Spread, wanted float64) histogram {
	return histogram{
		id: id, name: name, about: name + " of " + between + ".", of: "pairs", spread: s,
		wanted: wanted, wantedText: u.Overlap(wanted), allowed: "Overlaps count in whole per cent.",
		perUnit: 0.01, unit: " %",
	}
}

// gsdHistogram is that of the finest photo of each place, or of the photos
// where places are not known.
func (n Note) gsdHistogram() histogram {
	a, u := n.Audit, n.Units
	h := histogram{
		id: "gsd-spread", name: "Ground sample distance", of: "places", spread: a.GSDByPlace.Best,
		about:  "Ground sample distance of the finest photo of each place, at the middles of cells of " + u.Length(a.GSDByPlace.Cell) + ".",
		wanted: a.Wanted.GSD, wantedText: u.GSD(a.Wanted.GSD), allowed: "What is up to 1 % coarser counts as fine enough, as heights are not known better.",
		perUnit: 0.01, unit: " cm/px",
	}
	if h.spread.N == 0 {
		h.spread, h.of, h.about = a.GSD, "photos", "Ground sample distance in the middle of each photo."
	}
	if u.Measures == Imperial {
		h.perUnit, h.unit = metresPerInch, " in/px"
	}
	return h
}

// histogram is a spread and how it is shown.
type histogram struct {
	id, name, about string
	of              string // what there are many of
	spread          coverage.Spread
	wanted          float64 // 0: not asked
	wantedText      string
	allowed         string // how closely it is asked
	perUnit         float64
	unit            string // of the axis, perUnit long
}

func (h histogram) draw(u Units) spreadChart {
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
	c.text("degree", plotLeft-30, chartTop-8, u.Percent(float64(tallest)/float64(h.spread.N))+" of the "+h.of)
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
	drawAxis(c, u, from, to, h.perUnit, h.unit, x, bottom)
	c.addf(`</svg>`)

	caption := h.about
	if h.wanted > 0 {
		caption += " The dashed line marks the wanted " + h.wantedText + "."
		if missed > 0 {
			caption += " The darker part of a bar falls short."
		}
		caption += " " + h.allowed
	}
	return spreadChart{caption, template.HTML(c.String())}
}
