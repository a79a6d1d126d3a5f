package report

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	printing "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/coverage"
	pages "selvage/report/page"
	"selvage/report/page/browsertest"
)

// wholeNote has something in every layer of the map.
func wholeNote() Note {
	n := fakeNote()
	n.KeepOut = orb.MultiPolygon{{box(300, 300, 60, 40)}}
	n.Audit.Lines[0].Shots = n.Audit.Lines[0].Shots[1:]
	n.Audit.Shots[0].Line = -1
	return n
}

// dataOf are the map's data as a page holds them.
func dataOf(t *testing.T, page string) (text string, data map[string]any) {
	t.Helper()
	_, after, _ := strings.Cut(page, `<script type="application/json" id="map-data">`)
	text, _, found := strings.Cut(after, "</script>")
	if !found {
		t.Fatal("the page holds no data")
	}
	if err := json.Unmarshal([]byte(text), &data); err != nil {
		t.Fatal(err)
	}
	return text, data
}

func TestMapDataCannotEndTheirElement(t *testing.T) {
	n := wholeNote()
	n.Site = "</script><!--<script>\u2028\u2029]]>&amp;"
	n.Audit.Shots[1].File = n.Site
	text, data := dataOf(t, render(t, n, WriteHTML))
	if strings.ContainsAny(text, "<>&\u2028\u2029") {
		t.Error("a character that a page could take for markup stands in the data")
	}
	if data["title"] != "Map of "+n.Site {
		t.Errorf("the title is %q", data["title"])
	}
}

// Coordinates of a map come back to within half of 1e-7 degrees.
func TestMapCoordinates(t *testing.T) {
	n := wholeNote()
	_, data := dataOf(t, render(t, n, WriteHTML))
	origin := data["origin"].([]any)
	var got []orb.Point
	for _, l := range data["layers"].([]any) {
		if l := l.(map[string]any); l["key"] == "zones" {
			lon, lat := 0.0, 0.0
			flat := l["items"].([]any)[0].(map[string]any)["rings"].([]any)[0].([]any)
			for i := 0; i < len(flat); i += 2 {
				lon, lat = lon+flat[i].(float64), lat+flat[i+1].(float64)
				got = append(got, orb.Point{origin[0].(float64) + lon*1e-7, origin[1].(float64) + lat*1e-7})
			}
		}
	}
	want := n.Audit.Zones[0].Shape[0]
	if len(got) != len(want) {
		t.Fatalf("%d points, want %d", len(got), len(want))
	}
	for i := range want {
		if math.Abs(got[i].Lon()-want[i].Lon()) > 0.51e-7 || math.Abs(got[i].Lat()-want[i].Lat()) > 0.51e-7 {
			t.Errorf("point %d is %v, want %v", i, got[i], want[i])
		}
	}
}

func TestInBrowser(t *testing.T) {
	b := browsertest.Start(t)
	for _, tt := range []struct {
		name string
		test func(*testing.T, context.Context)
	}{
		{"opens", testOpens}, {"sorting and saving", testLists}, {"policy", testPolicy}, {"without script", testWithoutScript}, {"layers", testLayers}, {"keys", testKeys}, {"pointer", testPointer},
		{"touch", testTouch}, {"tables", testTables}, {"prints", testPrints}, {"axe", testAxe}, {"receipt", testReceipt}, {"receipt lists", testReceiptLists}, {"language", testLanguage}, {"on another page", testElsewhere},
	} {
		t.Run(tt.name, func(t *testing.T) { tt.test(t, b) })
	}
}

// openNote shows a note with its map drawn.
func openNote(t testing.TB, b context.Context, n Note, width, height int64, before ...chromedp.Action) *browsertest.Tab {
	t.Helper()
	var out bytes.Buffer
	if err := WriteHTML(&out, n); err != nil {
		t.Fatal(err)
	}
	p := browsertest.OpenPage(t, b, out.String(), width, height, before...)
	p.Settle()
	return p
}

