package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// leavesNone fails when goroutines that work began are still there a while
// after it.
func leavesNone(t *testing.T, work func()) {
	t.Helper()
	before := runtime.NumGoroutine()
	work()
	const patience = 10 * time.Second
	for end := time.Now().Add(patience); runtime.NumGoroutine() > before; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			stacks := make([]byte, 1<<20)
			t.Fatalf("%d goroutines where there were %d:\n%s", runtime.NumGoroutine(), before, stacks[:runtime.Stack(stacks, true)])
		}
	}
}

// A whole job, with photos that are read and views that are counted side by side,
// leaves no goroutine behind, nor does breaking off, or a desk that was closed.
func TestNoGoroutineIsLeft(t *testing.T) {
	// What is begun once and stays, as for signals, is begun here.
	_, release := interruptible()
	release()
	demonstrate := func() {
		var out bytes.Buffer
		if status := run(terminal{out: &out, err: &out}, []string{"demo", t.TempDir()}); status != allWell {
			t.Fatalf("%d: %s", status, &out)
		}
	}
	demonstrate()
	t.Run("a whole job", func(t *testing.T) {
		leavesNone(t, demonstrate)
	})
	t.Run("broken off", func(t *testing.T) {
		leavesNone(t, func() {
			found, err := find(t.Context(), named([]string{card(t, 60)}))
			if err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithCancel(t.Context())
			if _, err := found.readPhotos(ctx, nil, cancel); err == nil {
				t.Error("it was not broken off")
			}
		})
	})
	t.Run("a file that cannot be read", func(t *testing.T) {
		leavesNone(t, func() {
			path := filepath.Join(t.TempDir(), "broken.csv")
			if err := os.WriteFile(path, []byte("no table"), 0o666); err != nil {
				t.Fatal(err)
			}
			if status := run(terminal{out: io.Discard, err: io.Discard}, []string{"photos", path}); status != couldNotRun {
				t.Errorf("status %d", status)
			}
		})
	})
	t.Run("a desk", func(t *testing.T) {
		leavesNone(t, func() { openAndClose(t, t.TempDir()) })
	})
}

// openAndClose opens a desk as a browser would, and closes it on its page.
func openAndClose(t *testing.T, folder string) {
	t.Helper()
	said, out := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(terminal{out: out, err: io.Discard}, []string{"desk", "--no-browser", "--folder", folder})
		out.Close()
	}()
	lines := bufio.NewScanner(said)
	address := ""
	for address == "" && lines.Scan() {
		if line := strings.TrimSpace(lines.Text()); strings.HasPrefix(line, "http://127.0.0.1:") {
			address = line
		}
	}
	go func() { _, _ = io.Copy(io.Discard, said) }()
	client := &http.Client{Transport: &http.Transport{}}
	defer client.CloseIdleConnections()
	page, err := client.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	page.Body.Close()
	at := page.Request.URL
	quit, err := http.NewRequest(http.MethodPost, at.JoinPath("api/quit").String(), nil)
	if err != nil {
		t.Fatal(err)
	}
	quit.Header.Set("Origin", "http://"+at.Host)
	answer, err := client.Do(quit)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if status := <-ended; page.StatusCode != http.StatusOK || answer.StatusCode != http.StatusNoContent || status != allWell {
		t.Errorf("opened with %s, closed with %s, status %d", page.Status, answer.Status, status)
	}
}
