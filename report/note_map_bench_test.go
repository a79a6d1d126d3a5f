package report

import (
	"context"
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
	"github.com/paulmach/orb"

	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/report/page/browsertest"
)

// largeNote has 50,000 photos in two hundred lines over 56 km², and views that
// change in thousands of small places.
func largeNote() Note {
	const lines, perLine, apart, along = 200, 250, 45.0, 25.0
	n := fakeNote()
	a := n.Audit
	site := orb.Polygon{box(0, 0, lines*apart, perLine*along)}
	n.SiteArea, n.FlightArea = orb.MultiPolygon{site}, orb.MultiPolygon{{box(-60, -60, lines*apart+120, perLine*along+120)}}
	a.Shots, a.Lines, a.Zones = nil, nil, nil
	for l := range lines {
		line := coverage.Line{Course: 0, Length: perLine * along, Flight: l * len(a.Flights) / lines}
		for k := range perLine {
			// Wind and gusts: positions are never quite regular.
			i := float64(len(a.Shots))
			line.Shots = append(line.Shots, len(a.Shots))
			a.Shots = append(a.Shots, coverage.Shot{Photo: &photo.Photo{
				File: "A" + strconv.Itoa(100_000+len(a.Shots)) + ".JPG", Time: time.Date(2025, 6, 3, 9, 0, 2*len(a.Shots), 0, time.UTC),
				Position: local(apart*float64(l)+4*math.Sin(i*1.7), along*float64(k)+3*math.Sin(i*2.9)),
			}, Height: 80 + 2*math.Sin(i), GSD: 0.0187, Line: l})
		}
		a.Lines = append(a.Lines, line)
	}
	most := orb.MultiPolygon{site}
	var fewer orb.MultiPolygon
	for i := range 4000 {
		x, y := 140*float64(i%64)+30*math.Sin(float64(i)), 98*float64(i/64)+25*math.Cos(float64(i))
		piece := ring(x+20, y+5, x+60, y+15, x+75, y+40, x+55, y+70, x+25, y+62, x+10, y+30)
		fewer = append(fewer, orb.Polygon{piece})
		hole := piece.Clone()
		hole.Reverse()
		most[0] = append(most[0], hole)
		if i%20 == 0 {
			a.Zones = append(a.Zones, coverage.Zone{Kind: coverage.Thin, Area: 2000, Label: local(x+40, y+35), Shape: orb.Polygon{piece}})
		}
	}
	a.Views = []coverage.ViewBand{{From: 5, To: 9, Area: 9e6, Shape: fewer}, {From: 10, To: -1, Area: 4e7, Shape: most}}
	return n
}

// Frames a second while a map of 50,000 photos is moved and its size changed
// on every frame, in headless Chromium without a graphics card; and the time
// that the page's own thread worked for a frame, which does not count what other
// programs take meanwhile.
func BenchmarkMapFrames(b *testing.B) {
	n := largeNote()
	p := openNote(b, browsertest.Start(b), n, 1200, 900)
	p.Run(chromedp.Focus(".live-plot"), chromedp.ScrollIntoView(".live-plot"))
	const perRun = 60
	p.Run(performance.Enable().WithTimeDomain(performance.EnableTimeDomainThreadTicks))
	busy := func() (seconds float64) {
		p.Run(chromedp.ActionFunc(func(ctx context.Context) error {
			metrics, err := performance.GetMetrics().Do(ctx)
			for _, m := range metrics {
				if m.Name == "TaskDuration" {
					seconds = m.Value
				}
			}
			return err
		}))
		return seconds
	}
	rate := func(b *testing.B, keys string) {
		var seconds float64
		before := busy()
		frames := 0
		for b.Loop() {
			frames += perRun
			seconds += browsertest.Ask[float64](p, `new Promise((done) => {
				const plot = document.querySelector(".live-plot"), keys = `+keys+`, start = performance.now();
				let left = `+strconv.Itoa(perRun)+`;
				const frame = () => {
					if (left-- === 0) return done((performance.now() - start) / 1000);
					plot.dispatchEvent(new KeyboardEvent("keydown", { key: keys[left % keys.length], bubbles: true }));
					requestAnimationFrame(frame);
				};
				requestAnimationFrame(frame);
			})`)
		}
		b.ReportMetric(float64(frames)/seconds, "frames/s")
		b.ReportMetric(1000*(busy()-before)/float64(frames), "cpu-ms/frame")
		b.ReportMetric(0, "ns/op")
	}
	move := `["ArrowLeft", "ArrowUp", "ArrowRight", "ArrowDown"]`
	b.Run("all/move", func(b *testing.B) { rate(b, move) })
	b.Run("all/size", func(b *testing.B) { rate(b, `["+", "+", "+", "-", "-", "-"]`) })
	p.Run(chromedp.KeyEvent("+++++++"))
	b.Run("near/move", func(b *testing.B) { rate(b, move) })
	b.Run("near/size", func(b *testing.B) { rate(b, `["+", "-"]`) })
	p.Content()
}
