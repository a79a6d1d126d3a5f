package terrain

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// everyFormat calls test with each way of writing a bitmap.
func everyFormat(test func(name string, f format)) {
	for _, kind := range []struct {
		name       string
		bits, kind int
	}{
		{"int16", 16, formatSigned}, {"uint16", 16, formatUnsigned}, {"int32", 32, formatSigned}, {"uint32", 32, formatUnsigned},
		{"float32", 32, formatFloat}, {"float64", 64, formatFloat},
	} {
		for _, compression := range []int{uncompressed, lzw, deflate, deflateOld} {
			for predictor := predictorNone; predictor <= predictorFloat; predictor++ {
				if predictor == predictorFloat && kind.kind != formatFloat || predictor != predictorNone && compression == uncompressed {
					continue
				}
				for _, tile := range []int{0, 16} {
					for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
						for _, big := range []bool{false, true} {
							f := plain()
							f.bits, f.kind, f.compression, f.predictor = kind.bits, kind.kind, compression, predictor
							f.tile, f.order, f.big = tile, order, big
							test(fmt.Sprintf("%s/compression %d/predictor %d/tile %d/%v/big %v", kind.name, compression, predictor, tile, order, big), f)
						}
					}
				}
			}
		}
	}
}

func TestTIFFEveryFormat(t *testing.T) {
	b := hills(45, 37)
	n := 0
	everyFormat(func(name string, f format) {
		n++
		c := b
		if f.kind == formatUnsigned {
			c.heights = nil
			for _, h := range b.heights {
				c.heights = append(c.heights, max(h, 0))
			}
		}
		t.Run(name, func(t *testing.T) {
			data := encodeTIFF(c, f)
			g := mustGrid(t, "a.tif", data, Options{})
			checkHeights(t, g, c)
			_, at, _ := g.At(2, 3)
			if want := (orb.Point{10.0025, 49.9965}); !near(at, want, 1e-12) {
				t.Errorf("column 2, row 3 lies at %v, want %v", at, want)
			}
			// A window has the same heights in the same places.
			part, err := mustOpen(t, "a.tif", data, Options{}).Window(orb.Bound{Min: orb.Point{10.02, 49.975}, Max: orb.Point{10.025, 49.98}})
			if err != nil {
				t.Fatal(err)
			}
			if columns, rows := part.Size(); columns > 12 || rows > 12 {
				t.Errorf("the window has %d × %d heights", columns, rows)
			}
			for lon := 10.02; lon < 10.025; lon += 0.00031 {
				p := orb.Point{lon, 49.9777}
				got, ok := part.Elevation(p)
				want, ok2 := g.Elevation(p)
				if math.Abs(got-want) > 1e-6 || !ok || !ok2 {
					t.Errorf("at %v the window has %v, the whole %v", p, got, want)
				}
			}
		})
	})
	if n != 384 {
		t.Errorf("%d formats", n)
	}
}

// LZW codes of every width, a full table, and runs that use a code at once.
func TestLZW(t *testing.T) {
	noise := uint32(1)
	var raw []byte
	for range 60_000 {
		noise = noise*1664525 + 1013904223
		raw = append(raw, byte(noise>>24)&0x3f)
	}
	for name, raw := range map[string][]byte{
		"nothing": {}, "a byte": {7}, "a run": bytes.Repeat([]byte{9}, 100_000), "noise": raw,
		"both": append(bytes.Repeat([]byte{1, 2, 3}, 5000), raw...),
	} {
		z, err := newLZW(peeker(packLZW(raw)))
		if err != nil {
			t.Fatal(err)
		}
		got, err := io.ReadAll(z)
		if err != nil || !bytes.Equal(got, raw) {
			t.Errorf("%s: %d bytes, want %d; %v", name, len(got), len(raw), err)
		}
	}
}

