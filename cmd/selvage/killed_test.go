package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/image/tiff"

	"selvage/boundary"
)

// contents returns the files of a folder and all below it, by their paths.
func contents(t *testing.T, folder string) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		relative, _ := filepath.Rel(folder, path)
		files[filepath.ToSlash(relative)] = data
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// fingerprint is one hash over the names and bytes of all files in folders.
func fingerprint(t *testing.T, folders ...string) [sha256.Size]byte {
	sum := sha256.New()
	for _, folder := range folders {
		files := contents(t, folder)
		var names []string
		for name := range files {
			names = append(names, name)
		}
		slices.Sort(names)
		for _, name := range names {
			sum.Write([]byte(name))
			one := sha256.Sum256(files[name])
			sum.Write(one[:])
		}
	}
	return [sha256.Size]byte(sum.Sum(nil))
}

// whole reports whether a file is complete, by its name's end.
func whole(name string, data []byte) bool {
	switch filepath.Ext(name) {
	case ".json", ".geojson":
		return json.Valid(data)
	case ".kml":
		f, err := boundary.Read(name, data, boundary.Options{})
		return err == nil && len(f.Parts) > 0
	case ".kmz":
		_, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		return err == nil
	case ".tif":
		_, err := tiff.Decode(bytes.NewReader(data))
		return err == nil
	case ".pdf":
		return bytes.HasPrefix(data, []byte("%PDF-")) && bytes.HasSuffix(bytes.TrimSpace(data), []byte("%%EOF"))
	case ".html":
		return bytes.HasSuffix(bytes.TrimSpace(data), []byte("</html>"))
	}
	return false
}

const old = "from an earlier run"

// Killed at any moment, the program leaves each output whole, as it was before,
// or not there; what it reads is as it was; and the next run is not in the way
// of what the last one left, and takes it away.
func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program many times")
	}
	kills := 60
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		kills = 200
	}
	selvage, job := program(t), t.TempDir()
	if err := runDemo(terminal{out: io.Discard, err: io.Discard}, job); err != nil {
		t.Fatal(err)
	}
	client, photos := filepath.Join(job, "client"), filepath.Join(job, "photos")
	before := fingerprint(t, client, photos)
	commands := [][]string{
		{"prepare", filepath.Join(client, "invented-quarry.kml"), "--buffer", "30m", "--format", "kml,geojson", "--replace", "--out"},
		{"audit", photos, "--job", filepath.Join(job, "job", "invented-quarry.job.geojson"), "--ground", "12m", "--replace", "--out"},
	}
	for _, args := range commands {
		run := func(out string) *exec.Cmd { return exec.Command(selvage, append(slices.Clone(args), out)...) }
		reference := filepath.Join(t.TempDir(), "out")
		began := time.Now()
		if out, err := run(reference).CombinedOutput(); couldNotRunAtAll(err) {
			t.Fatalf("%v\n%s", err, out)
		}
		usual := time.Since(began)
		want := contents(t, reference)
		if len(want) < 3 {
			t.Fatalf("%s wrote %d files", args[0], len(want))
		}
		var unfinished, staged, some int
		for i := range kills / len(commands) {
			out := filepath.Join(t.TempDir(), "out")
			if err := os.Mkdir(out, 0o777); err != nil {
				t.Fatal(err)
			}
			replaced := i%2 == 0
			if replaced {
				for name := range want {
					if err := os.WriteFile(filepath.Join(out, name), []byte(old), 0o666); err != nil {
						t.Fatal(err)
					}
				}
			}
			cmd := run(out)
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			if i%3 == 0 {
				time.Sleep(time.Duration(rand.Float64() * 1.2 * float64(usual)))
			} else { // while it writes, which is a small part of the whole
				for end := time.Now().Add(10 * usual); !writing(out) && time.Now().Before(end); {
				}
				time.Sleep(time.Duration(rand.Float64() * 0.3 * float64(usual)))
			}
			_ = cmd.Process.Kill() // it may have ended
			_ = cmd.Wait()         // its state is looked at below
			if !cmd.ProcessState.Exited() {
				unfinished++
			}
			fresh, parts := 0, 0
			for name, data := range contents(t, out) {
				switch {
				case want[name] == nil && strings.HasPrefix(name, ".") && strings.HasSuffix(name, ".part"):
					parts++
				case want[name] == nil:
					t.Errorf("%s left %s", args[0], name)
				case replaced && string(data) == old:
				case !whole(name, data):
					t.Errorf("%s left half of %s, %d bytes", args[0], name, len(data))
				default:
					fresh++
				}
			}
			if parts > 0 {
				staged++
			}
			if fresh > 0 && fresh < len(want) {
				some++
			}
			if again, err := run(out).CombinedOutput(); couldNotRunAtAll(err) {
				t.Fatalf("the second run of %s: %v\n%s", args[0], err, again)
			}
			got := contents(t, out)
			for name, data := range got {
				if want[name] == nil || !whole(name, data) {
					t.Errorf("after the second run of %s: %s, %d bytes", args[0], name, len(data))
				}
			}
			if len(got) != len(want) {
				t.Errorf("the second run of %s wrote %d of %d files", args[0], len(got), len(want))
			}
		}
		t.Logf("%s, which takes %v: killed %d times before its end, %d times with files that were not in their places, %d times with only some in their places",
			args[0], usual.Round(time.Millisecond), unfinished, staged, some)
		if unfinished == 0 && runtime.GOOS != "windows" { // where the end of a killed process looks like any other
			t.Errorf("%s was never killed in time", args[0])
		}
	}
	if fingerprint(t, client, photos) != before {
		t.Error("what was read has changed")
	}
}

// couldNotRunAtAll passes over the exit status of a job that needs an answer.
func couldNotRunAtAll(err error) bool {
	exit, ok := err.(*exec.ExitError)
	return err != nil && !(ok && exit.ExitCode() == needsAnswer)
}

// writing reports whether files under passing names are in a folder.
func writing(folder string) bool {
	entries, _ := os.ReadDir(folder)
	return slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return strings.HasSuffix(e.Name(), ".part") })
}
