package report

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"

	"selvage/boundary"
	"selvage/coverage"
	"selvage/report/geotiff"
)

var errNoViews = errors.New("the views were not counted")

// WriteViewsTIFF writes the views as GeoTIFF, in degrees on WGS 84: whole
// numbers, counted at the middles of the cells. Across the antimeridian it
// reaches past 180.
func WriteViewsTIFF(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	m := n.Audit.Map
	r := geotiff.Raster{
		West: m.Corner.Lon(), North: m.Bound().Max.Lat(),
		StepEast: m.Step[0], StepSouth: m.Step[1], Columns: m.Columns, Rows: m.Rows,
		NoData: coverage.OffSite, Description: "Views: number of photos that see the middle of each cell",
	}
	for row := m.Rows - 1; row >= 0; row-- {
		r.Values = append(r.Values, m.Views[row*m.Columns:(row+1)*m.Columns]...)
	}
	return geotiff.Write(w, r)
}

// WriteViewsKMZ writes the views as a picture on the ground with a legend, for
// map viewers (KML 2.2). Colours and words are those of the note's map.
func WriteViewsKMZ(w io.Writer, n Note) error {
	if n.Audit == nil {
		return errNoAudit
	}
	m := n.Audit.Map
	if len(m.Views) == 0 {
		return errNoViews
	}
	all := shades(n.Audit.Views, n.Audit.Wanted.Views)
	key, err := encodePNG(drawLegend(n, all))
	if err != nil {
		return err
	}
	doc := kml.Document(kml.Name(documentName(n.Units.Say("Views"), n)), kml.Open(true), kml.Description(viewsAbout(n)))
	members := []boundary.Member{{Name: "legend.png", Content: key}}
	for i, half := range halves(m) {
		name := fmt.Sprintf("views-%d.png", i+1)
		data, err := encodePNG(half.picture(m, all))
		if err != nil {
			return err
		}
		members = append(members, boundary.Member{Name: name, Content: data})
		doc.Append(half.overlay(n.Units.Say("Views"), name))
	}
	upperLeft := kml.Vec2{X: 0, Y: 1, XUnits: kml.UnitsFraction, YUnits: kml.UnitsFraction}
	doc.Append(kml.ScreenOverlay(
		kml.Name(n.Units.Say("Legend")), kml.Icon(kml.Href("legend.png")),
		kml.OverlayXY(upperLeft), kml.ScreenXY(kml.Vec2{X: 0.01, Y: 0.98, XUnits: kml.UnitsFraction, YUnits: kml.UnitsFraction}),
		kml.Size(kml.Vec2{X: -1, Y: -1, XUnits: kml.UnitsPixels, YUnits: kml.UnitsPixels}))) // as large as it is
	var text bytes.Buffer
	if err := boundary.WriteKMLDocument(&text, doc); err != nil {
		return err
	}
	return boundary.WriteArchive(w, append([]boundary.Member{{Name: "doc.kml", Content: text.Bytes()}}, members...))
}

func viewsAbout(n Note) string {
	return n.Units.Say("Number of photos that see the ground, counted at the middles of cells of %s. Outside the site area nothing is shown.", n.Units.Length(n.Audit.Map.Cell)) +
		"\n" + n.Units.Cautions()[0]
}

// columns are those of a raster that lie on one side of the antimeridian.
type columns struct {
	first, last int // last is the first of the others
	box         orb.Bound
}

// halves are all columns, or those on either side of the antimeridian: KML 2.2
// has longitudes from -180 to 180 only, and a box may not run from east to west.
func halves(m coverage.DegreeRaster) []columns {
	whole := columns{0, m.Columns, m.Bound()}
	seam := int(math.Round((180 - m.Corner.Lon()) / m.Step[0]))
	switch {
	case seam >= m.Columns:
		return []columns{whole}
	case seam <= 0:
		return []columns{whole.turned()}
	}
	west, east := whole, whole
	west.last, west.box.Max[0] = seam, 180
	east.first, east.box.Min[0] = seam, 180
	return []columns{west, east.turned()}
}

func (c columns) turned() columns {
	c.box.Min[0] -= 360
	c.box.Max[0] -= 360
	return c
}

// picture has the north at the top, and nothing off the site.
func (c columns) picture(m coverage.DegreeRaster, all []shade) image.Image {
	colours := color.Palette{color.RGBA{}}
	for _, s := range all {
		colours = append(colours, palette[s.class])
	}
	p := image.NewPaletted(image.Rect(0, 0, c.last-c.first, m.Rows), colours)
	for row := range m.Rows {
		for column := c.first; column < c.last; column++ {
			if v := m.Views[row*m.Columns+column]; v != coverage.OffSite {
				p.SetColorIndex(column-c.first, m.Rows-1-row, uint8(1+shadeOf(all, int(v))))
			}
		}
	}
	return p
}

// shadeOf is the index of the shade of a number of views; -1 for none.
func shadeOf(all []shade, views int) int {
	for i, s := range all {
		if views >= s.from && (s.to < 0 || views <= s.to) {
			return i
		}
	}
	return -1
}

func (c columns) overlay(name, picture string) kml.Element {
	const clear = 0xd9 // enough to tell the ground below
	return kml.GroundOverlay(
		kml.Name(name), kml.Color(color.RGBA{255, 255, 255, clear}), kml.Icon(kml.Href(picture)),
		kml.LatLonBox(
			kml.North(decimals12(c.box.Max.Lat())), kml.South(decimals12(c.box.Min.Lat())),
			kml.East(decimals12(c.box.Max.Lon())), kml.West(decimals12(c.box.Min.Lon()))))
}

func decimals12(degrees float64) float64 { return math.Round(degrees*1e12) / 1e12 }

func encodePNG(p image.Image) ([]byte, error) {
	var out bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, p)
	return out.Bytes(), err
}
