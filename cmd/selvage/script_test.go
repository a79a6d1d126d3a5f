package main

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/rogpeppe/go-internal/testscript"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"selvage": main})
}

// sessions is the folder of the command lines that are tested.
const sessions = "../../testdata"

// TestSessions runs one session a topic.
func TestSessions(t *testing.T) { runScripts(t, "session") }

// TestFindings runs one session for every code of the table.
func TestFindings(t *testing.T) {
	var stray []string
	files, err := filepath.Glob(filepath.Join(sessions, "finding", "*.txtar"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		stray = append(stray, filepath.Base(f))
	}
	for _, e := range finding.Table {
		name := string(e.Code) + ".txtar"
		stray = slices.DeleteFunc(stray, func(s string) bool { return s == name })
		script, err := os.ReadFile(filepath.Join(sessions, "finding", name))
		if err != nil {
			t.Errorf("the code %s has no session: %v", e.Code, err)
			continue
		}
		line := fmt.Sprintf(`(?m)^finding %s %s( |$)`, regexp.QuoteMeta(string(e.Code)), e.Severity)
		if !regexp.MustCompile(line).Match(script) {
			t.Errorf("the session of %s does not show it as %s", e.Code, e.Severity)
		}
	}
	if len(stray) > 0 {
		t.Errorf("sessions without a code in the table: %v", stray)
	}
	runScripts(t, "finding")
}

func runScripts(t *testing.T, folder string) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join(sessions, folder),
		Setup: func(env *testscript.Env) error {
			env.Defer(func() { validRecords(t, env.WorkDir) })
			return nil
		},
		Condition: func(condition string) (bool, error) {
			if condition == "root" { // who may read everything
				return os.Geteuid() == 0, nil
			}
			return false, fmt.Errorf("no such condition: %s", condition)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"edit":      scriptEdit,
			"exits":     scriptExits,
			"finding":   scriptFinding,
			"fly":       scriptFly,
			"keys":      scriptKeys,
			"packet":    scriptPacket,
			"paint":     scriptPaint,
			"shapefile": scriptShapefile,
			"shoot":     scriptShoot,
			"strip":     scriptStrip,
			"survey":    scriptSurvey,
			"valid":     scriptValid,
			"zip":       scriptZip,
		},
	})
}

// exits STATUS PROGRAM ARGUMENT...: runs the program, which ends with this exit status.
func scriptExits(ts *testscript.TestScript, negated bool, args []string) {
	err := ts.Exec(args[1], args[2:]...)
	status := 0
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		status = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if (strconv.Itoa(status) == args[0]) == negated {
		ts.Fatalf("exit status %d", status)
	}
}

// edit FILE PATTERN REPLACEMENT: replaces what matches, which must be there.
func scriptEdit(ts *testscript.TestScript, negated bool, args []string) {
	pattern, text := regexp.MustCompile(args[1]), ts.ReadFile(args[0])
	if pattern.MatchString(text) == negated {
		ts.Fatalf("%s has no %s", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(pattern.ReplaceAllString(text, args[2])), 0o666))
}

// finding CODE SEVERITY [PATTERN]: the JSON on standard output has such a finding.
func scriptFinding(ts *testscript.TestScript, negated bool, args []string) {
	var message struct {
		Findings []finding.Finding `json:"findings"`
	}
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &message))
	found := slices.ContainsFunc(message.Findings, func(f finding.Finding) bool {
		return string(f.Code) == args[0] && (len(args) < 2 || string(f.Severity) == args[1]) &&
			(len(args) < 3 || regexp.MustCompile(args[2]).MatchString(f.Text.String()))
	})
	if found == negated {
		ts.Fatalf("finding %v: %v, among %d", args, found, len(message.Findings))
	}
}

// keys FILE KEY...: the file is one JSON object with these keys and no others.
func scriptKeys(ts *testscript.TestScript, negated bool, args []string) {
	var object map[string]json.RawMessage
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &object))
	got, want := slices.Sorted(maps.Keys(object)), slices.Sorted(slices.Values(args[1:]))
	if slices.Equal(got, want) == negated {
		ts.Fatalf("keys are %v, want %v", got, want)
	}
}

