package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// whole is a located image in every format, with metadata of 40°26'46"N
// 79°58'56"W.
func whole() map[string][]byte {
	b := bothOrders["big-endian"]
	f := b.rich()
	tiff := b.tiff(f)
	f.main = append(f.main, b.picture(5472, 3648)...)
	return map[string][]byte{
		".jpg":  jpegSized(5472, 3648, exifSegment(tiff)),
		".tif":  b.tiff(f),
		".dng":  b.dng(5472, 3648, b.rich()),
		".heic": heifOf(5472, 3648, tiff, ""),
		".png":  pngOf(5472, 3648, chunkOf("eXIf", tiff)),
	}
}

func TestReadFormats(t *testing.T) {
	for extension, data := range whole() {
		p := mustDecode(t, data)
		if p.Format != formats[extension] || !almost(p.Position.Lat(), 40.446111, 5e-7) || !almost(p.Position.Lon(), -79.982222, 5e-7) ||
			p.Camera.Columns != 5472 || p.Camera.Rows != 3648 || !almost(p.Camera.SensorWidth, 13.2, 0.01) {
			t.Errorf("%s: %+v", extension, p)
		}
	}
}

// Whatever is cut off, what comes back is a clause or the true position.
func TestFormatsTruncated(t *testing.T) {
	for extension, data := range whole() {
		for n := range data {
			p, err := decode(data[:n])
			if err == nil && (!almost(p.Position.Lat(), 40.446111, 5e-7) || !almost(p.Position.Lon(), -79.982222, 5e-7)) {
				t.Errorf("%s cut after %d of %d bytes: %v", extension, n, len(data), p.Position)
			}
			if err != nil && err.Error() == "" {
				t.Errorf("%s cut after %d bytes: no words", extension, n)
			}
		}
	}
}

func TestReadRefuses(t *testing.T) {
	b := bothOrders["little-endian"]
	heif := heifOf(40, 30, b.tiff(b.rich()), "")
	changed := func(data []byte, old, new string) []byte {
		if !bytes.Contains(data, []byte(old)) {
			t.Fatalf("no %q to change", old)
		}
		return bytes.Replace(data, []byte(old), []byte(new), 1)
	}
	for _, c := range []struct {
		name string
		file string
		data []byte
		want string
	}{
		{"nothing", "a.heic", nil, "the file is empty"},
		{"one byte", "a.png", []byte{0x89}, "not a PNG image"},
		{"text", "a.tif", []byte("lon,lat\n"), "not a TIFF image"},
		{"text, no picture's name", "a.txt", []byte("lon,lat\n"), "not a JPEG, TIFF, DNG, HEIF or PNG image"},
		{"film", "a.heic", changed(changed(heif, "heic", "isom"), "mif1heic", "isommp41"), "not a HEIF image"},
		{"BigTIFF", "a.tif", []byte("II+\x00\x08\x00\x00\x00"), "damaged or cut short: it is a BigTIFF file"},
		{"TIFF, directory past the end", "a.tif", []byte("II*\x00\x00\x10\x00\x00"), "damaged or cut short: a directory lies outside it"},
		{"TIFF, endless directory", "a.tif", append([]byte("II*\x00\x08\x00\x00\x00\xFF\xFF"), make([]byte, 12*65535)...),
			"damaged or cut short: a directory has 65535 fields, more than 5000"},
		{"PNG, no size", "a.png", []byte(pngSignature + string(chunkOf("IDAT", nil))), "damaged: it does not begin with its size"},
		{"PNG, huge chunk", "a.png", append([]byte(pngSignature), 0xFF, 0xFF, 0xFF, 0xFF, 'I', 'H', 'D', 'R'), "damaged: a chunk has an impossible length"},
		{"PNG, cut chunk", "a.png", pngOf(40, 30)[:45], "cut short: the file ends inside a chunk"},
		{"PNG, no end", "a.png", pngOf(40, 30)[:33], "cut short: the file ends before its last chunk"},
		{"HEIF, no metadata", "a.heic", heif[:24], "damaged: it has no metadata box"},
		{"HEIF, box of no length", "a.heic", append(slices.Clone(heif[:24]), 0, 0, 0, 7, 'm', 'e', 't', 'a'), `damaged: a box "meta" has an impossible length`},
		{"HEIF, box of huge length", "a.heic", append(slices.Clone(heif[:24]), 0, 0, 0, 1, 'm', 'e', 't', 'a', 0xFF, 0, 0, 0, 0, 0, 0, 0),
			`damaged: a box "meta" has an impossible length`},
		{"HEIF, box past the end", "a.heic", append(slices.Clone(heif[:24]), 0, 0, 1, 0, 'm', 'e', 't', 'a'), "cut short: the file ends inside a box"},
		{"HEIF, item past the end", "a.heic", changed(heif, string(be32(len(b.tiff(b.rich()))+10)), string(be32(1<<30))), "damaged: its metadata lies outside it"},
		{"HEIF, no place", "a.heic", changed(heif, "iloc", "free"), "damaged: it does not say where its metadata is"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := Read(c.file, bytes.NewReader(c.data), int64(len(c.data)), nil)
			if err == nil || err.Error() != c.want || errors.Is(err, ErrUnlocated) || p.File != "" {
				t.Errorf("said %v, want %s; %+v", err, c.want, p)
			}
		})
	}
}

