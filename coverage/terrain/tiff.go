package terrain

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// Tags of TIFF 6.0, of OGC GeoTIFF 1.1 (19-008r4, annex on tags) and, the
// last two, of GDAL.
const (
	tagSubfile         = 254
	tagWidth           = 256
	tagLength          = 257
	tagBits            = 258
	tagCompression     = 259
	tagPhotometric     = 262
	tagFillOrder       = 266
	tagStripOffsets    = 273
	tagSamples         = 277
	tagRowsPerStrip    = 278
	tagStripByteCounts = 279
	tagPredictor       = 317
	tagTileWidth       = 322
	tagTileLength      = 323
	tagTileOffsets     = 324
	tagTileByteCounts  = 325
	tagSampleFormat    = 339
	tagPixelScale      = 33550
	tagTiepoint        = 33922
	tagTransformation  = 34264
	tagGeoKeys         = 34735
	tagGeoDoubles      = 34736
	tagGeoText         = 34737
	tagMetadata        = 42112
	tagNoData          = 42113
)

// tiff is a TIFF file of either kind and byte order.
type tiff struct {
	r     io.ReaderAt
	size  int64
	order binary.ByteOrder
	big   bool
}

// entry is one field of a directory, its values still in the file.
type entry struct {
	kind   uint16
	count  int64
	offset int64
}

type directory map[uint16]entry

// Limits of what one file's directories hold.
const (
	mostDirectories = 64
	mostEntries     = 4096
	mostFieldBytes  = 64 << 20
)

var errTIFF = errors.New("is a damaged TIFF file")

// openDirectories reads all directories of the file's main chain.
func openDirectories(r io.ReaderAt, size int64) (*tiff, []directory, error) {
	t := &tiff{r: r, size: size}
	head := make([]byte, 16)
	if err := readAt(r, head[:8], 0); err != nil {
		return nil, nil, err
	}
	switch string(head[:2]) {
	case "II":
		t.order = binary.LittleEndian
	case "MM":
		t.order = binary.BigEndian
	default:
		return nil, nil, errors.New("is not a TIFF file")
	}
	next := int64(0)
	switch t.order.Uint16(head[2:]) {
	case 42:
		next = int64(t.order.Uint32(head[4:]))
	case 43:
		t.big = true
		if err := readAt(r, head, 0); err != nil {
			return nil, nil, err
		}
		if t.order.Uint16(head[4:]) != 8 || t.order.Uint16(head[6:]) != 0 {
			return nil, nil, errTIFF
		}
		next = int64(t.order.Uint64(head[8:]))
	default:
		return nil, nil, errors.New("is not a TIFF file")
	}
	var all []directory
	seen := map[int64]bool{}
	for next != 0 && !seen[next] && len(all) < mostDirectories {
		seen[next] = true
		d, following, err := t.directory(next)
		if err != nil {
			return nil, nil, err
		}
		all, next = append(all, d), following
	}
	if len(all) == 0 {
		return nil, nil, errTIFF
	}
	return t, all, nil
}

