package main

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"image"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/image/tiff"

	"selvage/coverage/photo"
)

// hostile are names as nobody wants them.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onload='alert(1)`, `]]></name><Placemark/>`, `</style><script>alert(1)</script>`,
	`=HYPERLINK("http://example.org","x")`, `+1+1`, `-1+1`, `@SUM(1)`, "\t=1+1", `<!--`, `{{.}}`, `javascript:alert(1)`, "\u202egpj.live", "\x1b]0;owned\x07\x1b[31m", "a\u2028b", `&lt;script&gt;`, `%s%n`, `../../up`,
}

// namedJob is a client's file and photos that carry these names, in a folder.
func namedJob(t *testing.T, names []string) (folder string) {
	folder = t.TempDir()
	var features []string
	for i, name := range names {
		quoted, err := json.Marshal(name)
		if err != nil {
			t.Fatal(err)
		}
		p := onGround(float64(150*i), 0)
		q := onGround(float64(150*i+100), 100)
		ring := fmt.Sprintf("[[%.7f,%.7f],[%.7f,%.7f],[%.7f,%.7f],[%.7f,%.7f],[%.7f,%.7f]]", p[0], p[1], q[0], p[1], p[0], q[1], q[0], q[1], p[0], p[1])
		if i%2 == 0 { // the others cross themselves
			ring = fmt.Sprintf("[[%.7f,%.7f],[%.7f,%.7f],[%.7f,%.7f],[%.7f,%.7f],[%.7f,%.7f]]", p[0], p[1], q[0], p[1], q[0], q[1], p[0], q[1], p[0], p[1])
		}
		features = append(features, fmt.Sprintf(`{"type":"Feature","properties":{"name":%s},"geometry":{"type":"Polygon","coordinates":[%s]}}`, quoted, ring),
			fmt.Sprintf(`{"type":"Feature","properties":{"name":%s},"geometry":{"type":"Point","coordinates":[%.7f,%.7f]}}`, quoted, p[0], p[1]))
	}
	write := func(name string, data []byte) {
		path := filepath.Join(folder, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o777), os.WriteFile(path, data, 0o666)); err != nil {
			t.Fatal(err)
		}
	}
	write("client.geojson", []byte(`{"type":"FeatureCollection","features":[`+strings.Join(features, ",")+`]}`))
	var table bytes.Buffer
	rows := csv.NewWriter(&table)
	for i := range 60 {
		if i == 0 {
			_ = rows.Write([]string{"file", "lon", "lat", "time"}) // a buffer takes everything
		}
		at := onGround(float64(50*i), 50)
		_ = rows.Write([]string{names[i%len(names)], fmt.Sprint(at[0]), fmt.Sprint(at[1]), ""})
	}
	_ = rows.Write([]string{names[0], "north", "", ""})
	rows.Flush()
	write("positions.csv", table.Bytes())
	for i, name := range names {
		p := photo.New("", onGround(float64(150*i+50), 50))
		p.Altitude, p.AltitudeDatum, p.Camera, p.CameraModel, p.Lens = 200, photo.SeaLevel, scriptCamera, name, name
		p.Yaw, p.Pitch = 0, -90
		p.Time, p.TimeSource = time.Date(2026, 5, 12, 9, 0, i, 0, time.UTC), photo.TimeFromGPS
		var data bytes.Buffer
		if err := photo.Encode(&data, image.NewGray(image.Rect(0, 0, 8, 8)), p); err != nil {
			t.Fatal(err)
		}
		file := strings.NewReplacer("/", "∕", "\x00", "").Replace(name)
		if runtime.GOOS == "windows" {
			file = fmt.Sprint(i)
		}
		write(filepath.Join("photos", file+".jpg"), data.Bytes())
	}
	return folder
}

// outputsOf runs every command that writes, and returns the files and what was
// printed.
func outputsOf(t *testing.T, folder string) map[string][]byte {
	var printed bytes.Buffer
	at := func(name string) string { return filepath.Join(folder, name) }
	for _, line := range [][]string{
		{"vet", at("client.geojson"), "--out", at("out")},
		{"vet", at("client.geojson"), "--json"},
		{"prepare", at("client.geojson"), "--buffer", "10m", "--format", "kml,kmz,geojson", "--split", "--out", at("out")},
		{"photos", at("photos"), "--all", "--format", "csv,geojson,kml", "--out", at("out")},
		{"photos", at("positions.csv"), "--all"},
		{"audit", at("photos"), "--job", at("out/client.job.geojson"), "--ground", "120m", "--sensor", "all", "--out", at("out")},
		{"audit", at("positions.csv"), "--area", at("client.geojson"), "--height", "80m", "--camera", "13.2x8.8mm,8.8mm,5472x3648", "--out", at("out2")},
	} {
		if status := run(terminal{out: &printed, err: &printed}, line); status == couldNotRun {
			t.Errorf("%s does not run: %s", line[0], printed.String()[max(0, printed.Len()-300):])
		}
	}
	files := contents(t, at("out"))
	for name, data := range contents(t, at("out2")) {
		files["by table/"+name] = data
	}
	files["printed.txt"] = printed.Bytes()
	return files
}

