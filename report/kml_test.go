package report

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/boundary/plane"
	"selvage/coverage"
)

type kmlRing struct {
	Coordinates string `xml:"LinearRing>coordinates"`
}

type kmlPolygon struct {
	Outer kmlRing   `xml:"outerBoundaryIs"`
	Inner []kmlRing `xml:"innerBoundaryIs"`
}

type kmlFile struct {
	Name    string `xml:"Document>name"`
	About   string `xml:"Document>description"`
	Folders []struct {
		Name   string `xml:"name"`
		Places []struct {
			Name     string       `xml:"name"`
			About    string       `xml:"description"`
			Style    string       `xml:"styleUrl"`
			Point    string       `xml:"Point>coordinates"`
			Line     string       `xml:"LineString>coordinates"`
			Polygon  *kmlPolygon  `xml:"Polygon"`
			Lines    []string     `xml:"MultiGeometry>LineString>coordinates"`
			Polygons []kmlPolygon `xml:"MultiGeometry>Polygon"`
		} `xml:"Placemark"`
	} `xml:"Document>Folder"`
	Styles []struct {
		ID   string `xml:"id,attr"`
		Line string `xml:"LineStyle>color"`
		Poly string `xml:"PolyStyle>color"`
		Icon string `xml:"IconStyle>color"`
	} `xml:"Document>Style"`
}

