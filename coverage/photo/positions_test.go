package photo

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/paulmach/orb"
)

func readTable(t *testing.T, text string) ([]Photo, []LeftOut) {
	t.Helper()
	photos, left, err := ReadPositions("positions.csv", []byte(text), TableLimits{})
	if err != nil {
		t.Fatal(err)
	}
	return photos, left
}

// The same photo in every spelling of a table.
func TestReadPositionsDialects(t *testing.T) {
	want := New("a.jpg", orb.Point{7.1234, 48.5678})
	want.Altitude, want.AltitudeDatum, want.Height = 312.5, UnknownDatum, 100
	want.Yaw, want.Pitch, want.Roll = 270, -90, 1.5
	want.PositionError = 0.02
	want.Time, want.TimeSource = time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC), TimeFromTable
	want.Sources = Sources{Table, Table, Table, Table, Table, Table, Table, Table}
	for name, text := range map[string]string{
		"usual order":    "file,lon,lat,alt_m,height_m,yaw_deg,pitch_deg,roll_deg,position_error_m,time\na.jpg,7.1234,48.5678,312.5,100,270,-90,1.5,0.02,2026-05-01T08:00:00Z\n",
		"any order":      "time,position_error_m,roll_deg,pitch_deg,yaw_deg,height_m,alt_m,lat,lon,file\n2026-05-01T10:00:00+02:00,0.02,1.5,-90,-90,100,312.5,48.5678,7.1234,a.jpg",
		"other columns":  "id,file,lon,lat,note,alt_m,height_m,yaw_deg,pitch_deg,roll_deg,position_error_m,time,id\n1,a.jpg,7.1234,48.5678,\"one, two\",312.5,100,270,-90,1.5,0.02,2026-05-01T08:00:00Z,1\n",
		"marks and CRLF": "\uFEFFFile,LON,Lat,Alt_m,Height_m,Yaw_deg,Pitch_deg,Roll_deg,position_error_m,Time\r\na.jpg,7.1234,48.5678,312.5,100,270,-90,1.5,0.02,2026-05-01T08:00:00Z\r\n\r\n",
		"old line ends":  "file,lon,lat,alt_m,height_m,yaw_deg,pitch_deg,roll_deg,position_error_m,time\ra.jpg,7.1234,48.5678,312.5,100,270,-90,1.5,0.02,2026-05-01T08:00:00Z\r",
		"decimal comma":  "file;lon;lat;alt_m;height_m;yaw_deg;pitch_deg;roll_deg;position_error_m;time\na.jpg;7,1234;48,5678;312,5;100;270,0;-90;1.5;0,02;2026-05-01T08:00:00Z\n",
		"tabs":           "file\tlon\tlat\talt_m\theight_m\tyaw_deg\tpitch_deg\troll_deg\tposition_error_m\ttime\na.jpg\t7,1234\t48.5678\t312.5\t1e2\t270\t-90\t1.5\t0.02\t2026-05-01T08:00:00Z\n",
		"quotes, blanks": "\n\"file\",\"lon\", lat ,alt_m,height_m,yaw_deg,pitch_deg,roll_deg,position_error_m,time\n\"a.jpg\",\"7.1234\", 48.5678 ,312.5,100,270,-90,1.5,0.02,2026-05-01T08:00:00.000Z,,\n,,,\n",
		"ragged rows":    "file;lon;lat;alt_m;height_m;yaw_deg;pitch_deg;roll_deg;position_error_m;time;a,b,c\na.jpg;7.1234;48.5678;312.5;100;270;-90;1.5;0.02;2026-05-01T08:00:00Z;x\n",
	} {
		t.Run(name, func(t *testing.T) {
			photos, left := readTable(t, text)
			if len(photos) != 1 || len(left) != 0 {
				t.Fatalf("%d photos, left out %v", len(photos), left)
			}
			got, want := photos[0], want
			got.Time = got.Time.UTC()
			// Not !=, since unknown numbers are NaN.
			if fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", want) {
				t.Errorf("got  %+v\nwant %+v", got, want)
			}
		})
	}
}

