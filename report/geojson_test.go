package report

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/coverage"
)

// movedEast is a note of ground that runs on past 180 degrees.
func movedEast(n Note, degrees float64) Note {
	point := func(p orb.Point) orb.Point { return orb.Point{p.Lon() + degrees, p.Lat()} }
	polygon := func(p orb.Polygon) (out orb.Polygon) {
		for _, r := range p {
			var moved orb.Ring
			for _, q := range r {
				moved = append(moved, point(q))
			}
			out = append(out, moved)
		}
		return out
	}
	area := func(mp orb.MultiPolygon) (out orb.MultiPolygon) {
		for _, p := range mp {
			out = append(out, polygon(p))
		}
		return out
	}
	n.SiteArea, n.FlightArea, n.KeepOut = area(n.SiteArea), area(n.FlightArea), area(n.KeepOut)
	a := n.Audit
	for i := range a.Zones {
		a.Zones[i].Shape, a.Zones[i].Label = polygon(a.Zones[i].Shape), point(a.Zones[i].Label)
	}
	for i := range a.Refly {
		a.Refly[i].Shape = polygon(a.Refly[i].Shape)
	}
	for i := range a.Edge.Stretches {
		var path orb.LineString
		for _, p := range a.Edge.Stretches[i].Path {
			path = append(path, point(p))
		}
		a.Edge.Stretches[i].Path = path
	}
	for i := range a.Points {
		a.Points[i].Position = point(a.Points[i].Position)
	}
	for i := range a.Shots {
		a.Shots[i].Position, a.Shots[i].Footprint = point(a.Shots[i].Position), polygon(orb.Polygon{a.Shots[i].Footprint})[0]
	}
	for _, pieces := range [][]coverage.Piece{a.OneLine.Pieces, a.GSDByPlace.Coarse.Pieces} {
		for i := range pieces {
			pieces[i].Shape = polygon(pieces[i].Shape)
		}
	}
	return n
}

type geoFeature struct {
	Properties struct{ Role string }
	Geometry   json.RawMessage
}

func geoFeatures(t *testing.T, text string) []geoFeature {
	t.Helper()
	var collection struct{ Features []geoFeature }
	if err := json.Unmarshal([]byte(text), &collection); err != nil {
		t.Fatal(err)
	}
	return collection.Features
}

// Nothing in the file lies beyond 180 or -180 degrees or runs around the globe
// (RFC 7946, 3.1.9), and nothing is lost by that. The reader is simplefeatures,
// which refuses shapes that are not valid.
func TestGeoJSONAcrossTheAntimeridian(t *testing.T) {
	const seam = 250.0 // metres from the west side of the site
	across := func() Note {
		n := fakeNote()
		n.Audit.Edge.Stretches = append(n.Audit.Edge.Stretches, coverage.Stretch{Path: orb.LineString{local(200, 0), local(249, 1), local(330, 3)}})
		return n
	}
	n := movedEast(across(), 180-local(seam, 0).Lon())
	text := render(t, n, WriteGeoJSON)
	whole := geoFeatures(t, render(t, across(), WriteGeoJSON))
	cut := map[string]int{}
	for i, f := range geoFeatures(t, text) {
		role := f.Properties.Role
		got, err := geom.UnmarshalGeoJSON(f.Geometry)
		if err != nil {
			t.Errorf("%s: %v", role, err)
			continue
		}
		want, err := geom.UnmarshalGeoJSON(whole[i].Geometry)
		if err != nil {
			t.Fatal(err)
		}
		if got.Type() != want.Type() {
			cut[role]++
		}
		for _, piece := range got.Dump() {
			low, high, _ := piece.Envelope().MinMaxXYs()
			if low.X < -180 || high.X > 180 || high.X-low.X > 1 {
				t.Errorf("%s: from longitude %v to %v", role, low.X, high.X)
			}
		}
		// Sizes in degrees do not change as the ground moves east, but for the
		// rounding to 8 decimals.
		if math.Abs(got.Area()-want.Area()) > 3e-5*want.Area() || got.Type() != geom.TypePoint && math.Abs(got.Length()-want.Length()) > 1e-6 && got.Area() == 0 {
			t.Errorf("%s: an area of %v and a length of %v, want %v and %v", role, got.Area(), got.Length(), want.Area(), want.Length())
		}
	}
	if cut["zone"] != 1 || cut["stretch"] != 1 || cut["footprint"] == 0 {
		t.Errorf("cut are %v", cut)
	}
}

// Polygons run counter-clockwise and holes clockwise after the cut as well
// (RFC 7946, 3.1.6).
func TestCutShapesKeepTheRightHandRule(t *testing.T) {
	n := movedEast(fakeNote(), 180-local(155, 0).Lon()) // through the pond
	for _, f := range geoFeatures(t, render(t, n, WriteGeoJSON)) {
		g, err := geom.UnmarshalGeoJSON(f.Geometry)
		if err != nil {
			t.Fatal(err)
		}
		for _, piece := range g.Dump() {
			if p, ok := piece.AsPolygon(); ok && !p.IsCCW() {
				t.Errorf("%s: %s", f.Properties.Role, p.AsText())
			}
		}
	}
}