// The first height's place, by the two kinds of raster and of placement
// (OGC 19-008r4, GTRasterTypeGeoKey).
func TestTIFFPlacement(t *testing.T) {
	area := []uint16{1, 1, 0, 3, keyModelType, 0, 1, modelGeographic, keyRasterType, 0, 1, 1, keyGeographic, 0, 1, 4326}
	points := []uint16{1, 1, 0, 3, keyModelType, 0, 1, modelGeographic, keyRasterType, 0, 1, 2, keyGeographic, 0, 1, 4326}
	matrix := []float64{0.001, 0.0002, 0, 10, 0.0003, -0.001, 0, 50, 0, 0, 0, 0, 0, 0, 0, 1}
	for name, test := range map[string]struct {
		keys               []uint16
		scale, tie, matrix []float64
		first, second      orb.Point // column 0, row 0 and column 1, row 1
	}{
		"area":             {keys: area, scale: []float64{0.001, 0.001, 0}, tie: []float64{0, 0, 0, 10, 50, 0}, first: orb.Point{10.0005, 49.9995}, second: orb.Point{10.0015, 49.9985}},
		"points":           {keys: points, scale: []float64{0.001, 0.001, 0}, tie: []float64{0, 0, 0, 10, 50, 0}, first: orb.Point{10, 50}, second: orb.Point{10.001, 49.999}},
		"tied elsewhere":   {keys: area, scale: []float64{0.001, 0.001, 0}, tie: []float64{2, 4, 0, 10, 50, 0}, first: orb.Point{9.9985, 50.0035}, second: orb.Point{9.9995, 50.0025}},
		"matrix":           {keys: area, matrix: matrix, first: orb.Point{10.0006, 49.99965}, second: orb.Point{10.0018, 49.99895}},
		"matrix of points": {keys: points, matrix: matrix, first: orb.Point{10, 50}, second: orb.Point{10.0012, 49.9993}},
	} {
		t.Run(name, func(t *testing.T) {
			f := plain()
			f.keys, f.scale, f.tie, f.matrix = test.keys, test.scale, test.tie, test.matrix
			b := hills(20, 20)
			g := mustGrid(t, "a.tif", encodeTIFF(b, f), Options{})
			_, first, _ := g.At(0, 0)
			_, second, _ := g.At(1, 1)
			if !near(first, test.first, 1e-12) || !near(second, test.second, 1e-12) {
				t.Errorf("at %v and %v, want %v and %v", first, second, test.first, test.second)
			}
			if h, ok := g.Elevation(orb.Point{(first[0] + second[0]) / 2, (first[1] + second[1]) / 2}); !ok ||
				math.Abs(h-(b.at(0, 0)+b.at(1, 0)+b.at(0, 1)+b.at(1, 1))/4) > 1e-6 {
				t.Errorf("half-way between four heights: %v, %v", h, ok)
			}
		})
	}
}

func TestTIFFVoids(t *testing.T) {
	nan := math.NaN()
	lowest := -3.4028234663852886e38 // of float32, a usual mark
	b := bitmap{3, 2, []float64{1, -9999, lowest, -32768, 40, nan}}
	want := bitmap{3, 2, []float64{1, nan, nan, nan, 40, nan}}
	for name, nodata := range map[string]string{"unsaid": "", "said": "-3.4028234663852886e+38", "rounded": "-3.40282347e+38", "nan": "nan"} {
		t.Run(name, func(t *testing.T) {
			f := plain()
			f.nodata = nodata
			checkHeights(t, mustGrid(t, "a.tif", encodeTIFF(b, f), Options{}), want)
		})
	}
	f := plain()
	f.nodata = "40"
	checkHeights(t, mustGrid(t, "a.tif", encodeTIFF(b, f), Options{}), bitmap{3, 2, []float64{1, nan, nan, nan, nan, nan}})
	f.bits, f.kind = 16, formatSigned
	checkHeights(t, mustGrid(t, "a.tif", encodeTIFF(bitmap{2, 2, []float64{39, 40, 41, -32768}}, f), Options{}),
		bitmap{2, 2, []float64{39, nan, 41, nan}})

	// A tile that the file leaves out.
	f = plain()
	f.tile = 16
	f.more = func(tags map[uint16]field) {
		offsets, sizes := tags[tagTileOffsets].data, tags[tagTileByteCounts].data
		for k := 4; k < 8; k++ {
			offsets[k], sizes[k] = 0, 0
		}
	}
	h := hills(32, 16)
	g := mustGrid(t, "a.tif", encodeTIFF(h, f), Options{})
	for i := range 32 {
		if _, _, ok := g.At(i, 3); ok != (i < 16) {
			t.Errorf("column %d: %v", i, ok)
		}
	}
}

