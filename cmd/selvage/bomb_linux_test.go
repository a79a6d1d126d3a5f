package main

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// mostMemory is what the program may take of memory for any file, in kilobytes.
const mostMemory = 500_000

// zeroBomb is so many megabytes of zeros, deflated: a megabyte is repeated, each
// time as blocks that need nothing of what was before.
func zeroBomb(t *testing.T, megabytes int) []byte {
	var one bytes.Buffer
	w, err := flate.NewWriter(&one, flate.BestCompression)
	if err == nil {
		_, err = w.Write(make([]byte, 1<<20))
	}
	if err == nil {
		err = w.Flush()
	}
	if err != nil {
		t.Fatal(err)
	}
	last := []byte{0x03, 0x00} // an empty block, RFC 1951, 3.2.3 and 3.2.6
	return append(bytes.Repeat(one.Bytes(), megabytes), last...)
}

// archive packs one file that is deflated already and says to unzip to size bytes.
func archive(t *testing.T, name string, deflated []byte, size uint64) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	w, err := z.CreateRaw(&zip.FileHeader{Name: name, Method: zip.Deflate, CompressedSize64: uint64(len(deflated)), UncompressedSize64: size})
	if err == nil {
		_, err = w.Write(deflated)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func deflated(t *testing.T, data []byte) []byte {
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, flate.BestCompression)
	if err == nil {
		_, err = w.Write(data)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// directory is an archive of nothing but a list of entries.
func directory(name string, entries int) []byte {
	// APPNOTE 6.3.10, 4.3.12: the central directory; 4.3.14 to 4.3.16: its end,
	// with 64 bits.
	var one []byte
	one = append(one, "PK\x01\x02"...)
	one = append(one, make([]byte, 24)...)
	one = binary.LittleEndian.AppendUint16(one, uint16(len(name)))
	one = append(one, make([]byte, 16)...)
	one = append(one, name...)
	out := append([]byte("PK\x03\x04"), bytes.Repeat(one, entries)...)
	size := uint64(len(out) - 4)
	out = append(out, "PK\x06\x06"...)
	out = binary.LittleEndian.AppendUint64(out, 44)
	out = append(out, 45, 0, 45, 0, 0, 0, 0, 0, 0, 0, 0, 0)
	for _, n := range []uint64{uint64(entries), uint64(entries), size, 4} {
		out = binary.LittleEndian.AppendUint64(out, n)
	}
	out = append(out, "PK\x06\x07\x00\x00\x00\x00"...)
	out = binary.LittleEndian.AppendUint64(out, 4+size)
	out = append(out, 1, 0, 0, 0)
	out = append(out, "PK\x05\x06\x00\x00\x00\x00\xff\xff\xff\xff\xff\xff\xff\xff\xff\xff\xff\xff\x00\x00"...)
	return out
}

// billion is an XML text whose one entity would become a billion words.
func billion(root, use string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "<?xml version=\"1.0\"?>\n<!DOCTYPE %s [\n<!ENTITY a0 \"lol\">\n", root)
	for i := range 9 {
		fmt.Fprintf(&b, "<!ENTITY a%d \"%s\">\n", i+1, strings.Repeat(fmt.Sprintf("&a%d;", i), 10))
	}
	return b.String() + "]>\n" + use
}

// mostOf waits for the end of a command and returns the most memory it had at
// a time, in kilobytes. What the system tells at its end counts that of who
// started it, too.
func mostOf(t *testing.T, cmd *exec.Cmd) (most int) {
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_ = cmd.Wait() // its state is looked at later
	}()
	status := fmt.Sprintf("/proc/%d/status", cmd.Process.Pid)
	for {
		if data, err := os.ReadFile(status); err == nil && bytes.Contains(data, []byte("Name:\tselvage\n")) {
			if _, rest, found := bytes.Cut(data, []byte("VmHWM:")); found {
				if _, err := fmt.Sscan(string(rest), &most); err != nil {
					t.Fatal(err)
				}
			}
		}
		select {
		case <-ended:
			return most
		case <-time.After(2 * time.Millisecond):
		}
	}
}

