package photo

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// TableLimits bound a positions table.
type TableLimits struct {
	Bytes int64
	Rows  int
}

// DefaultTableLimits are far beyond any one job.
var DefaultTableLimits = TableLimits{Bytes: 200_000_000, Rows: 1_000_000}

const mostLineBytes = 64 << 10

// Columns of a positions table.
const (
	columnFile   = "file"
	columnLon    = "lon"
	columnLat    = "lat"
	columnAlt    = "alt_m"
	columnHeight = "height_m"
	columnYaw    = "yaw_deg"
	columnPitch  = "pitch_deg"
	columnRoll   = "roll_deg"
	columnError  = "position_error_m"
	columnTime   = "time"
)

// ReadPositions reads a table with a header line and the columns file, lon,
// lat (degrees, WGS 84), alt_m, height_m, yaw_deg, pitch_deg, roll_deg,
// position_error_m and time, in any order; only lon and lat must be there,
// others are passed over, but for those of a list of photos that was written down
// with their camera, exposure and the sources of their values.
// Commas, semicolons or tabs divide the cells; where they are not commas, a
// decimal comma is taken too. A blank cell is unknown. Times are RFC 3339; one
// without a zone is taken as UTC. Each line is a row of its own; a photo
// without a file is named after its line, as in "row 12".
//
// A row that cannot be used comes back as left out, with its line and column.
// An error means that nothing could be read. The zero TableLimits stand for
// DefaultTableLimits.
func ReadPositions(name string, data []byte, lim TableLimits) ([]Photo, []LeftOut, error) {
	if lim == (TableLimits{}) {
		lim = DefaultTableLimits
	}
	if int64(len(data)) > lim.Bytes {
		return nil, nil, fmt.Errorf("%s: the table is larger than the limit of %.4g MB (--limit table)", name, float64(lim.Bytes)/1e6)
	}
	ends := max(bytes.Count(data, []byte("\n")), bytes.Count(data, []byte("\r")))
	if ends > lim.Rows+1 { // with the header
		return nil, nil, fmt.Errorf("%s: the table has more rows than the limit of %d (--limit photos)", name, lim.Rows)
	}
	if bytes.HasPrefix(data, []byte("\xFF\xFE")) || bytes.HasPrefix(data, []byte("\xFE\xFF")) {
		return nil, nil, fmt.Errorf("%s: the table is UTF-16 text; save it as CSV in UTF-8", name)
	}
	var t table
	var err error
	photos := make([]Photo, 0, ends)
	var left []LeftOut
	number := 0
	for line := range lines(bytes.TrimPrefix(data, []byte("\uFEFF"))) {
		number++
		switch {
		case strings.TrimSpace(line) == "":
		case t.index == nil:
			if t, err = readHeader(line); err != nil {
				return nil, nil, fmt.Errorf("%s:%d: %w", name, number, err)
			}
		default:
			p, blank, err := t.row(line, fmt.Sprintf("row %d", number))
			var stated leftOutBefore
			if errors.As(err, &stated) {
				left = append(left, LeftOut{File: p.File, Reason: finding.Plain(string(stated))})
			} else if err != nil {
				left = append(left, LeftOut{File: p.File, Reason: finding.Say("line %d%v", number, err)})
			} else if !blank {
				photos = append(photos, p)
			}
		}
	}
	if t.index == nil {
		return nil, nil, fmt.Errorf("%s: the table is empty", name)
	}
	return photos, left, nil
}

// lines takes the line ends of every system. Of a line that is too long it
// gives no more than shows that.
func lines(text []byte) iter.Seq[string] {
	return func(yield func(string) bool) {
		for len(text) > 0 {
			end := bytes.IndexAny(text, "\r\n")
			if end < 0 {
				end = len(text)
			}
			if !yield(string(text[:min(end, mostLineBytes+1)])) {
				return
			}
			if bytes.HasPrefix(text[end:], []byte("\r\n")) {
				end++
			}
			text = text[min(end+1, len(text)):]
		}
	}
}

func notBlank(cell string) bool { return strings.TrimSpace(cell) != "" }

// splitCells reads one line by itself, so that a stray quotation mark costs one
// row and not all that follow. Its error begins with the place in the line.
func splitCells(line string, delimiter rune) ([]string, error) {
	if len(line) > mostLineBytes {
		return nil, fmt.Errorf(": it is longer than %d KiB", mostLineBytes>>10)
	}
	if !strings.Contains(line, `"`) {
		return strings.Split(line, string(delimiter)), nil
	}
	reader := csv.NewReader(strings.NewReader(line))
	reader.Comma = delimiter
	reader.FieldsPerRecord = -1
	cells, err := reader.Read()
	var fault *csv.ParseError
	switch {
	case errors.Is(err, io.EOF):
		return nil, nil
	case errors.As(err, &fault):
		return nil, fmt.Errorf(", character %d: a quotation mark is out of place", fault.Column)
	}
	return cells, err
}

// table is the header of a positions table.
type table struct {
	delimiter rune
	index     map[string]int // of each known column, from 0
	columns   int
	words     Words
}

