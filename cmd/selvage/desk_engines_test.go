package main

import (
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"selvage/report/page/browsertest"
)

// The whole job on the desk, in Firefox and WebKit. Their protocols choose
// files, but no folders, and cannot drop what lies outside the page.
func TestDeskInOtherEngines(t *testing.T) {
	boundary, folder := invented(t)
	text, err := os.ReadFile(boundary)
	if err != nil {
		t.Fatal(err)
	}
	sent, err := json.Marshal(string(text))
	if err != nil {
		t.Fatal(err)
	}
	var photos []string
	if err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if !entry.IsDir() {
			photos = append(photos, path)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	browsertest.InEngines(t, func(e browsertest.Engine) {
		d := startDesk(e)
		e.Open(d.opening)
		e.Is(`document.querySelector("h1").textContent === "Jobs"`)
		e.Picture("jobs")
		e.Value(`(() => {
			const dataTransfer = new DataTransfer();
			dataTransfer.items.add(new File([` + string(sent) + `], "invented-quarry.kml"));
			return document.querySelector(".drop").dispatchEvent(new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true }));
		})()`)
		e.Is(`document.querySelector("iframe.report") !== null`)
		e.Picture("receipt")

		e.Click(".next a")
		e.Is(`document.querySelector(".proof") !== null`)
		e.Is(`document.querySelector(".live-plot canvas").width > 300`)
		proof := e.Value(`document.querySelector(".proof").textContent`)
		e.Click(".field input[type=text]")
		e.Value(`document.activeElement.select() ?? true`)
		e.Keys("40m")
		e.Is(`document.querySelector(".proof").textContent !== ` + proof)
		e.Picture("preparation")
		e.Click("button.main")
		e.Is(`document.querySelector(".saves a") !== null`)

		e.Click(".next a")
		e.Is(`document.querySelector("h1").textContent === "After the flight"`)
		e.Is(`document.querySelector("input[type=file]").webkitdirectory`)
		e.Value(`document.querySelector("input[type=file]").webkitdirectory = false`)
		e.Choose("input[type=file]", photos...)
		e.Is(`document.querySelector("main table") !== null`)
		e.Picture("photos")
		e.Click(".field input[type=text]")
		e.Keys("132m")
		e.Click("button.main")
		e.Is(`document.querySelector(".verdict-line") !== null`)
		e.Value(`document.querySelector("iframe.report").scrollIntoView({ behavior: "instant" }) ?? new Promise((done) => setTimeout(done, 1500, true))`)
		e.Picture("coverage")
		e.Content()

		for _, end := range []string{"-receipt.pdf", "-flight.kml", "-coverage.html", "-coverage.pdf", "-refly.kml"} {
			if info, err := os.Stat(filepath.Join(d.folder, "invented-quarry", "invented-quarry"+end)); err != nil || info.Size() == 0 {
				e.Errorf("%s is not in the job: %v", strings.TrimPrefix(end, "-"), err)
			}
		}
	})
}
