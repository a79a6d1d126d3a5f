package report

import (
	"encoding/xml"
	"html"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/photo"
)

// elements parses a page as XML, which is stricter than HTML: every element
// closed, every attribute quoted. It returns the elements in order.
func elements(t *testing.T, page string) []xml.StartElement {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	var out []xml.StartElement
	for {
		token, err := d.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatalf("the page is not well formed: %v", err)
		}
		if start, ok := token.(xml.StartElement); ok {
			out = append(out, start.Copy())
		}
	}
}

// hostile is what somebody could put into a file name or a boundary's name.
const hostile = `<script>alert(1)</script>"'><img src=x onerror=alert(1)>&amp;</style><!--` + "\x00\x1b[2J\u202e"

func hostileNote() Note {
	n := fakeNote()
	n.Title, n.Site, n.Tool, n.Version = hostile, hostile, hostile, hostile
	n.Letterhead = hostileLetterhead()
	n.Inputs = []Input{{hostile, hostile, hostile}}
	n.Parameters = []Setting{setting(hostile, hostile)}
	n.Files = []File{{hostile, hostile}}
	f := finding.Finding{Code: hostile, Severity: hostile, Text: finding.Plain(hostile), Unit: hostile, Place: finding.Place{File: hostile, Name: hostile, Feature: 1}}
	n.Findings = []finding.Finding{f}
	f.Code, f.Severity = finding.FlatGround, finding.Note
	n.Audit.Findings = []finding.Finding{f}
	n.Audit.Photos.LeftOut = []photo.LeftOut{{File: hostile, Reason: finding.Plain(hostile)}}
	n.Audit.Shots[0].File = hostile
	n.Audit.Zones[0].Kind = hostile
	return n
}

func TestPagesAreWellFormedAndHarmless(t *testing.T) {
	notes := map[string]Note{
		"usual":   fakeNote(),
		"hostile": hostileNote(),
		"empty":   {Audit: &coverage.Audit{}},
		"odd":     oddNote(),
	}
	n := fakeNote()
	n.Units = imperial
	notes["imperial"] = n
	for name, n := range notes {
		checkHarmless(t, name, render(t, n, WriteHTML))
	}
	// The text is still there, as text.
	if page := render(t, hostileNote(), WriteHTML); !strings.Contains(page, "&lt;script&gt;alert(1)&lt;/script&gt;") {
		t.Error("the hostile title is gone")
	}
}

// checkHarmless holds a page to being well formed, loading nothing, and
// running nothing but the script of the map, which alone its policy allows.
func checkHarmless(t *testing.T, name, page string) {
	t.Helper()
	for _, own := range []script{moduleOf(sheetScript), moduleOf(tableScript)} {
		ours := `<script type="module">` + string(own.Text) + `</script>`
		policy, _, _ := strings.Cut(page, "base-uri")
		if strings.Contains(page, ours) != strings.Contains(html.UnescapeString(policy), own.Hash) {
			t.Errorf("%s: the policy does not name the scripts that are there", name)
		}
		page = strings.Replace(page, ours, "", 1)
	}
	page = regexp.MustCompile(`<script type="application/json" id="map-data">[^<]*</script>`).ReplaceAllString(page, "")
	harmless := regexp.MustCompile(`^(html|head|meta|nav|a|title|style|body|div|main|header|footer|section|figure|figcaption|p|h[123]|dl|dt|dd|ul|li|table|thead|tbody|tfoot|tr|th|td|span|b|cite|code|details|summary|img|svg|desc|defs|clipPath|pattern|path|rect|g|text)$`)
	all := elements(t, page)
	heads := map[string]bool{}
	for _, e := range all {
		heads["#"+attribute(e, "id")] = true
	}
	for _, e := range all {
		if !harmless.MatchString(e.Name.Local) {
			t.Errorf("%s: the page holds a <%s>", name, e.Name.Local)
		}
		for _, a := range e.Attr {
			if e.Name.Local == "img" && a.Name.Local == "src" && strings.HasPrefix(a.Value, "data:image/png;base64,") {
				continue
			}
			if e.Name.Local == "a" && a.Name.Local == "href" && strings.HasPrefix(a.Value, "#") {
				if !heads[a.Value] {
					t.Errorf("%s: a link leads to %s, which is not there", name, a.Value)
				}
				continue
			}
			if a.Name.Local == "src" || a.Name.Local == "href" || strings.HasPrefix(a.Name.Local, "on") {
				t.Errorf("%s: <%s> has %s=%q", name, e.Name.Local, a.Name.Local, a.Value)
			}
		}
	}
	for _, bad := range []string{"http:", "https:", "@import", "\x00", "\x1b", "\u202e", "NaN", "Inf"} {
		if strings.Contains(page, bad) {
			t.Errorf("%s: the page holds %q", name, bad)
		}
	}
	for _, u := range regexp.MustCompile(`url\(([^)]*)\)`).FindAllStringSubmatch(page, -1) {
		if !strings.HasPrefix(u[1], "#") {
			t.Errorf("%s: the page loads %s", name, u[1])
		}
	}
}