func (t *tiff) directory(offset int64) (directory, int64, error) {
	countBytes, entryBytes, nextBytes := 2, 12, 4
	if t.big {
		countBytes, entryBytes, nextBytes = 8, 20, 8
	}
	head, err := t.bytes(offset, int64(countBytes))
	if err != nil {
		return nil, 0, err
	}
	n := uint64(t.order.Uint16(head))
	if t.big {
		n = t.order.Uint64(head)
	}
	if n > mostEntries {
		return nil, 0, errTIFF
	}
	body, err := t.bytes(offset+int64(countBytes), int64(n)*int64(entryBytes)+int64(nextBytes))
	if err != nil {
		return nil, 0, err
	}
	d := directory{}
	for i := range int(n) {
		raw := body[i*entryBytes : (i+1)*entryBytes]
		e := entry{kind: t.order.Uint16(raw[2:])}
		at := offset + int64(countBytes) + int64(i*entryBytes)
		inline := int64(4)
		if t.big {
			e.count, e.offset, inline = int64(t.order.Uint64(raw[4:])), int64(t.order.Uint64(raw[12:])), 8
			at += 12
		} else {
			e.count, e.offset = int64(t.order.Uint32(raw[4:])), int64(t.order.Uint32(raw[8:]))
			at += 8
		}
		size := kindSize(e.kind)
		if size == 0 {
			continue // a kind of value that nobody defined
		}
		if e.count < 0 || e.count > t.size/size {
			return nil, 0, fmt.Errorf("%w: tag %d has %d values in a file of %d bytes", errTIFF, t.order.Uint16(raw), e.count, t.size)
		}
		if e.count*size <= inline {
			e.offset = at
		}
		d[t.order.Uint16(raw)] = e
	}
	rest := body[int(n)*entryBytes:]
	if t.big {
		return d, int64(t.order.Uint64(rest)), nil
	}
	return d, int64(t.order.Uint32(rest)), nil
}

// kindSize is the size in bytes of a value of a field's type, 0 if unknown.
func kindSize(kind uint16) int64 {
	switch kind {
	case 1, 2, 6, 7:
		return 1
	case 3, 8:
		return 2
	case 4, 9, 11, 13:
		return 4
	case 5, 10, 12, 16, 17, 18:
		return 8
	}
	return 0
}

func (t *tiff) bytes(offset, n int64) ([]byte, error) {
	if offset < 0 || n < 0 || n > mostFieldBytes || offset > t.size-n {
		return nil, fmt.Errorf("%w: it points beyond its own end; it may be cut off", errTIFF)
	}
	p := make([]byte, n)
	return p, readAt(t.r, p, offset)
}

// numbers are the values of a field, nil if it is not there.
func (t *tiff) numbers(d directory, tag uint16) ([]float64, error) {
	e, ok := d[tag]
	if !ok {
		return nil, nil
	}
	size := kindSize(e.kind)
	raw, err := t.bytes(e.offset, e.count*size)
	if err != nil {
		return nil, err
	}
	out := make([]float64, e.count)
	for i := range out {
		p := raw[int64(i)*size:]
		switch e.kind {
		case 1, 7:
			out[i] = float64(p[0])
		case 3:
			out[i] = float64(t.order.Uint16(p))
		case 4, 13:
			out[i] = float64(t.order.Uint32(p))
		case 16, 18:
			out[i] = float64(t.order.Uint64(p))
		case 11:
			out[i] = float64(math.Float32frombits(t.order.Uint32(p)))
		case 12:
			out[i] = math.Float64frombits(t.order.Uint64(p))
		default:
			return nil, fmt.Errorf("%w: tag %d has values of type %d", errTIFF, tag, e.kind)
		}
	}
	return out, nil
}

// whole is the first value of a field, a whole number from 0 to 2^53, or
// otherwise if the field is not there.
func (t *tiff) whole(d directory, tag uint16, otherwise int64) (int64, error) {
	if e, ok := d[tag]; ok && e.count > 1<<16 {
		return 0, errTIFF
	}
	x, err := t.numbers(d, tag)
	if err != nil || len(x) == 0 {
		return otherwise, err
	}
	if x[0] != math.Trunc(x[0]) || !(x[0] >= 0 && x[0] < 1<<53) {
		return 0, errTIFF
	}
	return int64(x[0]), nil
}

// text is a field of text, "" if it is not there.
func (t *tiff) text(d directory, tag uint16) (string, error) {
	e, ok := d[tag]
	if !ok || e.kind != 2 {
		return "", nil
	}
	raw, err := t.bytes(e.offset, e.count)
	return strings.TrimRight(string(raw), "\x00"), err
}

