package boundary

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

func TestOutputName(t *testing.T) {
	for name, want := range map[string]string{
		"client":         "client",
		"Gru\u0308n 北の畑": "Grün 北の畑",
		// Microsoft, "Naming Files, Paths, and Namespaces".
		"CON":             "_CON",
		"nul":             "_nul",
		"COM1":            "_COM1",
		"lpt²":            "_lpt²",
		"aux.north":       "_aux.north",
		"PRN .x":          "_PRN .x",
		"COM10":           "COM10",
		"console":         "console",
		"north. ":         "north",
		" . ":             "Area",
		"":                "Area",
		`a<b>c:d"e/f\g|h`: "a-b-c-d-e-f-g-h",
		"what?*":          "what",
		"tab\tand\x00nul": "tab-and-nul",
		"..":              "Area",
		"--out":           "out",
		"a\u202egpj":      "a-gpj",
		"\xff\xfe":        "Area",
	} {
		if got := OutputName(name); got != want {
			t.Errorf("%q becomes %q, want %q", name, got, want)
		}
	}
	if got := OutputName(strings.Repeat("é", 200)); got != strings.Repeat("é", 90) {
		t.Errorf("a long name becomes %q", got)
	}
}

func TestSafeName(t *testing.T) {
	long := strings.Repeat("abcdefghi ", 20)
	tests := []struct {
		words []string
		want  string
	}{
		{[]string{"North field"}, "North field"},
		{[]string{"quarry", "flight"}, "quarry-flight"},
		{[]string{"quarry", "flight", "Field 1 + Field 2"}, "quarry-flight-Field 1 + Field 2"},
		{[]string{"a/b\\c:d*e?f\"g<h>i|j"}, "a-b-c-d-e-f-g-h-i-j"},
		{[]string{"tab\tand\r\nline\x00\x1f\x7f"}, "tab and line"},
		{[]string{"  two   spaces  "}, "two spaces"},
		{[]string{"what?!?"}, "what-!"},
		{[]string{"Parcel no. 3. "}, "Parcel no. 3"},
		{[]string{"..", ".hidden", "--flag"}, "hidden-flag"},
		{[]string{"../../etc/passwd"}, "etc-passwd"},
		{[]string{"Größe Übersee Straße Æbelø Łódź Ångström œuvre Þór"}, "Grosse Ubersee Strasse AEbelo Lodz Angstrom oeuvre Thor"},
		{[]string{"Gro\u0308ße"}, "Grosse"}, // ö as o with a mark
		{[]string{"Côte d’Azur – est"}, "Cote d-Azur - est"},
		{[]string{"Feld 北 7"}, "Feld - 7"},
		{[]string{"Ruộng phía đông"}, "Ruong phia dong"},
		{[]string{"北の畑"}, "Area"},
		{[]string{"Поле", "flight"}, "flight"},
		{[]string{"safe\u200b\ufeff\u202egpj"}, "safegpj"}, // unseen characters, one of which turns the rest round
		{[]string{"\xff\xfe"}, "Area"},
		{[]string{""}, "Area"},
		{nil, "Area"},
		// Microsoft, "Naming Files, Paths, and Namespaces": device names, also
		// with an extension, and with superscript digits.
		{[]string{"con"}, "_con"},
		{[]string{"CON", "flight"}, "CON-flight"},
		{[]string{"Nul.tar.gz"}, "_Nul.tar.gz"},
		{[]string{"aux .kml"}, "_aux .kml"},
		{[]string{"com0"}, "_com0"},
		{[]string{"LPT9"}, "_LPT9"},
		{[]string{"COM¹"}, "_COM1"},
		{[]string{"PRN."}, "_PRN"},
		{[]string{"conin$"}, "_conin$"},
		{[]string{"COM10"}, "COM10"},
		{[]string{"COMA"}, "COMA"},
		{[]string{"Conifer"}, "Conifer"},
		{[]string{long}, "abcdefghi abcdefghi abcdefghi abcdefghi abcdefghi abcdefghi"},
		{[]string{long, "flight", "North"}, "abcdefghi abcdefghi abcdefghi abcdefghi abcdefgh-flight-North"[:47] + "-flight-North"},
		{[]string{long, "flight", long}, "abcdefghi abcdefghi abcdef-flight-abcdefghi abcdefghi abcdef"},
		{[]string{strings.Repeat("é", 100)}, strings.Repeat("e", 60)},
	}
	for _, tt := range tests {
		if got := SafeName(tt.words...); got != tt.want {
			t.Errorf("%q:\n got %q\nwant %q", tt.words, got, tt.want)
		}
	}
}

