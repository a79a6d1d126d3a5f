package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// deskClient asks a desk for what its page asks for.
type deskClient struct {
	*runningDesk
	page    *url.URL
	reading string // of photos, the last that was begun
}

func (d *runningDesk) enter() (*deskClient, error) {
	answer, err := http.Get(d.opening)
	if err != nil {
		return nil, err
	}
	return &deskClient{runningDesk: d, page: answer.Request.URL}, answer.Body.Close()
}

// refusedBy is what a desk says that does not do what it is asked.
type refusedBy struct {
	status   int
	sentence string
}

func (r refusedBy) Error() string { return fmt.Sprintf("%d: %s", r.status, r.sentence) }

func (d *deskClient) post(path string, body []byte) error {
	address := d.page.String() + "api/" + path
	if strings.Contains(path, "/photos/") {
		address += "?reading=" + d.reading
	}
	r, err := http.NewRequest(http.MethodPost, address, bytes.NewReader(body))
	if err != nil {
		return err
	}
	r.Header.Set("Origin", "http://"+d.page.Host)
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	said, err := io.ReadAll(answer.Body)
	if err != nil {
		return err
	}
	if answer.StatusCode == http.StatusOK {
		if strings.HasSuffix(path, "/begin") {
			var begun struct{ Reading string }
			err = json.Unmarshal(said, &begun)
			d.reading = begun.Reading
		}
		return err
	}
	var fault struct {
		Error string `json:"error"`
	}
	if err := json.Unmarshal(said, &fault); err != nil {
		return fmt.Errorf("%s: %.200q", answer.Status, said)
	}
	return refusedBy{answer.StatusCode, fault.Error}
}

// deskJob is a job as it is done on the desk, step by step.
type deskJob struct {
	client []byte
	heads  []byte // of the photos, as the page sends them
}

const clientFile = "invented-quarry.kml"

func newDeskJob(t *testing.T) deskJob {
	folder := t.TempDir()
	if err := runDemo(terminal{out: io.Discard, err: io.Discard}, folder); err != nil {
		t.Fatal(err)
	}
	client, err := os.ReadFile(filepath.Join(folder, "client", clientFile))
	if err != nil {
		t.Fatal(err)
	}
	j := deskJob{client: client}
	photos := contents(t, filepath.Join(folder, "photos"))
	var names []string
	for name := range photos {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		for _, part := range [][]byte{fmt.Appendf(nil, `{"name":%q,"size":%d}`, name, len(photos[name])), photos[name]} {
			j.heads = append(binary.BigEndian.AppendUint32(j.heads, uint32(len(part))), part...)
		}
	}
	return j
}

// do carries out all steps, the first only where the job is not there yet.
func (j deskJob) do(d *deskClient) error {
	steps := []struct {
		path string
		body []byte
	}{
		{"letterhead", []byte(`{"operator":"Field and Fell (invented)","client":"","licence":"","remarks":"","logo":""}`)},
		{"jobs", []byte(`{"name":"quarry"}`)},
		{"jobs/quarry/files/" + clientFile + "?as=client", j.client},
		{"jobs/quarry/run/vet", []byte(`{}`)},
		{"jobs/quarry/run/prepare", []byte(`{"buffer":["30m"]}`)},
		{"jobs/quarry/photos/begin", []byte(`{}`)},
		{"jobs/quarry/photos/heads", j.heads},
		{"jobs/quarry/photos/end", nil},
		{"jobs/quarry/run/audit", []byte(`{"ground":["12m"]}`)},
	}
	for _, s := range steps {
		if s.path == "jobs" && exists(filepath.Join(d.folder, "quarry")) {
			continue
		}
		if err := d.post(s.path, s.body); err != nil {
			return fmt.Errorf("%s: %w", s.path, err)
		}
	}
	return nil
}

// check looks at what is in the folder of the jobs, and returns how many files
// are not in their places.
func (j deskJob) check(t *testing.T, folder string, want map[string][]byte) (parts int) {
	t.Helper()
	for name, data := range contents(t, folder) {
		base := filepath.Base(name)
		switch {
		case strings.HasPrefix(base, ".selvage-") && strings.HasSuffix(base, ".part"):
			parts++
		case want[name] == nil:
			t.Errorf("there is %s", name)
		case base == ".selvage-desk": // whose the folder is
		case base == "desk.json": // which each step writes anew
			if !json.Valid(data) {
				t.Errorf("half of %s, %d bytes", name, len(data))
			}
		case !bytes.Equal(data, want[name]):
			t.Errorf("%s is another, of %d bytes", name, len(data))
		}
	}
	return parts
}

