package main

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
)

func room(bytes uint64) func(string) (uint64, error) {
	return func(string) (uint64, error) { return bytes, nil }
}

func TestCommitToCard(t *testing.T) {
	const cluster, spare = 131072, 1048576
	large := strings.Repeat("x", cluster+1) // takes two clusters
	unknown := func(string) (uint64, error) { return 0, errors.ErrUnsupported }
	broken := func(string) (uint64, error) {
		return 0, &fs.PathError{Op: "statfs", Path: "card", Err: errors.New("input/output error")}
	}
	tests := []struct {
		name string
		free func(string) (uint64, error)
		want string // of the error; "" for none
	}{
		{"just room", room(3*cluster + spare), ""},
		{"a byte short", room(3*cluster + spare - 1), " has 1,441 kB free; 1,442 kB are needed for 2 files"},
		{"full", room(0), " has 0 kB free; 1,442 kB are needed for 2 files"},
		{"a system that cannot tell", unknown, ""},
		{"a card that is broken", broken, "cannot be told: input/output error"},
	}
	for _, tt := range tests {
		folder := t.TempDir()
		o := outputs{folder: folder}
		o.add("first", "a.kml", text(large))
		o.add("second", "b.kml", text("b"))
		err := o.commitToCard(tt.free)
		if tt.want == "" {
			if got := names(t, folder); err != nil || strings.Join(got, " ") != "a.kml b.kml" {
				t.Errorf("%s: %v, written: %v", tt.name, err, got)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", tt.name, err, tt.want)
		}
		if left := names(t, folder); len(left) > 0 {
			t.Errorf("%s: left %v", tt.name, left)
		}
	}
}

func TestCardMustBeThere(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "file")
	if err := os.WriteFile(file, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		filepath.Join(folder, "missing"): "cannot be used",
		file:                             "is a file, not a card's folder",
	} {
		o := outputs{folder: path}
		o.add("first", "a.kml", text("a"))
		if err := o.commitToCard(room(1 << 40)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", path, err, want)
		}
	}
	if got := names(t, folder); len(got) != 1 {
		t.Errorf("made on the way: %v", got)
	}
}

func TestCardIsNotOverwritten(t *testing.T) {
	folder := t.TempDir()
	there := filepath.Join(folder, "a.kml")
	if err := os.WriteFile(there, []byte("old"), 0o666); err != nil {
		t.Fatal(err)
	}
	o := outputs{folder: folder, flag: "--sd"}
	o.add("first", "a.kml", text("new"))
	o.add("second", "b.kml", text("b"))
	if err := o.commitToCard(room(1 << 40)); err == nil || !strings.Contains(err.Error(), "--replace") || !strings.HasSuffix(err.Error(), "--sd") {
		t.Errorf("%v", err)
	}
	if data, err := os.ReadFile(there); err != nil || string(data) != "old" || len(names(t, folder)) != 1 {
		t.Errorf("it holds %q, %v", data, err)
	}
	o.replace = true
	if err := o.commitToCard(room(1 << 40)); err != nil {
		t.Fatal(err)
	}
	if data, err := os.ReadFile(there); err != nil || string(data) != "new" {
		t.Errorf("it holds %q, %v", data, err)
	}
}

// What fails on being read back, or as a whole, is not put in its place.
func TestOutputsAreProved(t *testing.T) {
	spoilt := errors.New("vertex 3 is off")
	var seen []string
	look := func(err error) func([]byte) error {
		return func(data []byte) error {
			seen = append(seen, string(data))
			return err
		}
	}
	for _, tt := range []struct {
		name         string
		reread, last error
	}{{"sound", nil, nil}, {"one file", spoilt, nil}, {"all together", nil, spoilt}} {
		folder := t.TempDir()
		if err := os.WriteFile(filepath.Join(folder, "a.kml"), []byte("old"), 0o666); err != nil {
			t.Fatal(err)
		}
		seen = nil
		o := outputs{folder: folder, replace: true}
		o.addProved("first", "a.kml", text("new"), look(nil))
		o.addProved("second", "b.kml", text("b"), look(tt.reread))
		o.proof = func() error {
			if data, err := os.ReadFile(filepath.Join(folder, "a.kml")); err != nil || string(data) != "old" {
				t.Errorf("%s: a file is in its place before the proof: %q, %v", tt.name, data, err)
			}
			return tt.last
		}
		err := o.commit()
		want, content, count := tt.reread, "old", 1
		if want == nil {
			want = tt.last
		}
		if want == nil {
			content, count = "new", 2
		}
		if !errors.Is(err, want) {
			t.Errorf("%s: error %v, want %v", tt.name, err, want)
		}
		if strings.Join(seen, " ") != "new b" {
			t.Errorf("%s: read back: %q", tt.name, seen)
		}
		if data, err := os.ReadFile(filepath.Join(folder, "a.kml")); err != nil || string(data) != content || len(names(t, folder)) != count {
			t.Errorf("%s: a.kml holds %q, %v; the folder %v", tt.name, data, err, names(t, folder))
		}
	}
}

// A file that cannot be rendered is no reason to look at the card.
func TestCheckSpacePassesErrorsOn(t *testing.T) {
	broken := errors.New("nothing to write")
	o := outputs{folder: t.TempDir()}
	o.add("first", "a.kml", func(io.Writer) error { return broken })
	if err := o.checkSpace(room(1 << 40)); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
}

func TestFreeSpace(t *testing.T) {
	folder := t.TempDir()
	free, err := freeSpace(folder)
	if errors.Is(err, errors.ErrUnsupported) {
		t.Skip("this system cannot tell")
	}
	if err != nil || free == 0 {
		t.Fatalf("%d bytes, %v", free, err)
	}
	if _, err := freeSpace(filepath.Join(folder, "missing")); err == nil {
		t.Error("a folder that is not there has free space")
	}
	if err := syncFolder(folder); err != nil {
		t.Errorf("waiting for the folder: %v", err)
	}
	if runtime.GOOS != "linux" {
		return
	}
	// Others write to the same disk meanwhile, so that df and this may differ.
	out, err := exec.Command("df", "--output=avail", "-B1", folder).Output()
	if err != nil {
		t.Skipf("no df to compare with: %v", err)
	}
	lines := strings.Fields(string(out))
	want, err := strconv.ParseUint(lines[len(lines)-1], 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	if most := max(free, want) / 10; max(free, want)-min(free, want) > most+1<<30 {
		t.Errorf("%d bytes free, df says %d", free, want)
	}
	if _, err := freeSpace("/proc"); !errors.Is(err, errors.ErrUnsupported) {
		t.Errorf("/proc, which has no size: %v", err)
	}
}
