package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"github.com/spf13/pflag"

	"selvage/report"
)

// letterheadFlags say whose sheet it is.
type letterheadFlags struct {
	file string
	text map[string]*string

	flags *pflag.FlagSet
}

// letterheadWords are both flags and the keys of a letterhead file.
var letterheadWords = []struct{ name, about string }{
	{"operator", "`name` of who flies, for the head of the sheets"},
	{"client", "`name` of who asked for the job"},
	{"site", "`name` of the site, where it is not that of the areas"},
	{"licence", "licence or registration in a `line`, as it is to be shown"},
	{"remarks", "`text` below the head"},
	{"logo", "PNG `file` with a logo"},
}

const (
	mostLetterhead = 64 << 10
	longestLine    = 500 // characters
)

func defineLetterhead(flags *pflag.FlagSet) *letterheadFlags {
	f := &letterheadFlags{text: map[string]*string{}, flags: flags}
	for _, w := range letterheadWords {
		f.text[w.name] = flags.String(w.name, "", w.about)
	}
	flags.StringVar(&f.file, "letterhead", "", "`file` that says the same in lines such as operator: NAME, for all jobs; a flag goes before it")
	return f
}

// paths are the files that are read.
func (f *letterheadFlags) paths() []string {
	var out []string
	for _, path := range []string{f.file, *f.text["logo"]} {
		if path != "" {
			out = append(out, path)
		}
	}
	return out
}

// read returns what the flags say, and the file where they are silent.
func (f *letterheadFlags) read() (report.Letterhead, error) {
	if f.file != "" {
		said, err := readLetterhead(f.file)
		if err != nil {
			return report.Letterhead{}, err
		}
		for name, text := range said {
			if !f.flags.Changed(name) {
				*f.text[name] = text
			}
		}
	}
	for _, w := range letterheadWords {
		if n := utf8.RuneCountInString(*f.text[w.name]); n > longestLine {
			return report.Letterhead{}, fmt.Errorf("--%s has %d characters; a letterhead has room for %d", w.name, n, longestLine)
		}
	}
	l := report.Letterhead{
		Operator: *f.text["operator"], Client: *f.text["client"], Site: *f.text["site"],
		Licence: *f.text["licence"], Remarks: *f.text["remarks"],
	}
	if path := *f.text["logo"]; path != "" {
		data, err := readAtMost(path, report.MostLogoBytes)
		if err != nil {
			return l, err
		}
		if l.Logo, err = report.ReadLogo(data); err != nil {
			return l, fmt.Errorf("%s: %w", path, err)
		}
	}
	return l, nil
}

// readLetterhead reads lines such as "operator: NAME". The logo is named from
// where the file lies.
func readLetterhead(path string) (map[string]string, error) {
	data, err := readAtMost(path, mostLetterhead)
	if err != nil {
		return nil, err
	}
	if len(data) > mostLetterhead {
		return nil, fmt.Errorf("%s is larger than a letterhead can be, which is a few lines of text", path)
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	if !utf8.ValidString(text) {
		return nil, fmt.Errorf("%s is not text in UTF-8; save it as such", path)
	}
	said := map[string]string{}
	for i, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if err := addLine(said, line); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", path, i+1, err)
		}
	}
	if logo := said["logo"]; logo != "" && !filepath.IsAbs(logo) {
		said["logo"] = filepath.Join(filepath.Dir(path), filepath.FromSlash(logo))
	}
	return said, nil
}

func addLine(said map[string]string, line string) error {
	key, value, both := strings.Cut(line, ":")
	key, value = strings.ToLower(strings.TrimSpace(key)), strings.TrimSpace(value)
	if !both {
		return errors.New("a line says what it is first, as in operator: Field and Fell")
	}
	var names []string
	for _, w := range letterheadWords {
		if names = append(names, w.name); w.name != key {
			continue
		}
		if _, twice := said[key]; twice {
			return fmt.Errorf("%s is said twice", key)
		}
		said[key] = value
		return nil
	}
	return fmt.Errorf("%q is none of %s", oneLine(key), strings.Join(names, ", "))
}
