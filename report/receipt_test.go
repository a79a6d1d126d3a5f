package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// field is a GeoJSON feature with the rings of one polygon.
func field(name string, rings ...orb.Ring) string {
	var out []string
	for _, r := range rings {
		var points []string
		for _, p := range r {
			points = append(points, fmt.Sprintf("[%.7f,%.7f]", p[0], p[1]))
		}
		out = append(out, "["+strings.Join(points, ",")+"]")
	}
	return fmt.Sprintf(`{"type":"Feature","properties":{"name":%q},"geometry":{"type":"Polygon","coordinates":[%s]}}`, name, strings.Join(out, ","))
}

// receiptOf reads features as a client's file and vets it.
func receiptOf(t *testing.T, choices boundary.Choices, features ...string) Receipt {
	t.Helper()
	data := `{"type":"FeatureCollection","features":[` + strings.Join(features, ",") + `]}`
	f, err := boundary.Read("site.geojson", []byte(data), boundary.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return Receipt{
		Title: "Long Meadow", Tool: "selvage", Version: "0.1.0", Made: time.Date(2025, 6, 3, 14, 5, 0, 0, time.UTC),
		File: f, Receipt: boundary.Vet(f, boundary.Expected{}, choices),
	}
}

var (
	soundField = field("Long Meadow", box(0, 0, 400, 300))
	bowTie     = field("Long Meadow", ring(0, 0, 400, 300, 400, 0, 0, 300))
	spikeField = field("Spiked", ring(0, 0, 400, 0, 400, 300, 200, 300, 200, 315, 200, 300, 0, 300))
	stray      = field("Ring road", box(0, 0, 400, 300), ring(300, 100, 300, 180, 460, 180, 460, 100))
	pathOnly   = `{"type":"Feature","properties":{"name":"Way round"},"geometry":{"type":"LineString","coordinates":[[0.25,51.05],[0.26,51.05],[0.26,51.06]]}}`
)

// spikedFields are fields in rows of ten, each with a spike, a repeated vertex
// and a clockwise outline: three findings each.
func spikedFields(n int) []string {
	var out []string
	for i := range n {
		x, y := 150*float64(i%10), 150*float64(i/10)
		out = append(out, field(fmt.Sprintf("Field %d", i+1), ring(x, y, x, y+100, x, y+100, x+60, y+100, x+60, y+112, x+60, y+100, x+100, y+100, x+100, y)))
	}
	return out
}

func receipts(t *testing.T) map[string]Receipt {
	plain := boundary.Choices{}
	overlapping := []string{field("North", box(0, 0, 300, 200)), field("South", box(200, -150, 300, 190)), field("West", box(-100, -100, 100.4, 250))}
	out := map[string]Receipt{
		"sound":    receiptOf(t, plain, soundField),
		"bow-tie":  receiptOf(t, plain, bowTie),
		"settled":  receiptOf(t, boundary.Choices{Crossing: boundary.Uncross}, bowTie),
		"spike":    receiptOf(t, plain, spikeField),
		"hole":     receiptOf(t, plain, stray),
		"overlap":  receiptOf(t, plain, overlapping...),
		"many":     receiptOf(t, plain, spikedFields(30)...),
		"no area":  receiptOf(t, plain, pathOnly),
		"hostile":  hostileReceipt(t),
		"odd":      oddReceipt(t),
		"nameless": {File: &boundary.File{}},
	}
	imperial := out["bow-tie"]
	imperial.Units.Measures = Imperial
	out["imperial"] = imperial
	return out
}

func hostileReceipt(t *testing.T) Receipt {
	r := receiptOf(t, boundary.Choices{}, bowTie, field("b", box(500, 0, 200, 200)))
	r.Title, r.Tool, r.Version = hostile, hostile, hostile
	r.Letterhead = hostileLetterhead()
	r.File.Name, r.File.Format, r.File.SHA256 = hostile, hostile, hostile
	for i := range r.File.Parts {
		r.File.Parts[i].Name = hostile
	}
	r.File.Parts[1].Name = "<b>"
	for i := range r.Receipt.Findings {
		f := &r.Receipt.Findings[i]
		f.Text, f.Unit, f.Place.Name, f.Place.File = finding.Plain(hostile), hostile, hostile, hostile
	}
	r.Receipt.Findings = append(r.Receipt.Findings, finding.Finding{Code: hostile, Severity: hostile, Text: finding.Plain(hostile)},
		finding.Finding{Code: hostile, Severity: finding.NeedsAnswer, Text: finding.Plain(hostile), Place: finding.Place{Name: hostile}.At(0.251, 51.051)})
	for i := range r.Receipt.Site.Questions {
		q := &r.Receipt.Site.Questions[i]
		q.Text = finding.Plain(hostile)
		for j := range q.Candidates {
			q.Candidates[j].Text, q.Candidates[j].Choice = finding.Plain(hostile), hostile
		}
	}
	for i := range r.Receipt.Site.Mends {
		r.Receipt.Site.Mends[i].Text = finding.Plain(hostile)
	}
	return r
}

// oddReceipt holds values that no receipt should hold.
func oddReceipt(t *testing.T) Receipt {
	nan, inf := math.NaN(), math.Inf(1)
	r := receiptOf(t, boundary.Choices{}, bowTie)
	r.File.Parts = append(r.File.Parts, boundary.Part{}, boundary.Part{Name: "x", Polygon: orb.Polygon{{}, {{nan, inf}}}},
		boundary.Part{Name: "far", Polygon: orb.Polygon{{{51, 300}, {52, 300}, {52, 301}}}})
	site := &r.Receipt.Site
	site.Area, r.Receipt.Perimeter, r.Receipt.Centre = nan, inf, orb.Point{nan, inf}
	q := &site.Questions[0]
	q.Candidates = append(q.Candidates, boundary.Candidate{Area: inf}, boundary.Candidate{Area: nan, Shape: orb.MultiPolygon{{{{nan, nan}}}}})
	site.Questions = append(site.Questions, boundary.Question{Place: finding.Place{Feature: 99}}, boundary.Question{})
	site.Mends = append(site.Mends, boundary.Mended{AreaBefore: nan, Displacement: inf})
	place := finding.Place{Feature: 1, Part: 1, Ring: 1, Vertex: 99}
	for _, p := range []finding.Place{place.At(nan, inf), place.At(0.2512, 51.0512), {Feature: 99, Ring: -1}, finding.Place{Ring: 7}.At(0.252, 51.051), finding.Place{}.At(300, 80)} {
		for _, amount := range []float64{nan, inf, -1, 1e-12, 5} {
			r.Receipt.Findings = append(r.Receipt.Findings, finding.Finding{Code: "x", Severity: finding.NeedsAnswer, Place: p, Amount: amount, Unit: "m"})
		}
	}
	return r
}

func writeReceipt(t *testing.T, r Receipt, write func(io.Writer, Receipt) error) string {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out, r); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

var receiptWriters = map[string]func(io.Writer, Receipt) error{"HTML": WriteReceiptHTML, "text": WriteReceiptText}

func TestReceiptsAreWellFormedAndHarmless(t *testing.T) {
	for name, r := range receipts(t) {
		checkHarmless(t, name, writeReceipt(t, r, WriteReceiptHTML))
	}
	if page := writeReceipt(t, hostileReceipt(t), WriteReceiptHTML); !strings.Contains(page, "&lt;script&gt;alert(1)&lt;/script&gt;") {
		t.Error("the hostile title is gone")
	}
}

func TestReceiptTextFitsAMail(t *testing.T) {
	for name, r := range receipts(t) {
		text := writeReceipt(t, r, WriteReceiptText)
		for _, line := range strings.Split(text, "\n") {
			if n := utf8.RuneCountInString(line); n > 72 {
				t.Errorf("%s: %d columns: %s", name, n, line)
			}
			if strings.TrimRight(line, " ") != line {
				t.Errorf("%s: spaces at the end of %q", name, line)
			}
		}
		for _, bad := range []string{"\x1b", "\x00", "\u202e", "\t", noBreak, "Ask the client", "NaN", "Inf"} {
			if strings.Contains(text, bad) {
				t.Errorf("%s: the text holds %q", name, bad)
			}
		}
	}
}

func TestReceiptSameBytesEveryTime(t *testing.T) {
	once, again := receipts(t), receipts(t)
	for name := range once {
		for kind, write := range receiptWriters {
			if writeReceipt(t, once[name], write) != writeReceipt(t, again[name], write) {
				t.Errorf("%s: the %s was written differently a second time", name, kind)
			}
		}
	}
}

func TestReceiptErrors(t *testing.T) {
	for kind, write := range receiptWriters {
		if err := write(io.Discard, Receipt{}); err == nil {
			t.Errorf("%s: written without a file", kind)
		}
		if err := write(&full{room: 100}, receiptOf(t, boundary.Choices{}, bowTie)); err == nil {
			t.Errorf("%s: a full disk went unnoticed", kind)
		}
	}
}

func TestReceiptVerdict(t *testing.T) {
	tests := []struct {
		receipt     string
		heading     string
		good, short bool
		want        []string
	}{
		{"sound", "Sound", true, false, []string{"Sound: 1 part, 12.0", "Nothing had to be mended"}},
		{"spike", "Sound once mended", true, false, []string{"Sound once mended: 1 part", "1 fault was mended without asking", "leaves the area unchanged"}},
		{"bow-tie", "Needs an answer", false, false, []string{"1 question to answer.", "Until it is answered, the site area is taken to be 6.0", "Nothing was mended without asking"}},
		{"settled", "Sound once mended", true, false, []string{"Sound once mended: 1 part, 12.0"}},
		{"overlap", "Needs an answer", false, false, []string{"1 question to answer.", "changes the area by −"}},
		{"no area", "No area to fly", false, true, []string{"no area that could be flown: 1 question to answer."}},
		{"nameless", "No area to fly", false, true, []string{"The file holds no area that could be flown."}},
	}
	all := receipts(t)
	for _, tt := range tests {
		v := all[tt.receipt].verdict()
		if v.Heading != tt.heading || v.Good != tt.good || v.Short != tt.short {
			t.Errorf("%s: got %+v", tt.receipt, v)
		}
		text := strings.Join(v.Sentences, " ")
		for _, want := range tt.want {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %q lacks %q", tt.receipt, text, want)
			}
		}
		page := writeReceipt(t, all[tt.receipt], WriteReceiptHTML)
		if _, body, _ := strings.Cut(page, "</header>"); !strings.HasPrefix(strings.TrimSpace(body), `<section class="verdict`) {
			t.Errorf("%s: the verdict does not come first", tt.receipt)
		}
	}
}

