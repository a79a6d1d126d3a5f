package plane

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
)

// latLonRing makes a closed ring of latitudes and longitudes in turn.
func latLonRing(latLon ...float64) orb.Ring {
	var ring orb.Ring
	for i := 0; i < len(latLon); i += 2 {
		ring = append(ring, orb.Point{latLon[i+1], latLon[i]})
	}
	return append(ring, ring[0])
}

func degreesOf(d, m, s float64) float64 { return math.Copysign(math.Abs(d)+m/60+s/3600, d) }

func TestGeodesicDistance(t *testing.T) {
	for _, c := range []struct {
		name            string
		from, to        orb.Point
		want, tolerance float64
	}{
		// GDA Technical Manual, on GRS 80, which differs from WGS 84 by 0.1 mm
		// in its smaller axis; section from memory, value confirmed with
		// GeographicLib's GeodSolve.
		{"Flinders Peak to Buninyong",
			orb.Point{degreesOf(144, 25, 29.52440), degreesOf(-37, 57, 3.72030)},
			orb.Point{degreesOf(143, 55, 35.38390), degreesOf(-37, 39, 10.15610)}, 54972.271, 1e-3},
		// Example of the GeographicLib documentation.
		{"JFK to LHR", orb.Point{-73.8, 40.6}, orb.Point{-0.5, 51.6}, 5551759.400, 1e-3},
		// First line of Karney's GeodTest, as in the test cases of GeographicLib.
		{"GeodTest, first line", orb.Point{-139.44815, 35.60777}, orb.Point{-69.95921, -11.17491}, 8935244.5604818305, 1e-6},
		// C. F. F. Karney, "Algorithms for geodesics", arXiv:1102.1215; place
		// in the text from memory, value confirmed with GeodSolve.
		{"meridian quadrant", orb.Point{30, 0}, orb.Point{30, 90}, 10001965.729, 1e-3},
		// A degree of latitude about each: GeodSolve. The American Practical
		// Navigator's table agrees to the metre (table number from memory).
		{"degree at 0", orb.Point{9, -0.5}, orb.Point{9, 0.5}, 110574.3040, 1e-4},
		{"degree at 45", orb.Point{9, 44.5}, orb.Point{9, 45.5}, 111131.7777, 1e-4},
		{"degree at 75", orb.Point{9, 74.5}, orb.Point{9, 75.5}, 111618.3593, 1e-4},
		{"across the 180th meridian", orb.Point{179.5, 0}, orb.Point{-179.5, 0}, 111319.4908, 1e-4},
		{"nowhere", orb.Point{5, 6}, orb.Point{5, 6}, 0, 0},
	} {
		if got := GeodesicDistance(c.from, c.to); !(math.Abs(got-c.want) <= c.tolerance) {
			t.Errorf("%s: %v m, want %v", c.name, got, c.want)
		}
	}
}

