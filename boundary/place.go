package boundary

import (
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/crs"
	"selvage/boundary/finding"
)

// parseSystem finds the coordinate system that a file or a pilot names.
func parseSystem(name string) (crs.System, error) {
	upper := strings.ToUpper(name)
	switch {
	case strings.Contains(upper, "OGC") && strings.HasSuffix(upper, "CRS84"):
		name = "EPSG:4326"
	case strings.Contains(upper, "EPSG") && strings.HasSuffix(upper, "4979"):
		name = "EPSG:4326" // the same with heights
	}
	return crs.Parse(name)
}

// inPlane reports whether a name is that of a system of eastings and northings.
func inPlane(name string) bool {
	if name == "" {
		return false
	}
	system, err := parseSystem(name)
	return err == nil && !system.Geographic()
}

// transform brings the parts to degrees lon/lat on WGS 84, from the system that
// was asked for, else from the one that the file names. Numbers that evidently
// are in some other system, but nobody says in which, become a question.
func (f *File) transform(r *reading, asked *crs.System) error {
	from := asked
	if named := r.system; named.named {
		system, err := parseSystem(named.name)
		switch {
		case asked != nil && (err != nil || system.Name() != asked.Name()):
			f.overrule(named, system, *asked)
		case asked != nil:
		case named.name == "":
			return &ReadError{named.place, "the file names the coordinate system of its numbers in a way that is not read here; please say which it is (--crs)"}
		case err != nil:
			return &ReadError{named.place, err.Error()}
		default:
			from = &system
		}
	}
	switch {
	case from == nil:
		return f.questionNumbers(r.metric)
	case !from.IsWGS84():
		looksGeographic := !from.Geographic() && f.allDegrees()
		if err := f.bringOver(*from); err != nil {
			if looksGeographic {
				err.Text += "; the numbers look like longitudes and latitudes"
			}
			return err
		}
		if looksGeographic {
			f.sayLooksGeographic(*from)
		}
	}
	f.sayTransformed(*from)
	return nil
}

func (f *File) bringOver(from crs.System) *ReadError {
	for _, part := range f.Parts {
		for k, ring := range part.Polygon {
			for i, p := range ring {
				q, err := from.ToWGS84(p)
				if err != nil {
					place := part.Place
					place.Ring, place.Vertex = k+1, i+1
					return &ReadError{place, err.Error()}
				}
				ring[i] = q
			}
		}
	}
	for _, path := range f.Paths {
		for i, p := range path.Line {
			q, err := from.ToWGS84(p)
			if err != nil { // no reason to refuse a file for its polygons
				q = orb.Point{math.NaN(), math.NaN()}
			}
			path.Line[i] = q
		}
	}
	return nil
}

func (f *File) sayTransformed(from crs.System) {
	caveat := from.Caveat()
	if from.Geographic() && caveat.Empty() || len(f.Parts) == 0 {
		return
	}
	text := finding.Say("The coordinates are in %s and are brought to longitude and latitude on WGS 84.", from.Name())
	if from.IsWGS84() {
		text = finding.Say("The coordinates are longitude and latitude on %s and are taken as WGS 84.", from.Name())
	}
	f.Findings = append(f.Findings, finding.Finding{
		Code: finding.Transformed, Severity: finding.Note, Place: finding.Place{File: f.Name}, Text: finding.Sentences(text, caveat),
	})
}

// overrule says that the system asked for is not the one that the file names.
func (f *File) overrule(named system, known, asked crs.System) {
	what := finding.Say("%s", known.Name())
	switch {
	case named.name == "":
		what = finding.Say("one that is not read here")
	case known.Name() == "":
		what = finding.Say("%s", quote(named.name))
	}
	f.Findings = append(f.Findings, finding.Finding{
		Code: finding.SystemOverruled, Severity: finding.NeedsAnswer, Place: named.place,
		Text: finding.Sentences(finding.Say("The file names the coordinate system of its numbers as %s, but they are read as %s, as was asked for.", what, asked.Name()), askWhich),
	})
}

var askWhich = finding.Tell(finding.Say("Ask the client which is right."), finding.Say("Please say which is right."))

// questionNumbers adds a question when all numbers lie so far beyond degrees
// that they must be metres or feet, or when the file says that they are.
func (f *File) questionNumbers(metric bool) error {
	vertices := 0
	var first orb.Point
	for _, part := range f.Parts {
		for k, ring := range part.Polygon {
			for i, p := range ring {
				if math.Abs(p[0]) < leastProjected && math.Abs(p[1]) < leastProjected {
					if !metric {
						return nil
					}
					place := part.Place
					place.Ring, place.Vertex = k+1, i+1
					return &ReadError{place, "the columns are called easting and northing; please say in which coordinate system the numbers are (--crs)"}
				}
				if vertices++; vertices == 1 {
					first = p
				}
			}
		}
	}
	if vertices == 0 {
		return nil
	}
	place := f.Parts[0].Place
	place.Part = 0
	f.Findings = append(f.Findings, finding.Finding{
		Code: finding.LooksProjected, Severity: finding.NeedsAnswer, Place: place, Amount: float64(vertices), Unit: "vertices",
		Text: finding.Sentences(
			finding.Say("The numbers are no longitudes and latitudes (the first vertex is %.10g, %.10g) but probably metres or feet of a map grid: %s.",
				first[0], first[1], finding.Or(likelySystems(first))),
			finding.Say("Ask the client which; once it is known it can be given (--crs, such as --crs EPSG:32632).")),
	})
	return nil
}

// allDegrees reports whether all numbers could be longitudes and latitudes.
func (f *File) allDegrees() bool {
	for _, part := range f.Parts {
		for _, ring := range part.Polygon {
			for _, p := range ring {
				if math.Abs(p[0]) > 180 || math.Abs(p[1]) > 90 {
					return false
				}
			}
		}
	}
	return len(f.Parts) > 0
}

// sayLooksGeographic asks about numbers that could be degrees but are read as
// metres or feet, unless the reader of the format has asked already.
func (f *File) sayLooksGeographic(from crs.System) {
	if slices.ContainsFunc(f.Findings, func(x finding.Finding) bool { return x.Code == finding.LooksGeographic }) {
		return
	}
	place := f.Parts[0].Place
	place.Part = 0
	f.Findings = append(f.Findings, finding.Finding{
		Code: finding.LooksGeographic, Severity: finding.NeedsAnswer, Place: place,
		Text: finding.Sentences(finding.Say("The numbers look like longitudes and latitudes, but they are read as %s.", from.Name()), askWhich),
	})
}

// leastProjected is far above any longitude; grids of countries and zones begin
// their counts far above it.
const leastProjected = 1000

// likelySystems names the kinds of systems in which p could be a position.
func likelySystems(p orb.Point) []finding.Text {
	var likely []finding.Text
	// The zones are 6 degrees wide at most, which is 334 km either side of
	// 500 km at the equator; the equator is at 0 or 10,000 km.
	if p[0] > 160_000 && p[0] < 840_000 && p[1] >= 0 && p[1] <= 10_000_000 {
		likely = append(likely, finding.Say("UTM (which zone?)"))
	}
	if mercator, err := crs.Parse("EPSG:3857"); err == nil {
		if q, err := mercator.ToWGS84(p); err == nil && math.Abs(q[0]) <= 180 && math.Abs(q[1]) < 85.06 {
			likely = append(likely, finding.Say("Web Mercator (it would lie at latitude %.3f, longitude %.3f)", q[1], q[0]))
		}
	}
	return append(likely, finding.Say("a national or state grid in metres or feet (which?)"))
}
