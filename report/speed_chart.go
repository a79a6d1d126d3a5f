package report

import (
	"html/template"
	"math"
	"slices"
	"strconv"
	"time"

	"selvage/coverage"
)

const (
	mostSpeedCharts = 8
	fewestSpeeds    = 3 // photos in a chart
	farAbove        = 3 // times the greatest speed flown, at which the axis ends
)

// speedPoint is a photo in the chart of its flight.
type speedPoint struct {
	at      time.Time
	speed   float64
	blurred bool
}

// drawSpeeds draws a chart for each flight whose times are known.
func drawSpeeds(n Note) []speedChart {
	a := n.Audit
	blurred := map[int]bool{}
	for _, i := range a.Speed.Blurred {
		blurred[i] = true
	}
	var charts []speedChart
	for f, flight := range a.Flights {
		if len(charts) == mostSpeedCharts {
			break
		}
		length := flight.End.Sub(flight.Start)
		if flight.Start.IsZero() || length <= 0 {
			continue
		}
		photos := 0
		lines := map[int][]speedPoint{}
		for i, l := range a.Lines {
			if l.Flight != f {
				continue
			}
			for _, s := range l.Shots {
				if s < 0 || s >= len(a.Shots) {
					continue
				}
				if shot := a.Shots[s]; shot.Speed > 0 && finite(shot.Speed) && !shot.Time.IsZero() {
					lines[i] = append(lines[i], speedPoint{shot.Time, shot.Speed, blurred[s]})
					photos++
				}
			}
		}
		if photos < fewestSpeeds {
			continue
		}
		charts = append(charts, speedChart{speedCaption(n.Units, a, f, lines), drawSpeed(n, f, lines)})
	}
	return charts
}

func speedCaption(u Units, a *coverage.Audit, f int, lines map[int][]speedPoint) string {
	caption := u.Say("Speed over ground on the lines by time.")
	if len(a.Flights) > 1 {
		caption = u.Say("Speed over ground on the lines by time, flight %d.", f+1)
	}
	var allowed, blurred bool
	for i, points := range lines {
		allowed = allowed || finite(positive(a.Lines[i].Speed.Allowed))
		blurred = blurred || slices.ContainsFunc(points, func(p speedPoint) bool { return p.blurred })
	}
	if allowed {
		caption += " " + u.Say("Dashed: what motion blur and the trigger interval allow.")
	}
	if blurred {
		caption += " " + u.Say("Round marks: blurred photos.")
	}
	if slices.ContainsFunc(a.Missed, func(m coverage.Missed) bool { return m.Flight == f && !m.Time.IsZero() }) {
		caption += " " + u.Say("Marks on the axis: missing photos.")
	}
	return caption
}

func drawSpeed(n Note, f int, lines map[int][]speedPoint) template.HTML {
	a, flight := n.Audit, n.Audit.Flights[f]
	perUnit, unit := n.Units.speedUnit()
	length := flight.End.Sub(flight.Start).Seconds()
	var fastest, allowed float64
	for i, points := range lines {
		for _, p := range points {
			fastest = max(fastest, p.speed)
		}
		if v := positive(a.Lines[i].Speed.Allowed); finite(v) {
			allowed = max(allowed, v)
		}
	}
	ceiling := 1.1 * max(fastest, min(allowed, farAbove*fastest))
	bottom := profileTop + profileHeight
	x := func(t time.Time) float64 {
		share := t.Sub(flight.Start).Seconds() / length
		return plotLeft + plotWidth*min(max(share, 0), 1)
	}
	y := func(v float64) float64 { return bottom - profileHeight*min(v, ceiling)/ceiling }

	c := &canvas{}
	openChart(c, "speed-"+strconv.Itoa(f), n.Units.Say("Speed by time, flight %d", f+1), profileTop, profileHeight)
	step := round125(ceiling / perUnit / 2)
	for k := 0; float64(k)*step*perUnit <= ceiling && k < 12; k++ {
		level := y(float64(k) * step * perUnit)
		if k > 0 {
			c.addf(`<path class="grid" d="M%s %sh%s"/>`, px(plotLeft), px(level), px(plotWidth))
		}
		c.text("degree end", plotLeft-6, level+4, n.Units.round(float64(k)*step))
	}
	c.text("degree", plotLeft-30, profileTop-10, unit)

	var track, dots, marks path
	tenths := func(p speedPoint) (int, int) {
		return int(math.Round(10 * x(p.at))), int(math.Round(10 * y(p.speed)))
	}
	for i := range a.Lines {
		points := lines[i]
		for k, p := range points {
			px, py := tenths(p)
			if k == 0 {
				track.move(px, py)
			} else {
				track.line(px, py)
			}
			if p.blurred {
				dots.dot(px, py)
			}
		}
		if v := positive(a.Lines[i].Speed.Allowed); finite(v) && v < ceiling && len(points) > 1 {
			level := int(math.Round(10 * y(v)))
			from, _ := tenths(points[0])
			to, _ := tenths(points[len(points)-1])
			marks.move(from, level)
			marks.line(max(to, from+30), level)
		}
	}
	c.addf(`<g transform="scale(.1)"><path class="flown" d="%s"/>`, &track)
	if marks.Len() > 0 {
		c.addf(`<path class="wanted" d="%s"/>`, &marks)
	}
	if dots.Len() > 0 {
		c.addf(`<path class="blurred" d="%s"/>`, &dots)
	}
	c.addf(`</g>`)
	for _, m := range a.Missed {
		if m.Flight == f && !m.Time.IsZero() {
			c.addf(`<path class="mark" d="M%s %sh3"/>`, px(x(m.Time)-1.5), px(bottom))
		}
	}
	c.addf(`<path class="axis" d="M%s %sh%s"/>`, px(plotLeft), px(bottom), px(plotWidth))
	drawMinutes(c, n.Units, length, bottom)
	c.addf(`</svg>`)
	return template.HTML(c.String())
}

// drawMinutes numbers the minutes of a flight, or its seconds where it is short.
func drawMinutes(c *canvas, u Units, length, bottom float64) {
	perUnit, unit := 60.0, " min"
	if length < 120 {
		perUnit, unit = 1, " s"
	}
	drawAxis(c, u, 0, length, perUnit, unit, func(s float64) float64 { return plotLeft + plotWidth*s/length }, bottom)
}

// speedUnit is the unit of the axis, and its size in metres a second.
func (u Units) speedUnit() (size float64, name string) {
	if u.Measures == Imperial {
		return feetPerMile * metresPerFoot / 3600, "mph"
	}
	return 1, "m/s"
}
