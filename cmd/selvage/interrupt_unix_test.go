//go:build linux || darwin || freebsd

package main

import (
	"bufio"
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"golang.org/x/sys/unix"
)

// The program itself, broken off while it waits for a pipe: it ends at once,
// and leaves nothing behind.
func TestInterrupt(t *testing.T) {
	for _, signal := range []os.Signal{os.Interrupt, unix.SIGTERM} {
		t.Run(signal.String(), func(t *testing.T) { testInterrupt(t, signal) })
	}
}

func testInterrupt(t *testing.T, signal os.Signal) {
	folder := t.TempDir()
	program := filepath.Join(folder, "selvage")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(self, program); err != nil { // under this name the test binary is the program
		t.Fatal(err)
	}
	pipe, out := filepath.Join(folder, "pipe.csv"), filepath.Join(folder, "out")
	if err := unix.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, "photos", card(t, 5), "--positions", pipe, "--out", out)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	w, err := os.OpenFile(pipe, os.O_WRONLY, 0) // waits until the program reads
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	if err := cmd.Process.Signal(signal); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // the exit status is looked at below
	if status := cmd.ProcessState.ExitCode(); status != couldNotRun {
		t.Errorf("exit status %d", status)
	}
	if got := stderr.String(); got != "selvage: stopped; nothing was written\n" || stdout.Len() > 0 {
		t.Errorf("it says %q and %q", got, &stdout)
	}
	if _, err := os.Stat(out); !os.IsNotExist(err) {
		t.Errorf("the folder is there: %v", err)
	}
}

// The desk ends well when it is broken off, and when its window is closed.
func TestDeskInterrupted(t *testing.T) {
	for _, signal := range []os.Signal{os.Interrupt, unix.SIGTERM} {
		cmd := exec.Command(program(t), "desk", "--no-browser", "--folder", t.TempDir())
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for lines.Scan() && lines.Text() != howToClose {
		}
		if err := cmd.Process.Signal(signal); err != nil {
			t.Fatal(err)
		}
		for lines.Scan() {
		}
		if err := cmd.Wait(); err != nil {
			t.Errorf("%v: %v", signal, err)
		}
	}
}
