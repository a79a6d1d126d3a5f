package boundary

import (
	"bytes"
	"encoding/json"
	"math"
	"unicode/utf8"
)

// jsonWalk steps through JSON (RFC 8259) that is held whole, so that each fault
// has a place and no number or text needs a copy.
type jsonWalk struct {
	*reading
	text  []byte
	at    int // offset of the next byte
	depth int
}

func walkFrom(r *reading, offset int64, depth int) *jsonWalk {
	return &jsonWalk{reading: r, text: r.src.data, at: int(offset), depth: depth}
}

// peek passes over white space and returns the first byte of what comes next,
// 0 at the end.
func (j *jsonWalk) peek() byte {
	for j.at < len(j.text) {
		switch c := j.text[j.at]; c {
		case ' ', '\t', '\r', '\n':
			j.at++
		default:
			return c
		}
	}
	return 0
}

// upcoming is the offset at which the next value or sign begins.
func (j *jsonWalk) upcoming() int64 {
	j.peek()
	return int64(j.at)
}

func (j *jsonWalk) next(c byte) bool { return j.peek() == c }

// unexpected is the fault that what comes next is not JSON.
func (j *jsonWalk) unexpected(wanted string) error {
	j.peek()
	if j.at >= len(j.text) {
		return j.fault(int64(j.at), "the file ends in the middle; it may be cut off")
	}
	c, _ := utf8.DecodeRune(j.text[j.at:])
	return j.fault(int64(j.at), "the JSON is damaged here: %s stands where %s is expected", quote(string(c)), wanted)
}

// misplaced is the fault that the next value is not of the kind that is
// expected, or is no value at all.
func (j *jsonWalk) misplaced(expected string) error {
	at := j.upcoming()
	what := ""
	switch c := j.peek(); {
	case c == '{':
		what = "an object"
	case c == '[':
		what = "a list"
	case c == '"':
		s, err := j.string()
		if err != nil {
			return err
		}
		what = "the text " + quote(string(s))
	default:
		if err := j.skip(); err != nil {
			return err
		}
		what = string(j.text[at:j.at])
		if c == '-' || c-'0' <= 9 {
			what = "the number " + printable(what, 40)
		}
	}
	return j.fault(at, "%s stands where %s is expected", what, expected)
}

// enter steps into the object or list that begins here.
func (j *jsonWalk) enter() error {
	if j.depth++; j.depth > j.lim.Depth {
		return j.fault(int64(j.at), "objects and lists lie more than the limit of %d inside one another (--limit depth)", j.lim.Depth)
	}
	j.at++
	return nil
}

// more reports whether an object or list has another element, and passes over
// the comma before it, or the bracket after the last.
func (j *jsonWalk) more(bracket byte, first bool) (bool, error) {
	switch c := j.peek(); {
	case c == bracket:
		j.at++
		j.depth--
		return false, nil
	case first:
		return true, nil
	case c == ',':
		j.at++
		return true, nil
	}
	return false, j.unexpected("a comma")
}

// list reads a list and calls visit for each element, which visit has to read.
func (j *jsonWalk) list(expected string, visit func() error) error {
	if !j.next('[') {
		return j.misplaced(expected)
	}
	if err := j.enter(); err != nil {
		return err
	}
	for first := true; ; first = false {
		if more, err := j.more(']', first); err != nil || !more {
			return err
		}
		if err := visit(); err != nil {
			return err
		}
	}
}

// object reads an object and calls visit for each member, whose value visit
// has to read.
func (j *jsonWalk) object(visit func(key string, at int64) error) error {
	if !j.next('{') {
		return j.misplaced("an object")
	}
	if err := j.enter(); err != nil {
		return err
	}
	for first := true; ; first = false {
		if more, err := j.more('}', first); err != nil || !more {
			return err
		}
		at := j.upcoming()
		key, err := j.key()
		if err != nil {
			return err
		}
		if err := visit(string(key), at); err != nil {
			return err
		}
	}
}

// key reads the name of a member and the colon after it.
func (j *jsonWalk) key() ([]byte, error) {
	if !j.next('"') {
		return nil, j.unexpected("a name in quotation marks")
	}
	key, err := j.string()
	if err != nil {
		return nil, err
	}
	if !j.next(':') {
		return nil, j.unexpected("a colon")
	}
	j.at++
	return key, nil
}

