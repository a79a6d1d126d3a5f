package boundary

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"testing"

	"selvage/boundary/finding"
)

func TestReadCSV(t *testing.T) {
	rows := func(lines ...string) string { return strings.Join(lines, "\n") }
	outline := []finding.Code{finding.RowsAsOutline}
	points := []finding.Code{finding.NoPolygon, finding.PointsNotArea}
	for _, tt := range []struct {
		name, text string
		parts      []string
		codes      []finding.Code
	}{
		{"closed", rows("lon,lat", "1,2", "3,2", "3,4", "1,2"), []string{"1.1  [4]"}, outline},
		{"open", rows("lon,lat", "1,2", "3,2", "3,4"), nil, points},
		{"open, one group", rows("field,lon,lat", "A,1,2", "A,3,2", "A,3,4"), []string{"1.1 A [3]"}, outline},
		{"latitude first", rows("Latitude (deg);Longitude (deg)", "2;1", "2;3", "4;3", "2;1"), []string{"1.1  [4]"}, outline},
		{"two groups, mixed rows", rows("field\tlng\tlat", "A\t1\t2", "B\t5\t2", "A\t3\t2", "B\t6\t2", "A\t3\t4", "B\t6\t4"), []string{"1.1 A [3]", "2.1 B [3]"}, outline},
		{"a group too small", rows("field,lon,lat", "A,1,2", "A,3,2", "A,3,4", "B,1,2", "B,1,2", "B,3,4"), nil, points},
		{"names of vertices, closed", rows("name,lon,lat", "P1,1,2", "P2,3,2", "P3,3,4", "P1,1,2"), []string{"1.1  [4]"}, outline},
		{"names of vertices, open", rows("name,lon,lat", "P1,1,2", "P2,3,2", "P3,3,4"), nil, points},
		{"names of areas", rows("name,lon,lat", "A,1,2", "A,3,2", "A,3,4", "B,1,2", "B,3,2", "B,3,4"), []string{"1.1 A [3]", "2.1 B [3]"}, outline},
		{"names within a feature", rows("polygon,name,lon,lat", "7,P1,1,2", "7,P2,3,2", "7,P3,3,4"), []string{"1.1 7 [3]"}, outline},
		{"name of a feature", rows("polygon,name,lon,lat", "7,A,1,2", "7,A,3,2", "7,A,3,4"), []string{"1.1 A [3]"}, outline},
		{"parts and rings", rows("field,part,ring,lon,lat", "A,1,1,1,2", "A,1,1,3,2", "A,1,1,3,4", "A,1,2,1.1,2.1", "A,1,2,1.2,2.1", "A,1,2,1.2,2.2", "A,2,1,5,2", "A,2,1,6,2", "A,2,1,6,4"),
			[]string{"1.1 A [3 3]", "1.2 A [3]"}, outline},
		{"holes", rows("hole,lon,lat", "no,1,2", "no,3,2", "no,3,4", "a,1.1,2.1", "a,1.2,2.1", "a,1.2,2.2", "b,2.1,2.1", "b,2.2,2.1", "b,2.2,2.2"),
			[]string{"1.1  [3 3 3]"}, outline},
		{"rings with a mark for holes", rows("ring,hole,lon,lat", "1,,1,2", "1,,3,2", "1,,3,4", "2,x,1.1,2.1", "2,x,1.2,2.1", "2,x,1.2,2.2", "3,,5,2", "3,,6,2", "3,,6,4"),
			[]string{"1.1  [3 3]", "1.2  [3]"}, outline},
		{"decimal commas", rows("lon;lat", "1,5;2,5", "3,5;2,5", "3,5;4,5", "1,5;2,5"), []string{"1.1  [4]"}, outline},
		{"quoted decimal commas", rows(`"lon","lat"`, `"1,5","2,5"`, `"3,5","2,5"`, `"3,5","4,5"`, `"1,5","2,5"`), []string{"1.1  [4]"}, outline},
		{"degrees, minutes and seconds", rows("lat,lon", `40°26'46"N,3°0'0"W`, `40 26 50 N,3 0 0 W`, `"40°26'50""N",W3:00:05`, `40°26'46"N,3°0'0"W`), []string{"1.1  [4]"}, outline},
		{"degrees in columns x and y", rows("x,y", "3°0'0\"W,40°26'46\"N", "3 W,41 N", "4 W,41 N", "3°0'0\"W,40°26'46\"N"), []string{"1.1  [4]"}, outline},
		{"typesetter's minus", rows("lon,lat", "−1,2", "3,2", "3,4", "−1,2"), []string{"1.1  [4]"}, outline},
		{"blank rows and ends", "\r\n lon , lat \r\n\r\n1,2\r\n,\r\n3,2,,\r\n3,4\r\n \r\n1,2", []string{"1.1  [4]"}, outline},
		{"old line ends", "lon,lat\r1,2\r3,2\r3,4\r1,2\r", []string{"1.1  [4]"}, outline},
		{"separator hint", "sep=;\r\nlon;lat\r\n1;2\r\n3;2\r\n3;4\r\n1;2\r\n", []string{"1.1  [4]"}, outline},
		{"only names", "lon,lat\n", nil, []finding.Code{finding.NoPolygon}},
		{"projected", rows("Easting (m),Northing (m)", "500000,5800000", "500100,5800000", "500100,5800100", "500000,5800000"), []string{"1.1  [4]"}, []finding.Code{finding.RowsAsOutline, finding.LooksProjected}},
		{"projected x and y", rows("point_x,point_y", "500000,5800000", "500100,5800000", "500100,5800100", "500000,5800000"), []string{"1.1  [4]"}, []finding.Code{finding.RowsAsOutline, finding.LooksProjected}},
		{"both kinds", rows("E,N,lon,lat", "500000,5800000,1,2", "500100,5800000,3,2", "500100,5800100,3,4", "500000,5800000,1,2"), []string{"1.1  [4]"}, outline},
		{"text that is not UTF-8", rows("field,lon,lat", "\xd6d,1,2", "\xd6d,3,2", "\xd6d,3,4"), []string{"1.1 Öd [3]"}, []finding.Code{finding.WrongEncoding, finding.RowsAsOutline}},
		{"shapes, one empty", "id;geom;name\n1;POLYGON((1 2,3 2,3 4,1 2));A\n;;\n2;;B\n", []string{"1.1 A [4]"}, []finding.Code{finding.NoGeometry}},
	} {
		f, err := Read("a.csv", []byte(tt.text), Options{})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got := summary(f); !slices.Equal(got, tt.parts) {
			t.Errorf("%s: parts %q, want %q", tt.name, got, tt.parts)
		}
		if got := codes(f); !slices.Equal(got, tt.codes) {
			t.Errorf("%s: findings %q, want %q", tt.name, got, tt.codes)
		}
	}
}

