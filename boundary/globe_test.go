package boundary

import (
	"bytes"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// A job across the antimeridian comes out cut there, and is whole again when
// it is read: RFC 7946, 3.1.9.
func TestAcrossTheAntimeridian(t *testing.T) {
	site, err := Mend(drawn(t, orb.Point{179.998, -17}, "POLYGON((0 0,4 0.3,4 3,2 3,2.2 5,0 4.5,0 0))"), Choices{})
	if err != nil {
		t.Fatal(err)
	}
	flight, err := Expand(site, Margin{Buffer: 30})
	if err != nil {
		t.Fatal(err)
	}
	var job, kml bytes.Buffer
	if err := WriteJob(&job, Job{Site: site.Areas, Flight: flight.Areas}); err != nil {
		t.Fatal(err)
	}
	if err := WriteKML(&kml, "across", flight.Areas); err != nil {
		t.Fatal(err)
	}
	back, err := Read("across.kml", kml.Bytes(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(back.Parts) != 2 {
		t.Errorf("%d parts, want one on each side", len(back.Parts))
	}
	written, err := Read("job.geojson", job.Bytes(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range written.Parts {
		if b := part.Polygon.Bound(); b.Min[0] < -180 || b.Max[0] > 180 {
			t.Errorf("the record reaches from longitude %v to %v", b.Min[0], b.Max[0])
		}
	}
	record, err := ReadJob(job.Bytes(), Limits{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		shape orb.MultiPolygon
		want  float64
	}{
		{"site", record.Site[0].Shape, site.Area},
		{"flight", record.Flight[0].Shape, flight.Area},
	} {
		if got := plane.GeodesicArea(c.shape); len(c.shape) != 1 || math.Abs(got-c.want) > 1 {
			t.Errorf("%s: %d pieces of %v m², want one of %v", c.name, len(c.shape), got, c.want)
		}
	}
}
