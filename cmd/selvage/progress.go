package main

import (
	"time"

	"github.com/cheggaaa/pb/v3"
)

// longWork is a number of photos that takes longer to read than one waits for
// without asking.
const longWork = 500

// progress returns what to call after each photo, and at the end.
func (t terminal) progress(photos int) (step, done func()) {
	if !t.interactive || photos < longWork {
		return func() {}, func() {}
	}
	bar := pb.New(photos).
		SetTemplateString(`Reading photos: {{counters . "%s of %s"}} {{bar . }} {{speed . "%s a second"}}, {{rtime . "%s left"}}`).
		SetWriter(t.err).
		SetRefreshRate(100*time.Millisecond).
		Set(pb.Terminal, true).
		Set(pb.ReturnSymbol, "\r").
		Set(pb.CleanOnFinish, true)
	bar.Start()
	return func() { bar.Increment() }, func() { bar.Finish() }
}
