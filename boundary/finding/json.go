package finding

import (
	"encoding/json"
	"errors"
	"math"
	"strconv"
)

// wire is a Finding in machine output; what does not apply is left out.
type wire struct {
	Code     Code            `json:"code"`
	Severity Severity        `json:"severity"`
	Text     string          `json:"text"`
	Said     json.RawMessage `json:"said,omitempty"`
	Lon      *json.Number    `json:"lon,omitempty"`
	Lat      *json.Number    `json:"lat,omitempty"`
	Feature  int             `json:"feature,omitempty"`
	Name     string          `json:"name,omitempty"`
	Part     int             `json:"part,omitempty"`
	Ring     int             `json:"ring,omitempty"`
	Vertex   int             `json:"vertex,omitempty"`
	File     string          `json:"file,omitempty"`
	Line     int             `json:"line,omitempty"`
	Amount   *json.Number    `json:"amount,omitempty"`
	Unit     string          `json:"unit,omitempty"`
}

// MarshalJSON writes f as one flat object. Longitude and latitude are degrees
// rounded to 8 decimals, amounts are rounded by their unit. Numbers that are not
// finite are left out.
func (f Finding) MarshalJSON() ([]byte, error) {
	p := f.Place
	w := wire{
		Code: f.Code, Severity: f.Severity, Text: f.Text.String(), Said: f.Text.Said(),
		Feature: p.Feature, Name: p.Name, Part: p.Part, Ring: p.Ring, Vertex: p.Vertex,
		File: p.File, Line: p.Line, Unit: f.Unit,
	}
	if p.Located && finite(p.Lon) && finite(p.Lat) {
		lon, lat := Rounded(p.Lon, 8), Rounded(p.Lat, 8)
		w.Lon, w.Lat = &lon, &lat
	}
	if finite(f.Amount) && (f.Amount != 0 || f.Unit != "") {
		amount := Rounded(f.Amount, Decimals(f.Unit))
		w.Amount = &amount
	}
	return json.Marshal(w)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (f *Finding) UnmarshalJSON(data []byte) error {
	var w wire
	if err := json.Unmarshal(data, &w); err != nil {
		return err
	}
	*f = Finding{
		Code: w.Code, Severity: w.Severity, Text: Read(w.Text, w.Said), Unit: w.Unit,
		Place: Place{
			File: w.File, Line: w.Line,
			Feature: w.Feature, Name: w.Name, Part: w.Part, Ring: w.Ring, Vertex: w.Vertex,
		},
	}
	var fault error
	number := func(text *json.Number) float64 {
		if text == nil {
			return 0
		}
		x, err := text.Float64()
		fault = errors.Join(fault, err)
		return x
	}
	f.Amount = number(w.Amount)
	if w.Lon != nil && w.Lat != nil {
		f.Place = f.Place.At(number(w.Lon), number(w.Lat))
	}
	return fault
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// Decimals is how many decimals the amount of a finding is told to. Further
// ones differ from one kind of processor to another.
func Decimals(unit string) int {
	if unit == "m²" {
		return 2
	}
	return 3
}

// Rounded is a finite number with so many decimals at most, without trailing
// zeros and without an exponent.
func Rounded(x float64, decimals int) json.Number {
	return json.Number(strconv.FormatFloat(Round(x, decimals), 'f', -1, 64))
}

// Round rounds by way of the text form because multiplying and dividing by a
// power of ten can leave a last digit that nobody measured.
func Round(x float64, decimals int) float64 {
	nearest, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'f', decimals, 64), 64)
	if nearest == 0 {
		return 0 // without the sign of a minus zero
	}
	return nearest
}
