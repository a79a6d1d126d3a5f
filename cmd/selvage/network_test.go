package main

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
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

// Only the desk serves, and nothing asks the network. pflag imports net for flags
// that hold addresses, none of which there is here; the standard library's own
// imports are its own business.
func TestOnlyTheDeskServes(t *testing.T) {
	serving := []string{"selvage/cmd/selvage", "selvage/cmd/selvage/desk"}
	count := 0
	for line := range strings.Lines(string(goTool(t, "list", "-deps", "-f", `{{if not .Standard}}{{.ImportPath}} {{join .Imports " "}}{{end}}`, "."))) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		count++
		for _, imported := range words[1:] {
			switch imported {
			case "net/rpc", "net/smtp", "net/textproto", "net/http/httputil", "crypto/tls", "plugin":
				t.Errorf("%s imports %s", words[0], imported)
			case "net/http", "net", "os/exec":
				if !slices.Contains(serving, words[0]) && !(imported == "net" && words[0] == "github.com/spf13/pflag") {
					t.Errorf("%s imports %s", words[0], imported)
				}
			}
		}
	}
	if count < 20 {
		t.Errorf("only %d packages seen", count)
	}
}

// Of the packages that serve, none asks: every use of net and net/http is one
// of a server's.
func TestTheDeskNeverAsks(t *testing.T) {
	asks := regexp.MustCompile(`^(Dial|Lookup|Resol|Client|Transport|RoundTrip|Default(Client|Transport)|Get|Head|Post|PostForm|NewRequest|Proxy)`)
	uses := 0
	for _, folder := range []string{".", "desk"} {
		files, err := filepath.Glob(filepath.Join(folder, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range files {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(file, func(n ast.Node) bool {
				selector, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				if from, ok := selector.X.(*ast.Ident); ok && (from.Name == "net" || from.Name == "http") {
					uses++
					if asks.MatchString(selector.Sel.Name) {
						t.Errorf("%s uses %s.%s", path, from.Name, selector.Sel.Name)
					}
				}
				return true
			})
		}
	}
	if uses < 20 {
		t.Errorf("only %d uses seen", uses)
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
