package desk

import (
	"bytes"
	"encoding/json"
	"image"
	"image/png"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestLetterhead(t *testing.T) {
	b := newBench(t)
	path := filepath.Join(b.folder, letterheadName)
	has := func(args []string) bool { return slices.Contains(args, "--letterhead="+path) }
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/run/vet", "{}"))
	if has(b.engine.asked[0]) {
		t.Error("there is no letterhead yet")
	}

	write(t, b, letterheadName, "# ours\noperator: Old\nsite: The Pit\n")
	b.wantStatus(http.StatusOK, b.post("api/letterhead", `{"operator":" Fell: Air ","client":"","licence":"X 1","remarks":"Höhen über NN","logo":""}`))
	const want = "operator: Fell: Air\nlicence: X 1\nremarks: Höhen über NN\n# ours\nsite: The Pit\n"
	if data, err := os.ReadFile(path); err != nil || string(data) != want {
		t.Errorf("it holds %q, %v", data, err)
	}

	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 8, 8))); err != nil {
		t.Fatal(err)
	}
	b.wantStatus(http.StatusOK, b.post("api/letterhead/logo", picture.String()))
	var l letterhead
	if err := json.Unmarshal(b.get("api/letterhead").Body.Bytes(), &l); err != nil || l != (letterhead{"Fell: Air", "", "X 1", "Höhen über NN", logoName}) {
		t.Errorf("%+v, %v", l, err)
	}
	if data, err := os.ReadFile(filepath.Join(b.folder, logoName)); err != nil || !bytes.Equal(data, picture.Bytes()) {
		t.Errorf("the logo is another: %v", err)
	}
	b.engine.asked = nil
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/run/vet", "{}"))
	b.wantStatus(http.StatusOK, b.post("api/jobs/quarry/run/prepare", "{}"))
	if asked := b.engine.asked; !has(asked[0]) || has(asked[1]) {
		t.Errorf("asked %q", asked)
	}
}

func TestLetterheadRefusals(t *testing.T) {
	b := newBench(t)
	b.wantStatus(http.StatusUnprocessableEntity, b.post("api/letterhead/logo", "no picture"))
	b.wantStatus(http.StatusRequestEntityTooLarge, b.post("api/letterhead/logo", strings.Repeat("x", 1<<20+1)))
	for _, body := range []string{
		`{"operator":"a\nlogo: /etc/passwd"}`, `{"operator":"` + strings.Repeat("x", longestLine+1) + `"}`,
		`{"logo":"../secret.png"}`, `{"logo":"/secret.png"}`, `{"file":"x"}`,
	} {
		b.wantStatus(http.StatusBadRequest, b.post("api/letterhead", body))
	}
	if entries, err := os.ReadDir(b.folder); err != nil || len(entries) != 1 {
		t.Errorf("the folder holds %v, %v", entries, err)
	}
	if err := os.Mkdir(filepath.Join(b.folder, letterheadName), 0o700); err != nil {
		t.Fatal(err)
	}
	b.wantStatus(http.StatusBadRequest, b.post("api/letterhead", `{"operator":"x"}`))
}
