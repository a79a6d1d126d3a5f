package report

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"strings"
	"testing"

	"selvage/boundary"
)

// logoOf is a picture as PNG, red where it is not transparent.
func logoOf(t *testing.T, width, height int) []byte {
	t.Helper()
	m := image.NewNRGBA(image.Rect(0, 0, width, height))
	for x := range width {
		for y := range height / 2 {
			m.SetNRGBA(x, y, color.NRGBA{200, 10, 20, 255})
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, m); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func hostileLetterhead() Letterhead {
	return Letterhead{Operator: hostile, Client: hostile, Site: hostile, Licence: hostile, Remarks: hostile, Logo: &Logo{png: []byte(hostile), Width: 1, Height: 1}}
}

// withText adds a chunk of text to a PNG picture, and something after its end
// (Portable Network Graphics, W3C, third edition, 5.3 and 11.3.3.2).
func withText(picture []byte, secret string) []byte {
	const end = 12 // length, type and checksum of the last chunk
	chunk := append([]byte("tEXtComment\x00"), secret...)
	out := bytes.Clone(picture[:len(picture)-end])
	out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	out = append(out, picture[len(picture)-end:]...)
	return append(out, secret...)
}

func TestLogoIsItsPixelsAlone(t *testing.T) {
	const secret = "<script>made on the machine of J. Doe</script>"
	logo, err := ReadLogo(withText(logoOf(t, 40, 20), secret))
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(logo.png, []byte("Doe")) || bytes.Contains(logo.png, []byte("tEXt")) {
		t.Error("more than pixels went through")
	}
	url := string(logo.URL())
	data, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(url, "data:image/png;base64,"))
	if err != nil {
		t.Fatal(err)
	}
	m, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if m.Bounds() != image.Rect(0, 0, 40, 20) || m.At(3, 3) != (color.NRGBA{200, 10, 20, 255}) || m.At(3, 15) != (color.NRGBA{}) {
		t.Errorf("the picture is %v with %v and %v", m.Bounds(), m.At(3, 3), m.At(3, 15))
	}
}

func TestNoLogo(t *testing.T) {
	whole := logoOf(t, 40, 20)
	wide := bytes.Clone(whole)
	binary.BigEndian.PutUint32(wide[16:], 1<<20) // the width, in the first chunk
	binary.BigEndian.PutUint32(wide[29:], crc32.ChecksumIEEE(wide[12:29]))
	for _, tt := range []struct {
		name string
		data []byte
		want string
	}{
		{"nothing", nil, "no PNG"},
		{"JPEG", []byte("\xff\xd8\xff\xe0\x00\x10JFIF"), "no PNG"},
		{"text", []byte("<svg/>"), "no PNG"},
		{"cut short", whole[:len(whole)-20], "cut short"},
		{"many pixels", wide, "1,048,576 × 20 pixels"},
		{"many bytes", make([]byte, MostLogoBytes+1), "1,048,576 bytes"},
	} {
		if logo, err := ReadLogo(tt.data); err == nil || logo != nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

func TestLetterheadOnSheets(t *testing.T) {
	logo, err := ReadLogo(logoOf(t, 300, 100))
	if err != nil {
		t.Fatal(err)
	}
	head := Letterhead{Operator: "Field & Fell (invented)", Client: "Hill Farm (invented)", Site: "Top field", Licence: "Operator 00-0000", Remarks: "Wind 5 m/s.", Logo: logo}
	n := fakeNote()
	n.Letterhead = head
	r := receiptOf(t, boundary.Choices{}, field("a", box(0, 0, 100, 100)))
	r.Letterhead = head
	for name, page := range map[string]string{"note": render(t, n, WriteHTML), "receipt": writeReceipt(t, r, WriteReceiptHTML)} {
		checkHarmless(t, name, page)
		top, _, _ := strings.Cut(page, "<section")
		for _, want := range []string{
			`<img src="data:image/png;base64,`, `width="300" height="100" alt="Logo of Field &amp; Fell (invented)"`, "<b>Field &amp; Fell (invented)</b>",
			"<dt>Client</dt><dd>Hill Farm (invented)</dd>", "<dt>Site</dt><dd>Top field</dd>", "Operator 00-0000", "<dt>Remarks</dt><dd>Wind 5 m/s.</dd>", "img-src data:",
		} {
			if !strings.Contains(top, want) {
				t.Errorf("%s: no %q at the top", name, want)
			}
		}
	}
	if page := render(t, n, WriteHTML); strings.Contains(page, "parcel 14</dd>") {
		t.Error("the site that was given does not stand in the place of the areas' names")
	}
	for name, text := range map[string]string{
		"JSON": render(t, n, WriteJSON), "letter": writeReceipt(t, r, WriteReceiptText),
	} {
		if !strings.Contains(text, "Field & Fell (invented)") || strings.Contains(text, "base64") {
			t.Errorf("%s: %s", name, text)
		}
	}
	// Without a letterhead there is none of it.
	n.Letterhead = Letterhead{}
	page, _, _ := strings.Cut(render(t, n, WriteHTML), "<section")
	for _, bad := range []string{`class="letterhead"`, "<img", "Client", "Remarks", "img-src"} {
		if strings.Contains(page, bad) {
			t.Errorf("without a letterhead the page has %q", bad)
		}
	}
	if text := render(t, n, WriteJSON); !strings.Contains(text, `"letterhead": null`) {
		t.Error("without a letterhead it is not null")
	}
}
