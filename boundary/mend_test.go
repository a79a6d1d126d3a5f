package boundary

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// hundred is the side of a lattice that the tests draw on: about 100 m.
const hundred = 0.001

// drawn reads polygons in WKT, in lattice units around a place, as a client's file.
func drawn(t testing.TB, at orb.Point, wkts ...string) *File {
	t.Helper()
	f := &File{Name: "test.kml"}
	for i, wkt := range wkts {
		g, err := geom.UnmarshalWKT(wkt, geom.NoValidate{})
		if err != nil {
			t.Fatal(err)
		}
		var polygon orb.Polygon
		for _, ls := range g.MustAsPolygon().DumpRings() {
			var ring orb.Ring
			for seq, k := ls.Coordinates(), 0; k < seq.Length(); k++ {
				xy := seq.GetXY(k)
				ring = append(ring, orb.Point{at[0] + xy.X*hundred, at[1] + xy.Y*hundred})
			}
			polygon = append(polygon, ring)
		}
		name := fmt.Sprintf("Field %d", i+1)
		f.Parts = append(f.Parts, Part{Name: name, Place: finding.Place{File: f.Name, Feature: i + 1, Name: name, Part: 1}, Polygon: polygon})
	}
	return f
}

func asGeom(mp orb.MultiPolygon) geom.MultiPolygon {
	var polygons []geom.Polygon
	for _, p := range mp {
		var rings []geom.LineString
		for _, ring := range p {
			var flat []float64
			for _, q := range ring {
				flat = append(flat, q[0], q[1])
			}
			rings = append(rings, geom.NewLineString(geom.NewSequence(flat, geom.DimXY)))
		}
		polygons = append(polygons, geom.NewPolygon(rings))
	}
	return geom.NewMultiPolygon(polygons)
}

