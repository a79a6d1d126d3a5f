package terrain

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// openASCII reads the header of an Esri ASCII grid: names with numbers, then
// the heights row by row from the north (Esri ASCII raster format, from
// memory). The .prj file beside it tells the coordinate system.
func openASCII(r io.ReaderAt, size int64, o Options) (*File, error) {
	if size > o.Limits.Bytes {
		return nil, fmt.Errorf("has %d MB, more than the limit of %d MB for a text grid (--limit grid); a GeoTIFF has none", size/1_000_000, o.Limits.Bytes/1_000_000)
	}
	words := newWords(r, size)
	header, err := readHeader(words)
	if err != nil {
		return nil, err
	}
	l, nodata, err := header.lattice(o.Limits)
	if err != nil {
		return nil, err
	}
	if l.system, err = systemOf(o, "", l); err != nil {
		return nil, err
	}
	f := &File{Source: Source{Format: "Esri ASCII grid"}, lattice: l}
	f.Datum, f.Unit = verticalOf(string(o.Projection))
	f.read = func(w window) ([]float32, error) {
		return readText(newWords(r, size), l, nodata, w)
	}
	return f, nil
}

type headerField struct {
	value        float64
	text         string
	line, column int
}

type header map[string]headerField

func readHeader(words *words) (header, error) {
	h := header{}
	for {
		word, err := words.next()
		if err != nil {
			return nil, err
		}
		key := strings.ToLower(word)
		line, column := words.line, words.column
		if !headerKeys[key] {
			if len(h) > 0 && isNumber(key) {
				words.back()
				return h, nil
			}
			return nil, placed{line, column, quote(word) + " stands where the header of an Esri ASCII grid (ncols, nrows, xllcorner, yllcorner, cellsize) should be"}
		}
		if _, twice := h[key]; twice {
			return nil, placed{line, column, quote(word) + " stands twice in the header"}
		}
		if word, err = words.next(); err != nil {
			return nil, err
		}
		x, err := number(word)
		if err != nil {
			return nil, placed{words.line, words.column, err.Error()}
		}
		h[key] = headerField{x, word, words.line, words.column}
	}
}

var headerKeys = map[string]bool{
	"ncols": true, "nrows": true, "xllcorner": true, "yllcorner": true, "xllcenter": true, "yllcenter": true,
	"cellsize": true, "dx": true, "dy": true, "nodata_value": true,
}

func (h header) count(key string, most int) (int, error) {
	field, ok := h[key]
	if !ok {
		return 0, fmt.Errorf("has no %s in its header", key)
	}
	if field.value != math.Trunc(field.value) || !(field.value >= 2 && field.value <= float64(most)) {
		return 0, placed{field.line, field.column, fmt.Sprintf("%s is %s; 2 to %d are read here", key, quote(field.text), most)}
	}
	return int(field.value), nil
}

func (h header) lattice(lim Limits) (lattice, float64, error) {
	columns, err := h.count("ncols", lim.Side)
	if err != nil {
		return lattice{}, 0, err
	}
	rows, err := h.count("nrows", lim.Side)
	if err != nil {
		return lattice{}, 0, err
	}
	step := map[string]float64{}
	for _, key := range []string{"dx", "dy"} {
		field, ok := h[key]
		if !ok {
			field, ok = h["cellsize"]
		}
		if !ok {
			return lattice{}, 0, errors.New("has no cellsize in its header")
		}
		if !(field.value > 0) || math.IsInf(field.value, 0) {
			return lattice{}, 0, placed{field.line, field.column, "the cell size is " + quote(field.text)}
		}
		step[key] = field.value
	}
	// The header places the corner of the south-west cell, or its middle.
	origin := func(axis string, step float64) (float64, error) {
		corner, isCorner := h[axis+"llcorner"]
		middle, isMiddle := h[axis+"llcenter"]
		switch {
		case isCorner && isMiddle:
			return 0, placed{middle.line, middle.column, fmt.Sprintf("both %sllcorner and %sllcenter are given", axis, axis)}
		case isCorner:
			return corner.value + step/2, nil
		case isMiddle:
			return middle.value, nil
		}
		return 0, fmt.Errorf("has no %sllcorner in its header", axis)
	}
	west, err := origin("x", step["dx"])
	if err != nil {
		return lattice{}, 0, err
	}
	south, err := origin("y", step["dy"])
	if err != nil {
		return lattice{}, 0, err
	}
	l := lattice{columns: columns, rows: rows,
		place: affine{west, step["dx"], 0, south + step["dy"]*float64(rows-1), 0, -step["dy"]}}
	if !l.place.sound() {
		return lattice{}, 0, errors.New("has figures in its header that are no place on Earth")
	}
	nodata := -9999.0
	if field, ok := h["nodata_value"]; ok {
		nodata = field.value
	}
	return l, nodata, nil
}

