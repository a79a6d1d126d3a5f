package photo

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

// exiftool finds the reference reader. With SELVAGE_REFERENCE_TOOLS=required
// in the environment it must be there.
func exiftool(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("exiftool")
	if err == nil {
		return path
	}
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		t.Fatal("exiftool is required and not installed")
	}
	t.Skip("exiftool is not installed: the comparison with it is left out")
	return ""
}

func run(t *testing.T, tool string, args ...string) []byte {
	t.Helper()
	out, err := exec.Command(tool, args...).Output()
	if err != nil {
		t.Fatalf("%s %s: %v", filepath.Base(tool), strings.Join(args, " "), err)
	}
	return out
}

// readTags returns exiftool's numeric reading of one file, keys as "GPS:GPSLatitude".
func readTags(t *testing.T, tool, path string) map[string]any {
	t.Helper()
	var all []map[string]any
	if err := json.Unmarshal(run(t, tool, "-n", "-j", "-G1", "-a", "-validate", "-warning", path), &all); err != nil || len(all) != 1 {
		t.Fatalf("exiftool's answer: %v", err)
	}
	var more []map[string]any
	if err := json.Unmarshal(run(t, tool, "-n", "-j", "-G1", path), &more); err != nil || len(more) != 1 {
		t.Fatalf("exiftool's answer: %v", err)
	}
	for key, value := range all[0] {
		more[0][key] = value
	}
	return more[0]
}

// TestEncodeAgainstExiftool has every tag that Encode writes read by another
// program.
func TestEncodeAgainstExiftool(t *testing.T) {
	tool := exiftool(t)
	for name, p := range samples() {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), name+".jpg")
			if err := os.WriteFile(path, encoded(t, p), 0o644); err != nil {
				t.Fatal(err)
			}
			tags := readTags(t, tool, path)
			number := func(key string, want, tolerance float64) {
				t.Helper()
				got, ok := tags[key].(float64)
				if !ok {
					got = math.NaN()
				}
				if !almost(got, want, tolerance) {
					t.Errorf("%s is %v, want %g", key, tags[key], want)
				}
			}
			text := func(key, want string) {
				t.Helper()
				if got, _ := tags[key].(string); got != want {
					t.Errorf("%s is %v, want %q", key, tags[key], want)
				}
			}
			size := [2]int{p.Camera.Columns, p.Camera.Rows}
			focal := p.Camera.FocalLength
			if name == "bare" {
				size, focal = [2]int{48, 32}, math.NaN()
			}
			if validity := tags["ExifTool:Validate"]; validity != "0 0 0" {
				t.Errorf("errors, warnings and minor warnings %v: %v", validity, tags["ExifTool:Warning"])
			}
			number("GPS:GPSLatitude", math.Abs(p.Position.Lat()), 1e-9)
			number("GPS:GPSLongitude", math.Abs(p.Position.Lon()), 1e-9)
			number("Composite:GPSLatitude", p.Position.Lat(), 1e-9)
			number("Composite:GPSLongitude", p.Position.Lon(), 1e-9)
			text("GPS:GPSLatitudeRef", hemisphere(p.Position.Lat(), "N", "S"))
			text("GPS:GPSLongitudeRef", hemisphere(p.Position.Lon(), "E", "W"))
			text("GPS:GPSVersionID", "2 3 0 0")
			text("GPS:GPSMapDatum", "WGS-84")
			number("GPS:GPSAltitude", math.Abs(p.Altitude), 1e-6)
			number("Composite:GPSAltitude", p.Altitude, 1e-6)
			number("GPS:GPSImgDirection", p.Yaw, 1e-6)
			number("GPS:GPSHPositioningError", p.PositionError, 1e-6)
			number("ExifIFD:CameraElevationAngle", p.Pitch, 1e-6)
			number("ExifIFD:ExposureTime", p.ExposureTime, 1e-9)
			number("ExifIFD:FocalLength", focal, 1e-9)
			number("ExifIFD:FNumber", p.FNumber, 1e-9)
			number("ExifIFD:ISO", p.ISO, 0)
			number("GPS:GPSDOP", p.DOP, 1e-9)
			text("ExifIFD:LensModel", p.Lens)
			number("ExifIFD:ExifImageWidth", float64(size[0]), 0)
			number("ExifIFD:ExifImageHeight", float64(size[1]), 0)
			number("File:ImageWidth", 48, 0)
			number("File:ImageHeight", 32, 0)
			if p.Camera.Complete() {
				number("ExifIFD:FocalPlaneResolutionUnit", 3, 0)
				number("ExifIFD:FocalPlaneXResolution", float64(p.Camera.Columns)*10/p.Camera.SensorWidth, 1e-4)
				number("ExifIFD:FocalPlaneYResolution", float64(p.Camera.Rows)*10/p.Camera.SensorHeight, 1e-4)
			}
			text("IFD0:Software", "Selvage")
			text("ExifIFD:DateTimeOriginal", p.Time.Format("2006:01:02 15:04:05"))
			// exiftool's JSON has the digits as a string only when they begin with 0.
			switch got := tags["ExifIFD:SubSecTimeOriginal"].(type) {
			case string:
				text("ExifIFD:SubSecTimeOriginal", p.Time.Format(".000")[1:])
			case float64:
				number("ExifIFD:SubSecTimeOriginal", float64(p.Time.Nanosecond()/1e6), 0)
			default:
				t.Errorf("fraction of a second %v", got)
			}
			switch name {
			case "full":
				text("IFD0:Model", "Wide lens")
				text("ExifIFD:ExifVersion", "0232")
				number("GPS:GPSAltitudeRef", 0, 0)
				text("GPS:GPSImgDirectionRef", "T")
				text("ExifIFD:OffsetTimeOriginal", "+02:00")
				text("GPS:GPSDateStamp", "2026:05:01")
				text("GPS:GPSTimeStamp", "21:59:59.25")
				text("Composite:GPSDateTime", "2026:05:01 21:59:59.25Z")
			case "south":
				text("IFD0:Model", "Invented Camera")
				text("ExifIFD:ExifVersion", "0300")
				number("GPS:GPSAltitudeRef", 1, 0)
				text("ExifIFD:OffsetTimeOriginal", "-03:00")
				text("GPS:GPSTimeStamp", "")
			case "bare":
				text("ExifIFD:OffsetTimeOriginal", "")
				text("GPS:GPSTimeStamp", "")
				text("GPS:GPSImgDirectionRef", "")
			}
		})
	}
}

