package terrain

import (
	"bufio"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"math"
)

// image is one image of a TIFF file with one number a cell, cut into blocks:
// tiles, or strips as wide as the image.
type image struct {
	t                       *tiff
	width, length           int
	bits, format            int
	compression, predictor  int
	blockWidth, blockLength int
	across                  int // blocks side by side
	strips                  bool
	offsets, sizes          []int64
	most                    int64 // cells that may be unpacked for one window
}

// Values of the tags, of TIFF 6.0 and its technical notes 2 and 3.
const (
	formatUnsigned = 1
	formatSigned   = 2
	formatFloat    = 3

	uncompressed = 1
	lzw          = 5
	deflate      = 8
	deflateOld   = 32946

	predictorNone  = 1
	predictorWhole = 2
	predictorFloat = 3
)

var compressionNames = map[int64]string{
	2: "CCITT", 3: "CCITT", 4: "CCITT", 6: "JPEG", 7: "JPEG", 32773: "PackBits", 34712: "JPEG 2000",
	34887: "LERC", 34925: "LZMA", 50000: "Zstandard", 50001: "WebP", 50002: "JPEG XL",
}

func (t *tiff) image(d directory, lim Limits) (*image, error) {
	var failed error
	field := func(tag uint16, otherwise int64) int64 {
		x, err := t.whole(d, tag, otherwise)
		failed = errors.Join(failed, err)
		return x
	}
	width, length := field(tagWidth, 0), field(tagLength, 0)
	bits, format := field(tagBits, 1), field(tagSampleFormat, formatUnsigned)
	compression, predictor := field(tagCompression, uncompressed), field(tagPredictor, predictorNone)
	samples, fill := field(tagSamples, 1), field(tagFillOrder, 1)
	tileWidth, tileLength := field(tagTileWidth, 0), field(tagTileLength, 0)
	rows := field(tagRowsPerStrip, math.MaxUint32)
	if failed != nil {
		return nil, errTIFF
	}
	if width < 1 || length < 1 {
		return nil, errTIFF
	}
	if width > int64(lim.Side) || length > int64(lim.Side) {
		return nil, fmt.Errorf("is %d × %d cells large; %d a side are the limit", width, length, lim.Side)
	}
	if samples != 1 {
		return nil, fmt.Errorf("holds %d numbers a cell, as pictures do; an elevation file holds one", samples)
	}
	switch kind := [2]int64{bits, format}; kind {
	case [2]int64{1, formatUnsigned}, [2]int64{8, formatUnsigned},
		[2]int64{16, formatUnsigned}, [2]int64{16, formatSigned}, [2]int64{32, formatUnsigned}, [2]int64{32, formatSigned},
		[2]int64{32, formatFloat}, [2]int64{64, formatFloat}:
	default:
		return nil, fmt.Errorf("holds numbers of a type that is not read here (%d bits, format %d); 16 and 32 bit whole numbers and 32 and 64 bit floating-point numbers are", bits, format)
	}
	switch compression {
	case uncompressed:
		predictor = predictorNone // which goes with a compression only
	case lzw, deflate, deflateOld:
	default:
		name := compressionNames[compression]
		if name == "" {
			name = fmt.Sprintf("method %d", compression)
		}
		return nil, fmt.Errorf("is compressed with %s, which is not read here: please write it with DEFLATE or LZW, or without compression", name)
	}
	if predictor < predictorNone || predictor > predictorFloat || predictor == predictorFloat && format != formatFloat || predictor != predictorNone && bits < 16 || fill != 1 {
		return nil, fmt.Errorf("is written in a way that is not read here (predictor %d, fill order %d)", predictor, fill)
	}
	m := &image{
		t: t, width: int(width), length: int(length), bits: int(bits), format: int(format),
		compression: int(compression), predictor: int(predictor),
		most: 4 * int64(lim.Cells),
	}
	offsetsTag, sizesTag := uint16(tagTileOffsets), uint16(tagTileByteCounts)
	if _, tiled := d[tagTileOffsets]; tiled {
		if tileWidth < 1 || tileLength < 1 || tileWidth > int64(lim.Side) || tileLength > int64(lim.Side) {
			return nil, errTIFF
		}
		m.blockWidth, m.blockLength = int(tileWidth), int(tileLength)
	} else {
		if rows < 1 {
			return nil, errTIFF
		}
		m.strips, m.blockWidth, m.blockLength = true, m.width, int(min(rows, length))
		offsetsTag, sizesTag = tagStripOffsets, tagStripByteCounts
	}
	m.across = (m.width + m.blockWidth - 1) / m.blockWidth
	blocks := int64(m.across) * int64((m.length+m.blockLength-1)/m.blockLength)
	var err error
	if m.offsets, err = t.list(d, offsetsTag, blocks); err != nil {
		return nil, err
	}
	if m.sizes, err = t.list(d, sizesTag, blocks); err != nil {
		return nil, err
	}
	return m, nil
}

