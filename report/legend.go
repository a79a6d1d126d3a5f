package report

import (
	"image"
	"image/color"
	"image/draw"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	subpixel "golang.org/x/image/math/fixed"
)

// drawLegend draws the legend of the views as a picture, with the words and
// colours of the note's map.
func drawLegend(n Note, all []shade) image.Image {
	const size, margin, line, swatchWide, swatchHigh = 15, 12, 24, 32, 16
	heading, words := face(gobold.TTF, size), face(goregular.TTF, size)
	rows := make([]string, len(all))
	title, note := n.Units.Say("Views"), n.Units.Say("cells of %s", n.Units.Length(n.Audit.Map.Cell))
	wide := max(font.MeasureString(heading, title).Ceil(), font.MeasureString(words, note).Ceil())
	for i, s := range all {
		rows[i] = n.Units.views(s.from, s.to) + ": " + n.Units.Area(s.area)
		wide = max(wide, swatchWide+margin+font.MeasureString(words, rows[i]).Ceil())
	}
	p := image.NewRGBA(image.Rect(0, 0, wide+2*margin, (len(rows)+2)*line+2*margin))
	fill(p, p.Bounds(), palette["ink"])
	fill(p, p.Bounds().Inset(1), palette["paper"])
	text := func(f font.Face, colour string, x, row int, s string) {
		d := font.Drawer{Dst: p, Src: image.NewUniform(palette[colour]), Face: f, Dot: subpixel.P(x, margin+row*line+line*7/10)}
		d.DrawString(s)
	}
	text(heading, "ink", margin, 0, title)
	for i, s := range all {
		top := margin + (i+1)*line + (line-swatchHigh)/2
		box := image.Rect(margin, top, margin+swatchWide, top+swatchHigh)
		fill(p, box, palette["ink"])
		fill(p, box.Inset(1), palette[s.class])
		text(words, "ink", margin+swatchWide+margin, i+1, rows[i])
	}
	text(words, "soft", margin, len(rows)+1, note)
	return p
}

func fill(p draw.Image, r image.Rectangle, c color.Color) {
	draw.Draw(p, r, image.NewUniform(c), image.Point{}, draw.Src)
}

// face is a font at a size in pixels.
func face(data []byte, size float64) font.Face {
	parsed, err := opentype.Parse(data)
	if err != nil {
		panic(err) // it is built in
	}
	f, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		panic(err) // there is no other size
	}
	return f
}
