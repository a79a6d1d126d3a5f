package photo

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestSamples reads the photos of cameras in the folder that the environment
// variable SELVAGE_PHOTO_SAMPLES names, and compares with exiftool.
func TestSamples(t *testing.T) {
	root := os.Getenv("SELVAGE_PHOTO_SAMPLES")
	if root == "" {
		if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
			t.Fatal("SELVAGE_PHOTO_SAMPLES names no folder of photos")
		}
		t.Skip("SELVAGE_PHOTO_SAMPLES names no folder of photos: the comparison on them is left out")
	}
	tool := exiftool(t)
	extensions := []string{".jpg", ".jpeg", ".tif", ".tiff", ".dng", ".heic", ".heif", ".avif", ".png", ".nef", ".cr2", ".arw", ".pef"}
	var paths []string
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && slices.Contains(extensions, strings.ToLower(filepath.Ext(path))) {
			paths = append(paths, path)
		}
		return err
	})
	if err != nil || len(paths) == 0 {
		t.Fatalf("%d photos in %s: %v", len(paths), root, err)
	}
	names := slices.Clone(paths)
	for i, path := range paths {
		paths[i] = completed(t, path)
	}
	args := append([]string{"-n", "-j", "-G1", "-q", "-m", "-charset", "filename=utf8"}, paths...)
	var all []map[string]any
	if err := json.Unmarshal(run(t, tool, args...), &all); err != nil || len(all) != len(paths) {
		t.Fatalf("exiftool's answer on %d photos has %d: %v", len(paths), len(all), err)
	}
	located, refused := 0, 0
	formats := map[Format]int{}
	for i, path := range paths {
		name, err := filepath.Rel(root, names[i])
		if err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.ToSlash(name), func(t *testing.T) {
			f, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			info, err := f.Stat()
			if err != nil {
				t.Fatal(err)
			}
			c := &counted{ReaderAt: f}
			p, err := Read(name, c, info.Size(), nil)
			if c.bytes > FirstRead+UsualHead || c.reads > 1+mostReads {
				t.Errorf("%d bytes read in %d places", c.bytes, c.reads)
			}
			if err != nil && !errors.Is(err, ErrUnlocated) {
				if all[i]["ExifTool:Warning"] == nil && all[i]["ExifTool:Error"] == nil {
					t.Errorf("exiftool has no objection, we say %v", err)
				}
				refused++
				return
			}
			formats[p.Format]++
			if p.Located() {
				located++
			}
			compare(t, p, all[i])
		})
	}
	t.Logf("%d photos, %d with a position, %d refused, %v", len(paths), located, refused, formats)
	if refused > len(paths)/2 || located == 0 {
		t.Error("too few photos were read for a comparison")
	}
}

// completed returns the path of a photo, or of a copy with an image size and
// image data where a collection kept nothing but the Exif segment.
func completed(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(data) < 12 || string(data[6:12]) != exifHeader {
		return path
	}
	length := 4 + int(data[4])<<8 + int(data[5])
	if len(data) < length-2 || len(data) > length+8 {
		return path
	}
	copied := filepath.Join(t.TempDir(), "a.jpg")
	if err := os.WriteFile(copied, append(data[:length], jpegSized(1, 1)[2:]...), 0o644); err != nil {
		t.Fatal(err)
	}
	return copied
}

// compare holds a photo against exiftool's numeric reading of it.
func compare(t *testing.T, p Photo, tags map[string]any) {
	t.Helper()
	number := func(key string, want, tolerance float64) {
		t.Helper()
		got, ok := tags[key].(float64)
		if !ok || got == 0 && want != 0 { // which stands for unknown
			got = math.NaN()
		}
		if !almost(got, want, tolerance) {
			t.Errorf("%s is %v, we read %g", key, tags[key], want)
		}
	}
	text := func(key, want string) {
		t.Helper()
		got := "" // exiftool's JSON has text that looks like a number as one
		if tags[key] != nil {
			got = strings.TrimSpace(fmt.Sprint(tags[key]))
		}
		if got != want {
			t.Errorf("%s is %v, we read %q", key, tags[key], want)
		}
	}
	if p.Sources.Position == Exif {
		number("Composite:GPSLatitude", p.Position.Lat(), 1e-9)
		number("Composite:GPSLongitude", p.Position.Lon(), 1e-9)
	}
	number("Composite:GPSAltitude", p.Altitude, 1e-6)
	number("ExifIFD:ExposureTime", p.ExposureTime, 1e-9)
	number("ExifIFD:FNumber", p.FNumber, 1e-6)
	number("ExifIFD:ISO", p.ISO, 0)
	focal := p.Camera.FocalLength
	if focal == 0 {
		focal = math.NaN()
	}
	number("ExifIFD:FocalLength", focal, 1e-6)
	text("IFD0:Model", p.CameraModel)
	text("ExifIFD:LensModel", p.Lens)
	orientation := float64(p.Orientation)
	if orientation == 0 {
		orientation = math.NaN()
	}
	number("IFD0:Orientation", orientation, 0)
	width, height := "File:ImageWidth", "File:ImageHeight"
	switch p.Format {
	case PNG:
		width, height = "PNG:ImageWidth", "PNG:ImageHeight"
	case TIFF, DNG:
		width, height = "Composite:ImageWidth", "Composite:ImageHeight"
	}
	if p.Camera.Columns > 0 && tags[width] != nil {
		number(width, float64(p.Camera.Columns), 0)
		number(height, float64(p.Camera.Rows), 0)
	}
	if p.TimeSource == TimeWithOffset || p.TimeSource == TimeWithoutZone {
		text("ExifIFD:DateTimeOriginal", p.Time.Format("2006:01:02 15:04:05"))
	}
}