// readHeader finds the delimiter with which the header names lon and lat.
func readHeader(line string) (table, error) {
	known := append([]string{columnFile, columnLon, columnLat, columnAlt, columnHeight,
		columnYaw, columnPitch, columnRoll, columnError, columnTime}, listColumns...)
	var found []string
	var fault error
	for _, delimiter := range []rune{',', ';', '\t'} {
		cells, err := splitCells(line, delimiter)
		if err != nil {
			fault = err
			continue
		}
		t := table{delimiter: delimiter, index: map[string]int{}, columns: len(cells), words: Words{}}
		for i, cell := range cells {
			cells[i] = strings.TrimSpace(cell)
			column := strings.ToLower(cells[i])
			if !slices.Contains(known, column) {
				continue
			}
			if _, twice := t.index[column]; twice {
				return t, fmt.Errorf("the column %s is there twice", column)
			}
			t.index[column] = i
		}
		_, lon := t.index[columnLon]
		_, lat := t.index[columnLat]
		if lon && lat {
			return t, nil
		}
		if len(cells) > len(found) {
			found = cells
		}
	}
	if found == nil {
		return table{}, fmt.Errorf("the header is unreadable%w", fault)
	}
	const most = 30
	list := strings.Join(found[:min(len(found), most)], ", ")
	if len(found) > most {
		list += fmt.Sprintf(" and %d more", len(found)-most)
	}
	return table{}, fmt.Errorf("the header needs the columns lon and lat; found: %s", list)
}

func (t table) cell(cells []string, column string) string {
	i, ok := t.index[column]
	if !ok || i >= len(cells) {
		return ""
	}
	return strings.TrimSpace(cells[i])
}

// row reads one line. Without a file column, or with a fault, the photo carries
// the name given. Its error begins with the place in the line.
func (t table) row(line, name string) (p Photo, blank bool, err error) {
	p = New(name, orb.Point{})
	cells, err := splitCells(line, t.delimiter)
	if err != nil {
		return p, false, err
	}
	if !slices.ContainsFunc(cells, notBlank) {
		return p, true, nil
	}
	if file := t.cell(cells, columnFile); file != "" {
		p.File = strings.Clone(unguarded(file)) // else it would keep the whole line
	}
	if why := t.cell(cells, columnLeftOut); why != "" {
		return p, false, leftOutBefore(strings.Clone(unguarded(why)))
	}
	return p, false, t.fill(&p, cells)
}

// fill sets p from one row. Its error begins with the place in the line.
func (t table) fill(p *Photo, cells []string) error {
	if len(cells) > t.columns && slices.ContainsFunc(cells[t.columns:], notBlank) {
		return fmt.Errorf(": it has %d cells where the header has %d", len(cells), t.columns)
	}
	for _, c := range []struct {
		column    string
		value     *float64
		low, high float64
	}{
		{columnLon, &p.Position[0], -180, 180},
		{columnLat, &p.Position[1], -90, 90},
		{columnAlt, &p.Altitude, -1e5, 1e5},
		{columnHeight, &p.Height, -1e5, 1e5},
		{columnYaw, &p.Yaw, -360, 360},
		{columnPitch, &p.Pitch, -180, 180},
		{columnRoll, &p.Roll, -180, 180},
		{columnError, &p.PositionError, 0, 1e5},
	} {
		text := t.cell(cells, c.column)
		if text == "" {
			if c.column == columnLon || c.column == columnLat {
				return t.fault(c.column, "no value")
			}
			continue
		}
		x, ok := t.number(text)
		if !ok {
			return t.fault(c.column, fmt.Sprintf("%.40q is not a number", text))
		}
		if math.IsNaN(within(x, c.low, c.high)) {
			return t.fault(c.column, fmt.Sprintf("%s is not between %g and %g", text, c.low, c.high))
		}
		*c.value = x
	}
	if _, err := usable(p.Position); err != nil {
		return fmt.Errorf(": %w", err)
	}
	p.Yaw = compass(p.Yaw)
	p.PositionError = positive(p.PositionError)
	p.Sources = Sources{
		Position: Table, Altitude: ifKnown(p.Altitude, Table), Height: ifKnown(p.Height, Table),
		Yaw: ifKnown(p.Yaw, Table), Pitch: ifKnown(p.Pitch, Table), Roll: ifKnown(p.Roll, Table),
		PositionError: ifKnown(p.PositionError, Table),
	}
	if !math.IsNaN(p.Altitude) {
		p.AltitudeDatum = UnknownDatum
	}
	if text := t.cell(cells, columnTime); text != "" {
		var ok bool
		p.Sources.Time = Table
		if p.Time, p.TimeSource, ok = parseTime(text); !ok {
			return t.fault(columnTime, fmt.Sprintf("%.40q is not a time such as 2026-05-01T10:00:00Z", text))
		}
	}
	return t.fillFromList(p, cells)
}

func (t table) fault(column, what string) error {
	return fmt.Errorf(", column %d (%s): %s", t.index[column]+1, column, what)
}

func (t table) number(text string) (float64, bool) {
	if t.delimiter != ',' {
		text = strings.Replace(text, ",", ".", 1)
	}
	return parseDecimal(text)
}

func parseTime(text string) (time.Time, string, bool) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, TimeFromTable, true
	}
	for _, layout := range []string{time.DateTime, "2006-01-02T15:04:05"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t, TimeFromTableAsUTC, true
		}
	}
	return time.Time{}, "", false
}
