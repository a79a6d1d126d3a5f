package finding

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write CODES.md anew")

// The page that people read is made of the table, so that it cannot tell
// anything else.
func TestCodesPage(t *testing.T) {
	want := codesPage()
	if *update {
		if err := os.WriteFile("CODES.md", want, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile("CODES.md")
	if err != nil {
		t.Fatal(err)
	}
	got = bytes.ReplaceAll(got, []byte("\r\n"), []byte("\n"))
	if !bytes.Equal(got, want) {
		t.Error("CODES.md is not what the table says; write it anew with: go generate ./boundary/finding")
	}
	for _, e := range Table {
		if !bytes.Contains(got, fmt.Appendf(nil, "\n### %s\n", e.Code)) {
			t.Errorf("CODES.md does not tell of %s", e.Code)
		}
	}
}

func codesPage() []byte {
	var b bytes.Buffer
	b.WriteString(`# What Selvage may say

Every finding has a code, which never changes its meaning, and is of one of
three kinds:

- **note**: worth knowing;
- **mended**: a fault that Selvage mends by itself;
- **needs an answer**: somebody has to decide before the job goes on.

The kind given here is the usual one. Where a fault does no harm, or its answer
was given on the command line, it can be of a lighter kind. ` + "`selvage vet --explain CODE`" + `
prints what is said here of one code.

<!-- Made by go generate from the table of this folder; do not edit. -->
`)
	for _, section := range []struct {
		title   string
		entries []Entry
	}{
		{"Reading a file", reading},
		{"The shapes in it", shape},
		{"The flight area", expanding},
		{"Reading the photos", photos},
		{"How the photos were flown", flight},
		{"The terrain", terrain},
		{"Control points", point},
		{"The photos", audit},
		{"What is certain", certain},
		{"Flying again", refly},
	} {
		fmt.Fprintf(&b, "\n## %s\n", section.title)
		for _, e := range section.entries {
			kind := map[Severity]string{Note: "Note", Mended: "Mended", NeedsAnswer: "Needs an answer"}[e.Severity]
			fmt.Fprintf(&b, "\n### %s\n\n**%s.** %s\n\n- Done: %s\n", e.Code, kind, e.Meaning, e.Done)
			switch {
			case strings.HasSuffix(e.Ask, "?"):
				fmt.Fprintf(&b, "- Ask: %s\n", e.Ask)
			case e.Ask != "":
				fmt.Fprintf(&b, "- To do: %s\n", e.Ask)
			}
		}
	}
	return b.Bytes()
}

// The codes are part of the machine output, so a doubled or misspelt one is a
// fault; the texts are what a pilot is told about them.
func TestTable(t *testing.T) {
	kebab := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	seen := map[Code]bool{}
	for _, e := range Table {
		if seen[e.Code] {
			t.Errorf("%s is listed twice", e.Code)
		}
		seen[e.Code] = true
		if !kebab.MatchString(string(e.Code)) {
			t.Errorf("%s is not kebab-case", e.Code)
		}
		if e.Severity != Note && e.Severity != Mended && e.Severity != NeedsAnswer {
			t.Errorf("%s: severity %q", e.Code, e.Severity)
		}
		if !sentence(e.Meaning, ".") {
			t.Errorf("%s: the meaning %q is not a sentence", e.Code, e.Meaning)
		}
		if !sentence(e.Done, ".") {
			t.Errorf("%s: what is done, %q, is not a sentence", e.Code, e.Done)
		}
		if e.Ask != "" && !sentence(e.Ask, ".?") || e.Ask == "" && e.Severity == NeedsAnswer {
			t.Errorf("%s: what is asked, %q, is not a sentence", e.Code, e.Ask)
		}
	}
}

// Of a boundary the client is asked; only about photos the pilot is told what
// to do.
func TestAskIsAQuestion(t *testing.T) {
	for _, entries := range [][]Entry{reading, shape, expanding} {
		for _, e := range entries {
			if e.Ask != "" && !strings.HasSuffix(e.Ask, "?") {
				t.Errorf("%s: %q is not a question", e.Code, e.Ask)
			}
		}
	}
}

// sentence reports whether s is one sentence that ends with one of the marks.
func sentence(s, marks string) bool {
	if s == "" || s[0] < 'A' || s[0] > 'Z' || !strings.ContainsRune(marks, rune(s[len(s)-1])) {
		return false
	}
	body := s[:len(s)-1]
	return !strings.Contains(body, ". ") && !strings.ContainsAny(body, "?!\n") && !strings.Contains(body, "  ")
}

func TestSentence(t *testing.T) {
	for text, want := range map[string]bool{
		"A hole touches.": true, "Is it meant?": true, "On WGS 84 it is.": true,
		"": false, ".": false, "a hole touches.": false, "A hole": false, "One. Two.": false, "Is it? Was it?": false, "A  hole.": false,
	} {
		if sentence(text, ".?") != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
}
