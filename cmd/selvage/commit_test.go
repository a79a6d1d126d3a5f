package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"selvage/cmd/selvage/desk"
)

// What a run that was killed has left is taken away; what another run is
// writing, or has another name, is left alone.
func TestAbandonedFilesAreRemoved(t *testing.T) {
	folder := t.TempDir()
	ended := exec.Command(program(t), "version")
	if err := ended.Run(); err != nil {
		t.Fatal(err)
	}
	gone := ended.Process.Pid
	kept := []string{
		passing(os.Getppid(), 0), // at work
		".selvage-12.part", ".selvage-x-0.part", ".selvage--5-0.part", ".selvage-007-0.part", ".selvage-12-0.part.bak",
		fmt.Sprintf("selvage-%d-0.part", gone), fmt.Sprintf(".other-%d-0.part", gone),
	}
	for _, name := range append([]string{passing(gone, 0), passing(os.Getpid(), 0), passing(gone, 12), strings.Replace(desk.Passing(gone), "*", "4005", 1)}, kept...) {
		if err := os.WriteFile(filepath.Join(folder, name), []byte("half"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	o := outputs{folder: folder}
	o.add("first", "a.kml", text("a"))
	o.add("second", "b [1].kml", text("b"))
	if err := o.commit(); err != nil {
		t.Fatal(err)
	}
	want := append(kept, "a.kml", "b [1].kml")
	slices.Sort(want)
	if got := names(t, folder); !slices.Equal(got, want) {
		t.Errorf("the folder holds %q\nwant %q", got, want)
	}
}

// A folder that goes away, or becomes a file, while it is written to.
func TestFolderGoesAway(t *testing.T) {
	for name, spoil := range map[string]func(folder string) error{
		"removed": os.RemoveAll,
		"moved":   func(folder string) error { return os.Rename(folder, folder+" moved") },
		"a file": func(folder string) error {
			return errors.Join(os.RemoveAll(folder), os.WriteFile(folder, nil, 0o666))
		},
	} {
		for moment := range 3 {
			folder := filepath.Join(t.TempDir(), "out")
			at := func(m int) func(io.Writer) error {
				return func(w io.Writer) error {
					if moment == m {
						if err := spoil(folder); err != nil {
							t.Skipf("this system keeps folders in use: %v", err)
						}
					}
					_, err := io.WriteString(w, "text")
					return err
				}
			}
			o := outputs{folder: folder}
			o.add("first", "a.kml", at(0))
			o.add("second", "b.kml", at(1))
			o.proof = func() error { return at(2)(io.Discard) }
			err := o.commit()
			if err == nil || strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), folder) {
				t.Errorf("%s at %d: %v", name, moment, err)
			}
			if name != "moved" {
				if _, err := os.ReadDir(folder); err == nil {
					t.Errorf("%s at %d: the folder is there again", name, moment)
				}
			}
		}
	}
}

// A name that is taken at the last moment.
func TestPlaceIsTaken(t *testing.T) {
	folder := t.TempDir()
	o := outputs{folder: folder}
	o.add("first", "a.kml", text("a"))
	o.add("second", "b.kml", text("b"))
	o.proof = func() error { return os.MkdirAll(filepath.Join(folder, "b.kml", "in the way"), 0o777) }
	err := o.commit()
	if want := filepath.Join(folder, "b.kml") + " could not be put in its place (1 file of this run are; run it again): "; err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("%v, want %q", err, want)
	}
	if got := names(t, folder); !slices.Equal(got, []string{"a.kml", "b.kml"}) {
		t.Errorf("left: %v", got)
	}
}

