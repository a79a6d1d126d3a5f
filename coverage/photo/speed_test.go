package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"unsafe"

	"github.com/bep/imagemeta"
)

// usual is the start of a photo as cameras write it: some 60 Exif fields, a
// thumbnail, an XMP packet of 5 KB, tables and image data.
func usual(i int) []byte {
	b := builder{binary.LittleEndian}
	f := b.rich()
	f.main = append(f.main, b.text(0x010F, "Invented"), b.text(0x0131, "1.2.3"), b.fractions(0x011A, 72, 1), b.fractions(0x011B, 72, 1),
		b.short(0x0128, 2), b.text(0x0132, "2026:05:01 12:00:00"), b.short(0x0213, 1), b.text(0x8298, "nobody"))
	f.exif = append(f.exif, b.fractions(0x829D, 28, 10), b.short(0x8822, 2), b.short(0x8827, 100), b.text(0x9004, "2026:05:01 12:00:00"),
		b.raw(0x9101, typeUndefined, 1, 2, 3, 0), b.fractions(0x9102, 3, 1), b.signed(0x9201, 9, 1), b.fractions(0x9202, 297, 100),
		b.signed(0x9204, 0, 1), b.fractions(0x9205, 297, 100), b.short(0x9207, 2), b.short(0x9208, 0), b.short(0x9209, 0),
		b.raw(0x927C, typeUndefined, make([]byte, 4000)...), b.raw(0xA000, typeUndefined, []byte("0100")...), b.short(0xA001, 1),
		b.raw(0xA300, typeUndefined, 3), b.raw(0xA301, typeUndefined, 1), b.short(0xA401, 0), b.short(0xA402, 0), b.short(0xA403, 0),
		b.fractions(0xA404, 1, 1), b.short(0xA406, 0), b.short(0xA407, 0), b.short(0xA408, 0), b.short(0xA409, 0), b.short(0xA40A, 0),
		b.short(0xA40C, 0), b.text(0xA431, fmt.Sprint("serial", i)), b.fractions(0xA432, 88, 10, 88, 10, 28, 10, 28, 10),
		b.text(0xA434, "8.8 mm f/2.8"))
	f.exif[2] = b.text(0x9003, fmt.Sprintf("2026:05:01 12:%02d:%02d", i/60%60, i%60))
	tiff := append(b.tiff(f), make([]byte, 14_000)...) // a thumbnail
	var packet strings.Builder
	packet.WriteString(`<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="` + spaceRDF +
		`"><rdf:Description rdf:about="" xmlns:pose="http://example.org/pose/" xmlns:tiff="` + spaceTIFF + `" xmlns:dc="http://purl.org/dc/elements/1.1/"`)
	for j := range 40 {
		fmt.Fprintf(&packet, "\n   pose:Invented%02d=\"%+.2f\"", j, float64(i+j))
	}
	fmt.Fprintf(&packet, "\n pose:CameraYaw=\"%+.1f\" pose:CameraPitch=\"-90.0\" pose:RelativeHeight=\"+%d.25\">", float64(i%360-180), 80+i%5)
	packet.WriteString("</rdf:Description></rdf:RDF></x:xmpmeta>\n" + strings.Repeat(strings.Repeat(" ", 99)+"\n", 28) + `<?xpacket end="w"?>`)
	data := jpegSized(5472, 3648, exifSegment(tiff), segment(0xE1, []byte(xmpHeader+packet.String())),
		segment(0xDB, make([]byte, 130)), segment(0xC4, make([]byte, 416)))
	chance := rand.New(rand.NewPCG(1, uint64(i)))
	for len(data) < 300_000 {
		data = binary.LittleEndian.AppendUint64(data, chance.Uint64())
	}
	return data
}