func TestReadCSVPlacesAndTexts(t *testing.T) {
	f, err := Read("a.csv", []byte("field,lon,lat\nA,1,2\nA,3,2\nA,3,4\nB,5,2\nB,6,2\nB,6,4\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := finding.Place{File: "a.csv", Line: 5, Column: 1, Feature: 2, Name: "B", Part: 1}
	if f.Parts[1].Place != want {
		t.Errorf("%+v", f.Parts[1].Place)
	}
	if got, want := f.Findings[0].Text.String(), "The rows of the table are taken as the vertices of 2 parts, in their order and grouped by the column “field”."; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
}

func TestReadCSVErrors(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"lon,lat\n1,2\n3,‹abc\n", "“abc” is not a latitude: one is written as 10.5, 10°30'00\"N"},
		{"lon,lat\n1,2\n‹3°N,2\n", "“3°N” is not a longitude: the letter N is for latitudes"},
		{"lat;lon\n1;2\n‹95°N;2\n", "“95°N” is not a latitude: it is more than 90 degrees"},
		{"x,y\n1,2\n3,‹abc\n", "“abc” in column y is not read: one is written as 10.5, 10°30'00\"N"},
		{"lon,lat\n1,2\n‹,2\n", "this row has no longitude"},
		{"lon,lat\n1,2\n‹3\n", "this row has no latitude"},
		{"lon,lat\n1,2\n‹nan,2\n", "“nan” is not a longitude: one is written as 10.5, 10°30'00\"E"},
		{"easting,northing\n1,‹2 N\n", "“2 N” is not a number"},
		{"lon,lat\n1,2\n3,‹\"4\n", "the quotation mark that begins here is never closed"},
		{"lon,lat,‹longitude\n1,2,3\n", "the columns “lon” and “longitude” could both be meant for longitude"},
		{"‹a,b,c\n1,2,3\n", "this looks like a table, but its first line “a,b,c” does not name columns for longitude and latitude or for easting and northing"},
		{"‹10.5;52.1\n10.6;52.1\n", "this looks like a table, but its first line “10.5;52.1” does not name columns for longitude and latitude or for easting and northing"},
		{"hole,lon,lat\n‹1,1,2\n1,3,2\n1,3,4\n", "this polygon has a hole but no outline before it"},
		{"easting,northing\n‹1,2\n3,2\n3,4\n1,2\n", "feature 1, part 1, ring 1, vertex 1: the columns are called easting and northing; please say in which coordinate system the numbers are (--crs)"},
		{"id,wkt\n1,\"‹POLYGON((\"\"1 2\"\"))\"\n", "feature 1: “POLYGON((\"1 2\"))” is not well-known text such as POLYGON((…))"},
		{"id,wkt\n1,\"POLYGON((1 2,‹3))\"\n", "feature 1, part 1, ring 1, vertex 2: this vertex has 1 number; it needs a longitude and a latitude"},
		{"id,wkt\n1,POINT(1 2)‹x\n", "feature 1: the text is damaged here: “x” stands where the end of the shape is expected"},
	} {
		text, line, column := marked(tt.text)
		want := fmt.Sprintf("a:%d:%d: %s", line, column, tt.want)
		if f, err := Read("a", []byte(text), Options{}); err == nil || err.Error() != want {
			t.Errorf("%q:\n got %v %v\nwant %s", text, f, err, want)
		}
	}
	if _, err := Read("a", []byte("lon,lat\n1,2\n"), Options{CRS: "EPSG:25832"}); err == nil || err.Error() != "a:1:1: the columns are called longitude and latitude, but the numbers are to be read in a system of eastings and northings" {
		t.Error(err)
	}
}