func testOpens(t *testing.T, b context.Context) {
	imperial := wholeNote()
	imperial.Units.Measures = Imperial
	for name, n := range map[string]Note{"usual": wholeNote(), "hostile": hostileNote(), "odd": oddNote(), "imperial": imperial} {
		p := openNote(t, b, n, 1200, 900)
		if !browsertest.Ask[bool](p, `document.querySelector(".live-map canvas").width > 300 && getComputedStyle(document.querySelector("svg.map")).display === "none"`) {
			t.Errorf("%s: the map is not shown in place of its picture", name)
		}
		p.Content()
	}
	p := browsertest.OpenPage(t, b, render(t, Note{Audit: &coverage.Audit{}}, WriteHTML), 1200, 900)
	if browsertest.Ask[bool](p, `document.querySelector(".live-map, #map-data") !== null`) {
		t.Error("a map of nothing")
	}
	p.Content()
}

func testWithoutScript(t *testing.T, b context.Context) {
	p := browsertest.OpenPage(t, b, render(t, wholeNote(), WriteHTML), 1200, 900, emulation.SetScriptExecutionDisabled(true))
	if !browsertest.Ask[bool](p, `document.querySelector("svg.map").getBoundingClientRect().height > 300 && !document.querySelector(".live-map")`) {
		t.Error("without script there is no picture")
	}
	p.Content()
}

// painted is a digest of what the map shows.
const painted = `[...document.querySelectorAll(".live-plot > canvas")].map((c) => c.toDataURL()).join(" ")
	+ [...document.querySelectorAll(".live-tag:not([hidden])")].map((b) => b.textContent).join(" ")`

func testLayers(t *testing.T, b context.Context) {
	p := openNote(t, b, wholeNote(), 1200, 900)
	keys := browsertest.Ask[[]string](p, `[...document.querySelectorAll(".live-layers input")].map((box) => box.name)`)
	want := "zones edge refly points site flight keep-out views one-line coarse lines photos-1 photos-2 photos-off"
	if got := strings.Join(keys, " "); got != want {
		t.Errorf("layers are %s, want %s", got, want)
	}
	all := browsertest.Ask[string](p, painted)
	for _, key := range keys {
		press := fmt.Sprintf(`document.querySelector(".live-layers [name='%s']").click()`, key)
		p.Run(chromedp.Evaluate(press, nil))
		p.Settle()
		without := browsertest.Ask[string](p, painted)
		p.Run(chromedp.Evaluate(press, nil))
		p.Settle()
		if without == all {
			t.Errorf("nothing changes without the layer %s", key)
		}
		if again := browsertest.Ask[string](p, painted); again != all {
			t.Errorf("the layer %s does not come back as it was", key)
		}
	}
	p.Content()
}

// scaleOf is the length of a pixel in metres, by the scale bar.
func metresPerPixel(p *browsertest.Tab) float64 {
	p.Helper()
	var length, pixels float64
	var unit string
	text := p.Text(".live-scale")
	if _, err := fmt.Sscanf(strings.ReplaceAll(text, ",", ""), "%g %s", &length, &unit); err != nil {
		p.Fatalf("the scale is %q", text)
	}
	pixels = browsertest.Ask[float64](p, `document.querySelector(".live-bar").getBoundingClientRect().width`)
	return length * map[string]float64{"m": 1, "km": 1000}[unit] / pixels
}

var positionPattern = regexp.MustCompile(`^([0-9.]+)° ([NS]), ([0-9.]+)° ([EW])$`)

// place reads the position that the map shows.
func place(p *browsertest.Tab) orb.Point {
	p.Helper()
	text := p.Text(".live-place")
	if !positionPattern.MatchString(text) {
		p.Fatalf("the position is %q", text)
	}
	var lat, lon float64
	var ns, ew string
	fmt.Sscanf(strings.NewReplacer("°", "", ",", "").Replace(text), "%g %s %g %s", &lat, &ns, &lon, &ew)
	if ns == "S" {
		lat = -lat
	}
	if ew == "W" {
		lon = -lon
	}
	return orb.Point{lon, lat}
}

