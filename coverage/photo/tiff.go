package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// Field types, TIFF 6.0 section 2; IFD from its supplement 1 and UTF-8 since
// Exif 3.0, both from memory.
const (
	typeByte      = 1
	typeASCII     = 2
	typeShort     = 3
	typeLong      = 4
	typeRational  = 5
	typeUndefined = 7
	typeSRational = 10
	typeIFD       = 13
	typeUTF8      = 129
)

func typeSize(kind uint16) uint64 {
	switch kind {
	case typeByte, typeASCII, typeUndefined, typeUTF8:
		return 1
	case typeShort:
		return 2
	case typeLong, typeIFD:
		return 4
	case typeRational, typeSRational:
		return 8
	}
	return 0
}

// tiff is a TIFF structure that lies somewhere in a file.
type tiff struct {
	file *window
	base int64 // of its offsets
	size int64
	big  bool // its byte order
}

// at returns n bytes from offset on, or nil.
func (t *tiff) at(offset uint32, n uint64) []byte {
	if int64(offset) > t.size || n > uint64(t.size-int64(offset)) || n > uint64(t.file.most) {
		return nil
	}
	return t.file.at(t.base+int64(offset), int(n))
}

func (t *tiff) uint16(b []byte) uint16 {
	if t.big {
		return binary.BigEndian.Uint16(b)
	}
	return binary.LittleEndian.Uint16(b)
}

func (t *tiff) uint32(b []byte) uint32 {
	if t.big {
		return binary.BigEndian.Uint32(b)
	}
	return binary.LittleEndian.Uint32(b)
}

// open reads the header and returns the place of the first directory.
func (t *tiff) open(file *window, base, size int64) (first uint32, err error) {
	t.file, t.base, t.size = file, base, min(size, math.MaxUint32+1)
	if size < 8 {
		return 0, errors.New("it is too short")
	}
	head := t.at(0, 8)
	switch {
	case head == nil:
		return 0, errors.New("it is out of reach")
	case string(head[:4]) == "II*\x00":
		t.big = false
	case string(head[:4]) == "MM\x00*":
		t.big = true
	case string(head[:4]) == "II+\x00" || string(head[:4]) == "MM\x00+":
		return 0, errors.New("it is a BigTIFF file")
	default:
		return 0, errors.New("its byte order is not stated")
	}
	return t.uint32(head[4:]), nil
}

// directory holds the fields of one IFD, as the file has them.
type directory struct {
	tiff    *tiff
	entries []byte
}

const (
	entrySize  = 12
	mostFields = 5000 // within a directory; cameras write less than 100
)

// directory reads the IFD at offset.
func (t *tiff) directory(offset uint32) (directory, error) {
	head := t.at(offset, 2)
	if offset < 8 || head == nil {
		return directory{}, errors.New("a directory lies outside it")
	}
	count := uint64(t.uint16(head))
	if uint64(offset)+2+count*entrySize > uint64(t.size) {
		return directory{}, errors.New("a directory is cut short")
	}
	if count > mostFields {
		return directory{}, fmt.Errorf("a directory has %d fields, more than %d", count, mostFields)
	}
	entries := t.at(offset+2, count*entrySize)
	if entries == nil {
		return directory{}, errors.New("a directory is out of reach")
	}
	return directory{t, entries}, nil
}

// field is one tag's value: as many bytes as its count asks for, the first
// four of which stand in place or tell where they all are.
type field struct {
	kind   uint16
	length uint64
	value  []byte
}

