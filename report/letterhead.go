package report

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"image"
	"image/draw"
	"image/png"
)

// Letterhead is whose sheet it is. Each field may be empty.
type Letterhead struct {
	Operator string
	Client   string
	Site     string
	Licence  string // or registration, in a line
	Remarks  string
	Logo     *Logo
}

// Logo is a picture of nothing but pixels: it was decoded and encoded anew.
type Logo struct {
	png           []byte
	Width, Height int // pixels
}

// Most of what a logo may have.
const (
	MostLogoBytes  = 1 << 20
	mostLogoPixels = 4_000_000
)

// ReadLogo reads a PNG picture.
func ReadLogo(data []byte) (*Logo, error) {
	if len(data) > MostLogoBytes {
		return nil, fmt.Errorf("the picture has more than %s; 1000 pixels across are plenty for a logo", Count(MostLogoBytes, "byte", "bytes"))
	}
	c, err := png.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, errors.New("it is no PNG picture; save the logo as PNG")
	}
	if c.Width > mostLogoPixels/c.Height {
		return nil, fmt.Errorf("the picture has %s × %s pixels; 1000 across are plenty for a logo, and more than %s in all are not taken",
			Number(c.Width), Number(c.Height), Number(mostLogoPixels))
	}
	decoded, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, errors.New("the PNG picture is damaged or cut short; save it again")
	}
	pixels := image.NewNRGBA(image.Rect(0, 0, c.Width, c.Height))
	draw.Draw(pixels, pixels.Bounds(), decoded, decoded.Bounds().Min, draw.Src)
	var out bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, pixels); err != nil {
		return nil, err
	}
	return &Logo{out.Bytes(), c.Width, c.Height}, nil
}

// URL is the picture itself, for a page that loads nothing.
func (l *Logo) URL() template.URL {
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(l.png))
}

// LetterheadJSON is the text of a letterhead in machine output.
type LetterheadJSON struct {
	Operator string `json:"operator"`
	Client   string `json:"client"`
	Site     string `json:"site"`
	Licence  string `json:"licence"`
	Remarks  string `json:"remarks"`
}

// JSON is nil where there is no text.
func (l Letterhead) JSON() *LetterheadJSON {
	text := LetterheadJSON{Clean(l.Operator), Clean(l.Client), Clean(l.Site), Clean(l.Licence), Clean(l.Remarks)}
	if text == (LetterheadJSON{}) {
		return nil
	}
	return &text
}