// openTIFF reads the first image of a GeoTIFF.
func openTIFF(r io.ReaderAt, size int64, o Options) (*File, error) {
	t, directories, err := openDirectories(r, size)
	if err != nil {
		return nil, err
	}
	d := directories[0]
	img, err := t.image(d, o.Limits)
	if err != nil {
		return nil, err
	}
	if img.bits < 16 {
		return nil, fmt.Errorf("holds numbers of %d bits, as pictures do and elevation files do not", img.bits)
	}
	keys, err := t.geoKeys(d)
	if err != nil {
		return nil, err
	}
	l := lattice{columns: img.width, rows: img.length}
	if l.place, err = t.placement(d, keys); err != nil {
		return nil, err
	}
	said := ""
	if o.System == "" {
		if said, err = keys.system(); err != nil {
			return nil, err
		}
	}
	if l.system, err = systemOf(o, said, l); err != nil {
		return nil, err
	}
	if err := keys.agree(l.system, said); err != nil && o.System == "" {
		return nil, err
	}
	values, err := t.valuesOf(d)
	if err != nil {
		return nil, err
	}
	f := &File{Source: Source{Format: "GeoTIFF", Points: keys.points()}, lattice: l}
	f.Datum, f.Unit, err = keys.vertical()
	if f.Unit == 0 && values.unit != "" {
		f.Unit, _ = ParseUnit(values.unit)
	}
	if err != nil && o.Unit == 0 {
		return nil, err
	}
	mask, err := t.mask(directories[1:], img, o.Limits)
	if err != nil {
		return nil, err
	}
	f.read = func(w window) ([]float32, error) {
		out := newVoids(w)
		if err := img.read(w, func(at int, x float64) {
			if !values.isVoid(x, img) {
				out[at] = float32(x*values.scale + values.offset)
			}
		}); err != nil || mask == nil {
			return out, err
		}
		valid := make([]bool, len(out))
		if err := mask.read(w, func(at int, x float64) { valid[at] = x != 0 }); err != nil {
			return nil, err
		}
		for i, ok := range valid {
			if !ok {
				out[i] = void
			}
		}
		return out, nil
	}
	return f, nil
}

func newVoids(w window) []float32 {
	out := make([]float32, w.columns*w.rows)
	for i := range out {
		out[i] = void
	}
	return out
}

// mask finds the image that tells which cells are valid, nil if there is none.
func (t *tiff) mask(directories []directory, of *image, lim Limits) (*image, error) {
	for _, d := range directories {
		kind, err := t.whole(d, tagSubfile, 0)
		if err != nil {
			return nil, err
		}
		if kind&5 != 4 { // a mask, and not of an overview
			continue
		}
		m, err := t.image(d, lim)
		if err != nil {
			return nil, fmt.Errorf("%w, in its mask of valid cells", err)
		}
		if m.width != of.width || m.length != of.length {
			return nil, errors.New("has a mask of valid cells of another size")
		}
		return m, nil
	}
	return nil, nil
}

// values tells what the numbers of an image mean.
type values struct {
	nodata        float64
	hasNoData     bool
	scale, offset float64
	unit          string
}

func (t *tiff) valuesOf(d directory) (values, error) {
	v := values{scale: 1}
	text, err := t.text(d, tagNoData)
	if err != nil {
		return v, err
	}
	if text = strings.TrimSpace(text); text != "" {
		if v.nodata, err = strconv.ParseFloat(text, 64); err != nil && !errors.Is(err, strconv.ErrRange) {
			return v, fmt.Errorf("marks cells without a height by %s, which is not a number", quote(text))
		}
		v.hasNoData = true
	}
	metadata, err := t.text(d, tagMetadata)
	if err != nil || metadata == "" {
		return v, err
	}
	return v, v.describe(metadata)
}

func (v values) isVoid(x float64, img *image) bool {
	if math.IsNaN(x) || usualVoid(x) {
		return true
	}
	return v.hasNoData && (x == v.nodata || img.bits == 32 && img.format == formatFloat && float32(x) == float32(v.nodata))
}
