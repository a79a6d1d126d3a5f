package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A limit of memory ends the program with a sentence and without a file of its
// own, while the same job is done where it is a little more than the job takes.
func TestMemoryLimit(t *testing.T) {
	// What is repeated is one vertex.
	b := bomb{file: "a.geojson", write: repeated(`{"type":"Polygon","coordinates":[[[10.001,50],[10.001,50.001]`, ",[10,50]", 1_000_000, "]]}")}
	for limit, want := range map[string]string{
		"30MB":  "selvage: this takes more than the limit of 30MB of memory (--limit memory)\n",
		"500MB": "",
	} {
		path := b.lay(t)
		cmd := exec.CommandContext(t.Context(), program(t), "vet", path, "--out", filepath.Dir(path), "--limit", "memory="+limit)
		var message bytes.Buffer
		cmd.Stderr = &message
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		took := mostOf(t, cmd)
		t.Logf("%s: %d MB", limit, took/1000)
		files, err := os.ReadDir(filepath.Dir(path))
		if err != nil {
			t.Fatal(err)
		}
		if status := cmd.ProcessState.ExitCode(); want == "" && (status > needsAnswer || len(files) < 2) {
			t.Errorf("%s: exit status %d, %d files: %s", limit, status, len(files), &message)
		} else if want != "" && (status != couldNotRun || len(files) != 1 || !strings.HasSuffix(message.String(), want)) {
			t.Errorf("%s: exit status %d, %v, said %q", limit, status, files, &message)
		}
	}
}
