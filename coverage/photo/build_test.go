package photo

import (
	"encoding/binary"
	"slices"
)

// The builder here shares nothing with Encode: it lays out either byte order
// and can lie about types, counts and offsets.

type byteOrder interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

type rawField struct {
	tag, kind uint16
	count     uint32
	data      []byte  // in the file's byte order
	offset    *uint32 // written in place of the true one
}

func (f rawField) withCount(n uint32) rawField { f.count = n; return f }
func (f rawField) withOffset(n uint32) rawField {
	f.offset = &n
	return f
}
func (f rawField) withKind(kind uint16) rawField { f.kind = kind; return f }

// builder makes fields in one byte order.
type builder struct{ order byteOrder }

func (b builder) text(tag uint16, s string) rawField {
	return rawField{tag: tag, kind: 2, count: uint32(len(s) + 1), data: append([]byte(s), 0)}
}

func (b builder) raw(tag, kind uint16, data ...byte) rawField {
	return rawField{tag: tag, kind: kind, count: uint32(len(data)), data: data}
}

func (b builder) short(tag uint16, x uint16) rawField {
	return rawField{tag: tag, kind: 3, count: 1, data: b.order.AppendUint16(nil, x)}
}

func (b builder) long(tag uint16, x uint32) rawField {
	return rawField{tag: tag, kind: 4, count: 1, data: b.order.AppendUint32(nil, x)}
}

// fractions takes numerators and denominators in turn.
func (b builder) fractions(tag uint16, parts ...uint32) rawField {
	f := rawField{tag: tag, kind: 5, count: uint32(len(parts) / 2)}
	for _, x := range parts {
		f.data = b.order.AppendUint32(f.data, x)
	}
	return f
}

func (b builder) signed(tag uint16, parts ...int32) rawField {
	f := rawField{tag: tag, kind: 10, count: uint32(len(parts) / 2)}
	for _, x := range parts {
		f.data = b.order.AppendUint32(f.data, uint32(x))
	}
	return f
}

// fields holds what goes into the directories. A nil one is left out.
type fields struct{ main, exif, gps, sub []rawField }

// pittsburgh is 40°26'46"N 79°58'56"W.
func (b builder) pittsburgh() []rawField {
	return []rawField{
		b.text(1, "N"), b.fractions(2, 40, 1, 26, 1, 46, 1),
		b.text(3, "W"), b.fractions(4, 79, 1, 58, 1, 56, 1),
	}
}

// tiff puts the camera and position directories before the main one, so that
// a reader that expects ascending offsets fails.
func (b builder) tiff(f fields) []byte {
	mark := "II"
	if b.order == byteOrder(binary.BigEndian) {
		mark = "MM"
	}
	out := b.order.AppendUint16([]byte(mark), 42)
	out = append(out, 0, 0, 0, 0)
	main := slices.Clone(f.main)
	if f.exif != nil {
		main = append(main, b.long(0x8769, uint32(len(out))))
		out = b.directory(out, f.exif)
	}
	if f.gps != nil {
		main = append(main, b.long(0x8825, uint32(len(out))))
		out = b.directory(out, f.gps)
	}
	if f.sub != nil {
		main = append(main, b.long(0x014A, uint32(len(out))))
		out = b.directory(out, f.sub)
	}
	b.order.PutUint32(out[4:], uint32(len(out)))
	return b.directory(out, main)
}

func (b builder) directory(out []byte, fs []rawField) []byte {
	values := len(out) + 2 + 12*len(fs) + 4
	var tail []byte
	out = b.order.AppendUint16(out, uint16(len(fs)))
	for _, f := range fs {
		out = b.order.AppendUint16(out, f.tag)
		out = b.order.AppendUint16(out, f.kind)
		out = b.order.AppendUint32(out, f.count)
		switch {
		case f.offset != nil:
			out = b.order.AppendUint32(out, *f.offset)
		case len(f.data) <= 4:
			out = append(out, f.data...)
			out = append(out, make([]byte, 4-len(f.data))...)
		default:
			out = b.order.AppendUint32(out, uint32(values+len(tail)))
			tail = append(tail, f.data...)
			tail = append(tail, make([]byte, len(f.data)%2)...)
		}
	}
	out = append(out, 0, 0, 0, 0)
	return append(out, tail...)
}

func segment(marker byte, body []byte) []byte {
	size := len(body) + 2
	return append([]byte{0xFF, marker, byte(size >> 8), byte(size)}, body...)
}

func exifSegment(tiff []byte) []byte {
	return segment(0xE1, append([]byte("Exif\x00\x00"), tiff...))
}

// jpegOf is a JPEG image of 40 × 30 pixels as far as its segments go.
func jpegOf(segments ...[]byte) []byte { return jpegSized(40, 30, segments...) }

func jpegSized(columns, rows uint16, segments ...[]byte) []byte {
	out := []byte{0xFF, 0xD8}
	for _, s := range segments {
		out = append(out, s...)
	}
	out = append(out, segment(0xC0, []byte{8, byte(rows >> 8), byte(rows), byte(columns >> 8), byte(columns), 1, 1, 0x11, 0})...)
	out = append(out, segment(0xDA, []byte{1, 1, 0, 0, 63, 0})...)
	return append(out, 0x12, 0x34, 0xFF, 0xD9)
}

var bothOrders = map[string]builder{
	"little-endian": {binary.LittleEndian},
	"big-endian":    {binary.BigEndian},
}
