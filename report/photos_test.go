package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

func photoAt(file string, lon, lat float64) photo.Photo {
	p := photo.New(file, orb.Point{lon, lat})
	p.Sources.Position = photo.Exif
	return p
}

func hostilePhotos() []photo.Photo {
	full := photoAt("DCIM/IMG_1.jpg", 10.123456789, -0.5)
	full.Altitude, full.AltitudeDatum, full.Height = 212.3456, photo.Ellipsoid, 80
	full.Yaw, full.Pitch, full.Roll, full.PositionError = 359.9, -90, 0.25, 0.02
	full.Time, full.TimeSource = time.Date(2026, 5, 12, 9, 1, 2, 250e6, time.UTC), photo.TimeFromGPS
	full.Sources = photo.Sources{
		Position: photo.Corrected, Altitude: photo.Corrected, Height: photo.XMP, Yaw: photo.Exif, Pitch: photo.Exif,
		Roll: photo.XMP, Time: photo.Exif, PositionError: photo.Corrected,
	}
	full.Camera = photo.Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648}
	full.CameraSource, full.CameraDoubt, full.Orientation, full.Format = "focal-plane resolution", 1.02, 6, photo.DNG
	full.ExposureTime, full.FNumber, full.ISO, full.DigitalZoom, full.DOP, full.MapDatum = 1./8000, 2.8, 100, 1.5, 0.75, "=WGS-84"
	full.CameraModel, full.Lens = `=HYPERLINK("http://example.org")`, "@lens"
	return []photo.Photo{
		full,
		photoAt("=1+1.jpg", -1, 2), photoAt("-1.jpg", 1, 2), photoAt("+1.jpg", 1, 2), photoAt("@a.jpg", 1, 2), photoAt("\ttab.jpg", 1, 2),
		photoAt(`a,"b";<c>&'d`+"\n\x00\u202e\xff.jpg", 179.9999999999, 89),
		photoAt("past the date line.jpg", 180.25, 0.1),
	}
}

// What a spreadsheet may take for a formula begins with one of these
// characters (OWASP, "CSV Injection").
func TestPhotosCSV(t *testing.T) {
	var out bytes.Buffer
	photos, leftOut := hostilePhotos(), []photo.LeftOut{{File: "=2.jpg", Reason: finding.Plain("+no position, \"none\"")}}
	if err := WritePhotosCSV(&out, photos, leftOut); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(out.Bytes())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(photos)+2 {
		t.Fatalf("%d rows", len(rows))
	}
	numbers := map[string]bool{"lon": true, "lat": true, "alt_m": true, "height_m": true, "yaw_deg": true, "pitch_deg": true, "roll_deg": true}
	for _, row := range rows[1:] {
		for i, cell := range row {
			if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) && !numbers[rows[0][i]] {
				t.Errorf("%s: a spreadsheet calculates %q", rows[0][i], cell)
			}
		}
	}

	// Read again, nothing is lost, to the decimals that are written.
	back, left, err := photo.ReadPositions("centres.csv", out.Bytes(), photo.TableLimits{})
	if err != nil || len(left) != 1 || left[0].File != leftOut[0].File || left[0].Reason.String() != leftOut[0].Reason.String() || len(back) != len(photos) {
		t.Fatalf("%d photos, left out %v, %v", len(back), left, err)
	}
	for i, want := range photos {
		want.File, want.CameraModel, want.Lens = strings.TrimSpace(Clean(want.File)), Clean(want.CameraModel), Clean(want.Lens)
		want.Position, want.Altitude = plane.WrapPoint(want.Position), math.Round(want.Altitude*1000)/1000
		want.Position[0] = math.Round(want.Position[0]*1e9) / 1e9
		// Not !=, since unknown numbers are NaN.
		if got := back[i]; fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", want) {
			t.Errorf("came back as\n%+v\ninstead of\n%+v", got, want)
		}
	}
}

func TestPhotosGeoJSON(t *testing.T) {
	var out bytes.Buffer
	photos := hostilePhotos()
	if err := WritePhotosGeoJSON(&out, photos); err != nil {
		t.Fatal(err)
	}
	var file struct {
		Type     string
		Features []struct {
			Type     string
			Geometry struct {
				Type        string
				Coordinates []float64
			}
			Properties map[string]any
		}
	}
	if err := json.Unmarshal(out.Bytes(), &file); err != nil {
		t.Fatal(err)
	}
	if file.Type != "FeatureCollection" || len(file.Features) != len(photos) {
		t.Fatalf("%s with %d features", file.Type, len(file.Features))
	}
	first := file.Features[0]
	if first.Geometry.Type != "Point" || len(first.Geometry.Coordinates) != 2 || math.Abs(first.Geometry.Coordinates[0]-10.123456789) > 1e-8 {
		t.Errorf("%+v", first.Geometry)
	}
	if first.Properties["height_m"] != 80.0 || first.Properties["altitude_datum"] != "ellipsoid" || file.Features[1].Properties["height_m"] != nil {
		t.Errorf("%v", first.Properties)
	}
	if name := file.Features[6].Properties["file"]; name != `a,"b";<c>&'d `+"���.jpg" {
		t.Errorf("the name came out as %q", name)
	}
}

