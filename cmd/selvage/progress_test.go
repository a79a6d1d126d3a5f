package main

import (
	"bytes"
	"strings"
	"sync"
	"testing"
	"time"
)

// screen is a terminal that may be written to while it is looked at.
type screen struct {
	lock  sync.Mutex
	shown bytes.Buffer
}

func (s *screen) Write(p []byte) (int, error) {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.shown.Write(p)
}

func (s *screen) String() string {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.shown.String()
}

// The line tells how many there are, and is gone at the end.
func TestProgress(t *testing.T) {
	s := &screen{}
	step, done := terminal{err: s, interactive: true}.progress(2000)
	for range 700 {
		step()
	}
	for deadline := time.Now().Add(10 * time.Second); !strings.Contains(s.String(), "700 of 2000") && time.Now().Before(deadline); {
		time.Sleep(20 * time.Millisecond)
	}
	if !strings.Contains(s.String(), "Reading photos: 700 of 2000") {
		t.Errorf("shown: %q", s)
	}
	done()
	if parts := strings.Split(strings.TrimRight(s.String(), "\r"), "\r"); strings.TrimSpace(parts[len(parts)-1]) != "" {
		t.Errorf("left: %q", parts[len(parts)-1])
	}
}

func TestNoProgress(t *testing.T) {
	for name, quiet := range map[string]terminal{"nobody watches": {}, "few photos": {interactive: true}} {
		s := &screen{}
		quiet.err = s
		photos := longWork
		if quiet.interactive {
			photos--
		}
		step, done := quiet.progress(photos)
		step()
		done()
		if s.String() != "" {
			t.Errorf("%s: %q", name, s)
		}
	}
}
