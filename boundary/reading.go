package boundary

import (
	"fmt"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// reading gathers what a walk through a file comes across, and knows where the
// walk is, so that every fault can say so.
type reading struct {
	file string
	src  *source
	lim  Limits
	keep bool // whether points may become outlines, so that their positions are wanted
	rows bool // whether each row of a table is a point of its own

	inPlane bool // whether the numbers are to be read in a system of eastings and northings
	metric  bool // whether the file says itself that they are such, without naming the system

	feature, part, ring, vertex int  // where the walk is, from 1; 0 outside
	begun                       int  // len(parts) when the feature began
	polygons, shapes            int  // in the feature so far; shapes are of any kind
	within                      bool // whether it is inside that feature
	hollow                      bool // whether the feature has a polygon without any ring
	used                        int  // of lim.Vertices

	parts         []Part
	paths, points tally
	bare, links   tally
	heights       heights
	buffers       map[int]ownBuffer // by feature
	system        system
	notes         []finding.Finding // what is known before the walk, or apart from it
	scratch       orb.Ring          // grows to the longest, so that each is copied once
}

// system is the coordinate system that a file names for its numbers.
type system struct {
	named bool
	name  string // "" when the file names it in a way that is not read
	place finding.Place
}

// tally counts things that are left out, and remembers the first.
type tally struct {
	count, vertices int
	longest         int // vertices of one
	first           finding.Place
	traces          []trace // all of them, points only when they are kept
}

// trace is a path, or the points of one feature in their order.
type trace struct {
	place    finding.Place
	vertices []orb.Point // without the points whose position is not known
	count    int         // of paths or points
}

func (t *tally) add(p finding.Place, vertices int) {
	if t.count == 0 {
		t.first = p
	}
	t.count++
	t.vertices += vertices
	t.longest = max(t.longest, vertices)
}

// lines returns the traces as paths.
func (t *tally) lines() []Path {
	var all []Path
	for _, one := range t.traces {
		all = append(all, Path{one.place.Name, one.place, orb.LineString(one.vertices)})
	}
	return all
}

type heights struct {
	given, vertices int
	least, most     float64
	telling         bool // whether one of them is not the usual filler, 0
}

func (h *heights) add(metres float64) {
	if h.given == 0 {
		h.least, h.most = metres, metres
	}
	h.given++
	h.least, h.most = min(h.least, metres), max(h.most, metres)
	h.telling = h.telling || metres != 0
}

// place is where the walk is now, with the line and column of offset.
func (r *reading) place(offset int64) finding.Place {
	line, column := r.src.position(offset)
	place := finding.Place{File: r.file, Line: line, Column: column, Part: r.part, Ring: r.ring, Vertex: r.vertex}
	if r.within {
		place.Feature = r.feature
	}
	return place
}

func (r *reading) fault(offset int64, format string, args ...any) error {
	return &ReadError{r.place(offset), fmt.Sprintf(format, args...)}
}

func (r *reading) beginFeature() {
	r.feature++
	r.within = true
	r.begun, r.polygons, r.shapes, r.hollow = len(r.parts), 0, 0, false
}

// endFeature gives the feature that began at offset its name, which a file may
// tell only after the shapes.
func (r *reading) endFeature(offset int64, name string) {
	if r.shapes == 0 || r.hollow {
		if r.bare.count == 0 {
			r.bare.first = r.place(offset)
		}
		r.bare.count++
	}
	name = printable(name, 200)
	for i := r.begun; i < len(r.parts); i++ {
		r.parts[i].Name, r.parts[i].Place.Name = name, name
	}
	for _, t := range []*tally{&r.paths, &r.points, &r.bare} {
		if t.count > 0 && t.first.Feature == r.feature {
			t.first.Name = name
		}
		for i := len(t.traces) - 1; i >= 0 && t.traces[i].place.Feature == r.feature; i-- {
			t.traces[i].place.Name = name
		}
	}
	r.within = false
}

// spend counts one vertex or ring, and reports whether the limits allow it.
func (r *reading) spend() bool {
	r.used++
	return r.used <= r.lim.Vertices && !r.crowded()
}

// crowded tells whether a file that is read for its points has too many.
func (r *reading) crowded() bool { return r.rows && r.points.count > r.lim.Points }

func (r *reading) overspent(offset int64) error {
	if r.crowded() {
		return r.fault(offset, "the file holds more than the limit of %d points (--limit points)", r.lim.Points)
	}
	return r.fault(offset, "the file holds more than the limit of %d vertices and rings (--limit vertices)", r.lim.Vertices)
}

// beginPart steps into the next polygon, which begins at offset.
func (r *reading) beginPart(offset int64) finding.Place {
	r.polygons++
	r.part = r.polygons
	return r.place(offset)
}

// endPart keeps the polygon that began at a place, unless it has no ring.
func (r *reading) endPart(at finding.Place, rings orb.Polygon) {
	r.part, r.ring, r.vertex = 0, 0, 0
	r.shapes++
	if len(rings) == 0 {
		r.polygons--
		r.hollow = true
		return
	}
	r.parts = append(r.parts, Part{Place: at, Polygon: rings})
	for _, ring := range rings {
		r.heights.vertices += len(ring)
	}
}

// addPath takes note of a path that began at a place.
func (r *reading) addPath(at finding.Place, vertices []orb.Point) {
	r.shapes++
	r.paths.add(at, len(vertices))
	r.paths.traces = append(r.paths.traces, trace{at, vertices, 1})
}

// addPoint takes note of a point, whose position may be unknown.
func (r *reading) addPoint(at finding.Place, position ...orb.Point) {
	r.shapes++
	t := &r.points
	t.add(at, 1)
	if !r.keep {
		return
	}
	if n := len(t.traces); n == 0 || t.traces[n-1].place.Feature != at.Feature {
		t.traces = append(t.traces, trace{place: at})
	}
	last := &t.traces[len(t.traces)-1]
	last.vertices = append(last.vertices, position...)
	last.count++
}

// addSystem takes note that the file names the coordinate system of its
// numbers, "" for one that it names in a way that is not read.
func (r *reading) addSystem(offset int64, name string) error {
	if s := r.system; s.named && s.name != name {
		return r.fault(offset, "the coordinate system %s is not the %s from before; one file is read in one system", quote(name), quote(s.name))
	}
	if !r.system.named {
		at := r.place(offset)
		r.system = system{true, name, finding.Place{File: at.File, Line: at.Line, Column: at.Column}}
	}
	return nil
}

// findings tells what was noticed, one finding a kind.
func (r *reading) findings() []finding.Finding {
	var all []finding.Finding
	add := func(code finding.Code, s finding.Severity, p finding.Place, amount int, unit string, text finding.Text) {
		all = append(all, finding.Finding{Code: code, Severity: s, Place: p, Text: text, Amount: float64(amount), Unit: unit})
	}
	if len(r.parts) == 0 {
		add(finding.NoPolygon, finding.NeedsAnswer, finding.Place{File: r.file}, 0, "polygons", finding.Sentences(r.instead(),
			finding.Tell(finding.Say("Ask the client for the area as a polygon."), finding.Say("Please send the area as a polygon.")),
			r.closable()))
	}
	if t := r.paths; t.count > 0 {
		paths, points := finding.Counted(t.count, "path", "paths"), finding.Counted(t.vertices, "point", "points")
		add(finding.PathNotArea, finding.Note, t.first, t.count, "paths", finding.Either(t.count == 1,
			finding.Say("%s with %s is left out: a path is not an area.", paths, points),
			finding.Say("%s with %s are left out: a path is not an area.", paths, points)))
	}
	if t := r.points; t.count > 0 {
		add(finding.PointsNotArea, finding.Note, t.first, t.count, "points",
			finding.Say("%s left out: a point is not an area.", finding.Counted(t.count, "single point is", "single points are")))
	}
	if t := r.bare; t.count > 0 {
		first := finding.Say("%d", t.first.Feature)
		if t.first.Name != "" {
			first = finding.Say("%d (“%s”)", t.first.Feature, t.first.Name)
		}
		add(finding.NoGeometry, finding.NeedsAnswer, t.first, t.count, "features", finding.Sentences(finding.Either(t.count == 1,
			finding.Say("Feature %s has no shape or an empty one.", first),
			finding.Say("%s features have no shape or an empty one; the first is feature %s.", finding.Whole(t.count), first)),
			finding.Tell(finding.Say("Ask the client whether something is missing."), finding.Say("Please say whether something is missing."))))
	}
	if t := r.links; t.count > 0 {
		add(finding.NetworkLink, finding.NeedsAnswer, t.first, t.count, "links", finding.Sentences(
			finding.Say("%s to another file; links are never followed.", finding.Counted(t.count, "link points", "links point")),
			finding.Tell(finding.Say("If the area lies there, ask the client for that file."), finding.Say("If the area lies there, please send that file."))))
	}
	all = append(all, r.notes...)
	if h := r.heights; h.telling {
		span := finding.Say("%s", finding.Given(h.least))
		if h.most != h.least {
			span = finding.Say("%s to %s", finding.Given(h.least), finding.Given(h.most))
		}
		given, vertices := finding.Whole(h.given), finding.Counted(h.vertices, "vertex", "vertices")
		add(finding.AltitudePresent, finding.Note, finding.Place{File: r.file}, h.given, "vertices", finding.Either(h.given == 1,
			finding.Say("%s of %s carries a height (%s). A boundary needs none, so heights are left out.", given, vertices, span),
			finding.Say("%s of %s carry a height (%s). A boundary needs none, so heights are left out.", given, vertices, span)))
	}
	return all
}

// instead says what a file without polygons does hold.
func (r *reading) instead() finding.Text {
	var found []finding.Text
	if t := r.paths; t.count > 0 {
		found = append(found, finding.Say("%s of %s", finding.Counted(t.count, "path", "paths"), finding.Counted(t.vertices, "point", "points")))
	}
	if t := r.points; t.count > 0 {
		found = append(found, finding.Say("%s", finding.Counted(t.count, "single point", "single points")))
	}
	if t := r.links; t.count > 0 {
		found = append(found, finding.Say("%s to other files", finding.Counted(t.count, "link", "links")))
	}
	if t := r.bare; t.count > 0 {
		found = append(found, finding.Say("%s without a shape", finding.Counted(t.count, "feature", "features")))
	}
	if len(found) == 0 {
		return finding.Say("The file holds no polygon: it is empty.")
	}
	return finding.Say("The file holds no polygon, only %s.", finding.And(found))
}

// closable says what could stand for a polygon in a file without any.
func (r *reading) closable() finding.Text {
	switch {
	case r.paths.longest >= 3:
		return finding.Say("If the path walks around the site, it can be taken as its outline (--close-path).")
	case r.points.count >= 3:
		return finding.Say("If the points stand around the site in their order, they can be taken as its outline (--close-path).")
	}
	return finding.Text{}
}
