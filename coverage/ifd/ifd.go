// Package ifd lays out image file directories, of which TIFF files are made (TIFF
// 6.0, section 2).
package ifd

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
)

// Header begins a file, little-endian, whose first directory follows it at once.
const Header = "II*\x00\x08\x00\x00\x00"

// Field is a field of a directory, its values in little-endian bytes. What makes
// one is named by its type.
type Field struct {
	tag, kind uint16
	count     int
	data      []byte
}

func Bytes(tag uint16, x ...byte) Field { return Field{tag, 1, len(x), x} }

func ASCII(tag uint16, s string) Field { return Field{tag, 2, len(s) + 1, append([]byte(s), 0)} }

func Shorts(tag uint16, x ...uint16) Field {
	f := Field{tag: tag, kind: 3, count: len(x)}
	for _, n := range x {
		f.data = binary.LittleEndian.AppendUint16(f.data, n)
	}
	return f
}

func Long(tag uint16, x int) Field {
	return Field{tag, 4, 1, binary.LittleEndian.AppendUint32(nil, uint32(x))}
}

// Rationals are fractions, each over and under.
func Rationals(tag uint16, x ...[2]uint32) Field {
	f := Field{tag: tag, kind: 5, count: len(x)}
	for _, n := range x {
		f.data = binary.LittleEndian.AppendUint32(binary.LittleEndian.AppendUint32(f.data, n[0]), n[1])
	}
	return f
}

func Undefined(tag uint16, s string) Field { return Field{tag, 7, len(s), []byte(s)} }

func SignedRational(tag uint16, over, under int32) Field {
	f := Rationals(tag, [2]uint32{uint32(over), uint32(under)})
	f.kind = 10
	return f
}

func Doubles(tag uint16, x ...float64) Field {
	f := Field{tag: tag, kind: 12, count: len(x)}
	for _, n := range x {
		f.data = binary.LittleEndian.AppendUint64(f.data, math.Float64bits(n))
	}
	return f
}

// Point lets the field of a tag, a Long, tell an offset.
func Point(fields []Field, tag uint16, offset int) {
	for i := range fields {
		if fields[i].tag == tag {
			fields[i] = Long(tag, offset)
		}
	}
}

// headSize is that of a directory without the values that do not fit into its fields.
func headSize(fields []Field) int { return 2 + 12*len(fields) + 4 }

// Size is how many bytes a directory takes.
func Size(fields []Field) int {
	size := headSize(fields)
	for _, f := range fields {
		if n := len(f.data); n > 4 {
			size += n + n%2
		}
	}
	return size
}

// Encode lays out one directory that starts at offset, its values behind it
// on even offsets. No other follows it. The fields may come in any order.
func Encode(offset int, fields []Field) []byte {
	fields = slices.SortedFunc(slices.Values(fields), func(a, b Field) int { return cmp.Compare(a.tag, b.tag) })
	le := binary.LittleEndian
	out := le.AppendUint16(nil, uint16(len(fields)))
	var values []byte
	for _, f := range fields {
		out = le.AppendUint16(out, f.tag)
		out = le.AppendUint16(out, f.kind)
		out = le.AppendUint32(out, uint32(f.count))
		if n := len(f.data); n <= 4 {
			out = append(append(out, f.data...), make([]byte, 4-n)...)
		} else {
			out = le.AppendUint32(out, uint32(offset+headSize(fields)+len(values)))
			values = append(append(values, f.data...), make([]byte, n%2)...)
		}
	}
	return append(le.AppendUint32(out, 0), values...)
}