// folder writes photos into a temporary folder.
func folder(t testing.TB, n int) []string {
	dir := t.TempDir()
	paths := make([]string, n)
	for i := range paths {
		paths[i] = filepath.Join(dir, fmt.Sprintf("IMG_%04d.jpg", i+1))
		if err := os.WriteFile(paths[i], usual(i), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return paths
}

// counted counts what is read of a file.
type counted struct {
	io.ReaderAt
	bytes, reads int
}

func (c *counted) ReadAt(p []byte, at int64) (int, error) {
	n, err := c.ReaderAt.ReadAt(p, at)
	c.bytes += n
	c.reads++
	return n, err
}

var poseNames = Names{Yaw: "CameraYaw", Pitch: "pose:CameraPitch", Height: "relativeheight"}

// BenchmarkFolder reads a folder of 2,000 photos with two goroutines: the least
// that any reader does (open, one read of FirstRead bytes, close), Read, and
// the library imagemeta.
func BenchmarkFolder(b *testing.B) {
	paths := folder(b, 2000)
	var mu sync.Mutex
	var bytesRead []int
	var floor float64
	each := func(name string, one func(f *os.File, size int64) error) {
		b.Run(name, func(b *testing.B) {
			bytesRead = bytesRead[:0]
			b.ReportAllocs()
			for b.Loop() {
				var group sync.WaitGroup
				for g := range 2 {
					group.Go(func() {
						for i := g; i < len(paths); i += 2 {
							f, err := os.Open(paths[i])
							if err == nil {
								err = one(f, 300_000)
								f.Close()
							}
							if err != nil {
								b.Error(err)
							}
						}
					})
				}
				group.Wait()
			}
			perFile := float64(b.Elapsed().Microseconds()) / float64(b.N*len(paths))
			if name == "floor" {
				floor = perFile
			}
			b.ReportMetric(perFile, "µs/file")
			b.ReportMetric(perFile/floor, "times-floor")
			if len(bytesRead) > 0 {
				slices.Sort(bytesRead)
				b.ReportMetric(float64(bytesRead[len(bytesRead)/2]), "median-bytes/file")
			}
		})
	}
	buffers := sync.Pool{New: func() any { return new([FirstRead]byte) }}
	each("floor", func(f *os.File, _ int64) error {
		buffer := buffers.Get().(*[FirstRead]byte)
		defer buffers.Put(buffer)
		_, err := f.ReadAt(buffer[:], 0)
		return err
	})
	each("read", func(f *os.File, size int64) error {
		_, err := Read("a.jpg", f, size, nil)
		return err
	})
	each("read with names", func(f *os.File, size int64) error {
		p, err := Read("a.jpg", f, size, poseNames)
		if p.Sources.Yaw != XMP || p.Sources.Height != XMP {
			b.Error("the named properties were not read")
		}
		return err
	})
	each("read, counted", func(f *os.File, size int64) error {
		c := &counted{ReaderAt: f}
		_, err := Read("a.jpg", c, size, poseNames)
		mu.Lock()
		bytesRead = append(bytesRead, c.bytes)
		mu.Unlock()
		return err
	})
	each("imagemeta", func(f *os.File, _ int64) error {
		_, err := imagemeta.Decode(imagemeta.Options{R: f, ImageFormat: imagemeta.JPEG, Sources: imagemeta.EXIF,
			HandleTag: func(imagemeta.TagInfo) error { return nil }})
		return err
	})
}

// BenchmarkRead leaves out the file.
func BenchmarkRead(b *testing.B) {
	data := usual(1)
	for name, names := range map[string]Names{"without names": nil, "with names": poseNames} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read("a.jpg", bytes.NewReader(data), int64(len(data)), names); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A photo that is kept takes no more than 500 bytes, its name and other strings
// included.
func TestKeptMemory(t *testing.T) {
	const n, most = 20_000, 500
	data := make([][]byte, 50)
	for i := range data {
		data[i] = usual(i)[:FirstRead]
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	photos := make([]Photo, 0, n)
	for i := range n {
		p, err := Read(fmt.Sprintf("flight-1/DCIM/100MEDIA/IMG_%06d.JPG", i), start(data[i%len(data)]), 300_000, poseNames)
		if err != nil {
			t.Fatal(err)
		}
		photos = append(photos, p)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	each := (float64(after.HeapAlloc) - float64(before.HeapAlloc)) / n
	t.Logf("%.0f bytes a photo", each)
	if each > most || each < float64(unsafe.Sizeof(Photo{})) {
		t.Errorf("%.0f bytes a photo, want at most %d", each, most)
	}
	runtime.KeepAlive(photos)
	runtime.KeepAlive(data)
}

// start is a file of which nothing but the start can be read.
type start []byte

var errGone = &fs.PathError{Op: "read", Path: "/card/a.jpg", Err: errors.New("no medium found")}

func (s start) ReadAt(p []byte, at int64) (int, error) {
	if at >= int64(len(s)) {
		return 0, errGone
	}
	if n := copy(p, s[at:]); n < len(p) {
		return n, errGone
	}
	return len(p), nil
}