func TestTIFFUnits(t *testing.T) {
	vertical := func(pairs ...uint16) []uint16 {
		keys := []uint16{1, 1, 0, uint16(2 + len(pairs)/2), keyModelType, 0, 1, modelGeographic, keyGeographic, 0, 1, 4326}
		for k := 0; k < len(pairs); k += 2 {
			keys = append(keys, pairs[k], 0, 1, pairs[k+1])
		}
		return keys
	}
	metadata := func(items string) string { return "<GDALMetadata>" + items + "</GDALMetadata>" }
	for name, test := range map[string]struct {
		keys     []uint16
		metadata string
		unit     Unit
		want     float64 // of 1000
		said     Unit
		datum    string
	}{
		"unsaid":         {vertical(), "", 0, 1000, 0, ""},
		"metres":         {vertical(keyVertical, 5703, keyVerticalUnit, 9001), "", 0, 1000, Metre, "NAVD88 height"},
		"feet":           {vertical(keyVerticalUnit, 9002), "", 0, 304.8, Foot, ""},
		"survey feet":    {vertical(keyVertical, 5703, keyVerticalUnit, 9003), "", 0, 304.8006096, USSurveyFoot, "NAVD88 height"},
		"feet by system": {vertical(keyVertical, 6360), "", 0, 304.8006096, USSurveyFoot, "NAVD88 height (ftUS)"},
		"unknown system": {vertical(keyVertical, 9999), "", 0, 1000, 0, "EPSG:9999"},
		"option":         {vertical(keyVerticalUnit, 9001), "", Foot, 304.8, Foot, ""},
		"metadata":       {vertical(), metadata(`<Item name="UNITTYPE" sample="0" role="unittype">ft</Item>`), 0, 304.8, Foot, ""},
		"scale": {vertical(), metadata(`<Item name="OFFSET" sample="0" role="offset">-50</Item><Item name="SCALE" sample="0" role="scale">0.1</Item>`),
			0, 50, 0, ""},
	} {
		t.Run(name, func(t *testing.T) {
			f := plain()
			f.keys, f.metadata = test.keys, test.metadata
			g := mustGrid(t, "a.tif", encodeTIFF(bitmap{2, 2, []float64{1000, 1000, 1000, 1000}}, f), Options{Unit: test.unit})
			h, _, ok := g.At(0, 0)
			if !ok || math.Abs(h-test.want) > 1e-4 || g.Source.Unit != test.said || g.Source.Datum != test.datum {
				t.Errorf("%v, %v, %v above %q; want %v, %v above %q", h, ok, g.Source.Unit, g.Source.Datum, test.want, test.said, test.datum)
			}
		})
	}
}

// The files in testdata were written by gdal_translate 3.6.2 from a grid of
// 30 × 20 cells with the heights 100 + 3·column - 2·row + column·row/10.
func TestTIFFByGDAL(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "*.tif"))
	if err != nil || len(files) < 5 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			g := mustGrid(t, path, data, Options{})
			tolerance := 1e-4
			if strings.Contains(path, "int") {
				tolerance = 0.5
			}
			for j := range 20 {
				for i := range 30 {
					x, y := float64(i), float64(j)
					h, _, ok := g.At(i, j)
					if want := 100 + 3*x - 2*y + x*y/10; !ok || math.Abs(h-want) > tolerance {
						t.Fatalf("column %d, row %d: %v, want %v", i, j, h, want)
					}
				}
			}
		})
	}
}

// Whatever is cut off, what comes back is an error.
func TestTIFFTruncated(t *testing.T) {
	for _, compression := range []int{uncompressed, lzw, deflate} {
		f := plain()
		f.compression, f.tile = compression, 16
		data := encodeTIFF(hills(20, 20), f)
		for n := range data {
			file, err := Open("a.tif", bytes.NewReader(data[:n]), int64(n), Options{})
			if err != nil {
				continue
			}
			if _, err := file.Whole(); err == nil {
				t.Errorf("compression %d: cut after %d of %d bytes, and no error", compression, n, len(data))
			}
		}
	}
}

