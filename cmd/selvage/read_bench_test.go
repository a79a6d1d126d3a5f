package main

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"selvage/coverage/photo"
)

// benchCard writes photos of some megabytes each, of which all but the head is
// a hole in the file.
func benchCard(b *testing.B, count int) string {
	b.Helper()
	folder := b.TempDir()
	for i := range count {
		p := photo.New("", onGround(float64(i), 0))
		p.Altitude, p.AltitudeDatum, p.Yaw = 200, photo.SeaLevel, 90
		p.Camera = scriptCamera
		p.Time, p.TimeSource = time.Date(2026, 5, 12, 9, 0, i, 0, time.UTC), photo.TimeFromGPS
		var data bytes.Buffer
		if err := photo.Encode(&data, image.NewGray(image.Rect(0, 0, 8, 8)), p); err != nil {
			b.Fatal(err)
		}
		path := filepath.Join(folder, fmt.Sprintf("IMG_%04d.jpg", i))
		if err := os.WriteFile(path, data.Bytes(), 0o666); err != nil {
			b.Fatal(err)
		}
		if err := os.Truncate(path, 8<<20); err != nil {
			b.Fatal(err)
		}
	}
	return folder
}

// floor opens every photo, reads 64 KiB of it and closes it, as many at a time
// as reading does.
func floor(b *testing.B, sources []source) {
	var each sync.WaitGroup
	for first := range readers {
		each.Go(func() {
			buffer := make([]byte, 64<<10)
			for i := first; i < len(sources); i += readers {
				f, err := os.Open(sources[i].path)
				if err != nil {
					b.Error(err)
					return
				}
				if _, err := f.ReadAt(buffer, 0); err != nil && !errors.Is(err, io.EOF) {
					b.Error(err)
				}
				f.Close()
			}
		})
	}
	each.Wait()
}

// BenchmarkReadPhotos holds the reading of a card against the least that the
// system takes for it, in the same run.
func BenchmarkReadPhotos(b *testing.B) {
	found, err := find(b.Context(), named([]string{benchCard(b, 2000)}))
	if err != nil {
		b.Fatal(err)
	}
	var least, whole time.Duration
	for b.Loop() {
		start := time.Now()
		floor(b, found.photos)
		least += time.Since(start)
		start = time.Now()
		if _, err := found.readPhotos(b.Context(), nil, func() {}); err != nil {
			b.Fatal(err)
		}
		whole += time.Since(start)
	}
	b.ReportMetric(whole.Seconds()/least.Seconds(), "times-the-floor")
	b.ReportMetric(float64(b.N*len(found.photos))/whole.Seconds(), "photos/s")
}

// BenchmarkReadPhotosAgainstExiftool holds it against another program that
// reads the metadata of the same folder, of photos with as many tags as a
// camera writes, with its option that passes over makers' notes.
func BenchmarkReadPhotosAgainstExiftool(b *testing.B) {
	tool, err := exec.LookPath("exiftool")
	if err != nil {
		b.Skip("exiftool is not installed")
	}
	folder := benchCard(b, 2000)
	var other, own time.Duration
	fill(b, tool, folder)
	for b.Loop() {
		start := time.Now()
		found, err := find(b.Context(), named([]string{folder}))
		if err != nil {
			b.Fatal(err)
		}
		if _, err := found.readPhotos(b.Context(), nil, func() {}); err != nil {
			b.Fatal(err)
		}
		own += time.Since(start)
		start = time.Now()
		out, err := exec.Command(tool, "-fast2", "-json", "-n", "-r", folder).Output()
		if err != nil || bytes.Count(out, []byte(`"GPSLatitude"`)) < 2000 {
			b.Fatalf("%v, %d bytes", err, len(out))
		}
		other += time.Since(start)
	}
	b.ReportMetric(other.Seconds()/own.Seconds(), "times-faster")
}

// fill gives every photo of a card the tags, the thumbnail and the XMP packet
// that cameras write.
func fill(b *testing.B, tool, folder string) {
	b.Helper()
	first := filepath.Join(folder, "IMG_0000.jpg")
	if err := os.Truncate(first, 4096); err != nil {
		b.Fatal(err)
	}
	args := []string{"-q", "-m", "-overwrite_original", "-ThumbnailImage=" + strings.Repeat("thumbnail", 900)}
	for _, tag := range []string{
		"Make", "Model", "Software", "Artist", "Copyright", "ImageDescription", "UserComment", "LensMake", "LensModel",
		"LensSerialNumber", "SerialNumber", "OwnerName", "ImageUniqueID", "GPSProcessingMethod", "GPSAreaInformation",
		"XMP-dc:Creator", "XMP-dc:Rights", "XMP-dc:Description", "XMP-dc:Subject", "XMP-xmp:CreatorTool", "XMP-photoshop:City",
	} {
		args = append(args, "-"+tag+"="+strings.Repeat("Selvage ", 6))
	}
	for _, tag := range []string{
		"XResolution", "YResolution", "FNumber", "ApertureValue", "MaxApertureValue", "ExposureCompensation", "BrightnessValue",
		"ShutterSpeedValue", "DigitalZoomRatio", "GPSDOP", "GPSSpeed", "GPSTrack", "ISO", "Flash", "MeteringMode", "LightSource",
		"ExposureProgram", "WhiteBalance", "Contrast", "Saturation", "Sharpness", "SubjectDistance", "Gamma", "ExposureMode",
		"XMP-exif:GPSAltitude", "XMP-xmp:Rating", "XMP-tiff:XResolution", "XMP-aux:ApproximateFocusDistance",
	} {
		args = append(args, "-"+tag+"=2")
	}
	if out, err := exec.Command(tool, append(args, first)...).CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	data, err := os.ReadFile(first)
	if err != nil {
		b.Fatal(err)
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		b.Fatal(err)
	}
	for i, e := range entries {
		path := filepath.Join(folder, e.Name())
		own := bytes.Replace(data, []byte("Selvage "), fmt.Appendf(nil, "%08d", i), 1)
		if err := os.WriteFile(path, own, 0o666); err != nil {
			b.Fatal(err)
		}
		if err := os.Truncate(path, 8<<20); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkKeptPerPhoto tells how much memory a photo takes once it is read.
func BenchmarkKeptPerPhoto(b *testing.B) {
	const count = 2000
	found, err := find(b.Context(), named([]string{benchCard(b, count)}))
	if err != nil {
		b.Fatal(err)
	}
	var before, after runtime.MemStats
	var took *take
	for b.Loop() {
		took = nil
		runtime.GC()
		runtime.ReadMemStats(&before)
		if took, err = found.readPhotos(b.Context(), nil, func() {}); err != nil {
			b.Fatal(err)
		}
		runtime.GC()
		runtime.ReadMemStats(&after)
	}
	b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/count, "bytes/photo")
	runtime.KeepAlive(took)
	runtime.KeepAlive(found)
}
