package photo

import (
	"fmt"
	"math"
	"strings"
)

// mostPixels is the longest side of an image that is believed.
const mostPixels = 1_000_000

// Bounds of a focal length that is believed, in millimetres.
const (
	leastFocal = 0.1
	mostFocal  = 5000
)

// optics is what metadata tells of the camera; 0 is unknown.
type optics struct {
	columns, rows      int     // of the stored image
	pixelX, pixelY     int     // of the image as the camera made it, by its metadata
	focal              float64 // millimetres
	equivalent         float64 // focal length for 36 mm × 24 mm
	perUnitX, perUnitY float64 // pixels of the image as the camera made it, on the sensor
	unit               float64 // of these, in millimetres
	zoom               float64 // digital
}

// view is what optics amount to.
type view struct {
	camera Camera
	source string
	doubt  float64
}

const (
	sameShape = 0.02 // of the sides' ratio: sizes come rounded, raw images have a border
	leastZoom = 1.01
	mostZoom  = 100
	disagree  = 0.1
)

// view returns the camera, how the size of the sensor was found, and the doubt
// about it as in Photo. The pixels are always those of the stored image. Where
// the metadata has another size for it, of the same shape, the image was scaled
// and shows the same field of view; of another shape, it was cut.
func (o optics) view() view {
	v := view{Camera{FocalLength: o.focal, Columns: o.columns, Rows: o.rows}, "", math.NaN()}
	if o.pixelX == 0 || o.pixelY == 0 {
		o.pixelX, o.pixelY = o.columns, o.rows
	}
	if o.columns == 0 || o.rows == 0 {
		v.camera.Columns, v.camera.Rows = o.pixelX, o.pixelY
	}
	c := v.camera
	if c.Columns == 0 || c.Rows == 0 {
		return v
	}
	shape := float64(c.Columns) / float64(c.Rows)
	like := func(x, y int) bool { return math.Abs(float64(x)/float64(y)/shape-1) <= sameShape }
	changed := ""
	part := [2]float64{1, 1} // of the image as the camera made it
	switch was := fmt.Sprintf; {
	case like(o.pixelX, o.pixelY):
		if math.Abs(float64(o.pixelX)/float64(c.Columns)-1) > sameShape {
			changed = was("scaled from %d × %d to %d × %d pixels", o.pixelX, o.pixelY, c.Columns, c.Rows)
		}
	case like(o.pixelY, o.pixelX):
		o.pixelX, o.pixelY = o.pixelY, o.pixelX
		o.perUnitX, o.perUnitY = o.perUnitY, o.perUnitX
		changed = was("turned from %d × %d to %d × %d pixels", o.pixelY, o.pixelX, c.Columns, c.Rows)
	case c.Columns <= o.pixelX && c.Rows <= o.pixelY:
		part = [2]float64{float64(c.Columns) / float64(o.pixelX), float64(c.Rows) / float64(o.pixelY)}
		changed = was("cut from %d × %d to %d × %d pixels", o.pixelX, o.pixelY, c.Columns, c.Rows)
	default:
		o.pixelX, o.pixelY = c.Columns, c.Rows
	}
	plane, planeOK := o.fromFocalPlane(part)
	equivalent, equivalentOK := o.fromEquivalent(part)
	if !planeOK && !equivalentOK {
		return v
	}
	zoom := max(o.zoom, 1)
	if zoom < leastZoom {
		zoom = 1
	}
	var words []string
	if planeOK {
		words = append(words, "focal-plane resolution")
		c.SensorWidth, c.SensorHeight = plane[0]/zoom, plane[1]/zoom
		if equivalentOK {
			// Some makers have the digital zoom in the equivalent, others not.
			without, with := equivalent[0]/zoom/c.SensorWidth, equivalent[0]/c.SensorWidth
			if v.doubt = without; math.Abs(math.Log(with)) < math.Abs(math.Log(without)) {
				v.doubt = with
			}
			if math.Abs(v.doubt-1) > disagree {
				words[0] += fmt.Sprintf(" (the 35 mm equivalent gives a sensor %.1f mm wide instead of %.1f mm)",
					v.doubt*c.SensorWidth, c.SensorWidth)
			}
		}
	} else {
		words = append(words, "35 mm equivalent (diagonal 43.27 mm, good to about 5 %)")
		c.SensorWidth, c.SensorHeight = equivalent[0]/zoom, equivalent[1]/zoom
		if zoom > 1 {
			v.doubt = zoom
		}
	}
	if zoom > 1 {
		words = append(words, fmt.Sprintf("narrowed by a digital zoom of %.4g", zoom))
	}
	if changed != "" {
		words = append(words, changed)
	}
	if !plausibleSensor(c) {
		v.doubt = math.NaN()
		return v
	}
	v.camera, v.source = c, strings.Join(words, ", ")
	return v
}

