package boundary

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Each corruption is one that a faulty writer, a full card or a shaken cable
// could make.
func TestRereadRefuses(t *testing.T) {
	areas := []Area{
		{Name: "North", Shape: orb.MultiPolygon{{square(7, 47, 0.01), reversed(square(7.002, 47.002, 0.001))}}},
		{Name: "South", Shape: orb.MultiPolygon{{square(7, 46.9, 0.01)}}},
	}
	kml := formats[0].bytes(t, areas)
	if back, err := Reread("a.kml", kml, areas); err != nil || len(back) != 2 {
		t.Fatalf("sound: %v, %v", back, err)
	}
	rewritten := func(change func([]Area)) []byte {
		changed := make([]Area, len(areas))
		for i, a := range areas {
			changed[i] = Area{Name: a.Name, Shape: a.Shape.Clone()}
		}
		change(changed)
		return formats[0].bytes(t, changed)
	}
	replaced := func(old, new string) []byte {
		if bytes.Count(kml, []byte(old)) == 0 {
			t.Fatalf("there is no %q in\n%s", old, kml)
		}
		return bytes.Replace(kml, []byte(old), []byte(new), 1)
	}
	short := formats[1].bytes(t, areas)
	tests := []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "the file is empty"},
		{"cut off", kml[:len(kml)/2], "a.kml:"},
		{"archive cut off", short[:len(short)-9], "damaged or cut off"},
		{"one polygon short", rewritten(func(a []Area) { a[1].Shape = nil }), "1 polygon instead of 2"},
		{"a polygon twice", rewritten(func(a []Area) { a[1].Shape = append(a[1].Shape, a[1].Shape[0]) }), "3 polygons instead of 2"},
		{"another order", rewritten(func(a []Area) { a[0], a[1] = a[1], a[0] }), "polygon 1 is called “South”, not “North”"},
		{"another name", replaced("South", "North"), "polygon 2 is called “North”, not “South”"},
		{"no hole", rewritten(func(a []Area) { a[0].Shape[0] = a[0].Shape[0][:1] }), "polygon 1 (“North”): 1 ring instead of 2"},
		{"one vertex short", replaced("7.01,47 ", ""), "polygon 1 (“North”): ring 1 has 4 positions instead of 5"},
		{"a unit of the eighth decimal", rewritten(func(a []Area) { a[1].Shape[0][0][1][0] += 1e-8 }), "polygon 2 (“South”): ring 1, vertex 2 is off by 0.00000001 degrees"},
		{"seven decimals", rewritten(func(a []Area) { a[0].Shape[0][1][2][1] += 0.00000004 }), "polygon 1 (“North”): ring 2, vertex 3 is off by 0.00000004 degrees"},
		{"latitude first", replaced("7.01,47.01", "47.01,7.01"), "ring 1, vertex 3 is off by 40.00000000 degrees"},
		{"a digit changed", replaced("47.003", "47.008"), "ring 2"},
		{"not closed", replaced("7.002,47.002</", "</"), "ring 2"},
		{"clockwise", replaced("7,46.9 7.01,46.9 7.01,46.91 7,46.91 7,46.9", "7,46.9 7,46.91 7.01,46.91 7.01,46.9 7,46.9"), "ring 1 runs the wrong way round"},
		{"no number", replaced("7.01,47 ", "NaN,47 "), "a.kml"},
		{"heights", replaced("7.01,47 ", "7.01,47,500 "), "a height"},
		{"a path besides", replaced("<Placemark>", "<Placemark><LineString><coordinates>7,47 8,48</coordinates></LineString></Placemark><Placemark>"), "1 path with 2 points is left out"},
	}
	for _, tt := range tests {
		back, err := Reread("a.kml", tt.data, areas)
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, %v; want %q", tt.name, back, err, tt.want)
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: more than a sentence: %v", tt.name, err)
		}
	}

	// A writer that is given an invalid shape writes it; reading it back tells.
	bow := []Area{{Name: "Bow", Shape: orb.MultiPolygon{{orb.Ring{{7, 47}, {7.01, 47.01}, {7.01, 47}, {7, 47.02}, {7, 47}}}}}}
	if _, err := Reread("a.kml", formats[0].bytes(t, bow), bow); err == nil {
		t.Error("a crossing ring was accepted")
	}
}