// writeBlanks writes an image without metadata of every format into one folder.
func writeBlanks(t *testing.T) (paths []string) {
	dir := t.TempDir()
	for extension, data := range blanks(6000, 4000) {
		paths = append(paths, filepath.Join(dir, "a"+extension))
		if err := os.WriteFile(paths[len(paths)-1], data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return paths
}

// readFile reads a file as a.jpg: a wrong extension does no harm.
func readFile(t *testing.T, path string, names Names) (Photo, error) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	return Read("a.jpg", f, info.Size(), names)
}

// TestReadExiftool reads what another program has written, in every format and
// in both byte orders.
func TestReadExiftool(t *testing.T) {
	tool := exiftool(t)
	for _, order := range []string{"II", "MM"} {
		paths := writeBlanks(t)
		run(t, tool, "-q", "-m", "-n", "-overwrite_original", "-ExifByteOrder="+order,
			"-XMP-dc:Title=a packet beside it", "-XMP-exif:GPSLatitude=1.5", "-XMP-exif:GPSLongitude=2.5",
			"-IFD0:Model=Other lens", "-IFD0:Orientation=6", "-ExifIFD:ExifVersion=0231",
			"-GPS:GPSLatitude=40.4461111", "-GPS:GPSLatitudeRef=N", "-GPS:GPSLongitude=79.9822222", "-GPS:GPSLongitudeRef=W",
			"-GPS:GPSAltitude=412.3", "-GPS:GPSAltitudeRef=1", "-GPS:GPSImgDirection=33.25", "-GPS:GPSImgDirectionRef=T",
			"-GPS:GPSHPositioningError=0.02", "-GPS:GPSDOP=1.25", "-GPS:GPSMapDatum=WGS-84",
			"-GPS:GPSDateStamp=2026:05:01", "-GPS:GPSTimeStamp=06:07:08.5",
			"-ExifIFD:DateTimeOriginal=2026:05:01 08:07:08", "-ExifIFD:OffsetTimeOriginal=+02:00",
			"-ExifIFD:ExposureTime=0.00125", "-ExifIFD:FNumber=2.8", "-ExifIFD:ISO=200", "-ExifIFD:LensModel=24 mm f/2.8",
			"-ExifIFD:FocalLength=24", "-ExifIFD:FocalLengthIn35mmFormat=36", "-ExifIFD:DigitalZoomRatio=1", "-ExifIFD:CameraElevationAngle=-87.5",
			"-ExifIFD:ExifImageWidth=6000", "-ExifIFD:ExifImageHeight=4000", filepath.Dir(paths[0]))
		var tags []map[string]any
		if err := json.Unmarshal(run(t, tool, append([]string{"-n", "-j", "-G1"}, paths...)...), &tags); err != nil {
			t.Fatal(err)
		}
		for i, path := range paths {
			extension := filepath.Ext(path)
			t.Run(extension+" "+order, func(t *testing.T) {
				p, err := readFile(t, path, nil)
				if err != nil {
					t.Fatal(err)
				}
				if want := formats[extension]; p.Format != want {
					t.Errorf("format %s, want %s", p.Format, want)
				}
				compare(t, p, tags[i])
				// A 35 mm equivalent of 36 mm at 24 mm is a sensor of two thirds of 36 mm × 24 mm.
				want := New("a.jpg", p.Position)
				want.Position[0], want.Position[1] = -79.9822222, 40.4461111
				want.Altitude, want.AltitudeDatum, want.Yaw, want.Pitch = -412.3, SeaLevel, 33.25, -87.5
				want.Time, want.TimeSource = time.Date(2026, 5, 1, 6, 7, 8, 5e8, time.UTC), TimeFromGPS
				want.ExposureTime, want.PositionError, want.DOP = 0.00125, 0.02, 1.25
				want.FNumber, want.ISO, want.DigitalZoom, want.Lens = 2.8, 200, 1, "24 mm f/2.8"
				want.Camera = Camera{SensorWidth: 24, SensorHeight: 16, FocalLength: 24, Columns: 6000, Rows: 4000}
				if !almost(p.Position[0], want.Position[0], 1e-8) || !almost(p.Position[1], want.Position[1], 1e-8) {
					t.Errorf("position %v, want %v", p.Position, want.Position)
				}
				p.Position = want.Position
				if d := differences(want, p); d != nil {
					t.Errorf("%v differ:\nread %+v\nwant %+v", d, p, want)
				}
				if p.CameraModel != "Other lens" || p.Orientation != 6 || p.MapDatum != "WGS-84" {
					t.Errorf("model %q, orientation %d, datum %q", p.CameraModel, p.Orientation, p.MapDatum)
				}
				all := Sources{Position: Exif, Altitude: Exif, Yaw: Exif, Pitch: Exif, Time: Exif, PositionError: Exif}
				if p.Sources != all {
					t.Errorf("sources %+v", p.Sources)
				}
			})
		}
	}
}

// TestReadExiftoolXMP takes the position from the XMP properties of the Exif
// standard where the Exif metadata has none, and named properties, as another
// program writes them.
func TestReadExiftoolXMP(t *testing.T) {
	tool := exiftool(t)
	paths := writeBlanks(t)
	run(t, tool, "-q", "-m", "-n", "-overwrite_original", "-XMP-tiff:Model=Other lens", "-XMP-tiff:Orientation=3",
		"-XMP-exif:GPSLatitude=-40.4461111", "-XMP-exif:GPSLongitude=79.9822222", "-XMP-exif:GPSAltitude=412.3", "-XMP-exif:GPSAltitudeRef=1",
		"-XMP-exif:GPSImgDirection=33.25", "-XMP-exif:GPSImgDirectionRef=T", "-XMP-exif:GPSMapDatum=WGS-84", "-XMP-exif:GPSDOP=3.5",
		"-XMP-exif:GPSDateTime=2026:05:01 06:07:08Z", "-XMP-exif:ExposureTime=0.00125", "-XMP-exif:FNumber=2.8",
		"-XMP-exif:FocalLength=24", "-XMP-exif:FocalLengthIn35mmFormat=36",
		"-XMP-GPano:PoseHeadingDegrees=271.5", "-XMP-GPano:PosePitchDegrees=-89.5", "-XMP-GPano:PoseRollDegrees=1.25", filepath.Dir(paths[0]))
	for _, path := range paths {
		t.Run(filepath.Ext(path), func(t *testing.T) {
			p, err := readFile(t, path, Names{Yaw: "gpano:poseheadingdegrees", Pitch: "PosePitchDegrees", Roll: "PoseRollDegrees", Height: "NotThere"})
			if err != nil {
				t.Fatal(err)
			}
			want := New("a.jpg", orb.Point{79.9822222, -40.4461111})
			want.Altitude, want.AltitudeDatum, want.Yaw, want.Pitch, want.Roll = -412.3, UnknownDatum, 271.5, -89.5, 1.25
			want.Time, want.TimeSource = time.Date(2026, 5, 1, 6, 7, 8, 0, time.UTC), TimeFromGPS
			want.ExposureTime, want.FNumber, want.DOP = 0.00125, 2.8, 3.5
			want.Camera = Camera{SensorWidth: 24, SensorHeight: 16, FocalLength: 24, Columns: 6000, Rows: 4000}
			if !almost(p.Position[0], want.Position[0], 1e-7) || !almost(p.Position[1], want.Position[1], 1e-7) {
				t.Errorf("position %v, want %v", p.Position, want.Position)
			}
			p.Position = want.Position
			if d := differences(want, p); d != nil {
				t.Errorf("%v differ:\nread %+v\nwant %+v", d, p, want)
			}
			if p.CameraModel != "Other lens" || p.Orientation != 3 || p.MapDatum != "WGS-84" || !math.IsNaN(p.Height) {
				t.Errorf("model %q, orientation %d, datum %q, height %g", p.CameraModel, p.Orientation, p.MapDatum, p.Height)
			}
			all := Sources{Position: XMP, Altitude: XMP, Yaw: XMP, Pitch: XMP, Roll: XMP, Time: XMP}
			if p.Sources != all {
				t.Errorf("sources %+v", p.Sources)
			}
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			list, err := Properties(bytes.NewReader(data), int64(len(data)))
			if err != nil || !slices.Contains(list, Property{"GPano:PoseRollDegrees", 1.25}) {
				t.Errorf("properties %v, %v", list, err)
			}
		})
	}
}
