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

	"selvage/coverage"
	"selvage/report/page/browsertest"
)

func tableNamed(t *testing.T, n Note, name string) Table {
	t.Helper()
	for _, one := range n.Tables() {
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
	return out.String()
}

func TestTablesAsCSV(t *testing.T) {
	n := fakeNote()
	n.Units = Imperial // for people; a file is metric
	for name, want := range map[string]string{
		"zones":     "number,class,views,area_m2,certain_share,lat_deg,lon_deg,refly\r\n1,gap,no view,840,0.37,51.05169065,0.25545714,R1\r\n2,gap,no view,400,0,51.05188849,0.25357143,R2\r\n",
		"stretches": "number,ring,from_m,to_m,length_m,least_views,lat_deg,lon_deg\r\n1,outline,440,461,21,4,51.05045414,0.25571429\r\n2,outline,570,580,10,0,51.05157374,0.25571429\r\n",
		"refly": "number,area_m2,zones,stretches,course_deg,lines,photos,track_m,time_s,enough,remaining_m2,remaining_edge_m\r\n" +
			"1,14800,1;3;4,1;2,0,2,20,412,61.5,yes,0,0\r\n2,2100,2,,0,1,3,44,10.5,no,12.5,0\r\n",
		"lines":   "number,flight,photos,length_m,speed_m_s,allowed_m_s,limit,flown_s,spare_s\r\n",
		"flights": "number,first_photo_utc,time_s,shortest_interval_s,photos,lines,on_lines,in_turns,elsewhere\r\n",
	} {
		if got := written(t, tableNamed(t, n, name)); !strings.HasPrefix(got, want) {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, want)
		}
	}
}

// Every row has a value for each name, whatever is known, and names are not
// used twice.
func TestTablesAreWhole(t *testing.T) {
	for name, n := range map[string]Note{"usual": fakeNote(), "odd": oddNote(), "hostile": hostileNote(), "empty": {Audit: &coverage.Audit{}}} {
		var names []string
		for _, table := range n.Tables() {
			names = append(names, table.Name)
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
			for _, bad := range []string{"NaN", "Inf", "not known", "\x1b", "\u202e"} {
				if strings.Contains(text, bad) {
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
					if len(e.Values) > 1 && strings.ContainsRune(strings.Join(e.Values, ""), ' ') {
						t.Errorf("%s, %s: a space in one of several values %q", name, table.Name, e.Values)
					}
				}
			}
		}
		slices.Sort(names)
		if len(names) != 11 || len(slices.Compact(names)) != len(names) {
			t.Errorf("%s: the tables are %q", name, names)
		}
	}
}

// A spreadsheet takes what begins with one of these for a formula (OWASP, "CSV
// Injection").
func TestNoFormulasInTables(t *testing.T) {
	for _, start := range []string{"=", "+", "-", "@", "\t", "\r"} {
		n := fakeNote()
		text := start + `HYPERLINK("a","b")`
		n.Audit.Weakest = []coverage.WeakPair{{First: text, Second: text, Cause: text}}
		rows, err := csv.NewReader(strings.NewReader(written(t, tableNamed(t, n, "weakest")))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, field := range []string{rows[1][0], rows[1][1], rows[1][4]} {
			if strings.ContainsAny(field[:1], "=+-@\t\r") {
				t.Errorf("%q begins with %q", field, start)
			}
		}
		// The script of the page writes what the page carries.
		if e := words(text); e.Text == e.Values[0] && strings.ContainsAny(e.Text[:1], "=+-@\t\r") {
			t.Errorf("the page carries %q as it is", e.Text)
		}
	}
	// Numbers below zero are no text.
	if e := spot(local(-40_000, -7_000_000)); !strings.HasPrefix(e.Value(), "-11.") {
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
	n.Audit.Weakest = []coverage.WeakPair{{First: `a "b", c.jpg`, Second: "=1+1", Overlap: 0.5, Apart: 12, Cause: " why"}, {First: "Süd.jpg", Second: "d", Overlap: 0.6, Apart: 9, Cause: "so"}}
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
		saved, want := got.Saved["Long Meadow-"+table.Name+".csv"], written(t, table)
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
