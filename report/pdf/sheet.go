package pdf

import (
	"cmp"
	"slices"
	"strings"
)

// sheet is a style sheet as for print: its rules in the order in which they
// win, and its variables.
type sheet struct {
	rules     []rule
	pseudo    []selector // those with a pseudo-element
	variables map[string]string
}

type rule struct {
	selector selector
	weight   int
	values   []property
}

type property struct{ name, value string }

// selector is matched from its last part backwards.
type selector []compound

type compound struct {
	joined  byte // to the part before: ' ', '>', '+'; 0 for the first
	tag     string
	classes []string
	last    bool // :last-child
	first   bool // :first-child
	before  bool // ::before
	after   bool
	not     []compound // :not(…)
	follow  []compound // :has(+ …)
}

// userAgent is how elements look that the page's sheet says nothing about.
const userAgent = `
head, style, script, title, desc, defs { display: none }
html, body, main, header, section, footer, div, p, h1, h2, h3, h4, dl, dt, dd, figure, figcaption, details, summary { display: block }
ul, ol, li, blockquote, pre, hr, address, article, aside, nav { display: block }
ul, ol { list-style: disc }
table { display: table }
h1, h2, h3, h4, b, strong, th { font-weight: 700 }
code, kbd, samp, pre { font-family: monospace }
`

// parseSheet reads what of CSS the pages use. Rules that it does not understand
// are left out.
func parseSheet(text string) *sheet {
	s := &sheet{variables: map[string]string{}}
	s.parse(withoutComments(text))
	slices.SortStableFunc(s.rules, func(a, b rule) int { return cmp.Compare(a.weight, b.weight) })
	return s
}

func withoutComments(text string) string {
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(text, "/*")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		_, text, _ = strings.Cut(rest, "*/")
	}
}

func (s *sheet) parse(text string) {
	for {
		open := strings.IndexByte(text, '{')
		if open < 0 {
			return
		}
		head, body := strings.TrimSpace(text[:open]), text[open+1:]
		end := closing(body)
		text, body = body[min(end+1, len(body)):], body[:end]
		switch {
		case strings.HasPrefix(head, "@media") && strings.TrimSpace(head[len("@media"):]) == "print":
			s.parse(body)
		case strings.HasPrefix(head, "@"):
		default:
			s.add(head, parseValues(body))
		}
	}
}

// closing is the index of the brace that ends a body.
func closing(body string) int {
	level := 0
	for i := range len(body) {
		switch body[i] {
		case '{':
			level++
		case '}':
			if level == 0 {
				return i
			}
			level--
		}
	}
	return len(body)
}

func (s *sheet) add(heads string, values []property) {
	for _, head := range strings.Split(heads, ",") {
		if head = strings.TrimSpace(head); head == ":root" {
			for _, v := range values {
				s.variables[v.name] = v.value
			}
			continue
		}
		if selector, weight, ok := parseSelector(head); ok {
			s.rules = append(s.rules, rule{selector, weight, values})
			if last := selector[len(selector)-1]; last.before || last.after {
				s.pseudo = append(s.pseudo, selector)
			}
		}
	}
}

func parseValues(body string) []property {
	var values []property
	for _, one := range strings.Split(body, ";") {
		name, value, found := strings.Cut(one, ":")
		if found {
			values = append(values, property{strings.TrimSpace(name), strings.TrimSpace(value)})
		}
	}
	return values
}

func parseSelector(text string) (all selector, weight int, ok bool) {
	joined := byte(0)
	for _, part := range fields(text) {
		if part == ">" || part == "+" {
			joined = part[0]
			continue
		}
		c, w, ok := parseCompound(part)
		if !ok {
			return nil, 0, false
		}
		if c.joined = joined; joined == 0 && len(all) > 0 {
			c.joined = ' '
		}
		joined = 0
		all, weight = append(all, c), weight+w
	}
	return all, weight, len(all) > 0
}

// fields splits at spaces that are not in brackets.
func fields(text string) []string {
	level := 0
	return strings.FieldsFunc(text, func(r rune) bool {
		switch r {
		case '(':
			level++
		case ')':
			level--
		}
		return r == ' ' && level == 0
	})
}

const (
	classWeight = 100
	tagWeight   = 1
)

