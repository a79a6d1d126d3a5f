package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A kind is what a number may be: a speed, a time.
type kind struct {
	name, example string
	units         []unit  // the first is the one that values are held in
	zero          bool    // whether the number may be 0
	fraction      bool    // whether it may be written as in 1/1000s
	most          float64 // in the first unit
}

const knot = 1852.0 / 3600 // metres a second

var (
	speeds = kind{
		name: "speed", example: "8m/s, 30km/h or 15mph", most: 300,
		units: []unit{{"m/s", 1}, {"km/h", 1 / 3.6}, {"mph", 5280 * foot / 3600}, {"kn", knot}, {"kt", knot}, {"ft/s", foot}},
	}
	times     = kind{name: "time", example: "2s", most: 3600, units: []unit{{"s", 1}, {"ms", 0.001}, {"min", 60}}}
	turns     = kind{name: "time", example: "5s", most: 3600, units: times.units, zero: true}
	exposures = kind{name: "time", example: "1/1000s or 0.8ms", most: 60, units: times.units, fraction: true}
	blurs     = kind{name: "pixels", example: "0.7px", most: 100, units: []unit{{"px", 1}}}
	sizes     = kind{name: "size", example: "8MB", most: 10_000, units: []unit{{"MB", 1}, {"kB", 0.001}, {"GB", 1000}}}
)

// measured is a flag for a number of a kind.
type measured struct {
	kind  kind
	value float64
	given bool
}

func (m *measured) Set(s string) error {
	number, inverse := s, false
	if m.kind.fraction {
		number, inverse = strings.CutPrefix(strings.TrimSpace(s), "1/")
	}
	value, err := parseQuantity(number, m.kind.units, m.kind.example)
	if err != nil {
		return err
	}
	if inverse { // 1/1000s is a thousandth of a second, and 1/2ms half a millisecond
		size := m.unitOf(number)
		value = size * size / value
	}
	switch {
	case !(value > 0 || m.kind.zero && value == 0):
		return fmt.Errorf("%s: it must be over 0", s)
	case value > m.kind.most:
		return fmt.Errorf("%s: %g %s are the most", s, m.kind.most, m.kind.units[0].word)
	}
	m.value, m.given = value, true
	return nil
}

// unitOf is the size of the unit that stands behind a number.
func (m *measured) unitOf(s string) float64 {
	match := quantity.FindStringSubmatch(strings.TrimSpace(s))
	for _, u := range m.kind.units {
		if strings.EqualFold(u.word, match[2]) {
			return u.size
		}
	}
	return 1
}

func (m *measured) Type() string { return m.kind.name }

func (m *measured) String() string {
	if m.kind.units == nil {
		return ""
	}
	return amount(m.value, m.kind.units[0].word, m.given)
}

// course is a flag for a direction, degrees clockwise from true north.
type course struct {
	degrees float64
	given   bool
}

func (c *course) Set(s string) error {
	text := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "°"))
	degrees, err := strconv.ParseFloat(text, 64)
	if err != nil || !(degrees >= 0 && degrees <= 360) {
		return fmt.Errorf("%s: give degrees clockwise from north, 0 to 360", s)
	}
	c.degrees, c.given = degrees, true
	return nil
}

func (c *course) Type() string { return "degrees" }

func (c *course) String() string { return amount(c.degrees, "", c.given) }

// orBest returns the degrees, NaN for the best course when none was given.
func (c *course) orBest() float64 {
	if !c.given {
		return math.NaN()
	}
	return c.degrees
}
