package report

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	cldr "golang.org/x/text/number"

	"selvage/report/texts"
)

// Locale is the language that people read, and with which signs of figures and
// which form of dates. The zero Locale is that of Britain, in English.
type Locale struct {
	tag, thousands, point, date string

	texts *texts.Catalogue
}

// ParseLocale takes a BCP 47 tag, such as "de" or "en-US". The signs are those
// of the Unicode CLDR. A date has its month in words where English is spoken,
// and is that of ISO 8601 elsewhere.
func ParseLocale(s string) (Locale, error) {
	tag, err := language.Parse(s)
	base, _ := tag.Base()
	if err != nil || tag == language.Und {
		return Locale{}, fmt.Errorf("a locale is a language, or a language and a country, as in en-GB, en-US or de; not %q", s)
	}
	// Digits are 0 to 9 everywhere, as those of the rest of the sheet.
	latin, err := tag.SetTypeForKey("nu", "latn")
	if err != nil {
		return Locale{}, fmt.Errorf("locale %q: %w", s, err)
	}
	sample := message.NewPrinter(latin).Sprint(cldr.Decimal(1_234_567.5))
	signs := strings.FieldsFunc(sample, func(r rune) bool { return '0' <= r && r <= '9' })
	if len(signs) < 2 {
		return Locale{}, fmt.Errorf("locale %q has no signs for figures", s)
	}
	l := Locale{tag: tag.String(), thousands: signs[0], point: signs[len(signs)-1], date: "2006-01-02"}
	if base.String() == "en" {
		l.date = "2 January 2006"
		switch region, _ := tag.Region(); region.String() {
		case "US", "CA":
			l.date = "January 2, 2006"
		}
	}
	return l, nil
}

func (l Locale) String() string { return cmp.Or(l.tag, "en-GB") }

// Thousands and Point are the signs of figures.
func (l Locale) Thousands() string { return cmp.Or(l.thousands, ",") }
func (l Locale) Point() string     { return cmp.Or(l.point, ".") }

// Moment formats a date and time of day. Months have their names in English only.
func (l Locale) Moment(t time.Time) string {
	date := cmp.Or(l.date, "2 January 2006")
	if l.texts != nil {
		date = "2006-01-02"
	}
	return t.Format(date + ", 15:04 MST")
}

// Percent formats a share, 1 for all. It never rounds a part up to all, nor
// down to nothing.
func (l Locale) Percent(share float64) string {
	switch {
	case !finite(share):
		return l.unknown()
	case share == 0:
		return "0 %"
	case share == 1:
		return "100 %"
	case share > 0 && share < 0.0005:
		return "<" + l.fixed(0.1, 1) + " %"
	case share >= 0.9995 && share < 1:
		return ">" + l.fixed(99.9, 1) + " %"
	}
	return l.fixed(share*100, 1) + " %"
}

// Overlap formats a share as a whole percentage, which is how overlaps are
// asked for; a share in between keeps one decimal.
func (l Locale) Overlap(share float64) string {
	if p := share * 100; finite(p) && math.Abs(p-math.Round(p)) < 1e-6 {
		return l.fixed(p, 0) + " %"
	}
	return l.Percent(share)
}

// Change formats the change of a figure as a share of what it was: "+12 %",
// below a tenth "−3.1 %".
func (l Locale) Change(share float64) string {
	decimals := 0
	if math.Abs(share) < 0.0995 {
		decimals = 1
	}
	return signed(share, l.fixed(100*math.Abs(share), decimals)+" %")
}

// Points formats the change of a share: "+1.2 points".
func (l Locale) Points(share float64) string {
	return signed(share, l.fixed(100*math.Abs(share), 1)+" points")
}

func signed(x float64, size string) string {
	if x < 0 {
		return "−" + size
	}
	return "+" + size
}

// Duration is Lasting with a decimal below a minute: "12.5 s", "3 min 20 s".
func (l Locale) Duration(seconds float64) string {
	if seconds < 60 {
		return l.fixed(seconds, 1) + " s"
	}
	return Lasting(seconds)
}

// Number formats a whole number with its thousands apart.
func (l Locale) Number(n int) string { return l.fixed(float64(n), 0) }

// measure shows three figures where there are that many: one decimal below
// 100, none above. What is there never shows as nothing.
func (l Locale) measure(x float64, unit string) string {
	switch size := math.Abs(x); {
	case !finite(x):
		return l.unknown()
	case x == 0:
		return "0 " + unit
	case x > 0 && size < 0.05:
		return "<" + l.fixed(0.1, 1) + " " + unit
	case size < 99.95:
		return l.fixed(x, 1) + " " + unit
	}
	return l.fixed(x, 0) + " " + unit
}

func (l Locale) large(x float64, unit string) string {
	switch {
	case !finite(x):
		return l.unknown()
	case math.Abs(x) < 999.995:
		return l.fixed(x, 2) + " " + unit
	}
	return l.fixed(x, 0) + " " + unit
}

// fixed formats x with its thousands apart.
func (l Locale) fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	whole, fraction, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + l.Thousands() + whole[i:]
	}
	if fraction != "" {
		whole += l.Point() + fraction
	}
	if x < 0 && strings.Trim(s, "0.") != "" {
		return "−" + whole
	}
	return whole
}

// round writes a round number without needless decimals.
func (l Locale) round(x float64) string {
	if x >= 1000 {
		return l.fixed(x, 0)
	}
	return strings.Replace(strconv.FormatFloat(x, 'g', 4, 64), ".", l.Point(), 1)
}

// english is a figure of an English sentence, or a quoted name, which may hold
// anything.
var english = regexp.MustCompile(`“[^”]*”|(^|[\s(−–±<>/])(\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.\d+)(°(?:[\s\x{a0}][NSEW]\b)?|[\s\x{a0}](?:k?m²|ft²|×|%|(?:[mkc]?m|ha|ft|mi|acres|mph|[ck]?m/(?:px|s|h)|in/px|px|s|min|h|[MG]B)\b))?`)

// Sentence writes an English sentence, such as that of a finding, with the signs
// of the locale. Of numbers without thousands, only those with a unit change, so
// that names, versions and coordinates stay as they are.
func (l Locale) Sentence(s string) string {
	return english.ReplaceAllStringFunc(s, func(found string) string {
		m := english.FindStringSubmatch(found)
		if m[2] == "" || m[3] == "" && !strings.Contains(m[2], ",") || strings.HasPrefix(m[3], "°") && len(m[3]) > len("°") {
			return found
		}
		return m[1] + strings.NewReplacer(",", l.Thousands(), ".", l.Point()).Replace(m[2]) + m[3]
	})
}

// Number formats a whole number as Britain does.
func Number(n int) string { return Locale{}.Number(n) }

// Count formats a number with its noun as Britain does.
func Count(n int, one, many string) string { return Locale{}.Count(n, one, many) }
