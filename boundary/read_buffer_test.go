package boundary

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"

	"selvage/boundary/finding"
)

// Feet and inches are the international ones: 0.3048 and 0.0254 m by definition
// (1959).
func TestParseBuffer(t *testing.T) {
	for _, tt := range []struct {
		text string
		want float64
	}{
		{"30m", 30}, {"30", 30}, {"30.0 m", 30}, {"+.5km", 500}, {"100ft", 30.48}, {"100 Feet", 30.48}, {"12 in", 0.3048},
		{"-5m", -5}, {"−5 m", -5}, {"1.5e1", 15}, {"3.000000000000000e+01", 30}, {"10 metres", 10}, {"10 Meters", 10}, {"250 cm", 2.5}, {"10 km", 10_000},
	} {
		if got, fault := parseBuffer(tt.text); !fault.Empty() || math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s: %v, %q, want %v", tt.text, got, fault, tt.want)
		}
	}
	for text, want := range map[string]string{
		"wide": "is not a length", "30 yards": "is not a length", "m": "is not a length", "2,5 m": "is not a length", "30m 5": "is not a length",
		"NaN": "is not a length", "inf": "is not a length", "0x1p5": "is not a length", "{}": "is not a length", "30--": "is not a length",
		"0": "edge itself", "-0 m": "edge itself", "10.1km": "more than 10 km", "-1e400": "more than 10 km", "99999": "more than 10 km",
	} {
		if got, fault := parseBuffer(text); got != 0 || !strings.Contains(fault.String(), want) {
			t.Errorf("%s: %v, %q, want %q", text, got, fault, want)
		}
	}
}