// string reads the text in quotation marks that begins here.
func (j *jsonWalk) string() ([]byte, error) {
	from, escaped := j.at, false
	for at := from + 1; at < len(j.text); at++ {
		switch c := j.text[at]; {
		case c == '"':
			j.at = at + 1
			if !escaped {
				return j.text[from+1 : at], nil
			}
			var s string
			if json.Unmarshal(j.text[from:at+1], &s) != nil {
				return nil, j.fault(int64(from), "the JSON is damaged here: a text has a “\\” that stands for nothing")
			}
			return []byte(s), nil
		case c == '\\':
			escaped = true
			at++ // whatever follows, it does not end the text
		case c < ' ':
			return nil, j.fault(int64(at), "the JSON is damaged here: a text is broken by a line end or control character")
		}
	}
	j.at = len(j.text)
	return nil, j.unexpected("")
}

// number reads the number that begins here. One too large is infinite.
func (j *jsonWalk) number() (float64, error) {
	at := j.at
	if j.text[at] == '-' {
		at++
	}
	// JSON is stricter than scanDecimal: digits on both sides of the point, no
	// zeros in front.
	digits := func() bool {
		from := at
		for at < len(j.text) && j.text[at]-'0' <= 9 {
			at++
		}
		return at > from
	}
	whole := at
	ok := digits() && (j.text[whole] != '0' || at == whole+1)
	if ok && at < len(j.text) && j.text[at] == '.' {
		at++
		ok = digits()
	}
	if !ok {
		return 0, j.badNumber(at)
	}
	x, end := scanDecimal(j.text, j.at)
	if end == j.at {
		return 0, j.badNumber(at)
	}
	j.at = end
	return x, nil
}

// badNumber is the fault of a number that goes wrong at an offset.
func (j *jsonWalk) badNumber(at int) error {
	rest := bytes.TrimPrefix(j.text[j.at:], []byte("-"))
	if bytes.HasPrefix(rest, []byte("Infinity")) {
		return j.fault(int64(j.at), "Infinity is not a number")
	}
	if at >= len(j.text) {
		j.at = len(j.text)
		return j.unexpected("")
	}
	end := at
	for end < len(j.text) && end < at+20 && bytes.IndexByte([]byte(" \t\r\n,]}"), j.text[end]) < 0 {
		end++
	}
	return j.fault(int64(j.at), "the JSON is damaged here: %s is not a number", quote(string(j.text[j.at:end])))
}

// skip passes over one value.
func (j *jsonWalk) skip() error {
	switch c := j.peek(); {
	case c == '"':
		_, err := j.string()
		return err
	case c == '-' || c-'0' <= 9:
		_, err := j.number()
		return err
	case c == '{' || c == '[':
		if err := j.enter(); err != nil {
			return err
		}
		for first := true; ; first = false {
			if more, err := j.more(c+2, first); err != nil || !more { // "]" and "}" come two after "[" and "{"
				return err
			}
			if c == '{' {
				if _, err := j.key(); err != nil {
					return err
				}
			}
			if err := j.skip(); err != nil {
				return err
			}
		}
	}
	for _, word := range []string{"null", "true", "false"} {
		if bytes.HasPrefix(j.text[j.at:], []byte(word)) {
			j.at += len(word)
			return nil
		}
	}
	for _, word := range []string{"NaN", "Infinity"} {
		if bytes.HasPrefix(j.text[j.at:], []byte(word)) {
			return j.fault(int64(j.at), "%s is not a number", word)
		}
	}
	return j.unexpected("a value")
}

// members is object with a fault for members that would give an object two
// meanings if doubled.
func (j *jsonWalk) members(visit func(key string) error) error {
	seen := 0
	return j.object(func(key string, at int64) error {
		for i, u := range unique {
			if u != key {
				continue
			}
			if seen&(1<<i) != 0 {
				return j.fault(at, "this object has a second member %s", quote(key))
			}
			seen |= 1 << i
		}
		return visit(key)
	})
}

var unique = []string{"type", "features", "geometry", "geometries", "coordinates"}

// word reads a value that has to be a text.
func (j *jsonWalk) word(into *string) error {
	if !j.next('"') {
		return j.misplaced("a text")
	}
	s, err := j.string()
	*into = string(s)
	return err
}

// label reads a text or number as text, and passes over anything else.
func (j *jsonWalk) label(into *string) error {
	c := j.peek()
	if c == '"' {
		return j.word(into)
	}
	from := j.at
	err := j.skip()
	if err == nil && (c == '-' || c-'0' <= 9) {
		*into = string(j.text[from:j.at])
	}
	return err
}

// coordinate reads a value that has to be a finite number.
func (j *jsonWalk) coordinate() (float64, error) {
	c := j.peek()
	if c != '-' && c-'0' > 9 {
		return 0, j.misplaced("a number")
	}
	from := j.at
	x, err := j.number()
	if err == nil && math.IsInf(x, 0) {
		err = j.fault(int64(from), "the number %s is too large a number", printable(string(j.text[from:j.at]), 40))
	}
	return x, err
}
