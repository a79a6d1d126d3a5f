package report

import (
	"bytes"
	"cmp"
	"encoding/json"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"selvage/boundary"
	"selvage/boundary/finding"
)

// Figures of the Unicode CLDR 48, as ICU 78.2 writes them (Intl.NumberFormat
// with digits 0 to 9).
func TestLocaleSigns(t *testing.T) {
	// Releases of the CLDR differ in which space and which apostrophe they use.
	alike := strings.NewReplacer("\u202f", " ", "\u00a0", " ", "’", "'")
	for tag, want := range map[string]string{
		"en-GB": "1,234,567.25", "en-US": "1,234,567.25", "en-ZA": "1 234 567,25", "de": "1.234.567,25", "de-CH": "1'234'567.25",
		"de-AT": "1 234 567,25", "fr": "1 234 567,25", "fr-CA": "1 234 567,25", "es": "1.234.567,25", "es-MX": "1,234,567.25",
		"nl": "1.234.567,25", "it": "1.234.567,25", "pt": "1.234.567,25", "pt-PT": "1 234 567,25", "pl": "1 234 567,25",
		"sv": "1 234 567,25", "da": "1.234.567,25", "fi": "1 234 567,25", "nb": "1 234 567,25", "cs": "1 234 567,25",
		"ar": "1,234,567.25", "ja": "1,234,567.25",
	} {
		l, err := ParseLocale(tag)
		if err != nil {
			t.Error(err)
			continue
		}
		if got := l.fixed(1234567.25, 2); alike.Replace(got) != want {
			t.Errorf("%s: %q, want %q", tag, got, want)
		}
		if l.String() != tag {
			t.Errorf("%s became %s", tag, l)
		}
	}
	for _, tag := range []string{"", "german", "x", "de_de_de", "und", "1"} {
		if l, err := ParseLocale(tag); err == nil {
			t.Errorf("%q went through as %v", tag, l)
		}
	}
}

