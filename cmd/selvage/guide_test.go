package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/pflag"

	"selvage/report"
)

// The pages of the guide that people write, in the order in which they are read.
var (
	taskPages = []guideEntry{
		{"receipt", "the client's file has come: what is wrong with it, and what to ask"},
		{"flight", "before the flight: mend, extend, plan, load"},
		{"site", "on site, before you leave: what the photos saw, and what to fly again"},
		{"delivery", "with the deliverable: the coverage note, and what to keep"},
	}
	otherPages = []guideEntry{
		{"desk", "the whole job on a page in the browser, picture by picture"},
		{"formulas", "every formula, how it comes about, its source, and an example"},
		{"files", "what is read and written, coordinate systems, and what scripts need"},
		{"limits", "how much Selvage takes, how exact it is, and what it does not do"},
	}
)

type guideEntry struct{ name, summary string }

// The pages of the commands and the list of all pages are made of what the
// program says of itself, so that they cannot say anything else.
func TestGuideIsUpToDate(t *testing.T) {
	made := map[string]string{"README.md": guideIndex()}
	for _, c := range commands() {
		made["commands/"+c.name+".md"] = commandPage(c)
	}
	if *update {
		if err := os.RemoveAll("guide/commands"); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll("guide/commands", 0o777); err != nil {
			t.Fatal(err)
		}
	}
	for name, want := range made {
		path := filepath.Join("guide", filepath.FromSlash(name))
		if *update {
			if err := os.WriteFile(path, []byte(want), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(path)
		if err != nil || strings.ReplaceAll(string(got), "\r\n", "\n") != want {
			t.Errorf("%s is not what the program says; write it anew with: go generate ./cmd/selvage (%v)", path, err)
		}
	}
	for _, name := range guideNames(t) {
		page := strings.TrimSuffix(filepath.Base(name), ".md")
		if made[name] == "" && !slices.ContainsFunc(slices.Concat(taskPages, otherPages), func(e guideEntry) bool { return e.name == page }) {
			t.Errorf("the list of pages has no %s", name)
		}
	}
}

// guideNames are the files of the guide, with slashes.
func guideNames(t *testing.T) []string {
	t.Helper()
	var names []string
	for _, pattern := range []string{"*.md", "commands/*.md"} {
		found, err := filepath.Glob("guide/" + pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range found {
			names = append(names, strings.TrimPrefix(filepath.ToSlash(path), "guide/"))
		}
	}
	if len(names) < len(commands()) {
		t.Fatalf("only %d pages", len(names))
	}
	return names
}

const madeByGenerate = "\n<!-- Made by go generate from what the program says of itself; do not edit. -->\n"

func guideIndex() string {
	var b strings.Builder
	b.WriteString(`# The Selvage guide

` + "`selvage guide receipt`" + ` prints the page called receipt. All pages are in the program,
so that they can be read where there is no network.
`)
	section := func(title, folder string, entries []guideEntry) {
		fmt.Fprintf(&b, "\n## %s\n\n", title)
		for _, e := range entries {
			fmt.Fprintf(&b, "- [%s](%s%s.md): %s\n", e.name, folder, e.name, e.summary)
		}
	}
	section("Through a job", "", taskPages)
	section("To look up", "", otherPages)
	var all []guideEntry
	for _, c := range commands() {
		all = append(all, guideEntry{c.name, c.summary})
	}
	section("The commands", "commands/", all)
	b.WriteString(`
What each finding means, and what to ask the client, is on [one page](../../../boundary/finding/CODES.md):
` + "`selvage vet --explain all` lists them, `selvage vet --explain self-crossing`" + ` tells of one.
` + madeByGenerate)
	return b.String()
}

// flagsOf are the flags of a command, in the order of its help.
func flagsOf(c command) *pflag.FlagSet {
	flags := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
	flags.SortFlags = false
	c.define(flags)
	return flags
}

// commandPage is the help of a command as a page.
func commandPage(c command) string {
	flags := flagsOf(c)
	var b strings.Builder
	fmt.Fprintf(&b, "# selvage %s\n\n%s.\n\n```\n%s\n```\n\n%s\n", c.name, strings.ToUpper(c.summary[:1])+c.summary[1:],
		strings.TrimSpace("selvage "+c.name+" "+c.arguments), c.about)
	if flags.HasFlags() {
		b.WriteString("\n## Flags\n\n")
		flags.VisitAll(func(f *pflag.Flag) {
			name, usage := flagWords(f)
			for i, line := range report.Wrap("`"+name+"`: "+usage, 78) {
				b.WriteString([]string{"- ", "  "}[min(i, 1)] + line + "\n")
			}
		})
	}
	fmt.Fprintf(&b, "\n## Examples\n\n```\n%s\n```\n\n## Exit status\n\n%s%s", c.example, exitStatuses, madeByGenerate)
	return b.String()
}

// What a terminal shows of every page is plain, and fits its width but for
// commands and tables.
func TestGuideOnATerminal(t *testing.T) {
	link := regexp.MustCompile(`\]\(`)
	for _, name := range guideNames(t) {
		page := strings.TrimSuffix(filepath.Base(name), ".md")
		var out, complaint bytes.Buffer
		if status := run(terminal{out: &out, err: &complaint}, []string{"guide", page}); status != allWell || complaint.Len() > 0 {
			t.Fatalf("%s: %d, %s", page, status, &complaint)
		}
		for line := range strings.Lines(out.String()) {
			line = strings.TrimRight(line, "\n")
			if n := utf8.RuneCountInString(line); n > 90 && !strings.HasPrefix(line, "  ") {
				t.Errorf("%s: %d columns: %s", page, n, line)
			}
			if link.MatchString(line) || strings.ContainsAny(line, "`*\x1b") || strings.HasPrefix(line, "|") {
				t.Errorf("%s: %s", page, line)
			}
		}
	}
}

// What the pages name as flags are flags of some command.
func TestGuideFlags(t *testing.T) {
	known := map[string]bool{"--help": true}
	for _, c := range commands() {
		flagsOf(c).VisitAll(func(f *pflag.Flag) { known["--"+f.Name] = true })
	}
	word := regexp.MustCompile(`--[a-z][a-z-]+`)
	for _, e := range slices.Concat(taskPages, otherPages) {
		text, err := guidePage(e.name)
		if err != nil {
			t.Fatal(err)
		}
		for _, flag := range word.FindAllString(text, -1) {
			if !known[flag] {
				t.Errorf("%s: no command has the flag %s", e.name, flag)
			}
		}
	}
}

// Links lead to files that are there.
func TestGuideLinks(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)#:]+)[^):]*\)`)
	count := 0
	for _, name := range guideNames(t) {
		text, err := os.ReadFile(filepath.Join("guide", name))
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range link.FindAllSubmatch(text, -1) {
			count++
			if _, err := os.Stat(filepath.Join("guide", filepath.Dir(name), string(found[1]))); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	if count < len(commands()) {
		t.Errorf("only %d links", count)
	}
}

func TestWritePage(t *testing.T) {
	var out bytes.Buffer
	err := writePage(terminal{out: &out}, "# Title\n\nOf `a` and **b**, [one](x.md), [two](https://example.org/).\n\n```sh\nselvage `x` | y\n```\n\n| a | b |\n|---|---|\n| long | c |\n<!-- none -->\n![picture](p.png)\n")
	want := "Title\n=====\n\nOf a and b, one, two (https://example.org/).\n\n    selvage `x` | y\n\n  a     b\n  long  c\n"
	if err != nil || out.String() != want {
		t.Errorf("%v\n%s\nwant\n%s", err, &out, want)
	}
}
