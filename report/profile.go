package report

import (
	"html/template"
	"math"
	"strconv"

	"selvage/coverage"
)

// profile is the chart of one ring: views against chainage.
type profile struct {
	Ring, Start, Length string
	SVG                 template.HTML
}

const (
	mostProfiles  = 12
	profileTop    = 30.0
	profileHeight = 150.0
	profileBelow  = 34.0
)

func drawProfiles(n Note) []profile {
	var out []profile
	for i, r := range first(n.Audit.Edge.Rings, mostProfiles) {
		if r.Length <= 0 || !finite(r.Length) || len(r.Profile) == 0 {
			continue
		}
		out = append(out, profile{
			Ring:   n.Units.edgeRing(n.Audit.Edge, i),
			Start:  Position(r.Start),
			Length: n.Units.Length(r.Length),
			SVG:    drawProfile(n, i),
		})
	}
	return out
}

func drawProfile(n Note, ring int) template.HTML {
	r, wanted := n.Audit.Edge.Rings[ring], n.Audit.Wanted.Views
	least := leastViews(r)
	top := 0
	for _, views := range least {
		top = max(top, views)
	}
	// What matters lies below the wanted views; far above it the axis ends.
	ceiling := max(top, wanted+1)
	cut := wanted > 0 && ceiling > 3*wanted
	if cut {
		ceiling = 3 * wanted
	}
	bottom := profileTop + profileHeight
	y := func(views int) float64 {
		return bottom - profileHeight*float64(min(views, ceiling))/float64(ceiling)
	}
	x := func(m float64) float64 { return plotLeft + plotWidth*m/r.Length }

	c := &canvas{}
	openChart(c, "profile-"+strconv.Itoa(ring), n.Units.Say("Views along the edge, %s", n.Units.edgeRing(n.Audit.Edge, ring)), profileTop, profileHeight)

	var seen, lacking path
	for i, views := range least {
		left, right := 10*int(plotLeft)+10*i, 10*int(plotLeft)+10*(i+1)
		level := int(math.Round(10 * y(views)))
		if i == 0 {
			seen.move(left, int(10*bottom))
		}
		seen.line(left, level)
		seen.line(right, level)
		if i == len(least)-1 {
			seen.line(right, int(10*bottom))
			seen.WriteByte('z')
		}
		if views < wanted {
			lacking.move(left, level)
			lacking.line(right, level)
			lacking.line(right, int(math.Round(10*y(wanted))))
			lacking.line(left, int(math.Round(10*y(wanted))))
			lacking.WriteByte('z')
		}
	}
	c.addf(`<g transform="scale(.1)"><path class="seen" d="%s"/>`, &seen)
	if lacking.Len() > 0 {
		c.addf(`<path class="lacking" d="%s"/>`, &lacking)
	}
	c.addf(`</g>`)

	drawViewsAxis(c, n.Units, y, wanted, ceiling, cut)
	drawStretches(c, n, ring, x, bottom)
	c.addf(`<path class="axis" d="M%s %sh%s"/>`, px(plotLeft), px(bottom), px(plotWidth))
	drawChainage(c, n.Units, r.Length, x, bottom)
	c.addf(`</svg>`)
	return template.HTML(c.String())
}

// leastViews is the profile at the resolution of the drawing: the fewest views
// within each unit, so that a short stretch cannot vanish.
func leastViews(r coverage.EdgeRing) []int {
	least := make([]int, int(plotWidth))
	for i := range least {
		least[i] = -1
	}
	for _, s := range r.Profile {
		if !(s.From >= 0) || !(s.To <= r.Length*1.001) {
			continue
		}
		from := int(s.From / r.Length * plotWidth)
		to := int(math.Ceil(s.To / r.Length * plotWidth))
		for i := min(from, len(least)-1); i < min(max(to, from+1), len(least)); i++ {
			if least[i] < 0 || s.Views < least[i] {
				least[i] = s.Views
			}
		}
	}
	for i := range least {
		least[i] = max(least[i], 0)
	}
	return least
}

func drawViewsAxis(c *canvas, u Units, y func(int) float64, wanted, ceiling int, cut bool) {
	c.text("degree end", plotLeft-6, y(0)+4, "0")
	if wanted > 0 {
		c.addf(`<path class="wanted" d="M%s %sh%s"/>`, px(plotLeft), px(y(wanted)), px(plotWidth))
		c.text("degree end strong", plotLeft-6, y(wanted)+4, u.Number(wanted))
	}
	if y(wanted)-y(ceiling) >= 26 {
		label := u.Number(ceiling)
		if cut {
			label += "+"
		}
		c.text("degree end", plotLeft-6, y(ceiling)+10, label)
	}
}

// drawStretches marks the listed stretches on the axis, never narrower than
// the eye can see, and names those with room for it.
func drawStretches(c *canvas, n Note, ring int, x func(float64) float64, bottom float64) {
	const apart = 52
	last := math.Inf(-1)
	for i, s := range n.Audit.Edge.Stretches {
		if s.Ring != ring || !finite(s.From) || !finite(s.To) {
			continue
		}
		from, to := x(s.From), x(s.To)
		if to < from {
			// The stretch runs over the start of the chainage.
			c.addf(`<path class="mark" d="M%s %sH%s"/>`, px(plotLeft), px(bottom), px(to))
			to = plotLeft + plotWidth
		}
		if to-from < 3 {
			from, to = (from+to)/2-1.5, (from+to)/2+1.5
		}
		c.addf(`<path class="mark" d="M%s %sH%s"/>`, px(from), px(bottom), px(to))
		at := math.Min(math.Max((from+to)/2, plotLeft+16), plotLeft+plotWidth-16)
		if math.Abs(at-last) >= apart {
			c.text("name", at, profileTop-7, "E"+strconv.Itoa(i+1))
			last = at
		}
	}
}

func drawChainage(c *canvas, u Units, length float64, x func(float64) float64, bottom float64) {
	perUnit, unit := u.length()
	drawAxis(c, u, 0, length, perUnit, " "+unit, x, bottom)
}

// drawAxis numbers the level axis of a chart at round numbers of a unit that is
// perUnit long.
func drawAxis(c *canvas, u Units, from, to, perUnit float64, unit string, x func(float64) float64, bottom float64) {
	// Labels grow on a narrow screen.
	const apart = 140
	step := round125((to - from) / perUnit / 3.5)
	last := math.Inf(-1)
	for k := int(math.Ceil(from/perUnit/step - 1e-9)); float64(k)*step*perUnit <= to; k++ {
		at := x(float64(k) * step * perUnit)
		c.addf(`<path class="tick" d="M%s %sv6"/>`, px(at), px(bottom))
		class, middle := "degree lon", at
		if at > plotLeft+plotWidth-apart/2 {
			class, middle = "degree end", at-apart/2
		}
		if middle-last < apart {
			continue
		}
		last = middle
		c.text(class, at, bottom+26, u.round(float64(k)*step)+unit)
	}
}
