package report

import (
	"strconv"

	"github.com/paulmach/orb"

	"selvage/boundary"
	pages "selvage/report/page"
)

// FlightArea is what a map shows of a flight area. Shapes are degrees lon/lat,
// areas geodesic, in square metres.
type FlightArea struct {
	Name                  string
	Site, Flight, KeepOut orb.MultiPolygon
	SiteSize, FlightSize  float64
	Short                 []boundary.ShortEdge
	Units                 Units
}

// FlightMap is the data of an interactive map of a flight area.
func FlightMap(f FlightArea) pages.Map {
	var rings []orb.Ring
	for _, polygon := range append(f.Site[:len(f.Site):len(f.Site)], f.Flight...) {
		rings = append(rings, polygon...)
	}
	v, ok := newView(plotLeft, plotTop, plotWidth, leastHeight, mostHeight, rings)
	if !ok {
		return pages.Map{}
	}
	c := pages.Coder{Origin: orb.Point{v.lon, v.lat}}
	u := f.Units
	site, flight := c.Rings(f.Site...), c.Rings(f.Flight...)
	m := pages.Map{
		Title: u.Say("Map of %s", Clean(f.Name)), Origin: c.Origin, Units: mapUnits(u), Extent: c.Extent(v.west, v.south, v.east, v.north),
		Layers: []pages.MapLayer{
			{
				Key: "flight", Name: u.Say("Flight area"), Legend: [][2]string{{"flight", u.Area(f.FlightSize)}},
				Items: []pages.MapItem{{Look: "flight", Rings: flight, Title: u.Say("Flight area"), Text: []string{u.AreaBoth(f.FlightSize)}}},
			},
			{
				Key: "site", Name: u.Say("Site area"), Legend: [][2]string{{"site", u.Area(f.SiteSize)}},
				Items: []pages.MapItem{
					{Look: "site", Rings: site, Title: u.Say("Site area"), Text: []string{u.AreaBoth(f.SiteSize)}},
					{Look: "ground", Rings: site},
				},
			},
		},
	}
	if keepOut := c.Rings(f.KeepOut...); len(keepOut) > 0 {
		m.Layers = append(m.Layers, pages.MapLayer{
			Key: "keep-out", Name: u.Say("Keep-out areas"), Legend: [][2]string{{"keep-out", u.Say("not to be flown")}},
			Items: []pages.MapItem{{Look: "keep-out", Rings: keepOut, Title: u.Say("Keep-out area")}},
		})
	}
	short := pages.MapLayer{Key: "short", Name: u.Say("Edge without its whole margin")}
	length := 0.0
	for i, s := range f.Short {
		name := "E" + strconv.Itoa(i+1)
		title := u.Say("%s: edge that has less than its margin", name)
		if s.Lost {
			title = u.Say("%s: edge that cannot be captured", name)
		}
		length += s.To - s.From
		short.Items = append(short.Items, pages.MapItem{
			Look: "short", Paths: [][]int{c.Line(s.Path)}, At: c.Place(middle(s.Path)), Aside: true, Ref: name,
			Title: title, Text: []string{u.Say("%s to %s", u.Chainage(s.From), u.Chainage(s.To)), u.Length(s.To - s.From)},
		})
	}
	if len(short.Items) > 0 {
		short.Legend = [][2]string{{"short", u.Length(length)}}
		m.Layers = append(m.Layers, short)
	}
	return m
}