// list is the first n of the values of a field, whole numbers.
func (t *tiff) list(d directory, tag uint16, n int64) ([]int64, error) {
	if d[tag].count < n {
		return nil, fmt.Errorf("%w: %d parts of the image are missing", errTIFF, n-d[tag].count)
	}
	x, err := t.numbers(d, tag)
	if err != nil {
		return nil, err
	}
	out := make([]int64, n)
	for i := range out {
		if !(x[i] >= 0 && x[i] < 1<<53) {
			return nil, errTIFF
		}
		out[i] = int64(x[i])
	}
	return out, nil
}

// read decodes the blocks that w touches and hands put each number with its
// place in w, counted row by row. Blocks that the file leaves out are passed over.
func (m *image) read(w window, put func(at int, x float64)) error {
	if n := m.unpacked(w); n > m.most {
		return fmt.Errorf("needs %d heights unpacked, more than the limit of %d (four times --limit heights); smaller tiles or strips need fewer", n, m.most)
	}
	d := decoder{image: m, raw: bufio.NewReaderSize(nil, 1<<16)}
	d.row = make([]byte, (m.blockWidth*m.bits+7)/8)
	if m.predictor == predictorFloat {
		d.planes = make([]byte, len(d.row))
	}
	for by := w.row / m.blockLength; by*m.blockLength < w.row+w.rows; by++ {
		for bx := w.column / m.blockWidth; bx*m.blockWidth < w.column+w.columns; bx++ {
			if err := d.block(bx, by, w, put); err != nil {
				return fmt.Errorf("%w, in the part of the image that begins in column %d, row %d", err, bx*m.blockWidth+1, by*m.blockLength+1)
			}
		}
	}
	return nil
}

// unpacked is how many cells have to be unpacked to read a window.
func (m *image) unpacked(w window) (cells int64) {
	if m.compression == uncompressed {
		return 0
	}
	across := (w.column+w.columns-1)/m.blockWidth - w.column/m.blockWidth + 1
	for top := w.row / m.blockLength * m.blockLength; top < w.row+w.rows; top += m.blockLength {
		cells += int64(across) * int64(m.blockWidth) * int64(min(m.blockLength, w.row+w.rows-top))
	}
	return cells
}

type decoder struct {
	*image
	raw         *bufio.Reader
	inflate     io.ReadCloser
	row, planes []byte
}

// block decodes row by row, so that a block never has to be held whole and no
// more is ever unpacked than the image has cells for.
func (d *decoder) block(bx, by int, w window, put func(int, float64)) error {
	k := by*d.across + bx
	offset, size := d.offsets[k], d.sizes[k]
	if offset == 0 || size == 0 {
		return nil
	}
	if offset > d.t.size || size > d.t.size-offset {
		return errors.New("the file is cut off or damaged")
	}
	left, top := bx*d.blockWidth, by*d.blockLength
	rows := d.blockLength
	if d.strips {
		rows = min(rows, d.length-top)
	}
	firstRow, endRow := max(0, w.row-top), min(rows, w.row+w.rows-top)
	firstColumn, endColumn := max(0, w.column-left), min(d.blockWidth, w.column+w.columns-left)
	from := 0
	if d.compression == uncompressed {
		from = firstRow
		skipped := int64(from) * int64(len(d.row))
		if skipped > size {
			return errShort
		}
		offset, size = offset+skipped, size-skipped
	}
	d.raw.Reset(io.NewSectionReader(d.t.r, offset, size))
	stream, err := d.open()
	if err != nil {
		return err
	}
	for r := from; r < endRow; r++ {
		if _, err := io.ReadFull(stream, d.row); err != nil {
			return unpacking(err)
		}
		if r < firstRow {
			continue
		}
		d.restore()
		at := (top+r-w.row)*w.columns + left - w.column
		for c := firstColumn; c < endColumn; c++ {
			put(at+c, d.number(c))
		}
	}
	if endRow == rows && d.compression != uncompressed {
		return d.finish(stream, d.blockLength-rows)
	}
	return nil
}

