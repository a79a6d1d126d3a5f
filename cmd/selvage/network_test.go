package main

import (
	"bufio"
	"bytes"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
)

// goTool runs the go command in this folder.
func goTool(t *testing.T, args ...string) []byte {
	t.Helper()
	cmd := exec.Command("go", args...)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go %s: %v\n%s", strings.Join(args, " "), err, &complaint)
	}
	return out
}

// No package of the program asks the network. pflag imports net for flags that
// hold addresses, none of which there is here.
func TestNoPackageImportsTheNetwork(t *testing.T) {
	count := 0
	for line := range strings.Lines(string(goTool(t, "list", "-deps", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "."))) {
		words := strings.Fields(line)
		count++
		for _, imported := range words[1:] {
			switch imported {
			case "net/http", "net/rpc", "net/smtp", "net/textproto", "crypto/tls", "os/exec", "plugin":
				t.Errorf("%s imports %s", words[0], imported)
			case "net":
				if words[0] != "github.com/spf13/pflag" {
					t.Errorf("%s imports net", words[0])
				}
			}
		}
	}
	if count < 50 {
		t.Errorf("only %d packages seen", count)
	}
}

// What the linker left of net in the program makes no connection.
func TestProgramHasNoSockets(t *testing.T) {
	if testing.Short() {
		t.Skip("links the program")
	}
	program := filepath.Join(t.TempDir(), "selvage.exe")
	goTool(t, "build", "-o", program, ".")
	sockets := regexp.MustCompile(`^(net\.(Dial|Listen|\(\*(Dialer|Resolver|ListenConfig)|sysSocket|internetSocket)|net/http\.|crypto/tls\.)`)
	if runtime.GOOS != "windows" { // where files and sockets share calls
		sockets = regexp.MustCompile(sockets.String() + `|^syscall\.(socket|connect|bind|listen)$`)
	}
	symbols := 0
	lines := bufio.NewScanner(bytes.NewReader(goTool(t, "tool", "nm", program)))
	for lines.Scan() {
		words := strings.Fields(lines.Text())
		symbols++
		if name := words[len(words)-1]; sockets.MatchString(name) {
			t.Errorf("the program contains %s", name)
		}
	}
	if lines.Err() != nil || symbols < 1000 {
		t.Errorf("%d symbols seen, %v", symbols, lines.Err())
	}
}

// The demonstration, where there is no network at all.
func TestDemoWithoutNetwork(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("networks are taken away on Linux only")
	}
	if err := exec.Command("unshare", "--map-root-user", "--net", "true").Run(); err != nil {
		t.Skipf("the network cannot be taken away here: %v", err)
	}
	out, err := exec.Command("unshare", "--map-root-user", "--net", program(t), "demo", filepath.Join(t.TempDir(), "demo")).CombinedOutput()
	if err != nil || !bytes.Contains(out, []byte("Open these")) {
		t.Errorf("%v\n%s", err, out)
	}
}
