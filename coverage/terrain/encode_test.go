package terrain

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// bitmap is an elevation file to be written: heights row by row.
type bitmap struct {
	columns, rows int
	heights       []float64
}

// hills is a surface that has no symmetry, of whole numbers from about -40 to 460.
func hills(columns, rows int) bitmap {
	b := bitmap{columns: columns, rows: rows}
	for j := range rows {
		for i := range columns {
			x, y := float64(i), float64(j)
			b.heights = append(b.heights, math.Round(210+150*math.Sin(x/7)+70*math.Cos(y/5+x/11)+x/3-y/2))
		}
	}
	return b
}

func (b bitmap) at(i, j int) float64 { return b.heights[j*b.columns+i] }

// format is how encodeTIFF writes a bitmap.
type format struct {
	order       binary.AppendByteOrder
	big         bool
	bits        int
	kind        int
	compression int
	predictor   int
	tile        int // side, 0 for strips
	strip       int // rows a strip
	keys        []uint16
	scale       []float64
	tie         []float64
	matrix      []float64
	nodata      string
	metadata    string
	texts       string
	more        func(tags map[uint16]field) // changes the tags at the end
}

type field struct {
	kind uint16
	data []byte
	n    int
}

// plain is a file of 0.001 degree cells, the corner of the first at 10 E, 50 N.
func plain() format {
	return format{
		order: binary.LittleEndian, bits: 32, kind: formatFloat, compression: uncompressed, predictor: predictorNone, strip: 8,
		keys:  []uint16{1, 1, 0, 3, keyModelType, 0, 1, modelGeographic, keyRasterType, 0, 1, 1, keyGeographic, 0, 1, 4326},
		scale: []float64{0.001, 0.001, 0}, tie: []float64{0, 0, 0, 10, 50, 0},
	}
}

func (f format) shorts(x ...uint16) field {
	var data []byte
	for _, v := range x {
		data = f.order.AppendUint16(data, v)
	}
	return field{3, data, len(x)}
}

func (f format) longs(x ...uint32) field {
	var data []byte
	for _, v := range x {
		data = f.order.AppendUint32(data, v)
	}
	return field{4, data, len(x)}
}

func (f format) doubles(x ...float64) field {
	var data []byte
	for _, v := range x {
		data = f.order.AppendUint64(data, math.Float64bits(v))
	}
	return field{12, data, len(x)}
}

func text(s string) field { return field{2, append([]byte(s), 0), len(s) + 1} }

func encodeTIFF(b bitmap, f format) []byte {
	start := 8
	if f.big {
		start = 16
	}
	body := make([]byte, start)
	width, length := b.columns, f.strip
	if f.tile > 0 {
		width, length = f.tile, f.tile
	}
	var offsets, sizes []uint32
	for top := 0; top < b.rows; top += length {
		for left := 0; left < b.columns; left += width {
			rows := length
			if f.tile == 0 {
				rows = min(length, b.rows-top)
			}
			var raw []byte
			for j := range rows {
				var row []float64
				for i := range width {
					h := -1.0 // the padding of tiles
					if left+i < b.columns && top+j < b.rows {
						h = b.at(left+i, top+j)
					}
					row = append(row, h)
				}
				raw = append(raw, f.row(row)...)
			}
			packed := f.pack(raw)
			offsets, sizes = append(offsets, uint32(len(body))), append(sizes, uint32(len(packed)))
			body = append(body, packed...)
			if len(body)%2 == 1 {
				body = append(body, 0)
			}
		}
	}
	tags := map[uint16]field{
		tagWidth: f.longs(uint32(b.columns)), tagLength: f.longs(uint32(b.rows)), tagBits: f.shorts(uint16(f.bits)),
		tagCompression: f.shorts(uint16(f.compression)), tagPhotometric: f.shorts(1), tagSamples: f.shorts(1),
		tagPredictor: f.shorts(uint16(f.predictor)), tagSampleFormat: f.shorts(uint16(f.kind)),
	}
	if f.tile > 0 {
		tags[tagTileWidth], tags[tagTileLength] = f.shorts(uint16(f.tile)), f.shorts(uint16(f.tile))
		tags[tagTileOffsets], tags[tagTileByteCounts] = f.longs(offsets...), f.longs(sizes...)
	} else {
		tags[tagRowsPerStrip] = f.shorts(uint16(f.strip))
		tags[tagStripOffsets], tags[tagStripByteCounts] = f.longs(offsets...), f.longs(sizes...)
	}
	for tag, numbers := range map[uint16][]float64{tagPixelScale: f.scale, tagTiepoint: f.tie, tagTransformation: f.matrix} {
		if numbers != nil {
			tags[tag] = f.doubles(numbers...)
		}
	}
	if f.keys != nil {
		tags[tagGeoKeys] = f.shorts(f.keys...)
	}
	for tag, s := range map[uint16]string{tagGeoText: f.texts, tagMetadata: f.metadata, tagNoData: f.nodata} {
		if s != "" {
			tags[tag] = text(s)
		}
	}
	if f.more != nil {
		f.more(tags)
	}
	return f.assemble(body, tags)
}

