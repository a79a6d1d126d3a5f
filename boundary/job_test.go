package boundary

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"

	"selvage/boundary/finding"
)

func box(west, south, east, north float64) orb.Ring {
	return orb.Ring{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}
}

func sampleJob() Job {
	clientPlace := func(feature, part, line int, name string) finding.Place {
		return finding.Place{File: "fields.kml", Line: line, Feature: feature, Name: name, Part: part}
	}
	return Job{
		ToolVersion: "0.1.0", ClientFile: "fields.kml", ClientSHA256: strings.Repeat("ab", 32),
		Buffer: 30, Join: "round", MitreLimit: 2, ClientArea: 90123.25, SiteArea: 90124, FlightArea: 123456.5, MinDistance: 29.998,
		Client: []Part{
			{Name: "Lower & <upper> meadow", Place: clientPlace(1, 1, 12, "Lower & <upper> meadow"), Polygon: orb.Polygon{box(10.1, 52.3, 10.11, 52.31), box(10.102, 52.302, 10.103, 52.303)}},
			{Name: "Copse", Place: clientPlace(2, 1, 30, "Copse"), Polygon: orb.Polygon{{{10.2, 52.3}, {10.21, 52.3}, {10.21, 52.31}}, box(10.205, 52.301, 10.206, 52.302)}},
		},
		Site: []Area{{Name: "Lower & <upper> meadow", Shape: orb.MultiPolygon{{box(10.1, 52.3, 10.11, 52.31), reversed(box(10.102, 52.302, 10.103, 52.303))}}}},
		Flight: []Area{
			{Name: "Lower & <upper> meadow", Shape: orb.MultiPolygon{{box(10.09, 52.29, 10.12, 52.32)}, {box(10.19, 52.29, 10.22, 52.32)}}},
			{Name: "Nothing", Shape: orb.MultiPolygon{}},
		},
		Findings: []finding.Finding{{
			Code: finding.PathNotArea, Severity: finding.Note, Text: finding.Say("%s left out.", finding.Counted(1, "path is", "paths are")), Amount: 1, Unit: "paths",
			Place: finding.Place{File: "fields.kml", Line: 40, Feature: 3},
		}},
		Mends: []Mended{{
			Code: "unclosed-ring", Text: finding.Say("%s was closed with a side of %s.", finding.Start(finding.Say("the outline of “%s”", "Copse & Co")), finding.Close(12.25)), Place: finding.Place{Feature: 2, Part: 1, Ring: 1},
			VerticesBefore: 3, VerticesAfter: 4, AreaBefore: 0, AreaAfter: 1234.5, Displacement: 0.25,
		}},
	}
}