// Every letter of the Latin-1 Supplement and Latin Extended-A (Unicode blocks
// 00C0-00FF and 0100-017F) has a plain form.
func TestSafeNameKeepsLatinLetters(t *testing.T) {
	for c := rune(0xC0); c <= 0x17F; c++ {
		if !unicode.IsLetter(c) {
			continue
		}
		got := SafeName("x" + string(c) + "x")
		if len(got) < 3 || strings.Contains(got, "-") {
			t.Errorf("%c (%U) becomes %q", c, c, got)
		}
		first := rune(got[1])
		if unicode.IsUpper(c) != unicode.IsUpper(first) {
			t.Errorf("%c (%U) becomes %q, which changes its case", c, c, got)
		}
	}
}

var (
	// Microsoft, FAT32 File System Specification 1.03, long directory entries,
	// and "Naming Files, Paths, and Namespaces".
	safeCharacters = regexp.MustCompile(`^[^\x00-\x1f<>:"/\\|?*\x7f-\x{10ffff}]{1,60}$`)
	deviceNames    = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9]|lpt[0-9]|conin\$|conout\$) *(\..*)?$`)
)

func checkSafe(t rapid.TB, name string) {
	t.Helper()
	if !safeCharacters.MatchString(name) || deviceNames.MatchString(name) || strings.Trim(name, " .") != name || strings.HasPrefix(name, "-") {
		t.Fatalf("%q is not safe", name)
	}
}

// anyName draws names that are often nearly the same, or devices.
var anyName = rapid.OneOf(
	rapid.String(),
	rapid.StringMatching(`[a-cA-C]{1,2}(-2)?`),
	rapid.StringMatching(`(?i)(con|nul|aux|com[0-9¹²³]|lpt.)[ .]{0,2}[a-z]{0,2}`),
	rapid.StringMatching(`[a-z .äöü-]{50,120}`),
	rapid.SampledFrom([]string{"", "Field", "field", "FIELD", "Field-2", "Feld/1", "Feld:1"}),
)

func TestSafeNameAlways(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(anyName, 0, 4).Draw(t, "words")
		name := SafeName(words...)
		checkSafe(t, name)
		if again := SafeName(name); again != name {
			t.Fatalf("%q becomes %q when it is made safe again", name, again)
		}
	})
}

func TestUniqueNames(t *testing.T) {
	tests := []struct{ names, want []string }{
		{[]string{"field", "Field"}, []string{"field", "Field-2"}},
		{[]string{"a", "b", "c"}, []string{"a", "b", "c"}},
		{[]string{"a", "A", "a-2", "a"}, []string{"a", "A-2", "a-2-2", "a-3"}},
		{nil, []string{}},
		{[]string{strings.Repeat("a", 60), strings.Repeat("A", 60)}, []string{strings.Repeat("a", 60), strings.Repeat("A", 58) + "-2"}},
	}
	for _, tt := range tests {
		if got := UniqueNames(tt.names); !slices.Equal(got, tt.want) {
			t.Errorf("%q: got %q, want %q", tt.names, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		var areas []Area
		for _, name := range rapid.SliceOfN(anyName, 0, 30).Draw(t, "names") {
			areas = append(areas, Area{Name: name})
		}
		stem := anyName.Draw(t, "stem")
		names := PartNames(stem, areas)
		taken := map[string]bool{}
		for _, name := range names {
			checkSafe(t, name)
			if folded := strings.ToLower(name); taken[folded] {
				t.Fatalf("%q is there twice: %q", name, names)
			} else {
				taken[folded] = true
			}
		}
		if len(names) != len(areas) || !slices.Equal(names, PartNames(stem, areas)) {
			t.Fatalf("%q", names)
		}
	})
}
