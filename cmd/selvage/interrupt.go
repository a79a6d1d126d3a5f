package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	"selvage/report"
)

// stopped is the error of work that the user broke off after n photos of all;
// all is 0 where photos were not being read.
type stopped struct{ n, all int }

func (s stopped) Error() string {
	switch {
	case s.all == 0:
		return "stopped; nothing was written"
	case s.n == 0:
		return fmt.Sprintf("stopped before any of %s was read; nothing was written", report.Count(s.all, "photo", "photos"))
	}
	return fmt.Sprintf("stopped after %s of %s; nothing was written", report.Number(s.n), report.Count(s.all, "photo", "photos"))
}

// interruptible is done when the user breaks off, or on Windows closes the
// window, which comes as SIGTERM. Until release is called, nothing else happens then.
func interruptible() (ctx context.Context, release func()) {
	return signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
}

// promptly works until the user breaks off, even where the system still waits
// for a card or a pipe. Work must write nothing: it may go on for a while.
func promptly[T any](ctx context.Context, work func() (T, error)) (T, error) {
	type result struct {
		value T
		err   error
	}
	ended := make(chan result, 1)
	go func() {
		value, err := work()
		ended <- result{value, err}
	}()
	select {
	case r := <-ended:
		return r.value, r.err
	case <-ctx.Done():
	}
	const toSayHowFar = 200 * time.Millisecond
	select {
	case r := <-ended:
		if r.err != nil {
			return r.value, r.err
		}
	case <-time.After(toSayHowFar):
	}
	var none T
	return none, stopped{}
}
