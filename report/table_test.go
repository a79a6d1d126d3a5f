package report

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/report/page/browsertest"
)

func tableNamed(t *testing.T, all []Table, name string) Table {
	t.Helper()
	for _, one := range all {
		if one.Name == name {
			return one
		}
	}
	t.Fatalf("no table %s", name)
	return Table{}
}

func written(t *testing.T, table Table) string {
	t.Helper()
	var out bytes.Buffer
	if err := table.Write(&out); err != nil {
		t.Fatal(err)
	}
	text, marked := strings.CutPrefix(out.String(), "\ufeff")
	if !marked {
		t.Errorf("%s has no byte order mark", table.Name)
	}
	return text
}

func TestTablesAsCSV(t *testing.T) {
	n := fakeNote()
	n.Units = imperial // for people; a file is metric
	for name, want := range map[string]string{
		"zones":     "number,class,views,area_m2,certain_share,lat_deg,lon_deg,refly\r\n1,gap,no view,840,0.37,51.05169065,0.25545714,R1\r\n2,gap,no view,400,0,51.05188849,0.25357143,R2\r\n",
		"stretches": "number,ring,from_m,to_m,length_m,least_views,lat_deg,lon_deg\r\n1,outline,440,461,21,4,51.05045414,0.25571429\r\n2,outline,570,580,10,0,51.05157374,0.25571429\r\n",
		"refly": "number,area_m2,zones,stretches,course_deg,lines,photos,track_m,time_s,enough,remaining_m2,remaining_edge_m\r\n" +
			"1,14800,1;3;4,1;2,0,2,20,412,61.5,yes,0,0\r\n2,2100,2,,0,1,3,44,10.5,no,12.5,0\r\n",
		"lines":   "number,flight,photos,length_m,speed_m_s,allowed_m_s,limit,flown_s,spare_s\r\n",
		"wanted":  "what,wanted,found,met\r\nCoverage,all 11.34 ha seen,",
		"overlap": "what,wanted,median,least,greatest,short_share,count\r\nforward_overlap_share,0.75,",
		"certain": "what,certain,measured,possible\r\nno_view_m2,",
		"errors":  "error_of,median,greatest\r\nposition_m,",
		"starts":  "ring,length_m,lat_deg,lon_deg,runs\r\noutline,1324.02,51.05,0.25,counter-clockwise\r\n",
		"flights": "number,first_photo_utc,time_s,shortest_interval_s,photos,lines,on_lines,in_turns,elsewhere\r\n",
	} {
		if got := written(t, tableNamed(t, n.Tables(), name)); !strings.HasPrefix(got, want) {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, want)
		}
	}
}

func TestReceiptTablesAsCSV(t *testing.T) {
	r := receiptOf(t, boundary.Choices{}, spikeField)
	r.Units = imperial // for people; a file is metric
	for name, want := range map[string][]string{
		"findings": {"number,finding,code,feature,name,part,ring,vertex,lat_deg,lon_deg,severity\r\n1,", ",spike,1,Spiked,1,1,5,51.05", ",mended\r\n"},
		"mends":    {"finding,mend,vertices_before,vertices_after,area_before_m2,area_after_m2,moved_m\r\n", ",7,5,"},
		"figures":  {"what,as_received,after_mending\r\nparts,1,1\r\nholes,0,0\r\nvertices,7,5\r\narea_m2,1"},
	} {
		got := written(t, tableNamed(t, r.Tables(), name))
		for i, part := range want {
			if !strings.Contains(got, part) || i == 0 && !strings.HasPrefix(got, part) {
				t.Errorf("%s:\n%s\nwant %q", name, got, part)
			}
		}
	}
}

// Every row has a value for each name, whatever is known, and names are not
// used twice.
func TestTablesAreWhole(t *testing.T) {
	for name, n := range map[string]Note{"usual": fakeNote(), "odd": oddNote(), "hostile": hostileNote(), "empty": {Audit: &coverage.Audit{}}} {
		wholeTables(t, name, 16, n.Tables())
	}
	wholeTables(t, "no receipt", 3, Receipt{}.Tables())
	for name, r := range receipts(t) {
		wholeTables(t, name, 3, r.Tables())
	}
}

