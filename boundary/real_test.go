package boundary

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// skipUnlessRequired ends a test for want of a reference; with
// SELVAGE_REFERENCE_TOOLS=required that is a failure.
func skipUnlessRequired(t testing.TB, format string, args ...any) {
	t.Helper()
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		t.Fatalf(format, args...)
	}
	t.Skipf(format, args...)
}

// realShape is one feature of an atlas.
type realShape struct {
	id, name string
	shape    orb.MultiPolygon
}

func (s realShape) file() *File {
	f := &File{Name: "atlas.json"}
	for i, p := range s.shape {
		f.Parts = append(f.Parts, Part{Name: s.name, Place: finding.Place{File: f.Name, Feature: 1, Name: s.name, Part: i + 1}, Polygon: p})
	}
	return f
}

// readAtlas reads the areas of one object of a TopoJSON file in the folder that
// SELVAGE_ATLAS names. The files are those of the npm packages us-atlas 3.0.1
// (data of the US Census Bureau, public domain) and world-atlas 2.0.2 (Natural
// Earth, public domain). Their coordinates are rounded to a grid of some
// hundred metres, which makes some shapes invalid: the same defect that clients
// make by rounding.
func readAtlas(t testing.TB, file, object string) []realShape {
	t.Helper()
	folder := os.Getenv("SELVAGE_ATLAS")
	if folder == "" {
		skipUnlessRequired(t, "no cross-check against real shapes: SELVAGE_ATLAS names no folder with us-atlas and world-atlas")
	}
	data, err := os.ReadFile(filepath.Join(folder, filepath.FromSlash(file)))
	if err != nil {
		skipUnlessRequired(t, "no cross-check against real shapes: %v", err)
	}
	var topology struct {
		Transform struct{ Scale, Translate orb.Point }
		Arcs      [][]orb.Point
		Objects   map[string]struct {
			Geometries []struct {
				Type       string
				ID         string
				Arcs       json.RawMessage
				Properties struct{ Name string }
			}
		}
	}
	if err := json.Unmarshal(data, &topology); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	// Each arc holds whole steps from one position to the next.
	arcs := make([]orb.Ring, len(topology.Arcs))
	for i, steps := range topology.Arcs {
		var at orb.Point
		for _, step := range steps {
			at = orb.Point{at[0] + step[0], at[1] + step[1]}
			arcs[i] = append(arcs[i], orb.Point{
				at[0]*topology.Transform.Scale[0] + topology.Transform.Translate[0],
				at[1]*topology.Transform.Scale[1] + topology.Transform.Translate[1]})
		}
	}
	polygon := func(rings [][]int) (p orb.Polygon) {
		for _, numbers := range rings {
			var ring orb.Ring
			for _, n := range numbers {
				arc := arcs[max(n, ^n)]
				if n < 0 { // the complement of the number, for the arc backwards
					arc = arc.Clone()
					arc.Reverse()
				}
				if len(ring) > 0 {
					arc = arc[1:]
				}
				ring = append(ring, arc...)
			}
			p = append(p, ring)
		}
		return p
	}
	var shapes []realShape
	for _, g := range topology.Objects[object].Geometries {
		s := realShape{id: g.ID, name: g.Properties.Name}
		parts := make([][][]int, 1)
		target := any(&parts[0])
		if g.Type == "MultiPolygon" {
			target = &parts
		}
		if err := json.Unmarshal(g.Arcs, target); err != nil {
			t.Fatalf("%s, %s: %v", file, s.name, err)
		}
		for _, rings := range parts {
			s.shape = append(s.shape, polygon(rings))
		}
		shapes = append(shapes, s)
	}
	return shapes
}

// geosValid asks GEOS about each shape, through the helper of package plane.
func geosValid(t testing.TB, shapes []orb.MultiPolygon) []bool {
	t.Helper()
	program := filepath.Join(t.TempDir(), "geos")
	if out, err := exec.Command("cc", "-O2", "-o", program, filepath.Join("plane", "testdata", "geos.c"), "-lgeos_c").CombinedOutput(); err != nil {
		skipUnlessRequired(t, "no cross-check against GEOS: %v\n%s", err, out)
	}
	var questions strings.Builder
	for _, shape := range shapes {
		fmt.Fprintf(&questions, "self\t0\t%s\t\n", wkt.MarshalString(shape))
	}
	cmd := exec.Command(program)
	cmd.Stdin = strings.NewReader(questions.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("GEOS: %v", err)
	}
	var valid []bool
	for lines := bufio.NewScanner(strings.NewReader(string(out))); lines.Scan(); {
		valid = append(valid, strings.HasPrefix(lines.Text(), "1 "))
	}
	if len(valid) != len(shapes) {
		t.Fatalf("GEOS answers %d of %d questions", len(valid), len(shapes))
	}
	return valid
}

