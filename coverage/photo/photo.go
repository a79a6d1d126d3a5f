// Package photo turns one image's metadata, or one row of a positions table,
// into a Photo. It opens no files: callers hand it bytes.
package photo

import (
	"math"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// Camera is what the footprint needs to know of a camera: the part of the
// sensor that the image shows, and the pixels of the stored image, which are
// fewer when it was scaled down. A zero field is unknown.
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
	CameraSource     string  // where the sensor size came from, in words; "" when unknown
	CameraModel      string  // as the camera names itself; "" when unknown
	PositionError    float64 // horizontal, metres
	MapDatum         string  // as the source names it; "" when it does not, and then it is WGS 84
	// Orientation is the Exif one, 1 to 8, 0 when unknown: how viewers turn the
	// image. It changes nothing else: Camera and Yaw are those of the stored
	// rows and columns.
	Orientation int

	Format      Format  // of the file; "" from a table
	Lens        string  // as the camera names it; "" when unknown
	FNumber     float64 // focal length over aperture
	ISO         float64 // sensitivity
	DigitalZoom float64 // 1 is none
	DOP         float64 // dilution of precision of the position
	// CameraDoubt is the sensor's width by the other reading of the metadata
	// over that in Camera: 1 is agreement, NaN that there is no other. The
	// readings are the focal-plane resolution, which goes first, and the 35 mm
	// equivalent; with the latter alone, whether a digital zoom is in it.
	CameraDoubt float64
	Sources     Sources
}

// Format is a kind of image file.
type Format string

const (
	JPEG Format = "JPEG"
	TIFF Format = "TIFF"
	DNG  Format = "DNG"
	HEIF Format = "HEIF"
	PNG  Format = "PNG"
)

// Source says where a value was read.
type Source uint8

const (
	Unsaid Source = iota // the value is unknown
	Exif
	XMP       // a property that the user named, or an Exif one in XMP
	Table     // a positions table
	Corrected // a table whose positions replace those of the photos
)

// Sources are those of a photo's values.
type Sources struct {
	Position, Altitude, Height, Yaw, Pitch, Roll, Time, PositionError Source
}

// Quantity is a value that the user may name an XMP property for.
type Quantity string

const (
	Height        Quantity = "height"   // above ground, metres
	Altitude      Quantity = "altitude" // metres, datum unknown
	Yaw           Quantity = "yaw"      // degrees, as in Photo
	Pitch         Quantity = "pitch"
	Roll          Quantity = "roll"
	PositionError Quantity = "position-error" // metres
)

// Names maps a quantity to the XMP property that holds it: its local name, or
// "prefix:local" where the local name alone would be ambiguous.
type Names map[Quantity]string

// Property is a simple property of an XMP packet that holds a number.
type Property struct {
	Name  string // "prefix:local", as in the file
	Value float64
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
	Reason finding.Text // a clause: "no position in its metadata"
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
		FNumber: unknown, ISO: unknown, DigitalZoom: unknown, DOP: unknown, CameraDoubt: unknown,
	}
}
