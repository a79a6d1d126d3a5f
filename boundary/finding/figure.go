package finding

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// The figures of a Text. Their strings are those of tables, in English and metric
// measures, so that a sentence says what the table beside it says.
type (
	Area     float64 // m²: "47.3 m²", "12.18 ha"
	Length   float64 // m: "8.2 m", "2,431 m"
	Tenths   float64 // m, to one decimal whatever the size, as chainages: "1,203.4 m"
	Close    float64 // m, measured closely, as from vertex to vertex: "3.2 cm", "2.34 m", "831 m"
	Given    float64 // m, as somebody asked for it: "30 m"
	Far      float64 // m, over many kilometres: "73.4 km"
	Distance float64 // m, in kilometres from 10 km on: "2,431 m", "12.34 km"
	Stated   float64 // m, as a rule or a source states it, in the measure of that: "120 m"
	Speed    float64 // m/s: "8.0 m/s"
	GSD      float64 // m a pixel: "2.34 cm/px"
	Share    float64 // 1 for all: "75 %", "12.3 %"
	Number   string  // without a unit, or in one that all use, in English digits: "1,234", "0.25"
)

// Count is a number with its noun: "1 gap", "2,000 gaps".
type Count struct {
	N         int
	One, Many string
}

// Counted makes a Count.
func Counted(n int, one, many string) Count { return Count{n, one, many} }

// Whole is a whole number with its thousands apart.
func Whole(n int) Number { return Number(Fixed(float64(n), 0)) }

// Decimal is a number in the digits that a verb of fmt, such as "%.1f", gives.
func Decimal(verb string, x float64) Number { return Number(fmt.Sprintf(verb, x)) }

// Unknown is said in place of what is not finite.
const Unknown = "not known"

func (a Area) String() string {
	if math.Abs(float64(a)) >= 10_000 {
		return Large(float64(a)/10_000, "ha")
	}
	return Measured(float64(a), "m²")
}

func (l Length) String() string { return Measured(float64(l), "m") }
func (l Far) String() string    { return Measured(float64(l)/1000, "km") }
func (v Speed) String() string  { return Measured(float64(v), "m/s") }

func (l Distance) String() string {
	if m := float64(l); finite(m) && math.Abs(m) >= 10_000 {
		return Fixed(m/1000, 2) + " km"
	}
	return Length(l).String()
}

func (l Given) String() string {
	if !finite(float64(l)) {
		return Unknown
	}
	return Rough(float64(l)) + " m"
}

func (l Stated) String() string {
	if math.Abs(float64(l)) >= 10_000 {
		return Rough(float64(l)/1000) + " km"
	}
	return Given(l).String()
}

func (l Tenths) String() string {
	if !finite(float64(l)) {
		return Unknown
	}
	return Fixed(float64(l), 1) + " m"
}

func (l Close) String() string {
	if m := float64(l); math.Abs(m) < 0.1 {
		return strings.TrimSuffix(Fixed(m*100, 1), ".0") + " cm"
	}
	return Closely(float64(l), 1, "m")
}

func (g GSD) String() string {
	if !finite(float64(g)) {
		return Unknown
	}
	return Fixed(float64(g)*100, 2) + " cm/px"
}

// String writes a whole percentage, which is how overlaps are asked for, without
// decimals.
func (s Share) String() string {
	if p := float64(s) * 100; finite(p) && math.Abs(p-math.Round(p)) < 1e-6 {
		return Fixed(p, 0) + " %"
	}
	return Percent(float64(s))
}

func (c Count) String() string {
	if c.N == 1 {
		return "1 " + c.One
	}
	return string(Whole(c.N)) + " " + c.Many
}

// Percent writes a share, 1 for all. It never rounds a part up to all, nor down to
// nothing.
func Percent(share float64) string {
	switch {
	case !finite(share):
		return Unknown
	case share == 0:
		return "0 %"
	case share == 1:
		return "100 %"
	case share > 0 && share < 0.0005:
		return "<0.1 %"
	case share >= 0.9995 && share < 1:
		return ">99.9 %"
	}
	return Fixed(share*100, 1) + " %"
}

// Measured shows three figures where there are that many: one decimal below
// 100, none above. What is there never shows as nothing.
func Measured(x float64, unit string) string {
	switch size := math.Abs(x); {
	case !finite(x):
		return Unknown
	case x == 0:
		return "0 " + unit
	case x > 0 && size < 0.05:
		return "<0.1 " + unit
	case size < 99.95:
		return Fixed(x, 1) + " " + unit
	}
	return Fixed(x, 0) + " " + unit
}

// Large shows two decimals where they matter.
func Large(x float64, unit string) string {
	switch {
	case !finite(x):
		return Unknown
	case math.Abs(x) < 999.995:
		return Fixed(x, 2) + " " + unit
	}
	return Fixed(x, 0) + " " + unit
}

// Closely writes metres in a unit of so many metres: two decimals below 10 m, and
// one below 100.
func Closely(m, size float64, unit string) string {
	decimals := 0
	switch abs := math.Abs(m); {
	case !finite(m):
		return Unknown
	case abs < 10:
		decimals = 2
	case abs < 100:
		decimals = 1
	}
	return Fixed(m/size, decimals) + " " + unit
}

// Rough writes a round number without needless decimals.
func Rough(x float64) string {
	if math.Abs(x) >= 1000 {
		return Fixed(x, 0)
	}
	return strconv.FormatFloat(x, 'g', 4, 64)
}

// Fixed writes x with its thousands apart.
func Fixed(x float64, decimals int) string {
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
