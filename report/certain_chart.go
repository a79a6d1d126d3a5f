package report

import (
	"html/template"
	"math"
	"strconv"
)

const (
	mostBars    = 40
	chartTop    = 32.0
	chartHeight = 150.0
)

// bar is the share of the ground with from to to views.
type bar struct {
	from, to int
	share    float64
}

// bars gathers shares by number of views. Below the wanted views every number
// has a bar of its own; from there on several may share one.
func bars(shares []float64, wanted int) []bar {
	wanted = min(max(wanted, 0), len(shares))
	each := max(1, int(math.Ceil(float64(len(shares)-wanted)/float64(max(mostBars-wanted, mostBars/2)))))
	var out []bar
	for v, s := range shares {
		if last := len(out) - 1; v > wanted && (v-wanted)%each != 0 {
			out[last].to, out[last].share = v, out[last].share+s
			continue
		}
		out = append(out, bar{v, v, s})
	}
	return out
}

// drawShares draws how much of the ground has how many views.
func drawShares(n Note) (template.HTML, string) {
	a := n.Audit
	all := bars(a.Raster.Shares(), a.Wanted.Views)
	if len(all) == 0 {
		return "", ""
	}
	var tallest float64
	for _, b := range all {
		tallest = max(tallest, b.share)
	}
	bottom := chartTop + chartHeight
	wide := plotWidth / float64(len(all))
	gap := min(2, wide/6)

	c := &canvas{}
	openChart(c, "shares-title", n.Units.Say("Share of the site area by number of views"), chartTop, chartHeight)
	c.text("degree", plotLeft-30, chartTop-8, n.Units.Number(int(math.Round(tallest*100)))+" %")
	c.text("degree end", plotLeft-6, bottom+4, "0")
	for i, b := range all {
		left := plotLeft + float64(i)*wide
		high := chartHeight * b.share / tallest
		if b.share > 0 {
			high = max(high, 1.5)
		}
		c.addf(`<path class="share %s" d="M%s %sv-%sh%sv%sz"/>`, b.class(a.Wanted.Views), px(left+gap/2), px(bottom), px(high), px(wide-gap), px(high))
	}
	c.addf(`<path class="axis" d="M%s %sh%s"/>`, px(plotLeft), px(bottom), px(plotWidth))
	drawBarNumbers(c, all, wide, bottom)
	c.addf(`</svg>`)
	caption := n.Units.Say("Share of the site area by number of views, counted at the middles of cells of %s.", n.Units.Length(a.Raster.Cell))
	if a.Wanted.Views > 0 {
		caption += " " + n.Units.Count(a.Wanted.Views, "view was wanted.", "views were wanted.")
	}
	return template.HTML(c.String()), caption
}

func (b bar) class(wanted int) string {
	switch {
	case b.from == 0:
		return "v0"
	case b.from >= wanted:
		return "e3"
	case b.from == 1:
		return "v1"
	}
	return "v2"
}

// drawBarNumbers names bars with room between the names, which grow on a
// narrow screen, and the last one.
func drawBarNumbers(c *canvas, all []bar, wide, bottom float64) {
	const apart = 48
	every := max(1, int(math.Ceil(apart/wide)))
	for i, b := range all {
		if i%every != 0 {
			continue
		}
		name := strconv.Itoa(b.from)
		if b.to > b.from {
			name += "–" + strconv.Itoa(b.to)
		}
		c.text("degree lon", plotLeft+(float64(i)+0.5)*wide, bottom+24, name)
	}
}