func codesAndSeverities(found []finding.Finding) string {
	var all []string
	for _, f := range found {
		s := fmt.Sprintf("%s:%s", f.Code, f.Severity)
		if !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	slices.Sort(all)
	return strings.Join(all, " ")
}

// A hole that reaches far out of its outline, farther than a grid of 0.1 mm is
// wide, is cut where the outline is: what is left is the outline with a notch.
func TestMendFarHole(t *testing.T) {
	outline := orb.Ring{{9.9, 49.9}, {10.1, 49.9}, {10.1, 50.1}, {9.9, 50.1}, {9.9, 49.9}}
	f := &File{Parts: []Part{{Polygon: orb.Polygon{outline, {{10, 50}, {12, 50.4}, {12, 49.6}, {10, 50}}}}}}
	site, err := Mend(f, Choices{Hole: Clip})
	if err != nil {
		t.Fatal(err)
	}
	// The hole's sides rise by a fifth.
	notched := orb.Ring{{9.9, 49.9}, {10.1, 49.9}, {10.1, 49.98}, {10, 50}, {10.1, 50.02}, {10.1, 50.1}, {9.9, 50.1}, {9.9, 49.9}}
	if want := plane.GeodesicArea(orb.MultiPolygon{{notched}}); math.Abs(site.Area-want) > 1e-6*want {
		t.Errorf("%v m², want %v", site.Area, want)
	}
}

// Areas are in lattice squares. They are counted off the drawing by hand; the
// same drawings stand in OGC Simple Features 06-103r4, 6.1.11, and among the
// usual faults of hand-drawn outlines (common practice, no source).
func TestMendCases(t *testing.T) {
	const square = "((0 0,10 0,10 10,0 10,0 0))"
	for _, c := range []struct {
		name  string
		wkts  []string
		want  string
		area  float64
		areas int // named areas
	}{
		{"sound", []string{"POLYGON" + square}, "", 100, 1},
		{"unclosed", []string{"POLYGON((0 0,10 0,10 10,0 10))"}, "unclosed-ring:mended", 100, 1},
		{"repeated", []string{"POLYGON((0 0,10 0,10 0,10 0,10 10,0 10,0 0,0 0))"}, "repeated-vertex:mended", 100, 1},
		{"near", []string{"POLYGON((0 0,10 0,10.0002 0,10 10,0 10,0 0))"}, "near-vertex:note", 100, 1},
		{"spike", []string{"POLYGON((0 0,10 0,10 5,15 5,10 5,10 10,0 10,0 0))"}, "spike:mended", 100, 1},
		{"inward slit", []string{"POLYGON((0 0,10 0,10 5,5 5,10 5,10 10,0 10,0 0))"}, "spike:mended", 100, 1},
		{"spike with a bend", []string{"POLYGON((0 0,10 0,10 5,15 5,15 8,15 5,10 5,10 10,0 10,0 0))"}, "spike:mended", 100, 1},
		{"spike at the start", []string{"POLYGON((-5 0,10 0,10 10,0 10,0 0,-5 0))"}, "spike:mended", 100, 1},
		{"bow-tie", []string{"POLYGON((0 0,10 10,10 0,0 10,0 0))"}, "self-crossing:needs-answer", 50, 1},
		{"small loop", []string{"POLYGON((0 0,10 0,10 10,4.9 10,5.1 10.2,4.9 10.2,5.1 10,0 10,0 0))"}, "micro-loop:mended retraced:mended", 100, 1},
		{"clockwise", []string{"POLYGON((0 0,0 10,10 10,10 0,0 0))"}, "wrong-winding:mended", 100, 1},
		{"hole wound like its outline", []string{"POLYGON((0 0,10 0,10 10,0 10,0 0),(2 2,4 2,4 4,2 4,2 2))"}, "wrong-winding:mended", 96, 1},
		{"zero area", []string{"POLYGON((0 0,10 0,5 0,0 0))", "POLYGON" + square}, "zero-area:needs-answer", 100, 1},
		{"two points", []string{"POLYGON((0 0,10 0,0 0))", "POLYGON" + square}, "too-few-vertices:needs-answer", 100, 1},
		{"hole of two points", []string{"POLYGON((0 0,10 0,10 10,0 10,0 0),(2 2,4 2,2 2))"}, "too-few-vertices:mended", 100, 1},
		{"hole without area", []string{"POLYGON((0 0,10 0,10 10,0 10,0 0),(2 2,4 4,3 3,2 2))"}, "zero-area:mended", 100, 1},
		{"hole outside", []string{"POLYGON((0 0,10 0,10 10,0 10,0 0),(12 2,12 4,14 4,14 2,12 2))"}, "hole-outside:needs-answer", 100, 1},
		{"hole crosses", []string{"POLYGON((0 0,10 0,10 10,0 10,0 0),(8 4,8 6,14 6,14 4,8 4))"}, "hole-crosses:needs-answer", 96, 1},
		{"hole shares a side", []string{"POLYGON((0 0,10 0,10 10,0 10,0 0),(0 2,0 4,3 4,3 2,0 2))"}, "hole-shares-edge:mended", 94, 1},
		{"holes overlap", []string{"POLYGON((0 0,20 0,20 20,0 20,0 0),(2 2,2 10,10 10,10 2,2 2),(6 6,6 15,15 15,15 6,6 6))"}, "holes-overlap:mended", 271, 1},
		{"holes nested", []string{"POLYGON((0 0,20 0,20 20,0 20,0 0),(2 2,2 18,18 18,18 2,2 2),(5 5,5 10,10 10,10 5,5 5))"}, "holes-overlap:mended", 144, 1},
		{"hole divides", []string{"POLYGON((0 0,10 0,10 10,0 10,0 0),(0 5,5 4,10 5,5 6,0 5))"}, "interior-divided:mended", 90, 1},
		{"touches itself", []string{"POLYGON((0 0,5 0,3 3,7 3,5 0,10 0,10 10,0 10,0 0))"}, "self-touch:mended", 94, 1},
		{"parts overlap", []string{"POLYGON" + square, "POLYGON((5 5,15 5,15 15,5 15,5 5))"}, "parts-overlap:needs-answer", 175, 1},
		{"parts overlap a little", []string{"POLYGON" + square, "POLYGON((9.99 0,20 0,20 10,9.99 10,9.99 0))"}, "parts-overlap:mended", 200, 1},
		{"duplicate", []string{"POLYGON" + square, "POLYGON((10 10,0 10,0 0,10 0,10 10))"}, "duplicate-part:mended", 100, 1},
		{"part in a part", []string{"POLYGON" + square, "POLYGON((2 2,4 2,4 4,2 4,2 2))"}, "parts-overlap:needs-answer", 100, 1},
		{"parts share a side", []string{"POLYGON" + square, "POLYGON((10 0,20 0,20 10,10 10,10 0))"}, "parts-share-edge:note", 200, 2},
		{"corner to corner", []string{"POLYGON" + square, "POLYGON((10 10,20 10,20 20,10 20,10 10))"}, "", 200, 2},
		{"apart", []string{"POLYGON" + square, "POLYGON((30 0,40 0,40 10,30 10,30 0))"}, "", 200, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := drawn(t, orb.Point{7, 47}, c.wkts...)
			before := fmt.Sprint(f.Parts)
			site, err := Mend(f, Choices{})
			if err != nil {
				t.Fatal(err)
			}
			if got := codesAndSeverities(site.Findings); got != c.want {
				t.Errorf("findings %q, want %q", got, c.want)
			}
			// A degree of longitude shrinks to the north by 1.6e-4 over ten lattice units.
			unit := plane.GeodesicArea(orb.MultiPolygon{{orb.Bound{Min: orb.Point{7, 47}, Max: orb.Point{7 + 10*hundred, 47 + 10*hundred}}.ToRing()}}) / 100
			if got := site.Area / unit; math.Abs(got-c.area) > c.area*5e-4 {
				t.Errorf("area %v lattice squares, want %v", got, c.area)
			}
			if len(site.Areas) != c.areas {
				t.Errorf("%d areas, want %d", len(site.Areas), c.areas)
			}
			for _, a := range site.Areas {
				if err := asGeom(a.Shape).Validate(); err != nil {
					t.Errorf("%s: %v", a.Name, err)
				}
			}
			for _, f := range site.Findings {
				if f.Severity == finding.Mended && f.Code != finding.NearVertex && len(site.Mends) == 0 {
					t.Errorf("%s is mended, but the ledger is empty", f.Code)
				}
			}
			if fmt.Sprint(f.Parts) != before {
				t.Error("mending has changed the file's own parts")
			}
		})
	}
}