func testKeys(t *testing.T, b context.Context) {
	p := openNote(t, b, wholeNote(), 1200, 900)
	p.Run(chromedp.Focus(".live-plot"))
	home, scale := place(p), metresPerPixel(p)
	press := func(key string) {
		p.Run(chromedp.KeyEvent(key))
		p.Settle()
	}
	for _, tt := range []struct {
		key       string
		lon, lat  float64 // which way the middle of the map goes
		magnified float64
	}{
		{kb.ArrowRight, 1, 0, 1}, {kb.ArrowLeft, -1, 0, 1}, {kb.ArrowUp, 0, 1, 1}, {kb.ArrowDown, 0, -1, 1}, {"+", 0, 0, 1.5}, {"-", 0, 0, 1 / 1.5},
	} {
		press(tt.key)
		now := place(p)
		way := func(d float64) float64 {
			if math.Abs(d) < 2e-6 {
				return 0
			}
			return math.Copysign(1, d)
		}
		if way(now.Lon()-home.Lon()) != tt.lon || way(now.Lat()-home.Lat()) != tt.lat {
			t.Errorf("after %q the middle went from %v to %v", tt.key, home, now)
		}
		if got := scale / metresPerPixel(p); math.Abs(got-tt.magnified) > 0.02 {
			t.Errorf("after %q the map is %.3f times as large", tt.key, got)
		}
		press("0")
		if place(p) != home || math.Abs(metresPerPixel(p)/scale-1) > 1e-6 {
			t.Errorf("0 does not lead back after %q", tt.key)
		}
	}
	press("n")
	if got := browsertest.Ask[string](p, `document.activeElement.textContent`); got != "1" {
		t.Errorf("N leads to %q", got)
	}
	if got := p.Text(".live-figures"); !strings.Contains(got, "Zone 1: gap") || !strings.Contains(got, "840 m²") {
		t.Errorf("the figures in focus are %q", got)
	}
	press("n")
	press("p")
	press("p")
	if got := browsertest.Ask[string](p, `document.activeElement.getAttribute("aria-label")`); !strings.HasPrefix(got, "Control point C3") {
		t.Errorf("P before the first leads to %q", got)
	}
	press(kb.Escape)
	if browsertest.Ask[bool](p, `!document.querySelector(".live-figures").hidden || !document.activeElement.matches(".live-plot")`) {
		t.Error("Escape does not let go")
	}
	press("0")
	press(kb.Enter)
	if got := p.Text(".live-spoken"); got == "" {
		t.Error("Enter reads nothing")
	}
	p.Content()
}

// pixel finds where a place is on the window, from two positions that the map
// tells of the pointer.
func pixel(p *browsertest.Tab, at orb.Point) (x, y float64) {
	p.Helper()
	box := browsertest.Ask[[]float64](p, `(() => { const b = document.querySelector(".live-plot").getBoundingClientRect(); return [b.left, b.top, b.width, b.height]; })()`)
	told := func(x, y float64) orb.Point {
		p.Run(input.DispatchMouseEvent(input.MouseMoved, x, y))
		p.Settle()
		return place(p)
	}
	x0, y0, x1, y1 := box[0]+100, box[1]+30, box[0]+box[2]-100, box[1]+box[3]-120
	a, b := told(x0, y0), told(x1, y1)
	return x0 + (at.Lon()-a.Lon())/(b.Lon()-a.Lon())*(x1-x0), y0 + (at.Lat()-a.Lat())/(b.Lat()-a.Lat())*(y1-y0)
}

