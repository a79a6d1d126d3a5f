package browsertest

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// webkit speaks WebDriver (W3C) with WebKitGTK's driver, on a screen of its own.
type webkit struct {
	session string // the address of its commands
	said    []string
}

// elementKey is the name of a reference to an element, by the standard.
const elementKey = "element-6066-11e4-a52e-4f735466cecf"

func startWebKit(t testing.TB) driver {
	t.Helper()
	program, err := exec.LookPath("WebKitWebDriver")
	browsers, _ := filepath.Glob("/usr/lib/*/webkit2gtk-4.*/MiniBrowser")
	screen, missing := exec.LookPath("Xvfb")
	if err != nil || missing != nil || len(browsers) == 0 {
		Missing(t, "webkit2gtk-driver and xvfb are not installed: pages are not tried in WebKit")
	}
	display := startScreen(t, screen)
	port := freePort(t)
	cmd := exec.Command(program, fmt.Sprintf("--port=%d", port))
	home, err := os.MkdirTemp("", "webkit")
	if err != nil {
		t.Fatal(err)
	}
	cmd.Env = append(os.Environ(), "DISPLAY="+display, "HOME="+home, "XDG_CACHE_HOME="+home, "LIBGL_ALWAYS_SOFTWARE=1", "GDK_BACKEND=x11")
	w := &webkit{session: fmt.Sprintf("http://127.0.0.1:%d/session", port)}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = w.ask(http.MethodDelete, "", nil, nil)
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		_ = os.RemoveAll(home) // the browser's last process may still write there
	})
	var answer struct{ SessionID string }
	capabilities := fields{"capabilities": fields{"alwaysMatch": fields{"webkitgtk:browserOptions": fields{
		"binary": browsers[0], "args": []string{"--automation"},
	}}}}
	for range 100 {
		if err = w.ask(http.MethodPost, "", capabilities, &answer); err == nil || !strings.Contains(err.Error(), "refused") {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if err != nil {
		t.Fatalf("WebKit does not start: %v", err)
	}
	w.session += "/" + answer.SessionID
	if err := w.ask(http.MethodPost, "/window/rect", fields{"width": 1200, "height": 900}, nil); err != nil {
		t.Fatal(err)
	}
	return w
}

// startScreen starts a screen that nobody sees, and returns its name.
func startScreen(t testing.TB, program string) string {
	t.Helper()
	r, out, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, "-displayfd", "3", "-screen", "0", "1280x1024x24", "-nolisten", "tcp")
	cmd.ExtraFiles = []*os.File{out}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	_ = out.Close()
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	var number int
	if _, err := fmt.Fscan(r, &number); err != nil {
		t.Fatalf("%s does not start: %v", program, err)
	}
	return fmt.Sprintf(":%d", number)
}

func freePort(t testing.TB) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// listen has a page keep what goes wrong in it; what went wrong while it was
// loaded is not known, since this protocol tells nothing of the console.
const listen = `(() => {
	window.wentWrong = [];
	const keep = (text) => { window.wentWrong.push(String(text)); };
	addEventListener("error", ({ message }) => keep(message));
	addEventListener("unhandledrejection", ({ reason }) => keep(reason));
	addEventListener("securitypolicyviolation", ({ violatedDirective, blockedURI }) => keep(violatedDirective + " " + blockedURI));
	for (const level of ["error", "warn"]) console[level] = keep;
	return true;
})()`

func (w *webkit) complaints() []string {
	var said []string
	if text, err := w.evaluate("window.wentWrong ?? []"); err == nil {
		_ = json.Unmarshal(text, &said)
	}
	w.said = append(w.said, said...)
	return w.said
}

func (w *webkit) ask(method, command string, body, into any) error {
	var content bytes.Buffer
	if body != nil {
		if err := json.NewEncoder(&content).Encode(body); err != nil {
			return err
		}
	}
	request, err := http.NewRequest(method, w.session+command, &content)
	if err != nil {
		return err
	}
	response, err := (&http.Client{Timeout: time.Minute}).Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	var answer struct{ Value json.RawMessage }
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil {
		return err
	}
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("%s: %s", command, answer.Value)
	}
	if into == nil {
		return nil
	}
	return json.Unmarshal(answer.Value, into)
}

func (w *webkit) open(address string) error {
	w.complaints()
	if err := w.ask(http.MethodPost, "/url", fields{"url": address}, nil); err != nil {
		return err
	}
	_, err := w.evaluate(listen)
	return err
}

func (w *webkit) evaluate(expression string) (json.RawMessage, error) {
	var answer string
	err := w.ask(http.MethodPost, "/execute/sync", fields{
		"script": "return (async () => JSON.stringify(await (" + expression + ")) ?? 'null')()", "args": []any{},
	}, &answer)
	return json.RawMessage(answer), err
}

func (w *webkit) act(source ...any) error {
	return w.ask(http.MethodPost, "/actions", fields{"actions": source}, nil)
}

func (w *webkit) choose(selector string, paths []string) error {
	var element map[string]string
	if err := w.ask(http.MethodPost, "/element", fields{"using": "css selector", "value": selector}, &element); err != nil {
		return err
	}
	return w.ask(http.MethodPost, "/element/"+element[elementKey]+"/value", fields{"text": strings.Join(paths, "\n")}, nil)
}

func (w *webkit) picture() ([]byte, error) {
	var data string
	if err := w.ask(http.MethodGet, "/screenshot", nil, &data); err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(data)
}
