// Package photo turns one image's metadata, or one row of a positions table,
// into a Photo. It opens no files: callers hand it bytes.
package photo

import (
	"math"
	"time"

	"github.com/paulmach/orb"
)

// Camera is what the footprint needs to know of a camera.
// A zero field is unknown.
type Camera struct {
	SensorWidth, SensorHeight float64 // millimetres, along the stored rows and columns
	FocalLength               float64 // millimetres
	Columns, Rows             int     // pixels
}

// Photo is one exposure. A float64 that the source does not give is NaN.
type Photo struct {
	File     string
	Position orb.Point // degrees lon, lat, WGS 84
	// Altitude is in metres above AltitudeDatum.
	Altitude      float64
	AltitudeDatum string  // SeaLevel, Ellipsoid or UnknownDatum; "" without an altitude
	Height        float64 // metres above ground, when the source gives it
	// Yaw is the heading of the top of the image, degrees clockwise from true
	// north. Pitch is the elevation of the optical axis: -90 is straight down,
	// 0 the horizon. Roll turns the camera about its axis, clockwise positive.
	Yaw, Pitch, Roll float64
	Time             time.Time // zero when unknown
	TimeSource       string    // which clock, in words: TimeFromGPS and so on; "" when unknown
	ExposureTime     float64   // seconds
	Camera           Camera
	CameraSource     string // where the sensor size came from, in words; "" when unknown
	CameraModel      string // as the camera names itself; "" when unknown
	PositionError    float64
	MapDatum         string // as the source names it; "" when it does not, and then it is WGS 84
	Orientation      int    // Exif orientation, 1 to 8; 0 when unknown
}

// What an altitude is measured from.
const (
	SeaLevel     = "sea level"
	Ellipsoid    = "ellipsoid"
	UnknownDatum = "unknown"
)

// Which clock a time was read from.
const (
	TimeFromGPS        = "GPS"
	TimeWithOffset     = "camera clock with offset"
	TimeWithoutZone    = "camera clock, zone unknown" // taken as UTC
	TimeFromTable      = "positions table"
	TimeFromTableAsUTC = "positions table, zone unknown" // taken as UTC
)

// LeftOut is a photo that takes no part in an audit, and why.
type LeftOut struct {
	File   string
	Reason string // a clause in words: "no position in its metadata"
}

// New returns a photo of which only the file and the position (degrees lon,
// lat) are known.
func New(file string, position orb.Point) Photo {
	unknown := math.NaN()
	return Photo{
		File: file, Position: position,
		Altitude: unknown, Height: unknown,
		Yaw: unknown, Pitch: unknown, Roll: unknown,
		ExposureTime: unknown, PositionError: unknown,
	}
}