func TestGeodesicAreaAndPerimeter(t *testing.T) {
	square := latLonRing(0, 0, 0, 1, 1, 1, 1, 0)
	clockwise := latLonRing(0, 0, 1, 0, 1, 1, 0, 1)
	for _, c := range []struct {
		name                       string
		mp                         orb.MultiPolygon
		area, areaTolerance        float64
		perimeter, lengthTolerance float64
	}{
		// Example of the GeographicLib library documentation.
		{"Antarctica", orb.MultiPolygon{{latLonRing(
			-63.1, -58, -72.9, -74, -71.9, -102, -74.9, -102, -74.3, -131, -77.5, -163, -77.4, 163, -71.7, 172, -65.9, 140,
			-65.7, 113, -66.6, 88, -66.9, 59, -69.8, 25, -70.0, -4, -71.0, -14, -77.3, -33, -77.9, -46, -74.7, -61)}},
			13662703680020.1, 0.1, 16831067.893, 1e-3},
		// An eighth of the ellipsoid, 510065621724088.5 m² by closed form;
		// GeographicLib test suite. Three quadrants, one on the equator.
		{"octant", orb.MultiPolygon{{latLonRing(0, 0, 0, 90, 90, 0)}}, 63758202715511.06, 0.1,
			2*10001965.729313 + math.Pi/2*6378137, 1e-3},
		// GeographicLib test suite; citation from memory, value confirmed with
		// its Planimeter.
		{"a degree square", orb.MultiPolygon{{square}}, 12308778361.469, 1e-2, 443770.917, 1e-3},
		{"a degree square, clockwise", orb.MultiPolygon{{clockwise}}, 12308778361.469, 1e-2, 443770.917, 1e-3},
		// GeographicLib test suite, Planimeter0.
		{"diamond", orb.MultiPolygon{{latLonRing(0, -1, -1, 0, 0, 1, 1, 0)}}, 24619419146, 1, 627598.2731, 1e-4},
		// By the rows above: an area less the same area, whatever the winding.
		{"hole as large as the outline", orb.MultiPolygon{{square, clockwise}}, 0, 0, 2 * 443770.917, 2e-3},
		{"two holes too many", orb.MultiPolygon{{square, square, square}}, 0, 0, 3 * 443770.917, 3e-3},
		{"two parts", orb.MultiPolygon{{square}, {latLonRing(0, 179, 0, 180, 1, 180, 1, 179)}}, 2 * 12308778361.469, 2e-2, 2 * 443770.917, 2e-3},
		{"past 180", orb.MultiPolygon{{latLonRing(0, 179.5, 0, 180.5, 1, 180.5, 1, 179.5)}}, 12308778361.469, 1e-2, 443770.917, 1e-3},
		{"nothing", nil, 0, 0, 0, 0},
		{"empty rings", orb.MultiPolygon{{}, {{}}, {{{1, 2}}}}, 0, 0, 0, 0},
	} {
		if got := GeodesicArea(c.mp); !(math.Abs(got-c.area) <= c.areaTolerance) {
			t.Errorf("%s: area %v m², want %v", c.name, got, c.area)
		}
		if got := GeodesicPerimeter(c.mp); !(math.Abs(got-c.perimeter) <= c.lengthTolerance) {
			t.Errorf("%s: perimeter %v m, want %v", c.name, got, c.perimeter)
		}
	}
	// Planimeter0 again: counter-clockwise is positive.
	if area, _ := ringMeasures(geodesic.WGS84, latLonRing(0, -1, -1, 0, 0, 1, 1, 0)); math.Abs(area-24619419146) > 1 {
		t.Errorf("signed area %v", area)
	}
}

func TestUnwrap(t *testing.T) {
	for _, c := range []struct {
		name     string
		mp, want orb.MultiPolygon
	}{
		{"nothing to do", orb.MultiPolygon{{squareRing(5, 5, 9)}}, orb.MultiPolygon{{squareRing(5, 5, 9)}}},
		{"eastwards", orb.MultiPolygon{{{{179, 0}, {-179, 0}, {-179, 1}, {179, 0}}}}, orb.MultiPolygon{{{{179, 0}, {181, 0}, {181, 1}, {179, 0}}}}},
		{"westwards", orb.MultiPolygon{{{{-179, 0}, {179, 0}, {179, 1}, {-179, 0}}}}, orb.MultiPolygon{{{{-179, 0}, {-181, 0}, {-181, 1}, {-179, 0}}}}},
		{"hole and part beyond", orb.MultiPolygon{{{{179, 0}, {-178, 0}, {-178, 2}, {179, 0}}, {{-179, 1}, {-178.5, 1}, {-179, 1.5}, {-179, 1}}}, {{{-170, 0}, {-169, 0}, {-169, 1}, {-170, 0}}}},
			orb.MultiPolygon{{{{179, 0}, {182, 0}, {182, 2}, {179, 0}}, {{181, 1}, {181.5, 1}, {181, 1.5}, {181, 1}}}, {{{190, 0}, {191, 0}, {191, 1}, {190, 0}}}}},
		{"cut in two as RFC 7946, 3.1.9, asks", orb.MultiPolygon{{{{170, 0}, {180, 0}, {180, 1}, {170, 0}}}, {{{-180, 0}, {-170, 0}, {-180, 1}, {-180, 0}}}},
			orb.MultiPolygon{{{{170, 0}, {180, 0}, {180, 1}, {170, 0}}}, {{{180, 0}, {190, 0}, {180, 1}, {180, 0}}}}},
		{"round the pole stays closed", orb.MultiPolygon{{{{0, 89}, {120, 89}, {-120, 89}, {0, 89}}}}, orb.MultiPolygon{{{{0, 89}, {120, 89}, {240, 89}, {0, 89}}}}},
		{"empty", orb.MultiPolygon{{}, {{}}}, orb.MultiPolygon{{}, {{}}}},
	} {
		if got := Unwrap(c.mp); !got.Equal(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestWrapPoint(t *testing.T) {
	for lon, want := range map[float64]float64{0: 0, 180: 180, -180: -180, 181: -179, -181: 179, 359: -1, 725: 5, -540.5: 179.5} {
		if got := WrapPoint(orb.Point{lon, 7}); got != (orb.Point{want, 7}) {
			t.Errorf("longitude %v: %v, want %v", lon, got[0], want)
		}
	}
}
