package pdf

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"
)

// written is a text on a page of a file, as the content stream has it.
type written struct {
	page int
	x, y float64 // points from the lower left corner
	font string
	size float64
	text string
	free bool // turned, in a coordinate system of its own
}

var streams = regexp.MustCompile(`(?s)<</Filter /FlateDecode /Length (\d+)>>\nstream\n`)

// readBack reads the texts of a file in the order in which they are drawn. It
// is a reader for the files of this package only.
func readBack(t *testing.T, file []byte) []written {
	t.Helper()
	var all []written
	for page, content := range contentsOf(t, file) {
		all = append(all, readTexts(t, page+1, content)...)
	}
	return all
}

// contentsOf are the content streams of the pages of a file.
func contentsOf(t *testing.T, file []byte) [][]byte {
	t.Helper()
	var all [][]byte
	for _, m := range streams.FindAllSubmatchIndex(file, -1) {
		length, err := strconv.Atoi(string(file[m[2]:m[3]]))
		if err != nil {
			t.Fatal(err)
		}
		z, err := zlib.NewReader(bytes.NewReader(file[m[1] : m[1]+length]))
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(z)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(content, []byte(" Tf ET")) {
			all = append(all, content)
		}
	}
	return all
}

var (
	setFont  = regexp.MustCompile(`^BT /F(\w+) ([\d.]+) Tf ET$`)
	beginsAt = regexp.MustCompile(`BT (-?[\d.]+) (-?[\d.]+) Td \(`)
	turns    = regexp.MustCompile(`^q .* cm$`)
)

func readTexts(t *testing.T, page int, content []byte) []written {
	var all []written
	var font string
	var size float64
	turned := false
	for len(content) > 0 {
		end := bytes.IndexByte(content, '\n')
		if end < 0 {
			end = len(content)
		}
		line := content[:end]
		rest := content[min(end+1, len(content)):]
		if m := setFont.FindSubmatch(line); m != nil {
			font = string(m[1])
			fmt.Sscan(string(m[2]), &size)
		} else if turns.Match(line) {
			turned = true
		} else if bytes.Equal(line, []byte("Q")) {
			turned = false
		} else if m := beginsAt.FindSubmatchIndex(content[:min(end, len(content))]); m != nil {
			w := written{page: page, font: font, size: size, free: turned}
			fmt.Sscan(string(content[m[2]:m[3]]), &w.x)
			fmt.Sscan(string(content[m[4]:m[5]]), &w.y)
			var used int
			w.text, used = readString(content[m[1]:])
			all = append(all, w)
			rest = content[m[1]+used:]
			if next := bytes.IndexByte(rest, '\n'); next >= 0 {
				rest = rest[next+1:]
			} else {
				rest = nil
			}
		}
		content = rest
	}
	return all
}

// readString reads a string up to its bracket: UTF-16 with some bytes escaped.
func readString(data []byte) (text string, used int) {
	var plain []byte
	for i := 0; i < len(data); i++ {
		switch c := data[i]; c {
		case ')':
			var units []uint16
			for k := 0; k+1 < len(plain); k += 2 {
				units = append(units, uint16(plain[k])<<8|uint16(plain[k+1]))
			}
			return string(utf16.Decode(units)), i + 1
		case '\\':
			i++
			c = data[i]
			if c == 'r' {
				c = '\r'
			}
			plain = append(plain, c)
		default:
			plain = append(plain, c)
		}
	}
	return "", len(data)
}

// joined is what is left of a text without its spaces, so that texts can be
// compared however their lines are broken.
func joined(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool {
		return r == ' ' || r == '\n' || r == '\t' || r == '\u00a0' || r == '\u202f'
	}), "")
}

func allText(texts []written) string {
	var b strings.Builder
	for _, w := range texts {
		b.WriteString(w.text)
	}
	return joined(b.String())
}
