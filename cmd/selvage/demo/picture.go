package demo

import (
	"image"
	"image/color"
	"math"
)

// Size of the pictures in pixels: enough to see that each shows its own ground.
const (
	columns = 96
	rows    = 64
)

// picture draws what a camera sees that looks straight down from height metres
// at the place, the top of the image pointing along heading.
func picture(at site, heading, height float64) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, columns, rows))
	sin, cos := math.Sincos(heading * math.Pi / 180)
	pixel := camera.SensorWidth / camera.FocalLength * height / columns
	for row := range rows {
		for column := range columns {
			right := (float64(column) + 0.5 - columns/2) * pixel
			ahead := (rows/2 - float64(row) - 0.5) * pixel
			img.SetRGBA(column, row, groundAt(site{
				at.u + right*cos + ahead*sin,
				at.v - right*sin + ahead*cos,
			}))
		}
	}
	return img
}

// groundAt is the colour of the invented ground: grass, the pale benches of a
// quarry within it, and a track.
func groundAt(p site) color.RGBA {
	rough := noise(p, 9) + 0.5*noise(p, 3)
	light := 1 + 0.22*(rough-0.75)
	relief := noise(p, 120) + 0.35*noise(p, 45)
	tone := [3]float64{96, 112, 62}
	switch pit := depth(p) + 40*(relief-0.7); {
	case math.Abs(p.v-405) < 4:
		tone = [3]float64{176, 162, 138}
	case pit > 0:
		bench := math.Mod(pit, 16) / 16
		tone = [3]float64{186, 172, 146}
		if bench < 0.18 { // the face of a bench lies in shadow
			tone = [3]float64{112, 100, 86}
		}
	case relief > 0.85:
		tone = [3]float64{62, 84, 46}
	}
	at := func(i int) uint8 { return uint8(min(255, max(0, tone[i]*light))) }
	return color.RGBA{at(0), at(1), at(2), 255}
}

// depth is how far, in metres, a place lies within the dug part of the site.
func depth(p site) float64 {
	long := min(p.u-40, length-40-p.u, p.v-25, width-25-p.v)
	arm := min(p.u-30, armWidth-30-p.u, p.v-25, road-30-p.v)
	return max(long, arm)
}

// noise varies smoothly between 0 and 1 over about scale metres.
func noise(p site, scale float64) float64 {
	x, y := p.u/scale, p.v/scale
	x0, y0 := math.Floor(x), math.Floor(y)
	s, t := ease(x-x0), ease(y-y0)
	i, j := int32(x0), int32(y0)
	return (corner(i, j)*(1-s)+corner(i+1, j)*s)*(1-t) + (corner(i, j+1)*(1-s)+corner(i+1, j+1)*s)*t
}

func ease(t float64) float64 { return t * t * (3 - 2*t) }

// corner is a fixed number between 0 and 1 for each point of a grid, mixed
// from its coordinates.
func corner(i, j int32) float64 {
	h := uint32(i)*0x9E3779B1 ^ uint32(j)*0x85EBCA77
	h ^= h >> 15
	h *= 0x2C1B3C6D
	h ^= h >> 12
	return float64(h&0xFFFF) / 0xFFFF
}
