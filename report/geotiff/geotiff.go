// Package geotiff writes a raster of counts in degrees as GeoTIFF.
package geotiff

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"io"
	"slices"
	"strconv"

	"selvage/coverage/ifd"
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
	one := [2]uint32{1, 1}
	fields := []ifd.Field{
		ifd.Long(tagWidth, r.Columns),
		ifd.Long(tagLength, r.Rows),
		ifd.Shorts(tagBitsPerSample, 16),
		ifd.Shorts(tagCompression, 8), // deflate
		ifd.Shorts(tagPhotometric, 1), // 0 is black
		ifd.ASCII(tagImageDescription, r.Description),
		ifd.Long(tagStripOffsets, 0), // known when the rest is
		ifd.Shorts(tagSamplesPerPixel, 1),
		ifd.Long(tagRowsPerStrip, r.Rows),
		ifd.Long(tagStripByteCounts, len(strip)),
		ifd.Rationals(tagXResolution, one),
		ifd.Rationals(tagYResolution, one),
		ifd.Shorts(tagResolutionUnit, 1), // none
		ifd.Shorts(tagSampleFormat, 1),   // unsigned
		ifd.Doubles(tagModelPixelScale, r.StepEast, r.StepSouth, 0),
		ifd.Doubles(tagModelTiepoint, 0, 0, 0, r.West, r.North, 0),
		ifd.Shorts(tagGeoKeyDirectory, geoKeys...),
		ifd.ASCII(tagNoData, strconv.Itoa(int(r.NoData))),
	}
	first := len(ifd.Header)
	ifd.Point(fields, tagStripOffsets, first+ifd.Size(fields))
	_, err = w.Write(slices.Concat([]byte(ifd.Header), ifd.Encode(first, fields), strip))
	return err
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
