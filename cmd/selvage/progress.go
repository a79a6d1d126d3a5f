package main

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"selvage/report"
)

// longWork is a number of photos that takes longer to read than one waits for
// without asking.
const longWork = 500

// progress returns what to call after each photo, and at the end.
func (t terminal) progress(photos int) (step, done func()) {
	if !t.interactive || photos < longWork {
		return func() {}, func() {}
	}
	l := &progressLine{out: t.err, all: photos, began: time.Now()}
	return l.step, l.clear
}

// progressLine is a line on a terminal that is written over and over.
type progressLine struct {
	out   io.Writer
	all   int
	began time.Time

	lock  sync.Mutex
	n     int
	shown time.Time
	width int // letters on the terminal
	ended bool
}

func (l *progressLine) step() {
	l.lock.Lock()
	defer l.lock.Unlock()
	const often = 100 * time.Millisecond
	l.n++
	if now := time.Now(); !l.ended && now.Sub(l.shown) >= often {
		l.shown = now
		l.show(progressText(l.n, l.all, now.Sub(l.began)))
	}
}

// clear takes the line away, and what is still on its way does not bring it back.
func (l *progressLine) clear() {
	l.lock.Lock()
	defer l.lock.Unlock()
	if l.width > 0 {
		l.show("")
		fmt.Fprint(l.out, "\r")
	}
	l.ended = true
}

func (l *progressLine) show(text string) {
	letters := utf8.RuneCountInString(text)
	fmt.Fprint(l.out, "\r"+text+strings.Repeat(" ", max(0, l.width-letters)))
	l.width = letters
}

// progressText says how far reading is, and how long the rest takes at the pace
// so far, once there is a pace.
func progressText(n, all int, since time.Duration) string {
	text := fmt.Sprintf("Reading photos: %s of %s", report.Number(n), report.Number(all))
	if n > 0 && since >= time.Second {
		pace := float64(n) / since.Seconds()
		rest := time.Duration(float64(all-n) / pace * float64(time.Second)).Round(time.Second)
		text += fmt.Sprintf(", %s a second, %s left", report.Number(int(pace)), rest)
	}
	return text
}
