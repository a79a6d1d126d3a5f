package desk

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/coverage/photo"
)

const host = "127.0.0.1:50000"

// recorder is an engine that remembers what it was asked.
type recorder struct {
	asked      [][]string
	remembered string
	announced  []string
}

func (r *recorder) Remember(folder string) error {
	r.remembered = folder
	return nil
}

func (r *recorder) Run(args []string) ([]byte, int, error) {
	r.asked = append(r.asked, args)
	return []byte(`{"ran":true}`), 1, nil
}

func (r *recorder) Letterhead(path string) (map[string]string, error) {
	data, err := os.ReadFile(path)
	said := map[string]string{}
	for line := range strings.Lines(string(data)) {
		if key, value, both := strings.Cut(strings.TrimSpace(line), ": "); both {
			said[key] = value
		}
	}
	return said, err
}

func (r *recorder) Announce(folder, desk, opening string) {
	r.announced = []string{folder, desk, opening}
}

func (r *recorder) Cards() []string { return []string{"/media/card"} }

func (r *recorder) Draw(args []string) (any, error) {
	r.asked = append(r.asked, args)
	return map[string]bool{"drawn": true}, nil
}

// bench is a desk with one job, quarry, that has a client's file.
type bench struct {
	*testing.T
	*Server
	folder string
	engine recorder
	quits  int
}

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{T: t, folder: t.TempDir()}
	b.Server = New(b.folder, &b.engine, func() { b.quits++ })
	b.wantStatus(http.StatusOK, b.post("api/jobs", `{"name":"quarry"}`))
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/files/client.kml?as=client", "<kml/>"))
	return b
}

func (b *bench) do(r *http.Request) *httptest.ResponseRecorder {
	r.Host = host
	w := httptest.NewRecorder()
	b.Handler(host).ServeHTTP(w, r)
	return w
}

func (b *bench) get(path string) *httptest.ResponseRecorder {
	return b.do(httptest.NewRequest(http.MethodGet, "/"+b.token+"/"+path, nil))
}

func (b *bench) post(path, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodPost, "/"+b.token+"/"+path, strings.NewReader(body))
	r.Header.Set("Origin", "http://"+host)
	return b.do(r)
}

func (b *bench) wantStatus(want int, w *httptest.ResponseRecorder) {
	b.Helper()
	if w.Code != want {
		b.Errorf("status %d, want %d: %.200s", w.Code, want, w.Body)
	}
}

func TestOpeningWorksOnce(t *testing.T) {
	b := newBench(t)
	first := b.do(httptest.NewRequest(http.MethodGet, b.Opening(), nil))
	b.wantStatus(http.StatusSeeOther, first)
	if at := first.Header().Get("Location"); at != "/"+b.token+"/" {
		t.Errorf("it leads to %q", at)
	}
	for _, path := range []string{"/open/" + b.token, "/open/", "/open/x"} {
		if w := b.do(httptest.NewRequest(http.MethodGet, path, nil)); w.Code < 400 {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
	again := New(b.folder, &b.engine, nil)
	word := again.Opening()
	for i, want := range []int{http.StatusSeeOther, http.StatusForbidden} {
		r := httptest.NewRequest(http.MethodGet, word, nil)
		r.Host = host
		w := httptest.NewRecorder()
		again.Handler(host).ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("time %d: status %d", i+1, w.Code)
		}
	}
	if len(b.token) < 25 || b.token == again.token {
		t.Errorf("tokens %q and %q", b.token, again.token)
	}
}

// What does not come from the page itself is refused, whatever it asks.
func TestGuard(t *testing.T) {
	b := newBench(t)
	page := "/" + b.token + "/"
	for name, c := range map[string]struct {
		method, path string
		change       func(*http.Request)
		want         int
	}{
		"the page":               {"GET", page, func(*http.Request) {}, 200},
		"the page, typed":        {"GET", page, func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "none") }, 200},
		"from the page":          {"POST", page + "api/jobs", func(*http.Request) {}, 200},
		"without a token":        {"GET", "/", func(*http.Request) {}, 404},
		"another token":          {"GET", "/" + strings.Repeat("A", len(b.token)) + "/", func(*http.Request) {}, 404},
		"the token's beginning":  {"GET", "/" + b.token[:20] + "/", func(*http.Request) {}, 404},
		"rebound name":           {"GET", page, func(r *http.Request) { r.Host = "rebound.example:50000" }, 421},
		"localhost by name":      {"GET", page, func(r *http.Request) { r.Host = "localhost:50000" }, 421},
		"another port":           {"GET", page, func(r *http.Request) { r.Host = "127.0.0.1:50001" }, 421},
		"a link from elsewhere":  {"GET", page, func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, 403},
		"a picture elsewhere":    {"GET", page + "page/desk.js", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-site") }, 403},
		"posted from elsewhere":  {"POST", page + "api/jobs", func(r *http.Request) { r.Header.Set("Origin", "http://other.example") }, 403},
		"posted by another port": {"POST", page + "api/jobs", func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:50001") }, 403},
		"posted from a frame":    {"POST", page + "api/jobs", func(r *http.Request) { r.Header.Set("Origin", "null") }, 403},
		"posted from nowhere":    {"POST", page + "api/jobs", func(r *http.Request) { r.Header.Del("Origin") }, 403},
		"posted by a typist":     {"POST", page + "api/jobs", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "none") }, 403},
		"another method":         {"PUT", page + "api/jobs", func(*http.Request) {}, 405},
		"asked for leave":        {"OPTIONS", page + "api/jobs", func(*http.Request) {}, 405},
	} {
		r := httptest.NewRequest(c.method, c.path, strings.NewReader(`{"name":"x"}`))
		r.Host = host
		r.Header.Set("Origin", "http://"+host)
		c.change(r)
		w := httptest.NewRecorder()
		b.Handler(host).ServeHTTP(w, r)
		if w.Code != c.want {
			t.Errorf("%s: status %d, want %d", name, w.Code, c.want)
		}
		h := w.Header()
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Referrer-Policy") != "no-referrer" ||
			!strings.Contains(h.Get("Content-Security-Policy"), "default-src 'none'") || h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: headers %v", name, h)
		}
	}
}