func (f format) row(row []float64) []byte {
	var raw []byte
	var before uint64
	mask := uint64(1)<<f.bits - 1
	for _, h := range row {
		var x uint64
		switch {
		case f.kind == formatFloat && f.bits == 32:
			x = uint64(math.Float32bits(float32(h)))
		case f.kind == formatFloat:
			x = math.Float64bits(h)
		default:
			x = uint64(int64(h)) & mask
		}
		if f.predictor == predictorWhole {
			x, before = (x-before)&mask, x
		}
		switch f.bits {
		case 8:
			raw = append(raw, byte(x))
		case 16:
			raw = f.order.AppendUint16(raw, uint16(x))
		case 32:
			raw = f.order.AppendUint32(raw, uint32(x))
		default:
			raw = f.order.AppendUint64(raw, x)
		}
	}
	if f.predictor != predictorFloat {
		return raw
	}
	size := f.bits / 8
	planes := make([]byte, len(raw))
	for i := range row {
		for k := range size {
			from := k
			if f.order.String() == binary.LittleEndian.String() {
				from = size - 1 - k
			}
			planes[k*len(row)+i] = raw[i*size+from]
		}
	}
	for k := len(planes) - 1; k > 0; k-- {
		planes[k] -= planes[k-1]
	}
	return planes
}

func (f format) pack(raw []byte) []byte {
	switch f.compression {
	case deflate, deflateOld:
		var out bytes.Buffer
		w := zlib.NewWriter(&out)
		w.Write(raw)
		w.Close()
		return out.Bytes()
	case lzw:
		return packLZW(raw)
	}
	return raw
}

// packLZW follows the pseudocode of TIFF 6.0, section 13.
func packLZW(raw []byte) []byte {
	var out []byte
	var bits uint64
	have := uint(0)
	width := uint(9)
	write := func(code int) {
		bits = bits<<width | uint64(code)
		for have += width; have >= 8; have -= 8 {
			out = append(out, byte(bits>>(have-8)))
		}
	}
	var table map[string]int
	reset := func() {
		write(lzwClear)
		table, width = map[string]int{}, 9
		for i := range 256 {
			table[string([]byte{byte(i)})] = i
		}
	}
	reset()
	omega := ""
	for _, c := range raw {
		longer := omega + string([]byte{c})
		if _, ok := table[longer]; ok {
			omega = longer
			continue
		}
		write(table[omega])
		next := len(table) + 2
		table[longer] = next
		switch next {
		case 511, 1023, 2047:
			width++
		case 4094:
			reset()
		}
		omega = string([]byte{c})
	}
	if omega != "" {
		write(table[omega])
		switch len(table) + 2 {
		case 511, 1023, 2047:
			width++
		}
	}
	write(lzwEnd)
	if have > 0 {
		out = append(out, byte(bits<<(8-have)))
	}
	return out
}

