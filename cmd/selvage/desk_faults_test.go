package main

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/paulmach/orb"

	"selvage/coverage/photo"
	"selvage/report/page/browsertest"
)

const refusedByDesk = "the server responded with a status of 4" // which the browser logs

func writeFile(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// What cannot be taken in is refused in a sentence, and nothing is lost.
func testRefusals(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.drop("boundary file", writeFile(t, "lunch.kml", []byte("no boundary at all")))
	p.waitText(".fault", "lunch.kml")
	p.look("refused file")

	p.click(".home")
	p.waitText("h1", "Jobs")
	p.receive()
	p.click(".next a")
	p.wait(".proof")
	proof := p.Text(".proof")
	p.typed("Buffer", "a yard")
	p.waitText(".fault", "buffer")
	p.look("refused length")
	if p.Text(".proof") != proof {
		t.Error("the figures of what was right before are gone")
	}
	p.typed("Buffer", "30m")
	p.waitFor("an end of the complaint", `document.querySelector(".fault").textContent === ""`)

	p.drop("keep-out files", writeFile(t, "invented-quarry.kml", []byte("another file of the same name")))
	p.waitText(".fault", "invented-quarry.kml is in this job already, with other content")
	p.Content(refusedByDesk)
}

// An ambiguous fault is answered with a click, and the receipt is another then.
func testAnswers(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	sheet := filepath.Join(p.folder, "invented-quarry", "invented-quarry-receipt.html")
	first, err := os.ReadFile(sheet)
	if err != nil {
		t.Fatal(err)
	}
	p.Run(chromedp.Evaluate(`window.old = document.querySelector("iframe.report")`, nil))
	p.click(".question .candidate:last-child input")
	p.waitFor("the answer", `window.old !== document.querySelector("iframe.report") && document.querySelector("iframe.report") !== null`)
	second, err := os.ReadFile(sheet)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(first, second) {
		t.Error("the receipt sheet is the same")
	}
	p.Content()
}

// A report in its frame runs its own scripts and reaches nothing, the desk least
// of all.
func testFrame(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	f := p.Frame("-receipt.html")
	if !browsertest.Ask[bool](f, `document.querySelector(".live-map canvas") !== null`) {
		t.Error("the map of the receipt is not alive in its frame")
	}
	if origin := browsertest.Ask[string](f, `self.origin`); origin != "null" {
		t.Errorf("the frame's origin is %s", origin)
	}
	f.Content()
	for name, try := range map[string]string{
		"the page around it": `Promise.resolve().then(() => parent.document.title)`,
		"its storage":        `Promise.resolve().then(() => localStorage.length)`,
		"the jobs":           `fetch(new URL("../../api/jobs", location.href)).then((r) => r.text())`,
		"a post":             `fetch(new URL("../../api/quit", location.href), { method: "POST", mode: "no-cors" }).then((r) => r.type)`,
		"a picture":          `new Promise((done, fail) => { const i = new Image(); i.onload = done; i.onerror = fail; i.src = new URL("../../page/desk.js", location.href); })`,
		"another window":     `Promise.resolve().then(() => { if (!open("https://example.com/")) throw 0; })`,
		"the top":            `Promise.resolve().then(() => { top.location = "https://example.com/"; })`,
	} {
		if got := browsertest.Ask[string](f, try+`.then(() => "reached", () => "refused")`); got != "refused" {
			t.Errorf("%s was %s", name, got)
		}
	}
	p.Settle()
	if !strings.Contains(p.Text("h1"), "Receipt") {
		t.Error("the page is another")
	}
}

// A buffer of a part's own, and one along the lines of a file, are drawn.
func testMargins(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	p.click(".next a")
	p.wait(".proof")
	plain := p.Text(".figures")
	another := func(than string) string {
		p.waitFor("another drawing", fmt.Sprintf(`document.querySelector(".figures").innerText.replaceAll("\u00a0", " ") !== %q`, than))
		return p.Text(".figures")
	}
	p.click("details summary")
	p.typed("Buffer of Haul road (invented)", "60m")
	wider := another(plain)

	road := writeFile(t, "road.kml", []byte(`<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><LineString><coordinates>2.29,54.7 2.31,54.7</coordinates></LineString></Placemark></kml>`))
	p.drop("files with lines", road)
	p.waitText(".keep-outs", "road.kml")
	p.Run(chromedp.SendKeys(`input[aria-label="buffer along it: road.kml"]`, "5m", chromedp.ByQuery))
	p.typed("How near a line counts", "500m")
	another(wider)
	p.click("button.main")
	p.wait(".saves a")
	record, err := os.ReadFile(filepath.Join(p.folder, "invented-quarry", "invented-quarry.job.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Haul road (invented)", "road.kml"} {
		if !bytes.Contains(record, []byte(want)) {
			t.Errorf("the record of the job does not know of %s", want)
		}
	}
	p.Content(refusedByDesk) // half a length is none
}

// What is typed for the head of the sheets stands on them, in all jobs.
func testLetterhead(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.click("details summary")
	p.typed("Operator", "Field and Fell (invented)")
	p.typed("Licence or registration", "XX-1234")
	var logo bytes.Buffer
	if err := png.Encode(&logo, image.NewGray(image.Rect(0, 0, 40, 20))); err != nil {
		t.Fatal(err)
	}
	p.drop("Choose a logo", writeFile(t, "our logo.png", logo.Bytes()))
	p.waitText("details", "The logo is letterhead-logo.png")
	p.look("jobs, head of the sheets")
	p.receive()
	sheet, err := os.ReadFile(filepath.Join(p.folder, "invented-quarry", "invented-quarry-receipt.html"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Field and Fell (invented)", "XX-1234", "data:image/png;base64,"} {
		if !bytes.Contains(sheet, []byte(want)) {
			t.Errorf("the receipt sheet lacks %s", want)
		}
	}
	p.Content()
}

// manyPhotos puts photos with a head of usual size into a folder of their own.
func manyPhotos(t testing.TB, count int) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "card")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	for i := range count {
		name := fmt.Sprintf("IMG_%05d.jpg", i)
		s := photo.New(name, orb.Point{2.3 + float64(i%100)*1e-4, 54.7 + float64(i/100)*1e-4})
		s.Camera = scriptCamera
		s.Altitude, s.AltitudeDatum = 212, photo.SeaLevel
		var data bytes.Buffer
		if err := photo.Encode(&data, image.NewGray(image.Rect(0, 0, 8, 8)), s); err != nil {
			t.Fatal(err)
		}
		f, err := os.Create(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		// The rest of 20 MB is a hole in the file, which costs no disk.
		if _, err := f.Write(data.Bytes()); err != nil {
			t.Fatal(err)
		}
		if err := f.Truncate(20 << 20); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// toTheFlight goes from the receipt to the screen where photos are dropped.
func (p deskPage) toTheFlight() {
	p.Helper()
	p.click(`.steps a[href$="/flight"]`)
	p.waitText("h1", "After the flight")
}

// Who stops reading keeps the list that was there.
func testReadingStopped(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	p.toTheFlight()
	p.drop("folder of photos", manyPhotos(t, 3))
	p.waitText(".done", "3 photos read, 0 left out")
	list := filepath.Join(p.folder, "invented-quarry", "photos.csv")
	before, err := os.ReadFile(list)
	if err != nil {
		t.Fatal(err)
	}
	// The program's answers are held back, so that there is time to stop.
	p.Run(chromedp.Evaluate(`(() => {
		const real = fetch;
		window.fetch = (path, init) => path.includes("/heads")
			? new Promise((done, fail) => init.signal.addEventListener("abort", () => fail(new DOMException("", "AbortError"))))
			: real(path, init);
	})()`, nil))
	p.drop("folder of photos", manyPhotos(t, 5))
	p.wait(".reading button")
	p.look("reading")
	p.click(".reading button")
	p.waitText(".fault", "Stopped. The photos that were read before this folder stay as they were.")
	if after, err := os.ReadFile(list); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the list is another: %v", err)
	}
	p.Content()
}

// What was typed and found is there again after a reload in the middle.
func testReload(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	p.click(".next a")
	p.wait(".proof")
	old := p.Text(".figures")
	p.typed("Buffer", "47m")
	p.waitFor("another drawing", fmt.Sprintf(`document.querySelector(".figures").innerText.replaceAll("\u00a0", " ") !== %q`, old))
	drawn := p.Text(".figures")
	p.Run(chromedp.Reload())
	p.wait(".proof")
	if typed := browsertest.Ask[string](p.Tab, `document.querySelector("main input[type=text]").value`); typed != "47m" {
		t.Errorf("the buffer is %q again", typed)
	}
	if again := p.Text(".figures"); again != drawn {
		t.Errorf("the figures are\n%s\nnot\n%s", again, drawn)
	}
	// What was typed and not yet used, too.
	p.toTheFlight()
	p.typed("Altitude of the ground", "132m")
	p.waitFor("the ground in the job", `fetch("api/jobs/invented-quarry").then((r) => r.text()).then((text) => text.includes("132m"))`)
	p.Run(chromedp.Reload())
	p.waitText("h1", "After the flight")
	if typed := browsertest.Ask[string](p.Tab, `document.querySelector("form input[type=text]").value`); typed != "132m" {
		t.Errorf("the ground is %q again", typed)
	}
	p.Content()
}

// Where the program was closed, the page says so and how to go on.
func testProgramGone(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	p.click(".next a")
	p.wait(".proof")
	if err := p.process.Kill(); err != nil {
		t.Fatal(err)
	}
	<-p.ended
	p.typed("Buffer", "20m")
	p.waitText(".fault", "The program does not answer. It may have been closed: start it again. Nothing is lost.")
	p.Content("net::ERR_CONNECTION_REFUSED")
}

// Every control is reached with the Tab key, in the order of the page, and shows
// that it is; places for files open with the keyboard.
func testKeyboard(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.walkByTab("jobs")
	p.receive()
	p.walkByTab("receipt")
	p.click(".next a")
	p.wait(".proof")
	p.walkByTab("preparation")
	p.toTheFlight()
	p.walkByTab("flight")

	p.Run(chromedp.Focus(".home", chromedp.ByQuery), chromedp.KeyEvent(kb.Enter))
	p.waitText("h1", "Jobs")
	p.Run(chromedp.Evaluate(`window.opened = 0; document.querySelector("input[type=file]").addEventListener("click", (e) => { opened++; e.preventDefault(); })`, nil),
		chromedp.Focus("input[type=file]", chromedp.ByQuery), chromedp.KeyEvent(" "))
	if n := browsertest.Ask[int](p.Tab, `opened`); n != 1 {
		t.Errorf("the space key opens the place for files %d times", n)
	}
	p.Content()
}

// walkByTab goes through a screen by the Tab key, up to the report's frame, which
// has keys of its own, and again from behind it.
func (p deskPage) walkByTab(screen string) {
	p.Helper()
	p.Run(chromedp.Evaluate(`{
		const start = document.createElement("span");
		start.tabIndex = -1;
		document.body.prepend(start);
		start.focus();
		window.start = start;
		window.reached = [];
		window.wanted = [...document.querySelectorAll("a[href], button, input, select, summary, [tabindex='0'], iframe")]
			.filter((e) => e.checkVisibility() && !e.disabled && e.tabIndex >= 0 && !(e.type === "radio" && !e.checked));
	}`, nil))
	all := browsertest.Ask[int](p.Tab, `wanted.length`)
	for range all + 1 {
		p.Run(chromedp.KeyEvent(kb.Tab))
		p.waitFor("the next place", `document.activeElement !== reached.at(-1) && document.activeElement !== start`)
		p.Settle()
		at := browsertest.Ask[string](p.Tab, `(() => {
			let e = document.activeElement;
			// Within a frame of another process the page does not see the focus.
			if (e === document.body) e = wanted.find((each) => each.matches("iframe") && !reached.includes(each));
			if (!e) return "end";
			reached.push(e);
			const style = getComputedStyle(e.matches(".unseen") ? e.nextElementSibling : e);
			const visible = e.closest(".live-map, iframe") || style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
			if (e.matches("iframe")) {
				e.after(start);
				start.focus();
			}
			return visible ? "" : e.outerHTML.slice(0, 120);
		})()`)
		if at == "end" {
			break
		}
		if at != "" {
			p.Errorf("%s: it is not seen that this has the focus: %s", screen, at)
		}
	}
	for _, missed := range browsertest.Ask[[]string](p.Tab, `wanted.filter((e) => !reached.includes(e)).map((e) => e.outerHTML.slice(0, 120))`) {
		p.Errorf("%s: the Tab key does not reach %s", screen, missed)
	}
	if browsertest.Ask[bool](p.Tab, `reached.some((e, i) => i > 0 && reached[i - 1].compareDocumentPosition(e) & Node.DOCUMENT_POSITION_PRECEDING)`) {
		p.Errorf("%s: the Tab key goes back and forth", screen)
	}
	p.Run(chromedp.Evaluate(`start.remove()`, nil))
}
