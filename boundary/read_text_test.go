package boundary

import (
	"encoding/binary"
	"reflect"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// OGC 12-007r2 16.10: tuples are parted by space, tab, carriage return or line
// feed. Files in use also have other white space, and white space after commas.
func TestReadWhiteSpace(t *testing.T) {
	want := orb.Ring{{1, 2}, {3, 2}, {3, 4.5}, {1, 2}}
	for _, text := range []string{
		"1,2 3,2 3,4.5 1,2",
		"\r\n\t1,2\r\n\t3,2\r\n\t3,4.5\r\n\t1,2\r\n",
		"\r1,2\r3,2\r3,4.5\r1,2\r",
		"1, 2 3 ,2 3\n,\n4.5 1,2",
		"1,2,0 3,2,0\t\t3,4.5,0 1,2,0",
		"1,2\u00a03,2\u20033,4.5 1,2",
		"+1,2. 3.0,2 3,.45e1 1,2",
		"<![CDATA[1,2 3,2 3,4.5 1,2]]>",
		"1,2 3,2 <!-- corner --> 3,4.5 1,2",
		"1,2&#10;3,2&#x20;3,4.5&#9;1,2",
	} {
		f, err := Read("a.kml", []byte(ringKML(text)), Options{})
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := f.Parts[0].Polygon[0]; !reflect.DeepEqual(got, want) {
			t.Errorf("%q: %v", text, got)
		}
	}
}

func TestReadEncodings(t *testing.T) {
	const body = `<kml><Placemark><name>Ödmoor – 𝔉eld</name><Polygon><outerBoundaryIs><LinearRing><coordinates>1,2 3,2 3,4 1,2</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`
	const plain = "Ödmoor – 𝔉eld"
	declare := func(encoding string) string { return `<?xml version="1.0" encoding="` + encoding + `"?>` + "\n" }
	utf16With := func(text string, order binary.AppendByteOrder) []byte {
		var out []byte
		for _, u := range utf16.Encode([]rune(text)) {
			out = order.AppendUint16(out, u)
		}
		return out
	}
	western := strings.NewReplacer("𝔉", "F", "Ö", "\xd6", "–", "\x96").Replace
	tests := []struct {
		name, want string
		data       []byte
	}{
		{"UTF-8 that calls itself Windows-1252", plain, []byte(declare("windows-1252") + body)},
		{"Windows-1252 that calls itself UTF-8", "Ödmoor – Feld", []byte(western(declare("UTF-8") + body))},
		{"plain", plain, []byte(body)},
		{"UTF-8 with a byte order mark", plain, []byte("\ufeff" + declare("UTF-8") + body)},
		{"UTF-16 little-endian", plain, utf16With("\ufeff"+declare("UTF-16")+body, binary.LittleEndian)},
		{"UTF-16 big-endian", plain, utf16With("\ufeff"+declare("UTF-16")+body, binary.BigEndian)},
		{"UTF-16 without a mark", plain, utf16With(declare("UTF-16")+body, binary.LittleEndian)},
		{"UTF-16 big-endian without a mark", plain, utf16With(body, binary.BigEndian)},
		{"UTF-16 that calls itself UTF-8", plain, utf16With("\ufeff"+declare("UTF-8")+body, binary.LittleEndian)},
		{"UTF-8 that calls itself UTF-16", plain, []byte(declare("UTF-16") + body)},
		{"UTF-8 that calls itself something else", plain, []byte(declare("Shift_JIS") + body)},
		{"Windows-1252", "Ödmoor – Feld", []byte(western(declare("windows-1252") + body))},
		{"ISO 8859-1", "Ödmoor – Feld", []byte(western(declare("ISO-8859-1") + body))},
		{"undeclared Windows-1252", "Ödmoor – Feld", []byte(western(body))},
		{"white space before the declaration", plain, []byte("\n  " + declare("UTF-8") + body)},
		{"GeoJSON with a byte order mark", plain, []byte("\ufeff" + `{"type":"Feature","properties":{"name":"Ödmoor – 𝔉eld"},"geometry":{"type":"Polygon","coordinates":[[[1,2],[3,2],[3,4],[1,2]]]}}`)},
		{"GeoJSON in UTF-16", plain, utf16With("\ufeff"+`{"type":"Feature","properties":{"name":"Ödmoor – 𝔉eld"},"geometry":{"type":"Polygon","coordinates":[[[1,2],[3,2],[3,4],[1,2]]]}}`, binary.LittleEndian)},
	}
	for _, tt := range tests {
		f, err := Read("a", tt.data, Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if len(f.Parts) != 1 || f.Parts[0].Name != tt.want || len(f.Parts[0].Polygon[0]) != 4 {
			t.Errorf("%s: %q", tt.name, summary(f))
		}
		const suffer = " Only names can suffer from it."
		doubt := map[string]string{
			"UTF-16 that calls itself UTF-8":         "The file says that its text is in UTF-8, but it is in UTF-16 and is read as that.",
			"UTF-8 that calls itself UTF-16":         "The file says that its text is in UTF-16, but it is in UTF-8 and is read as that.",
			"UTF-8 that calls itself something else": "The file says that its text is in Shift_JIS, but it is in UTF-8 and is read as that.",
			"UTF-8 that calls itself Windows-1252":   "The file says that its text is in windows-1252, but it is in UTF-8 and is read as that.",
			"Windows-1252 that calls itself UTF-8":   "The file says that its text is in UTF-8, but it is in Windows-1252 and is read as that.",
			"undeclared Windows-1252":                "The file’s text is not in UTF-8, so it is read as Windows-1252.",
		}[tt.name]
		switch {
		case doubt == "" && len(f.Findings) > 0:
			t.Errorf("%s: %v", tt.name, f.Findings)
		case doubt != "" && (len(f.Findings) != 1 || f.Findings[0].Text.String() != doubt+suffer || f.Findings[0].Code != finding.WrongEncoding):
			t.Errorf("%s: %v", tt.name, f.Findings)
		}
	}
	_, err := Read("a.kml", []byte(declare("Shift_JIS")+western(body)), Options{})
	if err == nil || !strings.Contains(err.Error(), "shift_jis") {
		t.Errorf("an encoding that is not read: %v", err)
	}
}
