package browsertest

import (
	"bufio"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gobwas/ws"
	"github.com/gobwas/ws/wsutil"
)

// firefox speaks WebDriver BiDi (W3C), which Firefox has built in.
type firefox struct {
	conn    net.Conn
	context string
	serial  int
	said    []string
}

func startFirefox(t testing.TB) driver {
	t.Helper()
	program, err := exec.LookPath("firefox-esr")
	if err != nil {
		if program, err = exec.LookPath("firefox"); err != nil {
			Missing(t, "Firefox is not installed: pages are not tried in it")
		}
	}
	profile := t.TempDir()
	// Nothing of its own is to be fetched or shown.
	quiet := `user_pref("app.normandy.enabled", false);
user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("network.captive-portal-service.enabled", false);
user_pref("services.settings.server", "data:,");
user_pref("toolkit.telemetry.enabled", false);
`
	if err := os.WriteFile(filepath.Join(profile, "user.js"), []byte(quiet), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, "--headless", "--no-remote", "--profile", profile, "--remote-debugging-port=0", "--width=1200", "--height=900", "about:blank")
	cmd.Env = append(os.Environ(), "HOME="+t.TempDir())
	address := begin(t, cmd, "WebDriver BiDi listening on ")
	ctx, release := context.WithTimeout(context.Background(), 30*time.Second)
	defer release()
	conn, _, _, err := ws.Dial(ctx, address+"/session")
	if err != nil {
		t.Fatal(err)
	}
	f := &firefox{conn: conn}
	t.Cleanup(func() { _ = conn.Close() })
	var tree struct {
		Contexts []struct{ Context string }
	}
	for _, each := range []struct {
		method string
		params any
		into   any
	}{
		{"session.new", fields{"capabilities": fields{}}, nil},
		{"session.subscribe", fields{"events": []string{"log.entryAdded"}}, nil},
		{"browsingContext.getTree", fields{}, &tree},
	} {
		if err := f.ask(each.method, each.params, each.into); err != nil {
			t.Fatal(err)
		}
	}
	f.context = tree.Contexts[0].Context
	return f
}

// begin starts a program, which ends with the test, and returns what follows
// these words in what it says.
func begin(t testing.TB, cmd *exec.Cmd, words string) string {
	t.Helper()
	said, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	found := make(chan string, 1)
	ended := make(chan struct{})
	go func() {
		for lines := bufio.NewScanner(said); lines.Scan(); {
			if _, rest, is := strings.Cut(lines.Text(), words); is {
				select {
				case found <- strings.TrimSpace(rest):
				default:
				}
			}
		}
		_ = cmd.Wait() // it is killed
		close(ended)
	}()
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		<-ended
	})
	select {
	case rest := <-found:
		return rest
	case <-ended:
	case <-time.After(30 * time.Second):
	}
	t.Fatalf("%s does not start", cmd.Path)
	return ""
}

func (f *firefox) ask(method string, params, into any) error {
	f.serial++
	text, err := json.Marshal(fields{"id": f.serial, "method": method, "params": params})
	if err != nil {
		return err
	}
	if err := f.conn.SetDeadline(time.Now().Add(time.Minute)); err != nil {
		return err
	}
	if err := wsutil.WriteClientText(f.conn, text); err != nil {
		return err
	}
	for {
		text, err := wsutil.ReadServerText(f.conn)
		if err != nil {
			return err
		}
		var message struct {
			ID             int
			Error, Message string
			Result         json.RawMessage
			Params         struct{ Level, Text string }
		}
		if err := json.Unmarshal(text, &message); err != nil {
			return err
		}
		switch {
		case message.ID == f.serial && message.Error != "":
			return fmt.Errorf("%s: %s: %s", method, message.Error, message.Message)
		case message.ID == f.serial && into != nil:
			return json.Unmarshal(message.Result, into)
		case message.ID == f.serial:
			return nil
		case message.Params.Level == "error" || message.Params.Level == "warn":
			f.said = append(f.said, message.Params.Level+": "+message.Params.Text)
		}
	}
}

func (f *firefox) open(address string) error {
	return f.ask("browsingContext.navigate", fields{"context": f.context, "url": address, "wait": "complete"}, nil)
}

func (f *firefox) evaluate(expression string) (json.RawMessage, error) {
	var answer struct {
		Result           struct{ Value string }
		ExceptionDetails *struct{ Text string }
	}
	err := f.ask("script.evaluate", fields{
		"expression": "(async () => JSON.stringify(await (" + expression + ")) ?? 'null')()",
		"target":     fields{"context": f.context}, "awaitPromise": true, "userActivation": true,
	}, &answer)
	if err == nil && answer.ExceptionDetails != nil {
		err = fmt.Errorf("%s", answer.ExceptionDetails.Text)
	}
	return json.RawMessage(answer.Result.Value), err
}

func (f *firefox) act(source ...any) error {
	return f.ask("input.performActions", fields{"context": f.context, "actions": source}, nil)
}

func (f *firefox) choose(selector string, paths []string) error {
	var found struct {
		Nodes []struct{ SharedID string }
	}
	if err := f.ask("browsingContext.locateNodes", fields{"context": f.context, "locator": fields{"type": "css", "value": selector}}, &found); err != nil {
		return err
	}
	if len(found.Nodes) == 0 {
		return fmt.Errorf("there is no %s", selector)
	}
	return f.ask("input.setFiles", fields{"context": f.context, "element": fields{"sharedId": found.Nodes[0].SharedID}, "files": paths}, nil)
}

func (f *firefox) picture() ([]byte, error) {
	var answer struct{ Data string }
	if err := f.ask("browsingContext.captureScreenshot", fields{"context": f.context}, &answer); err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(answer.Data)
}

func (f *firefox) complaints() []string { return f.said }
