package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write licences.txt anew")

// The licences that the program prints are those of the modules that it is
// made of, in the versions that go.mod asks for, on all systems.
func TestLicences(t *testing.T) {
	want := licencesOf(t)
	if *update {
		if err := os.WriteFile("licences.txt", want, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if got := strings.ReplaceAll(licences, "\r\n", "\n"); got != string(want) {
		t.Errorf("licences.txt is not what the program is made of; write it anew with: go generate ./cmd/selvage\nit tells of %q\nwant %q",
			titles(got), titles(string(want)))
	}
	for _, title := range []string{"Selvage", "The Go standard library", "github.com/paulmach/orb v"} {
		if !slices.ContainsFunc(titles(licences), func(s string) bool { return strings.HasPrefix(s, title) }) {
			t.Errorf("there is no licence of %s", title)
		}
	}
	if n := len(regexp.MustCompile(`(?i)copyright (\(c\)|©|\d)`).FindAllString(licences, -1)); n < len(titles(licences)) {
		t.Errorf("%d owners for %d licences", n, len(titles(licences)))
	}
}

const rule = "================================================================================"

func titles(licences string) []string {
	var titles []string
	for _, section := range strings.Split(licences, rule+"\n")[1:] {
		title, _, _ := strings.Cut(section, "\n")
		titles = append(titles, title)
	}
	return titles
}

func licencesOf(t *testing.T) []byte {
	var out bytes.Buffer
	out.WriteString("Selvage is made of the software that is listed here, under these licences.\n")
	add := func(title, folder string) {
		var files []string
		for _, pattern := range []string{"LICEN[CS]E*", "COPYING*", "NOTICE*"} {
			found, err := filepath.Glob(filepath.Join(folder, pattern))
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, found...)
		}
		if len(files) == 0 {
			t.Fatalf("%s has no licence in %s", title, folder)
		}
		fmt.Fprintf(&out, "\n%s\n%s\n", rule, title)
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			out.WriteByte('\n')
			for line := range strings.Lines(strings.TrimSpace(string(text))) {
				out.WriteString(strings.TrimRight(line, " \t\r\n") + "\n")
			}
		}
	}
	add("Selvage", filepath.Join("..", ".."))
	goroot := strings.TrimSpace(string(goTool(t, "env", "GOROOT")))
	if _, err := os.Stat(filepath.Join(goroot, "LICENSE")); err != nil {
		t.Skipf("this Go has come without its licence: %v", err)
	}
	add("The Go standard library", goroot)
	var modules []string // with their folders
	for _, system := range []string{"linux", "darwin", "windows"} {
		t.Setenv("GOOS", system)
		list := goTool(t, "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}", ".")
		for line := range strings.Lines(string(list)) {
			if line = strings.TrimSpace(line); line != "" {
				modules = append(modules, line)
			}
		}
	}
	slices.Sort(modules)
	for _, module := range slices.Compact(modules) {
		title, folder, _ := strings.Cut(module, "\t")
		add(title, folder)
	}
	return out.Bytes()
}
