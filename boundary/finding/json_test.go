package finding

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"
)

func TestFindingJSON(t *testing.T) {
	tests := []struct {
		name string
		in   Finding
		want string
	}{
		{"bare", Finding{Code: "a-code", Severity: Note, Text: Plain("A sentence.")},
			`{"code":"a-code","severity":"note","text":"A sentence."}`},
		{"full", Finding{
			Code: "a-code", Severity: NeedsAnswer, Text: Plain("3 m."), Amount: 3, Unit: "m",
			Place: Place{File: "f.kml", Line: 4, Feature: 1, Name: "Field", Part: 2, Ring: 3, Vertex: 5}.At(-0.1234567891, 52),
		}, `{"code":"a-code","severity":"needs-answer","text":"3 m.","lon":-0.12345679,"lat":52,` +
			`"feature":1,"name":"Field","part":2,"ring":3,"vertex":5,"file":"f.kml","line":4,"amount":3,"unit":"m"}`},
		{"figures apart", Finding{Code: "a", Severity: Note, Text: Say("100 %% of %s.", Length(3))},
			`{"code":"a","severity":"note","text":"100 % of 3.0 m.","said":{"format":"100 %% of %s.","args":[{"length_m":3}]}}`},
		{"zero amount with a unit", Finding{Code: "a", Severity: Mended, Unit: "m²"},
			`{"code":"a","severity":"mended","text":"","amount":0,"unit":"m²"}`},
		{"an area", Finding{Code: "a", Severity: Note, Amount: 29.940123456, Unit: "m²"},
			`{"code":"a","severity":"note","text":"","amount":29.94,"unit":"m²"}`},
		{"a length", Finding{Code: "a", Severity: Note, Amount: 1.23456, Unit: "m"},
			`{"code":"a","severity":"note","text":"","amount":1.235,"unit":"m"}`},
		{"no exponent, no minus zero", Finding{Code: "a", Severity: Note, Place: Place{}.At(-1e-9, 0.0000001)},
			`{"code":"a","severity":"note","text":"","lon":0,"lat":0.0000001}`},
		{"on the equator at Greenwich", Finding{Code: "a", Severity: Note, Place: Place{}.At(0, 0)},
			`{"code":"a","severity":"note","text":"","lon":0,"lat":0}`},
		{"not finite", Finding{Code: "a", Severity: Note, Amount: math.Inf(1), Unit: "m", Place: Place{}.At(math.NaN(), 1)},
			`{"code":"a","severity":"note","text":"","unit":"m"}`},
	}
	for _, tt := range tests {
		got, err := json.Marshal(tt.in)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if string(got) != tt.want {
			t.Errorf("%s:\n got %s\nwant %s", tt.name, got, tt.want)
		}
		if !finite(tt.in.Amount) {
			continue // an infinite amount has no text form to come back from
		}
		var back Finding
		if err := json.Unmarshal(got, &back); err != nil {
			t.Errorf("%s: reading back: %v", tt.name, err)
			continue
		}
		again, err := json.Marshal(back)
		if err != nil || string(again) != tt.want {
			t.Errorf("%s: second writing differs: %s (%v)", tt.name, again, err)
		}
	}
}

func TestFindingJSONRoundTrip(t *testing.T) {
	want := Finding{
		Code: NoPolygon, Severity: NeedsAnswer, Text: Say(`A "name" & <sign>, %s.`, Area(2.5)), Amount: 2.5, Unit: "ha",
		Place: Place{File: "f.kml", Line: 4, Feature: 1, Name: "Öde", Part: 2, Ring: 3, Vertex: 5}.At(10.00000001, -52.5),
	}
	data, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	var got Finding
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	for _, bad := range []string{`[]`, `{"feature":"x"}`, `{"lon":"1e999","lat":1}`, `{"lon":1e999,"lat":1}`} {
		if err := json.Unmarshal([]byte(bad), &got); err == nil {
			t.Errorf("%s: read without complaint", bad)
		}
	}
}
