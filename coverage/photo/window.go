package photo

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
)

// UsualHead is how many bytes are read of one image beyond its first part,
// unless another bound is given.
const UsualHead = 1_000_000

const (
	mostReads = 64      // beyond the first part
	stride    = 8 << 10 // at least this much is read at a time
	lead      = 1 << 10 // of it before the place that is wanted: values often stand before their directory
)

// window gives access to any part of a file with few reads.
type window struct {
	source io.ReaderAt
	size   int64
	head   []byte  // the file's first bytes
	more   []piece // what was read further on
	most   int     // bytes of it that may be read
	read   int     // bytes of it
	fault  error   // why something could not be read, a clause
}

type piece struct {
	start int64
	data  []byte
}

// open reads the first part of a file, of which most bytes more may be read.
func (w *window) open(source io.ReaderAt, size int64, most int) error {
	w.source, w.size, w.most, w.fault = source, max(size, 0), most, nil
	w.more, w.read = w.more[:0], 0
	if cap(w.head) < FirstRead {
		w.head = make([]byte, FirstRead)
	}
	w.head = w.head[:min(w.size, FirstRead)]
	if w.size == 0 {
		return errors.New("the file is empty")
	}
	n, err := source.ReadAt(w.head, 0)
	w.head = w.head[:n]
	switch {
	case int64(n) == w.size || n == FirstRead:
	case errors.Is(err, io.EOF) && n > 0:
		w.size = int64(n)
	case n == 0 && err != nil:
		return fmt.Errorf("could not be read: %w", plain(err))
	case n == 0:
		return errors.New("could not be read")
	}
	return nil
}

// close lets go of the file, and of large pieces.
func (w *window) close() {
	w.source, w.fault = nil, nil
	if w.read > 4*stride {
		w.more = nil
	}
}

// at returns n bytes from offset on, nil where the file has none or cannot be
// read: then fault says why. They hold until the next open.
func (w *window) at(offset int64, n int) []byte {
	if offset >= 0 && offset <= int64(len(w.head)) && n >= 0 && n <= len(w.head)-int(offset) {
		return w.head[offset : offset+int64(n) : offset+int64(n)]
	}
	if !w.inside(offset, int64(n)) {
		return nil
	}
	for i := len(w.more) - 1; i >= 0; i-- {
		p := w.more[i]
		if from := offset - p.start; from >= 0 && from <= int64(len(p.data)) && n <= len(p.data)-int(from) {
			return p.data[from : from+int64(n) : from+int64(n)]
		}
	}
	return w.fetch(offset, n)
}

// some returns what is at hand from offset on, at least one byte within the
// file.
func (w *window) some(offset int64) []byte {
	if offset >= 0 && offset < int64(len(w.head)) {
		return w.head[offset:]
	}
	if w.at(offset, 1) == nil {
		return nil
	}
	for _, p := range w.more {
		if from := offset - p.start; from >= 0 && from < int64(len(p.data)) {
			return p.data[from:]
		}
	}
	return nil
}

// inside reports whether the file has n bytes from offset on.
func (w *window) inside(offset, n int64) bool {
	return offset >= 0 && offset <= w.size && n >= 0 && n <= w.size-offset
}

// fetch reads n bytes at offset and what stands around them.
func (w *window) fetch(offset int64, n int) []byte {
	if n > w.most-w.read || len(w.more) == mostReads {
		w.fault = fmt.Errorf("unreadable: its metadata is spread over more than %.4g MB (--limit head) or %d places", float64(w.most)/1e6, mostReads)
		return nil
	}
	start := offset
	if n < stride-lead && offset-lead >= int64(len(w.head)) {
		start -= lead
	}
	before := int(offset - start)
	length := min(max(before+n, stride), w.most-w.read)
	if length < before+n {
		start, before = offset, 0
	}
	if rest := w.size - start; int64(length) > rest {
		length = int(rest)
	}
	p := w.next(length)
	p.start = start
	got, err := w.source.ReadAt(p.data, start)
	w.read += length
	p.data = p.data[:max(0, min(got, length))]
	if len(p.data) < before+n {
		if err == nil || errors.Is(err, io.EOF) {
			w.fault = errors.New("cut short: the file ends inside its metadata")
		} else {
			w.fault = fmt.Errorf("could not be read beyond its first %d KiB: %w", start>>10, plain(err))
		}
		return nil
	}
	return p.data[before : before+n : before+n]
}

// next returns one more piece, in the memory of an earlier file's if there is.
func (w *window) next(length int) *piece {
	i := len(w.more)
	if i < cap(w.more) {
		w.more = w.more[:i+1]
	} else {
		w.more = append(w.more, piece{})
	}
	p := &w.more[i]
	if cap(p.data) < length {
		p.data = make([]byte, length)
	}
	p.data = p.data[:length]
	return p
}

// uint16 and uint32 read big-endian numbers.
func (w *window) uint16(offset int64) (uint16, bool) {
	b := w.at(offset, 2)
	if b == nil {
		return 0, false
	}
	return binary.BigEndian.Uint16(b), true
}

func (w *window) uint32(offset int64) (uint32, bool) {
	b := w.at(offset, 4)
	if b == nil {
		return 0, false
	}
	return binary.BigEndian.Uint32(b), true
}

// plain is an error without the path, which stands beside it anyway.
func plain(err error) error {
	var fault *fs.PathError
	if errors.As(err, &fault) {
		return fault.Err
	}
	return err
}
