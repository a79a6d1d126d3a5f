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

// toUTF8 returns text as UTF-8 without a byte order mark. A byte order mark or
// the zero bytes of UTF-16 outweigh what an XML declaration says. Text that is
// not UTF-8 and declares nothing is taken as Windows-1252: only names can
// suffer from that, since every number is ASCII.
func toUTF8(text []byte) ([]byte, error) {
	switch {
	case bytes.HasPrefix(text, []byte("\xef\xbb\xbf")):
		text = text[3:]
	case bytes.HasPrefix(text, []byte("\xff\xfe")):
		return fromUTF16(text[2:], binary.LittleEndian)
	case bytes.HasPrefix(text, []byte("\xfe\xff")):
		return fromUTF16(text[2:], binary.BigEndian)
	case len(text) > 1 && text[0] != 0 && text[1] == 0:
		return fromUTF16(text, binary.LittleEndian)
	case len(text) > 1 && text[0] == 0 && text[1] != 0:
		return fromUTF16(text, binary.BigEndian)
	}
	declared := ""
	if m := declaredEncoding.FindSubmatch(text[:min(len(text), 300)]); m != nil {
		declared = strings.ToLower(string(m[1]))
	}
	switch declared {
	case "iso-8859-1", "latin1", "windows-1252", "cp1252":
		return fromWindows1252(text), nil
	}
	if utf8.Valid(text) {
		return text, nil
	}
	switch declared {
	case "", "utf-8", "utf8", "us-ascii", "ascii":
		return fromWindows1252(text), nil
	}
	return nil, fmt.Errorf("the text is in the encoding %s, which is not read here; UTF-8 is", quote(declared))
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
