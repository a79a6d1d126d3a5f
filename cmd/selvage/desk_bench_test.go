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

// BenchmarkRedraw is the same as the user has it, from the key to the picture,
// without the pause that the page makes for more keys.
func BenchmarkRedraw(b *testing.B) {
	p := openDesk(b, browsertest.Start(b), 1200)
	p.drop("boundary file", wavyOutline(b, 10_000))
	p.wait("iframe.report")
	p.click(".next a")
	p.wait(".proof")
	n := 0
	for b.Loop() {
		n++
		p.Run(chromedp.Evaluate(fmt.Sprintf(`(async () => {
			const { post } = await import(document.querySelector("script[type=module]").src.replace("desk.js", "api.js"));
			const { mountMap } = await import(document.querySelector("script[type=module]").src.replace("desk.js", "map.js"));
			const drawing = await post("api/jobs/wavy/draw", { buffer: ["%dm"] });
			window.benchMap ??= mountMap(document.body.appendChild(document.createElement("div")), drawing.map);
			benchMap.update(drawing.map);
			await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
			return true;
		})()`, 30+n%5), nil, browsertest.Awaited))
	}
	p.Content()
}

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
