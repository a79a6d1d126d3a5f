package report

import (
	"math"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"selvage/coverage"
)

func perfect() Note {
	n := fakeNote()
	a := n.Audit
	a.Totals = coverage.Totals{CoveredShare: 1, EnoughShare: 1}
	a.Zones, a.Refly, a.Edge.Stretches = nil, nil, nil
	a.Edge.Captured = a.Edge.Length
	a.Points = nil
	a.Overlap.Forward.Below, a.Overlap.Side.Below, a.GSD.Below = 0, 0, 0
	a.GSDByPlace.Coarse = coverage.Ground{}
	return n
}

func TestVerdict(t *testing.T) {
	tests := []struct {
		name          string
		change        func(*coverage.Audit)
		captured, met bool
		want          string
	}{
		{"perfect", func(*coverage.Audit) {}, true, true,
			"Captured in full: all 11.34 ha have 5 views or more. Edge captured: 100 % of 1,564 m."},
		{"gaps and edge", func(a *coverage.Audit) {
			*a = *fakeNote().Audit
			a.Overlap.Side.Below, a.GSDByPlace.Coarse = 0, coverage.Ground{}
		}, false, false,
			"Not captured in full: 2 gaps, 1,240 m² with no view; 1 zone without stereo, 1,450 m² with 1 view; " +
				"1 thin zone, 4,210 m² with 2 to 4 views. Edge captured: 98.0 % of 1,564 m; 31.0 m short in 2 stretches. " +
				"Forward overlap: 2.8 % of the pairs fall short; wanted 75 % or more. Control points: 1 of 3 seen by fewer than 3 photos. To fly again: 2 areas (R1 and R2), with 23 photos in about 1.2 min."},
		{"specks", func(a *coverage.Audit) { a.Totals.Gap, a.Totals.CoveredShare = 0.4, 0.9999965 }, true, false,
			"Captured but for small pieces: gaps too small to list, 0.4 m² with no view. Edge captured: 100 % of 1,564 m."},
		{"dust", func(a *coverage.Audit) { a.Totals.Gap, a.Totals.CoveredShare = 0.0004, 0.999999999 }, true, true,
			"Captured in full: all 11.34 ha have 5 views or more. Edge captured: 100 % of 1,564 m."},
		{"edge alone", func(a *coverage.Audit) {
			a.Edge.Captured -= 0.2
			a.Edge.Stretches = fakeNote().Audit.Edge.Stretches[:1]
		}, false, false,
			"Not captured in full: the edge falls short. Edge captured: >99.9 % of 1,564 m; 0.2 m short in 1 stretch."},
		{"side overlap", func(a *coverage.Audit) { a.Overlap.Side.Below = 0.61 }, true, false,
			"Captured in full: all 11.34 ha have 5 views or more. Edge captured: 100 % of 1,564 m. " +
				"Side overlap: median 60.0 % where 65 % or more was wanted."},
		{"one line, so no side overlap", func(a *coverage.Audit) { a.Overlap.Side = coverage.Spread{} }, true, false,
			"Captured in full: all 11.34 ha have 5 views or more. Edge captured: 100 % of 1,564 m."},
		{"one view is enough", func(a *coverage.Audit) { a.Wanted.Views, a.Totals.NoStereo = 1, 5000 }, true, true,
			"Captured in full: all 11.34 ha have 1 view or more. Edge captured: 100 % of 1,564 m."},
		{"no photos", func(a *coverage.Audit) { a.Photos = coverage.Count{Read: 3} }, false, false,
			"Nothing was captured: of 3 photos read, none could be used."},
	}
	for _, tt := range tests {
		n := perfect()
		tt.change(n.Audit)
		if got := n.Verdict(); got != tt.want {
			t.Errorf("%s:\n got %s\nwant %s", tt.name, got, tt.want)
		}
		if n.Captured() != tt.captured || n.Met() != tt.met {
			t.Errorf("%s: captured %v, met %v", tt.name, n.Captured(), n.Met())
		}
	}
}

func TestChecks(t *testing.T) {
	n := perfect()
	n.Audit.Overlap.Side = coverage.Spread{}
	n.Audit.Wanted.GSD = 0
	n.Audit.Overlap.Forward.Below = 0.01
	var got []string
	for _, c := range n.Checks() {
		got = append(got, c.Name+": "+c.Met.String())
		if c.Wanted == "" || c.Found == "" {
			t.Errorf("%s is not filled in: %+v", c.Name, c)
		}
	}
	want := "Coverage: yes; Views: yes; Edge: yes; Forward overlap: in part; Side overlap: not measured; GSD: not asked"
	if strings.Join(got, "; ") != want {
		t.Errorf("got %v", got)
	}
}

func TestText(t *testing.T) {
	escapes := regexp.MustCompile("\x1b\\[[0-9]*m")
	for name, n := range map[string]Note{"usual": fakeNote(), "hostile": hostileNote(), "empty": {Audit: &coverage.Audit{}}, "odd": oddNote()} {
		plain := render(t, n, plainText)
		if i := strings.IndexFunc(plain, func(r rune) bool { return r < ' ' && r != '\n' || r == 0x7f || r == 0x202e }); i >= 0 {
			t.Errorf("%s: the text holds a control character: %q", name, plain[max(0, i-20):i+1])
		}
		var dressed strings.Builder
		if err := WriteText(&dressed, n, Style{Colour: true}); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(dressed.String(), "\x1b[1m") {
			t.Errorf("%s: no colour", name)
		}
		if escapes.ReplaceAllString(dressed.String(), "") != plain {
			t.Errorf("%s: colour moves the text", name)
		}
	}
	for line := range strings.Lines(render(t, fakeNote(), plainText)) {
		if n := utf8.RuneCountInString(line) - 1; n > 102 {
			t.Errorf("%d characters: %s", n, line)
		}
	}
}

func TestColumns(t *testing.T) {
	var out strings.Builder
	if err := WriteColumns(&out, [][]string{{"no.", "area"}, {"1", "5 m²"}, {Style{Colour: true}.Good("12"), "7 m²", "x"}}); err != nil {
		t.Fatal(err)
	}
	want := "  no.  area\n  1    5 m²\n  \x1b[32m12\x1b[0m   7 m²  x\n"
	if out.String() != want {
		t.Errorf("got %q, want %q", out.String(), want)
	}
}

func TestWrap(t *testing.T) {
	tests := []struct {
		text  string
		width int
		want  string
	}{
		{"", 10, ""},
		{"one two three", 7, "one two|three"},
		{"area of 12 m² here", 10, "area of|12 m² here"},
		{"incomprehensibilities are long", 10, "incomprehensibilities|are long"},
	}
	for _, tt := range tests {
		if got := strings.Join(Wrap(tt.text, tt.width), "|"); got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
	if got := metric.Length(math.NaN()); len(Wrap(got, 3)) != 2 {
		t.Errorf("%q is not broken", got)
	}
}
