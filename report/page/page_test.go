package page

import (
	"encoding/json"
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// What stands between the tags of a page must not end its element, nor the
// section that keeps it from being read as markup; and a joined script has
// nothing left to import.
func TestJoined(t *testing.T) {
	text := Joined("sheet.js").Text
	for _, bad := range []string{"</", "<!--", "import ", "export ", "http:", "https:", "eval(", "innerHTML"} {
		if strings.Contains(text, bad) {
			t.Errorf("the script holds %q", bad)
		}
	}
	if strings.Index(text, "]]>") != len(text)-len("]]>\n") {
		t.Error("the section ends before the script does")
	}
	// Each module is there once, after all that it imports.
	for _, pair := range [][2]string{{"function frameAt", "function modelOf"}, {"function build", "function tagsIn"}, {"function modelOf", "function mountMap"}} {
		if first, second := strings.Index(text, pair[0]), strings.Index(text, pair[1]); first < 0 || second < first || strings.Count(text, pair[0]) != 1 {
			t.Errorf("%s stands at %d, %s at %d", pair[0], first, pair[1], second)
		}
	}
	if strings.Contains(Joined("view.js").Text, "mountMap") {
		t.Error("a module brings more than it imports")
	}
}

// Joined modules share one scope.
func TestNamesAreDeclaredOnce(t *testing.T) {
	declared := regexp.MustCompile(`(?m)^(?:export )?(?:function|const|let|class) (\w+)`)
	where := map[string]string{}
	names, err := fs.Glob(Files(), "*.js")
	if err != nil || len(names) == 0 {
		t.Fatal(names, err)
	}
	for _, name := range names {
		if lines := strings.Count(read(name), "\n"); lines >= 400 {
			t.Errorf("%s has %d lines", name, lines)
		}
		for _, m := range declared.FindAllStringSubmatch(read(name), -1) {
			if other, twice := where[m[1]]; twice {
				t.Errorf("%s is declared in %s and in %s", m[1], other, name)
			}
			where[m[1]] = name
		}
	}
}

func TestCoder(t *testing.T) {
	c := Coder{Origin: orb.Point{179.9, -10}}
	line := []orb.Point{{179.9, -10}, {-179.9, -10.0000001}, {-179.9, -10.0000001}, {math.NaN(), 0}, {180.1, math.Inf(1)}, {180.1, -9.5}}
	if got, want := c.Line(line), []int{0, 0, 2_000_000, -1, 0, 5_000_001}; !slices.Equal(got, want) {
		t.Errorf("coded as %v, want %v", got, want)
	}
	if got := c.Rings(orb.Polygon{{{0, 0}, {1, 1}, {0, 0}}, {{0, 0}, {1, 1}, {math.NaN(), 2}}}); len(got) != 1 {
		t.Errorf("%d rings of which one has two corners", len(got))
	}
}

func TestWholeNumbers(t *testing.T) {
	got, err := json.Marshal(Whole{1.4, -2.6, math.NaN(), math.Inf(-1), 1.7e9, -0.2})
	if err != nil || string(got) != "[1,-3,null,null,1700000000,0]" {
		t.Errorf("%s, %v", got, err)
	}
}
