package boundary

import (
	"bytes"
	"errors"
	"fmt"
	"unicode"
	"unicode/utf8"
)

// cells steps through comma-separated values (RFC 4180), or the same with
// semicolons or tabs.
type cells struct {
	text      []byte
	at        int // offset of the next row
	delimiter byte
}

// cell is a field of a row and the offset at which it begins.
type cell struct {
	text   string
	offset int
}

// errQuote is about the quotation mark at the offset at.
var errQuote = errors.New("the quotation mark that begins here is never closed")

// mostColumns is how many fields a row may have.
const mostColumns = 10_000

var errColumns = fmt.Errorf("this row has more than the limit of %d columns", mostColumns)

// row reads the fields of the next line that is not blank, none at the end. A
// field in quotation marks may hold delimiters and line ends, and two marks for
// one; in any other field a mark is a character as any, as in 5°30'20".
func (c *cells) row() ([]cell, error) {
	for c.at < len(c.text) && isBlank(c.text[c.at]) && c.text[c.at] != c.delimiter {
		c.at++
	}
	if c.at == len(c.text) {
		return nil, nil
	}
	var row []cell
	for {
		c.at = c.afterSpace(c.at)
		field := cell{offset: c.at}
		var err error
		if c.at < len(c.text) && c.text[c.at] == '"' {
			field.offset++
			field.text, err = c.quoted()
		} else {
			field.text = c.plain()
		}
		if err != nil {
			return nil, err
		}
		if row = append(row, field); len(row) > mostColumns {
			return nil, errColumns
		}
		if c.endsRow() {
			return row, nil
		}
	}
}

func (c *cells) plain() string {
	rest := c.text[c.at:]
	end := bytes.IndexAny(rest, string(c.delimiter)+"\r\n")
	if end < 0 {
		end = len(rest)
	}
	c.at += end
	return string(bytes.TrimSpace(rest[:end]))
}

func (c *cells) quoted() (string, error) {
	var text []byte
	for at := c.at + 1; at < len(c.text); at++ {
		if c.text[at] != '"' {
			text = append(text, c.text[at])
			continue
		}
		if at+1 < len(c.text) && c.text[at+1] == '"' {
			text = append(text, '"')
			at++
			continue
		}
		after := c.afterSpace(at + 1)
		if after == len(c.text) || c.text[after] == c.delimiter || c.text[after] == '\n' || c.text[after] == '\r' {
			c.at = after
			return string(bytes.TrimSpace(text)), nil
		}
		text = append(text, '"') // a mark for seconds that should have been doubled
	}
	return "", errQuote
}

// afterSpace is the offset at or after at where white space ends, such as a
// no-break space that was pasted along, or a delimiter or line end begins.
func (c *cells) afterSpace(at int) int {
	for at < len(c.text) {
		space, size := utf8.DecodeRune(c.text[at:])
		if !unicode.IsSpace(space) || space == rune(c.delimiter) || space == '\n' || space == '\r' {
			break
		}
		at += size
	}
	return at
}

// endsRow passes over the delimiter or line end, and reports whether the row
// ends with it.
func (c *cells) endsRow() bool {
	if c.at == len(c.text) {
		return true
	}
	end := c.text[c.at]
	c.at++
	if end == '\r' && c.at < len(c.text) && c.text[c.at] == '\n' {
		c.at++
	}
	return end != c.delimiter
}
