// Package demo makes up a whole job: the boundary file of a client, with the
// faults that such files have, and the photos of a flight over it, with the
// faults that flights have. It opens no files and gives the same bytes always.
package demo

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// File is a file of the job. Name is a path below the job's folder, with slashes.
type File struct {
	Name string
	Data []byte
}

// Names of the client's boundary file and of the folder of photos.
const (
	Boundary = "client/invented-quarry.kml"
	Photos   = "photos"
)

// What the job was flown by. Lengths are metres, overlaps per cent.
const (
	Ground   = 132.0 // altitude of the ground
	Height   = 80.0  // above ground
	Buffer   = 30.0
	Forward  = 75
	Side     = 70
	GSD      = 0.025
	MinViews = 5
)

// Whose job it is.
const (
	Operator   = "Sample Aerial Survey (invented)"
	ClientName = "Sample Quarry Company (invented)"
)

// The site lies in the open North Sea, so that it is nobody's ground.
var centre = orb.Point{2.3, 54.7}

const bearing = 14 // degrees by which the site's own axes are turned

// site is a place in metres along the long and the short axis of the site.
type site struct{ u, v float64 }

// The site area as meant: an L of two strips, the second one with the haul road.
const (
	length    = 460.0 // of the long strip
	width     = 180.0
	armLength = 420.0 // of the short strip, from the outer corner
	armWidth  = 200.0
	road      = 390.0 // where the haul road begins
)

// east and north in metres from the centre.
func (p site) metres() orb.Point {
	sin, cos := math.Sincos(bearing * math.Pi / 180)
	u, v := p.u-length/2, p.v-width
	return orb.Point{u*cos - v*sin, u*sin + v*cos}
}

func (p site) degrees() orb.Point {
	return plane.NewFrame(centre).Degrees(p.metres())
}

// quarry is drawn by hand: one vertex clicked twice, two in the wrong order,
// so that the outline crosses itself, and one run out to a fence post and back.
var quarry = []site{
	{0, 0}, {230, -6}, {length, 0}, {length, 0}, {length, 80},
	{352, width + 14}, {452, 172}, // the wrong order
	{armWidth, width}, {armWidth, road}, {0, road},
	{0, 200}, {-14, 206}, {0, 200}, // the fence post
	{0, 0},
}

// haulRoad shares a side with the quarry and runs clockwise.
var haulRoad = []site{{0, road}, {0, armLength}, {armWidth, armLength}, {armWidth, road}, {0, road}}

// Client is the client's boundary file.
func Client() File {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2">
<Document>
  <name>Invented quarry extension</name>
  <description>Invented for a demonstration: there is no such quarry, and the place lies in the open sea.</description>
`)
	polygon := func(name string, ring []site) {
		fmt.Fprintf(&b, "  <Placemark>\n    <name>%s</name>\n    <Polygon><outerBoundaryIs><LinearRing><coordinates>\n", name)
		for i, p := range ring {
			// The heights are what a map viewer writes along, near the ground's.
			fmt.Fprintf(&b, "      %s,%.1f\n", place(p), Ground+0.3*float64(i%3))
		}
		b.WriteString("    </coordinates></LinearRing></outerBoundaryIs></Polygon>\n  </Placemark>\n")
	}
	polygon("Quarry extension (invented)", quarry)
	polygon("Haul road (invented)", haulRoad)
	fmt.Fprintf(&b, `  <Placemark>
    <name>Access (invented)</name>
    <LineString><coordinates>%s %s</coordinates></LineString>
  </Placemark>
  <Placemark>
    <name>Gate (invented)</name>
    <Point><coordinates>%s</coordinates></Point>
  </Placemark>
</Document>
</kml>
`, place(site{-120, 405}), place(site{0, 405}), place(site{-4, 405}))
	return File{Boundary, []byte(b.String())}
}

func place(p site) string {
	d := p.degrees()
	return fmt.Sprintf("%.7f,%.7f", d.Lon(), d.Lat())
}
