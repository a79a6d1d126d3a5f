package main

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// Names may hold colons: those of parts, and the drives of Windows.
func TestNamedLengths(t *testing.T) {
	for _, tt := range []struct {
		text string
		bare bool
		want namedLength
	}{
		{"North:50m", false, namedLength{"North", 50}},
		{"Hof: Süd: 100 ft", false, namedLength{"Hof: Süd", 30.48}},
		{`C:\maps\road 1.kml:5m`, false, namedLength{`C:\maps\road 1.kml`, 5}},
		{"pond.kml", true, namedLength{"pond.kml", 0}},
		{"pond.kml:10m", true, namedLength{"pond.kml", 10}},
		{"pond.kml:0m", true, namedLength{"pond.kml", 0}},
		{`C:\maps\pond.kml`, true, namedLength{`C:\maps\pond.kml`, 0}},
		{`C:\maps\pond.kml:10m`, true, namedLength{`C:\maps\pond.kml`, 10}},
		{"North:-5m", false, namedLength{"North", -5}},
		{"C:5m", true, namedLength{"C:5m", 0}}, // a file on drive C
		{"/maps/a:b/pond.kml", true, namedLength{"/maps/a:b/pond.kml", 0}},
	} {
		n := namedLengths{example: "North:50m", bare: tt.bare, inwards: !tt.bare}
		if err := n.Set(tt.text); err != nil {
			t.Errorf("%s: %v", tt.text, err)
		} else if got := n.all[0]; got.name != tt.want.name || math.Abs(got.metres-tt.want.metres) > 1e-9 {
			t.Errorf("%s: %v, want %v", tt.text, got, tt.want)
		}
	}
	for _, tt := range []struct {
		text string
		bare bool
		want string
	}{
		{"North", false, "give a name and a length, as in North:50m"},
		{":5m", false, "give a name and a length"},
		{"North:", false, "give a name and a length"},
		{"North:50", false, "50: give a unit"},
		{"North:0m", false, "would end the flight area at the edge"},
		{"pond.kml:-1m", true, "must be over 0 m"},
		{`C:\road.kml`, false, "give a number and a unit"},
		{"pond.kml:10", true, "10: give a unit"},
		{"pond.kml:-10m", true, "must be over 0 m"},
	} {
		n := namedLengths{example: "North:50m", bare: tt.bare, inwards: !tt.bare}
		if err := n.Set(tt.text); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", tt.text, err, tt.want)
		}
	}
}

func TestBufferFlag(t *testing.T) {
	for text, want := range map[string]float64{"30m": 30, "-5m": -5, "100ft": 30.48, "auto": 0} {
		var b buffer
		if err := b.Set(text); err != nil || math.Abs(b.metres-want) > 1e-9 || !b.given || b.auto != (text == "auto") {
			t.Errorf("%s: %+v, %v", text, b, err)
		}
	}
	var b buffer
	if err := b.Set("Auto"); err == nil {
		t.Error("Auto was taken")
	}
	b.Set("auto")
	if b.Set("20m"); b.auto || b.metres != 20 {
		t.Errorf("the last one counts: %+v", b)
	}
}

func TestFormats(t *testing.T) {
	var f formats
	for _, text := range []string{"kmz", "KML, geojson", "kmz"} {
		if err := f.Set(text); err != nil {
			t.Fatal(err)
		}
	}
	if !slices.Equal(f, formats{"kmz", "kml", "geojson"}) {
		t.Errorf("formats %v", f)
	}
	if err := f.Set("kml,"); err == nil {
		t.Error("nothing after the comma was taken")
	}
}
