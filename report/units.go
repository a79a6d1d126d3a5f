// Package report writes what an audit found: as a coverage note for people,
// as JSON, GeoJSON and KML for programs, and as text for a terminal. It
// computes no new number; it formats and converts units.
package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
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
	metresPerFoot     = 0.3048 // the international foot, exact
	feetPerMile       = 5280
	squareFeetPerAcre = 43_560
	metresPerInch     = 0.0254
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
		if !finite(m) {
			return u.unknown()
		}
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

// Close formats a length that is measured closely: centimetres or inches below
// 0.1 m, then metres or feet with three figures.
func (u Units) Close(m float64) string {
	return u.write(func(u Units) string {
		switch {
		case u.Measures != Imperial:
			return u.Signs(finding.Close(m).String())
		case math.Abs(m) < 0.1:
			return u.fixed(m/metresPerInch, 1) + " in"
		}
		return u.Signs(finding.Closely(m, metresPerFoot, "ft"))
	})
}

// Far formats metres as kilometres or miles: "73.4 km".
func (u Units) Far(m float64) string {
	return u.write(func(u Units) string {
		if u.Measures == Imperial {
			return u.measure(m/metresPerFoot/feetPerMile, "mi")
		}
		return u.Signs(finding.Far(m).String())
	})
}

// Stated formats metres that a rule or a source states. They stay, and have the
// imperial figure in brackets where it is wanted.
func (u Units) Stated(m float64) string {
	metric := u.Signs(finding.Stated(m).String())
	if u.Measures == Metric {
		return metric
	}
	return aside(metric, u.In(Imperial).Distance(m))
}

// Distance formats metres as kilometres or miles once these are the easier
// figures, and as Length otherwise.
func (u Units) Distance(m float64) string {
	return u.write(func(u Units) string {
		if u.Measures == Imperial {
			if miles := m / metresPerFoot / feetPerMile; math.Abs(miles) >= 1 && finite(miles) {
				return u.fixed(miles, 2) + " mi"
			}
			return u.Length(m)
		}
		return u.Signs(finding.Distance(m).String())
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
		return u.Signs(finding.Area(m2).String())
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

// Sentence says a text to readers of these units, each figure as the tables have
// it. Names keep their signs; only control characters go.
func (u Units) Sentence(t finding.Text) string { return Clean(u.text(t)) }

func (u Units) text(t finding.Text) string {
	args := make([]any, len(t.Args))
	for i, arg := range t.Args {
		args[i] = u.said(arg)
	}
	return u.Say(t.Format, args...)
}

// said is a part of a text as these readers take it, or the part itself where it
// is the same for all.
func (u Units) said(part any) any {
	switch x := part.(type) {
	case finding.Text:
		return u.text(x)
	case finding.Start:
		return finding.Capital(u.text(finding.Text(x)))
	case finding.Paragraph:
		return x.Join(u.text)
	case finding.Told:
		return u.text(x.Pilot)
	case finding.Area:
		return u.Area(float64(x))
	case finding.Length:
		return u.Length(float64(x))
	case finding.Tenths:
		return u.Chainage(float64(x))
	case finding.Close:
		return u.Close(float64(x))
	case finding.Given:
		return u.Round(float64(x))
	case finding.Distance:
		return u.Distance(float64(x))
	case finding.Far:
		return u.Far(float64(x))
	case finding.Stated:
		return u.Stated(float64(x))
	case finding.Speed:
		return u.Speed(float64(x))
	case finding.GSD:
		return u.GSD(float64(x))
	case finding.Share:
		return u.Overlap(float64(x))
	case finding.Number:
		return u.Signs(string(x))
	case finding.Count:
		return u.Count(x.N, x.One, x.Many)
	}
	return part
}