func readKML(t *testing.T, text string) kmlFile {
	t.Helper()
	var out kmlFile
	if err := xml.Unmarshal([]byte(text), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func kmlPoints(t *testing.T, text string) (points []orb.Point) {
	t.Helper()
	for _, tuple := range strings.Fields(text) {
		parts := strings.Split(tuple, ",")
		lon, err := strconv.ParseFloat(parts[0], 64)
		if err != nil || len(parts) != 2 {
			t.Fatalf("the position %q", tuple)
		}
		lat, err := strconv.ParseFloat(parts[1], 64)
		if err != nil || math.Abs(lon) > 180 || math.Abs(lat) > 90 {
			t.Fatalf("the position %q", tuple)
		}
		points = append(points, orb.Point{lon, lat})
	}
	return points
}

func (p kmlPolygon) shape(t *testing.T) orb.Polygon {
	out := orb.Polygon{orb.Ring(kmlPoints(t, p.Outer.Coordinates))}
	for _, r := range p.Inner {
		out = append(out, orb.Ring(kmlPoints(t, r.Coordinates)))
	}
	return out
}

// Names bear the numbers of the note, and every style is there (OGC 07-134r2,
// ATC 6).
func TestKMLNames(t *testing.T) {
	n := fakeNote()
	n.KeepOut = orb.MultiPolygon{{box(300, 100, 60, 60)}}
	k := readKML(t, render(t, n, WriteKML))
	styles := map[string]bool{}
	for _, s := range k.Styles {
		styles["#"+s.ID] = true
	}
	var names []string
	for _, f := range k.Folders {
		names = append(names, f.Name)
		for _, p := range f.Places {
			names = append(names, "- "+p.Name)
			if !styles[p.Style] {
				t.Errorf("%s has the style %q, which is not there", p.Name, p.Style)
			}
		}
	}
	want := []string{
		"Control points", "- C1 GCP 4", "- C2", "- C3 a name too long for the map",
		"Areas to fly again", "- R1", "- R2",
		"Edge with too few views", "- E1", "- E2",
		"Zones: gap (no view)", "- Zone 1", "- Zone 2", "Zones: no stereo (1 view)", "- Zone 3", "Zones: thin (2 to 4 views)", "- Zone 4",
		"Site area", "- Site area", "Keep-out area", "- Keep-out area", "Flight area", "- Flight area",
	}
	if strings.Join(names, "\n") != strings.Join(want, "\n") {
		t.Errorf("the names are\n%s\nwant\n%s", strings.Join(names, "\n"), strings.Join(want, "\n"))
	}
	text := render(t, n, WriteKML)
	for _, words := range []string{"gap, 840 m²: no view, 5 wanted.", "chainage 440.0 m to 461.0 m). Least: 4 views, 5 wanted.", "1.48 ha, for 1, 3, 4, E1, E2.", "Coverage: Long Meadow, parcel 14"} {
		if !strings.Contains(text, words) {
			t.Errorf("it does not say: %s", words)
		}
	}
	if strings.Count(text, "http:") > 1 {
		t.Error("there is an address beside the name space")
	}
}

// Colours are aabbggrr, not multiplied by their opacity (OGC 12-007r2, colorType).
func TestKMLColours(t *testing.T) {
	wanted := map[string][3]string{ // line, area, point; the hexadecimals of sheet.css in the other order
		"v0": {"ff2c2218", "b3005ed5", ""}, "v1": {"ff2c2218", "b3009fe6", ""}, "v2": {"ff2c2218", "b342e4f0", ""},
		"flight": {"ff739e00", "33739e00", ""}, "refly": {"ff6a3d8f", "", ""}, "short": {"ff005ed5", "", ""}, "low": {"", "", "ff005ed5"},
	}
	for _, s := range readKML(t, render(t, fakeNote(), WriteKML)).Styles {
		if want, known := wanted[s.ID]; known && want != [3]string{s.Line, s.Poly, s.Icon} {
			t.Errorf("%s is %v, want %v", s.ID, s, want)
		}
		delete(wanted, s.ID)
	}
	if len(wanted) > 0 {
		t.Errorf("styles that are not there: %v", wanted)
	}
}

// Polygons are valid, turned as they should be, and keep their ground and holes:
// they move by the rounding to 8 decimals, 0.8 mm at most.
func TestKMLShapes(t *testing.T) {
	n := fakeNote()
	n.Audit.Zones = []coverage.Zone{
		{Kind: coverage.Gap, Shape: orb.Polygon{box(10, 10, 80, 60), reversed(box(20, 20, 10, 10)), reversed(ring(40, 20, 55, 25, 45, 50))}, Label: local(11, 11)},
		{Kind: coverage.Thin, Shape: orb.Polygon{ring(0, 0, 100, 0.0002, 100, 0.0004)}, Label: local(50, 0.0002)}, // thinner than the decimals
	}
	for _, f := range readKML(t, render(t, n, WriteKML)).Folders {
		for _, p := range f.Places {
			switch p.Name {
			case "Zone 1":
				got, want := orb.MultiPolygon{p.Polygon.shape(t)}, orb.MultiPolygon{n.Audit.Zones[0].Shape}
				if err := plane.Valid(got); err != nil || len(got[0]) != 3 || got[0][0].Orientation() != orb.CCW || got[0][1].Orientation() != orb.CW {
					t.Errorf("%v: %v", err, got)
				}
				if d := math.Abs(plane.GeodesicArea(got) - plane.GeodesicArea(want)); d > 0.0008*plane.GeodesicPerimeter(want) {
					t.Errorf("the area is off by %v m²", d)
				}
			case "Zone 2":
				if at := kmlPoints(t, p.Point); len(at) != 1 || p.Polygon != nil {
					t.Errorf("a zone thinner than the decimals: %+v", p)
				}
			case "Site area":
				if p.Polygon == nil || len(p.Polygon.Inner) != 1 {
					t.Errorf("the site area: %+v", p)
				}
			}
		}
	}
}

func reversed(r orb.Ring) orb.Ring {
	r.Reverse()
	return r
}

// Nothing lies beyond 180 or -180, and nothing is lost there.
func TestKMLAcrossTheAntimeridian(t *testing.T) {
	n := fakeNote()
	square := func(west, east float64) orb.Ring {
		return orb.Ring{{west, 10}, {east, 10}, {east, 10.01}, {west, 10.01}, {west, 10}}
	}
	n.SiteArea, n.FlightArea, n.Audit.Points, n.Audit.Refly = orb.MultiPolygon{{square(179.99, 180.02)}}, nil, nil, nil
	n.Audit.Zones = []coverage.Zone{{Kind: coverage.Gap, Shape: orb.Polygon{square(-180.004, -179.999)}, Label: orb.Point{-180.001, 10.005}}}
	n.Audit.Edge.Stretches = []coverage.Stretch{
		{Path: orb.LineString{{179.99, 10}, {180.01, 10.002}, {180.02, 10.003}}},
		{Path: orb.LineString{{-179.995, 10}, {-180, 10}, {-180, 10.01}, {-180.005, 10.01}}},
		{Path: orb.LineString{{180.001, 10}, {180.002, 10}}},
	}
	k := readKML(t, render(t, n, WriteKML))
	length := func(texts ...string) (sum float64) {
		for _, text := range texts {
			line := kmlPoints(t, text)
			for i := 1; i < len(line); i++ {
				if math.Abs(line[i][0]-line[i-1][0]) > 1 {
					t.Errorf("a line runs around the globe: %v", line)
				}
				sum += plane.GeodesicDistance(line[i-1], line[i])
			}
		}
		return sum
	}
	for _, f := range k.Folders {
		for i, p := range f.Places {
			var got, want float64
			switch {
			case strings.HasPrefix(p.Name, "E"):
				got = length(append(p.Lines, p.Line)...)
				path := n.Audit.Edge.Stretches[i].Path
				for j := 1; j < len(path); j++ {
					want += plane.GeodesicDistance(path[j-1], path[j])
				}
			default:
				var shape orb.MultiPolygon
				for _, polygon := range p.Polygons {
					shape = append(shape, polygon.shape(t))
				}
				got = plane.GeodesicArea(shape)
				if want = plane.GeodesicArea(n.SiteArea); p.Name == "Zone 1" {
					want = plane.GeodesicArea(orb.MultiPolygon{n.Audit.Zones[0].Shape})
				}
			}
			if math.Abs(got-want) > 1e-5*want+0.003 {
				t.Errorf("%s: %v, want %v", p.Name, got, want)
			}
		}
	}
}

func TestKMLOfHostileNames(t *testing.T) {
	usual := map[string]bool{}
	for _, e := range elements(t, render(t, fakeNote(), WriteKML)) {
		usual[e.Name.Local] = true
	}
	n := hostileNote()
	n.Audit.Zones[0].Kind = coverage.Gap // which is no name
	n.Audit.Points[0].Name = hostile
	text := render(t, n, WriteKML)
	for _, e := range elements(t, text) {
		if !usual[e.Name.Local] {
			t.Errorf("there is a <%s>", e.Name.Local)
		}
	}
	k := readKML(t, text)
	if !strings.Contains(k.Name, "<script>alert(1)</script>") {
		t.Errorf("the name is %q", k.Name)
	}
	// Viewers take descriptions for HTML, so no name stands in one.
	for _, f := range k.Folders {
		for _, p := range f.Places {
			if strings.ContainsAny(p.About, "<&") || strings.ContainsAny(k.About, "<&") {
				t.Errorf("%s: %s", p.Name, p.About)
			}
		}
	}
}

func TestKMLOfNoPlace(t *testing.T) {
	if err := WriteKML(io.Discard, oddNote()); err == nil {
		t.Error("a position that is no place was written")
	}
	if text := render(t, Note{Audit: &coverage.Audit{}}, WriteKML); strings.Contains(text, "Folder") {
		t.Errorf("folders of nothing: %s", text)
	}
}

// Another reader of ours takes it.
func TestKMLIsReadAgain(t *testing.T) {
	file, err := boundary.Read("a.kml", []byte(render(t, fakeNote(), WriteKML)), boundary.Options{})
	if err != nil || len(file.Parts) != 8 {
		t.Errorf("%v: %v", err, fmt.Sprint(file))
	}
}
