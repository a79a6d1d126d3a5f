// Package report writes what an audit found: as a coverage note for people,
// as JSON, GeoJSON and KML for programs, and as text for a terminal. It
// computes no new number; it formats and converts units.
package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// Units is the system of measures that people read. Machine output is always
// metric.
type Units int

const (
	Metric Units = iota
	Imperial
)

const (
	squareMetresPerHectare = 10_000
	metresPerFoot          = 0.3048 // the international foot, exact
	feetPerMile            = 5280
	squareFeetPerAcre      = 43_560
	metresPerInch          = 0.0254
)

// ParseUnits reads "metric" or "imperial".
func ParseUnits(s string) (Units, error) {
	switch strings.ToLower(s) {
	case "metric":
		return Metric, nil
	case "imperial":
		return Imperial, nil
	}
	return Metric, fmt.Errorf("units are metric or imperial, not %q", s)
}

func (u Units) String() string {
	if u == Imperial {
		return "imperial"
	}
	return "metric"
}

// Length formats metres as metres or feet: "8.2 m", "2,431 m".
func (u Units) Length(m float64) string {
	if u == Imperial {
		return measure(m/metresPerFoot, "ft")
	}
	return measure(m, "m")
}

// Chainage formats metres along an edge, always with one decimal, so that
// successive values can be told apart.
func (u Units) Chainage(m float64) string {
	unit := "m"
	if u == Imperial {
		m, unit = m/metresPerFoot, "ft"
	}
	if !finite(m) {
		return unknown
	}
	return fixed(m, 1) + " " + unit
}

// Distance formats metres as kilometres or miles once these are the easier
// figures, and as Length otherwise.
func (u Units) Distance(m float64) string {
	if u == Imperial {
		if miles := m / metresPerFoot / feetPerMile; math.Abs(miles) >= 1 && finite(miles) {
			return fixed(miles, 2) + " mi"
		}
	} else if math.Abs(m) >= 10_000 && finite(m) {
		return fixed(m/1000, 2) + " km"
	}
	return u.Length(m)
}

// Speed formats metres a second, or miles an hour.
func (u Units) Speed(mps float64) string {
	if u == Imperial {
		return measure(mps*3600/metresPerFoot/feetPerMile, "mph")
	}
	return measure(mps, "m/s")
}

// Area formats square metres: m² below a hectare and hectares above it, or
// ft² below an acre and acres above it.
func (u Units) Area(m2 float64) string {
	if u == Imperial {
		ft2 := m2 / (metresPerFoot * metresPerFoot)
		if math.Abs(ft2) >= squareFeetPerAcre {
			return large(ft2/squareFeetPerAcre, "acres")
		}
		return measure(ft2, "ft²")
	}
	if math.Abs(m2) >= squareMetresPerHectare {
		return large(m2/squareMetresPerHectare, "ha")
	}
	return measure(m2, "m²")
}

// AreaBoth is Area with the other system's figure in brackets.
func (u Units) AreaBoth(m2 float64) string {
	other := Imperial
	if u == Imperial {
		other = Metric
	}
	return u.Area(m2) + " (" + other.Area(m2) + ")"
}

// GSD formats metres a pixel as centimetres or inches a pixel.
func (u Units) GSD(m float64) string {
	switch {
	case !finite(m):
		return unknown
	case u == Imperial:
		return fixed(m/metresPerInch, 2) + " in/px"
	}
	return fixed(m*100, 2) + " cm/px"
}

// Percent formats a share, 1 for all. It never rounds a part up to all, nor
// down to nothing.
func Percent(share float64) string {
	switch {
	case !finite(share):
		return unknown
	case share == 0:
		return "0 %"
	case share == 1:
		return "100 %"
	case share > 0 && share < 0.0005:
		return "<0.1 %"
	case share >= 0.9995 && share < 1:
		return ">99.9 %"
	}
	return fixed(share*100, 1) + " %"
}

// Overlap formats a share as a whole percentage, which is how overlaps are
// asked for; a share in between keeps one decimal.
func Overlap(share float64) string {
	if p := share * 100; finite(p) && math.Abs(p-math.Round(p)) < 1e-6 {
		return fixed(p, 0) + " %"
	}
	return Percent(share)
}

// Count formats a number with its noun: "1 gap", "2,000 gaps".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return Number(n) + " " + many
}

// Number formats a whole number with its thousands apart.
func Number(n int) string { return fixed(float64(n), 0) }

// Position formats degrees lon/lat as latitude, then longitude, to 6 decimals
// (about 0.1 m).
func Position(p orb.Point) string {
	if !finite(p.Lon()) || !finite(p.Lat()) {
		return unknown
	}
	return angle(p.Lat(), 6, "N", "S") + ", " + angle(wrap(p.Lon()), 6, "E", "W")
}

const unknown = "not known"

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// wrap brings a longitude to -180 … 180.
func wrap(lon float64) float64 {
	if lon >= -180 && lon <= 180 {
		return lon
	}
	return lon - 360*math.Floor((lon+180)/360)
}

func angle(degrees float64, decimals int, plus, minus string) string {
	side := plus
	if degrees < 0 {
		side, degrees = minus, -degrees
	}
	return strconv.FormatFloat(degrees, 'f', decimals, 64) + "° " + side
}

// measure shows three figures where there are that many: one decimal below
// 100, none above. What is there never shows as nothing.
func measure(x float64, unit string) string {
	switch size := math.Abs(x); {
	case !finite(x):
		return unknown
	case x == 0:
		return "0 " + unit
	case x > 0 && size < 0.05:
		return "<0.1 " + unit
	case size < 99.95:
		return fixed(x, 1) + " " + unit
	}
	return fixed(x, 0) + " " + unit
}

func large(x float64, unit string) string {
	switch {
	case !finite(x):
		return unknown
	case math.Abs(x) < 999.995:
		return fixed(x, 2) + " " + unit
	}
	return fixed(x, 0) + " " + unit
}

// fixed formats x with a comma between thousands.
func fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	whole, fraction, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if fraction != "" {
		whole += "." + fraction
	}
	if x < 0 && strings.Trim(s, "0.") != "" {
		return "−" + whole
	}
	return whole
}
