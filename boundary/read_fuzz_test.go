package boundary

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

var fuzzLimits = Limits{Bytes: 1 << 16, UnzippedBytes: 1 << 16, Depth: 20, Vertices: 500, Crossings: 10_000}

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

// checkRead reads data in each way and holds what Read promises of any input.
// It returns the result of the usual way.
func checkRead(t *testing.T, data []byte) (*File, error) {
	t.Helper()
	checkReadAs(t, data, Options{Limits: fuzzLimits, ClosePath: true})
	checkReadAs(t, data, Options{Limits: fuzzLimits, CRS: "EPSG:32632", ClosePath: true})
	return checkReadAs(t, data, Options{Limits: fuzzLimits})
}

func checkReadAs(t *testing.T, data []byte, o Options) (*File, error) {
	t.Helper()
	const name = "fuzz.dat"
	file, err := Read(name, data, o)
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
	allowed := fuzzLimits.Vertices
	if o.ClosePath {
		allowed += 2 * len(file.Parts) // a ring made of points, and the vertex that closes it
	}
	if spent > allowed {
		t.Fatalf("%d vertices and rings, the limit is %d", spent, allowed)
	}
	for _, x := range file.Findings {
		if !slices.ContainsFunc(finding.Table, func(e finding.Entry) bool { return e.Code == x.Code && e.Severity == x.Severity }) {
			t.Fatalf("finding %q (%s) is not in the table", x.Code, x.Severity)
		}
		if !strings.HasSuffix(x.Text.String(), ".") {
			t.Fatalf("not a sentence: %q", x.Text)
		}
	}
	return file, nil
}

func FuzzReadKML(f *testing.F) {
	seeds(f, ".kml", func(data []byte) { f.Add(data) })
	f.Add([]byte(ringKML("1, 2\r\n3,2,<![CDATA[0]]> 3,&#52; 1,2")))
	f.Add([]byte("\ufeff" + ringKML("")))
	f.Add([]byte(`<kml><Placemark><MultiTrack><Track><coord>1 2 3</coord><coord/><coord>3 2</coord><coord>3 4</coord></Track></MultiTrack><Point><coordinates>1,2</coordinates></Point></Placemark></kml>`))
	f.Add([]byte("\xff\xfe<\x00k\x00m\x00l\x00/\x00>\x00"))
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data) })
}

func FuzzReadGeoJSON(f *testing.F) {
	seeds(f, ".geojson", func(data []byte) { f.Add(data) })
	f.Add([]byte(`{"coordinates":[[[1,2],[3,2,null],[3e0,4]],[]],"type":"Polygon","crs":null}`))
	f.Add([]byte(`{"type":"Polygon","coordinates":[[[1,2],[3,-0.2e-1],[1.7976931348623157e308,4]]]} {"type":"Polygon","coordinates":[[[0,0]]]}`))
	f.Add([]byte("\x1e{\"type\":\"MultiPoint\",\"coordinates\":[[1,2],[3,2],[3,4]]}\n\x1e{\"type\":\"LineString\",\"coordinates\":[[1,2],[3,2],[3,4]]}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := checkRead(t, data)
		if err != nil || !strings.HasPrefix(file.Format, "GeoJSON") {
			return
		}
		// What is read has to be JSON to a reader that takes it whole, with
		// the same numbers.
		text, _ := toUTF8(data)
		text = bytes.ReplaceAll(text, []byte{recordSeparator}, []byte(" "))
		var want []orb.Polygon
		for dec := json.NewDecoder(bytes.NewReader(text)); ; {
			var value map[string]json.RawMessage
			if err := dec.Decode(&value); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("read as GeoJSON, but it is not JSON: %q (%v)", text, err)
			}
			var polygon orb.Polygon
			if string(value["type"]) != `"Polygon"` || json.Unmarshal(value["coordinates"], &polygon) != nil || len(polygon) == 0 {
				return
			}
			want = append(want, polygon)
		}
		var got []orb.Polygon
		for _, part := range file.Parts {
			got = append(got, part.Polygon)
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Fatalf("%q:\n got %v\nwant %v", text, got, want)
		}
	})
}

// Coordinates that go the quick way are the same as through the decoder, which
// a comment forces.
func FuzzPlainTuples(f *testing.F) {
	f.Add("1,2 3,2,0 3,4 1,2")
	f.Add("\n\t-1.5e0,+2. .5,2,1e1\r\n")
	f.Add("1,2, 3,4")
	f.Add("1,2,3,4")
	f.Fuzz(func(t *testing.T, text string) {
		if strings.ContainsAny(text, "<>&") || !utf8.ValidString(text) {
			return
		}
		quick, errQuick := Read("a", []byte(ringKML(text)), Options{Limits: fuzzLimits})
		slow, errSlow := Read("a", []byte(ringKML(text+"<!-- -->")), Options{Limits: fuzzLimits})
		if (errQuick == nil) != (errSlow == nil) || errQuick != nil && errQuick.Error() != errSlow.Error() {
			t.Fatalf("%q: %v, %v", text, errQuick, errSlow)
		}
		if errQuick == nil && fmt.Sprint(quick.Parts, quick.Findings) != fmt.Sprint(slow.Parts, slow.Findings) {
			t.Fatalf("%q:\n%v\n%v", text, quick, slow)
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
		job, err := ReadJob(data, Limits{})
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
		again, err := ReadJob(first.Bytes(), Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if err := WriteJob(&second, again); err != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Fatalf("written again it differs (%v):\n%s\n%s", err, first.Bytes(), second.Bytes())
		}
	})
}