// The margin is measured between the site area and the file, as written and
// read again: rounding to 8 decimals must not have cost any of it.
func TestWrittenKeepsItsMargin(t *testing.T) {
	const shape, hole = "POLYGON((0 0,4 0.3,4 3,2 3,2.2 5,0 4.5,0 0),(0.5 1,0.5 3,1.9 2.8,1.7 0.9,0.5 1))", "POLYGON((40 -60,90 10,60 70,-30 80,40 -60))"
	least := math.Inf(1)
	for _, at := range []orb.Point{{7.1234567, 0.0000003}, {7.1234567, 47}, {-70, -47.3333333}, {25.7654321, 70}, {179.998, 52}, {-179.999, -17}} {
		for _, m := range []Margin{{Buffer: 30}, {Buffer: 5.5}, {Buffer: 120, MaxVertices: 30}, {Buffer: 30, Join: plane.Mitre}, {Buffer: 30, KeepSeparate: true}, {Buffer: -20}} {
			for _, wkt := range []string{shape, hole} {
				site, err := Mend(drawn(t, at, wkt, "POLYGON((4.6 0,5 0,5 3,4.6 3,4.6 0))"), Choices{})
				if err != nil {
					t.Fatal(err)
				}
				flight, err := Expand(site, m)
				if err != nil {
					t.Fatal(at, m, err)
				}
				frame, err := plane.FrameFor(site.Shape())
				if err != nil {
					t.Fatal(err)
				}
				for _, format := range formats {
					name := fmt.Sprint(at, m, format.extension)
					back, err := Reread("a"+format.extension, format.bytes(t, flight.Areas), flight.Areas)
					if err != nil {
						t.Fatalf("%s: %v", name, err)
					}
					proved, err := ProveWritten(site, m, back)
					if err != nil {
						t.Fatalf("%s: %v", name, err)
					}
					var written orb.MultiPolygon
					for _, a := range whole(back, site.Shape().Bound().Center()[0]) {
						written = append(written, a.Shape...)
					}
					if m.KeepSeparate {
						written = plane.Union(plane.DegreeGrid(written.Bound(), decimals), splitParts(written)...)
					}
					const follow = 0.0001 // metres, ten times as close as the proof
					d := plane.LeastDistance(frame.ToMetres(site.Shape(), follow), frame.ToMetres(written, follow))
					least = min(least, d-math.Abs(m.Buffer))
					if d < math.Abs(m.Buffer)-0.001 || math.Abs(d-proved) > 0.002 {
						t.Errorf("%s: %.5f m measured, %.5f m proved", name, d, proved)
					}
				}
			}
		}
	}
	t.Logf("the least margin is %+.2f mm from what was asked", least*1000)
}

func TestProveWrittenRefuses(t *testing.T) {
	site, err := Mend(drawn(t, orb.Point{7, 47}, "POLYGON((0 0,4 0,4 3,0 3,0 0))", "POLYGON((20 0,24 0,24 3,20 3,20 0))"), Choices{})
	if err != nil {
		t.Fatal(err)
	}
	m := Margin{Buffer: 30}
	flight, err := Expand(site, m)
	if err != nil {
		t.Fatal(err)
	}
	if len(flight.Areas) != 2 {
		t.Fatalf("%d areas", len(flight.Areas))
	}
	if d, err := ProveWritten(site, m, flight.Areas); err != nil || d < 30-0.001 {
		t.Errorf("sound: %v m, %v", d, err)
	}
	for name, written := range map[string][]Area{
		"nothing":        nil,
		"one file short": flight.Areas[:1],
		"the site only":  site.Areas,
	} {
		if d, err := ProveWritten(site, m, written); err == nil {
			t.Errorf("%s: accepted with %v m", name, d)
		}
	}
	if _, err := ProveWritten(site, Margin{Buffer: 30.05}, flight.Areas); err == nil {
		t.Error("5 cm short: accepted")
	}
}

// One polygon a file, each of which holds what SplitAreas says; together they
// are the flight area.
func TestSplitAreas(t *testing.T) {
	site, err := Mend(drawn(t, orb.Point{179.998, -17}, "POLYGON((0 0,4 0.3,4 3,0 4.5,0 0))", "POLYGON((20 0,24 0,24 3,20 3,20 0))"), Choices{})
	if err != nil {
		t.Fatal(err)
	}
	m := Margin{Buffer: 30}
	flight, err := Expand(site, m)
	if err != nil {
		t.Fatal(err)
	}
	split, err := SplitAreas(flight.Areas)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := PartNames("Job 1", split), []string{"Job 1-flight-Field 1", "Job 1-flight-Field 1 2", "Job 1-flight-Field 2"}; !slices.Equal(got, want) {
		t.Errorf("files %q, want %q", got, want)
	}
	again, err := SplitAreas(split)
	if err != nil || len(again) != len(split) {
		t.Errorf("splitting again: %v, %v", again, err)
	}
	var back []Area
	for i := range split {
		for _, format := range formats {
			read, err := Reread("part", format.bytes(t, split[i:i+1]), split[i:i+1])
			if err != nil {
				t.Fatal(err)
			}
			if format.extension == ".kml" {
				back = append(back, read...)
			}
		}
	}
	if d, err := ProveWritten(site, m, back); err != nil || d < 30-0.001 {
		t.Errorf("%v m, %v", d, err)
	}
	if _, err := ProveWritten(site, m, append(back[:1:1], back[2:]...)); err == nil {
		t.Error("without the half beyond the antimeridian: accepted")
	}
}
