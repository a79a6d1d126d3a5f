// Package geotiff writes a raster of counts in degrees as GeoTIFF.
package geotiff

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strconv"
)

// Raster is one band of whole numbers on WGS 84. Values are row by row from
// the north, and from west to east.
type Raster struct {
	West, North         float64 // of the north-western corner, degrees
	StepEast, StepSouth float64 // size of a cell, degrees
	Columns, Rows       int
	Values              []uint16
	NoData              uint16 // the value that is none
	Description         string // ASCII
}

// Tags of TIFF 6.0, of GeoTIFF 1.1 (OGC 19-008r4), and of GDAL for what is no value.
const (
	tagWidth            = 256
	tagLength           = 257
	tagBitsPerSample    = 258
	tagCompression      = 259
	tagPhotometric      = 262
	tagImageDescription = 270
	tagStripOffsets     = 273
	tagSamplesPerPixel  = 277
	tagRowsPerStrip     = 278
	tagStripByteCounts  = 279
	tagXResolution      = 282
	tagYResolution      = 283
	tagResolutionUnit   = 296
	tagSampleFormat     = 339
	tagModelPixelScale  = 33550
	tagModelTiepoint    = 33922
	tagGeoKeyDirectory  = 34735
	tagNoData           = 42113
)

// geoKeys say: version 1.1, four keys: a geographic system (1024: 2), cells are
// areas (1025: 1), WGS 84 (2048: EPSG 4326), in degrees (2054: EPSG 9102).
var geoKeys = []uint16{1, 1, 1, 4, 1024, 0, 1, 2, 1025, 0, 1, 1, 2048, 0, 1, 4326, 2054, 0, 1, 9102}

// Write writes r in one strip, packed by deflate. The same raster gives the
// same bytes.
func Write(w io.Writer, r Raster) error {
	if r.Columns < 1 || r.Rows < 1 || len(r.Values) != r.Columns*r.Rows {
		return fmt.Errorf("writing GeoTIFF: %d values for %d by %d cells", len(r.Values), r.Columns, r.Rows)
	}
	strip, err := packed(r.Values)
	if err != nil {
		return fmt.Errorf("writing GeoTIFF: %w", err)
	}
	one := rational(1, 1)
	fields := []field{ // by rising tags
		{tagWidth, longs(r.Columns)},
		{tagLength, longs(r.Rows)},
		{tagBitsPerSample, shorts(16)},
		{tagCompression, shorts(8)}, // deflate
		{tagPhotometric, shorts(1)}, // 0 is black
		{tagImageDescription, text(r.Description)},
		{tagStripOffsets, longs(0)}, // known when the rest is
		{tagSamplesPerPixel, shorts(1)},
		{tagRowsPerStrip, longs(r.Rows)},
		{tagStripByteCounts, longs(len(strip))},
		{tagXResolution, one},
		{tagYResolution, one},
		{tagResolutionUnit, shorts(1)}, // none
		{tagSampleFormat, shorts(1)},   // unsigned
		{tagModelPixelScale, doubles(r.StepEast, r.StepSouth, 0)},
		{tagModelTiepoint, doubles(0, 0, 0, r.West, r.North, 0)},
		{tagGeoKeyDirectory, shorts(geoKeys...)},
		{tagNoData, text(strconv.Itoa(int(r.NoData)))},
	}
	const header = 8
	beyond := header + 2 + 12*len(fields) + 4 // where values that do not fit into a field begin
	for _, f := range fields {
		if n := len(f.data); n > 4 {
			beyond += n + n%2
		}
	}
	for i := range fields {
		if fields[i].tag == tagStripOffsets {
			fields[i].value = longs(beyond)
		}
	}
	_, err = w.Write(append(directory(header, fields), strip...))
	return err
}

// directory is the file up to the strip: its header, the fields, and their
// longer values.
func directory(header int, fields []field) []byte {
	order := binary.LittleEndian
	out := order.AppendUint32([]byte{'I', 'I', 42, 0}, uint32(header))
	out = order.AppendUint16(out, uint16(len(fields)))
	beyond := header + 2 + 12*len(fields) + 4
	var long []byte
	for _, f := range fields {
		out = order.AppendUint16(out, f.tag)
		out = order.AppendUint16(out, f.kind)
		out = order.AppendUint32(out, uint32(f.count))
		if len(f.data) <= 4 {
			out = append(out, f.data...)
			out = append(out, make([]byte, 4-len(f.data))...)
			continue
		}
		out = order.AppendUint32(out, uint32(beyond+len(long)))
		long = append(long, f.data...)
		if len(f.data)%2 == 1 {
			long = append(long, 0)
		}
	}
	return append(append(out, 0, 0, 0, 0), long...) // no other directory
}

func packed(values []uint16) ([]byte, error) {
	raw := make([]byte, 0, 2*len(values))
	for _, v := range values {
		raw = binary.LittleEndian.AppendUint16(raw, v)
	}
	var out bytes.Buffer
	z := zlib.NewWriter(&out)
	if _, err := z.Write(raw); err != nil {
		return nil, err
	}
	err := z.Close()
	return out.Bytes(), err
}

type field struct {
	tag uint16
	value
}

// value is the value of a field: its type in TIFF, how many there are, and
// their bytes.
type value struct {
	kind  uint16
	count int
	data  []byte
}

func text(s string) value { return value{2, len(s) + 1, append([]byte(s), 0)} }

func shorts(x ...uint16) value {
	v := value{kind: 3, count: len(x)}
	for _, n := range x {
		v.data = binary.LittleEndian.AppendUint16(v.data, n)
	}
	return v
}

func longs(x ...int) value {
	v := value{kind: 4, count: len(x)}
	for _, n := range x {
		v.data = binary.LittleEndian.AppendUint32(v.data, uint32(n))
	}
	return v
}

func rational(over, under int) value {
	return value{5, 1, longs(over, under).data}
}

func doubles(x ...float64) value {
	v := value{kind: 12, count: len(x)}
	for _, n := range x {
		v.data = binary.LittleEndian.AppendUint64(v.data, math.Float64bits(n))
	}
	return v
}
