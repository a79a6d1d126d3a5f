package boundary

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
)

// xmlWalk steps through XML element by element. Namespaces are not looked at:
// files in use carry that of the standard, older ones, or none.
type xmlWalk struct {
	*reading
	in         *bytes.Reader // of the whole text; the decoder takes single bytes from it
	dec        *xml.Decoder
	base       int64 // how far the decoder's own count lags behind
	depth      int
	attributes []xml.Attr // of the element that was just begun
	buf        []byte     // the text of the element at hand
}

// readXML reads the KML or GPX whose first character stands at start, and says
// which it is.
func readXML(r *reading, start int) (format string, err error) {
	x := &xmlWalk{reading: r, in: bytes.NewReader(r.src.data), base: int64(start)}
	x.in.Seek(x.base, io.SeekStart)
	x.dec = xml.NewDecoder(x.in)
	x.dec.Entity = xml.HTMLEntity // descriptions are full of them; no other entity is expanded
	x.dec.CharsetReader = func(_ string, text io.Reader) (io.Reader, error) {
		return text, nil // the text is UTF-8 by now, whatever it declares
	}
	for {
		token, at, err := x.token()
		if err != nil {
			return "", err
		}
		root, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		x.attributes = root.Attr
		switch name := root.Name.Local; {
		case name == "kml":
			return "KML", readKML(x)
		case name == "gpx":
			return readGPX(x)
		case strings.EqualFold(name, "html"):
			return "", x.fault(at, "this is a web page, not a boundary file; perhaps a page was saved in place of the file it links to")
		default:
			return "", x.fault(at, "this XML file begins with <%s>; a KML file begins with <kml>, a GPX file with <gpx>", printable(name, 40))
		}
	}
}

// offset is where the next token begins.
func (x *xmlWalk) offset() int64 { return x.base + x.dec.InputOffset() }

// jump makes the decoder go on at an offset, where its element has to go on.
func (x *xmlWalk) jump(to int64) {
	x.base += to - x.offset()
	x.in.Seek(to, io.SeekStart)
}

// token returns the next token and the offset at which it begins.
func (x *xmlWalk) token() (xml.Token, int64, error) {
	at := x.offset()
	token, err := x.dec.Token()
	if err == nil {
		return token, at, nil
	}
	var broken *xml.SyntaxError
	switch end := x.offset(); {
	case errors.Is(err, io.EOF):
		return nil, at, x.fault(end, "the file ends before any element begins")
	case errors.As(err, &broken) && broken.Msg == "unexpected EOF":
		return nil, at, x.fault(end, "the file ends in the middle; it may be cut off")
	case errors.As(err, &broken):
		return nil, at, x.fault(end, "the XML is damaged here: %s", printable(broken.Msg, 120))
	default:
		return nil, at, x.fault(end, "the XML is damaged here: %s", printable(err.Error(), 120))
	}
}

// children calls visit for each element inside the one that was just begun,
// and returns at its end. visit has to read its element to the end.
func (x *xmlWalk) children(visit func(name string, at int64) error) error {
	x.depth++
	defer func() { x.depth-- }()
	for {
		token, at, err := x.token()
		if err != nil {
			return err
		}
		switch token := token.(type) {
		case xml.EndElement:
			return nil
		case xml.StartElement:
			if x.depth >= x.lim.Depth {
				return x.fault(at, "elements lie more than the limit of %d inside one another (--limit depth)", x.lim.Depth)
			}
			x.attributes = token.Attr
			if err := visit(token.Name.Local, at); err != nil {
				return err
			}
		}
	}
}

func (x *xmlWalk) skip(string, int64) error { return x.children(x.skip) }

// text reads the characters of the element that was just begun, and the
// offset at which they begin.
func (x *xmlWalk) text() (text []byte, start int64, err error) {
	x.buf = x.buf[:0]
	start = -1
	x.depth++
	defer func() { x.depth-- }()
	for {
		token, at, err := x.token()
		if err != nil {
			return nil, 0, err
		}
		if start < 0 {
			start = at
		}
		switch token := token.(type) {
		case xml.CharData:
			x.buf = append(x.buf, token...)
		case xml.EndElement:
			return x.buf, start, nil
		case xml.StartElement:
			if err := x.skip("", at); err != nil {
				return nil, 0, err
			}
		}
	}
}
