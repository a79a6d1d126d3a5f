package main

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func TestLengths(t *testing.T) {
	// 1 ft = 0.3048 m and 1 in = 25.4 mm exactly (international yard and pound
	// agreement of 1959, from memory).
	for text, want := range map[string]float64{
		"30m": 30, "30 m": 30, "100ft": 30.48, "0.5km": 500, "250cm": 2.5, "800mm": 0.8, "12in": 0.3048,
		" 30M ": 30, "+2.5m": 2.5, ".5m": 0.5, "30.m": 30,
	} {
		var l length
		if err := l.Set(text); err != nil {
			t.Errorf("%q: %v", text, err)
		} else if math.Abs(l.metres-want) > 1e-12 {
			t.Errorf("%q: %v m, want %v", text, l.metres, want)
		}
	}
	for text, want := range map[string]string{
		"30":               "30: give a unit, as in 30m or 100ft",
		"":                 "give a number and a unit",
		"m":                "give a number and a unit",
		"30,5m":            "write the number with a point",
		"30 yd":            "the unit yd is not one of m, km, cm, mm, ft, in",
		"30m2":             "the unit m2 is not one of",
		"NaNm":             "give a number and a unit",
		"1e3m":             "the unit e3m is not one of",
		"-3m":              "it must be over 0 m",
		"0m":               "it must be over 0 m",
		"0x10m":            "the unit x10m is not one of",
		"30m 40m":          "give a number and a unit",
		"1" + zeros + "km": "the number is too large",
	} {
		var l length
		if err := l.Set(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	below := anyLength()
	if err := below.Set("-3.5m"); err != nil || below.metres != -3.5 {
		t.Errorf("ground below sea level: %v, %v", below.metres, err)
	}
	none := zeroOrMore(20)
	if err := none.Set("0m"); err != nil || none.metres != 0 {
		t.Errorf("no buffer: %v, %v", none.metres, err)
	}
	if err := none.Set("-1m"); err == nil {
		t.Error("a buffer below 0 was accepted")
	}
}

var zeros = strings.Repeat("0", 400)

func TestAreas(t *testing.T) {
	// An acre is 43,560 square feet.
	for text, want := range map[string]float64{"1m2": 1, "2.5m²": 2.5, "0.5ha": 5000, "1ac": 4046.8564224, "2 acres": 8093.7128448, "0m2": 0} {
		var a area
		if err := a.Set(text); err != nil {
			t.Errorf("%q: %v", text, err)
		} else if math.Abs(a.squareMetres-want) > 1e-9 {
			t.Errorf("%q: %v m², want %v", text, a.squareMetres, want)
		}
	}
	for _, text := range []string{"1", "1m", "-1m2", "ha"} {
		var a area
		if err := a.Set(text); err == nil {
			t.Errorf("%q was accepted", text)
		}
	}
}

func TestPlaces(t *testing.T) {
	for text, want := range map[string]orb.Point{"54.7,2.3": {2.3, 54.7}, "-33.5, 151": {151, -33.5}, "90,-180": {-180, 90}} {
		var p place
		if err := p.Set(text); err != nil || *p.point != want {
			t.Errorf("%q: %v, %v", text, p.point, err)
		}
	}
	for _, text := range []string{"", "54.7", "54.7,", ",2.3", "91,0", "0,181", "NaN,0", "54.7,2.3,4", "54.7 2.3"} {
		var p place
		if err := p.Set(text); err == nil {
			t.Errorf("%q was accepted as %v", text, p.point)
		}
	}
}

func TestOverlaps(t *testing.T) {
	for text, want := range map[string]overlaps{"75/70": {0.75, 0.7}, "80 / 65": {0.8, 0.65}, "75%/70%": {0.75, 0.7}, "66.7/60": {0.667, 0.6}} {
		var o overlaps
		if err := o.Set(text); err != nil {
			t.Errorf("%q: %v", text, err)
		} else if math.Abs(o.forward-want.forward)+math.Abs(o.side-want.side) > 1e-12 {
			t.Errorf("%q: %v, want %v", text, o, want)
		}
	}
	for _, text := range []string{"75", "75/", "/70", "0/70", "100/70", "75/70/60", "a/b", "NaN/70", "7500/70"} {
		var o overlaps
		if err := o.Set(text); err == nil {
			t.Errorf("%q was accepted as %v", text, o)
		}
	}
	if s := (&overlaps{0.75, 0.7}).String(); s != "75/70" {
		t.Errorf("written as %q", s)
	}
}

func TestPercentage(t *testing.T) {
	for text, want := range map[string]float64{"0.5%": 0.005, "0.5 %": 0.005, " 2% ": 0.02, "100%": 1} {
		var p percentage
		if err := p.Set(text); err != nil || math.Abs(p.share-want) > 1e-15 {
			t.Errorf("%q: %v, %v, want %v", text, p.share, err, want)
		}
	}
	var none percentage
	if err := none.Set("0%"); err != nil || !(none.share > 0 && none.share < 1e-300) {
		t.Errorf("nothing at all: %v, %v; 0 would be the usual share", none.share, err)
	}
	for _, text := range []string{"", "%", "0.5", "101%", "-1%", "NaN%", "Inf%", "a%", "1%%"} {
		var p percentage
		if err := p.Set(text); err == nil || !strings.Contains(err.Error(), "as in 0.5%") {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestOneOf(t *testing.T) {
	o := oneOf{words: []string{"lobes", "uncross", "outer"}}
	if err := o.Set("outer"); err != nil || o.word != "outer" {
		t.Errorf("outer: %q, %v", o.word, err)
	}
	for _, text := range []string{"", "Outer", "lobes|uncross"} {
		if err := o.Set(text); err == nil || err.Error() != text+": give lobes, uncross or outer" {
			t.Errorf("%q: %v", text, err)
		}
	}
}
