package report

import (
	"image/color"
	"regexp"
	"strconv"
)

// palette is the colours of the sheets by their names in sheet.css, which is
// where they are kept.
var palette = paletteOf(sheetStyle)

var namedColour = regexp.MustCompile(`--([a-z0-9-]+): #([0-9a-f]{6}|[0-9a-f]{3});`)

func paletteOf(css string) map[string]color.RGBA {
	colours := map[string]color.RGBA{}
	for _, found := range namedColour.FindAllStringSubmatch(css, -1) {
		hex := found[2]
		if len(hex) == 3 {
			hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
		}
		n, _ := strconv.ParseUint(hex, 16, 24) // the expression lets nothing else through
		colours[found[1]] = color.RGBA{uint8(n >> 16), uint8(n >> 8), uint8(n), 255}
	}
	return colours
}
