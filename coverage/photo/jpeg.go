package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
)

// HeadBytes is how much of the start of a file Decode wants. The Exif segment
// of a JPEG image is at most 64 KiB long and by the standard comes first; the
// rest leaves room for a segment put before it.
const HeadBytes = 128 << 10

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

var exifHeader = []byte("Exif\x00\x00")

// jpegHead is what the segments before the image data hold.
type jpegHead struct {
	exif          []byte // the TIFF structure of the first Exif segment
	columns, rows int    // of the stored image; 0 when its header lies past the head
}

// readHead walks the segments of a JPEG image up to its image data. head is
// the whole file, or at least its first HeadBytes bytes.
func readHead(head []byte) (jpegHead, error) {
	var h jpegHead
	if len(head) == 0 {
		return h, errors.New("the file is empty")
	}
	if !bytes.HasPrefix(head, []byte{0xFF, markerSOI, 0xFF}) {
		return h, errors.New("not a JPEG image")
	}
	whole := len(head) < HeadBytes

	rest := head[2:]
	for {
		start := bytes.IndexByte(rest, 0xFF)
		if start < 0 {
			return h.endOfHead(whole)
		}
		rest = rest[start+1:]
		if len(rest) == 0 {
			return h.endOfHead(whole)
		}
		marker := rest[0]
		if marker == 0xFF {
			continue // any number of these may fill up the space before a marker
		}
		rest = rest[1:]
		switch {
		case marker == 0, marker == markerTEM, marker >= markerRST0 && marker <= markerSOI:
			continue // these stand alone
		case marker == markerEOI:
			return h, errors.New("cut short: it holds no image data")
		}
		if len(rest) < 2 {
			return h.endOfHead(whole)
		}
		length := int(binary.BigEndian.Uint16(rest))
		if length < 2 {
			return h, errors.New("damaged: a segment before the image data has no length")
		}
		isExif := marker == markerAPP1 && bytes.HasPrefix(rest[2:], exifHeader) && length >= 2+len(exifHeader)
		if length > len(rest) {
			if isExif && whole {
				return h, errors.New("cut short: the file ends inside its metadata")
			}
			return h.endOfHead(whole)
		}
		body := rest[2:length]
		rest = rest[length:]
		switch {
		case marker == markerSOS:
			if whole && !bytes.Contains(rest, []byte{0xFF, markerEOI}) {
				return h, errors.New("cut short: the image data has no end")
			}
			return h, h.missing("no Exif metadata")
		case isExif && h.exif == nil:
			h.exif = body[len(exifHeader):]
		case isFrameHeader(marker) && len(body) >= 5:
			h.rows = int(binary.BigEndian.Uint16(body[1:]))
			h.columns = int(binary.BigEndian.Uint16(body[3:]))
		}
	}
}

// endOfHead is the verdict when the bytes run out before the image data.
func (h jpegHead) endOfHead(whole bool) (jpegHead, error) {
	if whole {
		return h, errors.New("cut short: the file ends before its image data")
	}
	return h, h.missing("no Exif metadata in the first 128 KiB")
}

func (h jpegHead) missing(reason string) error {
	if h.exif == nil {
		return errors.New(reason)
	}
	return nil
}

func isFrameHeader(marker byte) bool {
	return marker >= markerSOF0 && marker <= markerSOF &&
		marker != markerDHT && marker != markerJPG && marker != markerDAC
}