func written(t testing.TB, job Job) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := WriteJob(&out, job); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestJobRoundTrip(t *testing.T) {
	job := sampleJob()
	data := written(t, job)
	got, err := ReadJob(data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	// An empty area comes back without polygons.
	job.Flight[1].Shape = nil
	if !reflect.DeepEqual(got, job) {
		t.Errorf("got %+v\nwant %+v", got, job)
	}
	if again := written(t, got); !bytes.Equal(again, data) {
		t.Errorf("written again it differs:\n%s\n%s", again, data)
	}
	golden := filepath.Join("testdata", "job.geojson")
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	want = bytes.ReplaceAll(want, []byte("\r\n"), []byte("\n")) // some checkouts change line ends
	if !bytes.Equal(data, want) {
		t.Errorf("%s differs from what is written:\n%s", golden, data)
	}
}

// A record of an older version has the strings alone.
func TestJobWithoutSaid(t *testing.T) {
	job := sampleJob()
	data := written(t, job)
	for _, text := range []finding.Text{job.Findings[0].Text, job.Mends[0].Text} {
		data = bytes.ReplaceAll(data, append([]byte(`"said":`), text.Said()...), []byte(`"also":"words"`))
	}
	old, err := ReadJob(data, Limits{})
	if err != nil || bytes.Contains(data, []byte("said")) {
		t.Fatalf("%v: %s", err, data)
	}
	for _, pair := range [][2]finding.Text{{old.Findings[0].Text, job.Findings[0].Text}, {old.Mends[0].Text, job.Mends[0].Text}} {
		if pair[0].String() != pair[1].String() || pair[0].Said() != nil {
			t.Errorf("read %q in place of %q", pair[0], pair[1])
		}
	}
}

// What not every job has: buffers of their own, a limit, keep-out areas. They
// come after everything else, so that the features before keep their numbers.
func TestJobOfSeveralMargins(t *testing.T) {
	job := sampleJob()
	job.Flight = job.Flight[:1]
	job.Client[1].Buffer = -5
	job.Margins = []OwnMargin{{Part: "Copse", Buffer: 50, Overruled: -5}, {Feature: 1, Buffer: 12.5}, {Along: "road.kml", Within: 20, Buffer: 5}}
	job.MaxVertices = 200
	job.KeepOut = []KeepOut{
		{"pond.kml", orb.MultiPolygon{{box(10.1, 52.3, 10.11, 52.31), reversed(box(10.102, 52.302, 10.103, 52.303))}}, 10},
		{"yard.kml", orb.MultiPolygon{{box(10.2, 52.3, 10.21, 52.31)}}, 0},
	}
	got, err := ReadJob(written(t, job), Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, job) {
		t.Errorf("got %+v\nwant %+v", got, job)
	}
}

// The record is plain GeoJSON to other readers: RFC 7946 3.1.6 (rings closed,
// outlines counter-clockwise), 6.1 (foreign members may be there).
func TestJobIsGeoJSON(t *testing.T) {
	data := written(t, sampleJob())
	var features geom.GeoJSONFeatureCollection
	if err := json.Unmarshal(data, &features); err != nil {
		t.Fatal(err)
	}
	var roles []string
	for _, f := range features.Features {
		roles = append(roles, f.Properties["role"].(string)+" "+f.Geometry.Type().String())
		if f.Properties["role"] == "client" {
			continue
		}
		for _, polygon := range f.Geometry.Dump() {
			if got := polygon.ForceCCW(); !geom.ExactEquals(got, polygon) {
				t.Errorf("%s: not counter-clockwise", polygon.AsText())
			}
		}
	}
	want := []string{"client Polygon", "client MultiLineString", "site MultiPolygon", "flight MultiPolygon", "flight MultiPolygon"}
	if !reflect.DeepEqual(roles, want) {
		t.Errorf("got %q, want %q", roles, want)
	}
	// This package's own reader takes it too.
	f, err := Read("job.geojson", data, Options{})
	if err != nil || len(f.Parts) != 4 {
		t.Errorf("%v, %v", f, err)
	}
}

func TestJobEmptyLists(t *testing.T) {
	data := written(t, Job{Site: []Area{{Name: "A", Shape: orb.MultiPolygon{{square(1, 1, 1)}}}}, Client: []Part{{Polygon: orb.Polygon{{{1, 1}}}}}})
	for _, want := range []string{`"findings": []`, `"mends": []`, `"geometry":null`} {
		if !strings.Contains(string(data), want) {
			t.Errorf("%s is missing in\n%s", want, data)
		}
	}
	if _, err := ReadJob(data, Limits{}); err != nil {
		t.Error(err)
	}
}

func TestWriteJobRefuses(t *testing.T) {
	site := []Area{{Name: "A", Shape: orb.MultiPolygon{{square(1, 1, 1)}}}}
	bad := square(1, 1, 1)
	bad[1][0] = math.NaN()
	for name, job := range map[string]Job{
		"NaN buffer":         {Site: site, Buffer: math.NaN()},
		"infinite distance":  {Site: site, MinDistance: math.Inf(1)},
		"NaN in a mend":      {Site: site, Mends: []Mended{{AreaAfter: math.NaN()}}},
		"NaN in the client":  {Site: site, Client: []Part{{Polygon: orb.Polygon{bad}}}},
		"NaN in the site":    {Site: []Area{{Name: "A", Shape: orb.MultiPolygon{{bad}}}}},
		"open flight sliver": {Site: site, Flight: []Area{{Name: "A", Shape: orb.MultiPolygon{{{{1, 1}, {2, 2}}}}}}},
	} {
		var out bytes.Buffer
		if err := WriteJob(&out, job); err == nil || !strings.HasPrefix(err.Error(), "job record: ") || out.Len() > 0 {
			t.Errorf("%s: %v, %d bytes written", name, err, out.Len())
		}
	}
}

func TestReadJobRefuses(t *testing.T) {
	good := string(written(t, sampleJob()))
	change := func(old, new string) string {
		if !strings.Contains(good, old) {
			t.Fatalf("%s is not in the record", old)
		}
		return strings.Replace(good, old, new, 1)
	}
	tests := []struct{ name, text, want string }{
		{"empty", "", "this is not a job record; one is the GeoJSON file that preparing a boundary writes"},
		{"KML", "<kml/>", "this is not a job record; one is the GeoJSON file that preparing a boundary writes"},
		{"other GeoJSON", string(fixture(t, "fields.geojson")), "this is not a job record: it has no member “selvage_job”"},
		{"later version", change(`"version": 1`, `"version": 2`), "this job record is of version 2; version 1 is read here"},
		{"cut off", good[:len(good)-20], "the job record is damaged: unexpected end of JSON input"},
		{"damaged", change(`"join"`, `join`), "line 9, column 6: the job record is damaged: invalid character 'j' looking for beginning of object key string"},
		{"text for a number", change(`"buffer_m": 30`, `"buffer_m": "30"`), "the job record is damaged: json: cannot unmarshal string"},
		{"unknown role", change(`"role":"site"`, `"role":"roof"`), "feature 3: the job record is damaged: the role “roof” is not client, site, flight or keep-out"},
		{"no site", strings.ReplaceAll(good, `"role":"site"`, `"role":"flight"`), "the job record is incomplete: it has no site area"},
		{"short position", change(`[10.12,52.29]`, `[10.13]`), "feature 4, part 1, ring 1, vertex 2: the job record is damaged: this position has 1 number; it needs a longitude and a latitude"},
		{"null position", change(`[10.21,52.3]`, `null`), "feature 2, ring 1, vertex 2: the job record is damaged: null stands where a position such as [10.5, 48.2] is expected"},
		{"open ring", change(`[10.12,52.32],[10.09,52.32],[10.09,52.29]`, `[10.12,52.32],[10.09,52.32],[10.09,52.291]`), "feature 4, part 1, ring 1: the job record is damaged: the ring is not closed"},
		{"lines as a site", change(`{"role":"client","name":"Copse"`, `{"role":"site","name":"Copse"`), "feature 2: the job record is damaged: its shape is not a polygon"},
		{"no geometry", change(`"geometry":{"type":"MultiPolygon"`, `"shape":{"type":"MultiPolygon"`), "feature 3: the job record is damaged: the geometry is damaged"},
	}
	for _, tt := range tests {
		_, err := ReadJob([]byte(tt.text), Limits{})
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s:\n got %v\nwant %s", tt.name, err, tt.want)
		}
	}
	if _, err := ReadJob([]byte("\ufeff"+good), Limits{}); err != nil {
		t.Errorf("with a byte order mark: %v", err)
	}
}