// The same three fields in every format: one with 50 m, one without, one with 5 m inwards.
func TestReadBuffers(t *testing.T) {
	const ring = "[[[7,47],[7.001,47],[7.001,47.001],[7,47]]]"
	const tuples = "7,47 7.001,47 7.001,47.001 7,47"
	geo := func(name, properties string) string {
		return `{"type":"Feature","properties":{"name":"` + name + `"` + properties + `},"geometry":{"type":"Polygon","coordinates":` + ring + `}}`
	}
	kml := func(name, extended string) string {
		return "<Placemark><name>" + name + "</name><ExtendedData>" + extended + "</ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>" + tuples + "</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
	}
	wkt := `"POLYGON((7 47,7.001 47,7.001 47.001,7 47))"`
	for name, text := range map[string]string{
		"geojson":       `{"type":"FeatureCollection","features":[` + geo("A", `,"Buffer":"50m"`) + "," + geo("B", `,"buffer":null,"buffers":7,"my buffer":7`) + "," + geo("C", `,"BUFFER":-5`) + "]}",
		"lines":         geo("A", `,"buffer":50`) + "\n" + geo("B", `,"buffer":" "`) + "\n" + geo("C", `,"buffer":"-5 m"`) + "\n",
		"data":          "<kml><Document>" + kml("A", `<Data name="buffer"><displayName>x</displayName><value> 50 </value></Data>`) + kml("B", `<Data name="width"><value>7</value></Data>`) + kml("C", `<Data name="Buffer"><value>-5m</value></Data>`) + "</Document></kml>",
		"schema data":   `<kml><Document>` + kml("A", `<SchemaData schemaUrl="#s"><SimpleData name="name">x</SimpleData><SimpleData name="BUFFER">50</SimpleData></SchemaData>`) + kml("B", `<SchemaData><SimpleData name="buffer"/></SchemaData>`) + kml("C", `<SchemaData><SimpleData name="buffer">-5 m</SimpleData></SchemaData>`) + "</Document></kml>",
		"csv with wkt":  "name,wkt,buffer\nA," + wkt + ",50m\nB," + wkt + ",\nC," + wkt + ",-5\n",
		"csv":           "field,buffer,lon,lat\nA,50,7,47\nA,50,7.001,47\nA,,7.001,47.001\nB,,7,47\nB,,7.001,47\nB,,7.001,47.001\nC,-5,7,47\nC,-5,7.001,47\nC,-5,7.001,47.001\n",
		"csv of metres": "field,buffer (m),lon,lat,Buffer\nA,1,7,47,50\nA,1,7.001,47,50\nA,1,7.001,47.001,50\nB,1,7,47,\nB,1,7.001,47,\nB,1,7.001,47.001,\nC,1,7,47,-5\nC,1,7.001,47,-5\nC,1,7.001,47.001,-5\n",
	} {
		f, err := Read("fields", []byte(text), Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var got []string
		for _, p := range f.Parts {
			got = append(got, fmt.Sprintf("%s %g", p.Name, p.Buffer))
		}
		if want := "A 50, B 0, C -5"; strings.Join(got, ", ") != want {
			t.Errorf("%s: %v, want %s", name, got, want)
		}
		told := false
		for _, found := range f.Findings {
			told = told || found.Code == finding.OwnBuffer && found.Amount == 2 && strings.HasSuffix(found.Text.String(), ": “A” 50.0 m and “C” 5.00 m inwards.")
			if found.Code == finding.BufferUnread {
				t.Errorf("%s: %s", name, found.Text)
			}
		}
		if !told {
			t.Errorf("%s: it is not told: %v", name, f.Findings)
		}
		f.IgnoreBuffers()
		for _, p := range f.Parts {
			if p.Buffer != 0 {
				t.Errorf("%s: %s keeps %v", name, p.Name, p.Buffer)
			}
		}
	}
}

func TestUnreadBuffers(t *testing.T) {
	const shape = `"geometry":{"type":"MultiPolygon","coordinates":[[[[7,47],[7.001,47],[7.001,47.001],[7,47]]],[[[8,47],[8.001,47],[8.001,47.001],[8,47]]]]}}`
	for _, tt := range []struct{ properties, want string }{
		{`"buffer":"wide"`, "The buffer “wide” of feature 1 is not a length such as 30 m or 100 ft, so it is not used; the part gets the buffer of the job."},
		{`"buffer":true`, "“true”"},
		{`"buffer":{"m":30}`, "“{\"m\":30}”"},
		{`"buffer":0`, "at the edge itself"},
		{`"buffer":20000`, "more than 10 km"},
		{`"buffer":30,"Buffer":40`, "“30” of feature 1 is not the only one: there is “40” too"},
	} {
		f, err := Read("a.geojson", []byte("{\"type\":\"Feature\",\n  \"properties\":{"+tt.properties+"},\n"+shape), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Findings) != 1 || f.Findings[0].Code != finding.BufferUnread || !strings.Contains(f.Findings[0].Text.String(), tt.want) {
			t.Errorf("%s: %v", tt.properties, f.Findings)
			continue
		}
		if p := f.Findings[0].Place; p.Line != 2 || p.Column < 17 || p.Feature != 1 || p.Part != 0 {
			t.Errorf("%s: the place is %+v", tt.properties, p)
		}
		if f.Parts[0].Buffer != 0 || f.Parts[1].Buffer != 0 {
			t.Errorf("%s: it is used", tt.properties)
		}
		if f.IgnoreBuffers(); len(f.Findings) != 0 {
			t.Errorf("%s: ignored it is told of still", tt.properties)
		}
	}
	// Twice the same is no question, and a point has no buffer to speak of.
	f, err := Read("a.geojson", []byte(`{"type":"Feature","properties":{"buffer":30,"BUFFER":30},`+shape), Options{})
	if err != nil || len(f.Findings) != 1 || f.Parts[1].Buffer != 30 {
		t.Errorf("%v, %v", f.Findings, err)
	}
	var many []string
	for range 40 {
		many = append(many, `{"type":"Feature","properties":{"buffer":"x"},`+shape)
	}
	f, err = Read("a.geojson", []byte(strings.Join(many, "\n")), Options{})
	if err != nil || len(f.Findings) != maxListed+1 || !strings.Contains(f.Findings[maxListed].Text.String(), "15 more features") {
		t.Errorf("%d findings, %v", len(f.Findings), err)
	}
}

// bufferTable is a .dbf with a name and a number in each row, as programs write
// it: the number right-aligned, 0 where there is none.
func bufferTable(rows ...string) []byte {
	columns := []struct {
		title string
		kind  byte
		size  int
	}{{"Buffer", 'N', 12}, {"NAME", 'C', 8}}
	head := make([]byte, 32+32*len(columns)+1)
	binary.LittleEndian.PutUint32(head[4:], uint32(len(rows)))
	binary.LittleEndian.PutUint16(head[8:], uint16(len(head)))
	binary.LittleEndian.PutUint16(head[10:], 1+12+8)
	for i, c := range columns {
		entry := head[32+32*i:]
		copy(entry, c.title)
		entry[11], entry[16] = c.kind, byte(c.size)
	}
	head[len(head)-1] = columnsEnd
	for i, row := range rows {
		head = fmt.Appendf(head, " %12sField %-2d", row, i+1)
	}
	return head
}

func TestShapefileBuffers(t *testing.T) {
	shape := polygonRecord(5, squareAt(8, 50, 1))
	data := made(5, shape, polygonRecord(5, squareAt(8, 54, 1)), polygonRecord(5, squareAt(8, 58, 1)), polygonRecord(5, squareAt(8, 62, 1)))
	read := func(rows ...string) *File {
		t.Helper()
		f, err := Read("a.shp", data, Options{Beside: map[string][]byte{".prj": []byte(wgs84PRJ), ".dbf": bufferTable(rows...)}})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	f := read("50.000", "-5", "0.000", "************")
	got := ""
	for _, p := range f.Parts {
		got += fmt.Sprintf("%s %g;", p.Name, p.Buffer)
	}
	if want := "Field 1 50;Field 2 -5;Field 3 0;Field 4 0;"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := codesAndSeverities(f.Findings), "buffer-unread:needs-answer own-buffer:note"; got != want {
		t.Errorf("findings %s, want %s", got, want)
	}
	// Rows that may be those of other features give no buffers.
	f = read("50.000", "-5")
	if got, want := codesAndSeverities(f.Findings), "names-unread:note"; got != want || f.Parts[0].Buffer != 0 {
		t.Errorf("findings %s, want %s; %v", got, want, f.Parts[0].Buffer)
	}
}
