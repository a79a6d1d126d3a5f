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
	a, w, u := n.Audit, n.Audit.Wanted, n.Units
	var charts []spreadChart
	for _, h := range []histogram{
		overlapHistogram(u, "forward-spread", u.Say("Forward overlap by share of the pairs"), u.Say("Forward overlap of photos that follow each other."), a.Overlap.Forward, w.Forward),
		overlapHistogram(u, "side-spread", u.Say("Side overlap by share of the pairs"), u.Say("Side overlap of photos of neighbouring lines."), a.Overlap.Side, w.Side),
		n.gsdHistogram(),
	} {
		if len(h.spread.Bins) > 0 {
			charts = append(charts, h.draw(u))
		}
	}
	return charts
}

func overlapHistogram(u Units, id, title, about string, s coverage.Spread, wanted float64) histogram {
	return histogram{
		id: id, title: title, about: about, tallest: func(share string) string { return u.Say("%s of the pairs", share) }, spread: s,
		wanted: wanted, wantedText: u.Overlap(wanted), allowed: u.Say("Overlaps count in whole per cent."),
		perUnit: 0.01, unit: " %",
	}
}

// gsdHistogram is that of the finest photo of each place, or of the photos
// where places are not known.
func (n Note) gsdHistogram() histogram {
	a, u := n.Audit, n.Units
	h := histogram{
		id: "gsd-spread", title: u.Say("Ground sample distance by share of the places"), spread: a.GSDByPlace.Best,
		about:   u.Say("Ground sample distance of the finest photo of each place, at the middles of cells of %s.", u.Length(a.GSDByPlace.Cell)),
		tallest: func(share string) string { return u.Say("%s of the places", share) },
		wanted:  a.Wanted.GSD, wantedText: u.GSD(a.Wanted.GSD), allowed: u.Say("What is up to 1 %% coarser counts as fine enough, as heights are not known better."),
		perUnit: 0.01, unit: " cm/px",
	}
	if h.spread.N == 0 {
		h.spread, h.title, h.about = a.GSD, u.Say("Ground sample distance by share of the photos"), u.Say("Ground sample distance in the middle of each photo.")
		h.tallest = func(share string) string { return u.Say("%s of the photos", share) }
	}
	if u.Measures == Imperial {
		h.perUnit, h.unit = metresPerInch, " in/px"
	}
	return h
}

// histogram is a spread and how it is shown.
type histogram struct {
	id, title, about string
	tallest          func(share string) string // names the top of the upright axis
	spread           coverage.Spread
	wanted           float64 // 0: not asked
	wantedText       string
	allowed          string // how closely it is asked
	perUnit          float64
	unit             string // of the axis, perUnit long
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
	openChart(c, h.id, h.title, chartTop, spreadHeight)
	c.text("degree", plotLeft-30, chartTop-8, h.tallest(u.Percent(float64(tallest)/float64(h.spread.N))))
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
		caption += " " + u.Say("The dashed line marks the wanted %s.", h.wantedText)
		if missed > 0 {
			caption += " " + u.Say("The darker part of a bar falls short.")
		}
		caption += " " + h.allowed
	}
	return spreadChart{caption, template.HTML(c.String())}
}
