package photo

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
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

// TestDecodeExiftool reads what another program has written, in both byte orders.
func TestDecodeExiftool(t *testing.T) {
	tool := exiftool(t)
	for _, order := range []string{"II", "MM"} {
		t.Run(order, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.jpg")
			if err := os.WriteFile(path, jpegOf(segment(0xE0, []byte("JFIF\x00\x01\x02\x00\x00\x01\x00\x01\x00\x00"))), 0o644); err != nil {
				t.Fatal(err)
			}
			run(t, tool, "-q", "-n", "-overwrite_original", "-ExifByteOrder="+order,
				"-XMP-dc:Title=a packet beside it",
				"-IFD0:Model=Other lens", "-IFD0:Orientation=6", "-ExifIFD:ExifVersion=0231",
				"-GPSLatitude=40.4461111", "-GPSLatitudeRef=N", "-GPSLongitude=79.9822222", "-GPSLongitudeRef=W",
				"-GPSAltitude=412.3", "-GPSAltitudeRef=1", "-GPSImgDirection=33.25", "-GPSImgDirectionRef=T",
				"-GPSHPositioningError=0.02", "-GPSMapDatum=WGS-84",
				"-GPSDateStamp=2026:05:01", "-GPSTimeStamp=06:07:08.5",
				"-ExifIFD:DateTimeOriginal=2026:05:01 08:07:08", "-OffsetTimeOriginal=+02:00",
				"-ExposureTime=0.00125", "-FocalLength=24", "-FocalLengthIn35mmFormat=36", "-CameraElevationAngle=-87.5",
				"-ExifImageWidth=6000", "-ExifImageHeight=4000", path)
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Contains(data, append([]byte("Exif\x00\x00"), order...)) {
				t.Fatalf("exiftool did not write %s", order)
			}
			p := mustDecode(t, data)
			// A 35 mm equivalent of 36 mm at 24 mm is a sensor of two thirds of 36 mm × 24 mm.
			want := New("a.jpg", p.Position)
			want.Position[0], want.Position[1] = -79.9822222, 40.4461111
			want.Altitude, want.AltitudeDatum, want.Yaw, want.Pitch = -412.3, SeaLevel, 33.25, -87.5
			want.Time, want.TimeSource = time.Date(2026, 5, 1, 6, 7, 8, 5e8, time.UTC), TimeFromGPS
			want.ExposureTime, want.PositionError = 0.00125, 0.02
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
		})
	}
}
