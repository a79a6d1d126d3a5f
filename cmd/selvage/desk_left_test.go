package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"selvage/report/page/browsertest"
)

// Of two windows the last change counts, and the other one is told; a command
// tells both.
func testTwoWindows(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	p.click(".next a")
	p.wait(".proof")
	older := p.Text(".figures")
	second := deskPage{browsertest.Open(t, b, browsertest.Ask[string](p.Tab, `location.origin + location.pathname`), 1200, 900), p.runningDesk}
	second.click("main table a")
	second.click(".next a")
	second.wait(".proof")
	told := `document.querySelector(".elsewhere") !== null`
	second.typed("Buffer", "51m")
	p.Run(page.BringToFront())
	p.waitFor("a word of the other window", told)
	p.look("changed elsewhere")
	if now := p.Text(".figures"); now != older {
		t.Errorf("the figures have changed by themselves to %s", now)
	}
	p.click(".elsewhere button")
	p.wait(".proof")
	if typed := browsertest.Ask[string](p.Tab, `document.querySelector("main input[type=text]").value`); typed != "51m" {
		t.Errorf("the buffer is %q", typed)
	}
	if browsertest.Ask[bool](second.Tab, told) {
		t.Error("the window that made the change is told of it")
	}

	job := filepath.Join(p.folder, "invented-quarry")
	out, err := exec.Command(program(t), "prepare", filepath.Join(job, "invented-quarry.kml"), "--buffer", "40m", "--out", job).CombinedOutput()
	if couldNotRunAtAll(err) {
		t.Fatalf("%v\n%s", err, out)
	}
	p.waitFor("a word of the command", told)
	second.Run(page.BringToFront())
	second.waitFor("a word of the command", told)
	p.Content(refusedByDesk)
	second.Content(refusedByDesk)
}

// What is typed is there again, at whatever moment the page is left.
func testLeftWhileTyping(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	p.receive()
	p.click("details summary")
	p.typed("Where the job is", "54.7,2.3")
	p.Run(chromedp.Reload())
	p.wait("iframe.report")
	p.hasTyped("54.7,2.3")
	p.click(".next a")
	p.wait(".proof")
	p.typed("Buffer", "4")
	p.typed("Buffer", "48")
	p.typed("Buffer", "48m")
	p.Run(chromedp.Reload())
	p.wait(".proof")
	p.hasTyped("48m")
	p.typed("Height above ground", "80m")
	p.click(`.steps a[href$="/flight"]`)
	p.waitText("h1", "After the flight")
	p.typed("Altitude of the ground", "132m")
	p.click(`.steps a[href$="/preparation"]`)
	p.wait(".proof")
	p.hasTyped("80m")
	p.click(`.steps a[href$="/flight"]`)
	p.waitText("h1", "After the flight")
	p.hasTyped("132m")
	p.Content(refusedByDesk)
}

// hasTyped holds the page to a field that holds this.
func (p deskPage) hasTyped(text string) {
	p.Helper()
	values := browsertest.Ask[[]string](p.Tab, `[...document.querySelectorAll("input[type=text]")].map((e) => e.value)`)
	for _, value := range values {
		if value == text {
			return
		}
	}
	p.Errorf("%q is not there any more; there are %q", text, values)
}

// A job whose boundary file was still on its way takes it in later.
func testLeftWhileSending(t *testing.T, b context.Context) {
	p := openDesk(t, b, 1200)
	boundary, _ := invented(t)
	p.Run(chromedp.Evaluate(`(() => {
		const real = fetch;
		window.fetch = (path, init) => path.includes("/files/") ? new Promise(() => {}) : real(path, init);
	})()`, nil))
	p.drop("boundary file", boundary)
	job := filepath.Join(p.folder, "invented-quarry")
	for deadline := time.Now().Add(20 * time.Second); !exists(filepath.Join(job, "desk.json")) && time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
	}
	p.Run(chromedp.Reload())
	p.click("main table a")
	p.waitText("main", "This job has no boundary file yet.")
	p.look("no boundary file")
	p.drop("boundary file", boundary)
	p.wait("iframe.report")
	p.Content()
}

// Figures and dates are those of the browser's language until others are chosen;
// then all that is shown and written has them.
func testFigures(t *testing.T, b context.Context) {
	d := startDesk(t)
	p := deskPage{browsertest.Open(t, b, d.opening, 1200, 900, emulation.SetUserAgentOverride("Test").WithAcceptLanguage("en-AU")), d}
	p.wait("h1")
	kept := func() string {
		data, err := os.ReadFile(filepath.Join(p.folder, "desk.json"))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	p.waitFor("what is kept", `fetch("api/figures").then((r) => r.json()).then((f) => f.locale !== "")`)
	if !strings.Contains(kept(), `"en-AU"`) {
		t.Errorf("kept %s", kept())
	}
	open := func() {
		p.Run(chromedp.Evaluate(`[...document.querySelectorAll("summary")].find((s) => s.textContent.startsWith("Measures")).click()`, nil))
	}
	use := func() {
		p.Run(chromedp.Evaluate(`[...document.querySelectorAll("button")].find((b) => b.textContent === "Use these for all jobs").click()`, nil))
	}
	open()
	p.look("figures")
	p.typed("Figures and dates as in", "german")
	use()
	p.waitText(".fault", "a locale is")
	p.typed("Figures and dates as in", "de")
	p.Run(chromedp.Evaluate(`(() => { const s = document.querySelector("select"); s.value = "both"; s.dispatchEvent(new Event("change")); })()`, nil))
	use()
	p.waitText("details", "ac")
	p.receive()
	if said, want := p.Text(".candidate"), "12,18 ha (30,09 acres)"; !strings.Contains(said, want) {
		t.Errorf("a reading lacks %q: %s", want, said)
	}
	p.click(".next a")
	p.wait(".proof")
	for selector, want := range map[string]string{".facts": " ha (", ".proof": "30 m (98,43 ft)"} {
		if said := p.Text(selector); !strings.Contains(said, want) || !strings.Contains(said, ",") {
			t.Errorf("%s lacks %q: %s", selector, want, said)
		}
	}
	sheet, err := os.ReadFile(filepath.Join(p.folder, "invented-quarry", "invented-quarry-receipt.txt"))
	if err != nil || !strings.Contains(strings.ReplaceAll(string(sheet), "\u00a0", " "), " ac") {
		t.Errorf("the e-mail has no acres: %s, %v", sheet, err)
	}
	p.typed("Camera", "13.2x8.8mm,8.8mm,5472x3648")
	p.typed("Height above ground", "80m")
	p.typed("Forward and side overlap", "75/70")
	p.click("button.main")
	p.wait(".saves a")
	p.Run(chromedp.Evaluate(`[...document.querySelectorAll("button")].find((b) => b.textContent === "Work out the figures").click()`, nil))
	p.waitText("main table", "80,0 m (262 ft) above ground")
	p.Content(refusedByDesk)
}