// A table with both kinds of columns is read in the system that is asked for.
func TestReadCSVChoosesColumns(t *testing.T) {
	const text = "lon,lat,E,N\n1,2,500000,5800000\n3,2,500100,5800000\n3,4,500100,5800100\n1,2,500000,5800000\n"
	f, err := Read("a", []byte(text), Options{CRS: "EPSG:32632"})
	if err != nil {
		t.Fatal(err)
	}
	if p := f.Parts[0].Polygon[0][0]; p[0] != 9 || p[1] < 52 || p[1] > 53 {
		t.Errorf("%v", p) // 500000 is the central meridian, 9 degrees east
	}
}

// Where encoding/csv finds cells, so do we.
func FuzzCells(f *testing.F) {
	f.Add("a,b\r\n\"1,\"\"5\",2\n\n x,,\"y\n z\"\n")
	f.Fuzz(func(t *testing.T, text string) {
		if strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") {
			return // a line end of ours that encoding/csv takes as text
		}
		r := csv.NewReader(strings.NewReader(text))
		r.FieldsPerRecord = -1
		r.TrimLeadingSpace = true
		want, err := r.ReadAll()
		if err != nil {
			return
		}
		c := cells{text: []byte(text), delimiter: ','}
		for _, record := range want {
			for i := range record {
				record[i] = strings.TrimSpace(strings.ReplaceAll(record[i], "\r", ""))
			}
			if len(record) == 1 && record[0] == "" {
				continue // a line of spaces, or an empty text in marks
			}
			row, err := c.row()
			for err == nil && len(row) == 1 && row[0].text == "" {
				row, err = c.row()
			}
			var got []string
			for _, cell := range row {
				got = append(got, strings.ReplaceAll(cell.text, "\r", ""))
			}
			if err != nil || !slices.Equal(got, record) {
				t.Fatalf("%q: got %q, want %q (%v)", text, got, record, err)
			}
		}
	})
}

func FuzzReadCSV(f *testing.F) {
	seeds(f, ".csv", func(data []byte) { f.Add(data) })
	f.Add([]byte("sep=;\nname;x;y;hole\nA;1,5;2;0\nA;3 W;2°3'4\"N;\n"))
	f.Add([]byte("easting\tnorthing\n1\t2\n"))
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data) })
}
