package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"selvage/report/page/browsertest"
)

// wavyOutline is a KML file with one area of so many vertices, 2 km across, with
// bays and headlands of 20 m.
func wavyOutline(t testing.TB, vertices int) string {
	t.Helper()
	var points strings.Builder
	for i := range vertices + 1 {
		angle := 2 * math.Pi * float64(i%vertices) / float64(vertices)
		r := 1000 + 20*math.Sin(60*angle) + 2*math.Sin(1700*angle)
		p := onGround(r*math.Cos(angle), r*math.Sin(angle))
		fmt.Fprintf(&points, "%.8f,%.8f ", p.Lon(), p.Lat())
	}
	return writeFile(t, "wavy.kml", []byte(`<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>Wavy (invented)</name><Polygon><outerBoundaryIs><LinearRing><coordinates>`+
		points.String()+`</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`))
}

// BenchmarkDraw is what the desk does while somebody types a buffer: all of it
// but the way to the page.
func BenchmarkDraw(b *testing.B) {
	for _, vertices := range []int{1000, 10_000} {
		b.Run(fmt.Sprintf("%d vertices", vertices), func(b *testing.B) {
			path := wavyOutline(b, vertices)
			var e engine
			bytes := 0
			n := 0
			for b.Loop() {
				drawn, err := e.Draw([]string{"prepare", fmt.Sprintf("--buffer=%dm", 30+n%5), path})
				if err != nil {
					b.Fatal(err)
				}
				data, err := json.Marshal(drawn)
				if err != nil {
					b.Fatal(err)
				}
				bytes = len(data)
				n++
			}
			b.ReportMetric(float64(bytes)/1000, "kB")
		})
	}
}

// BenchmarkRedraw is the same as the user has it: from the key to the frame that
// shows what it did. Reported are medians of the whole and of its stages.
func BenchmarkRedraw(b *testing.B) {
	p := openDesk(b, browsertest.Start(b), 1200)
	p.drop("boundary file", wavyOutline(b, 10_000))
	p.wait("iframe.report")
	p.click(".next a")
	p.wait(".proof")
	p.Run(chromedp.Evaluate(stopwatch, nil))
	n := 0
	for b.Loop() {
		n++
		p.typed("Buffer", fmt.Sprintf("%dm", 30+n%5))
		p.Run(chromedp.Evaluate(`taken()`, nil, browsertest.Awaited))
	}
	for stage, took := range browsertest.Ask[map[string]float64](p.Tab, `medians()`) {
		b.ReportMetric(took, stage+"-ms")
	}
	p.Content()
}

// stopwatch notes when a key was pressed, when the drawing was asked for and
// came, when the page had changed, and when the frame with it was painted.
const stopwatch = `(() => {
	const all = [];
	let pressed = 0, done = () => {};
	window.taken = () => new Promise((resolve) => { pressed ? (done = resolve) : resolve(true); });
	document.addEventListener("input", (event) => { pressed = event.timeStamp; performance.clearResourceTimings(); }, true);
	new MutationObserver(() => {
		const changed = performance.now();
		requestAnimationFrame(() => {
			const { port1, port2 } = new MessageChannel();
			port1.onmessage = () => {
				const { requestStart, responseEnd } = performance.getEntriesByType("resource").findLast(({ name }) => name.endsWith("/draw"));
				all.push({ whole: performance.now() - pressed, pause: requestStart - pressed, answer: responseEnd - requestStart,
					page: changed - responseEnd, frame: performance.now() - changed });
				pressed = 0;
				done(true);
			};
			port2.postMessage(0);
		});
	}).observe(document.querySelector(".figures"), { childList: true });
	window.medians = () => Object.fromEntries(Object.keys(all[0]).map((stage) =>
		[stage, all.map((one) => one[stage]).sort((a, b) => a - b)[all.length >> 1]]));
})()`

// BenchmarkPhotoHeads reads 5,000 photos of 20 MB through the page.
func BenchmarkPhotoHeads(b *testing.B) {
	const count = 5000
	folder := manyPhotos(b, count)
	p := openDesk(b, browsertest.Start(b), 1200)
	p.receive()
	p.toTheFlight()
	list := filepath.Join(p.folder, "invented-quarry", "photos.csv")
	for b.Loop() {
		_ = os.Remove(list)
		p.Run(chromedp.Evaluate(`document.querySelector(".done")?.remove()`, nil))
		p.drop("folder of photos", folder)
		p.waitText(".done", "5,000 photos read, 0 left out")
	}
	b.ReportMetric(float64(count*b.N)/b.Elapsed().Seconds(), "photos/s")
	p.Content()
}