// zip ARCHIVE FILE...: packs files.
func scriptZip(ts *testscript.TestScript, negated bool, args []string) {
	var archive bytes.Buffer
	z := zip.NewWriter(&archive)
	for _, name := range args[1:] {
		w, err := z.Create(name)
		ts.Check(err)
		_, err = w.Write([]byte(ts.ReadFile(name)))
		ts.Check(err)
	}
	ts.Check(z.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), archive.Bytes(), 0o666))
}

// paint FILE WIDTH HEIGHT: writes a PNG picture of so many pixels.
func scriptPaint(ts *testscript.TestScript, negated bool, args []string) {
	width, err := strconv.Atoi(args[1])
	ts.Check(err)
	height, err := strconv.Atoi(args[2])
	ts.Check(err)
	var picture bytes.Buffer
	ts.Check(png.Encode(&picture, image.NewGray(image.Rect(0, 0, width, height))))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), picture.Bytes(), 0o666))
}

// shapefile FILE EAST NORTH...: writes a shapefile with one polygon, by its
// corners.
func scriptShapefile(ts *testscript.TestScript, negated bool, args []string) {
	var xy []float64
	for _, arg := range args[1:] {
		x, err := strconv.ParseFloat(arg, 64)
		ts.Check(err)
		xy = append(xy, x)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), polygonShapefile(xy...), 0o666))
}

// polygonShapefile is a shapefile with one polygon, by its corners, as the ESRI
// Shapefile Technical Description of July 1998 has it.
func polygonShapefile(xy ...float64) []byte {
	xy = append(xy, xy[0], xy[1])
	west, south, east, north := xy[0], xy[1], xy[0], xy[1]
	for i := 0; i < len(xy); i += 2 {
		west, east = min(west, xy[i]), max(east, xy[i])
		south, north = min(south, xy[i+1]), max(north, xy[i+1])
	}
	const polygon = 5
	box := []float64{west, south, east, north}
	little := binary.LittleEndian
	content := little.AppendUint32(nil, polygon)
	content, _ = binary.Append(content, little, box)
	content, _ = binary.Append(content, little, []int32{1, int32(len(xy) / 2), 0}) // parts, points, where part 1 begins
	content, _ = binary.Append(content, little, xy)
	words := func(bytes int) int32 { return int32(bytes / 2) }
	file, _ := binary.Append(nil, binary.BigEndian, []int32{9994, 0, 0, 0, 0, 0, words(100 + 8 + len(content))})
	file, _ = binary.Append(file, little, []int32{1000, polygon})
	file, _ = binary.Append(file, little, box)
	file, _ = binary.Append(file, little, make([]float64, 4)) // no heights, no measures
	file, _ = binary.Append(file, binary.BigEndian, []int32{1, words(len(content))})
	return append(file, content...)
}

// The ground of the sessions: metres east and north of 10° E, 0.5° N, by the
// length of a degree there, good to a thousandth.
func onGround(east, north float64) orb.Point {
	return orb.Point{10 + east/111_320, 0.5 + north/110_574}
}

var scriptCamera = photo.Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648}

// shoot FILE EAST NORTH ALTITUDE [YAW [PITCH [FOCAL]]] [KEY=VALUE...]: writes a
// JPEG photo. A minute's number within the file's name is the minute it was
// taken. The keys are camera=, size= in pixels, and what the altitude and the
// position count from, above= and datum=.
func scriptShoot(ts *testscript.TestScript, negated bool, args []string) {
	p := photo.New(args[0], orb.Point{})
	p.Camera = scriptCamera
	p.AltitudeDatum = photo.SeaLevel
	for len(args) > 0 && strings.Contains(args[len(args)-1], "=") {
		key, value, _ := strings.Cut(args[len(args)-1], "=")
		args = args[:len(args)-1]
		var err error
		switch key {
		case "camera":
			p.CameraModel = value
		case "size":
			_, err = fmt.Sscanf(value, "%dx%d", &p.Camera.Columns, &p.Camera.Rows)
		case "above":
			p.AltitudeDatum = value
		case "datum":
			p.MapDatum = value
		default:
			err = fmt.Errorf("no such key: %s", key)
		}
		ts.Check(err)
	}
	number := func(i int, unless float64) float64 {
		if i >= len(args) {
			return unless
		}
		x, err := strconv.ParseFloat(args[i], 64)
		ts.Check(err)
		return x
	}
	p.Position = onGround(number(1, 0), number(2, 0))
	p.Altitude = number(3, 0)
	p.Yaw, p.Pitch = number(4, 0), number(5, -90)
	p.Camera.FocalLength = number(6, 8.8)
	digits := strings.Trim(filepath.Base(args[0]), "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ. _")
	minute, _ := strconv.Atoi(digits)
	p.Time, p.TimeSource = time.Date(2026, 5, 12, 9, minute, 0, 0, time.UTC), photo.TimeFromGPS
	var data bytes.Buffer
	ts.Check(photo.Encode(&data, image.NewGray(image.Rect(0, 0, 8, 8)), p))
	path := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(filepath.Dir(path), 0o777))
	ts.Check(os.WriteFile(path, data.Bytes(), 0o666))
}

