package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"selvage/cmd/selvage/demo"
	"selvage/report/page/browsertest"
)

// runningDesk is the program's desk.
type runningDesk struct {
	folder  string // of the jobs
	opening string // the address that works once
	process *os.Process
	ended   chan struct{}
}

func startDesk(t testing.TB) *runningDesk {
	t.Helper()
	return startDeskOver(t, filepath.Join(t.TempDir(), "jobs"))
}

func startDeskOver(t testing.TB, folder string) *runningDesk {
	t.Helper()
	return startDeskIn(t, folder, t.TempDir())
}

// deskCommandLine is a desk over a folder for a user whose settings are in another.
func deskCommandLine(t testing.TB, folder, config string, more ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(program(t), append([]string{"desk", "--no-browser", "--folder", folder}, more...)...)
	cmd.Env = append(os.Environ(), "XDG_CONFIG_HOME="+config, "HOME="+config, "AppData="+config)
	return cmd
}

func startDeskIn(t testing.TB, folder, config string, more ...string) *runningDesk {
	t.Helper()
	d := &runningDesk{folder: folder, ended: make(chan struct{})}
	cmd := deskCommandLine(t, folder, config, more...)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	d.process = cmd.Process
	lines := bufio.NewScanner(out)
	for d.opening == "" && lines.Scan() {
		if address := strings.TrimSpace(lines.Text()); strings.HasPrefix(address, "http://") {
			d.opening = address
		}
	}
	go func() {
		for lines.Scan() {
		}
		_ = cmd.Wait() // it is killed
		close(d.ended)
	}()
	t.Cleanup(func() {
		_ = d.process.Kill()
		<-d.ended
	})
	if d.opening == "" {
		t.Fatal("the desk says no address")
	}
	return d
}

// deskPage is the page of a desk.
type deskPage struct {
	*browsertest.Tab
	*runningDesk
}

func openDesk(t testing.TB, b context.Context, width int64) deskPage {
	t.Helper()
	d := startDesk(t)
	p := deskPage{browsertest.Open(t, b, d.opening, width, 900), d}
	p.wait("h1")
	return p
}

func (p deskPage) wait(selector string) {
	p.Helper()
	p.Run(chromedp.WaitVisible(selector, chromedp.ByQuery))
}

func (p deskPage) click(selector string) {
	p.Helper()
	p.wait(selector)
	element := fmt.Sprintf("document.querySelector(%q)", selector)
	p.Run(chromedp.Evaluate(browsertest.WatchClicks(selector), nil))
	// Beside a frame that is a process of its own, the browser learns a little
	// later than the page where things are.
	for range 20 {
		at := p.middle(element)
		p.Run(chromedp.MouseClickXY(at[0], at[1]), chromedp.Sleep(50*time.Millisecond))
		if browsertest.Ask[bool](p.Tab, `clicked`) {
			return
		}
	}
	p.Fatalf("%s takes no click", selector)
}

// middle brings an element into sight, and says where.
func (p deskPage) middle(element string) (at [2]float64) {
	p.Helper()
	p.Run(chromedp.Evaluate(element+`.scrollIntoView({ block: "center", behavior: "instant" })`, nil))
	p.Settle()
	return browsertest.Ask[[2]float64](p.Tab, fmt.Sprintf(`(() => {
		const b = %s.getBoundingClientRect();
		return [b.left + b.width / 2, b.top + b.height / 2];
	})()`, element))
}

// typed replaces what is in the field of a label.
func (p deskPage) typed(label, text string) {
	p.Helper()
	if !browsertest.Ask[bool](p.Tab, fmt.Sprintf(`(() => {
		const label = [...document.querySelectorAll("label")].find((l) => l.textContent.trim() === %q);
		const field = label && document.getElementById(label.htmlFor);
		if (field) { field.focus(); field.select && field.select(); }
		return !!field;
	})()`, label)) {
		p.Fatalf("there is no field %q", label)
	}
	p.Run(input.InsertText(text))
}

// drop drags files or folders onto the place for files whose label is this, as
// a hand does.
func (p deskPage) drop(label string, paths ...string) {
	p.Helper()
	at := p.middle(fmt.Sprintf(`[...document.querySelectorAll(".drop")].find((z) => z.textContent.includes(%q))`, label))
	data := &input.DragData{Items: []*input.DragDataItem{}, Files: paths, DragOperationsMask: 1}
	for _, kind := range []input.DispatchDragEventType{input.DragEnter, input.DragOver, input.Drop} {
		p.Run(input.DispatchDragEvent(kind, at[0], at[1], data))
	}
}

