package page

import (
	"encoding/json"
	"math"
	"strconv"

	"github.com/paulmach/orb"
)

// Map is the data of a map, as model.js describes them. Its JSON has no
// character that could end a script element.
type Map struct {
	Title  string     `json:"title"`
	Origin orb.Point  `json:"origin"`
	Extent [4]int     `json:"extent"`
	Units  MapUnits   `json:"units"`
	Layers []MapLayer `json:"layers"`
}

// MapUnits are how lengths are shown, and the signs of figures.
type MapUnits struct {
	Thousands string  `json:"thousands"`
	Point     string  `json:"point"`
	Length    MapUnit `json:"length"`
	Far       MapUnit `json:"far"`
	GSD       MapUnit `json:"gsd"`
}

// MapUnit is a unit of so many metres.
type MapUnit struct {
	Metres   float64
	Name     string
	Decimals int
}

func (u MapUnit) MarshalJSON() ([]byte, error) {
	return json.Marshal([]any{u.Metres, u.Name, u.Decimals})
}

// MapLayer is what one checkbox shows and hides.
type MapLayer struct {
	Key    string      `json:"key"`
	Name   string      `json:"name"`
	Off    bool        `json:"off,omitempty"`
	Table  string      `json:"table,omitempty"` // the id of the heading over the table that lists the items
	Legend [][2]string `json:"legend"`          // look and text
	Items  []MapItem   `json:"items,omitempty"`
	Dots   *MapDots    `json:"dots,omitempty"`
}

// MapItem is a place with figures, or a mere drawing; Rings, Paths and At are
// as a Coder writes them.
type MapItem struct {
	Look  string   `json:"look"`
	Rings [][]int  `json:"rings,omitempty"`
	Paths [][]int  `json:"paths,omitempty"`
	At    []int    `json:"at,omitempty"`
	Aside bool     `json:"aside,omitempty"` // the label never stands upon the area
	Ref   string   `json:"ref,omitempty"`
	Label string   `json:"label,omitempty"`
	Title string   `json:"title,omitempty"`
	Text  []string `json:"text,omitempty"`
}

// MapDots are many small places, with one entry each in every list: seconds
// since 1970, each from the one before it, decimetres above ground, and
// hundredths of a millimetre a pixel.
type MapDots struct {
	Look    string   `json:"look"`
	Noun    string   `json:"noun"`
	At      []int    `json:"at"`
	Names   []string `json:"names"`
	Times   Whole    `json:"times"`
	Zone    string   `json:"zone"`
	Heights Whole    `json:"heights"`
	GSDs    Whole    `json:"gsds"`
}

// Whole are numbers of which whole ones are written, and null for what is not
// a number.
type Whole []float64

func (w Whole) MarshalJSON() ([]byte, error) {
	out := []byte{'['}
	for i, x := range w {
		if i > 0 {
			out = append(out, ',')
		}
		if math.Abs(x) < 1e15 {
			out = strconv.AppendFloat(out, math.Round(x)+0, 'f', -1, 64)
		} else {
			out = append(out, "null"...)
		}
	}
	return append(out, ']'), nil
}

// Coder writes degrees as whole numbers of 1e-7 degrees, the first ones from
// an origin and each from the one before. Points that are nowhere on the earth
// are left out.
type Coder struct{ Origin orb.Point }

const perDegree = 1e7

func (c Coder) whole(p orb.Point) (x, y int, ok bool) {
	if !(math.Abs(p.Lon()) <= 360 && math.Abs(p.Lat()) <= 90) {
		return 0, 0, false
	}
	lon := p.Lon() - c.Origin.Lon()
	lon -= 360 * math.Round(lon/360)
	return int(math.Round(lon * perDegree)), int(math.Round((p.Lat() - c.Origin.Lat()) * perDegree)), true
}

// Line codes points; those that fall on the one before are dropped.
func (c Coder) Line(points []orb.Point) []int { return c.code(points, false) }

// Place codes one point; it is empty where the point is nowhere.
func (c Coder) Place(p orb.Point) []int { return c.Line([]orb.Point{p}) }

// Points codes points, all of which have to be on the earth.
func (c Coder) Points(points []orb.Point) []int { return c.code(points, true) }

func (c Coder) code(points []orb.Point, all bool) []int {
	out := make([]int, 0, 2*len(points))
	lastX, lastY := 0, 0
	for _, p := range points {
		x, y, ok := c.whole(p)
		if !ok || !all && len(out) > 0 && x == lastX && y == lastY {
			continue
		}
		out = append(out, x-lastX, y-lastY)
		lastX, lastY = x, y
	}
	return out
}

// Rings codes the rings of areas; what has fewer than three corners is left out.
func (c Coder) Rings(areas ...orb.Polygon) [][]int {
	var out [][]int
	for _, polygon := range areas {
		for _, ring := range polygon {
			if coded := c.Line(ring); len(coded) >= 6 {
				out = append(out, coded)
			}
		}
	}
	return out
}

// Holds says whether a point has a place on a map.
func (c Coder) Holds(p orb.Point) bool {
	_, _, ok := c.whole(p)
	return ok
}

// Extent is a box in degrees as the map takes it; east may pass 180.
func (c Coder) Extent(west, south, east, north float64) [4]int {
	whole := func(x float64) int { return int(math.Round(x * perDegree)) }
	return [4]int{whole(west - c.Origin.Lon()), whole(south - c.Origin.Lat()), whole(east - c.Origin.Lon()), whole(north - c.Origin.Lat())}
}
