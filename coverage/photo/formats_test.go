package photo

import (
	"encoding/binary"
	"hash/crc32"
	"slices"
)

var formats = map[string]Format{".jpg": JPEG, ".tif": TIFF, ".dng": DNG, ".heic": HEIF, ".png": PNG}

// blanks is an image without metadata in every format.
func blanks(columns, rows int) map[string][]byte {
	b := builder{binary.BigEndian}
	return map[string][]byte{
		".jpg":  jpegSized(uint16(columns), uint16(rows), segment(0xE0, []byte("JFIF\x00\x01\x02\x00\x00\x01\x00\x01\x00\x00"))),
		".tif":  b.tiff(fields{main: b.picture(columns, rows)}),
		".dng":  b.dng(columns, rows, fields{}),
		".heic": heifOf(columns, rows, nil, ""),
		".png":  pngOf(columns, rows),
	}
}

// picture is the fields of a bilevel image; its data is of no account.
func (b builder) picture(columns, rows int) []rawField {
	return []rawField{
		b.long(0x00FE, 0), b.long(0x0100, uint32(columns)), b.long(0x0101, uint32(rows)), b.short(0x0102, 1), b.short(0x0103, 1), b.short(0x0106, 1),
		b.long(0x0111, 0).withOffset(8), b.short(0x0115, 1), b.long(0x0116, uint32(rows)), b.long(0x0117, 4),
	}
}

// dng has a small image in its main directory, and the raw one, with a border
// of four pixels, in another.
func (b builder) dng(columns, rows int, f fields) []byte {
	sub := append(b.picture(columns+8, rows+8), b.fractions(0xC620, uint32(columns), 1, uint32(rows), 1))
	small := b.picture(160, 120)
	small[0] = b.long(0x00FE, 1)
	f.main = slices.Concat(f.main, small, []rawField{b.raw(0xC612, typeByte, 1, 4, 0, 0)})
	f.sub = sub
	return b.tiff(f)
}

// pngOf is a bilevel PNG image as far as its chunks go.
func pngOf(columns, rows int, chunks ...[]byte) []byte {
	return slices.Concat([]byte(pngSignature), chunkOf("IHDR", append(be32(columns, rows), 1, 0, 0, 0, 0)),
		slices.Concat(chunks...), chunkOf("IDAT", []byte{0x78, 1, 1, 0, 0, 0xFF, 0xFF, 0, 0, 0, 1}), chunkOf("IEND", nil))
}

func chunkOf(kind string, body []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	out = append(append(out, kind...), body...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

// boxOf is a box of ISO/IEC 14496-12.
func boxOf(kind string, parts ...[]byte) []byte {
	body := slices.Concat(parts...)
	out := binary.BigEndian.AppendUint32(nil, uint32(8+len(body)))
	return append(append(out, kind...), body...)
}

func be16(x ...int) (out []byte) {
	for _, v := range x {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	return out
}

func be32(x ...int) (out []byte) {
	for _, v := range x {
		out = binary.BigEndian.AppendUint32(out, uint32(v))
	}
	return out
}

// heifOf is a HEIF file as far as its boxes go: the primary item, and an Exif
// and an XMP item unless they are empty. Its data follows the metadata.
func heifOf(columns, rows int, tiff []byte, packet string) []byte {
	type item struct {
		kind, more string
		data       []byte
	}
	items := []item{{"hvc1", "", make([]byte, 64)}}
	if tiff != nil {
		items = append(items, item{"Exif", "", slices.Concat(be32(6), []byte(exifHeader), tiff)})
	}
	if packet != "" {
		items = append(items, item{"mime", "application/rdf+xml\x00", []byte(packet)})
	}
	build := func(start int) []byte {
		var infes, locations []byte
		at := start
		for i, it := range items {
			infes = append(infes, boxOf("infe", be32(2<<24), be16(i+1, 0), []byte(it.kind), []byte{0}, []byte(it.more))...)
			locations = append(locations, slices.Concat(be16(i+1, 0, 1), be32(at, len(it.data)))...)
			at += len(it.data)
		}
		return boxOf("meta", be32(0),
			boxOf("hdlr", be32(0, 0), []byte("pict"), make([]byte, 13)),
			boxOf("pitm", be32(0), be16(1)),
			boxOf("iinf", be32(0), be16(len(items)), infes),
			boxOf("iprp",
				boxOf("ipco", boxOf("hvcC", make([]byte, 23)), boxOf("ispe", be32(0, columns, rows))),
				boxOf("ipma", be32(0, 1), be16(1), []byte{2, 0x81, 2})),
			boxOf("iloc", be32(0), []byte{0x44, 0}, be16(len(items)), locations))
	}
	head := boxOf("ftyp", []byte("heic"), be32(0), []byte("mif1heic"))
	meta := build(len(head) + len(build(0)) + 8)
	var data []byte
	for _, it := range items {
		data = append(data, it.data...)
	}
	return slices.Concat(head, meta, boxOf("mdat", data))
}
