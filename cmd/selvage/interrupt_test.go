package main

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
)

// Broken off, reading ends with the photos in hand and says how many were read.
func TestReadingStops(t *testing.T) {
	const count, stopAt = 60, 10
	found, err := find(t.Context(), named([]string{card(t, count)}))
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var seen atomic.Int64
	_, err = found.readPhotos(ctx, nil, func() {
		if seen.Add(1) == stopAt {
			cancel()
		}
	})
	var s stopped
	if !errors.As(err, &s) || s.all != count || s.n < stopAt-readers || s.n > stopAt+readers {
		t.Errorf("%v", err)
	}
	if _, err := find(ctx, named([]string{card(t, 3)})); !errors.As(err, &s) {
		t.Errorf("looking for photos: %v", err)
	}
}

func TestStoppedInWords(t *testing.T) {
	for want, s := range map[string]stopped{
		"stopped after 1,234 of 5,000 photos; nothing was written":         {1234, 5000},
		"stopped before any of 5,000 photos was read; nothing was written": {0, 5000},
		"stopped; nothing was written":                                     {0, 0},
	} {
		if s.Error() != want {
			t.Errorf("%q, want %q", s.Error(), want)
		}
	}
}

// What hangs, as a card that does not answer, keeps nobody waiting.
func TestPromptly(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	forever := make(chan struct{})
	defer close(forever)
	_, err := promptly(ctx, func() (int, error) {
		cancel()
		<-forever
		return 1, nil
	})
	if err != (stopped{}) {
		t.Errorf("hanging: %v", err)
	}
	_, err = promptly(ctx, func() (int, error) { return 0, stopped{7, 9} })
	if err != (stopped{7, 9}) && err != (stopped{}) {
		t.Errorf("stopped by itself: %v", err)
	}
	n, err := promptly(t.Context(), func() (int, error) { return 5, nil })
	if n != 5 || err != nil {
		t.Errorf("%d, %v", n, err)
	}
}
