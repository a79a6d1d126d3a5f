package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/report"
)

// doubtFlags say by how much positions, attitudes and heights may be off.
type doubtFlags struct {
	position length
	attitude tilt
	height   length
}

func defineDoubt(flags *pflag.FlagSet) *doubtFlags {
	orExact := length{least: math.Nextafter(0, -1)}
	f := &doubtFlags{position: orExact, height: orExact}
	flags.Var(&f.position, "position-error", "how far off a photo's position may be, where it does not say, as in 5cm; without it, 3m or what its dilution of precision says")
	flags.Var(&f.attitude, "attitude-error", "how far the camera may have been turned otherwise, as in 0.5deg; without it, 1deg, or 3deg where attitude is assumed")
	flags.Var(&f.height, "terrain-error", "how far off the height above ground may be, as in 2m; without it, 0")
	return f
}

// errors are those given, NaN for the others.
func (f *doubtFlags) errors() coverage.Errors {
	e := coverage.Errors{Position: f.position.orNaN(), Attitude: math.NaN(), Height: f.height.orNaN()}
	if f.attitude.given {
		e.Attitude = f.attitude.degrees
	}
	return e
}

// parameters puts what was given into words.
func (f *doubtFlags) parameters() []report.Setting {
	var all []report.Setting
	add := func(name, value finding.Text, given bool) {
		if given {
			all = append(all, report.Setting{Name: name, Value: value})
		}
	}
	add(finding.Say("Position error, where not stated"), finding.Say("%s", finding.Length(f.position.metres)), f.position.given)
	add(finding.Say("Attitude error"), finding.Say("%s°", finding.Decimal("%g", f.attitude.degrees)), f.attitude.given)
	add(finding.Say("Error of the height above ground"), finding.Say("%s", finding.Length(f.height.metres)), f.height.given)
	return all
}

// tilt is a flag for an angle by which a camera may have been turned, degrees.
type tilt struct {
	degrees float64
	given   bool
}

func (a *tilt) Set(s string) error {
	number, unit := strings.CutSuffix(strings.ToLower(strings.TrimSpace(s)), "deg")
	if !unit {
		number, unit = strings.CutSuffix(number, "°")
	}
	degrees, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil || !unit || !(degrees >= 0 && degrees <= coverage.MostAttitudeError) {
		return fmt.Errorf("%s: give degrees from 0 to %g, as in 0.5deg", s, coverage.MostAttitudeError)
	}
	a.degrees, a.given = degrees, true
	return nil
}

func (a *tilt) Type() string { return "angle" }

func (a *tilt) String() string { return amount(a.degrees, "deg", a.given) }