func TestPolicies(t *testing.T) {
	b := newBench(t)
	if p := b.get("").Header().Get("Content-Security-Policy"); strings.Contains(p, "unsafe") || !strings.Contains(p, "frame-ancestors 'none'") {
		t.Errorf("the page's policy is %q", p)
	}
	write(t, b, "quarry/client-receipt.html", "<p>x")
	p := b.get("jobs/quarry/client-receipt.html").Header().Get("Content-Security-Policy")
	if !strings.HasPrefix(p, "sandbox ") || strings.Contains(p, "allow-same-origin") || strings.Contains(p, "connect-src") {
		t.Errorf("a report's policy is %q", p)
	}
	write(t, b, "quarry/tool.exe", "MZ")
	if d := b.get("jobs/quarry/tool.exe").Header().Get("Content-Disposition"); d != "attachment" {
		t.Errorf("an unknown file comes as %q", d)
	}
}

func write(t *testing.T, b *bench, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(b.folder, filepath.FromSlash(name)), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// No path leads out of the folder of the jobs.
func TestNoWayOut(t *testing.T) {
	b := newBench(t)
	outside := t.TempDir()
	if err := os.WriteFile(filepath.Join(outside, "secret.kml"), []byte("secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	write(t, b, "at-the-top.kml", "secret")
	links := os.Symlink(outside, filepath.Join(b.folder, "linked")) == nil &&
		os.Symlink(filepath.Join(outside, "secret.kml"), filepath.Join(b.folder, "quarry", "linked.kml")) == nil
	if !links {
		t.Log("links cannot be made here")
	}
	names := []string{"..%2fat-the-top.kml", "%2e%2e", "..", ".", "..%5cat-the-top.kml", "C:%5csecret.kml", "linked.kml", "%00", "a%2fb", "desk.json%00", ".hidden", "nul:", "x%0a"}
	for _, name := range names {
		for _, job := range []string{"quarry", "linked", "%2e%2e", "..%2f" + filepath.Base(b.folder)} {
			if w := b.get("jobs/" + job + "/" + name); w.Code == http.StatusOK || strings.Contains(w.Body.String(), "secret") {
				t.Errorf("jobs/%s/%s: status %d, %.80s", job, name, w.Code, w.Body)
			}
			w := b.post("api/jobs/"+job+"/files/"+name, "overwritten")
			if w.Code == http.StatusOK {
				t.Errorf("put %s/%s: status %d", job, name, w.Code)
			}
		}
		decoded, err := urlDecoded(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, flag := range []string{"keep-out", "sample", "margin-along"} {
			body, _ := json.Marshal(flags{"buffer": {"30m"}, flag: {decoded}})
			if w := b.post("api/jobs/quarry/run/prepare", string(body)); w.Code == http.StatusOK {
				t.Errorf("%s=%s: status %d", flag, decoded, w.Code)
			}
		}
	}
	if len(b.engine.asked) > 0 {
		t.Errorf("the engine was asked %q", b.engine.asked)
	}
	for _, path := range []string{filepath.Join(outside, "secret.kml"), filepath.Join(b.folder, "at-the-top.kml")} {
		if data, err := os.ReadFile(path); err != nil || string(data) != "secret" {
			t.Errorf("%s holds %q, %v", path, data, err)
		}
	}
}

func urlDecoded(s string) (string, error) {
	r, err := http.NewRequest(http.MethodGet, "http://x/?n="+s, nil)
	if err != nil {
		return "", err
	}
	return r.URL.Query().Get("n"), nil
}

func TestCommandLines(t *testing.T) {
	b := newBench(t)
	folder := filepath.Join(b.folder, "quarry")
	in := func(name string) string { return filepath.Join(folder, name) }
	write(t, b, "quarry/pond.kml", "<kml/>")
	for _, c := range []struct {
		path, body string
		want       []string
	}{
		{"run/vet", `{"near":["54.7,2.3"],"close-path":[""]}`, []string{"vet", "--close-path", "--near=54.7,2.3", in("client.kml"), "--json", "--out=" + folder, "--replace"}},
		{"run/prepare", `{"buffer":["30m"],"sd":["/media/card"]}`, []string{"prepare", "--buffer=30m", "--sd=/media/card", in("client.kml"), "--json", "--out=" + folder, "--replace"}},
		{"draw", `{"buffer":["--out=/x"],"keep-out":["pond.kml:10m","pond.kml"]}`, []string{"prepare", "--buffer=--out=/x", "--keep-out=" + in("pond.kml") + ":10m", "--keep-out=" + in("pond.kml"), in("client.kml")}},
	} {
		b.engine.asked = nil
		w := b.post("api/jobs/quarry/"+c.path, c.body)
		b.wantStatus(http.StatusOK, w)
		if len(b.engine.asked) != 1 || !slices.Equal(b.engine.asked[0], c.want) {
			t.Errorf("%s asked %q, want %q", c.path, b.engine.asked, c.want)
		}
	}
	for path, body := range map[string]string{
		"run/vet": `{"out":["/x"]}`, "run/prepare": `{"sd":["/x"]}`, "draw?": `{"sd":["/media/card/.."]}`, "run/demo": `{}`, "run/version": `{}`,
		"run/plan": `{}`, "run/audit": `{}`, "draw": `{"buffer":["30m\u0000"]}`, "run/photos": `{"positions":["client.kml/../../x"]}`,
	} {
		b.engine.asked = nil
		if w := b.post("api/jobs/quarry/"+path, body); w.Code == http.StatusOK || len(b.engine.asked) > 0 {
			t.Errorf("%s %s: status %d, asked %q", path, body, w.Code, b.engine.asked)
		}
	}
}

// What was typed is there again, and a broken record is as if there were none.
func TestSettingsAreKept(t *testing.T) {
	b := newBench(t)
	b.post("api/jobs/quarry/draw", `{"buffer":["47m"]}`)
	var m jobMessage
	if err := json.Unmarshal(b.get("api/jobs/quarry").Body.Bytes(), &m); err != nil {
		t.Fatal(err)
	}
	if m.Settings.Client != "client.kml" || !slices.Equal(m.Settings.Flags["prepare"]["buffer"], []string{"47m"}) || len(m.Files) != 1 {
		t.Errorf("kept %+v", m)
	}
	// What is not run is kept too, right or not.
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/typed/audit", `{"ground":["high"]}`))
	b.wantStatus(http.StatusBadRequest, b.post("api/jobs/quarry/typed/audit", `{"out":["/x"]}`))
	b.wantStatus(http.StatusNotFound, b.post("api/jobs/quarry/typed/demo", `{}`))
	if w := b.get("api/jobs/quarry"); !strings.Contains(w.Body.String(), `"audit":{"ground":["high"]}`) || len(b.engine.asked) != 1 {
		t.Errorf("kept %s, asked %q", w.Body, b.engine.asked)
	}
	write(t, b, "quarry/desk.json", `{"client":`)
	if w := b.get("api/jobs/quarry"); w.Code != http.StatusOK || strings.Contains(w.Body.String(), "client.kml\",\"flags") {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
}

func TestClientsFileStays(t *testing.T) {
	b := newBench(t)
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/files/client.kml", "<kml/>"))
	b.wantStatus(http.StatusConflict, b.post("api/jobs/quarry/files/client.kml?as=client", "<kml>other</kml>"))
	if data, err := os.ReadFile(filepath.Join(b.folder, "quarry", "client.kml")); err != nil || string(data) != "<kml/>" {
		t.Errorf("it holds %q, %v", data, err)
	}
	// Another job of the same name is another folder.
	b.wantStatus(http.StatusOK, b.post("api/jobs", `{"name":"quarry"}`))
	b.wantStatus(http.StatusOK, b.get("api/jobs/quarry-2"))
	b.wantStatus(http.StatusOK, b.post("api/jobs", `{"name":"../../CON"}`))
	b.wantStatus(http.StatusBadRequest, b.post("api/jobs", `{"name":1}`))
	entries, _ := os.ReadDir(b.folder)
	if len(entries) != 3 {
		t.Errorf("%d folders", len(entries))
	}
}

func TestListOfJobs(t *testing.T) {
	b := newBench(t)
	for _, folder := range []string{"no job", ".hidden", "by-commands"} {
		if err := os.Mkdir(filepath.Join(b.folder, folder), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	write(t, b, "by-commands/site.job.geojson", "{}")
	write(t, b, "loose.kml", "")
	var got struct{ Jobs []jobRow }
	if err := json.Unmarshal(b.get("api/jobs").Body.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, j := range got.Jobs {
		names = append(names, fmt.Sprint(j.Name, j.Prepared))
	}
	slices.Sort(names)
	if !slices.Equal(names, []string{"by-commandstrue", "quarryfalse"}) {
		t.Errorf("listed %q", names)
	}
}

// frames are photos as the page sends them.
func frames(parts ...[]byte) string {
	var out bytes.Buffer
	for _, p := range parts {
		_ = binary.Write(&out, binary.BigEndian, uint32(len(p)))
		out.Write(p)
	}
	return out.String()
}

func aPhoto(t *testing.T, name string) []byte {
	t.Helper()
	p := photo.New(name, orb.Point{10, 50})
	p.Camera = photo.Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648}
	var data bytes.Buffer
	if err := photo.Encode(&data, image.NewGray(image.Rect(0, 0, 8, 8)), p); err != nil {
		t.Fatal(err)
	}
	return data.Bytes()
}

func TestPhotos(t *testing.T) {
	b := newBench(t)
	b.wantStatus(http.StatusBadRequest, b.post("api/jobs/quarry/photos/heads", ""))
	reading := b.beginReading()
	good := aPhoto(t, "a.jpg")
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/photos/heads"+reading, frames(
		[]byte(`{"name":"card/b.jpg","size":8000000}`), good,
		[]byte(`{"name":"card/a.jpg","size":8000000}`), good,
		[]byte(`{"name":"card/empty.jpg","size":0}`), nil,
		[]byte(`{"name":"card/pulled.jpg","size":8000000}`), nil,
		[]byte(`{"name":"=1+1.jpg","size":9}`), []byte("not photo"),
	)))
	if _, err := os.Stat(filepath.Join(b.folder, "quarry", photosName)); err == nil {
		t.Error("the list is there before the end")
	}
	w := b.post("api/jobs/quarry/photos/end"+reading, "{}")
	b.wantStatus(http.StatusOK, w)
	var got tally
	if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || got.Read != 5 || got.Located != 2 || len(got.LeftOut) != 3 {
		t.Errorf("%+v, %v", got, err)
	}
	data, err := os.ReadFile(filepath.Join(b.folder, "quarry", photosName))
	if err != nil {
		t.Fatal(err)
	}
	photos, left, err := photo.ReadPositions(photosName, data, photo.TableLimits{})
	if err != nil || len(photos) != 2 || len(left) != 3 || photos[0].File != "card/a.jpg" || photos[0].Sources.Position != photo.Exif || !photos[0].Camera.Complete() {
		t.Errorf("the list holds %+v, %+v, %v", photos, left, err)
	}
	b.wantStatus(http.StatusBadRequest, b.post("api/jobs/quarry/photos/end", "{}"))
}

// beginReading begins to read photos, and returns what goes behind later paths.
func (b *bench) beginReading() string {
	b.Helper()
	w := b.post("api/jobs/quarry/photos/begin", "{}")
	b.wantStatus(http.StatusOK, w)
	var begun tally
	if err := json.Unmarshal(w.Body.Bytes(), &begun); err != nil || begun.Reading == "" {
		b.Fatalf("%+v, %v", begun, err)
	}
	return "?reading=" + begun.Reading
}

// Of two windows that read photos into a job, the one that began last does.
func TestPhotosOfTwoWindows(t *testing.T) {
	b := newBench(t)
	heads := frames([]byte(`{"name":"a.jpg","size":8000000}`), aPhoto(t, "a.jpg"))
	first := b.beginReading()
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/photos/heads"+first, heads))
	second := b.beginReading()
	b.wantStatus(http.StatusConflict, b.post("api/jobs/quarry/photos/heads"+first, heads))
	b.wantStatus(http.StatusConflict, b.post("api/jobs/quarry/photos/end"+first, "{}"))
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/photos/end"+second, "{}"))
	data, err := os.ReadFile(filepath.Join(b.folder, "quarry", photosName))
	if err != nil || bytes.Contains(data, []byte("a.jpg")) {
		t.Errorf("the list holds %s, %v", data, err)
	}
}

func TestPhotosHostile(t *testing.T) {
	b := newBench(t)
	for name, c := range map[string]struct {
		body string
		want int
	}{
		"cut off":         {frames([]byte(`{"name":"a.jpg","size":9}`))[:10], http.StatusBadRequest},
		"no head":         {frames([]byte(`{"name":"a.jpg","size":9}`)), http.StatusBadRequest},
		"no description":  {frames([]byte(`[`), nil), http.StatusBadRequest},
		"endless name":    {frames(bytes.Repeat([]byte("x"), mostName+1), nil), http.StatusBadRequest},
		"head too large":  {frames([]byte(`{"name":"a.jpg","size":9}`), make([]byte, mostHead+1)), http.StatusBadRequest},
		"claims 4 GB":     {"\xff\xff\xff\xff", http.StatusBadRequest},
		"batch too large": {strings.Repeat(frames([]byte(`{"name":"a.jpg","size":9}`), make([]byte, mostHead)), mostBatch/mostHead+1), http.StatusRequestEntityTooLarge},
	} {
		reading := b.beginReading()
		if w := b.post("api/jobs/quarry/photos/heads"+reading, c.body); w.Code != c.want {
			t.Errorf("%s: status %d, want %d: %s", name, w.Code, c.want, w.Body)
		}
	}
	b.wantStatus(http.StatusRequestEntityTooLarge, b.post("api/jobs/quarry/draw", `{"buffer":["`+strings.Repeat("x", mostBody)+`"]}`))
	b.wantStatus(http.StatusNotFound, b.post("api/jobs/quarry/photos/other", ""))
}

func TestQuit(t *testing.T) {
	b := newBench(t)
	b.wantStatus(http.StatusNoContent, b.post("api/quit", ""))
	if b.quits != 1 {
		t.Errorf("quit %d times", b.quits)
	}
}

// A request that breaks off leaves nothing behind.
func TestBrokenOffUpload(t *testing.T) {
	b := newBench(t)
	r := httptest.NewRequest(http.MethodPost, "/"+b.token+"/api/jobs/quarry/files/half.kml", io.MultiReader(strings.NewReader("<kml>"), failing{}))
	r.Header.Set("Origin", "http://"+host)
	if w := b.do(r); w.Code < 400 {
		t.Errorf("status %d", w.Code)
	}
	entries, err := os.ReadDir(filepath.Join(b.folder, "quarry"))
	if err != nil || len(entries) != 2 {
		t.Errorf("left are %v, %v", entries, err)
	}
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, io.ErrUnexpectedEOF }

func TestMoveFolder(t *testing.T) {
	b := newBench(t)
	other := filepath.Join(t.TempDir(), "new", "jobs")
	for body, want := range map[string]int{`{"folder":"jobs"}`: 400, `{"folder":""}`: 400, `{"folder":"../x"}`: 400, `{"path":"/"}`: 400} {
		b.wantStatus(want, b.post("api/folder", body))
	}
	body, _ := json.Marshal(map[string]string{"folder": other})
	b.wantStatus(http.StatusOK, b.post("api/folder", string(body)))
	if b.engine.remembered != other {
		t.Errorf("remembered %q", b.engine.remembered)
	}
	b.wantStatus(http.StatusNotFound, b.get("api/jobs/quarry"))
	b.wantStatus(http.StatusOK, b.post("api/jobs", `{"name":"quarry"}`))
	if _, err := os.Stat(filepath.Join(other, "quarry", settingsName)); err != nil {
		t.Error(err)
	}
}