// oddNote holds values that no audit should hold.
func oddNote() Note {
	nan, inf := math.NaN(), math.Inf(1)
	n := fakeNote()
	a := n.Audit
	n.SiteArea = append(n.SiteArea, orb.Polygon{{{nan, 1}, {2, inf}, {3, 3}, {nan, 1}}, {}}, orb.Polygon{})
	a.Shots[0].Position, a.Shots[1].Position = orb.Point{nan, nan}, orb.Point{120, -30}
	a.Zones = append(a.Zones, coverage.Zone{Kind: "new", Area: nan, Label: orb.Point{inf, inf}})
	a.Edge.Stretches = append(a.Edge.Stretches, coverage.Stretch{Ring: 7, From: nan, To: inf}, coverage.Stretch{Ring: -1, From: 500, To: 20})
	a.Edge.Rings = append(a.Edge.Rings, coverage.EdgeRing{Part: 9, Ring: 9, Length: inf},
		coverage.EdgeRing{Part: 9, Ring: 9, Start: orb.Point{nan, nan}, Length: 0.001, Profile: []coverage.Step{{From: nan, To: 1, Views: -3}, {From: -5, To: 9e9, Views: 1e9}}})
	a.Lines = append(a.Lines, coverage.Line{Shots: []int{-1, 5000}})
	a.Refly = append(a.Refly, coverage.Refly{Zones: []int{-1, 99}, Area: nan})
	a.GSD.Median, a.Totals.CoveredShare, a.Edge.Captured, a.SiteArea = nan, nan, nan, inf
	return n
}

func TestMapAcrossTheAntimeridian(t *testing.T) {
	n := fakeNote()
	n.FlightArea, n.Audit = nil, &coverage.Audit{}
	n.SiteArea = orb.MultiPolygon{{{{179.99, 10}, {-179.99, 10}, {-179.99, 10.02}, {179.99, 10.02}, {179.99, 10}}}}
	v, _, ok := mapView(n)
	if !ok || v.metresAcross > 3000 {
		t.Fatalf("a site of 2 km is drawn on a map of %.0f m", v.metresAcross)
	}
	page := render(t, n, WriteHTML)
	for _, label := range []string{"179.995° E", "180.000° E", "179.995° W"} {
		if !strings.Contains(page, label) {
			t.Errorf("no meridian is labelled %s", label)
		}
	}
}

// The lengths of a degree on WGS 84 agree to the metre with the tables of the
// American Practical Navigator (NGA Pub. 9; from memory): 111.320 and 110.574
// km at the equator, 78.847 and 111.132 at 45°, 55.800 and 111.412 at 60°.
func TestMetresPerDegree(t *testing.T) {
	for _, tt := range []struct{ lat, lon, latitude float64 }{
		{0, 111_320, 110_574}, {45, 78_847, 111_132}, {-45, 78_847, 111_132}, {60, 55_800, 111_412},
	} {
		lon, latitude := metresPerDegree(tt.lat)
		if math.Abs(lon-tt.lon) > 1 || math.Abs(latitude-tt.latitude) > 1 {
			t.Errorf("at %v°: %.1f and %.1f m, want %v and %v", tt.lat, lon, latitude, tt.lon, tt.latitude)
		}
	}
}

func TestLabelsKeepApart(t *testing.T) {
	v, _, _ := mapView(fakeNote())
	var tags []tag
	for i := range 24 {
		x, y := v.at(local(200+3*float64(i%5), 150+3*float64(i/5)))
		tags = append(tags, tag{text: strconv.Itoa(i), atX: x, atY: y, beside: i%2 == 0})
		stand(&tags[i], tags[:i], v)
	}
	for i, a := range tags {
		if a.beside && a.x == a.atX && a.y == a.atY {
			t.Errorf("label %d hides what it names", i)
		}
		for _, b := range tags[:i] {
			if math.Abs(a.x-b.x) < (a.width()+b.width())/2 && math.Abs(a.y-b.y) < tagHeight {
				t.Errorf("labels %s and %s overlap", a.text, b.text)
			}
		}
	}
}

