package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary"
)

// referenceTool finds another program to compare with, or skips the test.
func referenceTool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		message := name + " is not installed: the comparison with it is left out"
		if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
			t.Fatal(message)
		}
		t.Skip(message)
	}
	return path
}

// ask runs a reference tool, which must not complain either.
func ask(t *testing.T, input, tool string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(referenceTool(t, tool), args...)
	cmd.Env = append(os.Environ(), "GDAL_PAM_ENABLED=NO")
	cmd.Stdin = strings.NewReader(input)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil || complaint.Len() > 0 {
		t.Fatalf("%s %s: %v\n%s", tool, strings.Join(args, " "), err, &complaint)
	}
	return out
}

// Another program reads in the files for the controller what the job record
// and the figures say: GDAL's KML driver, through ogr2ogr.
func TestFilesAgainstGDAL(t *testing.T) {
	referenceTool(t, "ogr2ogr")
	folder := demoJob(t)
	shape := func(name string) orb.MultiPolygon {
		out := ask(t, "", "ogr2ogr", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "-dim", "XY", "/vsistdout/", filepath.Join(folder, name))
		file, err := boundary.Read(name, out, boundary.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var parts orb.MultiPolygon
		for _, p := range file.Parts {
			parts = append(parts, p.Polygon)
		}
		return parts
	}
	job, err := boundary.ReadJob(read(t, filepath.Join(folder, "invented-quarry.job.geojson")), boundary.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var want orb.MultiPolygon
	for _, a := range job.Flight {
		want = append(want, a.Shape...)
	}
	got := shape("invented-quarry-flight.kml")
	if !got.Equal(want) {
		t.Errorf("GDAL reads the flight area as\n%v\nthe job record has\n%v", got, want)
	}
	if again := shape("invented-quarry-refly.kml"); len(again) < 2 {
		t.Errorf("GDAL reads %d areas to fly again", len(again))
	}
}