func (p deskPage) waitFor(what, expression string) {
	p.Helper()
	for deadline := time.Now().Add(30 * time.Second); !browsertest.Ask[bool](p.Tab, expression); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			p.Fatalf("%s does not come; the page says %q", what, p.Text("main"))
		}
	}
}

// waitText waits until an element shows words.
func (p deskPage) waitText(selector, words string) {
	p.Helper()
	p.waitFor(words, fmt.Sprintf(`[...document.querySelectorAll(%q)].some((e) => e.innerText.replaceAll("\u00a0", " ").includes(%q))`, selector, words))
}

// receive begins a job with the demonstration's boundary file.
func (p deskPage) receive() {
	p.Helper()
	boundary, _ := invented(p)
	p.drop("boundary file", boundary)
	p.wait("iframe.report")
}

// size sets the window, in pixels of the page.
func (p deskPage) size(width, height int64, scale float64) {
	p.Helper()
	p.Run(emulation.SetDeviceMetricsOverride(width, height, scale, false))
	p.Settle()
}

// looks are what every screen is looked at in.
var looks = []struct {
	name   string
	width  int64
	scale  float64
	scheme string
	axe    bool
}{
	{"desktop", 1200, 1, "light", true},
	{"desktop, dark", 1200, 1, "dark", true},
	{"desktop at 200 %", 600, 2, "light", false},
	{"phone", 360, 1, "light", true},
}

// look holds a screen to what every screen has to be in every window: all of it
// within reach without scrolling sideways, targets large enough for a finger,
// and nothing serious for axe.
func (p deskPage) look(screen string) {
	p.Helper()
	for _, w := range looks {
		what := screen + ", " + w.name
		p.Run(emulation.SetEmulatedMedia().WithFeatures([]*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: w.scheme}}))
		p.size(w.width, 900, w.scale)
		if wide := browsertest.Ask[int64](p.Tab, `document.documentElement.scrollWidth`); wide > w.width {
			p.Errorf("%s: the page is %d pixels wide, the window %d", what, wide, w.width)
		}
		for _, small := range browsertest.Ask[[]string](p.Tab, smallTargets) {
			p.Errorf("%s: %s", what, small)
		}
		if w.axe {
			p.Accessible(what)
		}
	}
	p.size(1200, 900, 1)
	p.Run(emulation.SetEmulatedMedia().WithFeatures([]*emulation.MediaFeature{}))
	p.Settle()
}

// smallTargets are those lower than 44 pixels (WCAG 2.1, success criterion
// 2.5.5), but for links within a sentence or a table and the map's own.
const smallTargets = `[...document.querySelectorAll("button, .button, select, input[type=text], summary, .steps a, .home, .candidate, .field.toggle, label.toggle")]
	.filter((e) => e.checkVisibility() && !e.closest(".live-map"))
	.map((e) => [e, e.getBoundingClientRect().height]).filter(([, height]) => height < 43.9)
	.map(([e, height]) => e.tagName + " " + (e.textContent || e.ariaLabel).slice(0, 40) + " is " + height + " pixels high")`

func TestDeskInBrowser(t *testing.T) {
	b := browsertest.Start(t)
	for _, tt := range []struct {
		name string
		test func(*testing.T, context.Context)
	}{
		{"whole job", testWholeJob}, {"refusals", testRefusals}, {"answers", testAnswers}, {"frame", testFrame}, {"margins", testMargins}, {"letterhead", testLetterhead},
		{"reading stopped", testReadingStopped}, {"reload", testReload}, {"program gone", testProgramGone}, {"keyboard", testKeyboard},
		{"two windows", testTwoWindows}, {"left while typing", testLeftWhileTyping}, {"left while sending", testLeftWhileSending}, {"figures", testFigures},
	} {
		t.Run(tt.name, func(t *testing.T) { tt.test(t, b) })
	}
}