// fromFocalPlane uses pixels a unit of length on the sensor.
func (o optics) fromFocalPlane(part [2]float64) ([2]float64, bool) {
	if !(o.perUnitX > 0) || !(o.perUnitY > 0) || !(o.unit > 0) {
		return part, false
	}
	w := float64(o.pixelX) / o.perUnitX * o.unit
	h := float64(o.pixelY) / o.perUnitY * o.unit
	return [2]float64{w * part[0], h * part[1]}, plausibleSensor(Camera{SensorWidth: w, SensorHeight: h})
}

// fromEquivalent takes the equivalent as one of diagonals. Some makers compare
// widths instead, which differs by up to about 5 %; that figure is common
// practice, without a source.
func (o optics) fromEquivalent(part [2]float64) ([2]float64, bool) {
	if !(o.equivalent > 0) || !(o.focal > 0) {
		return part, false
	}
	diagonal := math.Hypot(36, 24) * o.focal / o.equivalent
	scale := diagonal / math.Hypot(float64(o.pixelX), float64(o.pixelY))
	w, h := float64(o.pixelX)*scale, float64(o.pixelY)*scale
	return [2]float64{w * part[0], h * part[1]}, plausibleSensor(Camera{SensorWidth: w, SensorHeight: h})
}

// plausibleSensor also turns away NaN and infinity.
func plausibleSensor(c Camera) bool {
	const least, most = 0.5, 200 // millimetres
	return c.SensorWidth >= least && c.SensorWidth <= most && c.SensorHeight >= least && c.SensorHeight <= most
}

// optics collects what the directories tell of the camera.
func (m *metadata) optics(columns, rows int) optics {
	o := optics{columns: columns, rows: rows}
	if x, ok := m.exif.integer(tagPixelX); ok && x > 0 && x <= mostPixels {
		if y, ok := m.exif.integer(tagPixelY); ok && y > 0 && y <= mostPixels {
			o.pixelX, o.pixelY = int(x), int(y)
		}
	}
	if string(m.interoperability.text(tagInteropIndex)) == dcfThumbnail {
		x, _ := m.interoperability.integer(tagRelatedWidth)
		y, _ := m.interoperability.integer(tagRelatedHeight)
		if x > 0 && y > 0 && x <= mostPixels && y <= mostPixels {
			o.columns, o.rows = int(x), int(y)
		}
	}
	o.focal = orZero(within(m.exif.rational(tagFocalLength), leastFocal, mostFocal))
	equivalent, _ := m.exif.integer(tagFocalLength35)
	o.equivalent = float64(equivalent)
	o.zoom = orZero(within(m.exif.rational(tagDigitalZoom), 1, mostZoom))
	o.perUnitX, o.perUnitY = orZero(m.exif.rational(tagFocalPlaneX)), orZero(m.exif.rational(tagFocalPlaneY))
	// The unit is the inch unless stated: the default in CIPA DC-008-2019, from memory.
	o.unit = 25.4
	if m.exif.has(tagFocalPlaneUnit) {
		switch unit, _ := m.exif.integer(tagFocalPlaneUnit); unit {
		case 2:
		case 3:
			o.unit = 10
		default:
			o.unit = 0
		}
	}
	return o
}

// orZero turns NaN into 0, so that optics compare.
func orZero(x float64) float64 {
	if x > 0 && !math.IsInf(x, 0) {
		return x
	}
	return 0
}
