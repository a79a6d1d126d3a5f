package main

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/pflag"

	"selvage/boundary"
)

// What belongs to a shapefile is told by its stem and extension alone.
func TestReadBeside(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{
		"Client.shp", "client.PRJ", "CLIENT.dbf", "Client.cpg", "Client.shp.xml", "Client.txt",
		"other.prj", "Client 2.prj", "Client.north.dbf", "noext",
	} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(name), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(folder, "Client.shx"), 0o777); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"Client.shp": ".cpg=Client.cpg .dbf=CLIENT.dbf .prj=client.PRJ",
		"client.SHP": ".cpg=Client.cpg .dbf=CLIENT.dbf .prj=client.PRJ",
		"other.shp":  ".prj=other.prj",
		"third.shp":  "",
		"Client.kml": "",
		"Client":     "",
	} {
		beside, err := readBeside(filepath.Join(folder, name), 1000)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		var got []string
		for _, extension := range slices.Sorted(maps.Keys(beside)) {
			got = append(got, extension+"="+string(beside[extension]))
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %v, want %s", name, got, want)
		}
	}
	if _, err := readBeside(filepath.Join(folder, "nowhere", "a.shp"), 1000); err == nil {
		t.Error("a folder that is not there has been read")
	}
}

// The words that the flags take are those of the boundary, and what is not
// given answers nothing.
func TestClientFlags(t *testing.T) {
	parse := func(args ...string) *clientFlags {
		flags := pflag.NewFlagSet("test", pflag.ContinueOnError)
		f := defineClient(flags, usualLimits())
		if err := flags.Parse(args); err != nil {
			t.Fatal(err)
		}
		return f
	}
	none := parse()
	if none.choices() != (boundary.Choices{}) || len(none.given()) > 0 || len(none.parameters()) > 0 {
		t.Errorf("nothing given: %+v, %v, %v", none.choices(), none.given(), none.parameters())
	}
	for _, crossing := range []boundary.Crossing{boundary.Lobes, boundary.Uncross, boundary.Outer} {
		if got := parse("--crossing", string(crossing)).choices(); got != (boundary.Choices{Crossing: crossing}) {
			t.Errorf("%s: %+v", crossing, got)
		}
	}
	for _, hole := range []boundary.CrossingHole{boundary.Clip, boundary.Drop} {
		if got := parse("--hole", string(hole)).choices(); got != (boundary.Choices{Hole: hole}) {
			t.Errorf("%s: %+v", hole, got)
		}
	}
	all := parse("--crs", "EPSG:32632", "--close-path", "--crossing=outer", "--hole=drop", "--tolerate=1%")
	if n := len(all.given()); n != 5 || len(all.parameters()) != n {
		t.Errorf("all given: %v, %v", all.given(), all.parameters())
	}
}