func TestChange(t *testing.T) {
	tests := []struct {
		before, after float64
		want          string
	}{
		{10_000, 10_000, "unchanged"},
		{10_000, 10_000.004, "unchanged"},
		{10_000, 9_000, "−1,000 m² (10.0 %)"},
		{10_000, 10_001, "+1.0 m² (<0.1 %)"},
		{0, 60_000, "+6.00 ha"},
		{100, 250, "+150 m²"},
		{math.NaN(), 250, "not known"},
	}
	for _, tt := range tests {
		if got := metric.change(tt.before, tt.after); got != tt.want {
			t.Errorf("%v to %v: got %q, want %q", tt.before, tt.after, got, tt.want)
		}
	}
}

var tagText = regexp.MustCompile(`<g class="tag (tag-[a-z-]+)( minor)?">[^\n]*?<text y="4">(F\d+)</text>`)

// Every number on the map stands in the table, in the border of the same
// severity, and the places on the map lie as the positions of the table do.
func TestNumbersOfMapAndTable(t *testing.T) {
	for name, r := range receipts(t) {
		if name == "odd" {
			continue
		}
		page := writeReceipt(t, r, WriteReceiptHTML)
		mapPart, tablePart := between(page, `<h2 id="map">`, "<figcaption>"), between(page, `<h2 id="findings">`, "</section>")
		inTable := map[string]string{}
		for i, m := range tagText.FindAllStringSubmatch(tablePart, -1) {
			if m[3] != faultName(i) {
				t.Errorf("%s: row %d of the table is called %s", name, i+1, m[3])
			}
			inTable[m[3]] = m[1]
		}
		if len(inTable) != len(r.Receipt.Findings) {
			t.Errorf("%s: the table lists %d of %d findings", name, len(inTable), len(r.Receipt.Findings))
		}
		onMap := 0
		for _, m := range tagText.FindAllStringSubmatch(mapPart, -1) {
			onMap++
			if inTable[m[3]] != m[1] {
				t.Errorf("%s: %s is a %s on the map and a %s in the table", name, m[3], m[1], inTable[m[3]])
			}
		}
		var located []finding.Place
		for _, f := range r.Receipt.Findings {
			if f.Place.Located {
				located = append(located, f.Place)
			}
		}
		if want := min(len(located), mostLabels); onMap != want {
			t.Errorf("%s: %d numbers on the map, want %d", name, onMap, want)
		}
		spots := regexp.MustCompile(`translate\(([\d.]+) ([\d.]+)\)"><path class="spot `).FindAllStringSubmatch(mapPart, -1)
		if len(spots) != len(located) {
			t.Errorf("%s: %d places on the map, want %d", name, len(spots), len(located))
			continue
		}
		for i := range located {
			for j := range i {
				east, north := located[i].Lon-located[j].Lon, located[i].Lat-located[j].Lat
				right, down := number(spots[i][1])-number(spots[j][1]), number(spots[i][2])-number(spots[j][2])
				if east*right < 0 && math.Abs(right) > 0.2 || north*down > 0 && math.Abs(down) > 0.2 {
					t.Errorf("%s: %s and %s are exchanged on the map", name, faultName(i), faultName(j))
				}
			}
		}
	}
}