func TestPhotosKML(t *testing.T) {
	var out bytes.Buffer
	photos := hostilePhotos()
	if err := WritePhotosKML(&out, "card <1>", photos); err != nil {
		t.Fatal(err)
	}
	var file struct {
		XMLName  xml.Name
		Document struct {
			Name       string `xml:"name"`
			Placemarks []struct {
				Name        string `xml:"name"`
				When        string `xml:"TimeStamp>when"`
				Coordinates string `xml:"Point>coordinates"`
			} `xml:"Placemark"`
		}
	}
	if err := xml.Unmarshal(out.Bytes(), &file); err != nil {
		t.Fatal(err)
	}
	if file.XMLName.Space != "http://www.opengis.net/kml/2.2" || file.Document.Name != "card <1>" || len(file.Document.Placemarks) != len(photos) {
		t.Fatalf("%v, %q, %d placemarks", file.XMLName, file.Document.Name, len(file.Document.Placemarks))
	}
	first := file.Document.Placemarks[0]
	if first.Name != "DCIM/IMG_1.jpg" || first.When != "2026-05-12T09:01:02.25Z" || first.Coordinates != "10.123456789,-0.5" {
		t.Errorf("%+v", first)
	}
	if name := file.Document.Placemarks[6].Name; name != `a,"b";<c>&'d `+"���.jpg" {
		t.Errorf("the name came out as %q", name)
	}
	if err := WritePhotosKML(&out, "", []photo.Photo{photoAt("a", math.NaN(), 1)}); err == nil {
		t.Error("a position that is none was written")
	}
	if err := WritePhotosGeoJSON(&out, []photo.Photo{photoAt("a", math.NaN(), 1)}); err == nil {
		t.Error("a position that is none was written")
	}
}

// Programs read the keys by name.
func TestPhotosJSONKeys(t *testing.T) {
	var out bytes.Buffer
	err := WritePhotosJSON(&out, PhotoList{
		Photos: hostilePhotos(), LeftOut: []photo.LeftOut{{File: "a", Reason: finding.Plain("b")}},
		Folders: []PhotoFolder{{Name: "DCIM"}}, Sensors: []PhotoSensor{{Name: "A"}},
		Values: []PhotoValue{{Name: "yaw", From: []PhotoSource{{Name: "Exif"}}}}, Files: []File{{}},
	})
	if err != nil {
		t.Fatal(err)
	}
	var value any
	if err := json.Unmarshal(out.Bytes(), &value); err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	keys(value, "", got)
	want := strings.Fields(`
		photos photos.read photos.used photos.left_out photos.left_out[].file photos.left_out[].reason photos.repeated
		passed_over
		folders folders[].name folders[].photos folders[].left_out folders[].from folders[].to
		sensors sensors[].number sensors[].name sensors[].photos sensors[].columns sensors[].rows sensors[].focal_mm
		sensors[].sensor_width_mm sensors[].sensor_height_mm sensors[].sensor_source
		values values[].name values[].known values[].sources values[].sources[].name values[].sources[].photos
		list list[].file list[].lon list[].lat list[].alt_m list[].altitude_datum list[].height_m list[].yaw_deg
		list[].pitch_deg list[].roll_deg list[].time list[].position_error_m list[].camera list[].lens
		list[].sources list[].sources.position list[].sources.altitude list[].sources.height list[].sources.yaw
		list[].sources.pitch list[].sources.roll list[].sources.time
		findings files files[].role files[].path`)
	for _, k := range want {
		if !got[k] {
			t.Errorf("the key %s is gone", k)
		}
		delete(got, k)
	}
	for k := range got {
		t.Errorf("the key %s is new", k)
	}
}

// Of many photos the first five and the last are shown, unless all are wanted.
func TestPhotosText(t *testing.T) {
	l := PhotoList{Passed: finding.Plain("3 files .mp4"), Repeated: 2}
	for range 9 {
		l.Photos = append(l.Photos, photoAt("x.jpg", 1, 2))
	}
	show := func(all bool) string {
		var out strings.Builder
		if err := WritePhotosText(&out, l, all, Style{}); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	if text := show(false); strings.Count(text, "x.jpg") != 6 || !strings.Contains(text, "3 between the last two are not shown") {
		t.Errorf("%s", text)
	}
	text := show(true)
	if strings.Count(text, "x.jpg") != 9 || strings.Contains(text, "not shown") {
		t.Errorf("%s", text)
	}
	for _, want := range []string{"9 photos\n", "2 photos were met more than once, and counted once.", "Passed over: 3 files .mp4."} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	l.Photos = l.Photos[:7]
	if text := show(false); strings.Count(text, "x.jpg") != 7 {
		t.Errorf("%s", text)
	}
}