// A photo without a position keeps what else it says.
func TestUnlocated(t *testing.T) {
	b := bothOrders["little-endian"]
	rich := b.rich()
	zero := []rawField{b.text(1, "N"), b.fractions(2, 0, 1, 0, 1, 0, 1), b.text(3, "E"), b.fractions(4, 0, 1, 0, 1, 0, 1)}
	for want, f := range map[string]fields{
		"no position in its metadata":                            {main: rich.main, exif: rich.exif},
		"position is 0, 0: the receiver had no fix":              {main: rich.main, exif: rich.exif, gps: zero},
		"position is incomplete: it has no longitude":            {main: rich.main, exif: rich.exif, gps: zero[:2]},
		"damaged position metadata: a directory lies outside it": {main: append(slices.Clone(rich.main), b.long(tagGPSIFD, 1<<20)), exif: rich.exif},
	} {
		p, err := decode(jpegSized(5472, 3648, exifSegment(b.tiff(f))))
		if err == nil || err.Error() != want || !errors.Is(err, ErrUnlocated) {
			t.Errorf("said %v, want %s", err, want)
		}
		if p.Located() || p.Camera.FocalLength != 8.8 || p.CameraModel != "Invented Camera" || p.Time.IsZero() || p.Sources.Position != Unsaid {
			t.Errorf("%s: %+v", want, p)
		}
		row := New("A", orb.Point{7, 48})
		photos := []Photo{p}
		if unmatched, unnamed := Override(photos, []Photo{row}); unmatched != nil || unnamed != nil || photos[0].Position != row.Position || !photos[0].Camera.Complete() {
			t.Errorf("not located by a table: %+v", photos[0])
		}
	}
}

// A file whose start alone can be had: a card that was pulled out, or a page
// that was sent the starts.
func TestStartAlone(t *testing.T) {
	b := bothOrders["big-endian"]
	rich := b.rich()
	tiff := b.tiff(rich)
	long := segment(0xE2, make([]byte, 65000))
	far := slices.Concat(make([]byte, 0), b.tiff(rich))
	b.order.PutUint32(far[4:], 200_000)
	for _, c := range []struct {
		name string
		data []byte
		want string // "" for located
	}{
		{"all is in the start", jpegSized(5472, 3648, exifSegment(tiff)), ""},
		{"image size beyond it", jpegSized(5472, 3648, exifSegment(tiff), long, long), ""},
		{"Exif beyond it", jpegSized(5472, 3648, long, exifSegment(tiff)), "could not be read beyond its first 63 KiB: no medium found"},
		{"TIFF directory beyond it", far, "could not be read beyond its first 194 KiB: no medium found"},
	} {
		t.Run(c.name, func(t *testing.T) {
			data := append(c.data, make([]byte, FirstRead)...)
			p, err := Read("a.jpg", start(data[:FirstRead]), 5_000_000, nil)
			if c.want == "" && (err != nil || !p.Located() || p.Camera.Columns != 5472) {
				t.Errorf("%v, %+v", err, p.Camera)
			}
			if c.want != "" && (err == nil || err.Error() != c.want || errors.Is(err, ErrUnlocated)) {
				t.Errorf("said %v, want %s", err, c.want)
			}
		})
	}
	if _, err := Read("a.jpg", start(nil), 5_000_000, nil); err == nil || err.Error() != "could not be read: no medium found" {
		t.Errorf("said %v", err)
	}
}

