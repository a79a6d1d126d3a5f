package main

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

func TestProgressText(t *testing.T) {
	for _, tt := range []struct {
		n, all int
		since  time.Duration
		want   string
	}{
		{1, 5000, time.Millisecond, "Reading photos: 1 of 5,000"}, // no pace yet
		{1200, 5000, 3 * time.Second, "Reading photos: 1,200 of 5,000, 400 a second, 10s left"},
		{100, 10_000, 100 * time.Second, "Reading photos: 100 of 10,000, 1 a second, 2h45m0s left"},
		{5000, 5000, 9 * time.Second, "Reading photos: 5,000 of 5,000, 555 a second, 0s left"},
	} {
		if got := progressText(tt.n, tt.all, tt.since); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}

// The line is gone at the end, and stays away when a photo comes in late.
func TestProgressLine(t *testing.T) {
	var screen bytes.Buffer
	step, done := terminal{err: &screen, interactive: true}.progress(longWork)
	step()
	if !strings.HasSuffix(screen.String(), "Reading photos: 1 of 500") {
		t.Errorf("shown: %q", &screen)
	}
	done()
	step()
	blank := strings.Repeat(" ", len("Reading photos: 1 of 500"))
	if !strings.HasSuffix(screen.String(), "\r"+blank+"\r") {
		t.Errorf("left: %q", &screen)
	}
	for name, quiet := range map[string]terminal{"nobody watches": {err: &screen}, "few photos": {err: &screen, interactive: true}} {
		screen.Reset()
		photos := longWork
		if quiet.interactive {
			photos--
		}
		step, done := quiet.progress(photos)
		step()
		done()
		if screen.Len() > 0 {
			t.Errorf("%s: %q", name, &screen)
		}
	}
}
