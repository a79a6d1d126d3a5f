package pdf

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/report"
)

var made = time.Date(2026, 5, 12, 9, 30, 0, 0, time.UTC)

// note is a coverage note with so many zones.
func note(zones int) report.Note {
	square := func(lon, lat, side float64) orb.Polygon {
		return orb.Polygon{{{lon, lat}, {lon + side, lat}, {lon + side, lat + side}, {lon, lat + side}, {lon, lat}}}
	}
	a := &coverage.Audit{SiteArea: 123456}
	a.Photos.Read, a.Photos.Used = 40, 38
	a.Photos.LeftOut = []photo.LeftOut{{File: "IMG_0001.jpg", Reason: finding.Plain("no position")}}
	a.Wanted.Views = 5
	for i := range zones {
		lon, lat := 2+float64(i%50)*1e-4, 54+float64(i/50)*1e-4
		a.Zones = append(a.Zones, coverage.Zone{
			Kind: []coverage.ZoneKind{coverage.Gap, coverage.NoStereo, coverage.Thin}[i%3],
			Area: float64(i) + 0.5, Shape: square(lon, lat, 5e-5), Label: orb.Point{lon, lat},
		})
	}
	return report.Note{
		Title: "Long meadow", Site: "North and south", Tool: "Selvage", Version: "1.2.3", Made: made,
		Audit: a, SiteArea: orb.MultiPolygon{square(2, 54, 5e-3)},
	}
}

