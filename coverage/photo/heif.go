package photo

import (
	"encoding/binary"
	"errors"
	"fmt"
	"strings"
)

// HEIF, ISO/IEC 23008-12, in the boxes of ISO/IEC 14496-12: there iinf 8.11.6,
// iloc 8.11.3, pitm 8.11.4 and idat 8.11.11; properties in 23008-12, 9.3 and 6.5.
// Section numbers from memory.

const (
	mostBoxes = 4096
	mostItems = 4096
)

type box struct {
	kind string // four letters
	body span
}

// box reads the box at a place of which the surrounding ends at end, and
// returns where the next one begins.
func (w *window) box(at, end int64) (b box, next int64, err error) {
	head := w.at(at, 8)
	if head == nil || at+8 > end {
		return b, 0, w.or("cut short: the file ends inside a box")
	}
	length, header := int64(binary.BigEndian.Uint32(head)), int64(8)
	kind := string(head[4:8])
	switch length {
	case 0: // up to the end
		length = end - at
	case 1:
		large := w.at(at+8, 8)
		if large == nil {
			return b, 0, w.or("cut short: the file ends inside a box")
		}
		length, header = int64(binary.BigEndian.Uint64(large)), 16
	}
	if length < header {
		return b, 0, fmt.Errorf("damaged: a box %.20q has an impossible length", kind)
	}
	if length > end-at {
		return b, 0, w.or("cut short: the file ends inside a box")
	}
	return box{kind, span{at + header, length - header}}, at + length, nil
}

// boxes calls each with the boxes of a part of the file.
func (w *window) boxes(s span, each func(box) (more bool)) error {
	at, end := s.start, s.start+s.length
	for range mostBoxes {
		if at == end {
			return nil
		}
		b, next, err := w.box(at, end)
		if err != nil {
			return err
		}
		if !each(b) {
			return nil
		}
		at = next
	}
	return fmt.Errorf("damaged: it has more than %d boxes", mostBoxes)
}

// or is the fault in reading, and text where there is none.
func (w *window) or(text string) error {
	if w.fault != nil {
		return w.fault
	}
	return errors.New(text)
}

// isHEIF reports whether a file says of itself that it is one.
func (w *window) isHEIF() bool {
	head := w.at(0, 12)
	if head == nil || string(head[4:8]) != "ftyp" {
		return false
	}
	length := min(int64(binary.BigEndian.Uint32(head)), 256, w.size)
	for at := int64(8); at+4 <= length; at += 4 {
		switch string(w.at(at, 4)) {
		case "mif1", "mif2", "msf1", "heic", "heix", "heim", "heis", "hevc", "hevx", "avif":
			return true
		}
	}
	return false
}

// heif is what the boxes of a HEIF file say.
type heif struct {
	file               *window
	primary, exif, xmp uint32 // items, 0 for none
	data               span   // the box idat
	locations          span   // the box iloc
	properties, links  span   // the boxes ipco and ipma
}

func (w *window) heif() (found, error) {
	f := found{format: HEIF}
	h := heif{file: w}
	seen := false
	err := w.boxes(span{0, w.size}, func(b box) bool {
		seen = b.kind == "meta"
		if seen {
			h.read(b.body)
		}
		return !seen
	})
	if err == nil && !seen {
		err = errors.New("damaged: it has no metadata box")
	}
	if err == nil {
		err = w.fault
	}
	if err != nil {
		return f, err
	}
	f.columns, f.rows = h.size()
	if h.xmp != 0 {
		f.xmp, _ = h.locate(h.xmp)
	}
	if h.exif == 0 {
		return f, nil
	}
	s, err := h.locate(h.exif)
	if err != nil {
		return f, err
	}
	// Annex A.2.1: the item begins with the distance of the TIFF structure.
	skip, ok := w.uint32(s.start)
	if !ok || int64(skip) > s.length-4 {
		return f, w.or("damaged: its Exif item is cut short")
	}
	f.exif = span{s.start + 4 + int64(skip), s.length - 4 - int64(skip)}
	if skip == 0 && w.begins(f.exif, exifHeader) { // some writers leave it in
		f.exif.start += int64(len(exifHeader))
		f.exif.length -= int64(len(exifHeader))
	}
	return f, nil
}

// full is the version of a box that has one, and what follows it.
func (h *heif) full(s span) (version byte, flags uint32, rest span) {
	head, ok := h.file.uint32(s.start)
	if !ok || s.length < 4 {
		return 255, 0, span{}
	}
	return byte(head >> 24), head & 0xFFFFFF, span{s.start + 4, s.length - 4}
}

// read takes the metadata box. Faults within it leave things unknown.
func (h *heif) read(meta span) {
	_, _, children := h.full(meta)
	h.file.boxes(children, func(b box) bool {
		switch b.kind {
		case "pitm":
			version, _, rest := h.full(b.body)
			h.primary, _ = h.number(&rest, idSize(version == 0))
		case "iinf":
			h.items(b.body)
		case "iloc":
			h.locations = b.body
		case "idat":
			h.data = b.body
		case "iprp":
			h.file.boxes(b.body, func(b box) bool {
				switch b.kind {
				case "ipco":
					h.properties = b.body
				case "ipma":
					h.links = b.body
				}
				return true
			})
		}
		return true
	})
}

func idSize(short bool) int {
	if short {
		return 2
	}
	return 4
}

