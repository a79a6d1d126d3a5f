package report

import (
	"encoding/json"
	"html/template"

	pages "selvage/report/page"
)

// live is what a sheet needs to put an interactive map in place of its picture.
// It is empty where there is none.
type live struct {
	Style template.CSS
	Data  template.JS
}

var sheetScript, tableScript = pages.Joined("sheet.js"), pages.Joined("table.js")

func liveOf(m pages.Map) (live, error) {
	for _, layer := range m.Layers {
		for i := range layer.Legend {
			layer.Legend[i][1] = tie(layer.Legend[i][1])
		}
		for _, item := range layer.Items {
			for i := range item.Text {
				item.Text[i] = tie(item.Text[i])
			}
		}
	}
	// encoding/json writes <, >, &, U+2028 and U+2029 as escapes.
	data, err := json.Marshal(m)
	if err != nil {
		return live{}, err
	}
	return live{template.CSS(pages.Style()), template.JS(data)}, nil
}

// mapOf begins the data of a map that shows what a view does.
func mapOf(v *view, u Units, title string) (pages.Map, pages.Coder) {
	c := pages.Coder{Origin: v.degrees(v.midX, v.midY)}
	return pages.Map{Title: u.Say("Map of %s", Clean(title)), Origin: c.Origin, Units: mapUnits(u), Extent: c.Extent(v.west, v.south, v.east, v.north)}, c
}

// filled are the layers that hold something.
func filled(layers ...pages.MapLayer) []pages.MapLayer {
	var out []pages.MapLayer
	for _, l := range layers {
		if len(l.Items) > 0 || l.Dots != nil {
			out = append(out, l)
		}
	}
	return out
}

func mapUnits(u Units) pages.MapUnits {
	if u.Measures == Imperial {
		return pages.MapUnits{
			Thousands: u.Thousands(), Point: u.Point(),
			Length: pages.MapUnit{Metres: metresPerFoot, Name: "ft", Decimals: 1},
			Far:    pages.MapUnit{Metres: feetPerMile * metresPerFoot, Name: "mi", Decimals: 2},
			GSD:    pages.MapUnit{Metres: metresPerInch, Name: "in/px", Decimals: 2},
		}
	}
	return pages.MapUnits{
		Thousands: u.Thousands(), Point: u.Point(),
		Length: pages.MapUnit{Metres: 1, Name: "m", Decimals: 1},
		Far:    pages.MapUnit{Metres: 1000, Name: "km", Decimals: 2},
		GSD:    pages.MapUnit{Metres: 0.01, Name: "cm/px", Decimals: 2},
	}
}
