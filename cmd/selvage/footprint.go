package main

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/pflag"

	"selvage/coverage/photo"
)

// plannedFootprint is a flag for the ground that one photo was planned to show.
type plannedFootprint struct {
	wide, high float64 // metres, across the image and along it
	text       string
}

func defineFootprint(flags *pflag.FlagSet) *plannedFootprint {
	f := &plannedFootprint{}
	flags.Var(f, "footprint", "ground that a photo was planned to show from --height with the pixels of --gsd, across and along the image, for photos without a camera, as in 109x73m")
	return f
}

func (f *plannedFootprint) Set(s string) error {
	text := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), "×", "x")
	first, second, _ := strings.Cut(text, "x")
	unit := strings.TrimLeft(second, "0123456789.")
	var wide, high length
	if wide.Set(strings.TrimSpace(first)+unit) != nil || high.Set(second) != nil || !(min(wide.metres, high.metres) >= 1) || !(max(wide.metres, high.metres) <= 20_000) {
		return fmt.Errorf("%s: give the ground across and along the image, 1 m to 20 km each, as in 109x73m", s)
	}
	f.wide, f.high, f.text = wide.metres, high.metres, strings.TrimSpace(s)
	return nil
}

func (f *plannedFootprint) Type() string { return "lengths" }

func (f *plannedFootprint) String() string { return f.text }

func (f *plannedFootprint) check(height length, gsd pixel) error {
	if f.text != "" && !(height.given && gsd.given) {
		return misuse("audit", "--footprint takes the planned --height and --gsd with it")
	}
	return nil
}

// fit gives photos that do not say enough of their camera one that shows the
// planned ground. Any focal length will do, since only the angles count.
func (f *plannedFootprint) fit(photos []photo.Photo, height, gsd float64) {
	if f.text == "" {
		return
	}
	const focal = 10 // millimetres
	planned := photo.Camera{
		SensorWidth: focal * f.wide / height, SensorHeight: focal * f.high / height, FocalLength: focal,
		Columns: int(math.Round(f.wide / gsd)), Rows: int(math.Round(f.high / gsd)),
	}
	for i := range photos {
		if p := &photos[i]; !p.Camera.Complete() {
			p.Camera, p.CameraSource = planned, "from the planned footprint of "+f.text
		}
	}
}