// finish reads on to the end of a block, where its checksum is. The last strip
// may be filled up with more rows.
func (d *decoder) finish(stream io.Reader, more int) error {
	left, err := io.Copy(io.Discard, io.LimitReader(stream, int64(more)*int64(len(d.row))+1))
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return unpacking(err)
	}
	if left > int64(more)*int64(len(d.row)) {
		return errors.New("its data are damaged (they unpack to more than the image has room for)")
	}
	return nil
}

var errShort = errors.New("its data end too early")

func unpacking(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errShort
	}
	return fmt.Errorf("its data are damaged (%w)", err)
}

func (d *decoder) open() (io.Reader, error) {
	switch d.compression {
	case lzw:
		return newLZW(d.raw)
	case deflate, deflateOld:
		if d.inflate != nil {
			if err := d.inflate.(zlib.Resetter).Reset(d.raw, nil); err != nil {
				return nil, unpacking(err)
			}
			return d.inflate, nil
		}
		var err error
		if d.inflate, err = zlib.NewReader(d.raw); err != nil {
			return nil, unpacking(err)
		}
		return d.inflate, nil
	}
	return d.raw, nil
}

// restore undoes the predictor within the row: TIFF 6.0 section 14 for whole
// numbers, technical note 3 for floating-point ones.
func (d *decoder) restore() {
	order := d.t.order
	switch {
	case d.predictor == predictorWhole && d.bits == 16:
		sum := uint16(0)
		for k := 0; k < len(d.row); k += 2 {
			sum += order.Uint16(d.row[k:])
			order.PutUint16(d.row[k:], sum)
		}
	case d.predictor == predictorWhole && d.bits == 32:
		sum := uint32(0)
		for k := 0; k < len(d.row); k += 4 {
			sum += order.Uint32(d.row[k:])
			order.PutUint32(d.row[k:], sum)
		}
	case d.predictor == predictorWhole && d.bits == 64:
		sum := uint64(0)
		for k := 0; k < len(d.row); k += 8 {
			sum += order.Uint64(d.row[k:])
			order.PutUint64(d.row[k:], sum)
		}
	case d.predictor == predictorFloat:
		// The bytes of all numbers, the most significant ones first.
		size := d.bits / 8
		sum := byte(0)
		for k, b := range d.row {
			sum += b
			d.planes[k] = sum
		}
		for c := range d.blockWidth {
			var x uint64
			for b := range size {
				x = x<<8 | uint64(d.planes[b*d.blockWidth+c])
			}
			if size == 4 {
				order.PutUint32(d.row[4*c:], uint32(x))
			} else {
				order.PutUint64(d.row[8*c:], x)
			}
		}
	}
}

func (d *decoder) number(column int) float64 {
	order := d.t.order
	switch d.bits {
	case 1:
		return float64(d.row[column/8] >> (7 - column%8) & 1)
	case 8:
		return float64(d.row[column])
	case 16:
		x := order.Uint16(d.row[2*column:])
		if d.format == formatSigned {
			return float64(int16(x))
		}
		return float64(x)
	case 32:
		x := order.Uint32(d.row[4*column:])
		switch d.format {
		case formatFloat:
			return float64(math.Float32frombits(x))
		case formatSigned:
			return float64(int32(x))
		}
		return float64(x)
	}
	return math.Float64frombits(order.Uint64(d.row[8*column:]))
}
