package main

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"
)

// listening are the local addresses of this computer's listeners at a port, as
// /proc/net/tcp and tcp6 have them (Linux, proc_net_tcp).
func listening(t *testing.T, port string) []string {
	t.Helper()
	number, err := strconv.Atoi(port)
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, table := range []string{"/proc/net/tcp", "/proc/net/tcp6"} {
		data, err := os.ReadFile(table)
		if err != nil {
			t.Skipf("listeners are not listed here: %v", err)
		}
		for line := range strings.Lines(string(data)) {
			fields := strings.Fields(line)
			const listens = "0A"
			if len(fields) > 3 && fields[3] == listens && strings.HasSuffix(fields[1], fmt.Sprintf(":%04X", number)) {
				found = append(found, fields[1])
			}
		}
	}
	return found
}

// The desk listens at 127.0.0.1, and at no other address of this computer.
func TestDeskListensToThisComputerOnly(t *testing.T) {
	d := startDesk(t)
	at, err := url.Parse(d.opening)
	if err != nil {
		t.Fatal(err)
	}
	if at.Hostname() != "127.0.0.1" {
		t.Errorf("the desk is at %s", at.Host)
	}
	number, _ := strconv.Atoi(at.Port())
	if found := listening(t, at.Port()); len(found) != 1 || found[0] != fmt.Sprintf("0100007F:%04X", number) {
		t.Errorf("listeners at the port: %q", found)
	}
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range addresses {
		ip, _, err := net.ParseCIDR(a.String())
		if err != nil || ip.IsLoopback() {
			continue
		}
		if c, err := net.DialTimeout("tcp", net.JoinHostPort(ip.String(), at.Port()), time.Second); err == nil {
			c.Close()
			t.Errorf("the desk is reached at %s", ip)
		}
	}
}

// TestAskDesk asks the desk that SELVAGE_ASK names, for the test below.
func TestAskDesk(t *testing.T) {
	address := os.Getenv("SELVAGE_ASK")
	if address == "" {
		t.Skip("asked by another test only")
	}
	answer, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
}

// From another network, even one of this computer, the desk cannot be reached.
func TestDeskFromAnotherNetwork(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("networks are taken away on Linux only")
	}
	if err := exec.Command("unshare", "--map-root-user", "--net", "true").Run(); err != nil {
		t.Skipf("there is no other network here: %v", err)
	}
	d := startDesk(t)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	ask := func(program string, args ...string) ([]byte, error) {
		cmd := exec.Command(program, append(args, "-test.run=^TestAskDesk$", "-test.v")...)
		cmd.Env = append(os.Environ(), "SELVAGE_ASK="+d.opening)
		return cmd.CombinedOutput()
	}
	// The other network has a loopback of its own, which is up.
	out, err := ask("unshare", "--map-root-user", "--net", "sh", "-c", `ip link set lo up 2>/dev/null; exec "$0" "$@"`, self)
	if err == nil || !bytes.Contains(out, []byte("dial tcp")) {
		t.Errorf("from another network: %v\n%s", err, out)
	}
	if out, err := ask(self); err != nil {
		t.Errorf("from this one: %v\n%s", err, out)
	}
}

func TestDeskRefusals(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	folder := t.TempDir()
	file := writeFile(t, "jobs", nil)
	for _, c := range []struct{ args, want string }{
		{"--port " + strconv.Itoa(taken.Addr().(*net.TCPAddr).Port), "another desk may be open there; leave out --port"},
		{"--port 70000", "--port 70000 is no port"},
		{"client.kml", "desk takes no files; drop them on its page"},
		{"--folder " + file, "jobs: "},
	} {
		args := append([]string{"desk", "--no-browser"}, strings.Fields(c.args)...)
		if !strings.Contains(c.args, "--folder") {
			args = append(args, "--folder", folder)
		}
		var out, complaint bytes.Buffer
		if status := run(terminal{out: &out, err: &complaint}, args); status != couldNotRun || !strings.Contains(complaint.String(), c.want) || out.Len() > 0 {
			t.Errorf("%s: status %d, %q, %q", c.args, status, complaint.String(), out.String())
		}
	}
}

