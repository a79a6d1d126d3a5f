package main

import (
	"slices"
	"testing"

	"selvage/boundary/finding"
)

func TestEdits(t *testing.T) {
	// The first two are the textbook examples of the edit distance.
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3}, {"saturday", "sunday", 3},
		{"", "", 0}, {"", "abc", 3}, {"abc", "", 3}, {"gap", "gap", 0}, {"süd", "sud", 1},
	} {
		if got := edits(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: %d edits, want %d", c.a, c.b, got, c.want)
		}
		if got := edits(c.b, c.a); got != c.want {
			t.Errorf("%q to %q: %d edits, want %d", c.b, c.a, got, c.want)
		}
	}
}

func TestNearest(t *testing.T) {
	for word, want := range map[string]string{
		"crosing":        "self-crossing",
		"self-crosing":   "self-crossing",
		"Self-Crossing":  "self-crossing",
		"selfcrossing":   "self-crossing",
		"winding":        "wrong-winding",
		"closed-ring":    "unclosed-ring",
		"part-overlap":   "parts-overlap",
		"too-few-points": "too-few-vertices",
	} {
		if got := nearest(word, 3); !slices.Contains(got, want) {
			t.Errorf("%s: %v, want %s among them", word, got, want)
		}
	}
	if got := nearest("", 3); len(got) != 3 {
		t.Errorf("nothing: %v", got)
	}
	for _, e := range finding.Table {
		if got := nearest(string(e.Code), 1); got[0] != string(e.Code) {
			t.Errorf("%s: %v", e.Code, got)
		}
	}
	if slices.ContainsFunc(finding.Table, func(e finding.Entry) bool { return e.Code == allCodes }) {
		t.Error("a code has the name that stands for all of them")
	}
}
