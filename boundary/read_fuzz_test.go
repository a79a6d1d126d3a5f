package boundary

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"selvage/boundary/finding"
)

var fuzzLimits = Limits{Bytes: 1 << 16, UnzippedBytes: 1 << 16, Depth: 20, Vertices: 500}

// seeds adds the fixtures whose names end in suffix.
func seeds(f *testing.F, suffix string, add func(data []byte)) {
	f.Helper()
	files, err := filepath.Glob(filepath.Join("testdata", "read", "*"+suffix))
	if err != nil || len(files) == 0 {
		f.Fatalf("no fixtures: %v", err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		add(data)
	}
}

// checkRead reads data and holds what Read promises of any input.
func checkRead(t *testing.T, data []byte) (*File, error) {
	const name = "fuzz.dat"
	file, err := Read(name, data, Options{Limits: fuzzLimits})
	if err != nil {
		var placed *ReadError
		if !errors.As(err, &placed) || placed.Text == "" || !strings.HasPrefix(placed.Place.File, name) {
			t.Fatalf("error without a place: %#v", err)
		}
		if strings.ContainsAny(err.Error(), "\n\r\x00") {
			t.Fatalf("error on more than one line: %q", err)
		}
		return nil, err
	}
	spent := 0
	last := finding.Place{}
	for _, part := range file.Parts {
		p := part.Place
		if p.Line < 1 || p.Column < 1 || p.Feature < 1 || p.Part < 1 {
			t.Fatalf("part without a place: %+v", p)
		}
		if p.Feature < last.Feature || p.Feature == last.Feature && p.Part != last.Part+1 {
			t.Fatalf("%+v follows %+v", p, last)
		}
		last = p
		if len(part.Polygon) == 0 {
			t.Fatalf("part without a ring: %+v", p)
		}
		for _, ring := range part.Polygon {
			spent += 1 + len(ring)
			for _, v := range ring {
				if math.IsNaN(v[0]) || math.IsNaN(v[1]) || math.IsInf(v[0], 0) || math.IsInf(v[1], 0) {
					t.Fatalf("vertex %v", v)
				}
			}
		}
	}
	if spent > fuzzLimits.Vertices {
		t.Fatalf("%d vertices and rings, the limit is %d", spent, fuzzLimits.Vertices)
	}
	for _, x := range file.Findings {
		if !slices.ContainsFunc(finding.Table, func(e finding.Entry) bool { return e.Code == x.Code && e.Severity == x.Severity }) {
			t.Fatalf("finding %q (%s) is not in the table", x.Code, x.Severity)
		}
		if !strings.HasSuffix(x.Text, ".") {
			t.Fatalf("not a sentence: %q", x.Text)
		}
	}
	return file, nil
}

func FuzzReadKML(f *testing.F) {
	seeds(f, ".kml", func(data []byte) { f.Add(data) })
	f.Add([]byte(ringKML("1, 2\r\n3,2,<![CDATA[0]]> 3,&#52; 1,2")))
	f.Add([]byte("\ufeff" + ringKML("")))
	f.Add([]byte("\xff\xfe<\x00k\x00m\x00l\x00/\x00>\x00"))
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data) })
}

func FuzzReadGeoJSON(f *testing.F) {
	seeds(f, ".geojson", func(data []byte) { f.Add(data) })
	f.Add([]byte(`{"coordinates":[[[1,2],[3,2,null],[3e0,4]],[]],"type":"Polygon","crs":null}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := checkRead(t, data)
		if err == nil && file.Format == "GeoJSON" {
			// What is read has to be JSON to a reader that takes it whole.
			text, _ := toUTF8(data)
			if !json.Valid(text) {
				t.Fatalf("read as GeoJSON, but it is not JSON: %q", text)
			}
		}
	})
}

// The archive is made around the fuzzed text, since few changes to the bytes
// of an archive get past its checksum; every byte of some is changed as well.
func FuzzReadKMZ(f *testing.F) {
	seeds(f, ".kml", func(data []byte) { f.Add("doc.kml", data, uint16(0), byte(0)) })
	f.Add("__MACOSX/a.kml", []byte("x"), uint16(10), byte(8))
	f.Add("../a.KML", []byte(ringKML("1,2 3,4")), uint16(70), byte(1))
	f.Fuzz(func(t *testing.T, name string, text []byte, at uint16, flip byte) {
		if len(name) > 1000 || strings.HasSuffix(name, "/") {
			return
		}
		data := zipOf(t, name, string(text), "other.kml", string(text))
		data[int(at)%len(data)] ^= flip
		file, err := checkRead(t, data)
		if flip != 0 || err != nil || !strings.EqualFold(name, "doc.kml") {
			return
		}
		alone, err := Read("fuzz.dat", text, Options{Limits: fuzzLimits})
		if err != nil || len(alone.Parts) != len(file.Parts) {
			t.Fatalf("zipped %d parts, plain %v (%v)", len(file.Parts), alone, err)
		}
	})
}

func FuzzReadJob(f *testing.F) {
	f.Add(written(f, sampleJob()))
	f.Fuzz(func(t *testing.T, data []byte) {
		job, err := ReadJob(data)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\r\x00") {
				t.Fatalf("error on more than one line: %q", err)
			}
			return
		}
		var first, second bytes.Buffer
		if WriteJob(&first, job) != nil {
			return // readable, yet a ring may enclose nothing
		}
		again, err := ReadJob(first.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if err := WriteJob(&second, again); err != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Fatalf("written again it differs (%v):\n%s\n%s", err, first.Bytes(), second.Bytes())
		}
	})
}
