package texts

import (
	"fmt"
	"strings"
	"testing"
)

func read(t *testing.T, name, data string) *Catalogue {
	t.Helper()
	c, err := Read(name, []byte(data))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The plural rules of Polish, as the Unicode CLDR has them (plurals.xml): one is
// i = 1; few is i % 10 = 2..4 and i % 100 != 12..14; many are the other whole
// numbers.
func TestCountsInPolish(t *testing.T) {
	c := read(t, "pl", `{"%s photos": {"forms": {"one": "%s zdjęcie", "few": "%s zdjęcia", "many": "%s zdjęć", "other": "%s zdjęcia (część)"}}}`)
	rule := func(i int) string {
		switch {
		case i == 1:
			return "%s zdjęcie"
		case i%10 >= 2 && i%10 <= 4 && (i%100 < 12 || i%100 > 14):
			return "%s zdjęcia"
		}
		return "%s zdjęć"
	}
	for _, from := range []int{0, 1000, 1_000_000, 9_999_900, 10_000_000, 123_456_700} {
		for i := from; i < from+250; i++ {
			if got, want := c.Count(i, "photo", "photos"), rule(i); got != want {
				t.Fatalf("%d: %s, want %s", i, got, want)
			}
		}
	}
	if got := c.Count(-2, "photo", "photos"); got != "%s zdjęcia" {
		t.Errorf("-2: %s", got)
	}
}

func TestFormsLeftOutAreOther(t *testing.T) {
	c := read(t, "ar", `{"%s photos": {"forms": {"zero": "%s zero", "two": "%s two", "other": "%s other"}}}`)
	for n, want := range map[int]string{0: "%s zero", 1: "%s other", 2: "%s two", 3: "%s other", 100: "%s other"} {
		if got := c.Count(n, "photo", "photos"); got != want {
			t.Errorf("%d: %s, want %s", n, got, want)
		}
	}
}

func TestTexts(t *testing.T) {
	german := read(t, "de", `{
		"%s of %s on %d": {"text": "auf %[3]d: von %[2]s %[1]s"},
		"before": {"text": "bevor"},
		"before|mending": {"text": "vor dem Bereinigen", "in": "elsewhere"}
	}`)
	for _, tt := range []struct {
		c         *Catalogue
		key, want string
	}{
		{german, "before", "bevor"},
		{german, "before|mending", "vor dem Bereinigen"},
		{german, "after|mending", "after"},
		{german, "not translated %s", "not translated %s"},
		{nil, "before|mending", "before"},
	} {
		if got := tt.c.Text(tt.key); got != tt.want {
			t.Errorf("%s: “%s”, want “%s”", tt.key, got, tt.want)
		}
	}
	if got := fmt.Sprintf(german.Text("%s of %s on %d"), "3", "8", 5); got != "auf 5: von 8 3" {
		t.Errorf("in another order: %s", got)
	}
	if got := german.Count(1, "gap|x", "gaps|x") + german.Count(2, "gap|x", "gaps|x"); got != "%s gap%s gaps" {
		t.Errorf("counts that are not translated: %s", got)
	}
	if german.Language() != "de" || (*Catalogue)(nil).Language() != "en" {
		t.Error(german.Language())
	}
}

func TestFaultsOfTranslationsAreNamed(t *testing.T) {
	for data, want := range map[string]string{
		`{"a": {"text": "b"`:    `texts in "de": unexpected EOF`,
		`{"a": {"texts": "b"}}`: `texts in "de": json: unknown field "texts"`,
		`{"a": {}}`:             `“a”: it has one text, or forms`,
		`{"a": {"text": "b", "forms": {"other": "c"}}}`:                      `“a”: it has one text, or forms`,
		`{"all %s": {"text": "alle"}}`:                                       `“all %s”: “alle” has nothing in place of %[1]s`,
		`{"all": {"text": "alle %s"}}`:                                       `“alle %s” has %[1]s in place of nothing`,
		`{"%s of %d": {"text": "%d von %s"}}`:                                `“%d von %s” has %[1]d %[2]s in place of %[1]s %[2]d`,
		`{"%s of %s": {"text": "von %[3]s %[1]s"}}`:                          `“von %[3]s %[1]s” has %[1]s %[3]s in place of %[1]s %[2]s`,
		`{"1 %% of %s": {"text": "1 % von %s"}}`:                             `“1 % von %s” has`,
		`{"%s photos": {"forms": {"one": "%s Foto"}}}`:                       `“%s photos”: it lacks the form “other”`,
		`{"%s photos": {"forms": {"some": "%s", "other": "%s"}}}`:            `“%s photos”: there is no form “some”`,
		`{"%s photos": {"forms": {"one": "ein Foto", "other": "%s Fotos"}}}`: `“ein Foto” has nothing in place of %[1]s`,
		`{"The <b>edge</b>": {"text": "Der Rand"}}`:                          `“Der Rand” has nothing in place of </b> <b>`,
		`{"The edge": {"text": "<script>"}}`:                                 `“<script>” has <script> in place of nothing`,
		`{"The edge": {"text": "a <img src=x onerror=y"}}`:                   `in place of nothing`,
	} {
		if _, err := Read("de", []byte(data)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", data, err, want)
		}
	}
	if _, err := Read("german", []byte(`{}`)); err == nil {
		t.Error("german is a language")
	}
	if _, err := Of("xx"); err == nil || err.Error() != `there are no texts in "xx"; the languages are `+strings.Join(Languages(), ", ") {
		t.Error(err)
	}
}
