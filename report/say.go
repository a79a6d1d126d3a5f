package report

import (
	"fmt"
	"html/template"

	"selvage/report/texts"
)

// Speaking is the locale with the texts of another language.
func (l Locale) Speaking(language *texts.Catalogue) Locale {
	l.texts = language
	return l
}

// Texts are those of the language; nil is English.
func (l Locale) Texts() *texts.Catalogue { return l.texts }

// Say is an English text, with its arguments as fmt has them, in the language of
// the reader. The text is a literal, so that it gets into the list of texts.
func (l Locale) Say(text string, arguments ...any) string {
	return l.texts.Say(text, arguments...)
}

// SayAll is Say for each of some texts, such as the headings of columns.
func (l Locale) SayAll(each ...string) []string {
	out := make([]string, len(each))
	for i, text := range each {
		out[i] = l.texts.Text(text)
	}
	return out
}

// Count is a number with its noun: "1 gap", "2,000 gaps".
func (l Locale) Count(n int, one, many string) string {
	return fmt.Sprintf(l.texts.Count(n, one, many), l.Number(n))
}

// markup is Say for a template. The text is its own, or was held against it, and
// may have marks; the arguments are escaped.
func (l Locale) markup(text string, arguments ...any) template.HTML {
	for i, a := range arguments {
		if _, safe := a.(template.HTML); !safe {
			arguments[i] = template.HTMLEscaper(a)
		}
	}
	return template.HTML(l.Say(text, arguments...))
}

func (l Locale) unknown() string { return l.Say("not known") }
