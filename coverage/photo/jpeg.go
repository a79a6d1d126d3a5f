package photo

import (
	"bytes"
	"errors"
)

// JPEG markers, ITU-T T.81 table B.1, from memory.
const (
	markerTEM  = 0x01
	markerSOF0 = 0xC0
	markerDHT  = 0xC4
	markerJPG  = 0xC8
	markerDAC  = 0xCC
	markerSOF  = 0xCF
	markerRST0 = 0xD0
	markerSOI  = 0xD8
	markerEOI  = 0xD9
	markerSOS  = 0xDA
	markerAPP1 = 0xE1
)

// What an APP1 segment begins with: CIPA DC-008-2019 section 4.7.2 and the XMP
// specification part 3, section 1.1.3; section numbers from memory.
const (
	exifHeader = "Exif\x00\x00"
	xmpHeader  = "http://ns.adobe.com/xap/1.0/\x00"
)

// span is a part of a file.
type span struct{ start, length int64 }

// known tells a part from none: what is sought never begins a file.
func (s span) known() bool { return s.start > 0 }

// found is where the parts of an image file are that matter here.
type found struct {
	format        Format
	exif          span // a TIFF structure
	xmp           span
	deflated      bool // the XMP packet
	columns, rows int  // of the stored image
}

// jpeg walks the segments of a JPEG image up to its image data; beyond the
// first part of the file only for as long as something is missing.
func (w *window) jpeg(wantXMP bool) (found, error) {
	f := found{format: JPEG}
	at := int64(2)
	ended := func() (found, error) {
		switch {
		case w.fault == nil:
			return f, errors.New("cut short: the file ends before its image data")
		case !f.exif.known():
			return f, w.fault
		}
		return f, nil
	}
	for {
		if at > int64(len(w.head)) && f.exif.known() && f.columns > 0 && (f.xmp.known() || !wantXMP) {
			return f, nil
		}
		rest := w.some(at)
		if rest == nil {
			return ended()
		}
		skipped := bytes.IndexByte(rest, 0xFF)
		if skipped < 0 {
			at += int64(len(rest))
			continue
		}
		at += int64(skipped) + 1
		next := w.at(at, 1)
		if next == nil {
			return ended()
		}
		marker := next[0]
		if marker == 0xFF {
			continue // any number of these may fill up the space before a marker
		}
		at++
		switch {
		case marker == 0, marker == markerTEM, marker >= markerRST0 && marker <= markerSOI:
			continue // these stand alone
		case marker == markerEOI:
			return f, errors.New("cut short: it holds no image data")
		}
		length, ok := w.uint16(at)
		if !ok {
			return ended()
		}
		if length < 2 {
			return f, errors.New("damaged: a segment before the image data has no length")
		}
		body := span{at + 2, int64(length) - 2}
		isExif := marker == markerAPP1 && w.begins(body, exifHeader)
		if !w.inside(body.start, body.length) {
			if isExif {
				return f, errors.New("cut short: the file ends inside its metadata")
			}
			return ended()
		}
		at += int64(length)
		switch {
		case marker == markerSOS:
			if w.size == int64(len(w.head)) && !bytes.Contains(w.head[at:], []byte{0xFF, markerEOI}) {
				return f, errors.New("cut short: the image data has no end")
			}
			return f, nil
		case isExif && !f.exif.known():
			f.exif = span{body.start + int64(len(exifHeader)), body.length - int64(len(exifHeader))}
		case marker == markerAPP1 && !f.xmp.known() && w.begins(body, xmpHeader):
			f.xmp = span{body.start + int64(len(xmpHeader)), body.length - int64(len(xmpHeader))}
		case isFrameHeader(marker):
			if size := w.at(body.start+1, 4); size != nil && body.length >= 5 {
				f.rows, f.columns = int(size[0])<<8|int(size[1]), int(size[2])<<8|int(size[3])
			}
		}
	}
}

// begins reports whether a part of the file starts with text.
func (w *window) begins(s span, text string) bool {
	return s.length >= int64(len(text)) && string(w.at(s.start, len(text))) == text
}

func isFrameHeader(marker byte) bool {
	return marker >= markerSOF0 && marker <= markerSOF &&
		marker != markerDHT && marker != markerJPG && marker != markerDAC
}
