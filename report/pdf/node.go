package pdf

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"unicode/utf8"
)

// node is an element, or text where it has no tag.
type node struct {
	tag         string
	data        string // of a text
	attributes  map[string]string
	classes     []string
	parent      *node
	previous    *node // elements beside it
	next        *node
	children    []*node
	before      bool // the ::before of its parent
	after       bool
	lastElement *node
}

// Pages of package report are a few levels deep.
const mostLevels = 100

var errTooDeep = errors.New("elements are nested too deep")

// parse reads a page that is well-formed but for the end tags of void elements.
func parse(page []byte) (*node, error) {
	d := xml.NewDecoder(bytes.NewReader(readable(page)))
	d.Strict = false
	d.AutoClose = xml.HTMLAutoClose
	d.Entity = xml.HTMLEntity
	root := &node{tag: "#page"}
	at, level := root, 0
	for {
		token, err := d.Token()
		if err == io.EOF {
			return root, nil
		} else if err != nil {
			return nil, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			if t.Name.Local == "script" {
				if err := d.Skip(); err != nil {
					return nil, err
				}
				continue
			}
			if level++; level > mostLevels {
				return nil, errTooDeep
			}
			n := element(t.Name.Local)
			for _, a := range t.Attr {
				n.attributes[a.Name.Local] = a.Value
			}
			n.classes = strings.Fields(n.attributes["class"])
			at.append(n)
			at = n
		case xml.EndElement:
			level--
			at = at.parent
		case xml.CharData:
			at.append(&node{data: string(t)})
		}
	}
}

// readable replaces what XML does not allow in a text.
func readable(page []byte) []byte {
	return bytes.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xFFFE || r == 0xFFFF {
			return utf8.RuneError
		}
		return r
	}, page)
}

func element(tag string, children ...*node) *node {
	n := &node{tag: tag, attributes: map[string]string{}}
	for _, c := range children {
		n.append(c)
	}
	return n
}

func (n *node) append(child *node) {
	child.parent = n
	if child.tag != "" {
		if last := n.lastElement; last != nil {
			child.previous, last.next = last, child
		}
		n.lastElement = child
	}
	n.children = append(n.children, child)
}

// find is the first element of a tag in n; nil where there is none.
func (n *node) find(tag string) *node {
	for _, c := range n.children {
		if c.tag == tag {
			return c
		}
		if found := c.find(tag); found != nil {
			return found
		}
	}
	return nil
}

// all calls f for n and all that is in it.
func (n *node) all(f func(*node)) {
	f(n)
	for _, c := range n.children {
		c.all(f)
	}
}

// text is all text in n, which may be nil.
func (n *node) text() string {
	if n == nil {
		return ""
	}
	var b strings.Builder
	n.all(func(n *node) { b.WriteString(n.data) })
	return b.String()
}

func (n *node) is(class string) bool {
	for _, c := range n.classes {
		if c == class {
			return true
		}
	}
	return false
}