func readText(words *words, l lattice, nodata float64, w window) ([]float32, error) {
	if _, err := readHeader(words); err != nil {
		return nil, err
	}
	out := make([]float32, 0, min(w.columns*w.rows, 1<<20))
	for j := range w.row + w.rows {
		for i := range l.columns {
			word, err := words.next()
			if err != nil {
				return nil, err
			}
			if j < w.row || i < w.column || i >= w.column+w.columns {
				continue
			}
			h, err := number(word)
			if err != nil {
				return nil, placed{words.line, words.column, err.Error()}
			}
			if h == nodata || float32(h) == float32(nodata) || usualVoid(h) {
				h = math.NaN()
			}
			out = append(out, float32(h))
		}
	}
	return out, nil
}

func isNumber(word string) bool {
	_, err := number(word)
	return err == nil
}

// number reads a decimal number, or nan.
func number(word string) (float64, error) {
	x, err := strconv.ParseFloat(word, 64)
	if err == nil && !strings.ContainsAny(word, "xX_pP") || errors.Is(err, strconv.ErrRange) {
		return x, nil
	}
	if strings.Count(word, ",") == 1 && isNumber(strings.Replace(word, ",", ".", 1)) {
		return 0, fmt.Errorf("%s has a comma where a decimal point must be", quote(word))
	}
	return 0, fmt.Errorf("%s is not a number", quote(word))
}

// words takes a text apart at white space, and knows where it is.
type words struct {
	r            *bufio.Reader
	word         []byte
	line, column int // of the last word, from 1
	at           struct{ line, column int }
	again        bool
}

func newWords(r io.ReaderAt, size int64) *words {
	w := &words{r: bufio.NewReaderSize(io.NewSectionReader(r, 0, size), 1<<16)}
	w.at.line, w.at.column = 1, 1
	if bom, _ := w.r.Peek(3); string(bom) == "\ufeff" {
		w.r.Discard(3)
	}
	return w
}

// longest is the length of the longest word in bytes.
const longest = 400

func (w *words) back() { w.again = true }

func (w *words) next() (string, error) {
	if w.again {
		w.again = false
		return string(w.word), nil
	}
	w.word = w.word[:0]
	for {
		c, err := w.r.ReadByte()
		if err == io.EOF && len(w.word) > 0 {
			return string(w.word), nil
		}
		if err == io.EOF {
			return "", placed{w.at.line, w.at.column, "the file ends too early; it may be cut off"}
		}
		if err != nil {
			return "", fmt.Errorf("could not be read: %w", err)
		}
		if c == ' ' || c == '\n' || c == '\r' || c == '\t' {
			if c == '\n' {
				w.at.line, w.at.column = w.at.line+1, 1
			} else {
				w.at.column++
			}
			if len(w.word) > 0 {
				return string(w.word), nil
			}
			continue
		}
		if len(w.word) == 0 {
			w.line, w.column = w.at.line, w.at.column
		}
		w.at.column++
		if w.word = append(w.word, c); len(w.word) > longest {
			return "", placed{w.line, w.column, quote(string(w.word)) + " is not a number"}
		}
	}
}

var (
	verticalName = regexp.MustCompile(`(?i)\bVERT(?:_CS|CS|CRS)\s*[\[(]\s*"([^"]*)"`)
	verticalUnit = regexp.MustCompile(`(?i)\b(?:LENGTH)?UNIT\s*[\[(]\s*"[^"]*"\s*,\s*([-+.\deE]+)`)
)

// verticalOf finds the vertical datum and unit in a well-known text: "" and 0
// where it has none.
func verticalOf(wkt string) (datum string, unit Unit) {
	at := verticalName.FindStringSubmatchIndex(wkt)
	if at == nil {
		return "", 0
	}
	if m := verticalUnit.FindStringSubmatch(wkt[at[1]:]); m != nil {
		if x, err := strconv.ParseFloat(m[1], 64); err == nil && x > 0.001 && x < 1000 {
			unit = Unit(x)
			for _, known := range []Unit{Metre, Foot, USSurveyFoot} {
				if math.Abs(x/float64(known)-1) < 1e-7 {
					unit = known
				}
			}
		}
	}
	return strings.TrimSpace(wkt[at[2]:at[3]]), unit
}
