package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/pflag"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/report"
)

// setupFlags say with which camera, how high and with which overlaps a flight
// is to be flown.
type setupFlags struct {
	camera     camera
	sample     string
	height     length
	gsd        pixel
	overlap    overlaps
	widthAlong bool

	flags *pflag.FlagSet
}

// defineSetup adds the flags; purpose stands before what the first is for.
func defineSetup(flags *pflag.FlagSet, purpose string) *setupFlags {
	f := &setupFlags{flags: flags}
	flags.Var(&f.camera, "camera", purpose+"the camera's sensor size, focal length and image size, as in 13.2x8.8mm,8.8mm,5472x3648")
	flags.StringVar(&f.sample, "sample", "", purpose+"a `photo` that says the same of its camera")
	flags.Var(&f.height, "height", purpose+"height above ground, as in 80m or 260ft")
	flags.Var(&f.gsd, "gsd", purpose+"ground sample distance in place of the height, as in 2.5cm")
	flags.Var(&f.overlap, "overlap", purpose+"forward and side overlap in per cent, as in 75/70")
	flags.BoolVar(&f.widthAlong, "width-along", false, purpose+"the images' wide side lies along the course, not across it as usual")
	return f
}

// given names those of the flags that were given.
func (f *setupFlags) given() []string {
	return givenOf(f.flags, "camera", "sample", "height", "gsd", "overlap", "width-along")
}

// givenOf returns those of the names whose flags were given.
func givenOf(flags *pflag.FlagSet, names ...string) []string {
	var given []string
	for _, name := range names {
		if flags.Changed(name) {
			given = append(given, name)
		}
	}
	return given
}

// setup is a flight's setup, and the sample photo if there is one.
type setup struct {
	coverage.Setup
	sample *photo.Photo
}

// setup holds together what was given. It looks into the sample photo.
func (f *setupFlags) setup() (setup, error) {
	s := setup{Setup: coverage.Setup{
		Camera: f.camera.Camera, Height: f.height.metres, GSD: f.gsd.metres,
		Forward: f.overlap.forward, Side: f.overlap.side, WidthAlong: f.widthAlong,
	}}
	switch {
	case f.sample == "" && !f.camera.Complete():
		return s, errors.New("the camera is not known; add --camera 13.2x8.8mm,8.8mm,5472x3648 (sensor size, focal length, image size) or --sample PHOTO")
	case !f.height.given && !f.gsd.given:
		return s, errors.New("the height is not known; add --height 80m or --gsd 2.5cm")
	case f.height.given && f.gsd.given:
		return s, errors.New("give --height or --gsd, not both: one follows from the other")
	case f.overlap.forward == 0:
		return s, errors.New("the overlaps are not known; add forward and side overlap, as in --overlap 75/70")
	}
	if f.sample == "" {
		return s, nil
	}
	p, err := readSample(f.sample)
	if err != nil {
		return s, err
	}
	if s.Camera = p.Camera.Merge(f.camera.Camera); !s.Camera.Complete() {
		return s, fmt.Errorf("%s does not say enough of its camera; add --camera 13.2x8.8mm,8.8mm,5472x3648 (sensor size, focal length, image size)", f.sample)
	}
	s.sample = &p
	return s, nil
}

// readSample reads the metadata of one photo. Of a sample only the camera
// counts, so it needs no position.
func readSample(path string) (photo.Photo, error) {
	f, err := os.Open(path)
	if err != nil {
		return photo.Photo{}, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return photo.Photo{}, err
	}
	p, err := photo.Read(filepath.Base(path), f, info.Size(), nil)
	if err != nil && !errors.Is(err, photo.ErrUnlocated) {
		return p, fmt.Errorf("%s cannot be the sample photo: %w; give another, or --camera", path, err)
	}
	return p, nil
}

// cameraWords says what the camera is and how that is known.
func (s setup) cameraWords() finding.Text {
	c := s.Camera
	words := finding.Say("%s × %s mm sensor, %s mm lens, %d × %d pixels",
		finding.Decimal("%.4g", c.SensorWidth), finding.Decimal("%.4g", c.SensorHeight), finding.Decimal("%.4g", c.FocalLength), c.Columns, c.Rows)
	if s.sample != nil {
		words = finding.Say("%s, by %s", words, oneLine(s.sample.File))
	}
	return words
}

// layoutRows are the figures that camera, height and overlaps make.
func layoutRows(s setup, l coverage.Layout, u report.Units) [][]string {
	rows := [][]string{{"Camera", u.Sentence(s.cameraWords())}}
	if s.sample != nil && s.sample.CameraSource != "" {
		rows = append(rows, []string{"Sensor size", oneLine(s.sample.CameraSource)})
	}
	return append(rows, [][]string{
		{"Height", u.Length(l.Height) + " above ground"},
		{"Ground sample distance", u.GSD(l.GSD)},
		{"Overlap", u.Overlap(s.Forward) + " forward, " + u.Overlap(s.Side) + " side"},
		{"Ground footprint", u.Length(l.FootprintAlong) + " along the course, " + u.Length(l.FootprintAcross) + " across"},
		{"Air base", u.Length(l.AirBase)},
		{"Line spacing", u.Length(l.LineSpacing)},
	}...)
}
