package boundary

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"selvage/boundary/finding"
)

// Figures of the dBASE III table format, as the ESRI Shapefile Technical
// Description (July 1998) asks for it (from memory).
const (
	tableHeader = 32
	columnEntry = 32
	columnsEnd  = 0x0d
)

// attributes are what a table says of a feature.
type attributes struct{ name, buffer string }

// table reads from a .dbf the names of the features, the values of the column
// that looks most like names, and their buffers. A table that cannot be read
// costs only these.
func (s *shapefile) table(dbf, cpg []byte) []attributes {
	if len(dbf) == 0 {
		s.leaveNames(finding.Say("There is no .dbf file beside the shapefile, so features have no names."))
		return nil
	}
	name, buffer, width, rows, ok := findColumns(dbf)
	if !ok {
		s.leaveNames(finding.Say("The .dbf file beside the shapefile is damaged, so features have no names."))
		return nil
	}
	if name.size == 0 && buffer.size == 0 {
		return nil
	}
	decode, encoding := dbfDecoder(dbf[29], cpg)
	var all []attributes
	lost := 0
	for ; len(rows) >= width; rows = rows[width:] {
		title, sound := decode(name.in(rows))
		if !sound {
			lost++
		}
		all = append(all, attributes{title, string(buffer.in(rows))})
	}
	if lost > 0 {
		s.notes = append(s.notes, finding.Finding{
			Code: finding.WrongEncoding, Severity: finding.Note, Place: finding.Place{File: s.file},
			Text:   finding.Say("%s in the .dbf cannot be read in full, because the encoding %s is not known here. Only names can suffer from it.", finding.Counted(lost, "name", "names"), encoding),
			Amount: float64(lost), Unit: "names",
		})
	}
	return all
}

func (s *shapefile) leaveNames(text finding.Text) {
	s.notes = append(s.notes, finding.Finding{
		Code: finding.NamesUnread, Severity: finding.Note, Place: finding.Place{File: s.file}, Text: text,
	})
}

// column is where in a row a value lies.
type column struct{ at, size int }

func (c column) in(row []byte) []byte { return bytes.Trim(row[c.at:c.at+c.size], " \x00") }

// findColumns finds the columns of names and of buffers, of the size 0 when
// none looks like it, and the rows with their width.
func findColumns(dbf []byte) (names, buffers column, width int, rows []byte, ok bool) {
	damaged := func() (column, column, int, []byte, bool) { return column{}, column{}, 0, nil, false }
	if len(dbf) < tableHeader+1 {
		return damaged()
	}
	count := int64(binary.LittleEndian.Uint32(dbf[4:]))
	head := int(binary.LittleEndian.Uint16(dbf[8:]))
	width = int(binary.LittleEndian.Uint16(dbf[10:]))
	if head < tableHeader+1 || head > len(dbf) || width < 1 || count*int64(width) > int64(len(dbf)-head) {
		return damaged()
	}
	rows = dbf[head:][:count*int64(width)]
	best := len(nameWords)
	at := 1 // behind the mark of a deleted row
	for entries := dbf[tableHeader:head]; len(entries) >= columnEntry && entries[0] != columnsEnd; entries = entries[columnEntry:] {
		size := int(entries[16])
		if at+size > width {
			return damaged()
		}
		title, _, _ := bytes.Cut(entries[:11], []byte{0})
		if rank := nameRank(string(title)); rank < best && (entries[11] == 'C' || entries[11] == 'N') {
			best, names = rank, column{at, size}
		}
		if isBuffer(string(title)) && buffers.size == 0 && bytes.IndexByte([]byte("CNF"), entries[11]) >= 0 {
			buffers = column{at, size}
		}
		at += size
	}
	return names, buffers, width, rows, true
}

// nameWords are words in the titles of columns, most telling first (common
// practice, no source).
var nameWords = []string{"name", "title", "label", "parcel", "plot", "field", "site", "block", "descript", "apn", "id"}

// nameRank is lower the more a column's title promises names.
func nameRank(title string) int {
	title = strings.ToLower(strings.TrimSpace(title))
	if rank := slices.Index(nameWords, title); rank >= 0 {
		return rank
	}
	for rank, word := range nameWords {
		if word != "id" && strings.Contains(title, word) || word == "id" && strings.HasSuffix(title, word) {
			return rank
		}
	}
	return len(nameWords)
}

// dbfDecoder returns what turns a value into UTF-8 and says whether nothing was
// lost, and the name of the encoding. A .cpg file outweighs the language mark
// in the table; without either, text that is not UTF-8 is Windows-1252.
func dbfDecoder(mark byte, cpg []byte) (decode func([]byte) (string, bool), encoding string) {
	encoding = strings.ToLower(printable(string(cpg), 40))
	if encoding == "" && mark != 0 && mark != 0x03 && mark != 0x57 { // Windows-1252 and the system's own
		encoding = fmt.Sprintf("with the language mark 0x%02X", mark)
	}
	known := false
	switch strings.NewReplacer("-", "", "_", "", " ", "").Replace(encoding) {
	case "", "utf8", "65001", "1252", "cp1252", "windows1252", "ansi1252", "iso88591", "88591", "latin1":
		known = true
	}
	return func(text []byte) (string, bool) {
		switch {
		case utf8.Valid(text):
			return string(text), true
		case known:
			return string(fromWindows1252(text)), true
		}
		return strings.Map(func(r rune) rune {
			if r >= utf8.RuneSelf {
				return utf8.RuneError
			}
			return r
		}, string(text)), false
	}, encoding
}