// strip FOLDER COUNT EAST ALTITUDE [KEY=VALUE...]: shoots photos along a line to
// the north, 10 m apart, with the keys of shoot.
func scriptStrip(ts *testscript.TestScript, negated bool, args []string) {
	count, err := strconv.Atoi(args[1])
	ts.Check(err)
	for i := range count {
		file := fmt.Sprintf("%s/IMG_%02d.jpg", args[0], i+1)
		scriptShoot(ts, false, append([]string{file, args[2], strconv.Itoa(10 * i), args[3]}, args[4:]...))
	}
}

// packet FILE NAME=VALUE...: puts an XMP packet with these properties into a
// JPEG photo, before what it holds, or writes a photo with nothing else.
// Segment and packet are those of ISO 16684-3, 2.1.3 and ISO 16684-1, 7 (both
// from memory).
func scriptPacket(ts *testscript.TestScript, negated bool, args []string) {
	var attributes strings.Builder
	for _, arg := range args[1:] {
		name, value, _ := strings.Cut(arg, "=")
		fmt.Fprintf(&attributes, "\n   %s=%q", name, value)
	}
	packet := "http://ns.adobe.com/xap/1.0/\x00" + `<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about="" xmlns:exif="http://ns.adobe.com/exif/1.0/" xmlns:tiff="http://ns.adobe.com/tiff/1.0/" xmlns:uav="http://example.org/uav/"` +
		attributes.String() + `/></rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>`
	path := ts.MkAbs(args[0])
	data, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		var plain bytes.Buffer
		ts.Check(jpeg.Encode(&plain, image.NewGray(image.Rect(0, 0, 8, 8)), nil))
		data, err = plain.Bytes(), os.MkdirAll(filepath.Dir(path), 0o777)
	}
	ts.Check(err)
	segment := binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(2+len(packet)))
	ts.Check(os.WriteFile(path, slices.Concat(data[:2], segment, []byte(packet), data[2:]), 0o666))
}

// survey FILE BASE SPACING [KEY=VALUE...]: writes a positions table of a flight
// over 0 to 100 m east and north, with lines along north that begin and end
// 60 m outside. Keys are columns of the table, besides from= and to= for the
// first and last line in metres east.
func scriptSurvey(ts *testscript.TestScript, negated bool, args []string) {
	number := func(s string) float64 {
		x, err := strconv.ParseFloat(s, 64)
		ts.Check(err)
		return x
	}
	from, to := -80.0, 180.0
	var columns, values []string
	for _, arg := range args[3:] {
		key, value, _ := strings.Cut(arg, "=")
		switch key {
		case "from":
			from = number(value)
		case "to":
			to = number(value)
		default:
			columns, values = append(columns, key), append(values, value)
		}
	}
	var table strings.Builder
	fmt.Fprintln(&table, strings.Join(append([]string{"file,lon,lat,yaw_deg,time"}, columns...), ","))
	n := 0
	for east := from; east <= to; east += number(args[2]) {
		for north := -60.0; north <= 160; north += number(args[1]) {
			p := onGround(east, north)
			clock := time.Date(2026, 5, 12, 9, 0, 2*n, 0, time.UTC).Format(time.RFC3339)
			row := []string{fmt.Sprintf("IMG_%04d.jpg,%.8f,%.8f,0,%s", n+1, p[0], p[1], clock)}
			fmt.Fprintln(&table, strings.Join(append(row, values...), ","))
			n++
		}
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(table.String()), 0o666))
}