// A changed byte in a block with a checksum is an error, or changes no height.
func TestTIFFChanged(t *testing.T) {
	f := plain()
	f.compression, f.strip = deflate, 4
	b := hills(12, 12)
	data := encodeTIFF(b, f)
	errors := 0
	end := len(data) - 500 // the blocks come before the directory
	for k := 8; k < end; k++ {
		data[k] ^= 0x55
		g, err := mustOpen(t, "a.tif", data, Options{}).Whole()
		if err != nil {
			errors++
		} else {
			checkHeights(t, g, b)
		}
		data[k] ^= 0x55
	}
	if errors < end*9/10 {
		t.Errorf("%d errors in %d bytes", errors, end)
	}
}

func TestTIFFRefused(t *testing.T) {
	tag := func(number uint16, value field) func(map[uint16]field) {
		return func(tags map[uint16]field) { tags[number] = value }
	}
	f := plain()
	without := func(numbers ...uint16) func(map[uint16]field) {
		return func(tags map[uint16]field) {
			for _, n := range numbers {
				delete(tags, n)
			}
		}
	}
	keys := func(k ...uint16) func(map[uint16]field) { return tag(tagGeoKeys, f.shorts(k...)) }
	for name, test := range map[string]struct {
		more func(map[uint16]field)
		want string
	}{
		"picture":          {tag(tagSamples, f.shorts(3)), "3 numbers a cell"},
		"bytes":            {func(m map[uint16]field) { m[tagBits], m[tagSampleFormat] = f.shorts(8), f.shorts(1) }, "8 bits"},
		"half floats":      {tag(tagBits, f.shorts(16)), "16 bits, format 3"},
		"compression":      {tag(tagCompression, f.shorts(50000)), "Zstandard"},
		"unknown method":   {tag(tagCompression, f.shorts(4711)), "method 4711"},
		"wide":             {tag(tagWidth, f.longs(4_000_000_000)), "the limit"},
		"no width":         {tag(tagWidth, f.longs(0)), "damaged"},
		"few strips":       {tag(tagRowsPerStrip, f.shorts(1)), "missing"},
		"offset":           {tag(tagStripOffsets, f.longs(1<<31, 8, 8)), "cut off or damaged"},
		"size":             {tag(tagStripByteCounts, f.longs(1<<31, 8, 8)), "cut off or damaged"},
		"short":            {tag(tagStripByteCounts, f.longs(40, 8, 8)), "too early"},
		"no place":         {without(tagPixelScale, tagTiepoint), "where on Earth"},
		"control points":   {func(m map[uint16]field) { delete(m, tagPixelScale); m[tagTiepoint] = f.doubles(make([]float64, 12)...) }, "control points"},
		"no scale":         {tag(tagPixelScale, f.doubles(0, 0, 0)), "none on Earth"},
		"nan":              {tag(tagPixelScale, f.doubles(math.NaN(), 1, 0)), "none on Earth"},
		"nodata":           {tag(tagNoData, text("none")), "not a number"},
		"unknown code":     {keys(1, 1, 0, 2, keyModelType, 0, 1, 1, keyProjected, 0, 1, 1234), "EPSG:1234"},
		"own system":       {keys(1, 1, 0, 2, keyModelType, 0, 1, 1, keyProjected, 0, 1, 32767), "--terrain-crs"},
		"geocentric":       {keys(1, 1, 0, 1, keyModelType, 0, 1, 3), "geocentric"},
		"radians":          {keys(1, 1, 0, 3, keyModelType, 0, 1, 2, keyGeographic, 0, 1, 4326, keyAngularUnit, 0, 1, 9101), "EPSG:9101"},
		"feet for metres":  {keys(1, 1, 0, 3, keyModelType, 0, 1, 1, keyProjected, 0, 1, 32632, keyLinearUnit, 0, 1, 9003), "US survey feet"},
		"fathoms":          {keys(1, 1, 0, 3, keyModelType, 0, 1, 2, keyGeographic, 0, 1, 4326, keyVerticalUnit, 0, 1, 9014), "--terrain-unit"},
		"keys cut off":     {keys(1, 1, 0, 9, keyModelType, 0, 1, 3), "damaged GeoTIFF keys"},
		"no keys, no size": {func(m map[uint16]field) { delete(m, tagGeoKeys); m[tagPixelScale] = f.doubles(5, 5, 0) }, "--terrain-crs"},
	} {
		t.Run(name, func(t *testing.T) {
			f := plain()
			f.more = test.more
			data := encodeTIFF(hills(20, 20), f)
			file, err := Open("a.tif", bytes.NewReader(data), int64(len(data)), Options{})
			if err == nil {
				_, err = file.Whole()
			}
			if err == nil || !strings.Contains(err.Error(), test.want) || !strings.HasPrefix(err.Error(), "a.tif: ") {
				t.Errorf("%v, want %q", err, test.want)
			}
		})
	}
	for name, data := range map[string]string{"empty": "", "text": "ncols 3 nrows 4", "no directory": "II*\x00\x00\x00\x00\x00", "itself": "II*\x00\x04\x00\x00\x00"} {
		if _, err := Open("a.tif", strings.NewReader(data), int64(len(data)), Options{}); err == nil {
			t.Errorf("%s accepted", name)
		}
	}
}