// Vertices that no fault touches must come through bit for bit.
func TestMendKeepsCoordinates(t *testing.T) {
	f := drawn(t, orb.Point{7.123456789012345, 47.98765432109876},
		"POLYGON((0 0,10 0,10 10,5 12,0 10,0 5,-3 5,0 5,0 0))", "POLYGON((20 0,30 10,30 0,20 10,20 0))")
	site, err := Mend(f, Choices{})
	if err != nil {
		t.Fatal(err)
	}
	given := map[orb.Point]bool{}
	for _, part := range f.Parts {
		for _, p := range part.Polygon[0] {
			given[p] = true
		}
	}
	made := 0
	for _, a := range site.Areas {
		for _, polygon := range a.Shape {
			for _, p := range polygon[0][1:] {
				if !given[p] {
					made++
				}
			}
		}
	}
	if made != 2 { // the crossing, once in each lobe
		t.Errorf("%d vertices are not the file's own, want the crossing in two lobes only", made)
	}
}

func TestMendHostile(t *testing.T) {
	n := 500
	if testing.Short() {
		n = 100
	}
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		n = 5000
	}
	r := rand.New(rand.NewPCG(21, 22))
	for i := range n {
		f := &File{Name: "hostile"}
		for k := range 1 + r.IntN(3) {
			var polygon orb.Polygon
			for range 1 + r.IntN(3) {
				var ring orb.Ring
				for range 2 + r.IntN(8) {
					ring = append(ring, orb.Point{7 + float64(r.IntN(9))*hundred/3, 47 + float64(r.IntN(9))*hundred/3})
				}
				polygon = append(polygon, append(ring, ring[0]))
			}
			f.Parts = append(f.Parts, Part{Place: finding.Place{Feature: k + 1, Part: 1}, Polygon: polygon})
		}
		site, err := Mend(f, Choices{})
		if err != nil {
			continue
		}
		whole := site.Shape()
		if err := asGeom(whole).Validate(); err != nil {
			t.Fatalf("case %d: %v\n%v\n%v\n%s", i, err, f.Parts, plane.Faults(whole), asGeom(whole).AsText())
		}
		// Mending the mended changes nothing, down to the last bit.
		again := &File{Name: "again"}
		for k, a := range site.Areas {
			if err := asGeom(a.Shape).Validate(); err != nil {
				t.Fatalf("case %d: %v\n%v", i, err, f.Parts)
			}
			for j, p := range a.Shape {
				again.Parts = append(again.Parts, Part{Place: finding.Place{Feature: k + 1, Part: j + 1}, Polygon: p})
			}
		}
		twice, err := Mend(again, Choices{})
		if err != nil {
			t.Fatalf("case %d: %v", i, err)
		}
		if len(twice.Mends) > 0 {
			t.Fatalf("case %d: mending the mended: %+v\n%v\n%v", i, twice.Mends, f.Parts, site.Areas)
		}
		for k, a := range twice.Areas {
			if fmt.Sprint(a.Shape[0]) != fmt.Sprint(again.Parts[k].Polygon) {
				t.Fatalf("case %d: mending the mended moves part %d:\n%v\n%v", i, k, again.Parts[k].Polygon, a.Shape)
			}
		}
	}
}

func TestMendOutOfRange(t *testing.T) {
	square := func(x, y, w float64) Part {
		return Part{Name: "Field", Place: finding.Place{Feature: 1, Name: "Field", Part: 1}, Polygon: orb.Polygon{orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + w, y + w}}.ToRing()}}
	}
	for _, c := range []struct {
		part Part
		want string
		ok   bool
	}{
		{square(51, 179.5, 0.01), "swapped-coordinates:needs-answer", false}, // latitude 51, longitude 179.5
		{square(400000, 5200000, 100), "out-of-range:needs-answer", false},
		{square(359.9, 10, 0.01), "out-of-range:mended", true},
		{square(179.995, 10, 0.01), "out-of-range:mended", true},
	} {
		site, err := Mend(&File{Parts: []Part{c.part}}, Choices{})
		if got := codesAndSeverities(site.Findings); got != c.want || (err == nil) != c.ok {
			t.Errorf("%v: %q, %v; want %q", c.part.Polygon, got, err, c.want)
		}
	}
}
