package main

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"selvage/coverage/photo"
)

// A unit is a word that may stand behind a number, and its size in metres or
// square metres.
type unit struct {
	word string
	size float64
}

const foot = 0.3048 // metres, the international foot

var (
	lengthUnits = []unit{{"m", 1}, {"km", 1000}, {"cm", 0.01}, {"mm", 0.001}, {"ft", foot}, {"in", foot / 12}}
	areaUnits   = []unit{{"m2", 1}, {"m²", 1}, {"ha", 10_000}, {"ac", 43_560 * foot * foot}, {"acres", 43_560 * foot * foot}}
)

var quantity = regexp.MustCompile(`^([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)) ?(\pL[\pL0-9²/]*)?$`)

// parseQuantity reads a number with one of the units, without which it could
// be metres or feet.
func parseQuantity(s string, units []unit, example string) (float64, error) {
	match := quantity.FindStringSubmatch(strings.TrimSpace(s))
	if match == nil {
		if strings.Contains(s, ",") {
			return 0, fmt.Errorf("%s: write the number with a point, as in %s", s, example)
		}
		return 0, fmt.Errorf("%s: give a number and a unit, as in %s", s, example)
	}
	if match[2] == "" {
		return 0, fmt.Errorf("%s: give a unit, as in %s", s, example)
	}
	i := slices.IndexFunc(units, func(u unit) bool { return strings.EqualFold(u.word, match[2]) })
	if i < 0 {
		var words []string
		for _, u := range units {
			words = append(words, u.word)
		}
		return 0, fmt.Errorf("%s: the unit %s is not one of %s", s, match[2], strings.Join(words, ", "))
	}
	number, err := strconv.ParseFloat(match[1], 64)
	if number *= units[i].size; err != nil || math.IsInf(number, 0) {
		return 0, fmt.Errorf("%s: the number is too large", s)
	}
	return number, nil
}

// length is a flag in metres. It refuses what is not over least.
type length struct {
	metres, least float64
	given         bool
}

func (l *length) Set(s string) error {
	metres, err := parseQuantity(s, lengthUnits, "30m or 100ft")
	if err != nil {
		return err
	}
	if !(metres > l.least) {
		return fmt.Errorf("%s: it must be over %g m", s, l.least)
	}
	l.metres, l.given = metres, true
	return nil
}

func (l *length) Type() string { return "length" }

func (l *length) String() string { return amount(l.metres, "m", l.given) }

// orNaN returns the metres, NaN when the flag was not given.
func (l *length) orNaN() float64 {
	if !l.given {
		return math.NaN()
	}
	return l.metres
}

// anyLength also allows lengths below zero: ground can lie under the sea.
func anyLength() length { return length{least: math.Inf(-1)} }

// zeroOrMore is a length that starts with a usual value.
func zeroOrMore(metres float64) length {
	return length{metres: metres, least: math.Nextafter(0, -1), given: true}
}

// pixel is a flag for a ground sample distance, in metres a pixel.
type pixel struct{ length }

func (p *pixel) Set(s string) error { return p.length.Set(strings.TrimSuffix(s, "/px")) }

// area is a flag in square metres, not below 0; 0 is not given.
type area struct{ squareMetres float64 }

func (a *area) Set(s string) error {
	squareMetres, err := parseQuantity(s, areaUnits, "1m2, 0.5ha or 2ac")
	if err != nil {
		return err
	}
	if squareMetres < 0 {
		return fmt.Errorf("%s: an area is not below 0", s)
	}
	a.squareMetres = squareMetres
	return nil
}

func (a *area) Type() string { return "area" }

func (a *area) String() string { return amount(a.squareMetres, "m2", a.squareMetres > 0) }

func amount(x float64, unit string, given bool) string {
	if !given {
		return ""
	}
	return strconv.FormatFloat(x, 'g', -1, 64) + unit
}

// place is a flag for a position, latitude first as people say it.
type place struct{ point *orb.Point }

func (p *place) Set(s string) error {
	first, second, _ := strings.Cut(s, ",")
	lat, errLat := strconv.ParseFloat(strings.TrimSpace(first), 64)
	lon, errLon := strconv.ParseFloat(strings.TrimSpace(second), 64)
	if errLat != nil || errLon != nil || !(math.Abs(lat) <= 90 && math.Abs(lon) <= 180) {
		return fmt.Errorf("%s: give latitude and longitude in degrees, as in 54.7,2.3", s)
	}
	p.point = &orb.Point{lon, lat}
	return nil
}

func (p *place) Type() string { return "lat,lon" }

func (p *place) String() string {
	if p.point == nil {
		return ""
	}
	return fmt.Sprintf("%g,%g", p.point.Lat(), p.point.Lon())
}

// overlaps is a flag for forward and side overlap, held as shares.
type overlaps struct{ forward, side float64 }

func (o *overlaps) Set(s string) error {
	forward, side, both := strings.Cut(strings.TrimSpace(s), "/")
	var err error
	if !both {
		err = errors.New("two numbers")
	}
	parse := func(s string) float64 {
		percent, e := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "%")), 64)
		if e != nil || !(percent > 0 && percent < 100) {
			err = errors.New("not a percentage")
		}
		return percent / 100
	}
	f, d := parse(forward), parse(side)
	if err != nil {
		return fmt.Errorf("%s: give forward and side overlap in per cent, as in 75/70", s)
	}
	o.forward, o.side = f, d
	return nil
}

func (o *overlaps) Type() string { return "forward/side" }

func (o *overlaps) String() string {
	if o.forward == 0 {
		return ""
	}
	return fmt.Sprintf("%g/%g", math.Round(o.forward*1e6)/1e4, math.Round(o.side*1e6)/1e4)
}

// percentage is a flag for a share, held as such: 1% is 0.01. The share of what
// was given is over 0.
type percentage struct {
	share float64
	text  string
}

func (p *percentage) Set(s string) error {
	number, sign := strings.CutSuffix(strings.TrimSpace(s), "%")
	percent, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil || !sign || !(percent >= 0 && percent <= 100) {
		return fmt.Errorf("%s: give a share in per cent, as in 0.5%%", s)
	}
	p.share, p.text = max(percent/100, math.SmallestNonzeroFloat64), strings.TrimSpace(s)
	return nil
}

func (p *percentage) Type() string { return "percent" }

func (p *percentage) String() string { return p.text }

// oneOf is a flag for one of a few words, "" when it was not given.
type oneOf struct {
	word  string
	words []string
}

func (o *oneOf) Set(s string) error {
	if !slices.Contains(o.words, s) {
		last := len(o.words) - 1
		return fmt.Errorf("%s: give %s or %s", s, strings.Join(o.words[:last], ", "), o.words[last])
	}
	o.word = s
	return nil
}

func (o *oneOf) Type() string { return strings.Join(o.words, "|") }

func (o *oneOf) String() string { return o.word }

// camera is a flag for what the photos do not say of their camera.
type camera struct {
	photo.Camera
	text string
}

func (c *camera) Set(s string) error {
	parsed, err := photo.ParseCamera(s)
	if err != nil {
		return errors.New(strings.TrimPrefix(err.Error(), "camera "))
	}
	c.Camera, c.text = parsed, s
	return nil
}

func (c *camera) Type() string { return "camera" }

func (c *camera) String() string { return c.text }
