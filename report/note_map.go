package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"selvage/coverage"
	"selvage/coverage/photo"
	pages "selvage/report/page"
)

// liveMap is the interactive map of a note.
func (n Note) liveMap() (live, error) {
	v, _, ok := mapView(n)
	if !ok {
		return live{}, nil
	}
	return liveOf(noteMap(n, v))
}

// noteMap is all that the map of a note can show.
func noteMap(n Note, v *view) pages.Map {
	m, c := mapOf(v, n.Units, cmp.Or(n.Site, n.Title))
	m.Layers = filled(append([]pages.MapLayer{
		mapZones(c, n), mapEdge(c, n), mapRefly(c, n), mapPoints(c, n), mapSite(c, n), mapFlight(c, n), mapKeepOut(c, n),
		mapViews(c, n), mapGround(c, n, "one-line", n.Units.Say("One flight line only"), n.Audit.OneLine),
		mapGround(c, n, "coarse", n.Units.Say("GSD coarser than wanted"), n.Audit.GSDByPlace.Coarse), mapTracks(c, n),
	}, mapPhotos(c, n)...)...)
	return m
}

func mapSite(c pages.Coder, n Note) pages.MapLayer {
	u := n.Units
	l := pages.MapLayer{Key: "site", Name: u.Say("Site area"), Legend: [][2]string{{"site", u.Area(n.Audit.SiteArea)}}}
	if rings := c.Rings(n.SiteArea...); len(rings) > 0 {
		l.Items = []pages.MapItem{
			{Look: "site", Rings: rings, Title: u.Say("Site area"), Text: []string{u.AreaBoth(n.Audit.SiteArea), u.Say("edge %s", u.Distance(n.Audit.Edge.Length))}},
			{Look: "ground", Rings: rings},
		}
	}
	return l
}

func mapFlight(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "flight", Name: n.Units.Say("Flight area"), Legend: [][2]string{{"flight", ""}}}
	if rings := c.Rings(n.FlightArea...); len(rings) > 0 {
		l.Items = []pages.MapItem{{Look: "flight", Rings: rings, Title: n.Units.Say("Flight area")}}
	}
	return l
}

func mapKeepOut(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "keep-out", Name: n.Units.Say("Keep-out areas"), Legend: [][2]string{{"keep-out", n.Units.Number(len(n.KeepOut))}}}
	for _, polygon := range n.KeepOut {
		if rings := c.Rings(polygon); len(rings) > 0 {
			l.Items = append(l.Items, pages.MapItem{Look: "keep-out", Rings: rings, Title: n.Units.Say("Keep-out area")})
		}
	}
	return l
}

func mapViews(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "views", Name: n.Units.Say("Views")}
	for _, s := range shades(n.Audit.Views, n.Audit.Wanted.Views) {
		var polygons []orb.Polygon
		for _, shape := range s.shapes {
			polygons = append(polygons, shape...)
		}
		text, area := n.Units.views(s.from, s.to), n.Units.Area(s.area)
		l.Legend = append(l.Legend, [2]string{s.class, text + ": " + area})
		l.Items = append(l.Items, pages.MapItem{Look: s.class, Rings: c.Rings(polygons...), Title: capital(text), Text: []string{n.Units.Say("%s in all", area)}})
	}
	return l
}

