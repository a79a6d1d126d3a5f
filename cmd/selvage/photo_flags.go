package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
	"selvage/report"
)

// photoFlags say what is known of photos beside what they say themselves.
type photoFlags struct {
	xmp       properties
	positions string
	datum     oneOf
	geoid     length
	limits    *limits
}

// The words of --altitude-datum.
const (
	fromSeaLevel  = "sea-level"
	fromEllipsoid = "ellipsoid"
)

func definePhotos(flags *pflag.FlagSet, lim *limits) *photoFlags {
	f := &photoFlags{limits: lim, xmp: properties{names: photo.Names{}}, geoid: anyLength(), datum: oneOf{words: []string{fromSeaLevel, fromEllipsoid}}}
	flags.Var(&f.xmp, "xmp", "XMP property of the photos that holds a value, as in height=RelativeHeight; may be repeated; the values are "+quantityList)
	flags.StringVar(&f.positions, "positions", "", "CSV `file` with corrected positions, which replace those of the photos of the same file names")
	flags.Var(&f.datum, "altitude-datum", "what the photos' altitudes count from, where they do not say or say it wrongly")
	flags.Var(&f.geoid, "geoid-offset", "height of the geoid above the ellipsoid at the site, as in 46.2m; takes altitudes above the ellipsoid to sea level")
	return f
}

// parameters puts what was given into words.
func (f *photoFlags) parameters() []report.Setting {
	var all []report.Setting
	for _, q := range quantities {
		if name := f.xmp.names[q]; name != "" {
			all = append(all, report.Setting{Name: finding.Say("XMP property for the %s", quantityWords[q]), Value: finding.Plain(name)})
		}
	}
	if f.datum.word != "" {
		all = append(all, report.Setting{Name: finding.Say("Photos’ altitudes count from, as given"), Value: datumWords[f.datum.word]})
	}
	if f.geoid.given {
		all = append(all, report.Setting{Name: finding.Say("Height of the geoid above the ellipsoid"), Value: finding.Say("%s", finding.Length(f.geoid.metres))})
	}
	return all
}

var datumWords = map[string]finding.Text{fromSeaLevel: finding.Say("sea level"), fromEllipsoid: finding.Say("the ellipsoid")}

// quantities are what a property may be named for.
var quantities = []photo.Quantity{photo.Height, photo.Altitude, photo.Yaw, photo.Pitch, photo.Roll, photo.PositionError}

const quantityList = "height, altitude, yaw, pitch, roll, position-error"

var quantityWords = map[photo.Quantity]string{
	photo.Height: "height above ground", photo.Altitude: "altitude", photo.Yaw: "yaw",
	photo.Pitch: "pitch", photo.Roll: "roll", photo.PositionError: "position error",
}

// properties is a flag for XMP properties, which may be repeated.
type properties struct{ names photo.Names }

func (p *properties) Set(s string) error {
	quantity, name, both := strings.Cut(s, "=")
	q := photo.Quantity(strings.ToLower(strings.TrimSpace(quantity)))
	name = strings.TrimSpace(name)
	const longest = 200
	switch {
	case !both || name == "":
		return fmt.Errorf("%s: give a value and a property, as in height=RelativeHeight", s)
	case !slices.Contains(quantities, q):
		return fmt.Errorf("%s: the value is one of %s", s, quantityList)
	case p.names[q] != "":
		return fmt.Errorf("%s: %s has a property already, %s", s, q, p.names[q])
	case len(name) > longest || strings.Count(name, ":") > 1 || strings.ContainsAny(name, " \t\r\n<>&\"'=/"):
		return fmt.Errorf("%s: a property has a name such as RelativeHeight, or with its prefix a:RelativeHeight", s)
	}
	p.names[q] = name
	return nil
}

func (p *properties) Type() string { return "value=property" }

func (p *properties) String() string {
	var all []string
	for _, q := range quantities {
		if name := p.names[q]; name != "" {
			all = append(all, string(q)+"="+name)
		}
	}
	return strings.Join(all, ",")
}

// fieldOfView is a flag for the angles that an image spans.
type fieldOfView struct {
	horizontal, vertical float64 // degrees
	text                 string
}

func (v *fieldOfView) Set(s string) error {
	number, unit := strings.CutSuffix(strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), "×", "x"), "deg")
	if !unit {
		number, unit = strings.CutSuffix(number, "°")
	}
	const widest = 170
	var angles [2]float64
	err := errors.New("no unit")
	if unit {
		_, err = fmt.Sscanf(number, "%gx%g", &angles[0], &angles[1])
	}
	if err != nil || !(min(angles[0], angles[1]) >= 1) || !(max(angles[0], angles[1]) <= widest) ||
		strings.Trim(number, "0123456789.x") != "" {
		return fmt.Errorf("%s: give the angles across the image's width and height, 1 to %d degrees, as in 64x48deg", s, widest)
	}
	v.horizontal, v.vertical, v.text = angles[0], angles[1], strings.TrimSpace(s)
	return nil
}

func (v *fieldOfView) Type() string { return "angles" }

func (v *fieldOfView) String() string { return v.text }

// fit gives photos the sensor that spans the angles with their focal length.
// Where that is not known, any will do: only the angles count.
func (v *fieldOfView) fit(photos []photo.Photo) {
	if v.text == "" {
		return
	}
	const anyFocal = 10
	span := func(focal, degrees float64) float64 { return 2 * focal * math.Tan(degrees*math.Pi/360) }
	source := fmt.Sprintf("from the field of view given, %g × %g°", v.horizontal, v.vertical)
	for i := range photos {
		c := &photos[i].Camera
		if !(c.FocalLength > 0) {
			c.FocalLength = anyFocal
		}
		c.SensorWidth, c.SensorHeight = span(c.FocalLength, v.horizontal), span(c.FocalLength, v.vertical)
		photos[i].CameraSource = source
	}
}
