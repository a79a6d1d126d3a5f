package report

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
)

// canvas collects the elements of an SVG picture.
type canvas struct{ strings.Builder }

func (c *canvas) addf(format string, args ...any) { fmt.Fprintf(c, format+"\n", args...) }

// text places a label; class may name several CSS classes.
func (c *canvas) text(class string, x, y float64, s string) {
	c.addf(`<text class="%s" x="%s" y="%s">%s</text>`, class, px(x), px(y), html.EscapeString(s))
}

// px writes a drawing coordinate to a tenth.
func px(x float64) string {
	return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64)
}

// path writes SVG path data in whole tenths of a drawing unit, relative from
// point to point, which keeps pictures of many thousand vertices small. Points
// that fall on the one before are dropped.
type path struct {
	strings.Builder
	x, y int
}

func (p *path) move(x, y int) {
	fmt.Fprintf(p, "M%d %d", x, y)
	p.x, p.y = x, y
}

func (p *path) line(x, y int) {
	dx, dy := x-p.x, y-p.y
	if dx == 0 && dy == 0 {
		return
	}
	switch {
	case dy == 0:
		p.WriteString("h" + strconv.Itoa(dx))
	case dx == 0:
		p.WriteString("v" + strconv.Itoa(dy))
	default:
		p.WriteString("l" + strconv.Itoa(dx))
		if dy > 0 {
			p.WriteByte(' ')
		}
		p.WriteString(strconv.Itoa(dy))
	}
	p.x, p.y = x, y
}

// dot is a line of next to no length, which shows as its caps. Some printers
// leave out one of no length at all.
func (p *path) dot(x, y int) {
	p.move(x, y)
	p.WriteString("h1")
}

func (p *path) ring(v *view, r orb.Ring) {
	if len(r) < 3 {
		return
	}
	for i, q := range r {
		x, y := v.tenths(q)
		if i == 0 {
			p.move(x, y)
		} else {
			p.line(x, y)
		}
	}
	p.WriteByte('z')
}

func (p *path) polygon(v *view, polygon orb.Polygon) {
	for _, r := range polygon {
		p.ring(v, r)
	}
}

func (p *path) area(v *view, mp orb.MultiPolygon) {
	for _, polygon := range mp {
		p.polygon(v, polygon)
	}
}

func (p *path) open(v *view, line orb.LineString) {
	for i, q := range line {
		x, y := v.tenths(q)
		switch {
		case i == 0 && len(line) == 1:
			p.dot(x, y)
		case i == 0:
			p.move(x, y)
		default:
			p.line(x, y)
		}
	}
}

// within returns what of a line lies in the view or close about it, in drawing
// units. A closed line stays one ring; its pieces beyond the view are not to
// scale.
func (v *view) within(line orb.LineString, closed bool) []orb.LineString {
	const beyond = 20
	box := orb.Bound{Min: orb.Point{v.left, v.top}, Max: orb.Point{v.left + v.width, v.top + v.height}}.Pad(beyond)
	drawn := make(orb.LineString, 0, len(line))
	for _, p := range line {
		if x, y := v.at(p); finite(x) && finite(y) {
			drawn = append(drawn, orb.Point{x, y})
		}
	}
	switch {
	case len(drawn) == 0:
		return nil
	case !closed && len(drawn) > 1:
		return clip.LineString(box, drawn)
	case !closed:
		return nil
	}
	if ring := clip.Ring(box, orb.Ring(drawn)); len(ring) > 2 {
		return []orb.LineString{orb.LineString(ring)}
	}
	return nil
}

// near draws what of a line lies in the view or close about it. At a large
// scale the rest would be too far off for path.ring and path.open.
func (p *path) near(v *view, line orb.LineString, closed bool) {
	tenth := func(f float64) int { return int(math.Round(10 * f)) }
	for _, piece := range v.within(line, closed) {
		for i, q := range piece {
			if i == 0 {
				p.move(tenth(q[0]), tenth(q[1]))
			} else {
				p.line(tenth(q[0]), tenth(q[1]))
			}
		}
		if closed {
			p.WriteByte('z')
		}
	}
}

// nearArea is near for the rings of a shape.
func (p *path) nearArea(v *view, mp orb.MultiPolygon) {
	for _, polygon := range mp {
		for _, ring := range polygon {
			p.near(v, orb.LineString(ring), true)
		}
	}
}