func TestReadPositionsUnknown(t *testing.T) {
	photos, left := readTable(t, "lon,lat,alt_m,file,time\n\n1,2\n3,4,,,\n5,6,7,b.jpg,2026-05-01 10:00:00\n5,6,7,b.jpg,2026-05-01T10:00:00.5\n")
	if len(photos) != 4 || len(left) != 0 {
		t.Fatalf("%d photos, left out %v", len(photos), left)
	}
	for i, name := range []string{"row 3", "row 4", "b.jpg", "b.jpg"} {
		if photos[i].File != name {
			t.Errorf("photo %d is called %q, want %q", i, photos[i].File, name)
		}
	}
	if !math.IsNaN(photos[1].Altitude) || photos[1].AltitudeDatum != "" || !math.IsNaN(photos[1].Yaw) || !photos[1].Time.IsZero() {
		t.Errorf("blank cells came out as %+v", photos[1])
	}
	for i, want := range []string{"2026-05-01T10:00:00Z", "2026-05-01T10:00:00.5Z"} {
		p := photos[2+i]
		if p.Time.Format(time.RFC3339Nano) != want || p.TimeSource != TimeFromTableAsUTC {
			t.Errorf("time %v %q, want %s", p.Time, p.TimeSource, want)
		}
	}
}

func TestReadPositionsLeftOut(t *testing.T) {
	const header = "file,lon,lat,alt_m,yaw_deg,pitch_deg,time\n"
	for _, c := range []struct{ row, reason string }{
		{"a.jpg,,48", "line 2, column 2 (lon): no value"},
		{"a.jpg,7", "line 2, column 3 (lat): no value"},
		{"a.jpg,7,north", `line 2, column 3 (lat): "north" is not a number`},
		{"a.jpg,7,NaN", `line 2, column 3 (lat): "NaN" is not a number`},
		{"a.jpg,7,+Inf", `line 2, column 3 (lat): "+Inf" is not a number`},
		{"a.jpg,7,0x30", `line 2, column 3 (lat): "0x30" is not a number`},
		{"a.jpg,7,1e999", `line 2, column 3 (lat): "1e999" is not a number`},
		{`a.jpg,"7,5",48`, `line 2, column 2 (lon): "7,5" is not a number`},
		{"a.jpg,48,91", "line 2, column 3 (lat): 91 is not between -90 and 90"},
		{"a.jpg,-180.1,4", "line 2, column 2 (lon): -180.1 is not between -180 and 180"},
		{"a.jpg,0,0", "line 2: position is 0, 0: the receiver had no fix"},
		{"a.jpg,7,48,high", `line 2, column 4 (alt_m): "high" is not a number`},
		{"a.jpg,7,48,1,361", "line 2, column 5 (yaw_deg): 361 is not between -360 and 360"},
		{"a.jpg,7,48,1,0,-181", "line 2, column 6 (pitch_deg): -181 is not between -180 and 180"},
		{"a.jpg,7,48,1,0,-90,noon", `line 2, column 7 (time): "noon" is not a time such as 2026-05-01T10:00:00Z`},
		{"a.jpg,7,48,1,0,-90,2026-02-30T10:00:00Z", `line 2, column 7 (time): "2026-02-30T10:00:00Z" is not a time such as 2026-05-01T10:00:00Z`},
		{"a.jpg,7,1234,48,5678,0,0,-90,", "line 2: it has 9 cells where the header has 7"},
		{"a.jpg,7,48," + strings.Repeat(" ", mostLineBytes), "line 2: it is longer than 64 KiB"},
		{`a.jpg,7,48,"`, "line 2, character 13: a quotation mark is out of place"},
		{`a".jpg,7,48`, "line 2, character 2: a quotation mark is out of place"},
	} {
		t.Run(c.reason, func(t *testing.T) {
			photos, left := readTable(t, header+c.row+"\nb.jpg,7,48\n")
			if len(photos) != 1 || photos[0].File != "b.jpg" {
				t.Errorf("the sound row after it came out as %v", photos)
			}
			if len(left) != 1 || left[0].Reason.String() != c.reason {
				t.Fatalf("left out %q, want %q", left, c.reason)
			}
			want := "a.jpg"
			if strings.Contains(c.reason, "quotation") || strings.Contains(c.reason, "KiB") {
				want = "row 2"
			}
			if left[0].File != want {
				t.Errorf("left out as %q, want %q", left[0].File, want)
			}
		})
	}
}

func TestReadPositionsCountsLines(t *testing.T) {
	for _, end := range []string{"\n", "\r\n", "\r"} {
		_, left := readTable(t, strings.ReplaceAll("\nlon,lat\n1,2\n\n3,x\n", "\n", end))
		if len(left) != 1 || left[0].File != "row 5" || left[0].Reason.String() != `line 5, column 2 (lat): "x" is not a number` {
			t.Errorf("line ends %q: left out %v", end, left)
		}
	}
}

func TestReadPositionsDecimalCommaIsOneNumber(t *testing.T) {
	photos, left := readTable(t, "lon;lat\n1,234;2\n1.234,5;2\n1,234,5;2\n")
	if len(photos) != 1 || photos[0].Position[0] != 1.234 || len(left) != 2 {
		t.Errorf("%v, left out %v", photos, left)
	}
}

