package photo

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

const cameraExample = "13.2x8.8mm,8.8mm,5472x3648"

// Complete reports whether everything that a footprint needs is known.
func (c Camera) Complete() bool {
	return c.SensorWidth > 0 && c.SensorHeight > 0 && c.FocalLength > 0 && c.Columns > 0 && c.Rows > 0
}

// PixelSize returns the width of one pixel on the sensor in metres, 0 when it
// is unknown.
func (c Camera) PixelSize() float64 {
	if c.Columns <= 0 {
		return 0
	}
	return c.SensorWidth / 1000 / float64(c.Columns)
}

// Merge returns c with every known field of over put in its place.
func (c Camera) Merge(over Camera) Camera {
	c.SensorWidth = firstKnown(over.SensorWidth, c.SensorWidth)
	c.SensorHeight = firstKnown(over.SensorHeight, c.SensorHeight)
	c.FocalLength = firstKnown(over.FocalLength, c.FocalLength)
	c.Columns = firstKnown(over.Columns, c.Columns)
	c.Rows = firstKnown(over.Rows, c.Rows)
	return c
}

func firstKnown[T int | float64](a, b T) T {
	if a > 0 {
		return a
	}
	return b
}

// ParseCamera reads sensor size, focal length and image size, in this order
// and width before height: "13.2x8.8mm,8.8mm,5472x3648".
func ParseCamera(text string) (Camera, error) {
	fail := func(what string) (Camera, error) {
		return Camera{}, fmt.Errorf("camera %q: %s, as in %s", text, what, cameraExample)
	}
	parts := strings.Split(strings.ReplaceAll(strings.ToLower(text), "×", "x"), ",")
	if len(parts) != 3 {
		return fail("it takes a sensor size, a focal length and an image size with commas between them")
	}
	var c Camera
	var ok bool
	if c.SensorWidth, c.SensorHeight, ok = parsePair(parts[0], "mm"); !ok || !plausibleSensor(c) {
		return fail("the sensor size is its width and height in mm, 0.5 to 200 each")
	}
	if c.FocalLength, ok = parseNumber(parts[1], "mm"); !ok || c.FocalLength < leastFocal || c.FocalLength > mostFocal {
		return fail("the focal length is in mm, 0.1 to 5000 and not a 35 mm equivalent")
	}
	columns, rows, ok := parsePair(parts[2], "px")
	if !ok || columns != math.Trunc(columns) || rows != math.Trunc(rows) ||
		min(columns, rows) < 1 || max(columns, rows) > mostPixels {
		return fail("the image size is its columns and rows in whole pixels")
	}
	c.Columns, c.Rows = int(columns), int(rows)
	const tolerance = 0.05
	if pixelShape := c.SensorWidth / columns / (c.SensorHeight / rows); math.Abs(pixelShape-1) > tolerance {
		return fail(fmt.Sprintf("its pixels would be %.2f times as wide as high; give the part of the sensor "+
			"that the image uses, width before height", pixelShape))
	}
	return c, nil
}

// parsePair reads "axb" with an optional unit behind either number.
func parsePair(text, unit string) (a, b float64, ok bool) {
	first, second, found := strings.Cut(text, "x")
	a, okA := parseNumber(first, unit)
	b, okB := parseNumber(second, unit)
	return a, b, found && okA && okB
}

func parseNumber(text, unit string) (float64, bool) {
	return parseDecimal(strings.TrimSuffix(strings.TrimSpace(text), unit))
}

// parseDecimal reads a plain decimal number: no infinity, NaN or hexadecimal.
func parseDecimal(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	if strings.Trim(text, "+-.0123456789eE") != "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil
}
