// Package crs brings coordinates of client files to longitude and latitude on
// WGS 84. The projections and datum shifts are those of a library; this
// package finds out which one a file or a pilot means, and refuses what it
// cannot bring over well enough to fly by.
package crs

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/wroge/wgs84/v2"

	"selvage/boundary/finding"
)

// System is a coordinate system. Its points are {easting, northing} in its
// own unit, or {longitude, latitude} in degrees, whatever order of axes an
// authority prescribes. Make one with Parse.
type System struct {
	name     string
	datum    datum
	spheroid wgs84.Spheroid
	plane    wgs84.CoordinateSystem // takes and gives metres; nil for longitude and latitude
	lon0     float64                // the longitude, in degrees, that the plane is centred on
	mirrored bool                   // the plane is a mirror image, north for south
	unit     unit                   // of the plane
}

type unit struct {
	name   string
	metres float64
}

var (
	metre        = unit{"metres", 1}
	foot         = unit{"international feet", 0.3048}
	usSurveyFoot = unit{"US survey feet", 1200.0 / 3937}
	degrees      = unit{"degrees", 0}
)

// Name is the system's name as an authority or the file has it.
func (s System) Name() string { return s.name }

// Unit names what the system's coordinates count: "metres",
// "international feet", "US survey feet" or "degrees".
func (s System) Unit() string { return s.unit.name }

// Geographic reports whether the coordinates are longitude and latitude.
func (s System) Geographic() bool { return s.plane == nil }

// IsWGS84 reports whether the coordinates are longitude and latitude that
// ToWGS84 leaves bit for bit as they are.
func (s System) IsWGS84() bool { return s.plane == nil && s.datum.shift == nil }

// Caveat is a sentence about how well the system's datum is brought to
// WGS 84, empty for WGS 84 itself.
func (s System) Caveat() finding.Text { return s.datum.caveat() }

// agreement is how far, in metres, a point may come back from the way there
// and back.
const agreement = 0.0001

// ToWGS84 brings p to longitude and latitude in degrees on WGS 84. An error
// says that p lies outside what the system describes. Longitudes and
// latitudes that need no shift pass unchanged, even when out of range.
func (s System) ToWGS84(p orb.Point) (orb.Point, error) {
	if !finite(p) {
		return orb.Point{}, fmt.Errorf("%v is not a position", p)
	}
	if s.IsWGS84() {
		return p, nil
	}
	lonlat := p
	if s.plane != nil {
		// The library's way back from a transverse Mercator plane is some
		// millimetres off its way there, which one step of correction takes
		// away. The formulas give an answer anywhere; only within their
		// domain does it lead back.
		once := s.project(s.unproject(p))
		lonlat = s.unproject(orb.Point{2*p[0] - once[0], 2*p[1] - once[1]})
		back := s.project(lonlat)
		if !(math.Hypot(back[0]-p[0], back[1]-p[1])*s.unit.metres <= agreement) || !s.onGlobe(lonlat) {
			return orb.Point{}, fmt.Errorf("easting %s, northing %s lie outside the area of %s", figure(p[0]), figure(p[1]), s.name)
		}
	} else if !s.onGlobe(p) {
		return orb.Point{}, fmt.Errorf("longitude %s, latitude %s are out of range", figure(p[0]), figure(p[1]))
	}
	if s.datum.shift != nil {
		x, y, z := s.spheroid.ToXYZ(lonlat[0], lonlat[1], 0)
		x, y, z = s.datum.shift.helmert.ToWGS84(x, y, z)
		lon, lat, _ := wgs84.WGS84.Spheroid.FromXYZ(x, y, z)
		if !s.datum.shift.within.Contains(lon, lat) {
			return orb.Point{}, fmt.Errorf("longitude %s, latitude %s lie outside %s, for which the shift from %s to WGS 84 is known",
				figure(lon), figure(lat), s.datum.shift.area, s.datum.name)
		}
		lonlat = orb.Point{lon, lat}
	}
	return orb.Point{wrap(lonlat[0]), lonlat[1]}, nil
}

// FromWGS84 brings longitude and latitude in degrees on WGS 84 to the system,
// with an error where ToWGS84 would not lead back.
func (s System) FromWGS84(lonlat orb.Point) (orb.Point, error) {
	if s.IsWGS84() {
		return lonlat, nil
	}
	p := lonlat
	if s.datum.shift != nil {
		x, y, z := wgs84.WGS84.Spheroid.ToXYZ(p[0], p[1], 0)
		x, y, z = s.datum.shift.helmert.FromWGS84(x, y, z)
		p[0], p[1], _ = s.spheroid.FromXYZ(x, y, z)
	}
	if s.plane != nil {
		p = s.project(p)
	}
	back, err := s.ToWGS84(p)
	if err == nil && math.Abs(back[1]-lonlat[1])+math.Abs(wrap(back[0]-lonlat[0])) > 1e-6 {
		err = fmt.Errorf("longitude %s, latitude %s lie outside the area of %s", figure(lonlat[0]), figure(lonlat[1]), s.name)
	}
	return p, err
}

// unproject leaves the longitude within half a turn of the system's own
// centre, where that is possible at all.
func (s System) unproject(p orb.Point) orb.Point {
	east, north := p[0]*s.unit.metres, p[1]*s.unit.metres
	if s.mirrored {
		north = -north
	}
	lon, lat, _ := s.plane.ToGeographic(east, north, 0, s.spheroid)
	if s.mirrored {
		lat = -lat
	}
	return orb.Point{lon, lat}
}

func (s System) project(lonlat orb.Point) orb.Point {
	lon, lat := s.lon0+wrap(lonlat[0]-s.lon0), lonlat[1]
	if s.mirrored {
		lat = -lat
	}
	east, north, _ := s.plane.FromGeographic(lon, lat, 0, s.spheroid)
	if s.mirrored {
		north = -north
	}
	return orb.Point{east / s.unit.metres, north / s.unit.metres}
}

func (s System) onGlobe(lonlat orb.Point) bool {
	return math.Abs(lonlat[0]-s.lon0) <= 180+1e-9 && math.Abs(lonlat[1]) <= 90
}

func finite(p orb.Point) bool { return !math.IsNaN(p[0]-p[0]) && !math.IsNaN(p[1]-p[1]) }

// wrap turns a longitude into the range of -180 to 180 degrees; those within
// it keep every bit.
func wrap(lon float64) float64 {
	if math.Abs(lon) <= 180 {
		return lon
	}
	return math.Remainder(lon, 360)
}

func figure(x float64) string { return fmt.Sprintf("%.10g", x) }
