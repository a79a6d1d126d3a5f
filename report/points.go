package report

import (
	_ "embed"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"selvage/coverage"
)

//go:embed points.html.tmpl
var pointsTemplate string

// seenPoints is what the note says of control points, in words.
type seenPoints struct {
	Sentences    []string
	Rows         table
	Pictured     []picturedPoint
	More         string
	MorePictured string
}

// picturedPoint is a point and the photos that show it.
type picturedPoint struct {
	Number, Name, GSD, Count, Photos string
}

func pointsOf(n Note) seenPoints {
	a, u := n.Audit, n.Units
	s := seenPoints{Sentences: pointSentences(n), Rows: n.pointTable().shown(), More: u.more(len(a.Points), "more point stands in the JSON file", "more points stand in the JSON file")}
	for i, p := range first(a.Points, mostPictured) {
		if p.Views == 0 {
			continue
		}
		r := picturedPoint{Number: pointNumber(i), Name: u.shownName(p), GSD: u.GSD(p.GSD), Count: u.Count(p.Views, "photo", "photos")}
		var files []string
		for _, f := range p.Files {
			files = append(files, Clean(f))
		}
		r.Photos = u.andMore(files, p.Views-len(p.Files))
		s.Pictured = append(s.Pictured, r)
	}
	if over := len(a.Points) - mostPictured; over > 0 {
		s.MorePictured = u.Count(over, "more point stands in the JSON file", "more points stand in the JSON file")
	}
	return s
}

func (n Note) pointTable() table {
	a, u := n.Audit, n.Units.Short()
	t := table{Name: "points", About: "control points", ID: "points", Listed: true, Columns: u.heads(
		"No.|number", "Name|name|words", "Photos|photos|figure", "Lines|lines|figure", "Within image|within_m within_share|figure",
		"Least|least_within_m least_within_share|figure", "Position (lat, lon)|lat_deg lon_deg")}
	within := func(d coverage.EdgeDistance) entry {
		return entry{Text: inImage(u, d), Values: []string{knownTo(d.Metres, 3), knownTo(d.Share, 6)}}
	}
	for i, p := range a.Points {
		number := marked("C", i)
		number.Chip = "point-" + pointClass(p, a.Wanted.PointViews)
		t.add(number, u.term(func(l Locale) string { return l.shownName(p) }), u.tally(p.Views), u.tally(p.Lines), within(p.Best), within(p.Nearest), u.spot(p.Position))
	}
	return t
}

// shownName is the name of a point, with a remark where it lies outside.
func (l Locale) shownName(p coverage.PointViews) string {
	if p.Outside {
		return strings.TrimSpace(l.Say("%s (outside)", Clean(p.Name)))
	}
	return Clean(p.Name)
}

// mostPictured is for how many points the photos are listed.
const mostPictured = 100

// pointNumber is how the note and the map call a control point.
func pointNumber(i int) string { return "C" + strconv.Itoa(i+1) }

// pointClass is the CSS class of a point by how it was seen.
func pointClass(p coverage.PointViews, wanted int) string {
	switch {
	case p.Views < wanted:
		return "low"
	case p.OneLine() && wanted > 1:
		return "one-line"
	}
	return "well"
}

// inImage formats how far within an image a point lies.
func inImage(u Units, d coverage.EdgeDistance) string {
	if !finite(d.Metres) || !finite(d.Share) {
		return "–"
	}
	whole := u.fixed(100*d.Share, 0)
	if whole == "0" && d.Share > 0 {
		whole = "<1"
	}
	return aside(u.Length(d.Metres), whole+" %")
}

// pointCounts says how many control points have too few views, and how many
// have enough but from one line.
func (n Note) pointCounts() (low, oneLine int) {
	for _, p := range n.Audit.Points {
		switch pointClass(p, n.Audit.Wanted.PointViews) {
		case "low":
			low++
		case "one-line":
			oneLine++
		}
	}
	return low, oneLine
}

func (n Note) checkPoints() Check {
	a := n.Audit
	c := Check{Name: n.Units.Say("Control points"), Wanted: n.pointsWanted(), Met: Yes}
	low, oneLine := n.pointCounts()
	all := len(a.Points)
	c.Found = n.Units.Say("%s of %s", n.Units.Number(all-low-oneLine), n.Units.Number(all))
	if oneLine > 0 {
		c.Met = InPart
		c.Found += "; " + n.Units.Say("%s from one line", n.Units.Number(oneLine))
	}
	if low > 0 {
		c.Met = No
		c.Found += "; " + n.Units.Say("%s with too few, the least %s", n.Units.Number(low), n.Units.Count(a.Points[0].Views, "photo", "photos"))
		c.short = n.Units.Say("%s of %s seen by fewer than %s", n.Units.Number(low), n.Units.Number(all), n.Units.Count(a.Wanted.PointViews, "photo", "photos"))
	}
	return c
}

