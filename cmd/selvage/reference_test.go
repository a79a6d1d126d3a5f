package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary"
)

// Another program reads in the files for the controller what the job record
// and the figures say: GDAL's KML driver, through ogr2ogr.
func TestFilesAgainstGDAL(t *testing.T) {
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		const message = "no cross-check against GDAL: ogr2ogr is not installed"
		if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
			t.Fatal(message)
		}
		t.Skip(message)
	}
	folder := t.TempDir()
	if err := runDemo(terminal{out: io.Discard, err: io.Discard}, folder); err != nil {
		t.Fatal(err)
	}
	read := func(name string) orb.MultiPolygon {
		cmd := exec.Command(tool, "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "-dim", "XY",
			"/vsistdout/", filepath.Join(folder, "job", name))
		var complaint bytes.Buffer
		cmd.Stderr = &complaint
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, &complaint)
		}
		file, err := boundary.Read(name, out, boundary.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var shape orb.MultiPolygon
		for _, p := range file.Parts {
			shape = append(shape, p.Polygon)
		}
		return shape
	}
	record, err := os.ReadFile(filepath.Join(folder, "job", "invented-quarry.job.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	job, err := boundary.ReadJob(record, boundary.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	var want orb.MultiPolygon
	for _, a := range job.Flight {
		want = append(want, a.Shape...)
	}
	got := read("invented-quarry-flight.kml")
	if !got.Equal(want) {
		t.Errorf("GDAL reads the flight area as\n%v\nthe job record has\n%v", got, want)
	}
	if again := read("invented-quarry-refly.kml"); len(again) < 2 {
		t.Errorf("GDAL reads %d areas to fly again", len(again))
	}
}