func number(s string) (x float64) {
	fmt.Sscan(s, &x)
	return x
}

func between(s, from, to string) string {
	_, s, _ = strings.Cut(s, from)
	s, _, _ = strings.Cut(s, to)
	return s
}

// The severities keep apart without their colours: no two share a border or a
// mark.
func TestSeveritiesDifferInShape(t *testing.T) {
	borders, marks := map[string]bool{}, map[string]bool{}
	for _, s := range []finding.Severity{finding.NeedsAnswer, finding.Mended, finding.Note} {
		borders[tag{class: "tag-" + severityClass(s), text: "F1"}.outline()] = true
		marks[spots[severityClass(s)]] = true
	}
	if len(borders) != 3 || len(marks) != 3 {
		t.Errorf("%d borders and %d marks for 3 severities", len(borders), len(marks))
	}
}

func TestCloseUps(t *testing.T) {
	all := receipts(t)
	for name, want := range map[string]int{"sound": 0, "bow-tie": 0, "spike": 1, "many": mostCloseUps, "no area": 0} {
		got := drawCloseUps(all[name])
		if len(got) != want {
			t.Errorf("%s: %d close-ups, want %d", name, len(got), want)
		}
		for _, c := range got {
			f := all[name].Receipt.Findings[c.indexes[0]]
			if f.Code != finding.Spike || c.Faults != faultName(c.indexes[0]) {
				t.Errorf("%s: a close-up of %s called %s", name, f.Code, c.Faults)
			}
			if !strings.Contains(string(c.SVG), ">before<") || !strings.Contains(string(c.SVG), ">after<") || !strings.Contains(string(c.SVG), `class="scale"`) {
				t.Errorf("%s: the close-up lacks a picture or its scale", name)
			}
		}
	}
	// The ring goes out by vertex 5 and back to where it left, by vertices 4 and 6.
	if svg := string(drawCloseUps(all["spike"])[0].SVG); !strings.Contains(svg, ">5<") || !strings.Contains(svg, ">4, 6<") {
		t.Error("the vertices of the spike are not numbered")
	}
}