func testPointer(t *testing.T, b context.Context) {
	p := openNote(t, b, wholeNote(), 1200, 900)
	p.Run(chromedp.ScrollIntoView(".live-plot"))
	hover := func(at orb.Point) string {
		x, y := pixel(p, at)
		p.Run(input.DispatchMouseEvent(input.MouseMoved, x, y))
		p.Settle()
		return p.Text(".live-figures")
	}
	for _, tt := range []struct {
		at   orb.Point
		want []string
	}{
		{local(325, 45), []string{"Zone 4: thin", "2 to 4 views", "4,210 m²", "52.0 % certain"}},
		{local(400, 50), []string{"E1: edge with too few views", "440.0 m to 461.0 m", "least 4 views"}},
		{local(52, 330), []string{"Photo A0016.JPG", "2025-06-03", "height 70.0 m", "GSD 1.87 cm/px"}},
		{local(60, 250), []string{"Control point C3 a name too long for the map", "24 views", "from 3 lines"}},
		{local(230, 228), []string{"R2: area to fly again", "2,100 m²", "3 photos", "0.2 min"}},
		{local(350, 320), []string{"Keep-out area"}},
		{local(20, 200), []string{"5 to 9 views"}},
	} {
		got := hover(tt.at)
		for _, want := range tt.want {
			if !strings.Contains(got, want) {
				t.Errorf("at %v the figures are %q, without %q", tt.at, got, want)
			}
		}
	}
	x, y := pixel(p, local(200, 150))
	before := metresPerPixel(p)
	p.Run(input.DispatchMouseEvent(input.MouseWheel, x, y).WithDeltaX(0).WithDeltaY(-200))
	p.Settle()
	if metresPerPixel(p) != before {
		t.Error("the wheel enlarges a map that is not in focus")
	}
	p.Run(chromedp.Focus(".live-plot"), chromedp.ScrollIntoView(".live-plot"))
	x, y = pixel(p, local(200, 150))
	p.Run(input.DispatchMouseEvent(input.MouseWheel, x, y).WithDeltaX(0).WithDeltaY(-200))
	p.Settle()
	if !(metresPerPixel(p) < 0.9*before) {
		t.Error("the wheel does not enlarge the map in focus")
	}
	if x1, y1 := pixel(p, local(200, 150)); math.Hypot(x1-x, y1-y) > 2 {
		t.Errorf("the ground under the pointer went by %.1f, %.1f pixels", x1-x, y1-y)
	}
	p.Run(input.DispatchMouseEvent(input.MousePressed, x, y).WithButton(input.Left).WithClickCount(1),
		input.DispatchMouseEvent(input.MouseMoved, x+40, y-30).WithButton(input.Left),
		input.DispatchMouseEvent(input.MouseReleased, x+40, y-30).WithButton(input.Left).WithClickCount(1))
	p.Settle()
	if x1, y1 := pixel(p, local(200, 150)); math.Hypot(x1-x-40, y1-y+30) > 2 {
		t.Errorf("dragged by 40, −30 pixels the ground went by %.1f, %.1f", x1-x, y1-y)
	}
	p.Content()
}

func testTouch(t *testing.T, b context.Context) {
	p := openNote(t, b, wholeNote(), 360, 740, emulation.SetTouchEmulationEnabled(true))
	if wide := browsertest.Ask[float64](p, `document.documentElement.scrollWidth`); wide > 360 {
		t.Errorf("the page is %v pixels wide on a phone of 360", wide)
	}
	p.Run(chromedp.ScrollIntoView(".live-plot"))
	touch := func(kind input.TouchType, xy ...float64) {
		var points []*input.TouchPoint
		for i := 0; i < len(xy); i += 2 {
			points = append(points, &input.TouchPoint{X: xy[i], Y: xy[i+1], ID: float64(i + 1)})
		}
		p.Run(input.DispatchTouchEvent(kind, points))
		p.Settle()
	}
	x, y := pixel(p, local(322, 112))
	touch(input.TouchStart, x, y)
	touch(input.TouchEnd)
	if got := p.Text(".live-figures"); !strings.Contains(got, "Zone 4: thin") || !strings.Contains(got, "Show in the table") {
		t.Errorf("a tap shows %q", got)
	}
	before := metresPerPixel(p)
	touch(input.TouchStart, 130, y, 230, y)
	touch(input.TouchMove, 80, y, 280, y)
	touch(input.TouchEnd)
	if got := before / metresPerPixel(p); math.Abs(got-2) > 0.05 {
		t.Errorf("fingers twice as far apart enlarge %.2f times", got)
	}
	at := browsertest.Ask[string](p, `scrollY + " " + document.querySelector(".live-place").textContent`)
	touch(input.TouchStart, 180, y)
	touch(input.TouchMove, 150, y-40)
	touch(input.TouchEnd)
	if now := browsertest.Ask[string](p, `scrollY + " " + document.querySelector(".live-place").textContent`); now == at || strings.Fields(now)[0] != strings.Fields(at)[0] {
		t.Errorf("one finger leads from %s to %s: it has to move the map and not the page", at, now)
	}
	p.Content()
}

