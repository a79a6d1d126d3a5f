package main

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"selvage/report/page/browsertest"
)

// TestPictures makes the pictures of the guide's page about the desk, in the
// folder that SELVAGE_PICTURES names.
func TestPictures(t *testing.T) {
	folder := os.Getenv("SELVAGE_PICTURES")
	if folder == "" {
		t.Skip("SELVAGE_PICTURES names no folder for the pictures of the guide")
	}
	boundary, photos := invented(t)
	p := openDesk(t, browsertest.Start(t), 1100)
	p.Run(chromedp.Evaluate(`document.querySelector("details:last-of-type").remove()`, nil))
	p.picture(folder, "jobs", "h1", 440)
	p.drop("boundary file", boundary)
	p.wait("iframe.report")
	p.Frame("-receipt.html")
	p.picture(folder, "receipt", "h1", 1000)
	p.click(".next a")
	p.wait(".proof")
	p.picture(folder, "preparation", "h1", 900)
	p.click("button.main")
	p.wait(".saves a")
	p.click(".next a")
	p.waitText("h1", "After the flight")
	p.drop("folder of photos", photos)
	p.waitFor("the list of photos", `document.querySelector("main table") !== null`)
	p.picture(folder, "photos", "h1", 900)
	p.typed("Altitude of the ground", "132m")
	p.typed("Wanted overlap, forward and side", "75/70")
	p.typed("Wanted ground sample distance", "2.5cm")
	p.click("button.main")
	p.wait(".verdict-line")
	p.Frame("-coverage.html")
	p.picture(folder, "coverage", "section:last-of-type", 1000)
}

// picture takes one of the window from an element on.
func (p deskPage) picture(folder, name, from string, height int64) {
	p.Helper()
	p.size(1100, height, 1)
	p.Run(chromedp.Evaluate(`document.activeElement.blur(); document.querySelector("`+from+`").scrollIntoView({ behavior: "instant" }); if ("`+from+`" === "h1") scrollTo({ top: 0, behavior: "instant" })`, nil))
	p.Settle()
	p.Run(chromedp.Sleep(500 * time.Millisecond)) // a report's frame draws on its own
	var shot []byte
	p.Run(chromedp.ActionFunc(func(ctx context.Context) (err error) {
		shot, err = page.CaptureScreenshot().Do(ctx)
		return err
	}))
	full, err := png.Decode(bytes.NewReader(shot))
	if err != nil {
		p.Fatal(err)
	}
	var small bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&small, fewColours(full)); err != nil {
		p.Fatal(err)
	}
	if small.Len() > 80_000 {
		p.Errorf("%s has %d bytes", name, small.Len())
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), small.Bytes(), 0o666); err != nil {
		p.Fatal(err)
	}
}

// fewColours keeps the 128 colours that a picture has most of; what has another
// takes the nearest of them.
func fewColours(full image.Image) image.Image {
	counts := map[color.RGBA]int{}
	b := full.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			counts[color.RGBAModel.Convert(full.At(x, y)).(color.RGBA)]++
		}
	}
	key := func(c color.RGBA) int { return int(c.R)<<16 | int(c.G)<<8 | int(c.B) }
	most := slices.SortedFunc(maps.Keys(counts), func(a, b color.RGBA) int {
		if counts[a] != counts[b] {
			return counts[b] - counts[a]
		}
		return key(a) - key(b)
	})
	var colours color.Palette
	for _, c := range most[:min(len(most), 128)] {
		colours = append(colours, c)
	}
	few := image.NewPaletted(b, colours)
	draw.Draw(few, b, full, b.Min, draw.Src)
	return few
}
