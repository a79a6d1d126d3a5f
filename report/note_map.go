package report

import (
	"cmp"
	"encoding/json"
	"html/template"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"selvage/coverage"
	"selvage/coverage/photo"
	pages "selvage/report/page"
)

// live is what a page needs to put an interactive map in place of its picture.
// It is empty where there is none.
type live struct {
	Style  template.CSS
	Data   template.JS
	Script template.JS
	Hash   string
}

var noteScript = pages.Joined("note.js")

func liveMap(n Note) (live, error) {
	v, _, ok := mapView(n)
	if !ok {
		return live{}, nil
	}
	// encoding/json writes <, >, &, U+2028 and U+2029 as escapes.
	data, err := json.Marshal(noteMap(n, v))
	if err != nil {
		return live{}, err
	}
	return live{template.CSS(pages.Style()), template.JS(data), template.JS(noteScript.Text), noteScript.Hash}, nil
}

// noteMap is all that the map of a note can show.
func noteMap(n Note, v *view) pages.Map {
	c := pages.Coder{Origin: orb.Point{v.lon, v.lat}}
	m := pages.Map{
		Title: "Map of " + clean(cmp.Or(n.Site, n.Title)), Origin: c.Origin, Units: mapUnits(n.Units),
		Extent: c.Extent(v.west, v.south, v.east, v.north),
	}
	for _, layer := range []pages.MapLayer{
		zoneMapLayer(c, n), edgeMapLayer(c, n), reflyMapLayer(c, n), pointMapLayer(c, n), siteMapLayer(c, n), flightMapLayer(c, n), keepOutMapLayer(c, n),
		viewsMapLayer(c, n), groundMapLayer(c, n, "one-line", "one-line", "One flight line only", n.Audit.OneLine),
		groundMapLayer(c, n, "coarse", "coarse", "GSD coarser than wanted", n.Audit.GSDByPlace.Coarse), trackMapLayer(c, n),
	} {
		if len(layer.Items) > 0 {
			m.Layers = append(m.Layers, layer)
		}
	}
	m.Layers = append(m.Layers, photoMapLayers(c, n)...)
	return m
}

func mapUnits(u Units) pages.MapUnits {
	if u == Imperial {
		return pages.MapUnits{
			Length: pages.MapUnit{Metres: metresPerFoot, Name: "ft", Decimals: 1},
			Far:    pages.MapUnit{Metres: feetPerMile * metresPerFoot, Name: "mi", Decimals: 2},
			GSD:    pages.MapUnit{Metres: metresPerInch, Name: "in/px", Decimals: 2},
		}
	}
	return pages.MapUnits{
		Length: pages.MapUnit{Metres: 1, Name: "m", Decimals: 1},
		Far:    pages.MapUnit{Metres: 1000, Name: "km", Decimals: 2},
		GSD:    pages.MapUnit{Metres: 0.01, Name: "cm/px", Decimals: 2},
	}
}

// at is a place for a label; nil where the point is nowhere.
func at(c pages.Coder, p orb.Point) []int { return c.Line([]orb.Point{p}) }

func siteMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "site", Name: "Site area", Legend: [][2]string{{"site", n.Units.Area(n.Audit.SiteArea)}}}
	if rings := c.Rings(n.SiteArea...); len(rings) > 0 {
		l.Items = []pages.MapItem{
			{Look: "site", Rings: rings, Title: "Site area", Text: []string{n.Units.AreaBoth(n.Audit.SiteArea), "edge " + n.Units.Distance(n.Audit.Edge.Length)}},
			{Look: "ground", Rings: rings},
		}
	}
	return l
}

func flightMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "flight", Name: "Flight area", Legend: [][2]string{{"flight", "to be flown"}}}
	if rings := c.Rings(n.FlightArea...); len(rings) > 0 {
		l.Items = []pages.MapItem{{Look: "flight", Rings: rings, Title: "Flight area"}}
	}
	return l
}

func keepOutMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "keep-out", Name: "Keep-out areas", Legend: [][2]string{{"keep-out", "not to be flown"}}}
	for _, polygon := range n.KeepOut {
		if rings := c.Rings(polygon); len(rings) > 0 {
			l.Items = append(l.Items, pages.MapItem{Look: "keep-out", Rings: rings, Title: "Keep-out area"})
		}
	}
	return l
}

func viewsMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "views", Name: "Views"}
	for _, s := range shades(n.Audit.Views, n.Audit.Wanted.Views) {
		var polygons []orb.Polygon
		for _, shape := range s.shapes {
			polygons = append(polygons, shape...)
		}
		text, area := viewsText(s.from, s.to), n.Units.Area(s.area)
		l.Legend = append(l.Legend, [2]string{s.class, text + ": " + area})
		l.Items = append(l.Items, pages.MapItem{Look: s.class, Rings: c.Rings(polygons...), Title: capital(text), Text: []string{area + " in all"}})
	}
	return l
}

func zoneMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "zones", Name: "Zones with too few views", Table: "zones"}
	again := n.reflyOfZones()
	for i, z := range n.Audit.Zones {
		look := zoneLook(z.Kind)
		item := pages.MapItem{
			Look: look, Rings: c.Rings(z.Shape), At: at(c, z.Label), Ref: Number(i + 1),
			Title: "Zone " + Number(i+1) + ": " + kindName(z.Kind), Text: []string{kindViews(z.Kind, n.Audit.Wanted.Views), n.Units.Area(z.Area)},
		}
		if n.doubtful() {
			item.Text = append(item.Text, n.certainShare(z)+" for certain")
		}
		if again[i] != "" {
			item.Text = append(item.Text, "to be flown again in "+again[i])
		}
		l.Items = append(l.Items, item)
		if key := [2]string{look, kindName(z.Kind) + ": " + kindViews(z.Kind, n.Audit.Wanted.Views)}; !slices.Contains(l.Legend, key) {
			l.Legend = append(l.Legend, key)
		}
	}
	return l
}

func zoneLook(k coverage.ZoneKind) string {
	switch k {
	case coverage.Gap, coverage.NoStereo:
		return string(k)
	}
	return string(coverage.Thin)
}

func edgeMapLayer(c pages.Coder, n Note) pages.MapLayer {
	u, e := n.Units, n.Audit.Edge
	l := pages.MapLayer{Key: "edge", Name: "Edge", Table: "edge"}
	for i, s := range e.Stretches {
		path := c.Line(s.Path)
		if len(path) == 0 {
			path = nil
		}
		name := "E" + Number(i+1)
		item := pages.MapItem{
			Look: "short", At: at(c, middle(s.Path)), Aside: true, Ref: name, Title: name + ": edge with too few views",
			Text: []string{ringName(e, s.Ring), u.Chainage(s.From) + " to " + u.Chainage(s.To), u.Length(s.To - s.From), "least " + Count(s.MinViews, "view", "views")},
		}
		if path != nil {
			item.Paths = [][]int{path}
		}
		l.Items = append(l.Items, item)
	}
	if len(l.Items) > 0 {
		l.Legend = append(l.Legend, [2]string{"short", "too few views: " + u.Length(e.Length-e.Captured)})
	}
	for i, r := range e.Rings {
		if c.Holds(r.Start) {
			l.Items = append(l.Items, pages.MapItem{Look: "start", At: at(c, r.Start), Title: "Start of chainage", Text: []string{ringName(e, i), u.Length(r.Length)}})
		}
	}
	if len(e.Rings) > 0 {
		l.Legend = append(l.Legend, [2]string{"start", "start of chainage"})
	}
	return l
}

func reflyMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "refly", Name: "Areas to fly again", Table: "refly", Legend: [][2]string{{"refly", "with their lines planned anew"}}}
	for i, r := range n.Audit.Refly {
		name := "R" + Number(i+1)
		item := pages.MapItem{Look: "refly", Rings: c.Rings(r.Shape), Aside: true, Ref: name, Title: name + ": area to fly again", Text: []string{n.Units.Area(r.Area)}}
		if len(r.Shape) > 0 && len(r.Shape[0]) > 0 {
			item.At = at(c, corner(r.Shape[0]))
		}
		if cause := reflyFor(r); cause != "" {
			item.Text = append(item.Text, "for "+cause)
		}
		if r.Lines > 0 {
			item.Text = append(item.Text, Count(r.Photos, "photo", "photos"), minutes(r.Time))
		}
		l.Items = append(l.Items, item)
	}
	return l
}

// pointLooks are the looks of control points by their class.
var pointLooks = map[string]string{"well": "well", "one-line": "weak", "low": "low"}

func pointMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "points", Name: "Control points", Table: "points"}
	for i, p := range n.Audit.Points {
		class := pointClass(p, n.Audit.Wanted.PointViews)
		item := pages.MapItem{
			Look: pointLooks[class], At: at(c, p.Position), Ref: pointNumber(i), Label: pointTag(i, p),
			Title: strings.TrimSpace("Control point " + pointNumber(i) + " " + clean(p.Name)),
			Text:  []string{Count(p.Views, "view", "views"), "from " + Count(p.Lines, "line", "lines")},
		}
		if p.Views > 0 {
			item.Text = append(item.Text, inImage(n.Units, p.Best)+" within the best image")
		}
		if item.At != nil && len(item.At) == 2 {
			l.Items = append(l.Items, item)
		}
		if key := [2]string{item.Look, pointKeys[class]}; !slices.Contains(l.Legend, key) {
			l.Legend = append(l.Legend, key)
		}
	}
	return l
}

var pointKeys = map[string]string{"well": "seen well", "one-line": "seen from one line", "low": "too few views"}

func groundMapLayer(c pages.Coder, n Note, key, look, name string, g coverage.Ground) pages.MapLayer {
	l := pages.MapLayer{Key: key, Name: name, Legend: [][2]string{{look, n.Units.Area(g.Area)}}}
	for _, piece := range g.Pieces {
		l.Items = append(l.Items, pages.MapItem{Look: look, Rings: c.Rings(piece.Shape), Title: name, Text: []string{n.Units.Area(piece.Area)}})
	}
	return l
}

func trackMapLayer(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "lines", Name: "Flight lines", Legend: [][2]string{{"track", "between photo centres"}}}
	for i, line := range n.Audit.Lines {
		var track []orb.Point
		for _, k := range line.Shots {
			if k >= 0 && k < len(n.Audit.Shots) {
				track = append(track, n.Audit.Shots[k].Position)
			}
		}
		if path := c.Line(track); len(path) > 2 {
			l.Items = append(l.Items, pages.MapItem{
				Look: "track", Paths: [][]int{path}, Title: "Flight line " + Number(i+1),
				Text: []string{"course " + fixed(line.Course, 0) + "°", n.Units.Length(line.Length), Count(len(line.Shots), "photo", "photos")},
			})
		}
	}
	return l
}

// photoLayers are the photos of each flight, and those that are on no line.
func photoMapLayers(c pages.Coder, n Note) []pages.MapLayer {
	a := n.Audit
	flights := max(len(a.Flights), 1)
	sorted := make([][]coverage.Shot, flights+1)
	for _, s := range a.Shots {
		k := flights
		if s.Line >= 0 && s.Line < len(a.Lines) {
			k = min(max(a.Lines[s.Line].Flight, 0), flights-1)
		}
		if c.Holds(s.Position) {
			sorted[k] = append(sorted[k], s)
		}
	}
	const offLine, looks = "photo-3", 3
	var out []pages.MapLayer
	for k, shots := range sorted {
		if len(shots) == 0 {
			continue
		}
		l := pages.MapLayer{Key: "photos-" + Number(k+1), Name: "Photos", Dots: dotsOf(c, shots)}
		l.Dots.Look = "photo-" + Number(k%looks)
		switch {
		case k == flights:
			l.Key, l.Name, l.Dots.Look = "photos-off", "Photos off the lines", offLine
		case flights > 1:
			l.Name += ", flight " + Number(k+1)
		}
		l.Legend = [][2]string{{l.Dots.Look, Count(len(shots), "photo", "photos")}}
		out = append(out, l)
	}
	return out
}

func dotsOf(c pages.Coder, shots []coverage.Shot) *pages.MapDots {
	d := &pages.MapDots{Noun: "Photo", Zone: " UTC"}
	var places []orb.Point
	var last float64
	for _, s := range shots {
		places = append(places, s.Position)
		d.Names = append(d.Names, clean(s.File))
		d.Heights = append(d.Heights, s.Height*10)
		d.GSDs = append(d.GSDs, s.GSD*1e5)
		if s.TimeSource == photo.TimeWithoutZone {
			d.Zone = ""
		}
		if s.Time.IsZero() {
			d.Times = append(d.Times, math.NaN())
			continue
		}
		now := float64(s.Time.Unix())
		d.Times = append(d.Times, now-last)
		last = now
	}
	d.At = c.Points(places)
	return d
}
