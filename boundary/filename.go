package boundary

import (
	"fmt"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// mostNameBytes is the most that a file's name may have, without extension.
const mostNameBytes = 60

// plainLetters gives the Latin letters with marks, and those that have no
// other plain form, by what they are written as.
var plainLetters = func() map[rune]string {
	letters := map[rune]string{}
	for _, group := range []string{
		"A ÀÁÂÃÄÅĀĂĄǍẠẢẤẦẨẪẬẮẰẲẴẶ", "a àáâãäåāăąǎªạảấầẩẫậắằẳẵặ", "AE Æ", "ae æ", "C ÇĆĈĊČ", "c çćĉċč", "D ĎĐÐ", "d ďđð",
		"E ÈÉÊËĒĔĖĘĚƏẸẺẼẾỀỂỄỆ", "e èéêëēĕėęěəẹẻẽếềểễệ", "G ĜĞĠĢ", "g ĝğġģ", "H ĤĦ", "h ĥħ",
		"I ÌÍÎÏĨĪĬĮİǏỈỊ", "i ìíîïĩīĭįıǐỉị", "IJ Ĳ", "ij ĳ", "J Ĵ", "j ĵ", "K Ķ", "k ķĸ",
		"L ĹĻĽĿŁ", "l ĺļľŀł", "N ÑŃŅŇŊ", "n ñńņňŉŋ", "O ÒÓÔÕÖØŌŎŐƠǑỌỎỐỒỔỖỘỚỜỞỠỢ", "o òóôõöøōŏőơǒºọỏốồổỗộớờởỡợ",
		"OE Œ", "oe œ", "R ŔŖŘ", "r ŕŗř", "S ŚŜŞŠȘ", "s śŝşšșſ", "SS ẞ", "ss ß",
		"T ŢŤŦȚ", "t ţťŧț", "Th Þ", "th þ", "U ÙÚÛÜŨŪŬŮŰŲƯǓỤỦỨỪỬỮỰ", "u ùúûüũūŭůűųưǔụủứừửữự",
		"W ŴẀẂẄ", "w ŵẁẃẅ", "Y ÝŶŸỲỴỶỸ", "y ýÿŷỳỵỷỹ", "Z ŹŻŽ", "z źżž", "1 ¹", "2 ²", "3 ³", "x ×",
	} {
		written, marked, _ := strings.Cut(group, " ")
		for _, letter := range marked {
			letters[letter] = written
		}
	}
	return letters
}()

// SafeName returns words, joined by hyphens, as a file's name without
// extension that memory cards (FAT32, exFAT), Windows and flight controllers
// take: ASCII only, since some controllers show nothing else, at most 60 bytes,
// and no name of a device. Marks are left off Latin letters; for what has no
// plain form a hyphen stands. Where the whole is too long the longest words are
// cut. It is "Area" where nothing else is left.
func SafeName(words ...string) string {
	var safe []string
	for _, word := range words {
		word = plainName(word)
		if word = trimName(word[:min(len(word), mostNameBytes)]); word != "" {
			safe = append(safe, word)
		}
	}
	if len(safe) == 0 {
		return "Area"
	}
	for {
		name := strings.Join(safe, "-")
		if isDevice(name) {
			name = "_" + name
		}
		if len(name) <= mostNameBytes {
			return name
		}
		longest := 0
		for i, word := range safe {
			if len(word) > len(safe[longest]) {
				longest = i
			}
		}
		if cut := trimName(safe[longest][:len(safe[longest])-1]); cut != "" {
			safe[longest] = cut
		} else {
			safe = safe[:len(safe)-1]
		}
	}
}

// OutputName returns a file's name, without extension, that all systems take,
// for files that stay on a computer: letters keep their marks, in one character
// where there is one (Unicode NFC). It has at most 180 bytes.
func OutputName(name string) string {
	const most = 180 // of 255, so that an end can be added
	name = strings.Map(func(c rune) rune {
		switch {
		case unicode.IsControl(c) || unicode.Is(unicode.Cf, c) || c == unicode.ReplacementChar || strings.ContainsRune(notInNames, c):
			return '-'
		case unicode.IsSpace(c):
			return ' '
		}
		return c
	}, norm.NFC.String(name))
	if name = trimName(name); len(name) > most {
		name = trimName(strings.ToValidUTF8(name[:most], ""))
	}
	switch {
	case name == "":
		return "Area"
	case isDevice(name):
		return "_" + name
	}
	return name
}

// notInNames are the characters that Windows takes in no name (Microsoft,
// "Naming Files, Paths, and Namespaces").
const notInNames = `<>:"/\|?*`

// plainName spells a name with what is allowed everywhere.
func plainName(name string) string {
	var out strings.Builder
	last := ' '
	add := func(c rune) {
		if (c == '-' || c == ' ') && c == last {
			return
		}
		out.WriteRune(c)
		last = c
	}
	for _, c := range name {
		switch {
		case unicode.Is(unicode.Mn, c) || unicode.Is(unicode.Cf, c): // a mark on the letter before, or nothing to see
		case unicode.IsSpace(c):
			add(' ')
		case plainLetters[c] != "":
			for _, written := range plainLetters[c] {
				add(written)
			}
		case c < ' ' || c > '~' || strings.ContainsRune(notInNames, c):
			add('-')
		default:
			add(c)
		}
	}
	return trimName(out.String())
}

// trimName takes off what hides a file, looks like a flag, or is dropped by
// Windows.
func trimName(name string) string { return strings.Trim(name, " .-") }

// isDevice reports whether Windows takes the name for a device: with any
// extension, in any case (Microsoft, "Naming Files, Paths, and Namespaces").
func isDevice(name string) bool {
	name, _, _ = strings.Cut(strings.ToUpper(name), ".")
	name = strings.TrimRight(name, " ")
	name = strings.NewReplacer("¹", "1", "²", "2", "³", "3").Replace(name)
	switch name {
	case "CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$":
		return true
	}
	return len(name) == 4 && (name[:3] == "COM" || name[:3] == "LPT") && name[3] >= '0' && name[3] <= '9'
}

// UniqueNames returns safe names that differ in more than their case, which
// cards and Windows do not tell apart: later ones get a number from 2 on.
func UniqueNames(safe []string) []string {
	taken := map[string]bool{}
	unique := make([]string, len(safe))
	for i, name := range safe {
		unique[i] = name
		for n := 2; taken[strings.ToLower(unique[i])]; n++ {
			number := fmt.Sprintf("-%d", n)
			unique[i] = trimName(name[:min(len(name), mostNameBytes-len(number))]) + number
		}
		taken[strings.ToLower(unique[i])] = true
	}
	return unique
}

// PartNames returns a file's name without extension for each area, as in
// "quarry-flight-North": the stem, the word flight and the area's name.
func PartNames(stem string, areas []Area) []string {
	names := make([]string, len(areas))
	for i, area := range areas {
		names[i] = SafeName(stem, "flight", area.Name)
	}
	return UniqueNames(names)
}
