package pdf

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"selvage/report/texts"
)

// Every word of a file is one of its page, or in the language of the reader.
func TestFileInAnotherLanguage(t *testing.T) {
	data, err := os.ReadFile("../texts/en.json")
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]texts.Text
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	for key, text := range all {
		if text.Text != "" {
			text.Text = "«" + text.Text + "»"
		}
		for form := range text.Forms {
			text.Forms[form] = "«" + text.Forms[form] + "»"
		}
		all[key] = text
	}
	if data, err = json.Marshal(all); err != nil {
		t.Fatal(err)
	}
	language, err := texts.Read("art", data)
	if err != nil {
		t.Fatal(err)
	}
	n := note(7)
	n.Title = "Long meadow 田"
	n.Units.Locale = n.Units.Speaking(language)
	page := notePage(t, n)
	file := write(t, page, Options{Made: made, Texts: language})
	if !bytes.Contains(file, []byte("/Lang (art)")) {
		t.Error("the file is in another language")
	}
	root, err := parse(page)
	if err != nil {
		t.Fatal(err)
	}
	own := []string{"«page 1 of 4»", "«The map, larger»", "«□ stands for 2 characters that this file has no letters for. The web page shows them.»"}
	said := strings.ReplaceAll(joined(root.text()), "田", "□") + joined(strings.Join(own, "")) + "•"
	texts := readBack(t, file)
	for _, w := range texts {
		for _, word := range strings.Fields(w.text) {
			if !strings.Contains(said, word) && !strings.HasSuffix(word, "…") {
				t.Errorf("“%s” is not said by the page", word)
			}
		}
	}
	for _, text := range own {
		if !strings.Contains(allText(texts), joined(text)) {
			t.Errorf("the file does not say %s", text)
		}
	}
}