func (n Note) pointsWanted() string {
	wanted := n.Units.Count(n.Audit.Wanted.PointViews, "photo", "photos")
	if n.Audit.Wanted.PointViews > 1 {
		return n.Units.Say("%s or more, from %s", wanted, n.Units.Count(coverage.PointLines, "line", "lines"))
	}
	return n.Units.Say("%s or more", wanted)
}

// pointSentences are how the control points were seen, in a sentence or two.
func pointSentences(n Note) []string {
	a, u := n.Audit, n.Units
	if len(a.Points) == 0 {
		return nil
	}
	low, oneLine := n.pointCounts()
	all := len(a.Points)
	out := []string{u.Say("Wanted for each: %s. Seen so: %s of %s.", n.pointsWanted(), u.Number(all-low-oneLine), u.Count(all, "point", "points"))}
	if low > 0 {
		out = append(out, u.Say("Seen by too few photos: %s.", n.pointList("low")))
	}
	if oneLine > 0 {
		out = append(out, u.Say("Seen from one flight line only: %s.", n.pointList("one-line")))
	}
	return out
}

// pointList names the points of a class.
func (n Note) pointList(class string) string {
	const most = 10
	var names []string
	for i, p := range n.Audit.Points {
		if pointClass(p, n.Audit.Wanted.PointViews) == class {
			names = append(names, pointName(i, p))
		}
	}
	return n.Units.andMore(first(names, most), len(names)-most)
}

// andMore lists names, and says how many there are besides.
func (l Locale) andMore(names []string, more int) string {
	list := strings.Join(names, ", ")
	if more > 0 {
		return l.Say("%s and %s", list, tie(l.Say("%s more", l.Number(more))))
	}
	return list
}

func pointName(i int, p coverage.PointViews) string {
	if name := Clean(p.Name); name != "" {
		return name
	}
	return pointNumber(i)
}

// writePoints writes the control points for a terminal.
func writePoints(out io.Writer, n Note) [][]string {
	for _, line := range Wrap(strings.Join(pointSentences(n), " "), textWidth-2) {
		fmt.Fprintf(out, "  %s\n", line)
	}
	u := n.Units.Short()
	rows := [][]string{u.SayAll("no.", "name", "photos", "lines", "within image", "least", "position")}
	for i, p := range first(n.Audit.Points, mostRows) {
		rows = append(rows, []string{
			pointNumber(i), Shortened(Clean(p.Name), 16), u.Number(p.Views), u.Number(p.Lines),
			inImage(u, p.Best), inImage(u, p.Nearest), u.Position(p.Position),
		})
	}
	return rows
}

// Shortened is text of so many characters at most, with an ellipsis where it was
// cut.
func Shortened(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most-1]) + "…"
}

// drawPoints draws the control points as triangles, which stand on their tip
// where the point lacks views.
func drawPoints(c *canvas, v *view, n Note) []key {
	var legend []key
	u := n.Units
	for _, class := range []struct {
		name, text, key string
		up              int
	}{
		{"well", u.Say("control point, seen well"), "M16 2l6 11h-12z", 1},
		{"one-line", u.Say("control point, seen from one line"), "M16 2l6 11h-12z", 1},
		{"low", u.Say("control point with too few views"), "M16 14l6 -11h-12z", -1},
	} {
		var p path
		for _, point := range n.Audit.Points {
			if pointClass(point, n.Audit.Wanted.PointViews) == class.name && v.holds(point.Position) {
				x, y := v.tenths(point.Position)
				fmt.Fprintf(&p, "M%d %dl60 %dh-120z", x, y-69*class.up, 104*class.up)
			}
		}
		if p.Len() > 0 {
			c.addf(`<path class="point-under" d="%s"/><path class="point %s" d="%s"/>`, &p, class.name, &p)
			legend = append(legend, swatch(`<path class="point `+class.name+`" d="`+class.key+`"/>`, class.text))
		}
	}
	return legend
}

// pointTag is the label of a point on the map: its name, if that is short.
func pointTag(i int, p coverage.PointViews) string {
	const most = 10
	if name := Clean(p.Name); name != "" && utf8.RuneCountInString(name) <= most {
		return name
	}
	return pointNumber(i)
}

// nearPoints are the points that the map has room for, and how many it has not.
func nearPoints(v *view, n Note) (near orb.Ring, farOff int) {
	for _, p := range n.Audit.Points {
		x, y := v.at(p.Position)
		if math.Abs(x-v.midX) < 0.75*v.width && math.Abs(y-v.midY) < 0.75*v.height {
			near = append(near, p.Position)
		} else {
			farOff++
		}
	}
	return near, farOff
}

// pointTags name the points on the map.
func pointTags(v *view, n Note) []tag {
	var tags []tag
	for i, p := range first(n.Audit.Points, mostLabels) {
		if v.holds(p.Position) {
			x, y := v.at(p.Position)
			tags = append(tags, tag{class: "tag-point", text: pointTag(i, p), atX: x, atY: y, beside: true, minor: i >= majorLabels})
		}
	}
	return tags
}
