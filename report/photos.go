package report

import (
	"bufio"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

// photoColumns are those of a positions table, and then where each value was
// read and what else is known of the photo.
var photoColumns = []string{
	"file", "lon", "lat", "alt_m", "height_m", "yaw_deg", "pitch_deg", "roll_deg", "time", "position_error_m",
	"altitude_datum", "position_source", "altitude_source", "height_source", "yaw_source", "pitch_source", "roll_source",
	"position_error_source", "time_source", "map_datum", "format", "camera", "lens", "columns", "rows", "orientation",
	"focal_mm", "sensor_width_mm", "sensor_height_mm", "sensor_source", "sensor_doubt",
	"exposure_s", "f_number", "iso", "digital_zoom", "dop", "left_out",
}

// WritePhotosCSV writes one row a photo. photo.ReadPositions reads it with
// nothing lost but what is finer than the decimals; a value that is not known is
// blank. Text that a spreadsheet would take for a formula has an apostrophe
// before it. Photos that were left out come last, with nothing but their names
// and why. It has no byte order mark, as programs read it that would take that
// for a part of the first name.
func WritePhotosCSV(w io.Writer, photos []photo.Photo, leftOut []photo.LeftOut) error {
	out := csv.NewWriter(w)
	if err := out.Write(photoColumns); err != nil {
		return err
	}
	for i := range photos {
		p := &photos[i]
		s, c := p.Sources, p.Camera
		at := plane.WrapPoint(p.Position)
		row := []string{
			cell(p.File), known9(at.Lon()), known9(at.Lat()), known3(p.Altitude), known3(p.Height),
			bearing(p.Yaw), known3(p.Pitch), known3(p.Roll), moment(p.Time), known3(p.PositionError),
			p.AltitudeDatum, s.Position.String(), s.Altitude.String(), s.Height.String(), s.Yaw.String(), s.Pitch.String(), s.Roll.String(),
			s.PositionError.String(), cell(p.TimeSource), cell(p.MapDatum), string(p.Format), cell(p.CameraModel), cell(p.Lens),
			some(c.Columns), some(c.Rows), some(p.Orientation),
			digits(c.FocalLength), digits(c.SensorWidth), digits(c.SensorHeight), cell(p.CameraSource), digits(p.CameraDoubt),
			digits(p.ExposureTime), digits(p.FNumber), digits(p.ISO), digits(p.DigitalZoom), digits(p.DOP), "",
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	for _, l := range leftOut {
		row := make([]string, len(photoColumns))
		row[0], row[len(row)-1] = cell(l.File), cell(l.Reason.String())
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// cell is text that a spreadsheet does not calculate.
func cell(s string) string {
	s = Clean(s)
	if s != "" && strings.ContainsRune("=+-@|%\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

func known3(x float64) string { return knownTo(x, 3) }

// bearing is below 360 also where it was a little less.
func bearing(degrees float64) string {
	if s := known3(degrees); s != "360" {
		return s
	}
	return "0"
}

// known9 keeps degrees to a tenth of a millimetre.
func known9(x float64) string { return knownTo(x, 9) }

func knownTo(x float64, decimals int) string {
	if !finite(x) {
		return ""
	}
	return trimmed(x, decimals)
}

func some(n int) string {
	if n <= 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// digits keeps six digits, as exposure times need.
func digits(x float64) string {
	if !(x > 0) || !finite(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'g', 6, 64)
}

func moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}

// WritePhotosGeoJSON writes one point a photo (RFC 7946), with at most 9
// decimals and without a height: RFC 7946, section 4, counts heights from the
// ellipsoid, and photos seldom do.
func WritePhotosGeoJSON(w io.Writer, photos []photo.Photo) error {
	out := &features{Writer: bufio.NewWriter(w)}
	out.WriteString(`{"type":"FeatureCollection","features":[`)
	for i := range photos {
		p := &photos[i]
		out.add(plane.WrapPoint(p.Position), photoJSONOf(p))
	}
	out.WriteString("\n]}\n")
	if out.err != nil {
		return fmt.Errorf("writing GeoJSON: %w", out.err)
	}
	return out.Flush()
}

// photoJSON is a photo in machine output; null is unknown.
type photoJSON struct {
	File          string   `json:"file"`
	Lon           *rounded `json:"lon,omitempty"`
	Lat           *rounded `json:"lat,omitempty"`
	Altitude      rounded  `json:"alt_m"`
	Datum         string   `json:"altitude_datum"`
	Height        rounded  `json:"height_m"`
	Yaw           rounded  `json:"yaw_deg"`
	Pitch         rounded  `json:"pitch_deg"`
	Roll          rounded  `json:"roll_deg"`
	Time          string   `json:"time"`
	PositionError rounded  `json:"position_error_m"`
	Sources       struct {
		Position string `json:"position"`
		Altitude string `json:"altitude"`
		Height   string `json:"height"`
		Yaw      string `json:"yaw"`
		Pitch    string `json:"pitch"`
		Roll     string `json:"roll"`
		Time     string `json:"time"`
	} `json:"sources"`
	Camera string `json:"camera"`
	Lens   string `json:"lens"`
}

func photoJSONOf(p *photo.Photo) photoJSON {
	s := p.Sources
	out := photoJSON{
		File: Clean(p.File), Altitude: metres(p.Altitude), Datum: p.AltitudeDatum, Height: metres(p.Height),
		Yaw: rounded{p.Yaw, 3}, Pitch: rounded{p.Pitch, 3}, Roll: rounded{p.Roll, 3},
		Time: moment(p.Time), PositionError: metres(p.PositionError), Camera: Clean(p.CameraModel), Lens: Clean(p.Lens),
	}
	out.Sources.Position, out.Sources.Altitude, out.Sources.Height = s.Position.String(), s.Altitude.String(), s.Height.String()
	out.Sources.Yaw, out.Sources.Pitch, out.Sources.Roll = s.Yaw.String(), s.Pitch.String(), s.Roll.String()
	out.Sources.Time = p.TimeSource
	return out
}

// WritePhotosKML writes one placemark a photo, on the ground, for map viewers.
func WritePhotosKML(w io.Writer, title string, photos []photo.Photo) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n <Document>\n  <name>%s</name>\n", escaped(title))
	for i := range photos {
		p := &photos[i]
		at := plane.WrapPoint(p.Position)
		if !finite(at.Lon()) || !finite(at.Lat()) {
			return fmt.Errorf("writing KML: the position of %s is not a number", Clean(p.File))
		}
		fmt.Fprintf(out, "  <Placemark>\n   <name>%s</name>\n", escaped(p.File))
		if about := aboutPhoto(p); about != "" {
			fmt.Fprintf(out, "   <description>%s</description>\n", escaped(about))
		}
		if !p.Time.IsZero() {
			fmt.Fprintf(out, "   <TimeStamp><when>%s</when></TimeStamp>\n", moment(p.Time))
		}
		fmt.Fprintf(out, "   <Point><coordinates>%s,%s</coordinates></Point>\n  </Placemark>\n", trimmed(at.Lon(), 9), trimmed(at.Lat(), 9))
	}
	out.WriteString(" </Document>\n</kml>\n")
	return out.Flush()
}

func aboutPhoto(p *photo.Photo) string {
	var parts []string
	add := func(name string, x float64, unit string) {
		if finite(x) {
			parts = append(parts, name+" "+trimmed(x, 2)+unit)
		}
	}
	add("altitude", p.Altitude, " m")
	add("height", p.Height, " m")
	add("yaw", p.Yaw, "°")
	add("pitch", p.Pitch, "°")
	add("roll", p.Roll, "°")
	if p.CameraModel != "" {
		parts = append(parts, p.CameraModel)
	}
	return strings.Join(parts, ", ")
}

// escaped is text for XML.
func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(Clean(s))) // a strings.Builder takes everything
	return b.String()
}
