package boundary

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"selvage/boundary/crs"
	"selvage/boundary/finding"
)

// NamedPoint is one point of a file, in degrees lon/lat. Its name may be empty.
type NamedPoint struct {
	Name     string
	Place    finding.Place
	Position orb.Point
}

// ReadPoints reads the points of a file of any format that Read takes: the rows
// of a table, the placemarks of a KML, waypoints, and the points of GeoJSON,
// WKT and shapefiles. The findings say what reading noticed, and that lines and
// areas were left out, as only points count; a file without any point is an
// error. An error is a *ReadError, with a place where there is one.
func ReadPoints(name string, data []byte, o Options) ([]NamedPoint, []finding.Finding, error) {
	if o.Limits == (Limits{}) {
		o.Limits = DefaultLimits
	}
	o.points, o.ClosePath = true, false
	fail := func(p finding.Place, format string, args ...any) ([]NamedPoint, []finding.Finding, error) {
		return nil, nil, &ReadError{p, fmt.Sprintf(format, args...)}
	}
	whole := finding.Place{File: name}
	switch {
	case int64(len(data)) > o.Limits.Bytes:
		return fail(whole, "the file is larger than the limit of %s (--limit size)", megabytes(o.Limits.Bytes))
	case len(data) == 0:
		return fail(whole, "the file is empty")
	}
	var asked *crs.System
	if o.CRS != "" {
		system, err := parseSystem(o.CRS)
		if err != nil {
			return fail(whole, "%v", err)
		}
		asked = &system
	}
	r, format, err := readAny(name, data, o)
	if err != nil {
		return nil, nil, err
	}
	points, err := r.namedPoints()
	if err != nil {
		return nil, nil, err
	}
	if len(points) == 0 {
		if others := r.otherShapes(); !others.Empty() {
			return fail(whole, "the file holds no point; only points count here, and it has %s", others)
		}
		return fail(whole, "the file holds no point")
	}
	found, err := placePoints(points, r, asked)
	if err != nil {
		return nil, nil, err
	}
	if strings.Contains(format, "shapefile") && asked == nil && !r.system.named {
		found = append(found, finding.Finding{Code: finding.NoCRS, Severity: finding.Note, Place: whole,
			Text: finding.Say("The .prj file is missing, so the shapefile does not say in which coordinate system its numbers are. They are taken as longitude and latitude on WGS 84.")})
	}
	return points, append(r.pointFindings(len(points)), found...), nil
}

// namedPoints are the points of a reading. Where a feature has several, they
// are numbered after its name.
func (r *reading) namedPoints() ([]NamedPoint, error) {
	var all []NamedPoint
	for _, t := range r.points.traces {
		if t.count > len(t.vertices) {
			return nil, &ReadError{t.place, "this point has no position that can be read"}
		}
		for i, p := range t.vertices {
			n := NamedPoint{t.place.Name, t.place, p}
			if len(t.vertices) > 1 {
				n.Place.Vertex = i + 1
				if n.Name != "" {
					n.Name += fmt.Sprintf("-%d", i+1)
				}
			}
			if !finitePoint(p) {
				return nil, &ReadError{n.Place, "the position is not a pair of numbers"}
			}
			if all = append(all, n); len(all) > r.lim.Points {
				return nil, &ReadError{finding.Place{File: r.file}, fmt.Sprintf("the file holds more than the limit of %d points (--limit points)", r.lim.Points)}
			}
		}
	}
	return all, nil
}

// placePoints brings points to degrees lon/lat on WGS 84, in the ways of
// boundaries: each stands for a part of one vertex.
func placePoints(points []NamedPoint, r *reading, asked *crs.System) ([]finding.Finding, error) {
	f := &File{Name: r.file}
	for _, p := range points {
		f.Parts = append(f.Parts, Part{Place: p.Place, Polygon: orb.Polygon{{p.Position}}})
	}
	if err := f.transform(r, asked); err != nil {
		if fault, ok := err.(*ReadError); ok && fault.Place.Ring > 0 {
			fault.Place.Ring, fault.Place.Vertex = 0, 0
		}
		return nil, err
	}
	for _, x := range f.Findings {
		if x.Code == finding.LooksProjected {
			first := points[0]
			return nil, &ReadError{first.Place, fmt.Sprintf("the numbers are no longitude and latitude (%.10g, %.10g) but probably metres or feet of a map grid; please say in which coordinate system they are (--crs, such as --crs EPSG:32632)",
				first.Position[0], first.Position[1])}
		}
	}
	for i := range points {
		p := f.Parts[i].Polygon[0][0]
		if math.Abs(p[0]) > 360 || math.Abs(p[1]) > 90 {
			return nil, &ReadError{points[i].Place, fmt.Sprintf("%.10g, %.10g is no longitude and latitude", p[0], p[1])}
		}
		points[i].Position = p
	}
	return f.Findings, nil
}

// pointFindings are the findings of a reading that was made for its points.
func (r *reading) pointFindings(n int) []finding.Finding {
	var found []finding.Finding
	if left := r.otherShapes(); !left.Empty() {
		others := r.paths.count + len(r.parts)
		found = append(found, finding.Finding{
			Code: finding.PointsOnly, Severity: finding.Note, Place: finding.Place{File: r.file},
			Amount: float64(others), Unit: "shapes",
			Text: finding.Either(others == 1, finding.Say("%s is left out beside %s: only points count.", left, finding.Counted(n, "point", "points")),
				finding.Say("%s are left out beside %s: only points count.", left, finding.Counted(n, "point", "points"))),
		})
	}
	return append(found, slices.DeleteFunc(r.findings(), func(f finding.Finding) bool {
		switch f.Code {
		case finding.NoPolygon, finding.PathNotArea, finding.PointsNotArea, finding.AltitudePresent:
			return true
		}
		return false
	})...)
}

// otherShapes says what a reading has besides points.
func (r *reading) otherShapes() finding.Text {
	var left []finding.Text
	if lines := r.paths.count; lines > 0 {
		left = append(left, finding.Say("%s", finding.Counted(lines, "line", "lines")))
	}
	if areas := len(r.parts); areas > 0 {
		left = append(left, finding.Say("%s", finding.Counted(areas, "area", "areas")))
	}
	return finding.And(left)
}

// pointWords are further words for the column that names a point.
var pointWords = []string{"point", "pt", "gcp", "cp", "target", "marker", "number", "no", "nr", "code"}

// readPoints reads rows of which each is a point with a name of its own.
func (t *table) readPoints() error {
	t.metric = t.columns.metric
	naming := t.columns.name
	for _, key := range t.columns.keys {
		if naming < 0 {
			naming = key
		}
	}
	for i, c := range t.header {
		words := strings.FieldsFunc(strings.ToLower(c.text), func(c rune) bool { return !unicode.IsLetter(c) })
		if naming < 0 && i != t.columns.x && i != t.columns.y && slices.ContainsFunc(words, func(w string) bool { return slices.Contains(pointWords, w) }) {
			naming = i
		}
	}
	for {
		row, err := t.filledRow()
		if len(row) == 0 {
			return err
		}
		if !t.spend() {
			return t.overspent(int64(row[0].offset))
		}
		t.beginFeature()
		place := t.place(int64(row[0].offset))
		var p orb.Point
		for axis, c := range []cell{get(row, t.columns.x), get(row, t.columns.y)} {
			if p[axis], err = t.value(c, axis); err != nil {
				return err
			}
		}
		t.addPoint(place, p)
		name := ""
		if naming >= 0 {
			name = get(row, naming).text
		}
		t.endFeature(int64(row[0].offset), name)
	}
}