// Killed at any moment, the desk leaves each file of a job whole, as it was
// before, or not there; the next desk finishes the job and takes away what was
// left. SELVAGE_KILLS says how often, in place of a few times.
func TestDeskKilledAtAnyMoment(t *testing.T) {
	kills := 4
	if n, err := strconv.Atoi(os.Getenv("SELVAGE_KILLS")); err == nil {
		kills = n
	}
	t.Setenv("SOURCE_DATE_EPOCH", "1780000000") // so that each run writes the same
	j := newDeskJob(t)
	finish := func(folder string) {
		t.Helper()
		d, err := startDeskOver(t, folder).enter()
		if err == nil {
			err = j.do(d)
		}
		if err != nil {
			t.Fatal(err)
		}
		_ = d.process.Kill() // its work is done
		<-d.ended
	}
	reference := filepath.Join(t.TempDir(), "jobs")
	began := time.Now()
	finish(reference)
	usual := time.Since(began)
	want := contents(t, reference)
	if len(want) < 12 {
		t.Fatalf("a job is %d files", len(want))
	}
	if parts := j.check(t, reference, want); parts > 0 {
		t.Fatalf("%d files are not in their places", parts)
	}
	kept := filepath.Join(t.TempDir(), "jobs") // of a job that is done again and again
	var unfinished, staged int
	for i := range kills {
		folder := kept
		if i%2 == 0 {
			folder = filepath.Join(t.TempDir(), "jobs")
		}
		d, err := startDeskOver(t, folder).enter()
		if err != nil {
			t.Fatal(err)
		}
		done := make(chan error, 1)
		go func() { done <- j.do(d) }()
		time.Sleep(time.Duration((float64(i) + rand.Float64()) / float64(kills) * float64(usual)))
		_ = d.process.Kill() // it may be at its end
		<-d.ended
		if <-done != nil {
			unfinished++
		}
		if j.check(t, folder, want) > 0 {
			staged++
		}
		finish(folder)
		if parts := j.check(t, folder, want); parts > 0 {
			t.Errorf("%d files are not in their places after the job was finished", parts)
		}
		if got := contents(t, folder); len(got) != len(want) {
			t.Errorf("the job is %d files, not %d", len(got), len(want))
		}
	}
	t.Logf("killed %d times in a job that takes %v: %d times before its end, %d times with files that were not in their places",
		kills, usual.Round(time.Millisecond), unfinished, staged)
	if unfinished == 0 {
		t.Error("the desk was never killed in time")
	}
}

// On a disk that is full, and on one that cannot be written to, the desk says so
// and the job stays as it is.
func TestDeskOnAFullDisk(t *testing.T) {
	disk := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Skipf("no small disk can be made here: %v %s", err, out)
	}
	t.Cleanup(func() {
		if err := exec.Command("umount", disk).Run(); err != nil {
			t.Error(err)
		}
	})
	folder := filepath.Join(disk, "jobs")
	d, err := startDeskOver(t, folder).enter()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.process.Kill(); <-d.ended }) // before the disk goes
	j := newDeskJob(t)
	if err := j.do(d); err != nil {
		t.Fatal(err)
	}
	before := fingerprint(t, folder)
	refuses := func(sentence string) {
		t.Helper()
		for path, body := range map[string][]byte{
			"letterhead":                 []byte(`{"operator":"Another","client":"","licence":"","remarks":"","logo":""}`),
			"jobs/quarry/files/pond.kml": j.client,
			"jobs/quarry/typed/audit":    []byte(`{"ground":["13m"]}`),
			"jobs/quarry/run/vet":        []byte(`{}`),
			"jobs/quarry/run/prepare":    []byte(`{"buffer":["31m"]}`),
			"jobs/quarry/run/audit":      []byte(`{"ground":["12m"]}`),
			"jobs/quarry/photos/end":     nil,
		} {
			if strings.Contains(path, "photos") {
				for _, step := range []struct {
					path string
					body []byte
				}{{"begin", []byte(`{}`)}, {"heads", j.heads}} {
					if err := d.post("jobs/quarry/photos/"+step.path, step.body); err != nil {
						t.Error(err)
					}
				}
			}
			fault, refused := d.post(path, body).(refusedBy)
			if !refused || !strings.Contains(fault.sentence, sentence) {
				t.Errorf("%s: %v, want %s", path, fault, sentence)
			}
			if fingerprint(t, folder) != before {
				t.Fatalf("%s: the folder is another", path)
			}
		}
	}
	filler := filepath.Join(disk, "filler")
	if f, err := os.Create(filler); err == nil {
		_, err = io.Copy(f, endless{})
		f.Close()
		if err == nil {
			t.Fatal("the disk does not become full")
		}
	}
	refuses("no space left on device")
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("mount", "-o", "remount,ro", disk).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	refuses("read-only file system")
	if out, err := exec.Command("mount", "-o", "remount,rw", disk).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	if err := j.do(d); err != nil {
		t.Error(err)
	}
}

// endless is zeros without end.
type endless struct{}

func (endless) Read(p []byte) (int, error) { return len(p), nil }
