package report

import (
	"errors"
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"

	"selvage/boundary"
	"selvage/boundary/plane"
)

// WriteKML writes the zones, the edge with too few views, the areas to fly
// again, the control points and the areas for map viewers (KML 2.2). Names
// bear the numbers of the note: "Zone 3", "E2", "R1", "C4".
func WriteKML(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	d, u := &placemarks{}, n.Units
	folders := []kml.Element{d.points(n), d.refly(n), d.stretches(n)}
	for _, class := range []string{"v0", "v1", "v2"} {
		folders = append(folders, d.zones(n, class))
	}
	folders = append(folders,
		d.areas(u.Say("Site area"), "site", n.SiteArea, u.Say("%s, with %s of edge.", n.Units.AreaBoth(n.Audit.SiteArea), n.Units.Distance(n.Audit.Edge.Length))),
		d.areas(u.Say("Keep-out area"), "keep-out", n.KeepOut, u.Say("Ground that was not to be flown.")),
		d.areas(u.Say("Flight area"), "flight", n.FlightArea, u.Say("The area that was to be flown.")))
	if d.err != nil {
		return fmt.Errorf("writing KML: %w", d.err)
	}
	doc := kml.Document(kml.Name(documentName(u.Say("Coverage"), n)), kml.Open(true), kml.Description(strings.Join(append(n.verdict(), u.Cautions()...), "\n")))
	doc.Append(kmlStyles()...)
	return boundary.WriteKMLDocument(w, doc.Append(folders...))
}

// documentName is what a file holds, and of which site.
func documentName(what string, n Note) string {
	if n.Site == "" {
		return what
	}
	return what + ": " + Clean(n.Site)
}

// kmlStyles are the colours and widths of the note's map.
func kmlStyles() []kml.Element {
	const seeThrough, wash = 0xb3, 0x33
	// KML wants colours as they are beside their opacity, and the library
	// writes what RGBA returns, so the opacity is only set, not multiplied in.
	faint := func(name string, opacity uint8) color.Color {
		c := palette[name]
		c.A = opacity
		return c
	}
	area := func(id, line string, width float64, fill color.Color) kml.Element {
		poly := kml.PolyStyle(kml.Fill(false))
		if fill != nil {
			poly = kml.PolyStyle(kml.Color(fill))
		}
		return kml.SharedStyle(id, kml.LineStyle(kml.Color(palette[line]), kml.Width(width)), poly)
	}
	point := func(id, colour string) kml.Element {
		return kml.SharedStyle(id, kml.IconStyle(kml.Color(palette[colour])))
	}
	return []kml.Element{
		area("v0", "ink", 1, faint("v0", seeThrough)), area("v1", "ink", 1, faint("v1", seeThrough)), area("v2", "ink", 1, faint("v2", seeThrough)),
		area("site", "ink", 2, nil), area("flight", "green", 2, faint("green", wash)), area("keep-out", "keep-out", 2, faint("keep-out", wash)),
		area("refly", "refly", 3, nil),
		kml.SharedStyle("short", kml.LineStyle(kml.Color(palette["v0"]), kml.Width(5))),
		point("well", "green"), point("one-line", "v1"), point("low", "v0"),
	}
}

// placemarks makes folders of them, and keeps the first thing that is wrong.
type placemarks struct{ err error }

func (d *placemarks) fail(name string, err error) {
	if d.err == nil {
		d.err = fmt.Errorf("%s: %w", name, err)
	}
}

// folder is nil where it would be empty.
func (d *placemarks) folder(name string, inside []kml.Element) kml.Element {
	if len(inside) == 0 {
		return nil
	}
	return kml.Folder(kml.Name(name)).Append(inside...)
}

// placemark describes figures only: viewers take a description for HTML.
func placemark(name, about, style string, shape kml.Element) kml.Element {
	return kml.Placemark(kml.Name(name), kml.Description(about), kml.StyleURL("#"+style), shape)
}

// together is one shape of several.
func together(shapes []kml.Element) kml.Element {
	if len(shapes) == 1 {
		return shapes[0]
	}
	return kml.MultiGeometry(shapes...)
}

func (d *placemarks) point(name string, p orb.Point) kml.Element {
	if !onGlobe(p) {
		d.fail(name, errNoPlace)
	}
	return kml.Point(kml.Coordinates(kmlCoordinate(p)))
}

// polygons are valid at the decimals of a file; nil where these leave nothing.
func (d *placemarks) polygons(name string, mp orb.MultiPolygon) kml.Element {
	var all orb.MultiPolygon
	for _, polygon := range mp {
		for _, ring := range polygon {
			if slices.ContainsFunc(ring, func(p orb.Point) bool { return !onGlobe(p) }) {
				d.fail(name, errNoPlace)
				return nil
			}
		}
		// One by one, as neighbours would become one.
		all = append(all, plane.Union(plane.DegreeGrid(polygon.Bound(), 8), orb.MultiPolygon{polygon})...)
	}
	split, err := boundary.SplitAreas([]boundary.Area{{Name: name, Shape: all}})
	if err != nil {
		d.fail(name, err)
	}
	if len(split) == 0 {
		return nil
	}
	var shapes []kml.Element
	for _, area := range split {
		shapes = append(shapes, boundary.KMLPolygon(area.Shape[0]))
	}
	return together(shapes)
}

