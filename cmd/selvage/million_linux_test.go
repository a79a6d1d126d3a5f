package main

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

// TestMillion measures what the commands take of time and memory for much: so
// many photos or vertices as SELVAGE_MANY says, such as 1000000.
func TestMillion(t *testing.T) {
	many, err := strconv.Atoi(os.Getenv("SELVAGE_MANY"))
	if err != nil {
		t.Skip("SELVAGE_MANY is not set to a number of photos and vertices")
	}
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	write := func(name string, text func(*bufio.Writer)) {
		f, err := os.Create(at(name))
		if err != nil {
			t.Fatal(err)
		}
		w := bufio.NewWriter(f)
		text(w)
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	side := int(math.Sqrt(float64(many)))
	width, height := 25*float64(side-1), 15*float64(side-1)
	write("positions.csv", func(w *bufio.Writer) {
		fmt.Fprintln(w, "file,lon,lat,alt_m,yaw_deg,pitch_deg,roll_deg,time")
		now := time.Date(2026, 5, 12, 9, 0, 0, 0, time.UTC)
		for n := range side * side {
			line, k := n/side, n%side
			if line%2 == 1 {
				k = side - 1 - k
			}
			p := onGround(25*float64(line), 15*float64(k))
			now = now.Add(2 * time.Second)
			fmt.Fprintf(w, "flight/IMG_%07d.JPG,%.8f,%.8f,200,%d,-90,0,%s\n", n+1, p[0], p[1], line%2*180, now.Format(time.RFC3339))
		}
	})
	write("site.geojson", func(w *bufio.Writer) {
		a, b := onGround(0, 0), onGround(width, height)
		fmt.Fprintf(w, `{"type":"Polygon","coordinates":[[[%v,%v],[%v,%v],[%v,%v],[%v,%v],[%v,%v]]]}`, a[0], a[1], b[0], a[1], b[0], b[1], a[0], b[1], a[0], a[1])
	})
	write("boundary.geojson", func(w *bufio.Writer) { // a rugged circle
		fmt.Fprint(w, `{"type":"Polygon","coordinates":[[`)
		for i := range many + 1 {
			sin, cos := math.Sincos(float64(i%many) / float64(many) * 2 * math.Pi)
			r := 3000 * (1 + 0.1*math.Sin(float64(i%many)*40/float64(many)*2*math.Pi) + 0.0001*float64(i%many%3))
			p := onGround(r*cos, r*sin)
			fmt.Fprintf(w, "%s[%.8f,%.8f]", map[bool]string{true: ","}[i > 0], p[0], p[1])
		}
		fmt.Fprint(w, "]]}")
	})
	for _, line := range [][]string{
		{"photos", at("positions.csv")},
		{"vet", at("boundary.geojson")},
		{"prepare", at("boundary.geojson"), "--buffer", "30m", "--out", at("job")},
		{"audit", at("positions.csv"), "--area", at("site.geojson"), "--ground", "120m", "--camera", "13.2x8.8mm,8.8mm,5472x3648", "--overlap", "75/70", "--out", at("note")},
	} {
		t.Run(line[0], func(t *testing.T) {
			cmd := exec.Command(program(t), line...)
			var printed bytes.Buffer
			cmd.Stdout, cmd.Stderr = &printed, &printed
			began := time.Now()
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			memory := mostOf(t, cmd)
			t.Logf("%d: %.1f s, %.1f s of work, %d MB", many, time.Since(began).Seconds(), (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), memory/1000)
			if cmd.ProcessState.ExitCode() == couldNotRun {
				t.Errorf("it does not run: %.500s", &printed)
			}
		})
	}
}
