package boundary

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func TestSexagesimal(t *testing.T) {
	const angle = 40 + 26.0/60 + 46.0/3600
	for _, tt := range []struct {
		text string
		axis int
		want float64
	}{
		{`40°26'46"N`, 1, angle},
		{`40°26′46″ N`, 1, angle},
		{`40° 26' 46" S`, 1, -angle},
		{`N 40°26’46”`, 1, angle},
		{`N40 26 46`, 1, angle},
		{`40 26 46 n`, 1, angle},
		{`40:26:46S`, 1, -angle},
		{`40 : 26 : 46`, 1, angle},
		{`-40:26:46`, 1, -angle},
		{`40d26'46"E`, 0, angle},
		{`W40º26'46''`, 0, -angle},
		{`40˚26´46´´`, 0, angle},
		{`40°26.5'N`, 1, 40 + 26.5/60},
		{`40 26.5`, 1, 40 + 26.5/60},
		{`40°26'46.25"N`, 1, 40 + 26.0/60 + 46.25/3600},
		{`40.5°`, 1, 40.5},
		{`40.5° N`, 1, 40.5},
		{`W 40.5`, 0, -40.5},
		{`-0°0'36"`, 1, -0.01},
		{`000°00'36"W`, 0, -0.01},
		{`179°59'59.9"E`, 0, 179 + 59.0/60 + 59.9/3600},
		{`90°N`, 1, 90},
	} {
		got, fault := sexagesimal(tt.text, tt.axis)
		if fault != "" || math.Abs(got-tt.want) > 1e-13 {
			t.Errorf("%s: %v, want %v (%s)", tt.text, got, tt.want, fault)
		}
	}
	for _, tt := range []struct {
		text string
		axis int
		want string
	}{
		{"", 1, "one is written as"},
		{"N", 1, "one is written as"},
		{"abc", 0, "one is written as"},
		{`40°26'46"`, 2 - 1, ""},
		{`40'26°46"`, 1, "one is written as"},
		{`40"26'`, 1, "one is written as"},
		{`40 26 46 12`, 1, "one is written as"},
		{`40:26:`, 1, "one is written as"},
		{`4026`, 1, "more than 90 degrees"},
		{`402646N`, 1, "more than 90 degrees"},
		{`40.5 26`, 1, "only the last"},
		{`40 26.5 46`, 1, "only the last"},
		{`40 60 00`, 1, "60 is not less than 60"},
		{`40 26 61.5`, 1, "61.5 is not less than 60"},
		{`90 00 01 N`, 1, "more than 90 degrees"},
		{`N40S`, 1, "two directions"},
		{`-40 26 S`, 1, "both a sign and a direction"},
		{`40 26 E`, 1, "the letter E is for longitudes"},
		{`10 26 N`, 0, "the letter N is for latitudes"},
		{`1e2°`, 0, "one is written as"},
		{strings.Repeat("9", 400) + "°", 0, "more than 360 degrees"},
	} {
		if _, fault := sexagesimal(tt.text, tt.axis); !strings.Contains(fault, tt.want) || (fault == "") != (tt.want == "") {
			t.Errorf("%s: %q, want %q", tt.text, fault, tt.want)
		}
	}
}

// Angles written from whole hundredths of a second come back.
func TestSexagesimalThereAndBack(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 5_000 {
		hundredths := random.IntN(180 * 360_000)
		d, m, s := hundredths/360_000, hundredths/6_000%60, float64(hundredths%6_000)/100
		want := float64(hundredths) / 360_000
		for _, format := range []string{`%d°%d'%g"E`, `%d %02d %05.2f`, `E%d:%d:%g`, `%dd%d'%.2f"`} {
			text := fmt.Sprintf(format, d, m, s)
			if got, fault := sexagesimal(text, 0); fault != "" || math.Abs(got-want) > 1e-12 {
				t.Fatalf("%s: %v, want %v (%s)", text, got, want, fault)
			}
		}
	}
}