// What is made to take up the memory or the time of who reads it is refused in
// one sentence.
func TestBombs(t *testing.T) {
	const million = 1_000_000
	kml := func(inner string) []byte {
		return []byte(`<kml xmlns="http://www.opengis.net/kml/2.2"><Document>` + inner + `</Document></kml>`)
	}
	polygon := func(name, coordinates string) string {
		return `<Placemark><name>` + name + `</name><Polygon><outerBoundaryIs><LinearRing><coordinates>` + coordinates + `</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>`
	}
	const field = "10,0.5 10.001,0.5 10.001,0.501 10,0.5"
	tenGigabytes := sync.OnceValue(func() []byte { return zeroBomb(t, 10_240) })
	secret := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(secret, []byte("the secret"), 0o666); err != nil {
		t.Fatal(err)
	}
	const limit = 99 * million // below that of the file's size
	tests := []bomb{
		{"10 GB of zeros", "a.kmz", is(func() []byte { return archive(t, "doc.kml", tenGigabytes(), 10<<30) }), "unzips to more than the limit of 300 MB (--limit unzipped)"},
		{"that say to be 100 bytes", "a.kmz", is(func() []byte { return archive(t, "doc.kml", tenGigabytes(), 100) }), "damaged"},
		{"little that says to be 10 GB", "a.kmz", is(func() []byte { return archive(t, "doc.kml", deflated(t, kml(polygon("", field))), 10<<30) }), "damaged"},
		{"one archive in another", "a.kmz", is(func() []byte {
			inner := archive(t, "doc.kml", tenGigabytes(), 10<<30)
			return archive(t, "a.kmz", deflated(t, inner), uint64(len(inner)))
		}), "unzips to more than the limit of"},
		{"three archives", "a.kmz", is(func() []byte {
			data := kml(polygon("", field))
			for _, name := range []string{"doc.kml", "b.kmz", "a.kmz"} {
				data = archive(t, name, deflated(t, data), uint64(len(data)))
			}
			return data
		}), "archive again"},
		{"a billion words", "a.kml", is(func() []byte { return []byte(billion("kml", string(kml(polygon("&a9;", field))))) }), "entity"},
		{"a billion words as coordinates", "a.kml", is(func() []byte { return []byte(billion("kml", string(kml(polygon("a", "&a9;"))))) }), "entity"},
		{"a billion words in GPX", "a.gpx", is(func() []byte { return []byte(billion("gpx", `<gpx version="1.1"><rte><name>&a9;</name></rte></gpx>`)) }), "entity"},
		{"a scribble", "a.geojson", is(func() []byte { return scribble(30_000) }), "more places than the limit of 100000 (--limit crossings)"},
		{"laps", "a.geojson", repeated(`{"type":"Polygon","coordinates":[[`, "[10,50],[10.001,50],[10.001,50.001],", 100_000, "[10,50]]]}"), "more places than the limit of 100000 (--limit crossings)"},
		{"squares one inside the other", "a.geojson", is(nested), ""},
		{"another file", "a.kml", is(func() []byte {
			return []byte(`<!DOCTYPE kml [<!ENTITY x SYSTEM "file://` + secret + `">]>` + string(kml(polygon("&x;", field))))
		}), "entity"},
	}
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		tests = append(tests, []bomb{
			{"many entries", "a.kmz", is(func() []byte { return directory("a", limit/47) }), "more than the limit of 100000 files"},
			{"many entries that are KML", "a.kmz", is(func() []byte { return directory("a.kml", limit/51) }), "more than the limit of 100000 files"},
			{"deep XML", "a.kml", repeated(`<kml xmlns="http://www.opengis.net/kml/2.2">`, "<Folder>", 12*million, ""), "inside one another (--limit depth)"},
			{"deep JSON", "a.geojson", repeated(`{"type":"Polygon","coordinates":`, "[", 99*million, ""), "a list stands where a number is expected"},
			{"deep JSON objects", "a.geojson", repeated(``, `{"a":`, 19*million, ""), "inside one another (--limit depth)"},
			{"deep geometries", "a.geojson", repeated(``, `{"type":"GeometryCollection","geometries":[`, 2*million, ""), "inside one another (--limit depth)"},
			{"deep WKT", "a.wkt", repeated("POLYGON", "(", 99*million, ""), ""},
			{"deep WKT collections", "a.wkt", repeated("", "GEOMETRYCOLLECTION(", 5*million, ""), ""},
			{"100 million points", "a.geojson", repeated(`{"type":"Polygon","coordinates":[[`, "[0,0],", 100*million, "[0,0]]]}"), "larger than the limit of 100 MB (--limit size)"},
			{"all points that fit in, GeoJSON", "a.geojson", repeated(`{"type":"Polygon","coordinates":[[`, "[0,0],", 16*million, "[0,0]]]}"), "more than the limit of 2000000 vertices and rings (--limit vertices)"},
			{"all points that fit in, KML", "a.kml", repeated(`<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>`, "0,0 ", 24*million, `</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`), "more than the limit of 2000000 vertices and rings (--limit vertices)"},
			{"all points that fit in, WKT", "a.wkt", repeated(`POLYGON((`, "0 0,", 24*million, "0 0))"), "more than the limit of 2000000 vertices and rings (--limit vertices)"},
			{"all points that fit in, CSV", "a.csv", repeated("lon,lat\n", "0,0\n", 24*million, ""), "more than the limit of 2000000 vertices and rings (--limit vertices)"},
			{"all rings that fit in, GeoJSON", "a.geojson", repeated(`{"type":"Polygon","coordinates":[`, "[],", 32*million, "[]]}"), "more than the limit of 2000000 vertices and rings (--limit vertices)"},
			{"all features that fit in, GeoJSON", "a.geojson", repeated(`{"type":"FeatureCollection","features":[`, "{},", 32*million, "{}]}"), ""},
			{"all placemarks that fit in, KML", "a.kml", repeated(`<kml xmlns="http://www.opengis.net/kml/2.2"><Document>`, "<Placemark/>", 8*million, "</Document></kml>"), "(--limit vertices)"},
			{"a long number", "a.geojson", repeated(`{"type":"Polygon","coordinates":[[[`, "1", 90*million, ",0]]]}"), ""},
			{"a long name", "a.geojson", repeated(`{"type":"Feature","properties":{"name":"`, "n", 90*million, `"},"geometry":{"type":"Point","coordinates":[0,0]}}`), ""},
			{"zeros", "a.geojson", is(func() []byte { return make([]byte, 90*million) }), ""},
			{"a long line", "a.csv", repeated("lon,lat", ",", 99*million, "\n"), ""},
			{"all rows that fit in, positions", "positions.csv", repeated("file,lon,lat\n", "a,0,0\n", 10*million, ""), "more rows than the limit of 1000000 (--limit photos)"},
			{"a long row of positions", "positions.csv", repeated("file,lon,lat", ",", 60*million, "\n"), "longer than 64 KiB"},
			{"all features that fit in, job record", "job.geojson", repeated(`{"selvage_job":{"version":1},"features":[`, "{},", 32*million, "{}]}"), "more than 200000 entries"},
			{"behind something deep", "job.geojson", repeated(`{"deep":`+strings.Repeat("[", 200)+strings.Repeat("]", 200)+`,"selvage_job":{"version":1},"mends":[`, "0,", 40*million, "0]}"), "more than 200000 entries"},
		}...)
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := tt.lay(t)
			args := []string{"vet", path}
			switch tt.file {
			case "positions.csv":
				args[0] = "photos"
			case "job.geojson":
				args = []string{"audit", filepath.Dir(path), "--height", "80m", "--job", path}
			}
			message := defuse(t, tt.want, args...)
			if strings.Contains(message, "the secret") {
				t.Error("it tells what is in another file")
			}
		})
	}
}

