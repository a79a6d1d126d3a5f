package report

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

// tag is a numbered label on the map, in drawing units.
type tag struct {
	class, text string
	atX, atY    float64 // what it names
	x, y        float64 // where it stands
	beside      bool    // must not stand on what it names
	minor       bool    // left out on a narrow screen
}

const tagHeight = 18.0

func (t tag) width() float64 { return 10 + 8*float64(utf8.RuneCountInString(t.text)) }

func (t tag) rank() string {
	if t.minor {
		return " minor"
	}
	return ""
}

// drawLabels numbers the zones, stretches and re-fly areas as the tables do.
func drawLabels(c *canvas, v *view, n Note) {
	var tags []tag
	add := func(class, letter string, i int, p orb.Point, beside bool) {
		if x, y := v.at(p); finite(x) && finite(y) {
			tags = append(tags, tag{class: class, text: letter + strconv.Itoa(i+1), atX: x, atY: y, beside: beside, minor: i >= majorLabels})
		}
	}
	for i, z := range first(n.Audit.Zones, mostLabels) {
		const roomy = 6 * tagHeight * tagHeight
		add("tag-zone", "", i, z.Label, z.Area*v.perMetre*v.perMetre < roomy)
	}
	for i, s := range first(n.Audit.Edge.Stretches, mostLabels) {
		add("tag-edge", "E", i, middle(s.Path), true)
	}
	for i, r := range first(n.Audit.Refly, mostLabels) {
		if len(r.Shape) > 0 && len(r.Shape[0]) > 0 {
			add("tag-refly", "R", i, corner(r.Shape[0]), true)
		}
	}
	tags = append(tags, pointTags(v, n)...)
	drawTags(c, tags, v)
}

// drawTags finds a place for each tag, the first ones first, and draws them.
func drawTags(c *canvas, tags []tag, v *view) {
	for i := range tags {
		stand(&tags[i], tags[:i], v)
		if t := tags[i]; t.x != t.atX || t.y != t.atY {
			c.addf(`<path class="leader%s" d="M%s %sL%s %s"/>`, t.rank(), px(t.atX), px(t.atY), px(t.x), px(t.y))
		}
	}
	for _, t := range tags {
		c.addf(`<g transform="translate(%s %s)"><g class="tag %s%s">%s<text y="4">%s</text></g></g>`,
			px(t.x), px(t.y), t.class, t.rank(), t.outline(), html.EscapeString(t.text))
	}
}

// outline is the border of a tag, by which classes can be told apart without
// their colours.
func (t tag) outline() string {
	w, radius := t.width(), 3.0
	switch t.class {
	case "tag-name":
		return ""
	case "tag-needs-answer":
		return fmt.Sprintf(`<path d="M%s 0l8 %sh%sl8 %sl-8 %sh%sz"/>`,
			px(-w/2-5), px(-tagHeight/2-1), px(w-6), px(tagHeight/2+1), px(tagHeight/2+1), px(6-w))
	case "tag-zone", "tag-mended":
		radius = tagHeight / 2
	case "tag-note":
		radius = 0
	}
	return fmt.Sprintf(`<rect x="%s" y="%s" width="%s" height="%s" rx="%s"/>`, px(-w/2), px(-tagHeight/2), px(w), px(tagHeight), px(radius))
}

// stand gives t the nearest free place around what it names; with none free it
// stands upon it.
func stand(t *tag, placed []tag, v *view) {
	t.x, t.y = t.atX, t.atY
	if !t.beside && free(t, placed, v) {
		return
	}
	for _, distance := range []float64{24, 36, 50, 68, 90, 120, 160, 210} {
		for k := range 12 {
			sin, cos := math.Sincos(float64(k)*math.Pi/6 - math.Pi/2)
			t.x, t.y = t.atX+distance*cos, t.atY+distance*sin
			if free(t, placed, v) {
				return
			}
		}
	}
	t.x, t.y = t.atX, t.atY
}

func free(t *tag, placed []tag, v *view) bool {
	// Labels grow on a narrow screen.
	const grown = 1.5
	w, h := t.width()*grown, tagHeight*grown
	if t.x-w/2 < v.left || t.x+w/2 > v.left+v.width || t.y-h/2 < v.top || t.y+h/2 > v.top+v.height {
		return false
	}
	for i := range placed {
		o := &placed[i]
		if math.Abs(t.x-o.x) < (w+o.width()*grown)/2 && math.Abs(t.y-o.y) < h {
			return false
		}
	}
	return true
}

// middle is the point half way along a line, in degrees: the place to look for
// the line, not a measurement.
func middle(line orb.LineString) orb.Point {
	if len(line) == 0 {
		return orb.Point{math.NaN(), math.NaN()}
	}
	mLon, mLat := metresPerDegree(line[0].Lat())
	leg := func(i int) (lon, lat, length float64) {
		lon, lat = near(line[i].Lon(), line[i-1].Lon())-line[i-1].Lon(), line[i].Lat()-line[i-1].Lat()
		return lon, lat, math.Hypot(lon*mLon, lat*mLat)
	}
	var half float64
	for i := 1; i < len(line); i++ {
		_, _, length := leg(i)
		half += length / 2
	}
	for i := 1; i < len(line); i++ {
		lon, lat, length := leg(i)
		if length >= half && length > 0 {
			return orb.Point{line[i-1].Lon() + lon*half/length, line[i-1].Lat() + lat*half/length}
		}
		half -= length
	}
	return line[len(line)-1]
}

// corner is the northernmost vertex.
func corner(r orb.Ring) orb.Point {
	best := r[0]
	for _, p := range r {
		if p.Lat() > best.Lat() {
			best = p
		}
	}
	return best
}

func first[T any](list []T, most int) []T { return list[:min(len(list), most)] }
