package report

import (
	"encoding/csv"
	"html/template"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// table is one description of what a page shows and a CSV file holds.
type table struct {
	Name    string // of the file
	About   string // in words
	ID      string // of the heading that names it; "" where it has none of its own
	Columns []column
	Rows    [][]entry
	Total   []entry // below the rows, on the page only; may be nil
	Kind    string  // the class of one with a layout of its own, which needs no scrolling
	Headed  bool    // whether the first entry of a row is its heading
	Snug    bool    // no wider than what is in it
	Listed  bool    // a list, which can be put in another order
}

// column has a heading for the page and, parted by spaces, the names of the
// values in a file, with their units, which are metric there.
type column struct{ Head, Names, Class string }

// Figures says whether the column holds figures.
func (c column) Figures() bool { return strings.HasPrefix(c.Class, "figure") }

// entry is what a page shows, and the values behind it, one for each name of
// the column; blank is unknown.
type entry struct {
	Text, Chip  string
	Class       string        // besides that of the column
	Mark        template.HTML // before the text
	Code, Place string        // below it
	Values      []string
}

// Value is the values as the page carries them for its script, parted by tabs,
// which clean text has none of, and Behind whether they are not what it shows.
func (e entry) Value() string { return strings.Join(e.Values, "\t") }

func (e entry) Behind() bool { return e.Value() != strings.TrimSpace(tie(e.Text+e.Code+e.Place)) }

func (t *table) add(row ...entry) { t.Rows = append(t.Rows, row) }

// shown is the table as far as a page shows it.
func (t table) shown() table {
	t.Rows = first(t.Rows, mostTableRows)
	return t
}

// lines are the first rows under other headings, for a terminal.
func (t table) lines(heads ...string) [][]string {
	out := [][]string{heads}
	for _, row := range first(t.Rows, mostRows) {
		var line []string
		for _, e := range row {
			line = append(line, e.Text)
		}
		out = append(out, line)
	}
	return out
}

// Class is the CSS classes of the table.
func (t table) Class() string {
	var classes []string
	if t.Kind != "" {
		classes = append(classes, t.Kind)
	}
	if t.Snug {
		classes = append(classes, "snug")
	}
	if t.Listed {
		classes = append(classes, "list")
	}
	return strings.Join(classes, " ")
}

// ClassOf is the CSS classes of an entry in a column.
func (t table) ClassOf(column int, e entry) string {
	return strings.TrimSpace(t.Columns[column].Class + " " + e.Class)
}

// heads makes columns of "Head|names|class", of which the head is a text.
func (l Locale) heads(columns ...string) []column {
	out := make([]column, len(columns))
	for i, c := range columns {
		parts := append(strings.Split(c, "|"), "", "")
		out[i] = column{l.texts.Text(parts[0]), parts[1], parts[2]}
	}
	return out
}

func words(s string) entry {
	e := entry{Text: Clean(s), Values: []string{cell(s)}}
	if s == (Locale{}).unknown() {
		e.Values[0] = ""
	}
	return e
}

// term is words of our own: in the language of the reader, and in English in a
// file.
func (l Locale) term(say func(Locale) string) entry {
	e := words(say(Locale{}))
	e.Text = Clean(say(l))
	return e
}

// spoken is a text as readers are told it, and in English and metric measures
// behind it.
func (u Units) spoken(t finding.Text) entry {
	e := words(Units{}.toClient(t))
	e.Text = u.toClient(t)
	return e
}

func (l Locale) tally(n int) entry {
	return entry{Text: l.Number(n), Values: []string{strconv.Itoa(n)}}
}

// marked is the number of a row, as the map and the tables call it, such as R2.
func marked(mark string, index int) entry {
	number := strconv.Itoa(index + 1)
	return entry{Text: mark + number, Values: []string{number}}
}

// named is what a row holds, for people and as the name of it in a file, with
// the unit of the row's figures.
func named(text, name string) entry { return entry{Text: text, Values: []string{name}} }

func valued(text string, value float64, decimals int) entry {
	return entry{Text: text, Values: []string{knownTo(value, decimals)}}
}

// spot is a position, of which a file has latitude and longitude.
func (l Locale) spot(p orb.Point) entry {
	return entry{Text: l.Position(p), Values: []string{knownTo(p.Lat(), 8), knownTo(wrap(p.Lon()), 8)}}
}

func timed(text string, t time.Time) entry {
	e := entry{Text: text, Values: []string{""}}
	if !t.IsZero() {
		e.Values[0] = moment(t.UTC())
	}
	return e
}

// byteOrderMark begins a table. RFC 4180 is silent on it, but spreadsheets take
// a CSV file without one for the code page of the machine, and garble names.
const byteOrderMark = "\ufeff"

// write writes the table as RFC 4180 has it, with all of its rows.
func (t table) write(w io.Writer) error {
	if _, err := io.WriteString(w, byteOrderMark); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	var names []string
	for _, c := range t.Columns {
		names = append(names, strings.Fields(c.Names)...)
	}
	if err := out.Write(names); err != nil {
		return err
	}
	for _, row := range t.Rows {
		var values []string
		for _, e := range row {
			values = append(values, e.Values...)
		}
		if err := out.Write(values); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// Table is a table of a sheet, for a file of its own.
type Table struct{ table }

// Write writes CSV (RFC 4180) in UTF-8 with a byte order mark: units are in the names of the columns,
// a value that is not known is blank, and text that a spreadsheet would take
// for a formula has an apostrophe before it.
func (t Table) Write(w io.Writer) error { return t.table.write(w) }

// Tables are those of the note. The same ones are there for every note,
// with or without rows.
func (n Note) Tables() []Table {
	if n.Audit == nil {
		return nil
	}
	return tables(
		n.checkTable(), n.zoneTable(), n.stretchTable(), n.ringTable(), n.reflyTable(), n.certainTable(), n.errorTable(), n.spreadTable(),
		n.lineTable(), n.flightTable(), n.missedTable(), n.weakTable(), n.blurTable(), n.pointTable(), n.oneLineTable(), n.coarseTable(),
	)
}

func tables(all ...table) []Table {
	out := make([]Table, len(all))
	for i, t := range all {
		out[i] = Table{t}
	}
	return out
}