// field finds a tag. A field whose type is unknown, whose value reaches outside
// the structure, or that comes twice with different values counts as
// unreadable: its length is 0.
func (d directory) field(tag uint16) (field, bool) {
	var low, high byte
	if d.tiff != nil && d.tiff.big {
		low, high = byte(tag>>8), byte(tag)
	} else {
		low, high = byte(tag), byte(tag>>8)
	}
	var found []byte
	for e := d.entries; len(e) >= entrySize; e = e[entrySize:] {
		if e[0] != low || e[1] != high {
			continue
		}
		if found != nil && !bytes.Equal(found, e[:entrySize]) {
			return field{}, true
		}
		found = e[:entrySize]
	}
	if found == nil {
		return field{}, false
	}
	f := field{kind: d.tiff.uint16(found[2:]), value: found[8:]}
	f.length = typeSize(f.kind) * uint64(d.tiff.uint32(found[4:]))
	if f.length > 4 {
		if at := d.tiff.uint32(f.value); at < 8 || uint64(at)+f.length > uint64(d.tiff.size) {
			f.length = 0
		}
	}
	return f, true
}

// bytes returns the first n bytes of a field's value, nil when it has less.
func (d directory) bytes(f field, n uint64) []byte {
	switch {
	case f.length < n || n == 0:
		return nil
	case f.length <= 4:
		return f.value[:n]
	}
	return d.tiff.at(d.tiff.uint32(f.value), n)
}

// has reports whether the tag is present, readable or not.
func (d directory) has(tag uint16) bool {
	_, ok := d.field(tag)
	return ok
}

const longestText = 128

// text returns a string's bytes without its padding.
func (d directory) text(tag uint16) []byte {
	f, _ := d.field(tag)
	if f.kind != typeASCII && f.kind != typeUTF8 {
		return nil
	}
	before, _, _ := bytes.Cut(d.bytes(f, min(f.length, longestText)), []byte{0})
	return bytes.TrimSpace(before)
}

// letter returns a string of one letter in upper case, 0 for any other.
func (d directory) letter(tag uint16) byte {
	s := d.text(tag)
	if len(s) != 1 {
		return 0
	}
	if s[0] >= 'a' && s[0] <= 'z' {
		return s[0] - 'a' + 'A'
	}
	return s[0]
}

// integer returns a single BYTE, SHORT, LONG or IFD.
func (d directory) integer(tag uint16) (uint32, bool) {
	f, _ := d.field(tag)
	if f.length != typeSize(f.kind) {
		return 0, false
	}
	return d.integerAt(f, 0)
}

// integerAt returns the ith of a field's integers.
func (d directory) integerAt(f field, i uint64) (uint32, bool) {
	size := typeSize(f.kind)
	b := d.bytes(f, size*(i+1))
	if b == nil {
		return 0, false
	}
	b = b[size*i:]
	switch f.kind {
	case typeByte:
		return uint32(b[0]), true
	case typeShort:
		return uint32(d.tiff.uint16(b)), true
	case typeLong, typeIFD:
		return d.tiff.uint32(b), true
	}
	return 0, false
}

// rationals returns n numbers, at most 3, unless the tag does not hold exactly
// that many. A number whose denominator is 0 is NaN.
func (d directory) rationals(tag uint16, n int) (values [3]float64, ok bool) {
	f, _ := d.field(tag)
	if f.kind != typeRational && f.kind != typeSRational || f.length != uint64(n)*8 {
		return values, false
	}
	data := d.bytes(f, f.length)
	if data == nil {
		return values, false
	}
	for i := range n {
		values[i] = d.tiff.rational(data[i*8:], f.kind)
	}
	return values, true
}

func (t *tiff) rational(data []byte, kind uint16) float64 {
	top, bottom := t.uint32(data), t.uint32(data[4:])
	switch {
	case bottom == 0:
		return math.NaN()
	case kind == typeRational:
		return float64(top) / float64(bottom)
	case bottom == math.MaxUint32:
		return math.NaN() // "unknown" in Exif 2.31 and later, from memory
	}
	return float64(int32(top)) / float64(int32(bottom))
}

// rational returns one number, NaN when it is absent or its denominator is 0.
func (d directory) rational(tag uint16) float64 {
	if v, ok := d.rationals(tag, 1); ok {
		return v[0]
	}
	return math.NaN()
}
