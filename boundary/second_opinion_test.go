package boundary

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/geojson"
	"github.com/twpayne/go-geom/encoding/wkt"
)

// polygonsOf returns the rings of a go-geom area as orb has them.
func polygonsOf(t *testing.T, g geom.T) orb.MultiPolygon {
	t.Helper()
	var all orb.MultiPolygon
	add := func(p *geom.Polygon) {
		var polygon orb.Polygon
		for _, ring := range p.Coords() {
			var r orb.Ring
			for _, c := range ring {
				r = append(r, orb.Point{c[0], c[1]})
			}
			polygon = append(polygon, r)
		}
		all = append(all, polygon)
	}
	switch g := g.(type) {
	case *geom.Polygon:
		add(g)
	case *geom.MultiPolygon:
		for i := range g.NumPolygons() {
			add(g.Polygon(i))
		}
	default:
		t.Fatalf("not an area: %T", g)
	}
	return all
}

// The library go-geom reads the same numbers out of WKT.
func TestWKTAgainstGoGeom(t *testing.T) {
	for _, text := range []string{
		"POLYGON ((7.1 47.2, 7.3 47.2, 7.3 47.4, 7.1 47.2), (7.15 47.25, 7.2 47.25, 7.2 47.3, 7.15 47.25))",
		"MULTIPOLYGON (((7.1 47.2, 7.3 47.2, 7.3 47.4, 7.1 47.2)), ((8.123456789012345 -47.2, 8.3 -47.2, 8.3 -47.1, 8.123456789012345 -47.2)))",
		"POLYGON Z ((7.1 47.2 5, 7.3 47.2 6, 7.3 47.4 7, 7.1 47.2 5))",
	} {
		theirs, err := wkt.Unmarshal(text)
		if err != nil {
			t.Fatal(err)
		}
		f, err := Read("a.wkt", []byte(text), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var ours orb.MultiPolygon
		for _, part := range f.Parts {
			ours = append(ours, part.Polygon)
		}
		if want := polygonsOf(t, theirs); !ours.Equal(want) {
			t.Errorf("%s: %v, go-geom reads %v", text, ours, want)
		}
	}
}

// go-geom reads back what is written as GeoJSON.
func TestGeoJSONAgainstGoGeom(t *testing.T) {
	site, err := Mend(drawn(t, orb.Point{7, 47}, "POLYGON((0 0,4 0.3,4 3,2 3,2.2 5,0 4.5,0 0),(1 1,1 2,2 2,1 1))"), Choices{})
	if err != nil {
		t.Fatal(err)
	}
	flight, err := Expand(site, Margin{Buffer: 10})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := WriteGeoJSON(&out, flight.Areas); err != nil {
		t.Fatal(err)
	}
	var collection geojson.FeatureCollection
	if err := json.Unmarshal(out.Bytes(), &collection); err != nil {
		t.Fatal(err)
	}
	var all orb.MultiPolygon
	for _, f := range collection.Features {
		all = append(all, polygonsOf(t, f.Geometry)...)
	}
	if !all.Equal(flight.Shape()) {
		t.Errorf("go-geom reads %v\nwant %v", all, flight.Shape())
	}
}