// How many shapes are invalid was counted with GEOS 3.11.1's IsValid; the test
// asks it again, shape by shape.
//
//	                  shapes  invalid  of these   valid ones    mended ones
//	                                   left out   with a doubt  not valid
//	counties-10m        3231       40         1              0            0
//	states-10m            56        2         0              0            0
//	countries-10m        255       54         1              0            0
//	countries-50m        241        3         0              0            0
//	countries-110m       177        5         0              0            0
func TestRealShapes(t *testing.T) {
	for _, c := range []struct {
		file, object    string
		shapes, invalid int
		nothing         string // shapes whose only ring has collapsed to a line or point
		vetted          bool   // with what no rule forbids, which takes long on whole countries
	}{
		{"us-atlas/counties-10m.json", "counties", 3231, 40, "Falls Church", true},
		{"us-atlas/states-10m.json", "states", 56, 2, "", false},
		{"world-atlas/countries-10m.json", "countries", 255, 54, "Vatican", false},
		{"world-atlas/countries-50m.json", "countries", 241, 3, "", false},
		{"world-atlas/countries-110m.json", "countries", 177, 5, "", false},
	} {
		t.Run(c.file, func(t *testing.T) {
			shapes := readAtlas(t, c.file, c.object)
			asDrawn := make([]orb.MultiPolygon, len(shapes))
			for i, s := range shapes {
				asDrawn[i] = s.shape
			}
			validForGEOS := geosValid(t, asDrawn)
			invalid := 0
			var nothing []string
			var mended []orb.MultiPolygon
			var names []string
			for i, s := range shapes {
				fault := plane.Valid(s.shape)
				if fault != nil {
					invalid++
				}
				if (fault == nil) != validForGEOS[i] {
					t.Errorf("%s: valid for GEOS is %v, for us: %v", s.name, validForGEOS[i], fault)
				}
				site, err := Mend(s.file(), Choices{})
				if err != nil {
					nothing = append(nothing, s.name)
					if !errors.Is(err, ErrNoArea) || finding.Worst(site.Findings) != finding.NeedsAnswer {
						t.Errorf("%s: %v, with %s", s.name, err, codesAndSeverities(site.Findings))
					}
					continue
				}
				if err := asGeom(site.Shape()).Validate(); err != nil {
					t.Errorf("%s: mended and not valid: %v", s.name, err)
				}
				mended, names = append(mended, site.Shape()), append(names, s.name)
				if fault != nil {
					continue
				}
				found := site.Findings
				if c.vetted {
					found = Vet(s.file(), Expected{}, Choices{}).Findings
				}
				checkNoAlarm(t, s, site, found)
			}
			for i, valid := range geosValid(t, mended) {
				if !valid {
					t.Errorf("%s: mended and not valid for GEOS", names[i])
				}
			}
			if len(shapes) != c.shapes || invalid != c.invalid || strings.Join(nothing, ", ") != c.nothing {
				t.Errorf("of %d shapes %d are invalid, left with nothing: %q; want %d, %d, %q", len(shapes), invalid, nothing, c.shapes, c.invalid, c.nothing)
			}
		})
	}
}

// checkNoAlarm holds what becomes of a valid shape against the shape: nothing is
// asked but what its size and spread ask for, and no vertex moves but by whole
// turns of the earth.
func checkNoAlarm(t *testing.T, s realShape, site Site, found []finding.Finding) {
	t.Helper()
	for _, f := range found {
		switch f.Code {
		case finding.AreaLarge, finding.AreaSmall, finding.PartsFarApart, finding.NearPole: // true of counties and countries
		default:
			if f.Severity == finding.NeedsAnswer {
				t.Errorf("%s is valid, yet: %s: %s", s.name, f.Code, f.Text)
			}
		}
	}
	given := map[orb.Point]bool{}
	for _, p := range s.shape {
		for _, ring := range p {
			for _, q := range ring {
				for _, turn := range []float64{-360, 0, 360} {
					given[orb.Point{q[0] + turn, q[1]}] = true
				}
			}
		}
	}
	for _, a := range site.Areas {
		for _, p := range a.Shape {
			for _, ring := range p {
				for _, q := range ring {
					if !given[q] {
						t.Errorf("%s is valid, yet %v is none of its vertices", s.name, q)
						return
					}
				}
			}
		}
	}
}

// Areas in km². The first column is geodesic, reckoned from the same
// coordinates with GeographicLib 2.1.2; the second the land and water that the
// Census Bureau publishes for the state (from memory).
func TestRealAreas(t *testing.T) {
	published := map[string][2]float64{
		"Wyoming":  {253362.0, 253335},
		"Colorado": {269576.7, 269601},
		"Oregon":   {251344.1, 0}, // 254799 with coastal water, which the atlas does not draw
	}
	for _, s := range readAtlas(t, "us-atlas/states-10m.json", "states") {
		want, ok := published[s.name]
		if !ok {
			continue
		}
		delete(published, s.name)
		site, err := Mend(s.file(), Choices{})
		if err != nil {
			t.Fatal(err)
		}
		if got := site.Area / 1e6; math.Abs(got-want[0]) > 0.06 {
			t.Errorf("%s has %.3f km², want %.1f", s.name, got, want[0])
		}
		if got := site.Area / 1e6; want[1] > 0 && math.Abs(got/want[1]-1) > 2e-4 {
			t.Errorf("%s has %.3f km², the Census Bureau says %.0f", s.name, got, want[1])
		}
	}
	if len(published) > 0 {
		t.Errorf("not in the atlas: %v", published)
	}
	// With GEOS 3.11.1 and GeographicLib 2.1.2: the net area as drawn, and
	// once GEOS has mended the loop. Over 17 degrees our grid has 1 cm cells,
	// and Sudan some 9000 km of outline: 0.09 km² at most.
	for _, s := range readAtlas(t, "world-atlas/countries-110m.json", "countries") {
		if s.name != "Sudan" {
			continue
		}
		site, err := Mend(s.file(), Choices{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(site.AreaBefore/1e6-1850933.302) > 0.001 || math.Abs(site.Area/1e6-1850949.813) > 0.09 {
			t.Errorf("Sudan has %.3f km² and mended %.3f, want 1850933.302 and 1850949.813", site.AreaBefore/1e6, site.Area/1e6)
		}
		return
	}
	t.Error("no Sudan in the atlas")
}