func wholeTables(t *testing.T, name string, count int, all []Table) {
	t.Helper()
	var names []string
	for _, table := range all {
		names = append(names, table.Name)
		if role := "table: " + table.About; !slices.Contains(Locale{}.roles(), role) {
			t.Errorf("%s: %q is not among what files are for", name, role)
		}
		text := written(t, table)
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll() // that all rows are as long
		if err != nil {
			t.Errorf("%s, %s: %v", name, table.Name, err)
			continue
		}
		if len(rows) != len(table.Rows)+1 {
			t.Errorf("%s, %s: %d rows, want %d", name, table.Name, len(rows)-1, len(table.Rows))
		}
		slices.Sort(rows[0])
		if len(slices.Compact(rows[0])) != len(rows[0]) {
			t.Errorf("%s, %s: a name twice in %q", name, table.Name, rows[0])
		}
		for _, bad := range []string{"NaN", "Inf", metric.unknown(), "\x1b", "\u202e", noBreak} {
			if strings.Contains(text, bad) && !(bad == metric.unknown() && table.Name == "wanted") { // which is in words
				t.Errorf("%s, %s holds %q", name, table.Name, bad)
			}
		}
		if strings.Count(text, "\n") != strings.Count(text, "\r\n") {
			t.Errorf("%s, %s: a line does not end as RFC 4180 has it", name, table.Name)
		}
		for _, row := range table.Rows {
			for i, e := range row {
				if len(e.Values) != len(strings.Fields(table.Columns[i].Names)) {
					t.Errorf("%s, %s, %s: %d values", name, table.Name, table.Columns[i].Head, len(e.Values))
				}
				if strings.ContainsRune(strings.Join(e.Values, ""), '\t') {
					t.Errorf("%s, %s: a tab in a value of %q", name, table.Name, e.Values)
				}
			}
		}
	}
	slices.Sort(names)
	if len(names) != count || len(slices.Compact(names)) != len(names) {
		t.Errorf("%s: the tables are %q", name, names)
	}
}

