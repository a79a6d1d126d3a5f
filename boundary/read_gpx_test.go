package boundary

import (
	"fmt"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

func TestReadGPX(t *testing.T) {
	f, err := Read("walk.gpx", fixture(t, "walk.gpx"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"The file holds no polygon, only 3 paths of 9 points and 1 single point. Ask the client for the area as a polygon. If the path walks around the site, it can be taken as its outline (--close-path).",
		"3 paths with 9 points are left out: a path is not an area.",
		"1 single point is left out: a point is not an area.",
	}
	for i, x := range f.Findings {
		if x.Text.String() != want[i] {
			t.Errorf("got %s\nwant %s", x.Text, want[i])
		}
	}
	f, err = Read("walk.gpx", fixture(t, "walk.gpx"), Options{ClosePath: true})
	if err != nil {
		t.Fatal(err)
	}
	if got := summary(f); !slices.Equal(got, []string{"3.1 Around the pit [6]"}) {
		t.Fatalf("%q", got)
	}
	part := f.Parts[0]
	if last := part.Polygon[0]; last[0] != last[5] || last[1] != (orb.Point{10.104, 52.30002}) {
		t.Errorf("%v", last)
	}
	if part.Place != (finding.Place{File: "walk.gpx", Line: 11, Column: 5, Feature: 3, Part: 1, Name: "Around the pit"}) {
		t.Errorf("%+v", part.Place)
	}
}

func TestReadGPXVersions(t *testing.T) {
	const track = "<trk><name>A</name><trkseg><trkpt lon='1' lat='2'/><trkpt lat='2' lon='3'/><trkpt lat='4' lon='3'/></trkseg></trk>"
	for text, format := range map[string]string{
		"<gpx version='1.0' xmlns='http://www.topografix.com/GPX/1/0'>" + track + "</gpx>": "GPX 1.0",
		"<gpx version='1.1'>" + track + "</gpx>":                                           "GPX 1.1",
		"<gpx version='9'>" + track + "</gpx>":                                             "GPX",
		"<g:gpx xmlns:g='x'>" + track + "</g:gpx>":                                         "GPX",
		"<?xml version='1.0' encoding='utf-8'?><gpx version='1.1'><rte><name>A</name><rtept lat='2' lon='1'/><rtept lat='2' lon='3'/><rtept lat='4' lon='3'/></rte></gpx>": "GPX 1.1",
	} {
		f, err := Read("a", []byte(text), Options{ClosePath: true})
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if got := summary(f); f.Format != format || !slices.Equal(got, []string{"1.1 A [4]"}) {
			t.Errorf("%s: %s %q", text, f.Format, got)
		}
	}
}

func TestReadGPXErrors(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"<gpx>\n‹<wpt lat='1'/></gpx>", "feature 1: this point has no “lon”; it needs a longitude and a latitude"},
		{"<gpx><wpt lat='1' lon='2'/><trk><trkseg><trkpt lat='1' lon='2'/>\n ‹<trkpt lat='x' lon='2'/></trkseg></trk></gpx>", "feature 2, vertex 2: “x” is not a number"},
		{"<gpx><rte>‹<rtept lat='1e999' lon='2'/></rte></gpx>", "feature 1, vertex 1: “1e999” is not a number"},
		{"<gpx><trk><trkseg>‹", "feature 1: the file ends in the middle; it may be cut off"},
	} {
		text, line, column := marked(tt.text)
		want := fmt.Sprintf("a:%d:%d: %s", line, column, tt.want)
		if f, err := Read("a", []byte(text), Options{}); err == nil || err.Error() != want {
			t.Errorf("%s:\n got %v %v\nwant %s", text, f, err, want)
		}
	}
}

func FuzzReadGPX(f *testing.F) {
	seeds(f, ".gpx", func(data []byte) { f.Add(data) })
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data) })
}
