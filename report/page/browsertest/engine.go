package browsertest

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Engine is a page in a browser that is not Chromium, driven by a protocol of
// the W3C. What fails ends the test.
type Engine struct {
	testing.TB
	driver
}

// driver is a protocol. Actions are those of the WebDriver standard, which both
// protocols share.
type driver interface {
	open(address string) error
	// evaluate awaits the expression and returns it as JSON.
	evaluate(expression string) (json.RawMessage, error)
	act(source ...any) error
	choose(selector string, paths []string) error
	picture() ([]byte, error)
	// complaints are the errors and warnings of pages so far.
	complaints() []string
}

// engines are the browsers by name.
var engines = []struct {
	name  string
	start func(testing.TB) driver
}{{"Firefox", startFirefox}, {"WebKit", startWebKit}}

// InEngines runs a test in each of the other engines.
func InEngines(t *testing.T, test func(Engine)) {
	for _, each := range engines {
		t.Run(each.name, func(t *testing.T) { test(Engine{t, each.start(t)}) })
	}
}

// Open shows an address.
func (e Engine) Open(address string) {
	e.Helper()
	if err := e.open(address); err != nil {
		e.Fatalf("%s: %v", address, err)
	}
}

// OpenPage shows the text of a page.
func (e Engine) OpenPage(page string) {
	e.Helper()
	path := filepath.Join(e.TempDir(), "page.html")
	if err := os.WriteFile(path, []byte(page), 0o600); err != nil {
		e.Fatal(err)
	}
	e.Open("file://" + filepath.ToSlash(path))
}

// Is holds the page to an expression being true within a quarter of a minute.
func (e Engine) Is(expression string) {
	e.Helper()
	var last string
	for deadline := time.Now().Add(15 * time.Second); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		answer, err := e.evaluate(expression)
		if string(answer) == "true" {
			return
		}
		last = fmt.Sprint(string(answer), " ", err)
	}
	e.Errorf("%s is %s; the page says %s", expression, last, e.Value(`document.querySelector("main").innerText.slice(-600)`))
}

// Value is an expression as JSON.
func (e Engine) Value(expression string) string {
	e.Helper()
	answer, err := e.evaluate(expression)
	if err != nil {
		e.Fatalf("%s: %v", expression, err)
	}
	return string(answer)
}

// middle brings an element into sight, and says where it is.
func (e Engine) middle(selector string) (at [2]int) {
	e.Helper()
	e.Is(fmt.Sprintf("!!document.querySelector(%q)", selector))
	expression := fmt.Sprintf(`(() => {
		const element = document.querySelector(%q);
		element.scrollIntoView({ block: "center", behavior: "instant" });
		const b = element.getBoundingClientRect();
		return [Math.round(b.left + b.width / 2), Math.round(b.top + b.height / 2)];
	})()`, selector)
	if err := json.Unmarshal([]byte(e.Value(expression)), &at); err != nil {
		e.Fatal(err)
	}
	return at
}

type fields map[string]any

func (e Engine) pointer(moves ...any) {
	e.Helper()
	if err := e.act(fields{"type": "pointer", "id": "mouse", "parameters": fields{"pointerType": "mouse"}, "actions": moves}); err != nil {
		e.Fatal(err)
	}
}

func moveTo(at [2]int) fields {
	return fields{"type": "pointerMove", "x": at[0], "y": at[1], "duration": 20}
}

var press, release = fields{"type": "pointerDown", "button": 0}, fields{"type": "pointerUp", "button": 0}

// WatchClicks is the script that makes clicked true when something is clicked
// that the selector tells of then: a page may put another element in the place of
// one that was looked at.
func WatchClicks(selector string) string {
	return fmt.Sprintf(`(() => {
		removeEventListener("click", window.watchClicks, true);
		window.clicked = false;
		window.watchClicks = ({ target }) => { clicked ||= !!target.closest(%q); };
		addEventListener("click", window.watchClicks, true);
		return true;
	})()`, selector)
}

// Click presses the middle of an element, again where it has moved meanwhile.
func (e Engine) Click(selector string) {
	e.Helper()
	e.Is(fmt.Sprintf(`!!document.querySelector(%q)`, selector))
	e.Value(WatchClicks(selector))
	for range 5 {
		e.pointer(moveTo(e.middle(selector)), press, release)
		if e.Value(`window.clicked`) == "true" {
			return
		}
	}
	e.Fatalf("%s takes no click", selector)
}

// Hover goes to a place so far from the middle of an element, in pixels.
func (e Engine) Hover(selector string, right, down int) {
	e.Helper()
	at := e.middle(selector)
	e.pointer(moveTo(at), moveTo([2]int{at[0] + right, at[1] + down}))
}

// Drag drags the middle of an element by so many pixels.
func (e Engine) Drag(selector string, right, down int) {
	e.Helper()
	at := e.middle(selector)
	e.pointer(moveTo(at), press, moveTo([2]int{at[0] + right/2, at[1] + down/2}), moveTo([2]int{at[0] + right, at[1] + down}), release)
}

// Turn turns the wheel over an element.
func (e Engine) Turn(selector string, down int) {
	e.Helper()
	at := e.middle(selector)
	if err := e.act(fields{"type": "wheel", "id": "wheel", "actions": []any{
		fields{"type": "scroll", "x": at[0], "y": at[1], "deltaX": 0, "deltaY": down, "duration": 0},
	}}); err != nil {
		e.Fatal(err)
	}
}

// Keys presses keys, one after the other.
func (e Engine) Keys(keys string) {
	e.Helper()
	var actions []any
	for _, key := range keys {
		actions = append(actions, fields{"type": "keyDown", "value": string(key)}, fields{"type": "keyUp", "value": string(key)})
	}
	if err := e.act(fields{"type": "key", "id": "keys", "actions": actions}); err != nil {
		e.Fatal(err)
	}
}

// Choose chooses files, or a folder, in a field for them.
func (e Engine) Choose(selector string, paths ...string) {
	e.Helper()
	if err := e.choose(selector, paths); err != nil {
		e.Fatalf("choosing of %s: %v", strings.Join(paths, ", "), err)
	}
}

// Picture keeps what is seen in the folder that SELVAGE_PICTURES names.
func (e Engine) Picture(name string) {
	e.Helper()
	folder := os.Getenv("SELVAGE_PICTURES")
	if folder == "" {
		return
	}
	shot, err := e.picture()
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, strings.ReplaceAll(e.Name(), "/", "-")+"-"+name+".png"), shot, 0o600)
	}
	if err != nil {
		e.Error(err)
	}
}

// Content holds the page to no complaint at all.
func (e Engine) Content() {
	e.Helper()
	for _, c := range e.complaints() {
		e.Error(c)
	}
}
