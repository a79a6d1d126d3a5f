package photo

import "bytes"

// XMP packets are walked here and not through encoding/xml, which takes longer
// over one of 5 KB than a photo may take altogether. The tests hold this walk
// against that package. It makes no copies, knows no entities but passes them
// on as they stand, and ends at a document type declaration.

// Bounds of an XMP packet.
const (
	mostPacket   = 512 << 10
	mostDepth    = 32
	mostPrefixes = 128
)

const (
	spaceRDF    = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
	spaceExif   = "http://ns.adobe.com/exif/1.0/"
	spaceExifEX = "http://cipa.jp/exif/1.0/"
	spaceTIFF   = "http://ns.adobe.com/tiff/1.0/"
)

// property is a simple property: text without structure. Its value is as it
// stands in the packet, entities and all.
type property struct{ prefix, local, value []byte }

// packet is an XMP packet on its walk.
type packet struct {
	data     []byte
	at       int
	prefixes []binding
	levels   [mostDepth]level
	depth    int
}

type binding struct {
	prefix, space []byte
	depth         int
}

type level struct {
	prefix, local []byte
	kind          levelKind
	content       int  // where it begins
	structured    bool // it holds more than text
}

type levelKind uint8

const (
	outside     levelKind = iota // of the RDF, or deep within a property
	rdf                          // rdf:RDF
	description                  // rdf:Description right in it
	element                      // a property as an element
)

// walk calls visit with every simple property, in order, whether it is written
// as an attribute or as an element. It reports whether the packet is sound.
func (p *packet) walk(data []byte, visit func(property)) bool {
	p.data, p.at, p.depth, p.prefixes = data[:min(len(data), mostPacket)], 0, 0, p.prefixes[:0]
	for {
		open := bytes.IndexByte(p.data[p.at:], '<')
		if open < 0 {
			return p.depth == 0
		}
		p.at += open
		rest := p.data[p.at:]
		ok := false
		switch {
		case bytes.HasPrefix(rest, []byte("<?")):
			ok = p.skip("?>")
		case bytes.HasPrefix(rest, []byte("<!--")):
			p.mark()
			ok = p.skip("-->")
		case bytes.HasPrefix(rest, []byte("<![CDATA[")):
			p.mark()
			ok = p.skip("]]>")
		case bytes.HasPrefix(rest, []byte("<!")):
		case bytes.HasPrefix(rest, []byte("</")):
			ok = p.end(visit)
		default:
			ok = p.start(visit)
		}
		if !ok {
			return false
		}
	}
}

// mark says that the open element holds more than one run of text.
func (p *packet) mark() {
	if p.depth > 0 {
		p.levels[p.depth-1].structured = true
	}
}

func (p *packet) skip(end string) bool {
	i := bytes.Index(p.data[p.at:], []byte(end))
	if i < 0 {
		return false
	}
	p.at += i + len(end)
	return true
}

func (p *packet) end(visit func(property)) bool {
	before := p.at
	length := bytes.IndexByte(p.data[p.at:], '>')
	if length < 0 || p.depth == 0 {
		return false
	}
	prefix, local := splitName(bytes.TrimRight(p.data[p.at+2:p.at+length], " \t\r\n"))
	p.at += length + 1
	p.depth--
	l := p.levels[p.depth]
	if !bytes.Equal(prefix, l.prefix) || !bytes.Equal(local, l.local) {
		return false
	}
	if l.kind == element && !l.structured {
		visit(property{l.prefix, l.local, bytes.TrimSpace(p.data[l.content:before])})
	}
	p.unbind()
	return true
}

// unbind forgets the prefixes of elements that have ended.
func (p *packet) unbind() {
	n := len(p.prefixes)
	for n > 0 && p.prefixes[n-1].depth > p.depth {
		n--
	}
	p.prefixes = p.prefixes[:n]
}