// Two runs into one folder at a time: each file is that of one of them.
func TestTwoRunsAtATime(t *testing.T) {
	folder, selvage := t.TempDir(), program(t)
	const field = `{"type":"Polygon","coordinates":[[[10,0.5],[10.001,0.5],[10.001,0.501],[10,0.501],[10,0.5]]]}`
	client, out := filepath.Join(folder, "client.geojson"), filepath.Join(folder, "out")
	if err := os.WriteFile(client, []byte(field), 0o666); err != nil {
		t.Fatal(err)
	}
	for range 10 {
		var runs []*exec.Cmd
		for buffer := range 3 {
			cmd := exec.Command(selvage, "prepare", client, "--buffer", fmt.Sprintf("%dm", buffer+10), "--replace", "--out", out)
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			runs = append(runs, cmd)
		}
		for _, cmd := range runs {
			if err := cmd.Wait(); err != nil {
				t.Errorf("a run among others: %v", err)
			}
		}
		files := contents(t, out)
		if len(files) != 2 {
			t.Errorf("%d files", len(files))
		}
		for name, data := range files {
			if !whole(name, data) {
				t.Errorf("half of %s", name)
			}
		}
	}
}

// fieldJob returns the arguments of a run of prepare into a folder.
func fieldJob(t *testing.T, out string) []string {
	client := filepath.Join(t.TempDir(), "client.geojson")
	var ring strings.Builder // of some 100 kB
	for i := range 3000 {
		fmt.Fprintf(&ring, "[%.9f,%.9f],", 10+float64(i)*1e-6, 0.5+float64(i%2)*1e-6)
	}
	field := `{"type":"Polygon","coordinates":[[` + ring.String() + `[10.003,0.501],[10,0.501],[10,0.5]]]}`
	if err := os.WriteFile(client, []byte(field), 0o666); err != nil {
		t.Fatal(err)
	}
	return []string{"prepare", client, "--buffer", "10m", "--out", out}
}

// refused runs the program, which must end with one sentence and write nothing.
func refused(t *testing.T, cmd *exec.Cmd, out, sentence string) {
	t.Helper()
	message, _ := cmd.CombinedOutput() // its status is looked at below
	if cmd.ProcessState.ExitCode() != couldNotRun || strings.Count(string(message), "\n") != 1 ||
		!strings.HasPrefix(string(message), "selvage: ") || !strings.Contains(string(message), sentence) {
		t.Errorf("%v: %s", cmd.ProcessState, message)
	}
	entries, err := os.ReadDir(out)
	if err != nil && !errors.Is(err, fs.ErrNotExist) || len(entries) > 0 {
		t.Errorf("the folder holds %v, %v", entries, err)
	}
}

// A disk that is full, and one that cannot be written to.
func TestDiskIsFull(t *testing.T) {
	disk := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Skipf("no small disk can be made here: %v %s", err, out)
	}
	t.Cleanup(func() {
		if err := exec.Command("umount", disk).Run(); err != nil {
			t.Error(err)
		}
	})
	args := fieldJob(t, filepath.Join(disk, "job"))
	refused(t, exec.Command(program(t), args...), filepath.Join(disk, "job"), "job.geojson was not written: no space left on device")
	if out, err := exec.Command("mount", "-o", "remount,ro", disk).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	refused(t, exec.Command(program(t), args...), filepath.Join(disk, "job"), "was not written: read-only file system")
	args[len(args)-1] = filepath.Join(disk, "new", "job")
	refused(t, exec.Command(program(t), args...), filepath.Join(disk, "new"), "read-only file system")
}

// Files that may not become as large as they would.
func TestFileSizeIsLimited(t *testing.T) {
	if exec.Command("sh", "-c", "ulimit -f 8").Run() != nil {
		t.Skip("file sizes cannot be limited here")
	}
	out := filepath.Join(t.TempDir(), "job")
	cmd := exec.Command("sh", append([]string{"-c", `ulimit -f 8 && exec "$0" "$@"`, program(t)}, fieldJob(t, out)...)...)
	refused(t, cmd, out, "was not written: file too large")
}

// A folder that one may not write to.
func TestFolderIsReadOnly(t *testing.T) {
	if os.Geteuid() <= 0 {
		t.Skip("who may write everywhere finds no such folder; nor is there one on Windows")
	}
	out := filepath.Join(t.TempDir(), "job")
	if err := os.Mkdir(out, 0o555); err != nil {
		t.Fatal(err)
	}
	refused(t, exec.Command(program(t), fieldJob(t, out)...), out, "was not written: permission denied")
}
