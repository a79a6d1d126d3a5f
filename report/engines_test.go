package report

import (
	"testing"

	"selvage/boundary"
	"selvage/report/page/browsertest"
)

// The sheets in Firefox and WebKit: what Chromium is held to in full, in one walk.
func TestInOtherEngines(t *testing.T) {
	note, receipt := render(t, wholeNote(), WriteHTML), writeReceipt(t, receiptOf(t, boundary.Choices{}, bowTie, spikeField), WriteReceiptHTML)
	browsertest.InEngines(t, func(e browsertest.Engine) {
		const place, bar = `document.querySelector(".live-place").textContent`, `document.querySelector(".live-bar").style.width`
		e.OpenPage(note)
		e.Is(`document.querySelector(".live-plot canvas").width > 300`)
		e.Is(`document.querySelectorAll(".live-tag:not([hidden])").length > 4`)
		e.Picture("note")
		e.Hover(".live-tag-zones", 0, 0)
		e.Is(`document.querySelector(".live-figures").textContent.includes("Zone")`)
		middle := e.Value(place)
		e.Drag(".live-plot", 120, 60)
		e.Is(place + ` !== ` + middle)
		scale := e.Value(bar)
		e.Turn(".live-plot", -240) // the drag left the map in focus
		e.Is(bar + ` !== ` + scale)
		e.Keys("0")
		e.Is(bar + ` === ` + scale)
		e.Keys("n")
		e.Is(`!document.querySelector(".live-figures").hidden`)
		e.Picture("chosen")
		e.Hover("h1", 0, 0) // off the map, on which nothing is pointed out then
		before := e.Value(digest)
		for _, layer := range []string{"views", "photos-1"} {
			e.Click(`.live-layer input[name="` + layer + `"]`)
			e.Is(digest + ` !== ` + before)
			e.Click(`.live-layer input[name="` + layer + `"]`)
			e.Is(digest + ` === ` + before)
		}
		e.Click(`[aria-labelledby="zones"] tbody tr:nth-child(2) .live-number`)
		e.Is(`document.querySelector(".live-figures").textContent.includes("Zone 2: gap")`)
		e.Click(".live-link")
		e.Is(`document.activeElement.closest("tr").rowIndex === 2`)
		e.Click(`[aria-labelledby="zones"] th:nth-child(4) button`)
		e.Is(`document.querySelector('[aria-labelledby="zones"] th:nth-child(4)').getAttribute("aria-sort") === "ascending"`)
		e.Is(`document.documentElement.scrollWidth <= innerWidth`)

		e.OpenPage(receipt)
		e.Is(`document.querySelectorAll(".live-tag:not([hidden])").length > 1`)
		e.Picture("receipt")
		e.Content()
	})
}

// digest is painted in one number.
const digest = `(() => {
	let sum = 0;
	for (const c of ` + painted + `) sum = (31 * sum + c.charCodeAt(0)) | 0;
	return sum;
})()`