func TestReadPositionsRefuses(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "positions.csv: the table is empty"},
		{"blank", "\uFEFF\r\n \n", "positions.csv: the table is empty"},
		{"no header", "a.jpg,7,48\n", "positions.csv:1: the header needs the columns lon and lat; found: a.jpg, 7, 48"},
		{"other names", "\nname;x;y\n1;2;3\n", "positions.csv:2: the header needs the columns lon and lat; found: name, x, y"},
		{"no lat", "file,lon\n", "positions.csv:1: the header needs the columns lon and lat; found: file, lon"},
		{"column twice", "lon,lat,Lat\n", "positions.csv:1: the column lat is there twice"},
		{"wide", strings.Repeat("c,", 40) + "c", "positions.csv:1: the header needs the columns lon and lat; found: " + strings.Repeat("c, ", 29) + "c and 11 more"},
		{"open quotation mark", "\"lon,lat\n1,2\n", "positions.csv:1: the header is unreadable, character 9: a quotation mark is out of place"},
		{"endless header", "lon,lat," + strings.Repeat("c,", mostLineBytes), "positions.csv:1: the header is unreadable: it is longer than 64 KiB"},
		{"UTF-16", "\xFF\xFEl\x00o\x00", "positions.csv: the table is UTF-16 text; save it as CSV in UTF-8"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := ReadPositions("positions.csv", []byte(c.text), TableLimits{})
			if err == nil || err.Error() != c.want {
				t.Errorf("said %v\nwant %s", err, c.want)
			}
		})
	}
	table := []byte("lon,lat\n1,2\n1,3\n")
	for want, lim := range map[string]TableLimits{
		"":                            {Bytes: int64(len(table)), Rows: 2},
		"larger than the limit of":    {Bytes: int64(len(table)) - 1, Rows: 2},
		"more rows than the limit of": {Bytes: int64(len(table)), Rows: 1},
	} {
		if _, _, err := ReadPositions("positions.csv", table, lim); (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("a table with the limits %+v: %v", lim, err)
		}
	}
}

// Every line that says anything is a photo or is left out.
func FuzzPositions(f *testing.F) {
	f.Add([]byte("file,lon,lat,alt_m,height_m,yaw_deg,pitch_deg,roll_deg,position_error_m,time\na.jpg,7.1234,48.5678,312.5,100,270,-90,1.5,0.02,2026-05-01T08:00:00Z\n"))
	f.Add([]byte("lon;lat\r\n1,5;2\r\nx;y\r\n"))
	f.Add([]byte("\uFEFFlat\tlon\n\"1\"\t2\n\"\n"))
	f.Add([]byte("file,lon,lat," + strings.Join(listColumns, ",") + "\n'=a.jpg,7,48,ellipsoid,GPS,,DNG,'=c,lens,6000,4000,8.8,13.2,8.8,sensor,1.1,0.001,2.8,100,1.5,0.8,6,corrected table,Exif,XMP,Exif,XMP,Exif,Exif,\nb.jpg,,,,,,,,,,,,,,,,,,,,,,,,,,,,,no position\n"))
	f.Add([]byte("lon,lat,altitude_datum,alt_m,altitude_source,time,time_source,yaw_deg,yaw_source\n7,48,sea level,312,Exif,2026-05-01T08:00:00Z,GPS,-0,corrected table\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		photos, left, err := ReadPositions("t.csv", data, TableLimits{})
		if err != nil {
			return
		}
		for _, p := range photos {
			if p.File == "" {
				t.Error("a photo without a name")
			}
			// A table may give of a camera what it likes; what is there must be numbers.
			if p.CameraSource = ""; p.Camera.SensorWidth > 0 {
				p.CameraSource = "table"
			}
			checkWhole(t, p)
		}
		listed := strings.Contains(strings.ToLower(string(data)), columnLeftOut) // with reasons of its own
		for _, l := range left {
			if l.File == "" || l.Reason.String() == "" || !listed && !strings.HasPrefix(l.Reason.String(), "line ") {
				t.Errorf("left out as %+v", l)
			}
		}
		said := 0
		for line := range lines(bytes.TrimPrefix(data, []byte("\uFEFF"))) {
			if strings.TrimFunc(line, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(`,;"`, r) }) != "" {
				said++
			}
		}
		if said > 1+len(photos)+len(left) {
			t.Errorf("%d lines, %d photos, %d left out", said, len(photos), len(left))
		}
	})
}