// elements are the kinds of elements in XML or HTML, with the names of their
// attributes.
func elements(t *testing.T, name string, data []byte) map[string]bool {
	d := xml.NewDecoder(bytes.NewReader(data))
	d.Strict, d.AutoClose, d.Entity = filepath.Ext(name) == ".kml", xml.HTMLAutoClose, xml.HTMLEntity
	kinds := map[string]bool{}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return kinds
		} else if err != nil {
			t.Errorf("%s: %v", name, err)
			return kinds
		}
		switch token := token.(type) {
		case xml.StartElement:
			kinds["<"+token.Name.Local+">"] = true
			for _, a := range token.Attr {
				kinds[token.Name.Local+" "+a.Name.Local] = true
				if strings.HasPrefix(strings.TrimSpace(a.Value), "javascript:") {
					t.Errorf("%s: %s=%q", name, a.Name.Local, a.Value)
				}
			}
		case xml.Comment:
			kinds["<!--"] = true
		}
	}
}

// Whatever things are called in what is read, in what is written the names are
// text: there are no other elements than in a job with harmless names, no
// formulas for spreadsheets, and nothing that drives a terminal.
func TestHostileNames(t *testing.T) {
	var harmless []string
	for i := range hostile {
		harmless = append(harmless, fmt.Sprintf("Field %d", i))
	}
	usual := map[string]map[string]bool{}
	harmlessFiles := outputsOf(t, namedJob(t, harmless))
	for name, data := range outputsOf(t, namedJob(t, harmless[:1])) {
		harmlessFiles["few/"+name] = data
	}
	for name, data := range harmlessFiles {
		if e := filepath.Ext(name); e == ".kml" || e == ".html" {
			if usual[e] == nil {
				usual[e] = map[string]bool{}
			}
			for kind := range elements(t, name, data) {
				usual[e][kind] = true
			}
		}
	}
	seen := map[string]int{}
	for _, names := range [][]string{hostile, hostile[:1], hostile[1:3]} { // few names are written into the maps
		for name, data := range outputsOf(t, namedJob(t, names)) {
			extension := filepath.Ext(name)
			seen[extension]++
			if strings.ContainsAny(name, "<>\"|:\x1b\u202e") {
				t.Errorf("a file is called %q", name)
			}
			switch extension {
			case ".kml", ".html":
				for kind := range elements(t, name, data) {
					if !usual[extension][kind] {
						t.Errorf("%s has %s", name, kind)
					}
				}
				if extension == ".html" && bytes.Contains(bytes.ToLower(data), []byte("<script>alert")) {
					t.Errorf("%s has a script", name)
				}
			case ".kmz":
				z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
				if err != nil || z.File[0].Name != "doc.kml" {
					t.Errorf("%s: %v", name, err)
					continue
				}
				for _, f := range z.File[1:] {
					if !regexp.MustCompile(`^(legend|views-[12])\.png$`).MatchString(f.Name) {
						t.Errorf("%s holds %s", name, f.Name)
					}
				}
			case ".tif":
				if _, err := tiff.Decode(bytes.NewReader(data)); err != nil {
					t.Errorf("%s: %v", name, err)
				}
			case ".json", ".geojson":
				if !json.Valid(data) {
					t.Errorf("%s is damaged", name)
				}
			case ".csv":
				rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
				if err != nil || len(rows) < 2 {
					t.Errorf("%s: %v", name, err)
				}
				for _, row := range rows {
					if i := slices.IndexFunc(row, isFormula); i >= 0 {
						t.Errorf("%s has the formula %q", name, row[i])
					}
				}
			case ".txt":
				if i := bytes.IndexAny(data, "\x1b\x07\u202e"); i >= 0 {
					t.Errorf("%s drives the terminal: %q", name, data[max(0, i-80):min(len(data), i+40)])
				}
			case ".pdf":
				for _, action := range []string{"/JavaScript", "/Launch", "/URI"} {
					if bytes.Contains(data, []byte(action)) {
						t.Errorf("%s does something: %s", name, action)
					}
				}
			default:
				t.Errorf("what is %s?", name)
			}
			if extension == ".html" && strings.Contains(name, "receipt") && !strings.Contains(html.UnescapeString(string(data)), names[0]) {
				t.Errorf("%s does not show the name %s", name, names[0])
			}
		}
	}
	for extension, least := range map[string]int{".html": 3, ".kml": 10, ".kmz": 10, ".geojson": 10, ".json": 2, ".csv": 1, ".txt": 2} {
		if seen[extension] < least {
			t.Errorf("only %d files %s", seen[extension], extension)
		}
	}
}

// isFormula tells cells that spreadsheets take for formulas, but no numbers.
func isFormula(cell string) bool {
	if strings.ContainsAny(cell[:min(1, len(cell))], "=+-@\t\r") {
		var number float64
		n, err := fmt.Sscan(cell, &number)
		return n != 1 || err != nil || strings.Trim(cell, "+-0123456789.eE") != ""
	}
	return false
}
