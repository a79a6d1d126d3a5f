package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, s)
		return err
	}
}

func names(t *testing.T, folder string) []string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestOutputsAllOrNone(t *testing.T) {
	folder := t.TempDir()
	broken := errors.New("the disk is full")
	o := outputs{folder: folder}
	o.add("first", "a.kml", text("a"))
	o.add("second", "b.json", func(w io.Writer) error {
		io.WriteString(w, "half")
		return broken
	})
	if err := o.commit(); !errors.Is(err, broken) {
		t.Fatalf("error %v, want the writer's", err)
	}
	if left := names(t, folder); len(left) > 0 {
		t.Errorf("a failure left %v", left)
	}

	o.planned = o.planned[:1]
	o.add("second", "b.json", text("b"))
	if err := o.commit(); err != nil {
		t.Fatal(err)
	}
	if got := names(t, folder); len(got) != 2 || got[0] != "a.kml" || got[1] != "b.json" {
		t.Errorf("written: %v", got)
	}

	// A failure while replacing leaves what was there.
	o.replace = true
	o.planned[0].write = text("new")
	o.planned[1].write = func(io.Writer) error { return broken }
	if err := o.commit(); !errors.Is(err, broken) {
		t.Fatalf("error %v, want the writer's", err)
	}
	if data, err := os.ReadFile(filepath.Join(folder, "a.kml")); err != nil || string(data) != "a" {
		t.Errorf("a.kml holds %q, %v", data, err)
	}
	if got := names(t, folder); len(got) != 2 {
		t.Errorf("left: %v", got)
	}
}

func TestOutputsIntoAFileIsAnError(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(folder, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	o := outputs{folder: folder}
	o.add("first", "a.kml", text("a"))
	if err := o.commit(); err == nil {
		t.Error("a folder that is a file was accepted")
	}
}
