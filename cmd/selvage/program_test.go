package main

import (
	"os"
	"path/filepath"
	"testing"
)

// program returns the path of the program. It is the test binary, which behaves
// as the program under its name.
func program(t testing.TB) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "selvage")
	if filepath.Ext(self) == ".exe" {
		path += ".exe"
	}
	if err := os.Symlink(self, path); err != nil {
		t.Skipf("no second name for the program: %v", err)
	}
	return path
}
