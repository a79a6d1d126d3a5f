package desk

import (
	"encoding/json"
	"errors"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// One desk holds a folder; another is told who does, and gets it afterwards.
func TestHold(t *testing.T) {
	folder := t.TempDir()
	first, second := New(folder, &recorder{}, nil), New(folder, &recorder{}, nil)
	if err := first.Hold(); err != nil {
		t.Fatal(err)
	}
	var taken Taken
	if err := second.Hold(); !errors.As(err, &taken) {
		t.Fatalf("the second desk got %v", err)
	}
	computer, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	if said := taken.Error(); !strings.Contains(said, folder) || !strings.Contains(said, computer) || time.Since(taken.holder.Since) > time.Minute {
		t.Errorf("it says %q", said)
	}
	first.Release()
	if err := second.Hold(); err != nil {
		t.Errorf("after the first let go: %v", err)
	}
	second.Release()
}

// What is in the file, and that it is there, holds nothing.
func TestHoldLeftBehind(t *testing.T) {
	for _, left := range []string{"", "{", `{"desk":"X","computer":"gone","since":"2020-01-01T00:00:00Z"}`} {
		folder := t.TempDir()
		if err := os.WriteFile(filepath.Join(folder, holdName), []byte(left), 0o600); err != nil {
			t.Fatal(err)
		}
		d := New(folder, &recorder{}, nil)
		if err := d.Hold(); err != nil {
			t.Errorf("%q: %v", left, err)
		}
		d.Release()
	}
}

// TestHoldAndWait holds the folder that SELVAGE_HOLD names, for the test below.
func TestHoldAndWait(t *testing.T) {
	folder := os.Getenv("SELVAGE_HOLD")
	if folder == "" {
		t.Skip("asked by another test only")
	}
	if err := New(folder, &recorder{}, nil).Hold(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "held"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Minute)
}

// A desk that is killed lets go.
func TestHoldOfTheKilled(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	cmd := exec.Command(self, "-test.run=^TestHoldAndWait$")
	cmd.Env = append(os.Environ(), "SELVAGE_HOLD="+folder)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if _, err := os.Stat(filepath.Join(folder, "held")); err == nil {
			break
		}
	}
	d := New(folder, &recorder{}, nil)
	if err := d.Hold(); !errors.As(err, &Taken{}) {
		t.Errorf("while the other lives: %v", err)
	}
	_ = cmd.Process.Kill() // its end is waited for
	_ = cmd.Wait()
	if err := d.Hold(); err != nil {
		t.Errorf("after it was killed: %v", err)
	}
	d.Release()
}

// The address to open is another after each use, and what is announced is true.
func TestOpeningAnew(t *testing.T) {
	b := newBench(t)
	if err := b.Hold(); err != nil {
		t.Fatal(err)
	}
	defer b.Release()
	first := b.Opening()
	if b.engine.announced[2] != first || b.engine.announced[0] != b.folder {
		t.Errorf("announced %q", b.engine.announced)
	}
	open := func(path string) int {
		r, err := http.NewRequest(http.MethodGet, path, nil)
		if err != nil {
			t.Fatal(err)
		}
		return b.do(r).Code
	}
	if status := open(first); status != http.StatusSeeOther {
		t.Errorf("status %d", status)
	}
	if status := open(first); status != http.StatusForbidden {
		t.Errorf("the second time: status %d", status)
	}
	if second := b.engine.announced[2]; second == first || open(second) != http.StatusSeeOther {
		t.Errorf("then announced %q", second)
	}
}

// A folder that another desk holds is not taken on the page either, and the desk
// keeps its own.
func TestMoveToHeldFolder(t *testing.T) {
	b, other := newBench(t), New(t.TempDir(), &recorder{}, nil)
	for _, d := range []*Server{b.Server, other} {
		if err := d.Hold(); err != nil {
			t.Fatal(err)
		}
		defer d.Release()
	}
	body, err := json.Marshal(map[string]string{"folder": other.place.get()})
	if err != nil {
		t.Fatal(err)
	}
	w := b.post("api/folder", string(body))
	b.wantStatus(http.StatusUnprocessableEntity, w)
	if !strings.Contains(w.Body.String(), "another desk has") {
		t.Errorf("it says %s", w.Body)
	}
	b.wantStatus(http.StatusOK, b.get("api/jobs/quarry"))
	if err := New(b.folder, &recorder{}, nil).Hold(); !errors.As(err, &Taken{}) {
		t.Errorf("its own folder: %v", err)
	}
}
