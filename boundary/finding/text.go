package finding

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Text is a sentence, or a part of one, with its figures apart, so that it can be
// said in other measures and another language.
type Text struct {
	Format string // in English, as fmt.Sprintf takes it; the key of its translations
	Args   []any  // figures, counts, Texts, names and numbers
}

// Say makes a Text. The format is a literal wherever it is called, so that all
// that can be said can be read out of the source.
func Say(format string, args ...any) Text {
	if false {
		_ = fmt.Sprintf(format, args...) // enable printf checking
	}
	return Text{format, args}
}

// Plain is a text that is said as it stands: from a record, an error or a file.
func Plain(s string) Text { return Say("%s", s) }

// String says t in English and metres.
func (t Text) String() string {
	if len(t.Args) == 1 && t.Format == "%s" {
		return fmt.Sprint(t.Args[0])
	}
	return fmt.Sprintf(t.Format, t.Args...)
}

// Empty tells whether nothing is said.
func (t Text) Empty() bool { return t.Format == "" }

// Either is a where the condition holds, and b where it does not.
func Either(condition bool, a, b Text) Text {
	if condition {
		return a
	}
	return b
}

// Start is a Text as the first word of a sentence, with a capital letter.
type Start Text

func (s Start) String() string { return Capital(Text(s).String()) }

// Capital writes the first letter of s as a capital.
func Capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if !unicode.IsLower(first) {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}

// Paragraph is sentences one after the other, without those that are empty.
type Paragraph []Text

// Sentences puts sentences one after the other.
func Sentences(sentences ...Text) Text { return Say("%s", Paragraph(sentences)) }

func (p Paragraph) String() string { return p.Join(Text.String) }

// Join says every sentence in the way given.
func (p Paragraph) Join(say func(Text) string) string {
	said := make([]string, 0, len(p))
	for _, t := range p {
		if s := say(t); s != "" {
			said = append(said, s)
		}
	}
	return strings.Join(said, " ")
}

// Told is what is told a pilot, and in its place a client, who is no third person
// there and runs no command.
type Told struct{ Pilot, Client Text }

// Tell makes a Text of what pilot and client are told.
func Tell(pilot, client Text) Text { return Say("%s", Told{pilot, client}) }

func (t Told) String() string { return t.Pilot.String() }

// ToClient is t as a client is told it.
func (t Text) ToClient() Text {
	if len(t.Args) == 0 {
		return t
	}
	args := make([]any, len(t.Args))
	for i, arg := range t.Args {
		switch arg := arg.(type) {
		case Told:
			args[i] = arg.Client
		case Text:
			args[i] = arg.ToClient()
		case Start:
			args[i] = Start(Text(arg).ToClient())
		case Paragraph:
			told := make(Paragraph, len(arg))
			for k, sentence := range arg {
				told[k] = sentence.ToClient()
			}
			args[i] = told
		default:
			args[i] = arg
		}
	}
	return Text{t.Format, args}
}

// Commas lists texts as in "a, b, c".
func Commas(texts []Text) Text {
	if len(texts) == 0 {
		return Text{}
	}
	all := texts[0]
	for _, t := range texts[1:] {
		all = Say("%s, %s", all, t)
	}
	return all
}

// And lists texts as in "a, b and c".
func And(texts []Text) Text {
	if n := len(texts); n > 1 {
		return Say("%s and %s", Commas(texts[:n-1]), texts[n-1])
	}
	return Commas(texts)
}

// Or lists texts as in "a, b or c".
func Or(texts []Text) Text {
	if n := len(texts); n > 1 {
		return Say("%s or %s", Commas(texts[:n-1]), texts[n-1])
	}
	return Commas(texts)
}