func mapZones(c pages.Coder, n Note) pages.MapLayer {
	u, wanted := n.Units, n.Audit.Wanted.Views
	l := pages.MapLayer{Key: "zones", Name: u.Say("Zones with too few views"), Table: "zones"}
	again := n.reflyOfZones()
	for i, z := range n.Audit.Zones {
		look := zoneLook(z.Kind)
		item := pages.MapItem{
			Look: look, Rings: c.Rings(z.Shape), At: c.Place(z.Label), Ref: strconv.Itoa(i + 1),
			Title: u.Say("Zone %d: %s", i+1, u.kindName(z.Kind)), Text: []string{u.kindViews(z.Kind, wanted), u.Area(z.Area)},
		}
		if n.doubtful() {
			item.Text = append(item.Text, u.Say("%s certain", n.certainShare(z)))
		}
		if again[i] != "" {
			item.Text = append(item.Text, u.Say("fly again in %s", again[i]))
		}
		l.Items = append(l.Items, item)
		if key := [2]string{look, u.kindName(z.Kind) + ": " + u.kindViews(z.Kind, wanted)}; !slices.Contains(l.Legend, key) {
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

func mapEdge(c pages.Coder, n Note) pages.MapLayer {
	u, e := n.Units, n.Audit.Edge
	l := pages.MapLayer{Key: "edge", Name: u.Say("Edge"), Table: "edge"}
	for i, s := range e.Stretches {
		name := "E" + strconv.Itoa(i+1)
		item := pages.MapItem{
			Look: "short", At: c.Place(middle(s.Path)), Aside: true, Ref: name, Title: u.Say("%s: edge with too few views", name),
			Text: []string{u.edgeRing(e, s.Ring), u.Say("%s to %s", u.Chainage(s.From), u.Chainage(s.To)), u.Length(s.To - s.From), u.Say("least %s", u.Count(s.MinViews, "view", "views"))},
		}
		if path := c.Line(s.Path); len(path) > 0 {
			item.Paths = [][]int{path}
		}
		l.Items = append(l.Items, item)
	}
	if len(l.Items) > 0 {
		l.Legend = append(l.Legend, [2]string{"short", u.Say("too few views: %s", u.Length(e.Length-e.Captured))})
	}
	for i, r := range e.Rings {
		if c.Holds(r.Start) {
			l.Items = append(l.Items, pages.MapItem{Look: "start", At: c.Place(r.Start), Title: u.Say("Start of chainage"), Text: []string{u.edgeRing(e, i), u.Length(r.Length)}})
		}
	}
	if len(e.Rings) > 0 {
		l.Legend = append(l.Legend, [2]string{"start", u.Say("start of chainage")})
	}
	return l
}

func mapRefly(c pages.Coder, n Note) pages.MapLayer {
	u := n.Units
	l := pages.MapLayer{Key: "refly", Name: u.Say("Areas to fly again"), Table: "refly", Legend: [][2]string{{"refly", u.Number(len(n.Audit.Refly))}}}
	for i, r := range n.Audit.Refly {
		name := "R" + strconv.Itoa(i+1)
		item := pages.MapItem{Look: "refly", Rings: c.Rings(r.Shape), Aside: true, Ref: name, Title: u.Say("%s: area to fly again", name), Text: []string{u.Area(r.Area)}}
		if len(r.Shape) > 0 && len(r.Shape[0]) > 0 {
			item.At = c.Place(corner(r.Shape[0]))
		}
		if cause := reflyFor(u, r); cause != "" {
			item.Text = append(item.Text, u.Say("for %s", cause))
		}
		if r.Lines > 0 {
			item.Text = append(item.Text, u.Count(r.Photos, "photo", "photos"), u.minutes(r.Time))
		}
		l.Items = append(l.Items, item)
	}
	return l
}

// pointLooks are the looks of control points by their class.
var pointLooks = map[string]string{"well": "well", "one-line": "weak", "low": "low"}

func mapPoints(c pages.Coder, n Note) pages.MapLayer {
	u := n.Units
	l := pages.MapLayer{Key: "points", Name: u.Say("Control points"), Table: "points"}
	keys := map[string]string{"well": u.Say("seen well"), "one-line": u.Say("seen from one line"), "low": u.Say("too few views")}
	for i, p := range n.Audit.Points {
		class := pointClass(p, n.Audit.Wanted.PointViews)
		item := pages.MapItem{
			Look: pointLooks[class], At: c.Place(p.Position), Ref: pointNumber(i), Label: pointTag(i, p),
			Title: u.Say("Control point %s", strings.TrimSpace(pointNumber(i)+" "+Clean(p.Name))),
			Text:  []string{u.Count(p.Views, "view", "views"), u.Say("from %s", u.Count(p.Lines, "line", "lines"))},
		}
		if p.Views > 0 {
			item.Text = append(item.Text, u.Say("%s within the best image", inImage(u, p.Best)))
		}
		if c.Holds(p.Position) {
			l.Items = append(l.Items, item)
		}
		if key := [2]string{item.Look, keys[class]}; !slices.Contains(l.Legend, key) {
			l.Legend = append(l.Legend, key)
		}
	}
	return l
}

func mapGround(c pages.Coder, n Note, key, name string, g coverage.Ground) pages.MapLayer {
	l := pages.MapLayer{Key: key, Name: name, Legend: [][2]string{{key, n.Units.Area(g.Area)}}}
	for _, piece := range g.Pieces {
		l.Items = append(l.Items, pages.MapItem{Look: key, Rings: c.Rings(piece.Shape), Title: name, Text: []string{n.Units.Area(piece.Area)}})
	}
	return l
}

func mapTracks(c pages.Coder, n Note) pages.MapLayer {
	l := pages.MapLayer{Key: "lines", Name: n.Units.Say("Flight lines"), Legend: [][2]string{{"track", n.Units.Number(len(n.Audit.Lines))}}}
	for i, line := range n.Audit.Lines {
		var track []orb.Point
		for _, k := range line.Shots {
			if k >= 0 && k < len(n.Audit.Shots) {
				track = append(track, n.Audit.Shots[k].Position)
			}
		}
		if path := c.Line(track); len(path) > 2 {
			l.Items = append(l.Items, pages.MapItem{
				Look: "track", Paths: [][]int{path}, Title: n.Units.Say("Flight line %d", i+1),
				Text: []string{n.Units.Say("course %s", n.Units.fixed(line.Course, 0)+"°"), n.Units.Length(line.Length), n.Units.Count(len(line.Shots), "photo", "photos")},
			})
		}
	}
	return l
}

// mapPhotos are the photos of each flight, and those that are on no line.
func mapPhotos(c pages.Coder, n Note) []pages.MapLayer {
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
		l := pages.MapLayer{Key: "photos-" + strconv.Itoa(k+1), Name: n.Units.Say("Photos"), Dots: dotsOf(c, n.Units, shots)}
		l.Dots.Look = "photo-" + strconv.Itoa(k%looks)
		switch {
		case k == flights:
			l.Key, l.Name, l.Dots.Look = "photos-off", n.Units.Say("Photos off the lines"), offLine
		case flights > 1:
			l.Name = n.Units.Say("Photos, flight %d", k+1)
		}
		l.Legend = [][2]string{{l.Dots.Look, n.Units.Number(len(shots))}}
		out = append(out, l)
	}
	return out
}

func dotsOf(c pages.Coder, u Units, shots []coverage.Shot) *pages.MapDots {
	d := &pages.MapDots{Noun: u.Say("Photo"), Zone: " UTC"}
	var places []orb.Point
	var last float64
	for _, s := range shots {
		places = append(places, s.Position)
		d.Names = append(d.Names, Clean(s.File))
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