func parseCompound(text string) (c compound, weight int, ok bool) {
	for len(text) > 0 {
		mark, rest := text[0], text[1:]
		if mark == ':' && strings.HasPrefix(rest, ":") {
			mark, rest = '#', rest[1:] // a pseudo-element
		} else if mark != '.' && mark != ':' {
			mark, rest = 0, text
		}
		end := nameEnd(rest)
		name := rest[:end]
		text = rest[end:]
		switch {
		case mark == 0 && name != "":
			if name != "*" {
				c.tag, weight = name, weight+tagWeight
			}
		case mark == '.' && name != "":
			c.classes, weight = append(c.classes, name), weight+classWeight
		case mark == '#' && name == "before":
			c.before, weight = true, weight+tagWeight
		case mark == '#' && name == "after":
			c.after, weight = true, weight+tagWeight
		case mark == ':' && name == "last-child":
			c.last, weight = true, weight+classWeight
		case mark == ':' && name == "first-child":
			c.first, weight = true, weight+classWeight
		case mark == ':' && (name == "not" || name == "has") && strings.HasPrefix(text, "("):
			inner, rest, found := matching(text)
			if !found {
				return c, 0, false
			}
			text = rest
			next, follows := strings.CutPrefix(inner, "+")
			if follows != (name == "has") {
				return c, 0, false
			}
			one, w, ok := parseCompound(strings.TrimSpace(next))
			if !ok {
				return c, 0, false
			}
			if weight += w; follows {
				c.follow = append(c.follow, one)
			} else {
				c.not = append(c.not, one)
			}
		default:
			return c, 0, false
		}
	}
	return c, weight, true
}

func nameEnd(text string) int {
	if end := strings.IndexAny(text, ".:()[]#"); end >= 0 {
		return end
	}
	return len(text)
}

// matching is what stands in the brackets that text begins with.
func matching(text string) (inner, rest string, found bool) {
	level := 0
	for i := range len(text) {
		switch text[i] {
		case '(':
			level++
		case ')':
			if level--; level == 0 {
				return strings.TrimSpace(text[1:i]), text[i+1:], true
			}
		}
	}
	return "", "", false
}

func (c compound) matches(n *node) bool {
	if c.before != n.before || c.after != n.after {
		return false
	}
	if n.before || n.after {
		n = n.parent
	}
	if c.tag != "" && c.tag != n.tag || c.last && n.next != nil || c.first && n.previous != nil {
		return false
	}
	for _, class := range c.classes {
		if !n.is(class) {
			return false
		}
	}
	for _, not := range c.not {
		if not.matches(n) {
			return false
		}
	}
	for _, follow := range c.follow {
		if n.next == nil || !follow.matches(n.next) {
			return false
		}
	}
	return true
}

func (s selector) matches(n *node) bool {
	last := len(s) - 1
	if !s[last].matches(n) {
		return false
	}
	if n.before || n.after {
		n = n.parent
	}
	if last == 0 {
		return true
	}
	switch s[last].joined {
	case '+':
		return n.previous != nil && s[:last].matches(n.previous)
	case '>':
		return n.parent != nil && s[:last].matches(n.parent)
	}
	for up := n.parent; up != nil; up = up.parent {
		if s[:last].matches(up) {
			return true
		}
	}
	return false
}

// pseudoElements are the texts and boxes that the sheet adds before and after
// what is in an element; nil where there is none.
func (s *sheet) pseudoElements(n *node) (before, after *node) {
	b, a := &node{before: true, parent: n}, &node{after: true, parent: n}
	for _, selector := range s.pseudo {
		if before == nil && selector.matches(b) {
			before = b
		}
		if after == nil && selector.matches(a) {
			after = a
		}
	}
	return before, after
}

// each calls f with the values that hold for an element, the winning one last.
func (s *sheet) each(n *node, f func(name, value string)) {
	for i := range s.rules {
		if s.rules[i].selector.matches(n) {
			for _, v := range s.rules[i].values {
				f(v.name, s.resolve(v.value))
			}
		}
	}
	if own := n.attributes["style"]; own != "" {
		for _, v := range parseValues(own) {
			f(v.name, s.resolve(v.value))
		}
	}
}

// resolve puts the values of variables in their places.
func (s *sheet) resolve(value string) string {
	for range 10 {
		before, rest, found := strings.Cut(value, "var(")
		if !found {
			break
		}
		name, after, _ := strings.Cut(rest, ")")
		value = before + s.variables[name] + after
	}
	return value
}