func (d *placemarks) zones(n Note, class string) kml.Element {
	var inside []kml.Element
	title, u, wanted := "", n.Units, n.Audit.Wanted.Views
	for i, z := range n.Audit.Zones {
		if zoneClass(z.Kind) != class {
			continue
		}
		if title == "" {
			title = u.Say("Zones: %s (%s)", u.kindName(z.Kind), u.kindViews(z.Kind, wanted))
		}
		name := u.Say("Zone %d", i+1)
		about := u.Say("%s, %s: %s, %s wanted.", u.kindName(z.Kind), u.Area(z.Area), u.kindViews(z.Kind, wanted), u.Number(wanted))
		if n.doubtful() {
			about += " " + u.Say("Short for certain: %s of it.", n.certainShare(z))
		}
		shape := d.polygons(name, orb.MultiPolygon{z.Shape})
		if shape == nil {
			shape = d.point(name, z.Label)
		}
		inside = append(inside, placemark(name, about, class, shape))
	}
	return d.folder(title, inside)
}

func (d *placemarks) stretches(n Note) kml.Element {
	var inside []kml.Element
	u := n.Units
	for i, s := range n.Audit.Edge.Stretches {
		name := "E" + strconv.Itoa(i+1)
		var lines []kml.Element
		for _, line := range cutAtAntimeridian(s.Path) {
			var coordinates []kml.Coordinate
			for _, p := range line {
				if !onGlobe(p) {
					d.fail(name, errNoPlace)
				}
				coordinates = append(coordinates, kmlCoordinate(p))
			}
			lines = append(lines, kml.LineString(kml.Tessellate(true), kml.Coordinates(coordinates...)))
		}
		about := u.Say("%s of the edge (%s, chainage %s to %s). Least: %s, %s wanted.",
			u.Length(s.To-s.From), u.edgeRing(n.Audit.Edge, s.Ring), u.Chainage(s.From), u.Chainage(s.To),
			u.Count(s.MinViews, "view", "views"), u.Number(n.Audit.Wanted.Views))
		inside = append(inside, placemark(name, about, "short", together(lines)))
	}
	return d.folder(u.Say("Edge with too few views"), inside)
}

func (d *placemarks) refly(n Note) kml.Element {
	var inside []kml.Element
	for i, row := range n.reflyTable().Rows {
		name, text := row[0].Text, func(k int) string { return row[k].Text }
		about := n.Units.Say("%s, for %s.", text(1), text(2))
		if n.Audit.Refly[i].Lines > 0 {
			about += " " + n.Units.Say("Course %s, lines: %s, photos: %s, track %s, time %s. Enough: %s.", text(3), text(4), text(5), text(6), text(7), text(8))
		}
		inside = append(inside, placemark(name, about, "refly", d.polygons(name, orb.MultiPolygon{n.Audit.Refly[i].Shape})))
	}
	return d.folder(n.Units.Say("Areas to fly again"), inside)
}

func (d *placemarks) points(n Note) kml.Element {
	var inside []kml.Element
	for i, p := range n.Audit.Points {
		name := strings.TrimSpace(pointNumber(i) + " " + Clean(p.Name))
		about := n.Units.Say("Seen by %s, from %s; wanted: %s.", n.Units.Count(p.Views, "photo", "photos"), n.Units.Count(p.Lines, "line", "lines"), n.pointsWanted())
		inside = append(inside, placemark(name, about, pointClass(p, n.Audit.Wanted.PointViews), d.point(name, p.Position)))
	}
	return d.folder(n.Units.Say("Control points"), inside)
}

func (d *placemarks) areas(name, style string, mp orb.MultiPolygon, about string) kml.Element {
	if len(mp) == 0 {
		return nil
	}
	return d.folder(name, []kml.Element{placemark(name, about, style, d.polygons(name, mp))})
}

var errNoPlace = errors.New("a position is no place on Earth")

func onGlobe(p orb.Point) bool {
	return math.Abs(p.Lon()) <= 540 && math.Abs(p.Lat()) <= 90 // NaN fails too
}

// kmlCoordinate has at most 8 decimals, about a millimetre.
func kmlCoordinate(p orb.Point) kml.Coordinate {
	const most = 1e8
	p = plane.WrapPoint(p)
	return kml.Coordinate{Lon: math.Round(p.Lon()*most) / most, Lat: math.Round(p.Lat()*most) / most}
}

// cutAtAntimeridian cuts a line of which the longitudes may run on past 180 or
// -180, and brings the pieces back between these.
func cutAtAntimeridian(line orb.LineString) []orb.LineString {
	var pieces []orb.LineString
	last := math.NaN() // turn of the last piece
	add := func(p, q orb.Point) {
		turn := math.Floor(((p.Lon()+q.Lon())/2 + 180) / 360)
		p[0], q[0] = p[0]-360*turn, q[0]-360*turn
		if turn != last {
			pieces, last = append(pieces, orb.LineString{p}), turn
		}
		pieces[len(pieces)-1] = append(pieces[len(pieces)-1], q)
	}
	for i := 1; i < len(line); i++ {
		p, q := line[i-1], line[i]
		low, high := min(p.Lon(), q.Lon()), max(p.Lon(), q.Lon())
		if seam := 360*math.Ceil((low+180)/360) - 180; seam > low && seam < high {
			cut := orb.Point{seam, p.Lat() + (q.Lat()-p.Lat())*(seam-p.Lon())/(q.Lon()-p.Lon())}
			add(p, cut)
			p = cut
		}
		add(p, q)
	}
	return pieces
}