func testTables(t *testing.T, b context.Context) {
	p := openNote(t, b, wholeNote(), 1200, 900)
	for region, want := range map[string]string{"zones": "Zone 2: gap", "refly": "R2: area", "edge": "E2: edge", "points": "Control point C2"} {
		p.Run(chromedp.Click(`[aria-labelledby="`+region+`"] tbody tr:nth-child(2) .live-number`, chromedp.ByQuery))
		p.Settle()
		if got := p.Text(".live-figures"); !strings.Contains(got, want) {
			t.Errorf("%s: the table leads to %q", region, got)
		}
		if !browsertest.Ask[bool](p, `(() => { const b = document.querySelector(".live-plot").getBoundingClientRect(); return b.top > -1 && b.bottom < innerHeight + 1; })()`) {
			t.Errorf("%s: the map is not in sight", region)
		}
		p.Run(chromedp.Click(".live-link", chromedp.ByQuery))
		if got := browsertest.Ask[string](p, `document.activeElement.closest("[aria-labelledby]").getAttribute("aria-labelledby") + " " + document.activeElement.closest("tr").rowIndex`); got != region+" 2" {
			t.Errorf("%s: the map leads back to %s", region, got)
		}
	}
	p.Run(chromedp.Evaluate(`(() => { const s = document.querySelector(".live-jump select"); s.value = "zones 3"; s.dispatchEvent(new Event("change")); })()`, nil))
	p.Settle()
	if got := p.Text(".live-spoken"); !strings.HasPrefix(got, "Zone 3: no stereo, 1 view, 1,450 m²") {
		t.Errorf("the list of places leads to %q", got)
	}
	p.Content()
}

func testReceipt(t *testing.T, b context.Context) {
	for name, r := range map[string]Receipt{"hostile": hostileReceipt(t), "usual": receiptOf(t, boundary.Choices{}, bowTie, spikeField)} {
		p := browsertest.OpenPage(t, b, writeReceipt(t, r, WriteReceiptHTML), 1200, 900)
		p.Settle()
		if got := browsertest.Ask[string](p, `[...document.querySelectorAll(".live-layers input")].map((box) => box.name).join(" ")`); got != "findings site received" {
			t.Errorf("%s: layers are %s", name, got)
		}
		p.Run(chromedp.Click(`.faults tr:first-child .live-number`, chromedp.ByQuery))
		p.Settle()
		if got := p.Text(".live-figures"); !strings.HasPrefix(got, "F1: ") || !strings.Contains(got, "Show in the table") {
			t.Errorf("%s: the table leads to %q", name, got)
		}
		p.Content()
	}
}

