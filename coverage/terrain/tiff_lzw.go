package terrain

import (
	"errors"
	"io"
)

// lzwReader unpacks LZW as TIFF 6.0, section 13, has it: the most significant
// bit first, and codes get wider one code earlier than the table needs.
type lzwReader struct {
	r       byteSource
	bits    uint32
	have    uint
	width   uint
	next    int // the code that the table gets next
	last    int // the code before, -1 after a clear
	prefix  [lzwCodes]uint16
	suffix  [lzwCodes]byte
	first   [lzwCodes]byte
	buffer  [lzwCodes]byte
	pending []byte
	err     error
}

const (
	lzwCodes = 4096
	lzwClear = 256
	lzwEnd   = 257
)

type byteSource interface {
	io.ByteReader
	Peek(n int) ([]byte, error)
}

var errLZW = errors.New("an LZW code that cannot be")

func newLZW(r byteSource) (*lzwReader, error) {
	if head, err := r.Peek(2); err == nil && head[0] == 0 && head[1]&1 == 1 {
		return nil, errors.New("it is compressed with the LZW of before TIFF 6.0, which is not read here")
	}
	z := &lzwReader{r: r}
	for i := range 256 {
		z.suffix[i], z.first[i] = byte(i), byte(i)
	}
	z.clear()
	return z, nil
}

func (z *lzwReader) clear() { z.width, z.next, z.last = 9, lzwEnd+1, -1 }

func (z *lzwReader) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		if len(z.pending) == 0 {
			if z.err == nil {
				z.err = z.step()
			}
			if z.err != nil {
				if n > 0 {
					return n, nil
				}
				return 0, z.err
			}
			continue
		}
		k := copy(p[n:], z.pending)
		z.pending = z.pending[k:]
		n += k
	}
	return n, nil
}

// step takes one code and leaves what it stands for in pending.
func (z *lzwReader) step() error {
	for z.have < z.width {
		b, err := z.r.ReadByte()
		if err != nil {
			return err
		}
		z.bits = z.bits<<8 | uint32(b)
		z.have += 8
	}
	z.have -= z.width
	code := int(z.bits >> z.have & (1<<z.width - 1))
	switch {
	case code == lzwClear:
		z.clear()
		return nil
	case code == lzwEnd:
		return io.EOF
	case z.last < 0:
		if code > 255 {
			return errLZW
		}
	case code > z.next || code == z.next && z.next >= lzwCodes:
		return errLZW
	}
	at := len(z.buffer)
	c := code
	if code == z.next { // the one that this very code adds
		at--
		z.buffer[at] = z.first[z.last]
		c = z.last
	}
	for ; c > 255; c = int(z.prefix[c]) {
		at--
		z.buffer[at] = z.suffix[c]
	}
	at--
	z.buffer[at] = byte(c)
	z.pending = z.buffer[at:]
	if z.last >= 0 && z.next < lzwCodes {
		z.prefix[z.next], z.suffix[z.next], z.first[z.next] = uint16(z.last), byte(c), z.first[z.last]
		z.next++
		if z.next == 1<<z.width-1 && z.width < 12 {
			z.width++
		}
	}
	z.last = code
	return nil
}