// A spreadsheet takes what begins with one of these for a formula (OWASP, "CSV
// Injection").
func TestNoFormulasInTables(t *testing.T) {
	for _, start := range []string{"=", "+", "-", "@", "\t", "\r"} {
		n := fakeNote()
		text := start + `HYPERLINK("a","b")`
		n.Audit.Weakest = []coverage.WeakPair{{First: text, Second: text, Cause: finding.Plain(text)}}
		rows, err := csv.NewReader(strings.NewReader(written(t, tableNamed(t, n.Tables(), "weakest")))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, field := range []string{rows[1][0], rows[1][1], rows[1][4]} {
			if strings.ContainsAny(field[:1], "=+-@\t\r") {
				t.Errorf("%q begins with %q", field, start)
			}
		}
		f := finding.Finding{Code: finding.Code(text), Severity: finding.Severity(text), Text: finding.Plain(text), Place: finding.Place{Name: text}}
		r := Receipt{Receipt: boundary.Receipt{Findings: []finding.Finding{f}, Site: boundary.Site{Mends: []boundary.Mended{{Text: finding.Plain(text)}}}}}
		for _, name := range []string{"findings", "mends"} {
			if csv := written(t, tableNamed(t, r.Tables(), name)); strings.Contains(csv, ","+start) || strings.Contains(csv, `,"`+start) {
				t.Errorf("%s: %s", name, csv)
			}
		}
		// The script of the page writes what the page carries.
		if e := words(text); e.Text == e.Values[0] && strings.ContainsAny(e.Text[:1], "=+-@\t\r") {
			t.Errorf("the page carries %q as it is", e.Text)
		}
	}
	// Numbers below zero are no text.
	if e := metric.spot(local(-40_000, -7_000_000)); !strings.HasPrefix(e.Value(), "-11.") {
		t.Errorf("a position in the south is %q", e.Value())
	}
}

// whatTablesDo presses what the script of the tables has made.
const whatTablesDo = `(() => {
const result = { Orders: {}, States: {}, Saved: {} }
HTMLAnchorElement.prototype.click = function () { result.Saved[this.download] = decodeURIComponent(this.href.split(',').slice(1).join(',')) }
for (const button of document.querySelectorAll('.save')) button.click()
for (const [name, column] of [['zones', 3], ['zones', 1], ['points', 4]]) {
  const table = document.querySelector('table[data-name="' + name + '"]')
  const heading = table.tHead.rows[0].cells[column]
  const key = name + column
  result.Orders[key] = []; result.States[key] = []
  for (let i = 0; i != 4; i++) {
    result.Orders[key].push([...table.tBodies[0].rows].map((row) => row.cells[0].textContent))
    result.States[key].push(heading.getAttribute('aria-sort') ?? 'none')
    heading.querySelector('button').click()
  }
  if (key == 'zones3') heading.querySelector('button').click() // and is left in another order
}
return result
})()`

func testLists(t *testing.T, b context.Context) {
	n := fakeNote()
	for i, metres := range []float64{5, math.NaN(), 20} {
		n.Audit.Points[i].Best = coverage.EdgeDistance{Metres: metres, Share: metres / 40}
	}
	n.Audit.Weakest = []coverage.WeakPair{{First: `a "b", c.jpg`, Second: "=1+1", Overlap: 0.5, Apart: 12, Cause: finding.Plain(" why")}, {First: "Süd.jpg", Second: "d", Overlap: 0.6, Apart: 9, Cause: finding.Plain("so")}}
	p := openNote(t, b, n, 1200, 900)
	got := browsertest.Ask[struct {
		Orders map[string][][]string
		States map[string][]string
		Saved  map[string]string
	}](p, whatTablesDo)
	for key, want := range map[string]string{
		// Areas of 840, 400, 1,450 and 4,210 m².
		"zones3": "1 2 3 4; 2 1 3 4; 4 3 1 2; 1 2 3 4",
		// The first order is that of the page, whatever was sorted by before.
		"zones1": "4 3 1 2; 1 2 3 4; 4 3 1 2; 1 2 3 4",
		// What is not known is the last either way.
		"points4": "C1 C2 C3; C1 C3 C2; C3 C1 C2; C1 C2 C3",
	} {
		var orders []string
		for _, order := range got.Orders[key] {
			orders = append(orders, strings.Join(order, " "))
		}
		if list := strings.Join(orders, "; "); list != want {
			t.Errorf("%s: %s, want %s", key, list, want)
		}
		if states := strings.Join(got.States[key], " "); states != "none ascending descending none" {
			t.Errorf("%s: the heading is %s", key, states)
		}
	}
	for _, table := range n.Tables() {
		saved, want := got.Saved["Long Meadow-"+table.Name+".csv"], "\ufeff"+written(t, table)
		if len(table.Rows) == 0 {
			want = ""
		}
		if saved != want {
			t.Errorf("%s: the page saves\n%s\nwant\n%s", table.Name, saved, want)
		}
	}
	p.Content()

	// By the keyboard alone.
	p = openNote(t, b, n, 1200, 900)
	const heading = `table[data-name="zones"] th:nth-child(4)`
	p.Run(chromedp.Focus(heading+" button", chromedp.ByQuery), chromedp.KeyEvent(kb.Enter))
	if state := browsertest.Ask[string](p, `document.querySelector('`+heading+`').ariaSort`); state != "ascending" {
		t.Errorf("after the enter key the heading is %q", state)
	}
	p.Run(chromedp.KeyEvent(" "))
	if state := browsertest.Ask[string](p, `document.querySelector('`+heading+`').ariaSort`); state != "descending" {
		t.Errorf("after the space key the heading is %q", state)
	}
	p.Content()
}

// The lists of a receipt, on a wide and on a narrow screen.
func testReceiptLists(t *testing.T, b context.Context) {
	r := receiptOf(t, boundary.Choices{}, bowTie, spikeField)
	for _, width := range []int64{1200, 360} {
		p := browsertest.OpenPage(t, b, writeReceipt(t, r, WriteReceiptHTML), width, 900)
		p.Settle()
		saved := browsertest.Ask[map[string]string](p, `(() => {
			const saved = {}
			HTMLAnchorElement.prototype.click = function () { saved[this.download] = decodeURIComponent(this.href.split(',').slice(1).join(',')) }
			for (const button of document.querySelectorAll('.save')) button.click()
			return saved
		})()`)
		for _, table := range r.Tables() {
			if got, want := saved["Long Meadow-"+table.Name+".csv"], "\ufeff"+written(t, table); got != want {
				t.Errorf("%d pixels, %s: the page saves\n%s\nwant\n%s", width, table.Name, got, want)
			}
		}
		const severity = `table[data-name="findings"] th:nth-child(4) button`
		const order = `[...document.querySelectorAll('.faults tbody tr')].map((row) => row.cells[3].textContent).join(', ')`
		before := browsertest.Ask[string](p, order)
		names := strings.Split(before, ", ")
		slices.Sort(names)
		if sorted := strings.Join(names, ", "); sorted == before {
			t.Fatalf("they are in order already: %s", before)
		} else {
			p.Run(chromedp.Click(severity, chromedp.ByQuery))
			if got := browsertest.Ask[string](p, order); got != sorted {
				t.Errorf("%d pixels: sorted by severity they are %s, want %s", width, got, sorted)
			}
		}
		p.Run(chromedp.Click(severity, chromedp.ByQuery), chromedp.Click(severity, chromedp.ByQuery))
		if got := browsertest.Ask[string](p, order); got != before {
			t.Errorf("%d pixels: after three presses they are %s, want %s", width, got, before)
		}
		if browsertest.Ask[float64](p, `document.documentElement.scrollWidth`) > float64(width) {
			t.Errorf("the page is wider than %d pixels", width)
		}
		p.Content()
	}
}

// The page's policy lets its own scripts run, and no other.
func testPolicy(t *testing.T, b context.Context) {
	const other = `<script type="module">document.body.append('other than its own')</script>`
	p := browsertest.OpenPage(t, b, strings.Replace(render(t, fakeNote(), WriteHTML), "</body>", other+"</body>", 1), 1200, 900)
	p.Settle()
	if !browsertest.Ask[bool](p, `document.querySelector('.save') !== null && document.querySelector('.live-map') !== null`) {
		t.Error("the scripts did not run")
	}
	if browsertest.Ask[string](p, `document.body.lastChild.textContent`) == "other than its own" {
		t.Error("another script ran")
	}
}
