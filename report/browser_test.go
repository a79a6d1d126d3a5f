package report

import (
	"context"
	"fmt"
	"os"
	"os/exec"
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

// missing skips a test whose reference tool is not there; with
// SELVAGE_REFERENCE_TOOLS=required in the environment it fails.
func missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		t.Fatal(what)
	}
	t.Skip(what)
}

// browser starts a headless Chromium, which ends with the test.
func browser(t testing.TB) context.Context {
	t.Helper()
	program := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			program = path
			break
		}
	}
	if program == "" {
		missing(t, "Chromium is not installed: pages are not tried in a browser")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program), chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()))
	allocator, endAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(endAllocator)
	// The protocol has grown since the library was written; what it does not
	// know it would print.
	quiet := func(string, ...any) {}
	ctx, end := chromedp.NewContext(allocator, chromedp.WithErrorf(quiet), chromedp.WithLogf(quiet))
	t.Cleanup(end)
	if err := chromedp.Run(ctx); err != nil {
		t.Fatalf("Chromium does not start: %v", err)
	}
	return ctx
}

// tab is one page in a browser, with what it complained of.
type tab struct {
	testing.TB
	ctx context.Context

	mu         sync.Mutex
	complaints []string
}

// open shows an address in a window of a size, in a tab of its own.
func open(t testing.TB, browser context.Context, address string, width, height int64, before ...chromedp.Action) *tab {
	t.Helper()
	ctx, end := chromedp.NewContext(browser)
	t.Cleanup(end)
	ctx, late := context.WithTimeout(ctx, time.Minute)
	t.Cleanup(late)
	p := &tab{TB: t, ctx: ctx}
	complain := func(format string, args ...any) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.complaints = append(p.complaints, fmt.Sprintf(format, args...))
	}
	chromedp.ListenTarget(ctx, func(event any) {
		switch e := event.(type) {
		case *runtime.EventConsoleAPICalled:
			complain("console.%s: %s", e.Type, e.Args[0].Value)
		case *runtime.EventExceptionThrown:
			complain("exception: %s", e.ExceptionDetails.Error())
		case *log.EventEntryAdded:
			complain("log: %s %s", e.Entry.Text, e.Entry.URL)
		case *network.EventRequestWillBeSent:
			if folder := address[:strings.LastIndex(address, "/")+1]; !strings.HasPrefix(e.Request.URL, folder) {
				complain("request of %s", e.Request.URL)
			}
		}
	})
	p.run(network.Enable(), log.Enable(), runtime.Enable(), emulation.SetDeviceMetricsOverride(width, height, 1, width < 600))
	p.run(before...)
	p.run(chromedp.Navigate(address))
	return p
}

// openPage is open for the text of a page.
func openPage(t testing.TB, browser context.Context, page string, width, height int64, before ...chromedp.Action) *tab {
	t.Helper()
	path := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(path, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	return open(t, browser, "file://"+filepath.ToSlash(path), width, height, before...)
}

func (p *tab) run(actions ...chromedp.Action) {
	p.Helper()
	if err := chromedp.Run(p.ctx, actions...); err != nil {
		p.Fatal(err)
	}
}

// settle waits for two frames, so that what was asked for is drawn.
func (p *tab) settle() {
	p.Helper()
	p.run(chromedp.Evaluate(`new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))`, nil, awaited))
}

func awaited(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }

// ask evaluates an expression in the page.
func ask[T any](p *tab, expression string) T {
	p.Helper()
	var answer T
	if err := chromedp.Run(p.ctx, chromedp.Evaluate(expression, &answer, awaited)); err != nil {
		p.Fatalf("%s: %v", expression, err)
	}
	return answer
}

func (p *tab) text(selector string) string {
	p.Helper()
	return ask[string](p, fmt.Sprintf(`document.querySelector(%q)?.innerText ?? "(no such element)"`, selector))
}

// content holds the page to no complaint at all.
func (p *tab) content() {
	p.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, c := range p.complaints {
		p.Error(c)
	}
	p.complaints = nil
}