// number takes a number of so many bytes, at most 4, from the start of s;
// offset one of at most 8.
func (h *heif) number(s *span, size int) (uint32, bool) {
	x, ok := h.offset(s, size)
	return uint32(x), ok && x < 1<<32
}

func (h *heif) offset(s *span, size int) (x int64, ok bool) {
	b := h.file.at(s.start, size)
	if b == nil || int64(size) > s.length {
		*s = span{}
		return 0, false
	}
	s.start += int64(size)
	s.length -= int64(size)
	for _, c := range b {
		x = x<<8 | int64(c)
	}
	return x, x >= 0
}

// items finds the first Exif item and the first XMP one.
func (h *heif) items(s span) {
	version, _, rest := h.full(s)
	if _, ok := h.number(&rest, idSize(version == 0)); !ok {
		return
	}
	h.file.boxes(rest, func(b box) bool {
		version, _, rest := h.full(b.body)
		if b.kind != "infe" || version != 2 && version != 3 {
			return true
		}
		id, _ := h.number(&rest, idSize(version == 2))
		h.number(&rest, 2) // protection
		kind, ok := h.number(&rest, 4)
		switch {
		case !ok:
		case kind == 'E'<<24|'x'<<16|'i'<<8|'f' && h.exif == 0:
			h.exif = id
		case kind == 'm'<<24|'i'<<16|'m'<<8|'e' && h.xmp == 0:
			const most = 256
			text := string(h.file.at(rest.start, int(min(rest.length, most))))
			if i := strings.IndexByte(text, 0); i >= 0 && strings.HasPrefix(text[i+1:], "application/rdf+xml\x00") {
				h.xmp = id
			}
		}
		return true
	})
}

// locate finds where an item's data is.
func (h *heif) locate(item uint32) (span, error) {
	version, _, rest := h.full(h.locations)
	sizes, _ := h.number(&rest, 2)
	offsetSize, lengthSize := int(sizes>>12), int(sizes>>8&15)
	baseSize, indexSize := int(sizes>>4&15), int(sizes&15)
	if version == 0 {
		indexSize = 0
	}
	count, ok := h.number(&rest, idSize(version < 2))
	if !ok || version > 2 || max(offsetSize, lengthSize, baseSize, indexSize) > 8 {
		return span{}, h.file.or("damaged: it does not say where its metadata is")
	}
	for range min(count, mostItems) {
		id, _ := h.number(&rest, idSize(version < 2))
		method := uint32(0)
		if version > 0 {
			method, _ = h.number(&rest, 2)
			method &= 15
		}
		h.number(&rest, 2) // data reference
		base, _ := h.offset(&rest, baseSize)
		extents, ok := h.number(&rest, 2)
		if !ok {
			break
		}
		if id != item {
			each := int64(indexSize + offsetSize + lengthSize)
			skip := each * int64(extents)
			if skip > rest.length {
				break
			}
			rest.start += skip
			rest.length -= skip
			continue
		}
		h.number(&rest, indexSize)
		offset, _ := h.offset(&rest, offsetSize)
		length, ok := h.offset(&rest, lengthSize)
		area := span{0, h.file.size}
		switch {
		case !ok || extents == 0 || method > 1:
			return span{}, h.file.or("damaged: it does not say where its metadata is")
		case extents > 1:
			return span{}, errors.New("unreadable: its metadata is in several pieces")
		case method == 1:
			area = h.data
		}
		if base > area.length || offset > area.length-base {
			return span{}, errors.New("damaged: its metadata lies outside it")
		}
		left := area.length - base - offset
		if length == 0 {
			length = left
		}
		if length > left {
			return span{}, errors.New("damaged: its metadata lies outside it")
		}
		return span{area.start + base + offset, length}, nil
	}
	return span{}, h.file.or("damaged: it does not say where its metadata is")
}

// size is the spatial extent of the primary item before any turn that the file
// asks for, 0 when it is not said.
func (h *heif) size() (columns, rows int) {
	version, flags, rest := h.full(h.links)
	count, ok := h.number(&rest, 4)
	if !ok {
		return 0, 0
	}
	for range min(count, mostItems) {
		id, _ := h.number(&rest, idSize(version == 0))
		links, ok := h.number(&rest, 1)
		if !ok {
			return 0, 0
		}
		for range links {
			const essential = 1 // the top bit
			size, mask := 1, uint32(0xFF>>essential)
			if flags&1 != 0 {
				size, mask = 2, 0xFFFF>>essential
			}
			index, ok := h.number(&rest, size)
			if ok && id == h.primary {
				if columns, rows, ok := h.extent(index & mask); ok {
					return columns, rows
				}
			}
		}
		if id == h.primary {
			break
		}
	}
	return 0, 0
}

// extent reads the property with an index, which counts from 1, if it is one
// of size.
func (h *heif) extent(index uint32) (columns, rows int, ok bool) {
	i := uint32(0)
	h.file.boxes(h.properties, func(b box) bool {
		if i++; i < index {
			return true
		}
		if b.kind == "ispe" {
			_, _, rest := h.full(b.body)
			x, _ := h.number(&rest, 4)
			var y uint32
			y, ok = h.number(&rest, 4)
			ok = ok && x > 0 && y > 0 && x <= mostPixels && y <= mostPixels
			columns, rows = int(x), int(y)
		}
		return false
	})
	return columns, rows, ok
}
