//go:build linux || darwin || freebsd

package main

import (
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
)

// A pipe among the photos must not be opened: that would wait for ever.
func TestPipesArePassedOver(t *testing.T) {
	folder := card(t, 5)
	pipe := filepath.Join(folder, "a", "pipe.jpg")
	if err := unix.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	found, err := find(t.Context(), named([]string{folder}))
	if err != nil {
		t.Fatal(err)
	}
	if len(found.photos) != 5 || found.passedOver().String() != "1 pipe or device" {
		t.Errorf("%d photos; passed over: %s", len(found.photos), found.passedOver())
	}
	if _, err := find(t.Context(), named([]string{pipe})); err == nil || !strings.Contains(err.Error(), "no file that can be read like a photo") {
		t.Errorf("named by itself: %v", err)
	}
}