// opens holds an address to one that leads to the page of a desk, and returns it.
func opens(t *testing.T, address string) (page string) {
	t.Helper()
	answer, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		t.Errorf("status %s", answer.Status)
	}
	return answer.Request.URL.String()
}

// A second desk over a folder shows the page of the first to the same user, says
// to another who has it, and opens it all the same where that is asked. One that
// was killed is in nobody's way.
func TestSecondDesk(t *testing.T) {
	folder, config := filepath.Join(t.TempDir(), "jobs"), t.TempDir()
	first := startDeskIn(t, folder, config)
	page := opens(t, first.opening)
	for range 2 {
		said, err := deskCommandLine(t, folder, config).CombinedOutput()
		if err != nil || !bytes.Contains(said, []byte("The desk is open already, with the jobs in "+folder)) {
			t.Fatalf("%v: %s", err, said)
		}
		lines := strings.Fields(string(said))
		if again := opens(t, lines[len(lines)-1]); again != page {
			t.Errorf("it shows %s, not %s", again, page)
		}
	}
	said, err := deskCommandLine(t, folder, t.TempDir()).CombinedOutput()
	if err == nil || !bytes.Contains(said, []byte("another desk has "+folder+" open, on the computer ")) || !bytes.Contains(said, []byte("--shared")) {
		t.Errorf("another user: %v: %s", err, said)
	}
	if beside := startDeskIn(t, folder, t.TempDir(), "--shared"); opens(t, beside.opening) == page {
		t.Error("the desk beside it is the same")
	}
	if err := first.process.Kill(); err != nil {
		t.Fatal(err)
	}
	<-first.ended
	opens(t, startDeskIn(t, folder, config).opening)
}

// Several desks may be open at once over folders of their own, each at an address
// of its own.
func TestSeveralDesks(t *testing.T) {
	first, second := startDesk(t), startDesk(t)
	opens(t, first.opening)
	opens(t, second.opening)
}

// The program alone opens the desk in the browser, and ends when it is closed
// on the page.
func TestAloneOpensTheDesk(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("what opens the browser can be replaced on Linux only")
	}
	folder := t.TempDir()
	note := filepath.Join(folder, "opened")
	script := fmt.Sprintf("#!/bin/sh\necho \"$1\" > '%s.part' && mv '%s.part' '%s'\n", note, note, note)
	if err := os.WriteFile(filepath.Join(folder, "xdg-open"), []byte(script), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", folder+string(filepath.ListSeparator)+os.Getenv("PATH"))
	t.Setenv("HOME", folder)
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(folder, "config"))
	if err := os.Mkdir(filepath.Join(folder, "Documents"), 0o700); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	status := make(chan int, 1)
	go func() { status <- run(terminal{out: &out, err: io.Discard, interactive: true}, nil) }()
	var opening string
	for deadline := time.Now().Add(20 * time.Second); opening == "" && time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		data, _ := os.ReadFile(note)
		opening = strings.TrimSpace(string(data))
	}
	answer, err := http.Get(opening)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	page := answer.Request.URL
	quit, err := http.NewRequest(http.MethodPost, page.String()+"api/quit", nil)
	if err != nil {
		t.Fatal(err)
	}
	quit.Header.Set("Origin", "http://"+page.Host)
	if answer, err = http.DefaultClient.Do(quit); err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if got := <-status; got != allWell {
		t.Errorf("status %d", got)
	}
	if said := out.String(); !strings.Contains(said, filepath.Join(folder, "Documents", "Selvage")) || !strings.Contains(said, howToClose) || strings.Contains(said, "http://") {
		t.Errorf("it says %q", said)
	}
}
