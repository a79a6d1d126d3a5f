// Package photo turns one image's metadata, or one row of a positions table,
// into a Photo. It opens no files: callers hand it bytes.
package photo

import (
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
	Altitude float64   // metres, in the datum the source uses (normally above mean sea level)
	Height   float64   // metres above ground, when the source gives it
	// Yaw is the heading of the top of the image, degrees clockwise from true
	// north. Pitch is the elevation of the optical axis: -90 is straight down,
	// 0 the horizon. Roll turns the camera about its axis, clockwise positive.
	Yaw, Pitch, Roll float64
	Time             time.Time // zero when unknown
	Camera           Camera
	CameraSource     string // where the sensor size came from, in words; "" when unknown
	PositionError    float64
}

// LeftOut is a photo that takes no part in an audit, and why.
type LeftOut struct {
	File   string
	Reason string // a clause in words: "no position in its metadata"
}