// At a large scale the far ends of lines lie millions of units off; what is
// drawn still has the direction of the line.
func TestLinesKeepTheirDirectionCloseUp(t *testing.T) {
	v := viewAt(0, 0, 200, 200, local(0, 0), 1000)
	for _, to := range [][2]float64{{50_000, 10_000}, {30_000, -20_000}, {-10, 7}, {0, 5000}} {
		pieces := v.within(orb.LineString{local(0, 0), local(to[0], to[1])}, false)
		if len(pieces) != 1 || len(pieces[0]) != 2 {
			t.Fatalf("to %v: %v", to, pieces)
		}
		a, b := pieces[0][0], pieces[0][1]
		x, y := v.at(local(to[0], to[1]))
		if got, want := math.Atan2(b[1]-a[1], b[0]-a[0]), math.Atan2(y-a[1], x-a[0]); math.Abs(got-want) > 1e-6 {
			t.Errorf("to %v: the direction is %v, want %v", to, got, want)
		}
		if math.Abs(b[0]-100) > 121 || math.Abs(b[1]-100) > 121 {
			t.Errorf("to %v: the line ends at %v, far from the picture", to, b)
		}
	}
	if got := v.within(orb.LineString(box(500, 500, 10, 10)), true); got != nil {
		t.Errorf("a ring far off is drawn: %v", got)
	}
}

// Where one reading holds all of another, the ground in dispute is the
// difference of their areas.
func TestContestedGround(t *testing.T) {
	for _, name := range []string{"bow-tie", "hole"} {
		q := receipts(t)[name].questions()[0]
		least, most := q.Options[0].candidate.Area, q.Options[1].candidate.Area
		ground := contestedGround(q.Options)
		if got, want := plane.GeodesicArea(ground[1]), most-least; math.Abs(got-want) > 1e-4*want || len(ground[0]) != 0 {
			t.Errorf("%s: %v m² in dispute, want %v", name, got, want)
		}
	}
}

func TestReceiptAcrossTheAntimeridian(t *testing.T) {
	r := receiptOf(t, boundary.Choices{}, field("Reef", orb.Ring{{179.99, 10}, {-179.99, 10}, {-179.99, 10.02}, {-179.9899, 10.0201}, {-179.99, 10.02}, {179.99, 10.02}, {179.99, 10}}))
	v, ok := r.receiptView()
	if !ok || v.metresAcross > 3000 {
		t.Fatalf("a site of 2 km is drawn on a map of %.0f m", v.metresAcross)
	}
	if got := drawCloseUps(r); len(got) != 1 || !strings.Contains(string(got[0].SVG), ">4<") {
		t.Errorf("the spike beyond the 180th meridian is not shown close up: %d close-ups", len(got))
	}
	if page := writeReceipt(t, r, WriteReceiptHTML); !strings.Contains(strings.ReplaceAll(page, noBreak, " "), "179.990000° W") {
		t.Error("the north-east corner is not west of the 180th meridian")
	}
}