// Whatever is in a job, writing, reading and writing again gives the same bytes.
func TestJobRoundTripProperty(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		job := Job{
			ClientFile: rapid.String().Draw(rt, "file"), Join: "mitre",
			Buffer: rapid.Float64Range(0, 1000).Draw(rt, "buffer"),
			Site:   []Area{{Name: rapid.String().Draw(rt, "name"), Shape: orb.MultiPolygon{star(rt)}}},
		}
		for range rapid.IntRange(0, 3).Draw(rt, "parts") {
			var ring orb.Ring
			for range rapid.IntRange(2, 6).Draw(rt, "vertices") {
				ring = append(ring, orb.Point{rapid.Float64().Draw(rt, "x"), rapid.Float64().Draw(rt, "y")})
			}
			job.Client = append(job.Client, Part{Polygon: orb.Polygon{ring}})
		}
		var first, second bytes.Buffer
		if err := WriteJob(&first, job); err != nil {
			rt.Fatal(err)
		}
		again, err := ReadJob(first.Bytes(), Limits{})
		if err != nil {
			rt.Fatal(err)
		}
		if again.Buffer != job.Buffer || len(again.Client) != len(job.Client) || len(again.Site) != 1 {
			rt.Fatalf("got %+v\nwant %+v", again, job)
		}
		if err := WriteJob(&second, again); err != nil {
			rt.Fatal(err)
		}
		if !bytes.Equal(first.Bytes(), second.Bytes()) {
			rt.Fatalf("written again it differs:\n%s\n%s", first.Bytes(), second.Bytes())
		}
	})
}