// Metadata at the end of a large file takes few reads.
func TestFarMetadata(t *testing.T) {
	b := bothOrders["little-endian"]
	const gap = 3 << 20
	tiff := b.tiff(fields{main: append(b.picture(5472, 3648), b.rich().main...), exif: b.rich().exif, gps: b.pittsburgh()})
	moved := slices.Concat(tiff[:8], make([]byte, gap), tiff[8:])
	move := func(at int) { binary.LittleEndian.PutUint32(moved[at:], binary.LittleEndian.Uint32(moved[at:])+gap) }
	move(4)
	directory := func(at int) {
		for i := range int(binary.LittleEndian.Uint16(moved[at:])) {
			e := at + 2 + 12*i
			kind, count := binary.LittleEndian.Uint16(moved[e+2:]), binary.LittleEndian.Uint32(moved[e+4:])
			tag := binary.LittleEndian.Uint16(moved[e:])
			if typeSize(kind)*uint64(count) > 4 || tag == tagExifIFD || tag == tagGPSIFD {
				move(e + 8)
			}
		}
	}
	main := int(binary.LittleEndian.Uint32(moved[4:]))
	directory(main)
	for i := range int(binary.LittleEndian.Uint16(moved[main:])) {
		e := main + 2 + 12*i
		if tag := binary.LittleEndian.Uint16(moved[e:]); tag == tagExifIFD || tag == tagGPSIFD {
			directory(int(binary.LittleEndian.Uint32(moved[e+8:])))
		}
	}
	noise := bytes.Repeat(chunkOf("IDAT", make([]byte, 8192)), gap/8192)
	for name, data := range map[string][]byte{
		"TIFF": moved,
		"PNG":  pngOf(5472, 3648, noise, chunkOf("eXIf", tiff), chunkOf("tIME", make([]byte, 7))),
		"JPEG": jpegSized(5472, 3648, slices.Concat(segment(0xE3, make([]byte, 65000)), segment(0xE3, make([]byte, 65000)), segment(0xE3, make([]byte, 65000))), exifSegment(tiff)),
	} {
		c := &counted{ReaderAt: bytes.NewReader(data)}
		p, err := Read("a", c, int64(len(data)), nil)
		if err != nil || !almost(p.Position.Lat(), 40.446111, 5e-7) || p.Camera.Columns != 5472 {
			t.Errorf("%s: %v, %+v", name, err, p)
		}
		if c.reads > 8 || c.bytes > 256<<10 {
			t.Errorf("%s: %d reads, %d bytes", name, c.reads, c.bytes)
		}
	}
	// What lies in too many places is given up.
	scattered := jpegOf(slices.Repeat(segment(0xE3, make([]byte, 65000)), 100), exifSegment(tiff))
	c := &counted{ReaderAt: bytes.NewReader(scattered)}
	_, err := Read("a", c, int64(len(scattered)), nil)
	if err == nil || !strings.HasPrefix(err.Error(), "unreadable: its metadata is spread over more than") || c.reads > 1+mostReads || c.bytes > FirstRead+UsualHead {
		t.Errorf("%v after %d reads, %d bytes", err, c.reads, c.bytes)
	}
	// A bound that is given is kept, and said.
	for most, want := range map[int]string{500: "over more than 0.0005 MB (--limit head)", 10_000: ""} {
		c := &counted{ReaderAt: bytes.NewReader(moved)}
		_, err := ReadAtMost("a", c, int64(len(moved)), nil, most)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) || c.bytes > FirstRead+most {
			t.Errorf("at most %d: %v after %d bytes", most, err, c.bytes)
		}
	}
}

// Two photos after one another in the same memory have nothing in common.
func TestReadingLeavesNothingBehind(t *testing.T) {
	b := bothOrders["little-endian"]
	rich := jpegSized(5472, 3648, exifSegment(b.tiff(b.rich())), segment(0xE1, []byte(xmpHeader+located)))
	bare := jpegOf(exifSegment(b.tiff(fields{gps: b.pittsburgh()})))
	for range 10 {
		mustDecode(t, rich)
		p, err := Read("b.jpg", bytes.NewReader(bare), int64(len(bare)), poseNames)
		want := New("b.jpg", p.Position)
		want.Format, want.Sources.Position = JPEG, Exif
		want.Camera.Columns, want.Camera.Rows = 40, 30
		if d := differences(want, p); err != nil || d != nil || p.CameraModel != "" || p.MapDatum != "" || p.CameraSource != "" || !math.IsNaN(p.CameraDoubt) {
			t.Fatalf("%v, %v: %+v", err, d, p)
		}
	}
}