func notePage(t testing.TB, n report.Note) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := report.WriteHTML(&b, n); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func write(t testing.TB, page []byte, o Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, page, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestSamePageSameBytes(t *testing.T) {
	n := note(7)
	n.Site = "no\u00a0break, hy\u00adphen, Ω Ω µ μ ∆ Δ"
	page := notePage(t, n)
	first := write(t, page, Options{Producer: "Selvage 1.2.3", Made: made})
	for range 8 {
		if !bytes.Equal(first, write(t, page, Options{Producer: "Selvage 1.2.3", Made: made})) {
			t.Fatal("the same page gave other bytes")
		}
	}
	if bytes.Equal(first, write(t, page, Options{Producer: "Selvage 1.2.4", Made: made})) {
		t.Error("the producer is not in the file")
	}
	if !bytes.Contains(first, []byte("D:20260512093000")) {
		t.Error("the date of the file is not that of the note")
	}
}

// Everything that the page shows is in the file, in the order of the page.
func TestTextInReadingOrder(t *testing.T) {
	for name, page := range map[string][]byte{
		"note":    notePage(t, note(7)),
		"receipt": receiptPage(t, "Field of Ångström & Søn"),
	} {
		texts := readBack(t, write(t, page, Options{Made: made}))
		checkOrder(t, name, page, allText(texts))
		checkMargins(t, name, texts, 595.28)
	}
}

// checkOrder looks for headings, paragraphs, items and rows one after another.
func checkOrder(t *testing.T, name string, page []byte, got string) {
	t.Helper()
	root, err := parse(page)
	if err != nil {
		t.Fatal(err)
	}
	faces, err := loadFaces()
	if err != nil {
		t.Fatal(err)
	}
	faces.replaceUnknown(root)
	missing, at := 0, 0
	root.find("body").all(func(n *node) {
		switch n.tag {
		case "h1", "h2", "h3", "p", "dt", "dd", "tr":
		default:
			return
		}
		if n.is("narrow") || n.find("span") != nil && n.find("span").is("narrow") {
			return
		}
		want := joined(n.text())
		if n.tag == "tr" && n.find("text") != nil {
			want = want[:0]
			for _, c := range n.children {
				want += joined(c.text())
			}
		}
		i := strings.Index(got[at:], want)
		if i < 0 && missing < 5 {
			missing++
			t.Errorf("%s: %q is not in the file, or not in its place", name, n.text())
			return
		}
		if i >= 0 {
			at += i
		}
	})
}

// checkMargins holds texts to the printed part of the paper.
func checkMargins(t *testing.T, name string, texts []written, paper float64) {
	t.Helper()
	faces, err := loadFaces()
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range texts {
		if w.free {
			continue
		}
		right := w.x + faces.width(regular, w.size, strings.TrimRight(w.text, " "))*0.97 // bold is wider, mono is not used for long
		if w.x < marginSide-8 || right > paper-marginSide+8 || w.y < footAbove-1 {
			t.Errorf("%s, page %d: %q reaches from %.0f to %.0f, and is at %.0f", name, w.page, w.text, w.x, right, w.y)
			return
		}
	}
}

func receiptPage(t testing.TB, name string) []byte {
	t.Helper()
	quoted, err := json.Marshal(name)
	if err != nil {
		t.Fatal(err)
	}
	data := fmt.Sprintf(`{"type":"Feature","properties":{"name":%s},"geometry":{"type":"Polygon","coordinates":[[[10,0.5],[10.0009,0.5009],[10.0009,0.5],[10,0.5009],[10,0.5]]]}}`, quoted)
	file, err := boundary.Read("field.geojson", []byte(data), boundary.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	r := report.Receipt{Made: made, Tool: "Selvage", Version: "1.2.3", File: file, Receipt: boundary.Vet(file, boundary.Expected{}, boundary.Choices{})}
	if err := report.WriteReceiptHTML(&b, r); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pagesOf(texts []written) int { return texts[len(texts)-1].page }

// A table of 1,000 rows has its head on every page, and every row once.
func TestLongTable(t *testing.T) {
	page := notePage(t, note(1000))
	texts := readBack(t, write(t, page, Options{Made: made}))
	if n := pagesOf(texts); n < 25 || n > 45 {
		t.Errorf("1,000 rows take %d pages", n)
	}
	heads, pages := map[int]int{}, map[int]bool{}
	for _, w := range texts {
		if strings.HasPrefix(w.text, "Position (lat") {
			heads[w.page]++
		}
		if strings.HasPrefix(w.text, "54.") && strings.Contains(w.text, "N, 2.") {
			pages[w.page] = true
		}
	}
	if len(pages) < 20 {
		t.Fatalf("rows are on %d pages", len(pages))
	}
	for p := range pages {
		if heads[p] != 1 {
			t.Errorf("page %d has the head of the table %d times", p, heads[p])
		}
	}
	got := allText(texts)
	root, err := parse(page)
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	root.all(func(n *node) {
		if n.tag == "tr" && n.find("td") != nil {
			rows++
			if row := joined(n.text()); !strings.Contains(got, row) {
				t.Errorf("the row %q is not in the file", row)
			}
		}
	})
	if rows < 1000 {
		t.Errorf("the page has %d rows", rows)
	}
	if numbers := strings.Count(got, fmt.Sprintf("page%dof%d", pagesOf(texts), pagesOf(texts))); numbers != 1 {
		t.Errorf("the last page is numbered %d times", numbers)
	}
}

func TestHostileNames(t *testing.T) {
	long := strings.Repeat("Feldmark", 800)
	for name, text := range map[string]string{
		"script":    `<script>alert(1)</script>"'></style><!-- & ]]>`,
		"brackets":  `\(((()\\)) ) endstream endobj`,
		"japanese":  "田中の畑",
		"arabic":    "حقل الشمال",
		"greek":     "Χωράφι του Βορρά",
		"control":   "a\x00b\x1b[2J\u202ec\ufffe",
		"invalid":   "a\xff\xfeb",
		"beyond":    "😀 field 𝔄",
		"long":      long,
		"no breaks": strings.Repeat("no\u00a0break\u00a0", 500),
		"empty":     "",
	} {
		n := note(3)
		n.Title, n.Site = text, text
		n.Audit.Photos.LeftOut = []photo.LeftOut{{File: text, Reason: finding.Plain(text)}}
		n.Parameters = []report.Setting{{Name: finding.Plain(text), Value: finding.Plain(text)}}
		n.Inputs = []report.Input{{Role: text, Name: text, SHA256: text}}
		page := notePage(t, n)
		texts := readBack(t, write(t, page, Options{Made: made, Producer: text}))
		checkMargins(t, name, texts, 595.28)
		got := allText(texts)
		// What fills more than a page has a foot in it.
		if word := map[string]string{"long": "Feldmark", "no breaks": "nobreak"}[name]; word != "" {
			if whole, n := joined(text), strings.Count(got, word); n < 6*strings.Count(whole, word)*98/100 {
				t.Errorf("%s: %q is there %d times", name, word, n)
			}
			continue
		}
		checkOrder(t, name, page, got)
		write(t, receiptPage(t, text), Options{Made: made})
	}
}

// What the fonts lack is a box, and the file says so.
func TestUnknownLetters(t *testing.T) {
	n := note(0)
	n.Site = "田中 field"
	texts := readBack(t, write(t, notePage(t, n), Options{Made: made}))
	got := allText(texts)
	for _, want := range []string{"□□field", joined("□ stands for 2 characters that this file has no letters for")} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in the file", want)
		}
	}
	n.Site = "− ≥ ≤ × ° – → ² ½ “ü” Жук Ωμέγα 12\u202f345"
	texts = readBack(t, write(t, notePage(t, n), Options{Made: made}))
	if got := allText(texts); strings.Contains(got, "□") || !strings.Contains(got, "−≥≤×°–→²½“ü”ЖукΩμέγα12345") {
		t.Errorf("letters of the fonts are not shown: %s", got[:200])
	}
}

func TestPaper(t *testing.T) {
	page := notePage(t, note(1))
	for _, test := range []struct {
		letter bool
		want   string
	}{{false, "/MediaBox [0 0 595.28 841.89]"}, {true, "/MediaBox [0 0 612.00 792.00]"}} {
		if file := write(t, page, Options{Letter: test.letter}); !bytes.Contains(file, []byte(test.want)) {
			t.Errorf("letter %v: the paper is not %s", test.letter, test.want)
		}
	}
}

func TestPagesThatCannotBeRead(t *testing.T) {
	for name, page := range map[string]string{
		"nothing":  "",
		"no body":  "<html><head/></html>",
		"too deep": "<body>" + strings.Repeat("<div>", 5000),
		"unclosed": "<body><p title=",
	} {
		if err := Write(new(bytes.Buffer), []byte(page), Options{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// Whatever the page, there is a file or an error.
func FuzzWrite(f *testing.F) {
	f.Add(notePage(f, note(2)))
	f.Add(receiptPage(f, "Field"))
	f.Add([]byte(`<style>td{white-space:nowrap;width:50%}p::before{content:"a"}.m{display:grid;grid-template-columns:repeat(3,1fr)}</style><body><h2>a</h2><table><tr><td colspan="3">a</td></tr></table><div class="m">a<p>b</p></div></body>`))
	f.Add([]byte(`<body><svg viewBox="0 0 1e9 1e-9"><path d="M1 1h1e300a1 1 0 0 1 5-5zc"/><text transform="rotate(9) scale(0)">a</text></svg></body>`))
	f.Fuzz(func(t *testing.T, page []byte) {
		if len(page) > 1<<17 {
			return
		}
		Write(new(bytes.Buffer), page, Options{Made: made})
	})
}

func BenchmarkNote(b *testing.B) {
	page := notePage(b, note(40))
	for b.Loop() {
		write(b, page, Options{Made: made})
	}
}

func BenchmarkLongTable(b *testing.B) {
	page := notePage(b, note(1000))
	for b.Loop() {
		write(b, page, Options{Made: made})
	}
}

// A logo is drawn whole, within its most, with what is transparent left out.
func TestLogo(t *testing.T) {
	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewNRGBA(image.Rect(0, 0, 600, 300))); err != nil {
		t.Fatal(err)
	}
	logo, err := report.ReadLogo(picture.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	n := note(3)
	n.Letterhead = report.Letterhead{Operator: "Field and Fell (invented)", Licence: "Operator 00-0000", Logo: logo}
	page := notePage(t, n)
	file := write(t, page, Options{Made: made})
	for _, want := range []string{"/Subtype /Image\n/Width 600\n/Height 300", "/SMask"} {
		if !bytes.Contains(file, []byte(want)) {
			t.Errorf("no %q in the file", want)
		}
	}
	// 2.4rem high, which are 24 points, at the left margin.
	placed := regexp.MustCompile(`q ([\d.]+) 0 0 ([\d.]+) ([\d.]+) ([\d.]+) cm /I\w+ Do Q`).FindStringSubmatch(string(contentsOf(t, file)[0]))
	if placed == nil || placed[1] != "48.00000" || placed[2] != "24.00000" || placed[3] != "42.50000" {
		t.Errorf("the logo is placed as %q", placed)
	}
	texts := readBack(t, file)
	checkOrder(t, "note", page, allText(texts))
	checkMargins(t, "note", texts, 595.28)
	if !bytes.Equal(file, write(t, page, Options{Made: made})) {
		t.Error("the same page gave other bytes")
	}
	outside := strings.Replace(string(page), "data:image/png;base64,", "logo.png?", 1)
	if err := Write(io.Discard, []byte(outside), Options{}); err == nil {
		t.Error("an image that is not in the page was left out without a word")
	}
}