func (p *packet) start(visit func(property)) bool {
	p.mark()
	p.at++
	prefix, local := splitName(p.name())
	if len(local) == 0 || p.depth == mostDepth {
		return false
	}
	l := level{prefix: prefix, local: local}
	var parent levelKind
	if p.depth > 0 {
		parent = p.levels[p.depth-1].kind
	}
	p.depth++
	attributes := p.at
	empty, ok := p.attributes(func(a property) {
		switch {
		case string(a.prefix) == "xmlns":
			p.bind(a.local, a.value)
		case len(a.prefix) == 0 && string(a.local) == "xmlns":
			p.bind(nil, a.value)
		}
	})
	if !ok || len(p.prefixes) > mostPrefixes {
		return false
	}
	isRDF := p.space(prefix) == spaceRDF
	switch {
	case isRDF && string(local) == "RDF":
		l.kind = rdf
	case isRDF && string(local) == "Description" && parent == rdf:
		l.kind = description
		end := p.at
		p.at = attributes
		p.attributes(func(a property) {
			if len(a.prefix) > 0 && string(a.prefix) != "xmlns" && string(a.prefix) != "xml" && p.space(a.prefix) != spaceRDF {
				a.value = bytes.TrimSpace(a.value)
				visit(a)
			}
		})
		p.at = end
	case parent == description:
		l.kind = element
	}
	l.content = p.at
	if empty {
		if l.kind == element {
			visit(property{prefix, local, nil})
		}
		p.depth--
		p.unbind()
		return true
	}
	p.levels[p.depth-1] = l
	return true
}

func (p *packet) bind(prefix, space []byte) {
	if len(p.prefixes) <= mostPrefixes {
		p.prefixes = append(p.prefixes, binding{prefix, space, p.depth})
	}
}

// space is what a prefix stands for at this place.
func (p *packet) space(prefix []byte) string {
	for i := len(p.prefixes) - 1; i >= 0; i-- {
		if bytes.Equal(p.prefixes[i].prefix, prefix) {
			switch s := p.prefixes[i].space; string(s) {
			case spaceRDF:
				return spaceRDF
			case spaceExif:
				return spaceExif
			case spaceExifEX:
				return spaceExifEX
			case spaceTIFF:
				return spaceTIFF
			}
			return ""
		}
	}
	return ""
}

// name reads as far as a name goes.
func (p *packet) name() []byte {
	start := p.at
	for p.at < len(p.data) && !isDelimiter[p.data[p.at]] {
		p.at++
	}
	return p.data[start:p.at]
}

var isDelimiter = func() (is [256]bool) {
	for _, c := range " \t\r\n=/><\"'&" {
		is[c] = true
	}
	return is
}()

func (p *packet) blanks() {
	for p.at < len(p.data) && (p.data[p.at] == ' ' || p.data[p.at] == '\n' || p.data[p.at] == '\t' || p.data[p.at] == '\r') {
		p.at++
	}
}

// attributes reads those of a start tag and its end.
func (p *packet) attributes(each func(property)) (empty, ok bool) {
	for {
		p.blanks()
		rest := p.data[p.at:]
		switch {
		case len(rest) > 0 && rest[0] == '>':
			p.at++
			return false, true
		case len(rest) > 1 && rest[0] == '/' && rest[1] == '>':
			p.at += 2
			return true, true
		}
		prefix, local := splitName(p.name())
		p.blanks()
		if len(local) == 0 || p.at == len(p.data) || p.data[p.at] != '=' {
			return false, false
		}
		p.at++
		p.blanks()
		if p.at == len(p.data) || p.data[p.at] != '"' && p.data[p.at] != '\'' {
			return false, false
		}
		length := bytes.IndexByte(p.data[p.at+1:], p.data[p.at])
		if length < 0 {
			return false, false
		}
		value := p.data[p.at+1:][:length]
		p.at += length + 2
		each(property{prefix, local, value})
	}
}

// splitName takes a name with a colon at its start or end as a whole, as
// encoding/xml does.
func splitName(name []byte) (prefix, local []byte) {
	if i := bytes.IndexByte(name, ':'); i > 0 && i < len(name)-1 {
		return name[:i], name[i+1:]
	}
	return nil, name
}