// invented writes the demonstration's boundary file and photos.
func invented(t testing.TB) (boundary, photos string) {
	t.Helper()
	folder := t.TempDir()
	shots, err := demo.Shots()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range append(shots, demo.Client()) {
		path := filepath.Join(folder, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, f.Data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(folder, filepath.FromSlash(demo.Boundary)), filepath.Join(folder, demo.Photos)
}

// The whole job, from a clean start to the note, by files that are dropped.
func testWholeJob(t *testing.T, b context.Context) {
	boundary, photos := invented(t)
	p := openDesk(t, b, 1200)
	saved := t.TempDir()
	p.Run(browser.SetDownloadBehavior(browser.SetDownloadBehaviorBehaviorAllow).WithDownloadPath(saved))
	p.look("jobs")

	p.drop("boundary file", boundary)
	p.wait("iframe.report")
	p.look("receipt")
	p.checkSaves(saved)

	p.click(".next a")
	p.wait(".proof")
	p.look("preparation")
	p.click("button.main")
	p.wait(".saves a")
	p.look("preparation, written")
	p.checkSaves(saved)

	p.click(".next a")
	p.wait("input[type=file]")
	p.look("flight")
	p.drop("folder of photos", photos)
	p.waitFor("the list of photos", `document.querySelector("main table") !== null`)
	p.typed("Altitude of the ground", "132m")
	p.click("button.main")
	p.wait(".verdict-line")
	p.look("coverage")
	p.checkSaves(saved)
	p.Content()
	p.checkNote(saved)

	job := filepath.Join(p.folder, "invented-quarry")
	for _, end := range []string{"-receipt.html", "-flight.kml", ".job.geojson", "-coverage.html", "-coverage.pdf", "-refly.kml"} {
		if info, err := os.Stat(filepath.Join(job, "invented-quarry"+end)); err != nil || info.Size() == 0 {
			t.Errorf("%s is not in the job: %v", end, err)
		}
	}
	sent, err := os.ReadFile(boundary)
	if err != nil {
		t.Fatal(err)
	}
	if kept, err := os.ReadFile(filepath.Join(job, filepath.Base(boundary))); err != nil || !bytes.Equal(kept, sent) {
		t.Errorf("the client's file is another: %v", err)
	}
	if left, err := filepath.Glob(filepath.Join(job, ".*")); err != nil || len(left) > 0 {
		t.Errorf("left are %q, %v", left, err)
	}
}

// checkNote holds the note in its frame to what it does elsewhere: the map is
// alive, tables can be saved, and its links lead to places in it.
func (p deskPage) checkNote(saved string) {
	p.Helper()
	note := p.Frame("-coverage.html")
	if !browsertest.Ask[bool](note, `document.querySelector(".live-map canvas").width > 300`) {
		p.Error("the map of the note is not alive in its frame")
	}
	for _, out := range browsertest.Ask[[]string](note, `[...document.querySelectorAll("a[href]")].map((a) => a.getAttribute("href")).filter((href) => !href.startsWith("#") || !document.getElementById(href.slice(1)))`) {
		p.Errorf("a link of the note leads to %s", out)
	}
	note.Run(chromedp.Evaluate(`document.querySelector(".save").click()`, nil))
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		if tables, err := filepath.Glob(filepath.Join(saved, "*.csv")); err == nil && len(tables) > 0 {
			break
		}
		if time.Now().After(deadline) {
			p.Error("a table of the note is not saved")
			break
		}
	}
	note.Content()
}

// checkSaves saves every file that the screen offers, as a click does.
func (p deskPage) checkSaves(folder string) {
	p.Helper()
	names := browsertest.Ask[[]string](p.Tab, `[...document.querySelectorAll(".saves a[download]")].map((a) => a.download)`)
	if len(names) == 0 {
		p.Error("nothing can be saved")
	}
	job, err := url.PathUnescape(browsertest.Ask[string](p.Tab, `location.hash.split("/")[1]`))
	if err != nil {
		p.Fatal(err)
	}
	for i, name := range names {
		p.Run(chromedp.Evaluate(fmt.Sprintf(`document.querySelectorAll(".saves a[download]")[%d].click()`, i), nil))
		want, err := os.ReadFile(filepath.Join(p.folder, job, name))
		if err != nil {
			p.Fatal(err)
		}
		for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
			if got, err := os.ReadFile(filepath.Join(folder, name)); err == nil && bytes.Equal(got, want) {
				break
			}
			if time.Now().After(deadline) {
				p.Errorf("%s is not saved as it is in the folder", name)
				break
			}
		}
	}
}