// view places degrees on the sheet: equirectangular about the middle of the
// data, true to scale there. It serves drawing only.
type view struct {
	lon, lat      float64 // middle, degrees
	mLon, mLat    float64 // metres a degree at the middle
	perMetre      float64 // drawing units a metre
	left, top     float64 // of the plot, drawing units
	width, height float64
	midX, midY    float64
	west, east    float64 // degrees at the plot's sides; east may pass 180
	south, north  float64
	metresAcross  float64
}

// newView fits what lies in the rings into a plot of the given width. The
// height follows the shape of the data within limits. ok is false when there
// is nothing to fit.
func newView(left, top, width, least, most float64, rings []orb.Ring) (v *view, ok bool) {
	var first *orb.Point
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, r := range rings {
		for _, p := range r {
			if !finite(p.Lon()) || !finite(p.Lat()) {
				continue
			}
			if first == nil {
				first = &orb.Point{p.Lon(), p.Lat()}
			}
			b = b.Extend(orb.Point{near(p.Lon(), first.Lon()), p.Lat()})
		}
	}
	if first == nil {
		return nil, false
	}
	const margin = 1.08
	mLon, mLat := metresPerDegree(b.Center().Lat())
	wide := math.Max((b.Max.Lon()-b.Min.Lon())*mLon*margin, 1)
	high := math.Max((b.Max.Lat()-b.Min.Lat())*mLat*margin, 1)
	height := math.Round(math.Min(math.Max(width*high/wide, least), most))
	return viewAt(left, top, width, height, b.Center(), math.Min(width/wide, height/high)), true
}

// viewAt shows what lies about a middle, at a scale of drawing units a metre.
func viewAt(left, top, width, height float64, middle orb.Point, perMetre float64) *view {
	v := &view{left: left, top: top, width: width, height: height, lon: middle.Lon(), lat: middle.Lat(), perMetre: perMetre}
	v.mLon, v.mLat = metresPerDegree(v.lat)
	v.midX, v.midY = left+width/2, top+v.height/2
	v.metresAcross = width / v.perMetre
	v.west, v.east = v.lon-width/2/v.perMetre/v.mLon, v.lon+width/2/v.perMetre/v.mLon
	v.south, v.north = v.lat-v.height/2/v.perMetre/v.mLat, v.lat+v.height/2/v.perMetre/v.mLat
	return v
}

// box is the plot as the attributes of an SVG rectangle.
func (v *view) box() string {
	return fmt.Sprintf(`x="%s" y="%s" width="%s" height="%s"`, px(v.left), px(v.top), px(v.width), px(v.height))
}

func (v *view) at(p orb.Point) (x, y float64) {
	return v.midX + (near(p.Lon(), v.lon)-v.lon)*v.mLon*v.perMetre,
		v.midY - (p.Lat()-v.lat)*v.mLat*v.perMetre
}

// degrees is the inverse of at.
func (v *view) degrees(x, y float64) orb.Point {
	return orb.Point{v.lon + (x-v.midX)/v.perMetre/v.mLon, v.lat - (y-v.midY)/v.perMetre/v.mLat}
}

// tenths is at in tenths of a unit, held to a range that keeps far points from
// overflowing.
func (v *view) tenths(p orb.Point) (x, y int) {
	const far = 100_000
	fx, fy := v.at(p)
	if !finite(fx) || !finite(fy) {
		return 0, 0
	}
	hold := func(f float64) int { return int(math.Round(math.Min(math.Max(f*10, -far), far))) }
	return hold(fx), hold(fy)
}

func (v *view) holds(p orb.Point) bool {
	x, y := v.at(p)
	return x >= v.left && x <= v.left+v.width && y >= v.top && y <= v.top+v.height
}

// near gives lon plus the whole turns that bring it within half a turn of to.
func near(lon, to float64) float64 { return lon - 360*math.Round((lon-to)/360) }

// metresPerDegree are the lengths of one degree of longitude and of latitude
// on the WGS 84 ellipsoid, from its radii of curvature.
func metresPerDegree(lat float64) (lon, latitude float64) {
	const a, e2 = 6378137, 6.69437999014e-3
	sin, cos := math.Sincos(lat * math.Pi / 180)
	w := 1 - e2*sin*sin
	perDegree := a / math.Sqrt(w) * math.Pi / 180
	return math.Max(perDegree*cos, 1), perDegree * (1 - e2) / w
}

// round125 is the greatest 1, 2 or 5 times a power of ten that is at most x.
func round125(x float64) float64 {
	if !(x > 0) || math.IsInf(x, 1) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(x)))
	switch f := x / power; {
	case f >= 5:
		return 5 * power
	case f >= 2:
		return 2 * power
	}
	return power
}
