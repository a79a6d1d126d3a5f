package report

import (
	"context"
	"encoding/json"
	"html"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/report/page/browsertest"
	"selvage/report/texts"
)

var keptVerbs = regexp.MustCompile(`%(?:\[\d+\])?[sdv]`)

// bracketed is a language in which every text stands in brackets, and what is
// put into a text outside of them. Some can be left out.
func bracketed(t *testing.T, but ...string) *texts.Catalogue {
	t.Helper()
	data, err := os.ReadFile("texts/en.json")
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]texts.Text
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	put := func(s string) string { return "⟦" + keptVerbs.ReplaceAllString(s, "⟧$0⟦") + "⟧" }
	for key, text := range all {
		if text.Text != "" {
			text.Text = put(text.Text)
		}
		for form := range text.Forms {
			text.Forms[form] = put(text.Forms[form])
		}
		all[key] = text
	}
	for _, key := range but {
		delete(all, key)
	}
	if data, err = json.Marshal(all); err != nil {
		t.Fatal(err)
	}
	c, err := texts.Read("art", data)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// unbracketed is what of a text stands in no brackets, with a line for each gap.
func unbracketed(text string) string {
	var out strings.Builder
	depth := 0
	for _, r := range text {
		switch {
		case r == '⟦':
			depth++
		case r == '⟧':
			depth--
			out.WriteByte(' ')
		case depth == 0:
			out.WriteRune(r)
		}
	}
	return out.String()
}

var (
	// What is the same in all languages: figures with their units, positions,
	// times, hashes, and what the map and the tables call things.
	sameEverywhere = regexp.MustCompile(`[\d.]+° [NSEW]\b|\d ?(?:cm/px|in/px|m/s|km/h|mph|min|k?m²|ft²|[kcm]?m|ha|ft|mi|acres|px|s|h)\b|` +
		`\bUTC\b|SHA-256|\b[0-9a-f]{16,}\b|\b[CEFLR]\d+\b`)
	spokenLabels = regexp.MustCompile(`(?:aria-label|alt|content)="([^"]*)"`)
	wordsOfOurs  = regexp.MustCompile(`\pL[\pL’ -]*\pL`)
)

// unspoken are the words of a sheet that stand in no brackets and come neither
// from a file nor from a list of codes.
func unspoken(sheet string, names []string) []string {
	plain := func(s string) string { return strings.Join(strings.Fields(s), " ") } // lines may be broken anywhere
	sheet = plain(sheet)
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) })
	for _, name := range names {
		if name = plain(name); wordsOfOurs.MatchString(name) {
			sheet = strings.ReplaceAll(sheet, name, "·")
		}
	}
	return wordsOfOurs.FindAllString(sameEverywhere.ReplaceAllString(unbracketed(sheet), ""), -1)
}

// namesOf are the texts of a note that are not ours.
func namesOf(n Note) []string {
	a, h := n.Audit, n.Letterhead
	names := []string{n.Title, n.Site, n.Tool, n.Version, h.Operator, h.Client, h.Site, h.Licence, h.Remarks, n.Recompute()}
	for _, i := range n.Inputs {
		names = append(names, i.Name)
	}
	for _, s := range n.Parameters {
		names = append(names, slices.Concat(namesIn(s.Name), namesIn(s.Value))...)
	}
	for _, f := range n.Files {
		names = append(names, f.Path)
	}
	for _, l := range a.Photos.LeftOut {
		names = append(append(names, l.File), namesIn(l.Reason)...)
	}
	for _, s := range a.Shots {
		names = append(names, s.File)
	}
	for _, p := range a.Points {
		names = append(names, p.Name, Shortened(p.Name, 16))
		names = append(names, p.Files...)
	}
	for _, w := range a.Weakest {
		names = append(names, w.First, w.Second)
	}
	for _, m := range a.Missed {
		names = append(names, m.After, m.Before)
	}
	return append(names, namesOfFindings(n.findings())...)
}

func namesOfFindings(all []finding.Finding) []string {
	var names []string
	for _, f := range all {
		names = append(append(names, string(f.Code), f.Place.File, f.Place.Name), namesIn(f.Text)...)
	}
	return names
}

