package coverage

import "testing"

const (
	foot = 0.3048
	inch = 0.0254
	mile = 5280.0 // feet
)

func TestPlanningFormulas(t *testing.T) {
	// US Navy, Photography (Advanced), NAVEDTRA 14208, ch. 4, "Scale".
	near(t, "6 in lens at 5000 ft, scale number", GroundSide(1, 6*inch, 5000*foot), 10000, 1e-9)
	near(t, "10 in lens at 5000 ft, scale number", GroundSide(1, 10*inch, 5000*foot), 6000, 1e-9)
	// The same, p. 4-21: 9000 ft wide with 40 % side lap gain 5400 ft a line,
	// 3.24 in at 1:20000.
	gain := LineSpacing(0.40, 9000)
	near(t, "ground gained sideways, ft", gain, 5400, 1e-9)
	near(t, "and on the map, in", gain*12/20000, 3.24, 1e-9)
	// Wolf, Dewitt & Wilkinson, Elements of Photogrammetry, 4th ed. (2014),
	// Ex. 18-1 (from memory).
	side := GroundSide(0.23, 0.1524, 2440)
	near(t, "ground side, m", side, 3682, 0.5)
	near(t, "forward overlap", ForwardOverlap(1400, side), 0.620, 0.0005)
	// A public exercise: 23 cm at 1:10000 with 30 % side overlap.
	near(t, "line spacing, m", LineSpacing(0.30, GroundSide(0.23, 1, 10000)), 1610, 1e-9)
	// Aber, Marzolff & Ries, Small-Format Aerial Photography, ch. 9: a 20 mm
	// lens at 1:8108 flies at 162.16 m; 22.2 mm cover 180 m, 14.8 mm 120 m.
	near(t, "scale number at 162.16 m", GroundSide(1, 0.020, 162.16), 8108, 0.5)
	near(t, "ground of 22.2 mm, m", GroundSide(22.2, 20, 162.16), 180, 0.05)
	near(t, "ground of 14.8 mm, m", GroundSide(14.8, 20, 162.16), 120, 0.05)
	// The identity GSD = p·H/f.
	near(t, "GSD of 2.4 µm, 8.8 mm at 100 m", GSD(2.4e-6, 8.8e-3, 100), 0.02727, 5e-6)
}

// The flight map of Wolf, Dewitt & Wilkinson, ch. 18: 10 by 6.5 miles at
// 1:12000 on 9 inch film, 60/30 (problem as published, solution from memory).
func TestFlightMap(t *testing.T) {
	side := GroundSide(9*inch, 6*inch, 6000) // feet, as the height
	near(t, "ground side, ft", side, 9000, 1e-9)
	near(t, "line spacing, ft", LineSpacing(0.30, side), 6300, 1e-9)
	base := AirBase(0.60, side)
	near(t, "air base, ft", base, 3600, 1e-9)
	across := 6.5*mile - 2*0.2*side // first and last line 0.2 G within the area
	near(t, "spaces between lines", across/LineSpacing(0.30, side), 4.88, 0.005)
	// 6 lines have 5 spaces; the outer lines keep (½ − PS)·G within the area,
	// so 6.5 miles = 5·(1 − PS)·G + 2·(½ − PS)·G.
	adjusted := (6 - 6.5*mile/side) / 7
	near(t, "side overlap for 6 lines", adjusted, 0.3124, 0.00005)
	near(t, "line spacing for 6 lines, ft", LineSpacing(adjusted, side), 6188.6, 0.05)
	near(t, "and back", SideOverlap(6188.6, side), adjusted, 0.00001)
	// One more than the spaces, and two beyond each end.
	near(t, "photos a line", 10*mile/base+1+2+2, 19.67, 0.005)
	near(t, "forward overlap for 20 photos", ForwardOverlap(10*mile/(20-5), side), 0.609, 0.0005)
}

// By derivation: an endless regular flight shows each place 1/((1−PE)(1−PS)) times.
func TestMeanViews(t *testing.T) {
	for _, c := range []struct{ forward, side, want float64 }{
		{0.60, 0, 2.5}, {0.75, 0, 4}, {0.80, 0, 5}, {0.90, 0, 10},
		{0.60, 0.30, 3.57}, {0.75, 0.60, 10}, {0.75, 0.75, 16}, {0.80, 0.70, 16.67}, {0.80, 0.80, 25},
	} {
		near(t, "mean views", MeanViews(c.forward, c.side), c.want, 0.005)
	}
}

// By derivation: ground 20 m higher under a flight at 100 m shrinks pixels and
// footprints to 0.8 and 75 % overlap to 68.75 %; 20 m lower makes it 79.2 %.
func TestOverlapOverRelief(t *testing.T) {
	base := AirBase(0.75, GroundSide(15, 10, 100))
	near(t, "overlap on high ground", ForwardOverlap(base, GroundSide(15, 10, 80)), 0.6875, 1e-12)
	near(t, "overlap on low ground", ForwardOverlap(base, GroundSide(15, 10, 120)), 0.792, 0.0005)
	near(t, "GSD on high ground", GSD(5e-6, 0.01, 80)/GSD(5e-6, 0.01, 100), 0.8, 1e-12)
}