func (f format) assemble(body []byte, tags map[uint16]field) []byte {
	numbers := []uint16{}
	for tag := range tags {
		numbers = append(numbers, tag)
	}
	slices.Sort(numbers)
	inline := 4
	if f.big {
		inline = 8
	}
	word := func(p []byte, x int) []byte {
		if f.big {
			return f.order.AppendUint64(p, uint64(x))
		}
		return f.order.AppendUint32(p, uint32(x))
	}
	var entries []byte
	for _, tag := range numbers {
		v := tags[tag]
		entries = f.order.AppendUint16(entries, tag)
		entries = f.order.AppendUint16(entries, v.kind)
		entries = word(entries, v.n)
		if len(v.data) <= inline {
			entries = append(entries, v.data...)
			entries = append(entries, make([]byte, inline-len(v.data))...)
			continue
		}
		entries = word(entries, len(body))
		body = append(body, v.data...)
	}
	at := len(body)
	if f.big {
		body = f.order.AppendUint64(body, uint64(len(numbers)))
	} else {
		body = f.order.AppendUint16(body, uint16(len(numbers)))
	}
	body = append(body, entries...)
	body = word(body, 0)
	head := []byte("II")
	if f.order.String() == binary.BigEndian.String() {
		head = []byte("MM")
	}
	if f.big {
		head = f.order.AppendUint16(head, 43)
		head = f.order.AppendUint16(head, 8)
		head = f.order.AppendUint16(head, 0)
	} else {
		head = f.order.AppendUint16(head, 42)
	}
	head = word(head, at)
	copy(body, head)
	return body
}

func encodeASCII(b bitmap, header string) []byte {
	var out strings.Builder
	fmt.Fprintf(&out, "ncols %d\nnrows %d\n%s", b.columns, b.rows, header)
	for j := range b.rows {
		for i := range b.columns {
			fmt.Fprintf(&out, "%g ", b.at(i, j))
		}
		out.WriteString("\n")
	}
	return []byte(out.String())
}

func encodeHGT(n int, height func(i, j int) int) []byte {
	out := make([]byte, 0, 2*n*n)
	for j := range n {
		for i := range n {
			out = binary.BigEndian.AppendUint16(out, uint16(height(i, j)))
		}
	}
	return out
}

func mustOpen(t testing.TB, name string, data []byte, o Options) *File {
	t.Helper()
	f, err := Open(name, bytes.NewReader(data), int64(len(data)), o)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func mustGrid(t testing.TB, name string, data []byte, o Options) *Grid {
	t.Helper()
	g, err := mustOpen(t, name, data, o).Whole()
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// Whole decodes all heights.
func (f *File) Whole() (*Grid, error) {
	return f.grid(window{0, 0, f.Columns, f.Rows})
}

// Size is the number of columns and rows that are decoded.
func (g *Grid) Size() (columns, rows int) { return g.lattice.columns, g.lattice.rows }

// At is the height of column, row, counted from 0 in the decoded window, and
// its place in degrees on WGS 84. It is false where the height is unknown.
func (g *Grid) At(column, row int) (height float64, lonlat orb.Point, ok bool) {
	if column < 0 || row < 0 || column >= g.lattice.columns || row >= g.lattice.rows {
		return 0, orb.Point{}, false
	}
	lonlat, err := g.lattice.lonlat(orb.Point{float64(column), float64(row)})
	h := g.heights[row*g.lattice.columns+column]
	if err != nil || unknown(h) {
		return 0, lonlat, false
	}
	return float64(h), lonlat, true
}

// checkHeights compares every height of g with b; NaN means unknown.
func checkHeights(t *testing.T, g *Grid, b bitmap) {
	t.Helper()
	if columns, rows := g.Size(); columns != b.columns || rows != b.rows {
		t.Fatalf("%d × %d heights, want %d × %d", columns, rows, b.columns, b.rows)
	}
	for j := range b.rows {
		for i := range b.columns {
			h, _, ok := g.At(i, j)
			if want := b.at(i, j); ok != (want == want) || ok && h != want {
				t.Fatalf("column %d, row %d: %v, %v, want %v", i, j, h, ok, want)
			}
		}
	}
}

func near(a, b orb.Point, tolerance float64) bool {
	return math.Abs(a[0]-b[0]) <= tolerance && math.Abs(a[1]-b[1]) <= tolerance
}

func peeker(data []byte) *bufio.Reader { return bufio.NewReader(bytes.NewReader(data)) }