// namesIn are what a text was given from a file, or as it stands.
func namesIn(t finding.Text) []string {
	var names []string
	for _, arg := range t.Args {
		switch arg := arg.(type) {
		case string:
			names = append(names, arg)
		case finding.Text:
			names = append(names, namesIn(arg)...)
		case finding.Start:
			names = append(names, namesIn(finding.Text(arg))...)
		case finding.Told:
			names = append(append(names, namesIn(arg.Pilot)...), namesIn(arg.Client)...)
		case finding.Paragraph:
			for _, sentence := range arg {
				names = append(names, namesIn(sentence)...)
			}
		}
	}
	return names
}

func namesOfReceipt(r Receipt) []string {
	h := r.Letterhead
	names := []string{r.title(), r.Tool, r.Version, h.Operator, h.Client, h.Licence, h.Remarks, r.File.Name, r.File.Format, r.File.SHA256}
	for _, p := range r.File.Parts {
		names = append(names, p.Name)
	}
	for _, m := range r.Receipt.Site.Mends {
		names = append(names, namesIn(m.Text)...)
	}
	for _, q := range r.Receipt.Site.Questions {
		names = append(names, namesIn(q.Text)...)
		for _, c := range q.Candidates {
			names = append(append(names, c.Choice), namesIn(c.Text)...)
		}
	}
	return append(names, namesOfFindings(r.Receipt.Findings)...)
}

// TestEverythingIsSaidInTheReadersLanguage looks for words that no translation
// reaches.
func TestEverythingIsSaidInTheReadersLanguage(t *testing.T) {
	there := Units{Both, locale(t, "de").Speaking(bracketed(t))}
	check := func(name, sheet string, names []string) {
		if strings.Contains(sheet, "%!") {
			t.Errorf("%s: a text lacks an argument, or has one too many", name)
		}
		if words := unspoken(sheet, names); len(words) > 0 {
			slices.Sort(words)
			t.Errorf("%s: %q", name, slices.Compact(words))
		}
	}
	visible := func(page string, data string) string {
		var labels []string
		for _, m := range spokenLabels.FindAllStringSubmatch(scriptsAndStyles.ReplaceAllString(page, ""), -1) {
			if !strings.Contains(m[0], "default-src") && !strings.Contains(m[0], "device-width") && m[0] != `content="light"` {
				labels = append(labels, m[1])
			}
		}
		return html.UnescapeString(strings.Join(append(shownTexts(t, page, data), labels...), "\n"))
	}
	for name, n := range speakingNotes() {
		n.Units = there
		live, err := n.liveMap()
		if err != nil {
			t.Fatal(err)
		}
		page := render(t, n, WriteHTML)
		if !strings.HasPrefix(page, "<!DOCTYPE html>\n<html lang=\"art\">") {
			t.Errorf("%s: the page is in %.60q", name, page)
		}
		names := namesOf(n)
		check(name, visible(page, mapTexts(t, string(live.Data))), names)
		check(name+" as KML", visible(regexp.MustCompile(`<(coordinates|styleUrl|color|altitudeMode)>[^<]*`).ReplaceAllString(render(t, n, WriteKML), ""), ""), names)
		check(name+" as text", render(t, n, plainText), names)
	}
	for name, r := range speakingReceipts(t) {
		r.Units = there
		live, err := r.liveMap()
		if err != nil {
			t.Fatal(err)
		}
		names := namesOfReceipt(r)
		data := ""
		if live.Data != "" {
			data = mapTexts(t, string(live.Data))
		}
		check("receipt "+name, visible(writeReceipt(t, r, WriteReceiptHTML), data), names)
		check("receipt "+name+" as text", writeReceipt(t, r, WriteReceiptText), names)
	}
}

// A text that is left out is one that the test above would find.
func TestALeftOutTextIsNoticed(t *testing.T) {
	for _, key := range []string{"Wanted and found", "Not captured in full: %s.", "%s views", "Length", "Met?", "Zone %d: %s"} {
		n := fakeNote()
		n.Units = Units{Both, locale(t, "de").Speaking(bracketed(t, key))}
		live, err := n.liveMap()
		if err != nil {
			t.Fatal(err)
		}
		page := shownTexts(t, render(t, n, WriteHTML), mapTexts(t, string(live.Data)))
		said := unspoken(html.UnescapeString(strings.Join(page, "\n")), namesOf(n))
		if word := longest(key); !slices.ContainsFunc(said, func(s string) bool { return strings.Contains(s, word) }) {
			t.Errorf("“%s” stayed English, and was not noticed: %q", key, said)
		}
	}
}

