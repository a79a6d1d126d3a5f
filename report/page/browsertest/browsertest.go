// Package browsertest tries pages in a headless Chromium. Only tests import it.
package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// Missing skips a test whose reference tool is not there; with
// SELVAGE_REFERENCE_TOOLS=required in the environment it fails.
func Missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		t.Fatal(what)
	}
	t.Skip(what)
}

// Start starts a headless Chromium, which ends with the test.
func Start(t testing.TB) context.Context {
	t.Helper()
	program := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			program = path
			break
		}
	}
	if program == "" {
		Missing(t, "Chromium is not installed: pages are not tried in a browser")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program), chromedp.NoSandbox)
	allocator, endAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(endAllocator)
	// The protocol has grown since the library was written; what it does not
	// know it would print.
	quiet := func(string, ...any) {}
	ctx, end := chromedp.NewContext(allocator, chromedp.WithErrorf(quiet), chromedp.WithLogf(quiet))
	t.Cleanup(func() {
		_ = chromedp.Cancel(ctx) // waits until the browser is gone
		end()
	})
	if err := chromedp.Run(ctx); err != nil {
		t.Fatalf("Chromium does not start: %v", err)
	}
	return ctx
}

// Tab is one page in a browser, with what it complained of.
type Tab struct {
	testing.TB
	ctx   context.Context
	place string // what the addresses of all that it may ask for begin with

	mu         sync.Mutex
	complaints []string
}

// Open shows an address in a window of a size, in a tab of its own.
func Open(t testing.TB, browser context.Context, address string, width, height int64, before ...chromedp.Action) *Tab {
	t.Helper()
	place, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	if place.Path = "/"; place.Scheme == "file" {
		place.Path = path.Dir(strings.TrimPrefix(address, "file://")) + "/"
	}
	ctx, end := chromedp.NewContext(browser)
	t.Cleanup(end)
	p := attach(t, ctx, place.String())
	p.Run(emulation.SetDeviceMetricsOverride(width, height, 1, width < 600))
	p.Run(before...)
	p.Run(chromedp.Navigate(address))
	return p
}

// attach listens to a tab, or to a frame in it.
func attach(t testing.TB, ctx context.Context, place string) *Tab {
	t.Helper()
	ctx, late := context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(late)
	p := &Tab{TB: t, ctx: ctx, place: place}
	chromedp.ListenTarget(ctx, func(event any) {
		switch e := event.(type) {
		case *runtime.EventConsoleAPICalled:
			p.complain("console.%s: %s", e.Type, e.Args[0].Value)
		case *runtime.EventExceptionThrown:
			p.complain("exception: %s", e.ExceptionDetails.Error())
		case *log.EventEntryAdded:
			p.complain("log: %s %s", e.Entry.Text, e.Entry.URL)
		case *network.EventRequestWillBeSent:
			if at := e.Request.URL; !strings.HasPrefix(at, p.place) && !strings.HasPrefix(at, "data:") && !strings.HasPrefix(at, "blob:") {
				p.complain("request of %s", at)
			}
		}
	})
	// Not with Run: what is asked of a tab first lasts as long as the tab.
	if err := chromedp.Run(ctx, network.Enable(), log.Enable(), runtime.Enable()); err != nil {
		t.Fatal(err)
	}
	return p
}

func (p *Tab) complain(format string, args ...any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.complaints = append(p.complaints, fmt.Sprintf(format, args...))
}

// OpenPage is Open for the text of a page.
func OpenPage(t testing.TB, browser context.Context, page string, width, height int64, before ...chromedp.Action) *Tab {
	t.Helper()
	path := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(path, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	return Open(t, browser, "file://"+filepath.ToSlash(path), width, height, before...)
}

// Frame is the sandboxed frame of the tab whose address ends with these letters.
// Such a frame is a process of its own.
func (p *Tab) Frame(end string) *Tab {
	p.Helper()
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		targets, err := chromedp.Targets(p.ctx)
		if err != nil {
			p.Fatal(err)
		}
		for _, each := range targets {
			if each.Type == "iframe" && strings.HasSuffix(each.URL, end) {
				ctx, release := chromedp.NewContext(p.ctx, chromedp.WithTargetID(each.TargetID))
				p.Cleanup(release)
				return attach(p.TB, ctx, p.place)
			}
		}
	}
	p.Fatalf("there is no frame %s", end)
	return nil
}

// Run carries out actions within half a minute.
func (p *Tab) Run(actions ...chromedp.Action) {
	p.Helper()
	ctx, release := context.WithTimeout(p.ctx, 30*time.Second)
	defer release()
	if err := chromedp.Run(ctx, actions...); err != nil {
		p.Fatalf("%v; the page says %q", err, p.Text("main"))
	}
}

// Settle waits for two frames, so that what was asked for is drawn.
func (p *Tab) Settle() {
	p.Helper()
	p.Run(chromedp.Evaluate(`new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))`, nil, Awaited))
}

// Awaited has an expression waited for where it is a promise.
func Awaited(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }

// Ask evaluates an expression in the page.
func Ask[T any](p *Tab, expression string) T {
	p.Helper()
	var answer T
	if err := chromedp.Run(p.ctx, chromedp.Evaluate(expression, &answer, Awaited)); err != nil {
		p.Fatalf("%s: %v", expression, err)
	}
	return answer
}

// Text is what an element shows, with plain blanks.
func (p *Tab) Text(selector string) string {
	p.Helper()
	text := Ask[string](p, fmt.Sprintf(`document.querySelector(%q)?.innerText ?? "(no such element)"`, selector))
	return strings.ReplaceAll(text, "\u00a0", " ")
}

// Content holds the page to no complaint at all, but for those that have one of
// the words.
func (p *Tab) Content(but ...string) {
	p.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
complaints:
	for _, c := range p.complaints {
		for _, word := range but {
			if strings.Contains(c, word) {
				continue complaints
			}
		}
		p.Error(c)
	}
	p.complaints = nil
}

// Accessible holds the page to nothing serious that axe-core (Deque Systems,
// MPL 2.0) finds against WCAG 2.1 A and AA. SELVAGE_AXE names the folder it is in.
func (p *Tab) Accessible(what string) {
	p.Helper()
	folder := os.Getenv("SELVAGE_AXE")
	if folder == "" && os.Getenv("SELVAGE_REFERENCE_TOOLS") != "required" {
		p.Log("SELVAGE_AXE names no folder with axe-core: accessibility is not checked")
		return
	}
	axe, err := os.ReadFile(filepath.Join(folder, "axe-core", "axe.min.js"))
	if err != nil {
		p.Fatal(err)
	}
	p.Run(chromedp.Evaluate(string(axe), nil))
	p.Settle()
	var found []struct {
		ID, Impact, Help string
		Nodes            []struct{ HTML string }
	}
	// As text: what axe hands back refers to elements, which have no JSON.
	if err := json.Unmarshal([]byte(Ask[string](p, `axe.run().then(({violations}) => JSON.stringify(violations))`)), &found); err != nil {
		p.Fatal(err)
	}
	for _, v := range found {
		report := p.Logf
		if v.Impact == "serious" || v.Impact == "critical" {
			report = p.Errorf
		}
		for _, node := range v.Nodes {
			report("%s: %s: %s: %s: %.160s", what, v.Impact, v.ID, v.Help, node.HTML)
		}
	}
}