// A gap of 5 cm in an edge of 20 km is far less than a unit of the drawing.
func TestShortStretchStaysOnTheProfile(t *testing.T) {
	least := leastViews(coverage.EdgeRing{Length: 20_000, Profile: []coverage.Step{
		{From: 0, To: 7000, Views: 9}, {From: 7000, To: 7000.05, Views: 0}, {From: 7000.05, To: 20_000, Views: 8},
	}})
	count := map[int]int{}
	for _, views := range least {
		count[views]++
	}
	if count[0] < 1 || count[0] > 2 || count[9] == 0 || count[8] == 0 || len(count) != 3 {
		t.Errorf("the profile is drawn with %v", count)
	}
}

func TestShades(t *testing.T) {
	band := func(from, to int) coverage.ViewBand {
		return coverage.ViewBand{From: from, To: to, Shape: orb.MultiPolygon{{box(0, 0, 1, 1)}}}
	}
	tests := []struct {
		wanted int
		bands  []coverage.ViewBand
		want   string
	}{
		{5, []coverage.ViewBand{band(0, 0), band(1, 1), band(2, 4), band(5, 9), band(10, -1)}, "v0 v1 v2 e0 e2"},
		{1, []coverage.ViewBand{band(0, 0), band(1, 1), band(2, -1)}, "v0 e0 e2"},
		{5, []coverage.ViewBand{{From: 0, To: 0}, {From: 1, To: 1}, {From: 2, To: 4}, band(5, 9), {From: 10, To: -1}}, "e0"},
		{2, []coverage.ViewBand{band(0, 0), band(1, 1), band(2, 3), band(4, 4), band(5, 5), band(6, 6), band(7, 7), band(8, -1)}, "v0 v1 e0 e1 e2 e3"},
	}
	for _, tt := range tests {
		var got []string
		for _, s := range shades(tt.bands, tt.wanted) {
			got = append(got, s.class)
		}
		if strings.Join(got, " ") != tt.want {
			t.Errorf("wanted %d: got %v, want %s", tt.wanted, got, tt.want)
		}
	}
}

// Nothing of a script may end it early.
func TestScriptsEndWhereTheyShould(t *testing.T) {
	own := moduleOf(tableScript)
	for _, bad := range []string{"</", "<!--", "]]>"} {
		if strings.Contains(strings.TrimSuffix(string(own.Text), "//]]>\n"), bad) {
			t.Errorf("the script holds %q", bad)
		}
	}
	if page := render(t, fakeNote(), WriteHTML); !strings.Contains(page, `<script type="module">`+string(own.Text)+"</script>") {
		t.Error("the page does not hold the script as it is hashed")
	}
}

// luminance is the relative luminance of WCAG 2.1 of a colour in hexadecimal.
func luminance(hex string) (l float64) {
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, _ := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		l += weight * c
	}
	return l
}

// Text and ground must differ by 4.5:1 (WCAG 2.1, success criterion 1.4.3).
func TestContrast(t *testing.T) {
	colour := func(name string) float64 {
		m := regexp.MustCompile(`--` + name + `: #([0-9a-f]+)`).FindStringSubmatch(sheetStyle)
		if m == nil {
			t.Fatalf("no colour %s", name)
		}
		return luminance(m[1])
	}
	for _, text := range []string{"ink", "soft"} {
		for _, ground := range []string{"paper", "wash"} {
			if ratio := (colour(ground) + 0.05) / (colour(text) + 0.05); ratio < 4.5 {
				t.Errorf("%s on %s: %.2f:1", text, ground, ratio)
			}
		}
	}
	// The numbers of faults: white on a dark ground, dark on a white one.
	for _, rule := range []string{`\.tag-needs-answer path \{ fill: #([0-9a-f]+)`, `\.tag-mended text \{ fill: #([0-9a-f]+)`} {
		m := regexp.MustCompile(rule).FindStringSubmatch(receiptStyle)
		if m == nil {
			t.Fatalf("no rule %s", rule)
		}
		if ratio := (colour("paper") + 0.05) / (luminance(m[1]) + 0.05); ratio < 4.5 {
			t.Errorf("%s: %.2f:1", rule, ratio)
		}
	}
}

func TestRoundNumbers(t *testing.T) {
	for _, tt := range []struct {
		most float64
		want string
	}{{0.7, "0.5"}, {1.99, "1"}, {4.999, "2"}, {73, "50"}, {999, "500"}, {23_000, "20,000"}} {
		if got := metric.round(round125(tt.most)); got != tt.want {
			t.Errorf("the greatest round number up to %v is %s, want %s", tt.most, got, tt.want)
		}
	}
	if got := metric.round(3 * 0.2); got != "0.6" {
		t.Errorf("got %s, want 0.6", got)
	}
}