// scribble is an outline of vertices anywhere.
func scribble(vertices int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	out := []byte(`{"type":"Polygon","coordinates":[[`)
	for range vertices {
		out = fmt.Appendf(out, "[%.7f,%.7f],", 10+0.01*r.Float64(), 50+0.01*r.Float64())
	}
	return append(out, "[10,50]]]}"...)
}

// nested is a file of squares about one point.
func nested() []byte {
	out := []byte(`{"type":"MultiPolygon","coordinates":[[]`)
	for k := range 2000 {
		d := 1e-5 * float64(k+1)
		out = fmt.Appendf(out, ",[[[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f]]]", 10-d, 50-d, 10+d, 50-d, 10+d, 50+d, 10-d, 50+d)
	}
	return append(out, "]}"...)
}

// bomb is a file that is made to take up memory or time.
type bomb struct {
	name, file string
	write      func(io.Writer) error
	want       string // in the sentence; "" where the file may be read, too
}

// lay writes the file into a folder of its own.
func (b bomb) lay(t *testing.T) (path string) {
	path = filepath.Join(t.TempDir(), b.file)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.write(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// defuse runs a command on a bomb, which must end in one sentence, and returns
// what it printed.
func defuse(t *testing.T, want string, args ...string) string {
	// None takes 2 s on two idle cores. The bound is for a machine that is busy.
	const hung = 20 * time.Second
	ctx, cancel := context.WithTimeout(t.Context(), hung)
	defer cancel()
	cmd := exec.CommandContext(ctx, program(t), args...)
	var out, message bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &message
	began := time.Now()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	memory := mostOf(t, cmd)
	took := time.Since(began)
	work := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	t.Logf("%.2f s, %.2f s of work, %d MB: %.150q %.100q", took.Seconds(), work.Seconds(), memory/1000, &message, &out)
	if ctx.Err() != nil {
		t.Fatalf("it is not done within %v", hung)
	}
	if memory > mostMemory {
		t.Errorf("it takes %d MB", memory/1000)
	}
	if want == "" && cmd.ProcessState.ExitCode() <= needsAnswer {
		return out.String() + message.String()
	}
	if cmd.ProcessState.ExitCode() != couldNotRun || strings.Count(message.String(), "\n") != 1 || message.Len() > 500 || !strings.Contains(message.String(), want) {
		t.Errorf("%v, want %q: %.500s", cmd.ProcessState, want, &message)
	}
	return out.String() + message.String()
}

// repeated writes one text many times between two others.
func repeated(before, one string, times int, after string) func(io.Writer) error {
	return func(w io.Writer) error {
		block := strings.Repeat(one, 10_000)
		if _, err := io.WriteString(w, before); err != nil {
			return err
		}
		for range times / 10_000 {
			if _, err := io.WriteString(w, block); err != nil {
				return err
			}
		}
		_, err := io.WriteString(w, after)
		return err
	}
}

// is writes what was made.
func is(make func() []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(make())
		return err
	}
}
