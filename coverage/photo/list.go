package photo

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Columns of a list of photos, beyond those of a positions table.
const (
	columnDatum       = "altitude_datum"
	columnTimeSource  = "time_source"
	columnMapDatum    = "map_datum"
	columnFormat      = "format"
	columnModel       = "camera"
	columnLens        = "lens"
	columnColumns     = "columns"
	columnRows        = "rows"
	columnFocal       = "focal_mm"
	columnWidth       = "sensor_width_mm"
	columnDepth       = "sensor_height_mm"
	columnSensor      = "sensor_source"
	columnDoubt       = "sensor_doubt"
	columnExposure    = "exposure_s"
	columnFNumber     = "f_number"
	columnISO         = "iso"
	columnZoom        = "digital_zoom"
	columnDOP         = "dop"
	columnOrientation = "orientation"
	columnLeftOut     = "left_out" // why the photo takes no part

	columnPositionSource = "position_source"
	columnAltitudeSource = "altitude_source"
	columnHeightSource   = "height_source"
	columnYawSource      = "yaw_source"
	columnPitchSource    = "pitch_source"
	columnRollSource     = "roll_source"
	columnErrorSource    = "position_error_source"
)

var listColumns = []string{
	columnDatum, columnTimeSource, columnMapDatum, columnFormat, columnModel, columnLens, columnColumns, columnRows,
	columnFocal, columnWidth, columnDepth, columnSensor, columnDoubt, columnExposure, columnFNumber, columnISO, columnZoom,
	columnDOP, columnOrientation,
	columnPositionSource, columnAltitudeSource, columnHeightSource, columnYawSource, columnPitchSource, columnRollSource, columnErrorSource,
	columnLeftOut,
}

// fillFromList sets what a list of photos has beyond a positions table, so that
// photos that were written down and read again are the same. Its error begins
// with the place in the line.
func (t table) fillFromList(p *Photo, cells []string) error {
	for _, c := range []struct {
		column string
		value  *string
	}{{columnMapDatum, &p.MapDatum}, {columnModel, &p.CameraModel}, {columnLens, &p.Lens}, {columnSensor, &p.CameraSource}} {
		*c.value = t.words.Once(unguarded(t.cell(cells, c.column)))
	}
	if f := Format(t.cell(cells, columnFormat)); slices.Contains([]Format{JPEG, TIFF, DNG, HEIF, PNG}, f) {
		p.Format = Format(t.words.Once(string(f)))
	}
	if d := t.cell(cells, columnDatum); !math.IsNaN(p.Altitude) && (d == SeaLevel || d == Ellipsoid) {
		p.AltitudeDatum = t.words.Once(d)
	}
	switch s := t.cell(cells, columnTimeSource); {
	case p.Time.IsZero():
	case s == TimeFromTableAsUTC:
		p.TimeSource = TimeFromTableAsUTC
	case slices.Contains([]string{TimeFromGPS, TimeWithOffset, TimeWithoutZone}, s):
		p.TimeSource, p.Sources.Time = t.words.Once(s), Exif
	}
	for _, c := range []struct {
		column string
		value  *float64
	}{
		{columnFocal, &p.Camera.FocalLength}, {columnWidth, &p.Camera.SensorWidth}, {columnDepth, &p.Camera.SensorHeight},
		{columnDoubt, &p.CameraDoubt}, {columnExposure, &p.ExposureTime}, {columnFNumber, &p.FNumber},
		{columnISO, &p.ISO}, {columnZoom, &p.DigitalZoom}, {columnDOP, &p.DOP},
	} {
		text := t.cell(cells, c.column)
		if text == "" {
			continue
		}
		x, ok := t.number(text)
		if !ok || !(x > 0) {
			return t.fault(c.column, fmt.Sprintf("%.40q is not a number above 0", text))
		}
		*c.value = x
	}
	if p.DigitalZoom < 1 {
		return t.fault(columnZoom, fmt.Sprintf("%g is below 1", p.DigitalZoom))
	}
	for _, c := range []struct {
		column string
		value  *int
		most   int
	}{
		{columnColumns, &p.Camera.Columns, mostPixels}, {columnRows, &p.Camera.Rows, mostPixels}, {columnOrientation, &p.Orientation, 8},
	} {
		text := t.cell(cells, c.column)
		if text == "" {
			continue
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > c.most {
			return t.fault(c.column, fmt.Sprintf("%.40q is not a whole number from 1 to %d", text, c.most))
		}
		*c.value = n
	}
	s := &p.Sources
	for _, c := range []struct {
		column string
		value  *Source
	}{
		{columnPositionSource, &s.Position}, {columnAltitudeSource, &s.Altitude}, {columnHeightSource, &s.Height},
		{columnYawSource, &s.Yaw}, {columnPitchSource, &s.Pitch}, {columnRollSource, &s.Roll}, {columnErrorSource, &s.PositionError},
	} {
		for _, known := range []Source{Exif, XMP, Corrected} {
			if *c.value == Table && t.cell(cells, c.column) == known.String() {
				*c.value = known
			}
		}
	}
	return nil
}

// Words keeps one copy of each text that photos repeat.
type Words map[string]string

// Once returns a text equal to s that all photos share, and that keeps nothing
// of what s was cut from.
func (w Words) Once(s string) string {
	const most = 10_000 // texts that all differ gain nothing
	known, ok := w[s]
	if !ok {
		known = strings.Clone(s)
		if len(w) < most {
			w[known] = known
		}
	}
	return known
}

// String is the source in a word, "" for a value that is unknown.
func (s Source) String() string {
	return [...]string{Unsaid: "", Exif: "Exif", XMP: "XMP", Table: "table", Corrected: "corrected table"}[s]
}

// unguarded takes away the apostrophe that keeps a spreadsheet from calculating
// a text.
func unguarded(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.ContainsRune("=+-@|%\t\r", rune(s[1])) {
		return s[1:]
	}
	return s
}

// leftOutBefore is why a photo of a list was left out when it was read.
type leftOutBefore string

func (why leftOutBefore) Error() string { return string(why) }
