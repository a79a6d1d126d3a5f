package crs

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/wroge/wgs84/v2"
)

// on is a system of p on any ellipsoid, taken as WGS 84: the published
// examples are of projections alone, on ellipsoids of datums that are refused.
func on(t testing.TB, spheroid wgs84.Spheroid, u unit, p projection) System {
	t.Helper()
	s, err := System{name: "example", spheroid: spheroid, unit: u}.onto(p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func dms(d, m, s float64) float64 { return d + m/60 + s/3600 }

// clarke1866 by the figures of EPSG 7008, a and b.
var clarke1866 = wgs84.Spheroid{A: 6378206.4, Fi: 6378206.4 / (6378206.4 - 6356583.8)}

var texas = projection{method: lambert2, lat0: dms(27, 50, 0), lon0: -99, sp1: dms(28, 23, 0), sp2: dms(30, 17, 0), easting: 2000000 * 1200.0 / 3937}

func TestPublishedExamples(t *testing.T) {
	britain := projection{method: transverseMercator, lat0: 49, lon0: -2, scale: 0.9996012717, easting: 400000, northing: -100000}
	airy := wgs84.Spheroid{A: 6377563.396, Fi: 299.32496}
	tests := []struct {
		name      string
		s         System
		lon, lat  float64
		east, nth float64
		within    float64 // of the system's unit
	}{
		// Snyder, Map Projections: A Working Manual, USGS Professional Paper
		// 1395, pp. 269-270; printed to 0.1 m.
		{"Snyder, transverse Mercator", on(t, clarke1866, metre, projection{method: transverseMercator, lon0: -75, scale: 0.9996}),
			-73.5, 40.5, 127106.5, 4484124.4, 0.06},
		{"the same as UTM zone 18", on(t, clarke1866, metre, projection{method: transverseMercator, lon0: -75, scale: 0.9996, easting: 500000}),
			-73.5, 40.5, 627106.5, 4484124.4, 0.06},
		// The same, pp. 295-298.
		{"Snyder, Lambert conformal conic", on(t, clarke1866, metre, projection{method: lambert2, lat0: 23, lon0: -96, sp1: 33, sp2: 45}),
			-75, 35, 1894410.9, 1564649.5, 0.06},
		// IOGP Publication 373-7-2, method 9807. The printed figures, 577274.99
		// and 69740.50, are missed by up to 8 mm with the scale factor that
		// the example states, by PROJ as well; with 0.9996013 they are met.
		{"EPSG 9807, British National Grid", on(t, airy, metre, britain), 0.5, 50.5, 577274.99, 69740.50, 0.01},
		{"EPSG 9807, scale factor rounded", on(t, airy, metre, projection{transverseMercator, 49, -2, 0.9996013, 0, 0, 400000, -100000}),
			0.5, 50.5, 577274.99, 69740.50, 0.006},
		// The same, method 9802: NAD27 / Texas South Central, US survey feet.
		{"EPSG 9802, Texas South Central", on(t, clarke1866, usSurveyFoot, texas), -96, 28.5, 2963503.91, 254759.80, 0.006},
		// The same, method 9801: JAD69 / Jamaica National Grid (figures from memory).
		{"EPSG 9801, Jamaica", on(t, clarke1866, metre, projection{method: lambert1, lat0: 18, lon0: -77, scale: 1, easting: 250000, northing: 150000}),
			-dms(76, 56, 37.26), dms(17, 55, 55.80), 255966.58, 142493.51, 0.006},
	}
	for _, tt := range tests {
		got, err := tt.s.FromWGS84(orb.Point{tt.lon, tt.lat})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if math.Abs(got[0]-tt.east) > tt.within || math.Abs(got[1]-tt.nth) > tt.within {
			t.Errorf("%s: %.4f %.4f, published %.2f %.2f", tt.name, got[0], got[1], tt.east, tt.nth)
		}
		back, err := tt.s.ToWGS84(orb.Point{tt.east, tt.nth})
		const degreesPerMetre = 1e-5 // on the generous side
		if err != nil || math.Abs(back[0]-tt.lon) > tt.within*degreesPerMetre || math.Abs(back[1]-tt.lat) > tt.within*degreesPerMetre {
			t.Errorf("%s: back to %.9f %.9f (%v)", tt.name, back[0], back[1], err)
		}
	}
}

// Over the easting of the Texas example the two feet differ by 1.81 m:
// 2963503.91 x (1200/3937 - 0.3048) = 1.806 m.
func TestWhichFoot(t *testing.T) {
	ft, us := on(t, clarke1866, foot, texas), on(t, clarke1866, usSurveyFoot, texas)
	p := orb.Point{2963503.91, 254759.80}
	a, err := us.ToWGS84(p)
	if err != nil {
		t.Fatal(err)
	}
	b, err := ft.ToWGS84(p)
	if err != nil {
		t.Fatal(err)
	}
	east := (a[0] - b[0]) * math.Pi / 180 * 6378206.4 * math.Cos(a[1]*math.Pi/180)
	north := (a[1] - b[1]) * math.Pi / 180 * 6.36e6
	// The projection's own scale is within 1 in 5000 of 1 here.
	if apart := math.Hypot(east, north); math.Abs(apart-1.81) > 0.02 {
		t.Errorf("the feet differ by %.3f m (%.3f east, %.3f north)", apart, east, north)
	}
	if usSurveyFoot.metres != 0.3048006096012192 {
		t.Errorf("US survey foot of %v m", usSurveyFoot.metres)
	}
}

// A cone over the south pole is the mirror image of one over the north pole.
func TestSouthernCone(t *testing.T) {
	north := projection{method: lambert2, lat0: 37, lon0: 145, sp1: 36, sp2: 38, easting: 2500000, northing: 100000}
	south := projection{method: lambert2, lat0: -37, lon0: 145, sp1: -36, sp2: -38, easting: 2500000, northing: -100000}
	a, err := on(t, wgs84.GRS80, metre, north).FromWGS84(orb.Point{146, 38.5})
	if err != nil {
		t.Fatal(err)
	}
	b, err := on(t, wgs84.GRS80, metre, south).FromWGS84(orb.Point{146, -38.5})
	if err != nil {
		t.Fatal(err)
	}
	if a[0] != b[0] || a[1] != -b[1] {
		t.Errorf("%v is not the mirror image of %v", b, a)
	}
}

func TestOutside(t *testing.T) {
	for _, tt := range []struct {
		system string
		p      orb.Point
	}{
		{"EPSG:32632", orb.Point{math.NaN(), 0}},
		{"EPSG:32632", orb.Point{0, math.Inf(1)}},
		{"EPSG:32632", orb.Point{20_500_000, 5_000_000}},
		{"EPSG:32632", orb.Point{500_000, 30_000_000}},
		{"EPSG:32632", orb.Point{-9e15, 5e15}},
		{"EPSG:3857", orb.Point{20_040_000, 0}},
		{"EPSG:3857", orb.Point{1e300, 1e300}},
		{"EPSG:2277", orb.Point{1e9, 1e9}},
		{"EPSG:3111", orb.Point{2.5e6, -1e8}},
		{"EPSG:27700", orb.Point{2_000_000, 200_000}}, // far east of Great Britain
		{"EPSG:4277", orb.Point{200, 52}},
		{"EPSG:4326", orb.Point{math.NaN(), 52}},
	} {
		s, err := Parse(tt.system)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := s.ToWGS84(tt.p); err == nil {
			t.Errorf("%s takes %v to %v", tt.system, tt.p, got)
		}
	}
}

// The antimeridian: longitudes come out within the usual range, and lead back.
func TestAntimeridian(t *testing.T) {
	for _, name := range []string{"EPSG:32601", "EPSG:32660", "EPSG:32701", "NZGD2000 / Chatham Islands TM 2000"} {
		s, err := Parse(name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, lon := range []float64{179.9, 180, -180, -179.9} {
			p, err := s.FromWGS84(orb.Point{lon, -44})
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			back, err := s.ToWGS84(p)
			if err != nil || math.Abs(back[0]) > 180 || math.Abs(math.Remainder(back[0]-lon, 360)) > 1e-9 {
				t.Errorf("%s: %v comes back as %v (%v)", name, lon, back, err)
			}
		}
	}
}

func BenchmarkToWGS84(b *testing.B) {
	for _, code := range []string{"EPSG:32632", "EPSG:2277", "EPSG:27700", "EPSG:3857"} {
		s, err := Parse(code)
		if err != nil {
			b.Fatal(err)
		}
		p, err := s.FromWGS84(orb.Point{s.lon0 + 1, 51})
		if err != nil {
			b.Fatal(err)
		}
		b.Run(code, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.ToWGS84(p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
