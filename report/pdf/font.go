package pdf

import (
	"encoding/binary"
	"errors"
	"slices"
	"strings"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
)

// face is one of the fonts that a file carries.
type face int

const (
	regular face = iota
	bold
	mono
	facesCount
)

var faceNames = [facesCount]string{"regular", "bold", "mono"}

func (f face) data() []byte { return [facesCount][]byte{goregular.TTF, gobold.TTF, gomono.TTF}[f] }

// unknownLetter is shown for a character that the fonts lack.
const unknownLetter = '□'

// faces are the letters of each font.
type faces [facesCount]letters

type letters struct {
	width map[rune]int  // in thousandths of the size of the font
	twin  map[rune]rune // an earlier letter with the same glyph
}

func loadFaces() (*faces, error) {
	var all faces
	for f := range facesCount {
		var err error
		if all[f], err = readLetters(f.data()); err != nil {
			return nil, err
		}
	}
	return &all, nil
}

// add puts the fonts into a file. The library writes into the bytes that it is
// given, so each file has its own.
func (all *faces) add(f *fpdf.Fpdf) {
	for face := range facesCount {
		f.AddUTF8FontFromBytes(faceNames[face], "", slices.Clone(face.data()))
	}
}

// replaceUnknown puts a box in the place of every character that a font lacks,
// and counts them. What is invisible is left out.
func (all *faces) replaceUnknown(root *node) (unknown int) {
	root.all(func(n *node) {
		if n.parent != nil && n.parent.tag == "style" {
			return
		}
		n.data = strings.Map(func(r rune) rune {
			switch {
			case r == '\n' || r == '\t' || r == '\r':
				return ' '
			case r == '\u202f': // narrow, and no break
				return '\u00a0'
			case all.has(r):
				return r
			case unicode.Is(unicode.Cf, r):
				return -1
			}
			unknown++
			return unknownLetter
		}, n.data)
	})
	return unknown
}

func (all *faces) has(r rune) bool {
	for _, letters := range all {
		if _, has := letters.width[r]; !has {
			return false
		}
	}
	return true
}

// width is the length of a text in points.
func (all *faces) width(f face, size float64, text string) float64 {
	sum := 0
	for _, r := range text {
		sum += all[f].width[r]
	}
	return float64(sum) * size / 1000
}

// distinct writes letters that look the same as one letter. Two of the same
// glyph in a file would make its bytes depend on chance, in the library.
func (all *faces) distinct(f face, text string) string {
	return strings.Map(func(r rune) rune {
		if twin, has := all[f].twin[r]; has {
			return twin
		}
		return r
	}, text)
}

// cut shortens a text that is wider than most.
func (all *faces) cut(f face, size float64, text string, most float64) string {
	if all.width(f, size, text) <= most {
		return text
	}
	left := most - all.width(f, size, "…")
	for i, r := range text {
		if left -= all.width(f, size, string(r)); left < 0 {
			return text[:i] + "…"
		}
	}
	return text
}

var errFont = errors.New("a font cannot be read")

// readLetters reads the tables "cmap" (format 4), "head", "hhea" and "hmtx" of
// a TrueType font (ISO/IEC 14496-22).
func readLetters(data []byte) (all letters, err error) {
	defer func() {
		if recover() != nil { // an index out of range
			err = errFont
		}
	}()
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(data[at:])) }
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(data[at:])) }
	tables := map[string]int{}
	for i := range u16(4) {
		entry := 12 + 16*i
		tables[string(data[entry:entry+4])] = u32(entry + 8)
	}
	perEm, metrics := u16(tables["head"]+18), u16(tables["hhea"]+34)
	width := func(glyph int) int {
		return u16(tables["hmtx"]+4*min(glyph, metrics-1)) * 1000 / perEm
	}
	all = letters{map[rune]int{}, map[rune]rune{}}
	first := map[int]rune{}
	for i := range u16(tables["cmap"] + 2) {
		entry := tables["cmap"] + 4 + 8*i
		at := tables["cmap"] + u32(entry+4)
		if u16(entry) != 3 || u16(at) != 4 {
			continue
		}
		segments := u16(at+6) / 2
		ends := at + 14
		starts := ends + 2*segments + 2
		deltas := starts + 2*segments
		offsets := deltas + 2*segments
		for s := range segments {
			for c := u16(starts + 2*s); c <= u16(ends+2*s) && c < 0xFFFF; c++ {
				glyph := c
				if offset := u16(offsets + 2*s); offset != 0 {
					if glyph = u16(offsets + 2*s + offset + 2*(c-u16(starts+2*s))); glyph == 0 {
						continue
					}
				}
				if glyph = (glyph + u16(deltas+2*s)) & 0xFFFF; glyph != 0 {
					all.width[rune(c)] = width(glyph)
					if r, shared := first[glyph]; shared {
						all.twin[rune(c)] = r
					} else {
						first[glyph] = rune(c)
					}
				}
			}
		}
	}
	if len(all.width) == 0 {
		return all, errFont
	}
	return all, nil
}
