//go:build linux || darwin || freebsd

package main

import (
	"bytes"
	"context"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// hung is how long nothing here takes, however busy the machine is.
const hung = 20 * time.Second

// Broken off at any moment, a command ends, with all its files or none.
func TestBrokenOffAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program many times")
	}
	times := 4 // of each
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		times = 20
	}
	selvage, job := program(t), filepath.Join(t.TempDir(), "demo")
	if err := runDemo(terminal{out: io.Discard, err: io.Discard}, job); err != nil {
		t.Fatal(err)
	}
	client, record := filepath.Join(job, "client", "invented-quarry.kml"), filepath.Join(job, "job", "invented-quarry.job.geojson")
	for _, args := range [][]string{
		{"vet", client, "--out"},
		{"prepare", client, "--buffer", "30m", "--format", "kml,kmz,geojson", "--split", "--out"},
		{"photos", filepath.Join(job, "photos"), "--format", "csv,geojson,kml", "--out"},
		{"audit", filepath.Join(job, "photos"), "--job", record, "--ground", "12m", "--out"},
		{"plan", "--job", record, "--height", "80m", "--overlap", "75/70", "--camera", "13.2x8.8mm,8.8mm,5472x3648"},
		{"demo"},
	} {
		out := filepath.Join(t.TempDir(), "out")
		run := func(ctx context.Context) *exec.Cmd {
			words := slices.Clone(args)
			if args[0] != "plan" {
				words = append(words, out)
			}
			return exec.CommandContext(ctx, selvage, words...)
		}
		began := time.Now()
		if message, err := run(t.Context()).CombinedOutput(); couldNotRunAtAll(err) {
			t.Fatalf("%v\n%s", err, message)
		}
		usual := time.Since(began)
		folder := out // of what is written all or not at all
		if args[0] == "demo" {
			folder = filepath.Join(out, "job")
		}
		want := 0
		if args[0] != "plan" {
			want = len(contents(t, folder))
		}
		ended := map[string]int{}
		for i := range times {
			if err := os.RemoveAll(out); err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithTimeout(t.Context(), hung)
			cmd := run(ctx)
			var message bytes.Buffer
			cmd.Stderr = &message
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			if i%2 == 0 || args[0] == "plan" {
				time.Sleep(time.Duration(rand.Float64() * 1.2 * float64(usual)))
			} else {
				for end := time.Now().Add(5 * usual); !writing(folder) && time.Now().Before(end); {
				}
			}
			_ = cmd.Process.Signal(os.Interrupt) // it may have ended
			_ = cmd.Wait()                       // its state is looked at below
			if ctx.Err() != nil {
				t.Errorf("%s went on", args[0])
			}
			cancel()
			switch status := cmd.ProcessState; {
			case !status.Exited():
				ended["at once"]++
			case bytes.Contains(message.Bytes(), []byte("stopped")) && status.ExitCode() == couldNotRun:
				ended["with a sentence"]++
			case status.ExitCode() == couldNotRun:
				t.Errorf("%s: %v: %s", args[0], status, &message)
			default:
				ended["as usual"]++
			}
			if _, err := os.Stat(folder); err != nil {
				continue // nothing was written
			}
			got := contents(t, folder)
			for name, data := range got {
				if filepath.Ext(name) == ".part" || len(data) == 0 {
					t.Errorf("%s left %s", args[0], name)
				}
			}
			if n := len(got); n != want && n != 0 && args[0] != "demo" { // which runs three commands
				t.Errorf("%s left %d of %d files", args[0], n, want)
			}
		}
		t.Logf("%s, which takes %v, ended %v", args[0], usual.Round(time.Millisecond), ended)
	}
}