// A compressed block that unpacks to far more than its cells is not unpacked.
func TestTIFFBomb(t *testing.T) {
	f := plain()
	f.compression, f.strip = deflate, 16
	bomb := format{compression: deflate}.pack(make([]byte, 8<<20))
	b := hills(16, 16)
	read := 0
	data := encodeTIFF(b, f)
	f.more = func(tags map[uint16]field) {
		tags[tagStripOffsets], tags[tagStripByteCounts] = f.longs(uint32(len(data))), f.longs(uint32(len(bomb)))
	}
	// The directory says where the bomb will be: at the end.
	data = append(encodeTIFF(b, f), bomb...)
	r := countingReader{bytes.NewReader(data), &read}
	file, err := Open("a.tif", r, int64(len(data)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	read = 0
	if _, err := file.Whole(); err == nil || !strings.Contains(err.Error(), "more than the image") || read > 1<<16 {
		t.Errorf("%d bytes read, %v", read, err)
	}
	f.more = nil
	small := Options{Limits: Limits{Cells: 100}}
	data = encodeTIFF(b, f)
	if _, err := mustOpen(t, "a.tif", data, small).Whole(); err == nil || !strings.Contains(err.Error(), "limit") {
		t.Errorf("256 cells where 100 are allowed: %v", err)
	}
}

type countingReader struct {
	r    io.ReaderAt
	read *int
}

func (c countingReader) ReadAt(p []byte, offset int64) (int, error) {
	n, err := c.r.ReadAt(p, offset)
	*c.read += n
	return n, err
}

// A window of a large file reads and decodes only what lies around it.
func TestTIFFLazy(t *testing.T) {
	f := plain()
	f.compression, f.tile = deflate, 64
	f.scale = []float64{0.0001, 0.0001, 0}
	data := encodeTIFF(hills(1024, 1024), f)
	read := 0
	file, err := Open("a.tif", countingReader{bytes.NewReader(data), &read}, int64(len(data)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	opened := read
	if _, err := file.Window(orb.Bound{Min: orb.Point{10.05, 49.95}, Max: orb.Point{10.052, 49.952}}); err != nil {
		t.Fatal(err)
	}
	if opened > 8192 || read > len(data)/8 {
		t.Errorf("%d bytes to open, %d to read a window, of %d", opened, read, len(data))
	}
	if _, err := file.Window(orb.Bound{Min: orb.Point{11.5, 49.95}, Max: orb.Point{11.6, 49.952}}); err == nil || err.Error() != "a.tif: holds no heights of this area" {
		t.Errorf("elsewhere: %v", err)
	}
}