func locale(t *testing.T, tag string) Locale {
	t.Helper()
	l, err := ParseLocale(tag)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestLocaleForms(t *testing.T) {
	at := time.Date(2026, time.May, 2, 9, 5, 0, 0, time.UTC)
	de := Units{Locale: locale(t, "de")}
	tests := []struct{ got, want string }{
		{Locale{}.Moment(at), "2 May 2026, 09:05 UTC"},
		{locale(t, "en-GB").Moment(at), "2 May 2026, 09:05 UTC"},
		{locale(t, "en-AU").Moment(at), "2 May 2026, 09:05 UTC"},
		{locale(t, "en-US").Moment(at), "May 2, 2026, 09:05 UTC"},
		{de.Moment(at), "2026-05-02, 09:05 UTC"},
		{locale(t, "nl").Moment(at), "2026-05-02, 09:05 UTC"},
		{de.Length(0.01), "<0,1 m"},
		{de.Length(8.2), "8,2 m"},
		{de.In(Both).Area(2280), "2.280 m² (24.542 ft²)"}, // 2280 / 0.3048² = 24,541.7
		{de.Percent(0.0001), "<0,1 %"},
		{de.Percent(0.9999), ">99,9 %"},
		{de.Count(1234, "photo", "photos"), "1.234 photos"},
		{de.round(0.5), "0,5"},
		{de.exposure(1.0 / 2000), "1/2.000 s"},
		{de.Signs("1,234.5"), "1.234,5"},
	}
	for i, tt := range tests {
		if got := strings.ReplaceAll(tt.got, noBreak, " "); got != tt.want {
			t.Errorf("%d: got %q, want %q", i, got, tt.want)
		}
	}
}

// TestMachineOutputIsTheSameEverywhere holds files for programs against those of
// other units, another locale and another language.
func TestMachineOutputIsTheSameEverywhere(t *testing.T) {
	plain, other := fakeNote(), fakeNote()
	other.Units = Units{Both, locale(t, "de").Speaking(bracketed(t))}
	files := map[string]func(io.Writer, Note) error{"JSON": WriteJSON, "GeoJSON": WriteGeoJSON, "re-fly KML": WriteReflyKML}
	for i, table := range plain.Tables() {
		files["table "+table.Name] = func(w io.Writer, n Note) error { return n.Tables()[i].Write(w) }
	}
	for name, write := range files {
		if render(t, plain, write) != render(t, other, write) {
			t.Errorf("%s differs", name)
		}
	}
	for name, r := range receipts(t) {
		for i, table := range r.Tables() {
			there := r
			there.Units = other.Units
			var a, b strings.Builder
			if err := cmp.Or(table.Write(&a), there.Tables()[i].Write(&b)); err != nil {
				t.Fatal(err)
			}
			if a.String() != b.String() {
				t.Errorf("receipt %s: table %s differs", name, table.Name)
			}
		}
	}
	coordinates := regexp.MustCompile(`<coordinates>[^<]*`)
	if a, b := coordinates.FindAllString(render(t, plain, WriteKML), -1), coordinates.FindAllString(render(t, other, WriteKML), -1); len(a) == 0 || !slices.Equal(a, b) {
		t.Error("the coordinates of the KML differ")
	}
}

var (
	scriptsAndStyles = regexp.MustCompile(`(?s)<(script|style).*?</(script|style)>`)
	marks            = regexp.MustCompile(`<[^>]*>`)
	// What keeps its point: coordinates, references and versions.
	pointed = regexp.MustCompile(`[\d.]+° [NSEW]|CFR 107\.51|6\.1\.1[14]|selvage 0\.1\.0`)
	british = regexp.MustCompile(`.{0,30}(\d,\d{3}\b|\d\.\d{1,2}\b).{0,20}`)
)

// shownTexts are what a reader sees: a page without its scripts, and the strings of
// its map.
func shownTexts(t *testing.T, page, data string) []string {
	t.Helper()
	out := strings.Split(marks.ReplaceAllString(scriptsAndStyles.ReplaceAllString(page, ""), "\n"), "\n")
	var collect func(value any)
	collect = func(value any) {
		switch value := value.(type) {
		case string:
			out = append(out, value)
		case []any:
			for _, v := range value {
				collect(v)
			}
		case map[string]any:
			for _, k := range slices.Sorted(maps.Keys(value)) {
				collect(value[k])
			}
		}
	}
	if data != "" {
		var value any
		if err := json.Unmarshal([]byte(data), &value); err != nil {
			t.Fatal(err)
		}
		collect(value)
	}
	return out
}

// recordedFindings are findings as they were made, and as the record of a job
// gives them back.
func recordedFindings(t *testing.T) (read, made []finding.Finding) {
	t.Helper()
	r := receiptOf(t, boundary.Choices{}, append(spikedFields(2), pathOnly, bowTie)...)
	var record bytes.Buffer
	if err := boundary.WriteJob(&record, boundary.Job{Site: []boundary.Area{{}}, Findings: r.Receipt.Findings}); err != nil {
		t.Fatal(err)
	}
	job, err := boundary.ReadJob(record.Bytes(), boundary.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return job.Findings, r.Receipt.Findings
}

// What the record of a job gives back is said to every reader as what was made.
func TestRecordedFindings(t *testing.T) {
	read, made := recordedFindings(t)
	figures, spoken := 0, Locale{}.Speaking(bracketed(t))
	for i := range made {
		for _, u := range []Units{{}, {Imperial, locale(t, "de")}, {Both, locale(t, "fr")}, {Both, spoken}} {
			if got, want := u.Sentence(read[i].Text), u.Sentence(made[i].Text); got != want {
				t.Errorf("%s in place of %s", got, want)
			}
			if got, want := u.toClient(read[i].Text), u.toClient(made[i].Text); got != want {
				t.Errorf("%s in place of %s", got, want)
			}
		}
		if (Units{}).Sentence(read[i].Text) != (Units{Measures: Imperial}).Sentence(read[i].Text) {
			figures++
		}
		if words := unspoken(Units{Locale: spoken}.Sentence(read[i].Text), namesOfFindings(made[i:i+1])); len(words) > 0 {
			t.Errorf("%q", words)
		}
	}
	if figures == 0 {
		t.Errorf("none of %d findings has a figure with a unit", len(made))
	}
}

// TestNoFigureIsLeftBehind looks for figures with British signs where the reader
// has others.
func TestNoFigureIsLeftBehind(t *testing.T) {
	found := func(lines []string) (out []string) {
		for _, line := range lines {
			out = append(out, british.FindAllString(pointed.ReplaceAllString(line, ""), -1)...)
		}
		return out
	}
	de := locale(t, "de")
	sheets := map[string]func(l Locale) []string{}
	recorded := fakeNote()
	recorded.Findings, _ = recordedFindings(t)
	for name, n := range map[string]Note{"note": fakeNote(), "whole note": wholeNote(), "note of a job": recorded} {
		sheets[name] = func(l Locale) []string {
			n.Units.Locale = l
			live, err := n.liveMap()
			if err != nil {
				t.Fatal(err)
			}
			return shownTexts(t, render(t, n, WriteHTML), string(live.Data))
		}
		sheets[name+" as text"] = func(l Locale) []string {
			n.Units.Locale = l
			return strings.Split(render(t, n, plainText), "\n")
		}
		sheets[name+" as KML"] = func(l Locale) []string {
			n.Units.Locale = l
			page := regexp.MustCompile(`<coordinates>[^<]*`).ReplaceAllString(render(t, n, WriteKML), "")
			return shownTexts(t, page, "")
		}
	}
	for name, r := range receipts(t) {
		sheets["receipt "+name] = func(l Locale) []string {
			r.Units.Locale = l
			return append(shownTexts(t, writeReceipt(t, r, WriteReceiptHTML), ""), strings.Split(writeReceipt(t, r, WriteReceiptText), "\n")...)
		}
	}
	for name, sheet := range sheets {
		if lines := found(sheet(de)); len(lines) > 0 {
			t.Errorf("%s: %q", name, lines)
		}
		if !strings.HasPrefix(name, "receipt") && len(found(sheet(Locale{}))) == 0 {
			t.Errorf("%s has no figure to look for", name)
		}
	}
}
