// Package report writes what an audit found: as a coverage note for people,
// as JSON, GeoJSON and KML for programs, and as text for a terminal. It
// computes no new number; it formats and converts units.
package report

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// Units is how people read figures: in which measures, and with which signs.
// Machine output is always metric, with a decimal point.
type Units struct {
	Measures
	Locale
}

// Measures is a system of measures, or both: metric with imperial in brackets.
type Measures int

const (
	Metric Measures = iota
	Imperial
	Both
)

var measuresNames = []string{"metric", "imperial", "both"}

const (
	squareMetresPerHectare = 10_000
	metresPerFoot          = 0.3048 // the international foot, exact
	feetPerMile            = 5280
	squareFeetPerAcre      = 43_560
	metresPerInch          = 0.0254
)

// ParseMeasures reads "metric", "imperial" or "both".
func ParseMeasures(s string) (Measures, error) {
	i := slices.Index(measuresNames, strings.ToLower(s))
	if i < 0 {
		return Metric, fmt.Errorf("units are metric, imperial or both, not %q", s)
	}
	return Measures(i), nil
}

func (m Measures) String() string { return measuresNames[m] }

// In are the same signs with other measures.
func (u Units) In(m Measures) Units { return Units{m, u.Locale} }

// Short are the units where there is room for one figure only, as in tables and
// charts: those of both are metric.
func (u Units) Short() Units {
	if u.Measures == Both {
		return u.In(Metric)
	}
	return u
}

// Recorded are the units of words in a record, which programs read too.
func (u Units) Recorded() Units { return Units{Measures: u.Short().Measures} }

// write writes a figure in its units, those of both one after the other.
func (u Units) write(format func(Units) string) string {
	if u.Measures != Both {
		return format(u)
	}
	first := format(u.In(Metric))
	if first == u.unknown() {
		return first
	}
	return aside(first, format(u.In(Imperial)))
}

// aside puts a remark in brackets behind a figure, within those that it has.
func aside(figure, remark string) string {
	if before, ok := strings.CutSuffix(figure, ")"); ok {
		return before + "; " + remark + ")"
	}
	return figure + " (" + remark + ")"
}

// length is the unit of lengths.
func (u Units) length() (metres float64, name string) {
	if u.Measures == Imperial {
		return metresPerFoot, "ft"
	}
	return 1, "m"
}

// Length formats metres as metres or feet: "8.2 m", "2,431 m".
func (u Units) Length(m float64) string {
	return u.write(func(u Units) string {
		metres, unit := u.length()
		return u.measure(m/metres, unit)
	})
}

// Round formats metres or feet without needless decimals, as they are asked for:
// "30 m".
func (u Units) Round(m float64) string {
	return u.write(func(u Units) string {
		metres, unit := u.length()
		return u.round(m/metres) + " " + unit
	})
}

// Fine formats metres or feet with two decimals.
func (u Units) Fine(m float64) string {
	return u.write(func(u Units) string {
		metres, unit := u.length()
		return u.fixed(m/metres, 2) + " " + unit
	})
}

// Chainage formats metres along an edge, always with one decimal, so that
// successive values can be told apart.
func (u Units) Chainage(m float64) string {
	return u.write(func(u Units) string {
		if !finite(m) {
			return u.unknown()
		}
		metres, unit := u.length()
		return u.fixed(m/metres, 1) + " " + unit
	})
}

// Distance formats metres as kilometres or miles once these are the easier
// figures, and as Length otherwise.
func (u Units) Distance(m float64) string {
	return u.write(func(u Units) string {
		if u.Measures == Imperial {
			if miles := m / metresPerFoot / feetPerMile; math.Abs(miles) >= 1 && finite(miles) {
				return u.fixed(miles, 2) + " mi"
			}
		} else if math.Abs(m) >= 10_000 && finite(m) {
			return u.fixed(m/1000, 2) + " km"
		}
		return u.Length(m)
	})
}

// Speed formats metres a second, or miles an hour.
func (u Units) Speed(mps float64) string {
	return u.write(func(u Units) string {
		if u.Measures == Imperial {
			return u.measure(mps*3600/metresPerFoot/feetPerMile, "mph")
		}
		return u.measure(mps, "m/s")
	})
}

// Area formats square metres: m² below a hectare and hectares above it, or
// ft² below an acre and acres above it.
func (u Units) Area(m2 float64) string {
	return u.write(func(u Units) string {
		if u.Measures == Imperial {
			ft2 := m2 / (metresPerFoot * metresPerFoot)
			if math.Abs(ft2) >= squareFeetPerAcre {
				return u.large(ft2/squareFeetPerAcre, "acres")
			}
			return u.measure(ft2, "ft²")
		}
		if math.Abs(m2) >= squareMetresPerHectare {
			return u.large(m2/squareMetresPerHectare, "ha")
		}
		return u.measure(m2, "m²")
	})
}

// AreaBoth is Area with the other system's figure in brackets.
func (u Units) AreaBoth(m2 float64) string {
	if u.Measures == Imperial {
		return aside(u.Area(m2), u.In(Metric).Area(m2))
	}
	return u.In(Both).Area(m2)
}

// GSD formats metres a pixel as centimetres or inches a pixel.
func (u Units) GSD(m float64) string {
	return u.write(func(u Units) string {
		switch {
		case !finite(m):
			return u.unknown()
		case u.Measures == Imperial:
			return u.fixed(m/metresPerInch, 2) + " in/px"
		}
		return u.fixed(m*100, 2) + " cm/px"
	})
}

// Position formats degrees lon/lat as latitude, then longitude, to 6 decimals
// (about 0.1 m).
func Position(p orb.Point) string { return Locale{}.Position(p) }

// Position is Position for readers of a language. North, south, east and west
// have their letters of ISO 6709 in all of them.
func (l Locale) Position(p orb.Point) string {
	if !finite(p.Lon()) || !finite(p.Lat()) {
		return l.unknown()
	}
	return angle(p.Lat(), 6, "N", "S") + ", " + angle(wrap(p.Lon()), 6, "E", "W")
}

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

// metricFigure is a figure of an English sentence with its unit and what follows,
// or a quoted name, which may hold anything.
var metricFigure = regexp.MustCompile(`“[^”]*”|((?:^|[\s(−–±<>])(\d{1,3}(?:,\d{3})+|\d+)(\.\d+)? (m²|m|ha|km|m/s))([\s,;:)]|\.?$|\.\s)`)

// Sentence writes an English sentence in metric units, such as that of a finding,
// for readers of these: figures have the signs of the locale, and where imperial
// ones are wanted, lengths, areas and speeds have those in brackets. A sentence
// that names feet stays in its measures.
func (u Units) Sentence(s string) string {
	if u.Measures != Metric && !strings.Contains(s, " ft") {
		s = metricFigure.ReplaceAllStringFunc(s, func(found string) string {
			m := metricFigure.FindStringSubmatch(found)
			x, err := strconv.ParseFloat(strings.ReplaceAll(m[2], ",", "")+m[3], 64)
			if m[1] == "" || err != nil {
				return found
			}
			return m[1] + " (" + Units{Measures: Imperial}.of(x, m[4]) + ")" + m[5]
		})
	}
	return u.Locale.Sentence(s)
}

// of formats so many of a metric unit.
func (u Units) of(x float64, unit string) string {
	switch unit {
	case "m²":
		return u.Area(x)
	case "ha":
		return u.Area(x * squareMetresPerHectare)
	case "m/s":
		return u.Speed(x)
	case "km":
		return u.Distance(x * 1000)
	}
	return u.Length(x)
}
