package boundary

import (
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// KML 2.3 (OGC 12-007r2) has tracks of its own, which 2.2 files borrow from
// another namespace; several documents may lie side by side or in one another.
func TestReadKMLKinds(t *testing.T) {
	const ring = "<outerBoundaryIs><LinearRing><coordinates>1,2 3,2 3,4 1,2</coordinates></LinearRing></outerBoundaryIs>"
	for _, tt := range []struct {
		name, text string
		parts      []string
		codes      []finding.Code
	}{
		{"documents side by side", "<kml><Document><Placemark><name>A</name><Polygon>" + ring + "</Polygon></Placemark></Document><Document><Folder><Document><Placemark><Polygon>" + ring + "</Polygon></Placemark></Document></Folder></Document></kml>",
			[]string{"1.1 A [4]", "2.1  [4]"}, nil},
		{"a polygon with everything", "<kml xmlns='http://www.opengis.net/kml/2.3'><Placemark><Polygon id='p'><extrude>1</extrude><tessellate>1</tessellate><altitudeMode>relativeToGround</altitudeMode><seaFloorAltitudeMode>clampToSeaFloor</seaFloorAltitudeMode>" + ring + "</Polygon></Placemark></kml>",
			[]string{"1.1  [4]"}, nil},
		{"tracks", "<kml xmlns='http://www.opengis.net/kml/2.3' xmlns:gx='http://www.google.com/kml/ext/2.2'><Placemark><Track><when/><coord>1 2 3</coord><coord>3 2 3</coord></Track></Placemark><Placemark><gx:MultiTrack><gx:interpolate>1</gx:interpolate><gx:Track><gx:coord>1 2 3</gx:coord><gx:coord/></gx:Track><gx:Track/></gx:MultiTrack></Placemark></kml>",
			nil, []finding.Code{finding.NoPolygon, finding.PathNotArea}},
		{"points without a readable position", "<kml><Placemark><Point/></Placemark><Placemark><Point><coordinates>x</coordinates></Point></Placemark><Placemark><Point><coordinates></coordinates></Point></Placemark></kml>",
			nil, []finding.Code{finding.NoPolygon, finding.PointsNotArea}},
	} {
		f, err := Read("a.kml", []byte(tt.text), Options{})
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

func TestReadKMLTrackErrors(t *testing.T) {
	for text, want := range map[string]string{
		"<coord>1</coord>":                         "a:1:31: feature 1, vertex 1: “1” is not a vertex of a track; one is longitude, latitude and height",
		"<coord>1 2 3</coord><coord>1,2,3</coord>": "a:1:51: feature 1, vertex 2: “1,2,3” is not a vertex of a track; one is longitude, latitude and height",
		"<coord>1 x</coord>":                       "a:1:31: feature 1, vertex 1: “1 x” is not a vertex of a track; one is longitude, latitude and height",
	} {
		if _, err := Read("a", []byte("<kml><Placemark><Track>"+text+"</Track></Placemark></kml>"), Options{}); err == nil || err.Error() != want {
			t.Errorf("%s:\n got %v\nwant %s", text, err, want)
		}
	}
}

// The quick way through a list of coordinates ends where the element does, so
// that what follows is read as before, faults and their places included.
func TestReadKMLAfterCoordinates(t *testing.T) {
	f, err := Read("a", []byte("<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>1,2 3,2\n3,4 1,2</coordinates><altitudeMode/></LinearRing></outerBoundaryIs>"+
		"<innerBoundaryIs><LinearRing><coordinates/></LinearRing><LinearRing><coordinates a='/'> 1.5,2.5,7 </coordinates ></LinearRing></innerBoundaryIs></Polygon>\n <name>Ä</name></Placemark>"+
		"<Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates></coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := summary(f); !slices.Equal(got, []string{"1.1 Ä [4 0 1]", "2.1  [0]"}) {
		t.Errorf("%q", got)
	}
	if got := f.Parts[0].Polygon[2][0]; got != (orb.Point{1.5, 2.5}) {
		t.Errorf("%v", got)
	}
	if p := f.Parts[1].Place; p.Line != 3 || p.Column != 39 {
		t.Errorf("%+v", p)
	}
	_, err = Read("a", []byte("<kml><Placemark><LineString><coordinates>1,2\n3,4</coordinates></LineString></Placemark><Placemark></Folder>"), Options{})
	if want := "a:2:63: feature 2: the XML is damaged here: element <Placemark> closed by </Folder>"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}
