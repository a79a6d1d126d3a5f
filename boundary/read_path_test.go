package boundary

import (
	"slices"
	"testing"

	"selvage/boundary/finding"
)

func TestClosePath(t *testing.T) {
	const tail = ", since that was asked for. "
	for _, tt := range []struct {
		name, text string
		parts      []string
		codes      []finding.Code
		closed     string
	}{
		{"path", `{"type":"LineString","coordinates":[[1,0],[1.001,0],[1.001,0.001],[1,0.001],[1,0.0001]]}`, []string{"1.1  [6]"}, nil,
			"A path of 5 sides is taken as the outline of an area" + tail + "Its ends lay 11.1 m apart; they are joined with a straight side."},
		{"closed path", `{"type":"Feature","id":"A","geometry":{"type":"LineString","coordinates":[[1,0],[1.001,0],[1.001,0.001],[1,0]]}}`, []string{"1.1 A [4]"}, nil,
			"The path “A” is taken as the outline of an area" + tail + "It ends where it begins."},
		{"a stretch missing", `{"type":"LineString","coordinates":[[1,0],[1.001,0],[1.001,0.001]]}`, []string{"1.1  [4]"}, nil,
			"A path of 3 sides is taken as the outline of an area" + tail + "Its ends lay 157 m apart; they are joined with a straight side. That is far for a path of 222 m: a stretch may be missing."},
		{"path too short", `{"type":"LineString","coordinates":[[1,0],[1.001,0],[1,0],[1.001,0]]}`, nil, []finding.Code{finding.NoPolygon, finding.PathNotArea}, ""},
		{"polygons go before paths", "GEOMETRYCOLLECTION(LINESTRING(1 2,3 2,3 4),POLYGON((5 2,6 2,6 4,5 2)),POINT(1 2))\nPOLYGON((7 2,8 2,8 4,7 2))",
			[]string{"1.1  [4]", "1.2  [4]", "2.1  [4]"}, []finding.Code{finding.PointsNotArea}, "A path"},
		{"points beside a polygon", "GEOMETRYCOLLECTION(MULTIPOINT(1 2,3 2,3 4),POLYGON((5 2,6 2,6 4,5 2)))", []string{"1.1  [4]"}, []finding.Code{finding.PointsNotArea}, ""},
		{"points of a feature", "MULTIPOINT(1 0,1.001 0,1.001 0.001)\nPOINT(5 5)", []string{"1.1  [4]"}, []finding.Code{finding.PointsNotArea},
			"3 points are taken as the outline of an area" + tail + "They are joined in the order of the file; the side from the last to the first is 157 m long."},
		{"points of a file", "POINT(1 0)\nPOINT(1.001 0)\nPOINT(1.001 0.001)", []string{"1.1  [4]"}, nil, "3 points are"},
		{"points beside a short path", "POINT(1 0)\nPOINT(1.001 0)\nPOINT(1.001 0.001)\nLINESTRING(1 2,3 4)", []string{"1.1  [4]"}, []finding.Code{finding.PathNotArea}, "3 points are"},
		{"two points", "POINT(1 0)\nPOINT(1.001 0)\nPOINT(1 0)", nil, []finding.Code{finding.NoPolygon, finding.PointsNotArea}, ""},
		{"rows", "lon,lat\n1,2\n3,2\n3,4\n", []string{"1.1  [4]"}, nil, "3 points are"},
		{"rows with names", "name,lon,lat\nP1,1,2\nP2,3,2\nP3,3,4\n", []string{"1.1  [4]"}, nil, "3 points are"},
		{"tracks", "<kml><Placemark><name>W</name><MultiTrack><Track><coord>1 2 3</coord><coord/><coord>3 2 0</coord><coord>3 4</coord></Track><Track><coord>1 2 3</coord></Track></MultiTrack></Placemark></kml>",
			[]string{"1.1 W [4]"}, []finding.Code{finding.PathNotArea}, "The path “W” is"},
		{"marks in KML", "<kml><Document><Placemark><Point><coordinates> 1,2,0 </coordinates></Point></Placemark></Document><Document><Placemark><Point><coordinates>3,2</coordinates></Point></Placemark><Folder><Placemark><Point><coordinates>3,4</coordinates></Point></Placemark><Placemark><Point><coordinates/></Point></Placemark><Placemark><Model/></Placemark></Folder></Document></kml>",
			[]string{"1.1  [4]"}, nil, "3 points are"},
		{"off the earth", "LINESTRING(500000 5800000,500100 5800000,500100 5800100)", []string{"1.1  [4]"}, []finding.Code{finding.LooksProjected},
			"A path of 3 sides is taken as the outline of an area" + tail + "Its ends are joined with a straight side."},
	} {
		f, err := Read("a", []byte(tt.text), Options{ClosePath: true})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got := summary(f); !slices.Equal(got, tt.parts) {
			t.Errorf("%s: parts %q, want %q", tt.name, got, tt.parts)
		}
		var rest []finding.Code
		closed := ""
		for _, x := range f.Findings {
			if x.Code != finding.PathClosed {
				rest = append(rest, x.Code)
				continue
			}
			closed = x.Text.String()
			if x.Severity != finding.Mended || x.Place.Feature == 0 || x.Place.Part == 0 || x.Unit != "m" && x.Amount != 0 {
				t.Errorf("%s: %+v", tt.name, x)
			}
		}
		if !slices.Equal(rest, tt.codes) {
			t.Errorf("%s: findings %q, want %q", tt.name, rest, tt.codes)
		}
		if len(closed) < len(tt.closed) || closed[:len(tt.closed)] != tt.closed || tt.closed == "" && closed != "" {
			t.Errorf("%s:\n got %s\nwant %s", tt.name, closed, tt.closed)
		}
	}
}

// Without being asked to close them, a file of paths or points says that it
// can be done.
func TestClosePathHint(t *testing.T) {
	const path, points = " If the path walks around the site, it can be taken as its outline (--close-path).",
		" If the points stand around the site in their order, they can be taken as its outline (--close-path)."
	for text, want := range map[string]string{
		"LINESTRING(1 2,3 2,3 4)":                             path,
		"LINESTRING(1 2,3 2)":                                 "",
		"MULTIPOINT(1 2,3 2,3 4)":                             points,
		"MULTIPOINT(1 2,3 2,3 4)\nLINESTRING(1 2,3 2)":        points,
		"POINT(1 2)\nPOINT(3 2)\nPOINT(3 4)":                  points,
		"POINT(1 2)\nPOINT(3 2)\nPOINT(3 4)\nLINESTRING(1 2)": points,
		"POINT(1 2)\nPOINT(3 2)":                              "",
		"lon,lat\n1,2\n3,2\n3,4\n":                            points,
	} {
		f, err := Read("a", []byte(text), Options{})
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		const before = " Ask the client for the area as a polygon."
		got := f.Findings[0].Text.String()
		if at := len(got) - len(before+want); f.Findings[0].Code != finding.NoPolygon || at < 0 || got[at:] != before+want {
			t.Errorf("%s: %s", text, got)
		}
	}
}
