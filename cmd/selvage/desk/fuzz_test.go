package desk

import (
	"bytes"
	"encoding/binary"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"selvage/coverage/photo"
)

// Each photo that was sent whole is in the list or left out with a reason,
// whatever comes after it.
func FuzzTake(f *testing.F) {
	f.Add([]byte(frames([]byte(`{"name":"a.jpg","size":9}`), []byte("\xFF\xD8\xFF\xE1"))))
	f.Add([]byte(frames([]byte(`{"name":"a.jpg","size":-1}`), nil, []byte("{}"), []byte("II*\x00\x08\x00\x00\x00")) + "\xFF\xFF\xFF\xFF"))
	f.Fuzz(func(t *testing.T, body []byte) {
		l := &list{suggested: map[photo.Quantity]string{}}
		err := l.take(bytes.NewReader(body))
		whole := 0
		for rest := body; len(rest) >= 4; whole++ {
			n := int(binary.BigEndian.Uint32(rest))
			if rest = rest[4:]; n > len(rest) {
				break
			}
			rest = rest[n:]
		}
		if got := len(l.photos) + len(l.leftOut); got > whole/2 || err == nil && got != whole/2 {
			t.Errorf("%d photos of %d frames: %v", got, whole, err)
		}
		if err != nil && !strings.HasSuffix(err.Error(), ".") {
			t.Errorf("said %q", err)
		}
		for _, out := range l.leftOut {
			if out.Reason.String() == "" {
				t.Errorf("%q is left out without a reason", out.File)
			}
		}
	})
}

// Whatever is sent, the desk answers, and no command line leads out of the
// job's folder.
func FuzzRun(f *testing.F) {
	f.Add("vet", `{"near":["48,7"],"close-path":[""]}`, "client.kml")
	f.Add("prepare", `{"keep-out":["client.kml:5m","../x"],"sd":["/etc"],"buffer":["--out=/"]}`, "..")
	f.Add("audit", `{"positions":["\u0000"],"height":null}`, `a\b`)
	f.Fuzz(func(t *testing.T, command, body, file string) {
		b := newBench(t)
		b.post("api/jobs/quarry/run/"+url.PathEscape(command), body)
		b.post("api/jobs/quarry/draw", body)
		if w := b.post("api/jobs/quarry/files/"+url.PathEscape(file), body); w.Code == http.StatusInternalServerError {
			t.Errorf("%q: %.200s", file, w.Body)
		}
		for _, args := range b.engine.asked {
			for _, arg := range args {
				name, path, _ := strings.Cut(arg, "=")
				switch name {
				case "--keep-out", "--margin-along", "--positions", "--sample", "--terrain", "--points":
					if rest, in := strings.CutPrefix(path, b.folder); !in || strings.Contains(rest, "..") {
						t.Errorf("%q leads out of the job", arg)
					}
				}
			}
		}
	})
}
