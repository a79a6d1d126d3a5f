package finding

import (
	"encoding/json"
	"math"
	"strconv"
)

// wire is a Finding in machine output; what does not apply is left out.
type wire struct {
	Code     Code         `json:"code"`
	Severity Severity     `json:"severity"`
	Text     string       `json:"text"`
	Lon      *json.Number `json:"lon,omitempty"`
	Lat      *json.Number `json:"lat,omitempty"`
	Feature  int          `json:"feature,omitempty"`
	Name     string       `json:"name,omitempty"`
	Part     int          `json:"part,omitempty"`
	Ring     int          `json:"ring,omitempty"`
	Vertex   int          `json:"vertex,omitempty"`
	File     string       `json:"file,omitempty"`
	Line     int          `json:"line,omitempty"`
	Amount   *float64     `json:"amount,omitempty"`
	Unit     string       `json:"unit,omitempty"`
}

// MarshalJSON writes f as one flat object. Longitude and latitude are degrees
// rounded to 8 decimals. Numbers that are not finite are left out.
func (f Finding) MarshalJSON() ([]byte, error) {
	p := f.Place
	w := wire{
		Code: f.Code, Severity: f.Severity, Text: f.Text,
		Feature: p.Feature, Name: p.Name, Part: p.Part, Ring: p.Ring, Vertex: p.Vertex,
		File: p.File, Line: p.Line, Unit: f.Unit,
	}
	if p.Located && finite(p.Lon) && finite(p.Lat) {
		w.Lon, w.Lat = degrees(p.Lon), degrees(p.Lat)
	}
	if finite(f.Amount) && (f.Amount != 0 || f.Unit != "") {
		w.Amount = &f.Amount
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
		Code: w.Code, Severity: w.Severity, Text: w.Text, Unit: w.Unit,
		Place: Place{
			File: w.File, Line: w.Line,
			Feature: w.Feature, Name: w.Name, Part: w.Part, Ring: w.Ring, Vertex: w.Vertex,
		},
	}
	if w.Amount != nil {
		f.Amount = *w.Amount
	}
	if w.Lon == nil || w.Lat == nil {
		return nil
	}
	lon, err := w.Lon.Float64()
	if err != nil {
		return err
	}
	lat, err := w.Lat.Float64()
	if err != nil {
		return err
	}
	f.Place = f.Place.At(lon, lat)
	return nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// degrees goes through the text form because multiplying and dividing by a
// power of ten can leave a last digit that nobody measured.
func degrees(x float64) *json.Number {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'f', 8, 64), 64)
	if rounded == 0 {
		rounded = 0 // drops the sign of a minus zero
	}
	n := json.Number(strconv.FormatFloat(rounded, 'f', -1, 64))
	return &n
}