func testPrints(t *testing.T, b context.Context) {
	p := openNote(t, b, wholeNote(), 1200, 900)
	var printed []byte
	p.Run(chromedp.ActionFunc(func(ctx context.Context) (err error) {
		printed, _, err = printing.PrintToPDF().WithPreferCSSPageSize(true).WithPrintBackground(true).Do(ctx)
		return err
	}))
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		browsertest.Missing(t, "pdftotext is not installed: what Chromium prints is not read")
	}
	path := filepath.Join(t.TempDir(), "printed.pdf")
	if err := os.WriteFile(path, printed, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-layout", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	text := string(out)
	// The labels of meridians are on the picture only; layers can be chosen on
	// the screen only.
	for _, want := range []string{"0.252° E", "start of chainage", "Zones with too few views", "Cautions", "SHA-256"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not printed", want)
		}
	}
	for _, unwanted := range []string{"Layers", "Go to", "Drag to move"} {
		if strings.Contains(text, unwanted) {
			t.Errorf("%q is printed", unwanted)
		}
	}
	if sheets := strings.Count(text, "\f"); sheets < 4 || sheets > 12 {
		t.Errorf("%d pages are printed", sheets)
	}
	p.Content()
}

func testAxe(t *testing.T, b context.Context) {
	for name, text := range map[string]string{
		"note":    render(t, wholeNote(), WriteHTML),
		"receipt": writeReceipt(t, receiptOf(t, boundary.Choices{}, bowTie, spikeField), WriteReceiptHTML),
	} {
		for _, width := range []int64{1200, 360} {
			p := browsertest.OpenPage(t, b, text, width, 900)
			p.Settle()
			p.Run(chromedp.Click(`.live-number`, chromedp.ByQuery))
			p.Accessible(fmt.Sprintf("%s, %d pixels", name, width))
		}
	}
}

// The modules on a page that forbids all but its own files, with data that
// change while they are shown.
func testElsewhere(t *testing.T, b context.Context) {
	n := wholeNote()
	v, _, _ := mapView(n)
	data, err := json.Marshal(noteMap(n, v))
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/page/", http.StripPrefix("/page/", http.FileServerFS(pages.Files())))
	mux.HandleFunc("/data.json", func(w http.ResponseWriter, r *http.Request) { w.Write(data) })
	mux.HandleFunc("/start.js", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/javascript")
		fmt.Fprint(w, `import { mountMap } from "./page/map.js";
			const data = await (await fetch("data.json")).json(), element = document.getElementById("here");
			window.events = [];
			element.addEventListener("mapselect", ({ detail }) => events.push(detail.layer + " " + detail.number));
			window.map = mountMap(element, data, { wheel: "always" });
			window.fewer = { ...data, layers: data.layers.filter((layer) => layer.key !== "zones") };`)
	})
	mux.HandleFunc("/{$}", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:")
		fmt.Fprint(w, `<!DOCTYPE html><html lang="en"><title>Elsewhere</title><link rel="icon" href="data:,"><link rel="stylesheet" href="page/map.css"><script type="module" src="start.js"></script><div id="here"></div></html>`)
	})
	server := httptest.NewServer(mux)
	defer server.Close()
	p := browsertest.Open(t, b, server.URL+"/", 1200, 900)
	p.Run(chromedp.Poll(`window.map && document.querySelector(".live-tag")`, nil))
	if !browsertest.Ask[bool](p, `map.select("zones", 2)`) || browsertest.Ask[bool](p, `map.select("zones", 99)`) {
		t.Error("select does not say whether there is such a place")
	}
	if got := strings.Join(browsertest.Ask[[]string](p, `events`), ", "); got != "zones 2, undefined undefined" {
		t.Errorf("events: %s", got)
	}
	p.Run(chromedp.Evaluate(`map.select("zones", 2); map.update(fewer)`, nil))
	p.Settle()
	if browsertest.Ask[bool](p, `document.querySelector("[name=zones]") !== null || !document.querySelector(".live-figures").hidden`) {
		t.Error("what is gone from the data is still there")
	}
	p.Run(chromedp.Evaluate(`map.destroy()`, nil))
	if browsertest.Ask[float64](p, `document.getElementById("here").childElementCount`) != 0 {
		t.Error("something is left")
	}
	p.Content()
}
