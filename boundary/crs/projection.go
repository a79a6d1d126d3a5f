package crs

import (
	"errors"
	"fmt"
	"math"

	"github.com/wroge/wgs84/v2"
)

// projection is a map projection: angles in degrees, lengths in metres.
type projection struct {
	method            method
	lat0, lon0        float64
	scale             float64 // not of lambert2
	sp1, sp2          float64 // the standard parallels of lambert2
	easting, northing float64 // false
}

type method string

// The methods by their codes in the EPSG dataset.
const (
	transverseMercator method = "TM"   // 9807
	lambert1           method = "LCC1" // 9801
	lambert2           method = "LCC2" // 9802
)

// onto makes s a system of the projection p.
func (s System) onto(p projection) (System, error) {
	for _, x := range []float64{p.lat0, p.lon0, p.scale, p.sp1, p.sp2, p.easting, p.northing} {
		if math.IsNaN(x) || math.Abs(x) > 1e9 {
			return System{}, errors.New("the projection has a figure that is out of range")
		}
	}
	if math.Abs(p.lat0) > 90 || math.Abs(p.lon0) > 180 || math.Abs(p.sp1) >= 90 || math.Abs(p.sp2) >= 90 {
		return System{}, errors.New("the projection has an angle that is out of range")
	}
	if p.method != lambert2 && !(p.scale > 0.5 && p.scale < 2) {
		return System{}, fmt.Errorf("the projection has the scale factor %g, which is out of range", p.scale)
	}
	s.lon0 = p.lon0
	switch p.method {
	case transverseMercator:
		s.plane = wgs84.TransverseMercator{Lonf: p.lon0, Latf: p.lat0, Scale: p.scale, Eastf: p.easting, Northf: p.northing}
		return s, nil
	case lambert1:
		p.sp1, p.sp2 = p.lat0, p.lat0
	}
	if math.Abs(p.sp1+p.sp2) < 1e-6 || math.Abs(p.lat0) == 90 && p.method == lambert1 {
		return System{}, errors.New("the standard parallels of the conic projection make no cone")
	}
	// The library's formulas hold for a cone over the north pole.
	if s.mirrored = p.sp1+p.sp2 < 0; s.mirrored {
		p.lat0, p.sp1, p.sp2, p.northing = -p.lat0, -p.sp1, -p.sp2, -p.northing
	}
	if p.method == lambert1 {
		s.plane = wgs84.LambertConformalConic1SP{Lonf: p.lon0, Latf: p.lat0, Scale: p.scale, Eastf: p.easting, Northf: p.northing}
	} else {
		s.plane = wgs84.LambertConformalConic2SP{Lonf: p.lon0, Latf: p.lat0, Sp1: p.sp1, Sp2: p.sp2, Eastf: p.easting, Northf: p.northing}
	}
	return s, nil
}
