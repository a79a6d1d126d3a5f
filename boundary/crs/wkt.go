package crs

import (
	"errors"
	"strconv"
	"strings"
)

// node is one KEYWORD[...] of a well-known text.
type node struct {
	keyword  string // in upper case
	words    []string
	numbers  []float64
	children []*node
}

// child is the first child of one of the keywords, nil if there is none.
func (n *node) child(keywords ...string) *node {
	if n == nil {
		return nil
	}
	for _, c := range n.children {
		for _, k := range keywords {
			if c.keyword == k {
				return c
			}
		}
	}
	return nil
}

// word is the node's first word, mostly its name, "" if it has none.
func (n *node) word() string {
	if n == nil || len(n.words) == 0 {
		return ""
	}
	return n.words[0]
}

var errWKT = errors.New("the text of the coordinate system is damaged or cut off")

// deepest is more than twice what any well-known text needs.
const deepest = 20

// parseWKT reads the whole of text as one node.
func parseWKT(text string) (*node, error) {
	s := scanner{text}
	n, err := s.node(0)
	if err != nil {
		return nil, err
	}
	if s.skip(); s.rest != "" {
		return nil, errWKT
	}
	return n, nil
}

type scanner struct{ rest string }

func (s *scanner) skip() { s.rest = strings.TrimLeft(s.rest, " \t\r\n") }

// take removes one of the characters from the front and returns it, else 0.
func (s *scanner) take(characters string) byte {
	if s.skip(); s.rest != "" && strings.IndexByte(characters, s.rest[0]) >= 0 {
		c := s.rest[0]
		s.rest = s.rest[1:]
		return c
	}
	return 0
}

func (s *scanner) node(depth int) (*node, error) {
	n := &node{keyword: strings.ToUpper(s.bare())}
	if n.keyword == "" || depth > deepest || s.take("[(") == 0 {
		return nil, errWKT
	}
	for {
		s.skip()
		before := *s
		if s.take(`"`) != 0 {
			word, err := s.quoted()
			if err != nil {
				return nil, err
			}
			n.words = append(n.words, word)
		} else if bare := s.bare(); bare == "" {
			return nil, errWKT
		} else if s.skip(); s.rest != "" && (s.rest[0] == '[' || s.rest[0] == '(') {
			*s = before
			c, err := s.node(depth + 1)
			if err != nil {
				return nil, err
			}
			n.children = append(n.children, c)
		} else if x, err := strconv.ParseFloat(bare, 64); err == nil {
			n.numbers = append(n.numbers, x)
		} else {
			n.words = append(n.words, bare)
		}
		if s.take("])") != 0 {
			return n, nil
		}
		if s.take(",") == 0 {
			return nil, errWKT
		}
	}
}

// bare takes a keyword or a number.
func (s *scanner) bare() string {
	s.skip()
	end := strings.IndexAny(s.rest, "[](),\" \t\r\n")
	if end < 0 {
		end = len(s.rest)
	}
	word := s.rest[:end]
	s.rest = s.rest[end:]
	return word
}

// quoted takes the rest of a text in quotation marks; two of them in a row
// stand for one.
func (s *scanner) quoted() (string, error) {
	var b strings.Builder
	for {
		part, rest, found := strings.Cut(s.rest, `"`)
		if !found {
			return "", errWKT
		}
		b.WriteString(part)
		if s.rest = rest; !strings.HasPrefix(rest, `"`) {
			return b.String(), nil
		}
		b.WriteByte('"')
		s.rest = rest[1:]
	}
}