func longest(text string) string {
	return slices.MaxFunc(wordsOfOurs.FindAllString(strings.ReplaceAll(text, "%s", "·"), -1), func(a, b string) int { return len(a) - len(b) })
}

// What the scripts of a page say is in the reader's language too.
func testLanguage(t *testing.T, b context.Context) {
	n := wholeNote()
	n.Units = Units{Both, locale(t, "de").Speaking(bracketed(t))}
	p := openNote(t, b, n, 1200, 900)
	p.Run(chromedp.ScrollIntoView(".live-plot"))
	x, y := pixel(p, n.Audit.Shots[20].Position)
	p.Run(chromedp.MouseEvent(input.MouseMoved, x, y))
	p.Settle()
	for _, want := range []string{"⟦height ⟧", "⟦GSD ⟧"} {
		if got := p.Text(".live-figures"); !strings.Contains(got, want) {
			t.Errorf("a photo is %q, without %s", got, want)
		}
	}
	said := browsertest.Ask[string](p, `[document.body.innerText, ...[...document.querySelectorAll("[aria-label], [aria-roledescription], .live-keys")].map((e) =>
		[e.getAttribute("aria-label"), e.getAttribute("aria-roledescription"), e.textContent].join(" "))].join("\n")`)
	for _, want := range []string{"⟦Layers⟧", "⟦Save as CSV: ⟧", "⟦, show on the map⟧", "⟦Enlarge⟧", "⟦a number⟧", "⟦Go to⟧", "⟦map⟧"} {
		if !strings.Contains(said, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	if words := unspoken(said, namesOf(n)); len(words) > 0 {
		t.Errorf("%q", words)
	}
	p.Content()
}

// mapTexts are the data of a map without what is not for people.
func mapTexts(t *testing.T, data string) string {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal([]byte(data), &m); err != nil {
		t.Fatal(err)
	}
	delete(m, "units")
	for _, l := range m["layers"].([]any) {
		l := l.(map[string]any)
		for _, key := range []string{"key", "table"} {
			delete(l, key)
		}
		for _, pair := range l["legend"].([]any) {
			pair.([]any)[0] = ""
		}
		items, _ := l["items"].([]any)
		for _, i := range items {
			delete(i.(map[string]any), "look")
		}
		if dots, is := l["dots"].(map[string]any); is {
			delete(dots, "look")
		}
	}
	out, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// speakingNotes differ in what they have to say.
func speakingNotes() map[string]Note {
	changed := func(change func(*coverage.Audit)) Note {
		n := perfect()
		change(n.Audit)
		return n
	}
	return map[string]Note{
		"note": fakeNote(), "whole note": wholeNote(), "perfect": perfect(),
		"specks": changed(func(a *coverage.Audit) {
			a.Totals.Gap, a.Totals.CoveredShare, a.Totals.NoStereo, a.Totals.Thin = 0.4, 0.9999965, 1, 2
			a.Speed.BlurKnown, a.Missed = 0, nil
		}),
		"edge alone": changed(func(a *coverage.Audit) {
			a.Edge.Captured -= 0.2
			a.Edge.Stretches, a.Refly, a.ReflyPlan = fakeNote().Audit.Edge.Stretches[:1], fakeNote().Audit.Refly[:1], coverage.ReflyPlan{}
			a.Speed.Ground = 0
		}),
		"nothing to measure": changed(func(a *coverage.Audit) {
			a.Overlap.Side, a.GSDByPlace, a.GSD.Below, a.Speed.Allowed = coverage.Spread{}, coverage.GSDByPlace{}, 0.3, 0
		}),
		"coarse":         changed(func(a *coverage.Audit) { a.GSDByPlace.Coarse.Area, a.GSD.Below = a.SiteArea*0.7, 0.3 }),
		"nothing wanted": changed(func(a *coverage.Audit) { a.Wanted, a.Certainty.Radius.Max = coverage.Wanted{}, 0 }),
		"no photos":      changed(func(a *coverage.Audit) { a.Photos = coverage.Count{Read: 3} }),
	}
}

func speakingReceipts(t *testing.T) map[string]Receipt {
	out := receipts(t)
	maps.DeleteFunc(out, func(name string, _ Receipt) bool { return name == "hostile" || name == "odd" || name == "nameless" })
	out["one fault"] = receiptOf(t, boundary.Choices{}, field("Spiked", box(0, 0, 400, 300), box(500, 0, 10, 10)))
	return out
}
