package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"
)

// PNG, third edition (W3C): signature 5.2, chunks 5.3, IHDR 11.2.1, iTXt 11.3.3,
// eXIf 11.3.4; section numbers from memory.
const (
	pngSignature = "\x89PNG\r\n\x1a\n"
	pngPacket    = "XML:com.adobe.xmp\x00"
	chunkFrame   = 12 // length, type and checksum
)

// png walks the chunks of a PNG image. Metadata may follow the image data,
// which can be thousands of chunks: then it is sought from the end of the file.
func (w *window) png(wantXMP bool) (found, error) {
	f := found{format: PNG}
	at := int64(len(pngSignature))
	for first := true; ; first = false {
		head := w.at(at, 8)
		if head == nil {
			return f, w.or("cut short: the file ends before its last chunk")
		}
		length, kind := int64(binary.BigEndian.Uint32(head)), string(head[4:])
		switch {
		case length > 1<<31-1:
			return f, errors.New("damaged: a chunk has an impossible length")
		case first && (kind != "IHDR" || length != 13):
			return f, errors.New("damaged: it does not begin with its size")
		case !w.inside(at, length+chunkFrame):
			return f, w.or("cut short: the file ends inside a chunk")
		}
		if kind == "IEND" {
			return f, nil
		}
		w.chunk(&f, kind, span{at + 8, length})
		if f.exif.known() && (f.xmp.known() || !wantXMP) {
			return f, nil
		}
		at += length + chunkFrame
		if kind == "IDAT" && at > int64(len(w.head)) {
			w.pngTail(&f, at)
			return f, nil
		}
	}
}

// chunk notes what a chunk is good for.
func (w *window) chunk(f *found, kind string, body span) {
	switch kind {
	case "IHDR":
		columns, _ := w.uint32(body.start)
		rows, _ := w.uint32(body.start + 4)
		if columns <= mostPixels && rows <= mostPixels {
			f.columns, f.rows = int(columns), int(rows)
		}
	case "eXIf":
		if !f.exif.known() {
			f.exif = body
			if w.begins(body, exifHeader) { // some writers leave it in
				f.exif = span{body.start + int64(len(exifHeader)), body.length - int64(len(exifHeader))}
			}
		}
	case "iTXt":
		if f.xmp.known() || !w.begins(body, pngPacket) {
			return
		}
		flags := int64(len(pngPacket))
		head := w.at(body.start, int(min(body.length, 1024)))
		if int64(len(head)) < flags+2 {
			return
		}
		text := flags + 2
		for range 2 { // a language and a translated keyword
			end := bytes.IndexByte(head[text:], 0)
			if end < 0 {
				return
			}
			text += int64(end) + 1
		}
		f.deflated = head[flags] == 1
		f.xmp = span{body.start + text, body.length - text}
	}
}

// pngTail seeks chunks of metadata in the last part of the file. One counts
// when its checksum holds.
func (w *window) pngTail(f *found, from int64) {
	const tail = 128 << 10
	from = max(from, w.size-tail)
	data := w.at(from, int(w.size-from))
	const mostCandidates = 64
	for _, kind := range []string{"eXIf", "iTXt"} {
		at := -1
		for range mostCandidates {
			at++
			next := bytes.Index(data[at:], []byte(kind))
			if next < 0 {
				break
			}
			at += next
			if at < 4 {
				continue
			}
			length := uint64(binary.BigEndian.Uint32(data[at-4:]))
			if uint64(at)+8+length > uint64(len(data)) {
				continue
			}
			end := at + 4 + int(length)
			if crc32.ChecksumIEEE(data[at:end]) == binary.BigEndian.Uint32(data[end:]) {
				w.chunk(f, kind, span{from + int64(at) + 4, int64(length)})
			}
		}
	}
}

// inflate unpacks a packet within its bounds, nil when it cannot be.
func inflate(data []byte) []byte {
	z, err := zlib.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil
	}
	defer z.Close()
	out, err := io.ReadAll(io.LimitReader(z, mostPacket))
	if err != nil {
		return nil
	}
	return out
}
