package boundary

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"selvage/boundary/finding"
)

// source is a file's text with a cursor that turns byte offsets into lines and
// columns. Offsets asked for in rising order cost one pass over the text.
type source struct {
	data         []byte
	offset       int
	line, column int // of offset, counted from 1, columns in characters
}

func newSource(data []byte) *source { return &source{data: data, line: 1, column: 1} }

func (s *source) position(offset int64) (line, column int) {
	to := min(int(offset), len(s.data))
	if to < s.offset {
		s.offset, s.line, s.column = 0, 1, 1
	}
	passed := s.data[s.offset:to]
	if n := bytes.Count(passed, []byte("\n")); n > 0 {
		s.line += n
		s.column = 1
		passed = passed[bytes.LastIndexByte(passed, '\n')+1:]
	}
	s.column += utf8.RuneCount(passed)
	s.offset = to
	return s.line, s.column
}

var declaredEncoding = regexp.MustCompile(`^\s*<\?xml[^>]*?\sencoding\s*=\s*["']([^"']*)["']`)

// toUTF8 returns text as UTF-8 without a byte order mark.
func toUTF8(text []byte) ([]byte, error) {
	text, _, err := decodeText(text)
	return text, err
}

// decodeText returns text as UTF-8 without a byte order mark, and a sentence
// when its encoding is not the one that it declares or that is usual. A byte
// order mark, the zero bytes of UTF-16 or sound UTF-8 outweigh what an XML
// declaration says. Text that is none of that and declares nothing else is
// taken as Windows-1252: only names can suffer from that, since every number
// is ASCII.
func decodeText(text []byte) (decoded []byte, doubt finding.Text, err error) {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(text, []byte("\xef\xbb\xbf")):
		text = text[3:]
	case bytes.HasPrefix(text, []byte("\xff\xfe")):
		text, order = text[2:], binary.LittleEndian
	case bytes.HasPrefix(text, []byte("\xfe\xff")):
		text, order = text[2:], binary.BigEndian
	case len(text) > 1 && text[0] != 0 && text[1] == 0:
		order = binary.LittleEndian
	case len(text) > 1 && text[0] == 0 && text[1] != 0:
		order = binary.BigEndian
	}
	actual := "UTF-8"
	if order != nil {
		actual = "UTF-16"
		if text, err = fromUTF16(text, order); err != nil {
			return nil, finding.Text{}, err
		}
	}
	declared := ""
	if m := declaredEncoding.FindSubmatch(text[:min(len(text), 300)]); m != nil {
		declared = string(m[1])
	}
	var expected string
	switch strings.ToLower(declared) {
	case "", "utf-8", "utf8", "us-ascii", "ascii":
		expected = "UTF-8"
	case "iso-8859-1", "latin1", "windows-1252", "cp1252":
		expected = "Windows-1252"
	case "utf-16", "utf-16le", "utf-16be":
		expected = "UTF-16"
	}
	if order == nil && !utf8.Valid(text) {
		if expected != "UTF-8" && expected != "Windows-1252" {
			return nil, finding.Text{}, fmt.Errorf("the text is in the encoding %s, which is not read here; UTF-8 is", quote(strings.ToLower(declared)))
		}
		actual, text = "Windows-1252", fromWindows1252(text)
	}
	switch {
	case actual == expected || isASCII(text):
	case declared != "":
		doubt = finding.Say("The file says that its text is in %s, but it is in %s and is read as that. Only names can suffer from it.", printable(declared, 40), actual)
	case actual == "Windows-1252":
		doubt = finding.Say("The file’s text is not in UTF-8, so it is read as Windows-1252. Only names can suffer from it.")
	}
	return text, doubt, nil
}

func isASCII(text []byte) bool {
	for _, c := range text {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

func fromUTF16(text []byte, order binary.ByteOrder) ([]byte, error) {
	if len(text)%2 != 0 {
		return nil, errors.New("the UTF-16 text ends in the middle of a character; the file may be cut off")
	}
	out := make([]byte, 0, len(text)/2)
	for len(text) > 0 {
		c := rune(order.Uint16(text))
		text = text[2:]
		if utf16.IsSurrogate(c) && len(text) > 0 {
			if pair := utf16.DecodeRune(c, rune(order.Uint16(text))); pair != utf8.RuneError {
				c, text = pair, text[2:]
			}
		}
		out = utf8.AppendRune(out, c) // a lone surrogate becomes U+FFFD
	}
	return out, nil
}

// windows1252 holds the characters 0x80 to 0x9F; the rest are those of
// ISO 8859-1, whose own characters in this range are unused controls.
var windows1252 = []rune("€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ")

func fromWindows1252(text []byte) []byte {
	out := make([]byte, 0, len(text)+len(text)/8)
	for _, b := range text {
		c := rune(b)
		if b >= 0x80 && b <= 0x9f {
			c = windows1252[b-0x80]
		}
		out = utf8.AppendRune(out, c)
	}
	return out
}
