package report

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	cldr "golang.org/x/text/number"

	"selvage/boundary/finding"
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

// Signs writes an English figure, such as "1,234.5", with the signs of the locale.
func (l Locale) Signs(figure string) string {
	if figure == finding.Unknown {
		return l.unknown()
	}
	if l.Thousands() == "," && l.Point() == "." {
		return figure
	}
	return strings.NewReplacer(",", l.Thousands(), ".", l.Point()).Replace(figure)
}

// Percent formats a share, 1 for all. It never rounds a part up to all, nor
// down to nothing.
func (l Locale) Percent(share float64) string { return l.Signs(finding.Percent(share)) }

// Overlap formats a share as a whole percentage, which is how overlaps are
// asked for; a share in between keeps one decimal.
func (l Locale) Overlap(share float64) string { return l.Signs(finding.Share(share).String()) }

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
func (l Locale) Number(n int) string { return l.Signs(string(finding.Whole(n))) }

// measure shows three figures where there are that many: one decimal below
// 100, none above. What is there never shows as nothing.
func (l Locale) measure(x float64, unit string) string { return l.Signs(finding.Measured(x, unit)) }

func (l Locale) large(x float64, unit string) string { return l.Signs(finding.Large(x, unit)) }

// fixed formats x with its thousands apart.
func (l Locale) fixed(x float64, decimals int) string { return l.Signs(finding.Fixed(x, decimals)) }

// round writes a round number without needless decimals.
func (l Locale) round(x float64) string { return l.Signs(finding.Rough(x)) }

// Number formats a whole number as Britain does.
func Number(n int) string { return Locale{}.Number(n) }

// Count formats a number with its noun as Britain does.
func Count(n int, one, many string) string { return Locale{}.Count(n, one, many) }
