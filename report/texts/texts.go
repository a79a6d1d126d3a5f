// Package texts holds what sheets say in other languages than English. The
// English text is the key; en.json lists all of them. A language is one more
// file of the same form.
package texts

//go:generate go test -run ^TestListIsUpToDate$ -update

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"regexp"
	"slices"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

//go:embed *.json
var files embed.FS

// Text is one text, or its forms where it tells how many: by plural category of
// the Unicode CLDR, "other" standing in for those that are left out. In says
// in which files it is used.
type Text struct {
	In    string            `json:"in,omitempty"`
	Text  string            `json:"text,omitempty"`
	Forms map[string]string `json:"forms,omitempty"`
}

// Catalogue is the texts of a language by their English. The nil Catalogue is
// English itself. What it lacks is in English.
type Catalogue struct {
	tag   language.Tag
	texts map[string]Text
}

// Languages are the names of those there are, as BCP 47 has them.
func Languages() []string {
	names, err := fs.Glob(files, "*.json")
	if err != nil {
		panic(err) // the pattern is sound
	}
	for i := range names {
		names[i] = strings.TrimSuffix(names[i], ".json")
	}
	return names
}

// Of is the catalogue of a language.
func Of(name string) (*Catalogue, error) {
	if name == "en" {
		return nil, nil
	}
	data, err := files.ReadFile(name + ".json")
	if err != nil {
		return nil, fmt.Errorf("there are no texts in %q; the languages are %s", name, strings.Join(Languages(), ", "))
	}
	return Read(name, data)
}

var categories = map[string]plural.Form{
	"zero": plural.Zero, "one": plural.One, "two": plural.Two, "few": plural.Few, "many": plural.Many, "other": plural.Other,
}

// Read reads the texts of a language, and finds those that do not go with their
// English: each has the same figures and marks.
func Read(name string, data []byte) (*Catalogue, error) {
	tag, err := language.Parse(name)
	if err != nil {
		return nil, fmt.Errorf("texts in %q: that is no language", name)
	}
	c := &Catalogue{tag: tag}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&c.texts); err != nil {
		return nil, fmt.Errorf("texts in %q: %w", name, err)
	}
	for _, key := range slices.Sorted(maps.Keys(c.texts)) {
		if err := c.texts[key].check(key); err != nil {
			return nil, fmt.Errorf("texts in %q: “%s”: %w", name, key, err)
		}
	}
	return c, nil
}

func (t Text) check(key string) error {
	all := maps.Clone(t.Forms)
	switch {
	case (t.Text == "") == (len(t.Forms) == 0):
		return errors.New("it has one text, or forms")
	case t.Text != "":
		all = map[string]string{"text": t.Text}
	case t.Forms["other"] == "":
		return errors.New("it lacks the form “other”")
	}
	for _, name := range slices.Sorted(maps.Keys(all)) {
		if _, known := categories[name]; !known && t.Text == "" {
			return fmt.Errorf("there is no form “%s”", name)
		}
		if want, got := verbs(key), verbs(all[name]); !slices.Equal(got, want) {
			return fmt.Errorf("“%s” has %s in place of %s", all[name], listed(got), listed(want))
		}
		if want, got := marks(key), marks(all[name]); !slices.Equal(got, want) {
			return fmt.Errorf("“%s” has %s in place of %s", all[name], listed(got), listed(want))
		}
	}
	return nil
}

var (
	verb = regexp.MustCompile(`%(?:\[(\d+)\])?([-+# 0-9.]*[^-+# 0-9.\[]|$)`)
	mark = regexp.MustCompile(`<[^>]*>?|&[#\w]+;`)
)

// verbs are those of a format, each with the number of what it stands for.
func verbs(format string) []string {
	var out []string
	next := 1
	for _, m := range verb.FindAllStringSubmatch(format, -1) {
		if m[2] == "%" {
			continue
		}
		if m[1] != "" {
			fmt.Sscan(m[1], &next)
		}
		out = append(out, fmt.Sprintf("%%[%d]%s", next, m[2]))
		next++
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// marks are those of HTML in a text.
func marks(text string) []string {
	found := mark.FindAllString(text, -1)
	slices.Sort(found)
	return found
}

func listed(all []string) string {
	if len(all) == 0 {
		return "nothing"
	}
	return strings.Join(all, " ")
}

// Language is the name of the language, as BCP 47 has it.
func (c *Catalogue) Language() string {
	if c == nil {
		return "en"
	}
	return c.tag.String()
}

// Text is the format of an English text. What follows a bar in the English
// tells texts apart that are alike there, and is not shown.
func (c *Catalogue) Text(english string) string {
	if c != nil {
		if t := c.texts[english].Text; t != "" {
			return t
		}
	}
	return shown(english)
}

// shown is an English text without what tells it apart.
func shown(english string) string {
	text, _, _ := strings.Cut(english, "|")
	return text
}

// Say is an English text in the language, with its arguments as fmt has them.
func (c *Catalogue) Say(english string, arguments ...any) string {
	if false {
		_ = fmt.Sprintf(english, arguments...) // lets go vet look at the arguments
	}
	return fmt.Sprintf(c.Text(english), arguments...)
}

// Count is the format of a number with its noun, which in English is one or many.
func (c *Catalogue) Count(n int, one, many string) string {
	if c != nil {
		if forms := c.texts[counted(many)].Forms; forms != nil {
			form := plural.Cardinal.MatchPlural(c.tag, max(n, -n), 0, 0, 0, 0)
			for name, f := range categories {
				if f == form && forms[name] != "" {
					return forms[name]
				}
			}
			return forms["other"]
		}
	}
	if n == 1 {
		return shown(counted(one))
	}
	return shown(counted(many))
}

// counted is the English of a number with its noun.
func counted(noun string) string { return "%s " + noun }

// Of are the texts by their English that are used below a folder; none for English.
func (c *Catalogue) Of(folder string) map[string]string {
	if c == nil {
		return nil
	}
	out := map[string]string{}
	for key, text := range english() {
		if strings.Contains(" "+text.In, " "+folder) && c.texts[key].Text != "" {
			out[key] = c.texts[key].Text
		}
	}
	return out
}

// english is the list of all texts.
func english() map[string]Text {
	data, err := files.ReadFile("en.json")
	if err != nil {
		panic(fmt.Sprintf("the program lacks a part of itself: %v", err))
	}
	var all map[string]Text
	if err := json.Unmarshal(data, &all); err != nil {
		panic(err) // a test holds it
	}
	return all
}
