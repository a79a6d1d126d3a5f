package coverage

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
	"selvage/coverage/sequence"
)

func film(focalLength, side float64) photo.Camera {
	return photo.Camera{SensorWidth: side, SensorHeight: side, FocalLength: focalLength, Columns: 10_000, Rows: 10_000}
}

// Worked examples of handbooks, each with where it is published.
func TestPublishedLayouts(t *testing.T) {
	layout := func(s Setup) Layout {
		t.Helper()
		l, err := s.Layout()
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	const in, ft = 25.4, foot // millimetres, metres
	// US Navy, Photography (Advanced), NAVEDTRA 14208, ch. 4, "Scale".
	near(t, "6 in at 5000 ft, scale number", layout(Setup{Camera: film(6*in, 9*in), Height: 5000 * ft}).Scale, 10_000, 1e-6)
	near(t, "10 in at 5000 ft, scale number", layout(Setup{Camera: film(10*in, 9*in), Height: 5000 * ft}).Scale, 6000, 1e-6)
	// The same, p. 4-21: 9000 ft wide with 40 % side lap gain 5400 ft a line.
	nine := Setup{Camera: film(6*in, 9*in), Height: 6000 * ft, Side: 0.40}
	near(t, "ground width, ft", layout(nine).FootprintAcross/ft, 9000, 1e-6)
	near(t, "ground gained sideways, ft", layout(nine).LineSpacing/ft, 5400, 1e-6)
	// Wolf, Dewitt & Wilkinson, Elements of Photogrammetry, 4th ed. (2014),
	// Ex. 18-1 (from memory): 62.0 % give a base of 1400 m.
	near(t, "ground side, m", layout(Setup{Camera: film(152.4, 230), Height: 2440}).FootprintAlong, 3682, 0.5)
	near(t, "air base, m", layout(Setup{Camera: film(152.4, 230), Height: 2440, Forward: 0.620}).AirBase, 1400, 1)
	// A public exercise: 23 cm at 1:10000 with 30 % side overlap.
	near(t, "line spacing, m", layout(Setup{Camera: film(150, 230), Height: 1500, Side: 0.30}).LineSpacing, 1610, 1e-9)
	// Aber, Marzolff & Ries, Small-Format Aerial Photography, ch. 9: 20 mm at
	// 1:8108 flies at 162.16 m; 22.2 mm cover 180 m and 14.8 mm 120 m.
	small := photo.Camera{SensorWidth: 22.2, SensorHeight: 14.8, FocalLength: 20, Columns: 3456, Rows: 2304}
	got := layout(Setup{Camera: small, Height: 162.16})
	near(t, "scale number", got.Scale, 8108, 0.5)
	near(t, "ground across, m", got.FootprintAcross, 180, 0.05)
	near(t, "ground along, m", got.FootprintAlong, 120, 0.05)
	small.SensorWidth, small.SensorHeight, small.Columns, small.Rows = 14.8, 22.2, 2304, 3456
	turned := layout(Setup{Camera: small, Height: 162.16, WidthAlong: true})
	near(t, "turned, ground across, m", turned.FootprintAcross, 180, 0.05)
	near(t, "turned, ground along, m", turned.FootprintAlong, 120, 0.05)
	// The identity GSD = p·H/f: 2.4 µm and 8.8 mm at 100 m, and back.
	fine := photo.Camera{SensorWidth: 12, SensorHeight: 9, FocalLength: 8.8, Columns: 5000, Rows: 3750}
	near(t, "GSD, m", layout(Setup{Camera: fine, Height: 100}).GSD, 0.02727, 5e-6)
	near(t, "height of that GSD, m", layout(Setup{Camera: fine, GSD: 2.4e-6 / 8.8e-3 * 100}).Height, 100, 1e-9)
}

func TestPublishedCounts(t *testing.T) {
	same := func(what string, got, want int) {
		t.Helper()
		if got != want {
			t.Errorf("%s: %d, want %d", what, got, want)
		}
	}
	// The flight map of Wolf, Dewitt & Wilkinson, ch. 18: 10 by 6.5 miles at
	// 1:12000 on 9 inch film, 60/30 (problem as published, solution from memory).
	lines, photos := filmLines(6.5*mile, 0.30, 9000), filmLinePhotos(10*mile, 3600)
	same("flight map, lines", lines, 6)
	same("flight map, photos a line", photos, 20)
	same("flight map, photos", lines*photos, 120)
	// US Navy, Photography (Advanced), NAVEDTRA 14208, ch. 4, "Number of
	// exposures": a strip of 10 nautical miles is 60800 ft there; the length
	// over the ground gained and 4 more, the width over it and 1 more.
	same("mosaic, photos a line", mosaicLinePhotos(60_800, 3600), 21) // 16.9 + 4
	same("mosaic, even spaces", mosaicLinePhotos(10*3600, 3600), 14)
	same("mosaic, lines", mosaicLines(27_000, 5400), 6)
	// Indian textbooks (Punmia, Surveying II, from memory): 1 cm to 100 m,
	// 20 × 20 cm, 60/30, 100 km²: 1.12 km² net, 90 photos.
	const side = 2000.0
	same("by area", areaPhotos(100e6, AirBase(0.60, side), LineSpacing(0.30, side)), 90)
	// Ours, by hand.
	same("a photo at both ends", LinePhotos(100, 20), 6)
	same("not a whole number of bases", LinePhotos(101, 20), 7)
	same("a point", LinePhotos(0, 20), 1)
	same("0.3 is 3 times 0.1", LinePhotos(0.3, 0.1), 4)
	same("an exact number of strips", FlightLines(300, 100), 3)
	same("a little more", FlightLines(300.1, 100), 4)
	same("narrower than a spacing", FlightLines(5, 100), 1)
}

// US Navy, Photography (Advanced), NAVEDTRA 14208, ch. 4: the interval is the
// ground gained over the ground speed, with the fraction dropped so that the
// overlap rises. 125 knots are 212.5 ft/s there, 210.98 by the exact knot.
func TestPublishedInterval(t *testing.T) {
	knots := 125 * 1852 / foot / 3600
	near(t, "125 knots in ft/s", knots, 210.98, 0.005)
	near(t, "the manual's factor", 212.5/knots, 1.007, 0.0005)
	interval := math.Trunc(3600 / 212.5)
	near(t, "interval, s", interval, 16, 0)
	if v := TriggerSpeed(3600, interval); v < 212.5 {
		t.Errorf("at that interval %v ft/s are allowed", v)
	}
	if pe := ForwardOverlap(212.5*interval, 9000); pe < 0.60 {
		t.Errorf("the overlap fell to %v", pe)
	}
}

// By derivation: blur is v·t/GSD.
func TestBlurSpeed(t *testing.T) {
	near(t, "1 px at 1/500 s and 2 cm", BlurSpeed(1, 0.02, 1.0/500), 10, 1e-12)
	near(t, "0.55 px at 1/1000 s and 2.73 cm", BlurSpeed(0.55, 0.0273, 1.0/1000), 15, 0.05)
}

func planInput(course float64) PlanInput {
	return PlanInput{Setup: setup(0.80, 0.75), Course: course} // base 15 m, spacing 25 m
}

func plan(t *testing.T, area orb.MultiPolygon, in PlanInput) Plan {
	t.Helper()
	p, err := PlanFlight(ground.ToDegrees(area), in)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// By hand: 300 m wide and 200 m long, flown north and south, takes 12 lines of
// 200 m, 13.33 bases and so 15 photos each, and 11 ways of 25 m between them.
func TestPlanOfRectangle(t *testing.T) {
	in := planInput(0)
	in.Blur, in.ExposureTime, in.TriggerInterval, in.TurnTime = 1, 1.0/800, 2, 5
	p := plan(t, rectangle(0, 0, 300, 200), in)
	near(t, "area", p.Area, 60_000, 1)
	near(t, "lines", float64(p.Lines), 12, 0)
	near(t, "photos", float64(p.Photos), 12*15, 0)
	near(t, "length of lines", p.LineLength, 2400, 0.1)
	near(t, "track", p.Track, 2400+11*25, 0.1)
	near(t, "width", p.Parts[0].Width, 300, 0.02)
	near(t, "GSD", p.GSD, 0.025, 1e-12)
	near(t, "speed by blur", p.BlurSpeed, 20, 1e-9)
	near(t, "speed by trigger", p.TriggerSpeed, 7.5, 1e-9)
	near(t, "speed", p.Speed, 7.5, 1e-9)
	near(t, "interval", p.Interval, 2, 1e-9)
	near(t, "flight time", p.FlightTime, 2675/7.5+12*5, 0.1)
	near(t, "photo size", p.PhotoSize, 6, 1e-9) // 12 million pixels
	near(t, "storage", p.Storage, 12*15*6, 1e-9)
	if p.SpeedSetBy != SetByTrigger {
		t.Errorf("speed set by %s", p.SpeedSetBy)
	}
	// The first line goes north 12.5 m within the west edge or south within the
	// east one, and the second comes back.
	first, second := p.Parts[0].Lines[0], p.Parts[0].Lines[1]
	for what, pair := range map[string][2]orb.Point{
		"first from": {first.From, {12.5, 0}}, "first to": {first.To, {12.5, 200}},
		"second from": {second.From, {37.5, 200}}, "second to": {second.To, {37.5, 0}},
	} {
		if at := ground.Metres(pair[0]); distance(at, pair[1]) > 0.02 {
			t.Errorf("%s %v, want %v", what, at, pair[1])
		}
	}
	best := plan(t, rectangle(0, 0, 300, 200), planInput(math.NaN()))
	if c := best.Parts[0].Course; best.Lines != 8 || math.Abs(c-90) > 0.01 {
		t.Errorf("best: %d lines on course %v, want 8 on 90", best.Lines, c)
	}
	south := plan(t, rectangle(0, 0, 300, 200), planInput(180))
	if l := south.Parts[0].Lines[0]; ground.Metres(l.To)[1] > ground.Metres(l.From)[1] {
		t.Errorf("the first line of course 180 leads north")
	}
}

// By hand: a U 100 m wide, open to the north, its arms 30 m wide; and a ring.
func TestPlanOfConcaveAreas(t *testing.T) {
	u := orb.MultiPolygon{{{{0, 0}, {100, 0}, {100, 100}, {70, 100}, {70, 25}, {30, 25}, {30, 100}, {0, 100}, {0, 0}}}}
	p := plan(t, u, planInput(90)) // lines at 87.5, 62.5, 37.5 and 12.5 from the south
	for i, l := range p.Parts[0].Lines {
		pieces, inside := 2, 60.0
		if i == 3 {
			pieces, inside = 1, 100.0
		}
		if l.Pieces != pieces {
			t.Errorf("line %d has %d pieces, want %d", i+1, l.Pieces, pieces)
		}
		near(t, "inside", l.Inside, inside, 0.02)
		near(t, "flown", l.Length, 100, 0.02)
		if l.Photos != 8 { // 6.67 bases
			t.Errorf("line %d has %d photos", i+1, l.Photos)
		}
	}
	ring := rectangle(0, 0, 100, 100)
	ring[0] = append(ring[0], orb.Ring{{40, 40}, {40, 60}, {60, 60}, {60, 40}, {40, 40}})
	p = plan(t, ring, planInput(0)) // lines at 12.5, 37.5, 62.5 and 87.5: none over the hole
	near(t, "inside, beside the hole", p.Parts[0].Lines[1].Inside, 100, 0.02)
	ring[0][1] = orb.Ring{{35, 40}, {35, 60}, {60, 60}, {60, 40}, {35, 40}}
	p = plan(t, ring, planInput(0))
	near(t, "inside, over the hole", p.Parts[0].Lines[1].Inside, 80, 0.02)
	near(t, "flown, over the hole", p.Parts[0].Lines[1].Length, 100, 0.02)
}

// A line through two corners is flown from one to the other.
func TestLineThroughCorners(t *testing.T) {
	diamond := orb.Polygon{{{0, -50}, {37.5, 0}, {0, 50}, {-37.5, 0}, {0, -50}}}
	s := newSweep(diamond, 0, 25)
	inside, err := s.inside()
	if err != nil || s.lines != 3 {
		t.Fatalf("%d lines, %v", s.lines, err)
	}
	for i, want := range []float64{100.0 / 3, 100, 100.0 / 3} {
		f := s.flown()[i]
		near(t, "flown", f.to-f.from, want, 1e-9)
		near(t, "inside", inside[i][0].to-inside[i][0].from, want, 1e-9)
	}
}

// longStar returns a random polygon about 0, 0, longer than wide.
func longStar(random *rand.Rand, corners int, size float64) orb.MultiPolygon {
	flat := 0.2 + 0.8*random.Float64()
	var ring orb.Ring
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*random.Float64()) / float64(corners))
		r := size * (0.3 + 0.7*random.Float64())
		ring = append(ring, orb.Point{r * cos, flat * r * sin})
	}
	return orb.MultiPolygon{{append(ring, ring[0])}}
}

// Every line's length within the area must be what simplefeatures cuts from it.
func TestLinesAgainstOverlay(t *testing.T) {
	random := rand.New(rand.NewPCG(45, 46))
	for range 25 {
		polygon := star(random) // with a hole
		course := random.Float64() * 360
		s := newSweep(polygon, course, 25)
		inside, err := s.inside()
		if err != nil {
			t.Fatal(err)
		}
		var rings [][]float64
		for _, ring := range polygon {
			var flat []float64
			for _, p := range ring {
				flat = append(flat, p[0], p[1])
			}
			rings = append(rings, flat)
		}
		area := geom.NewPolygonXY(rings...).AsGeometry()
		sin, cos := math.Sincos(course * math.Pi / 180)
		for line := range s.lines {
			x, y := s.across(line)*cos, -s.across(line)*sin
			endless := geom.NewLineStringXY(x-1e3*sin, y-1e3*cos, x+1e3*sin, y+1e3*cos).AsGeometry()
			cut, err := geom.Intersection(area, endless)
			if err != nil {
				t.Fatal(err)
			}
			var length float64
			for _, piece := range inside[line] {
				length += piece.to - piece.from
			}
			near(t, "length inside", length, cut.Length(), 1e-6)
		}
	}
}

// No course in steps of a degree may take fewer lines than the best, nor as
// many with a shorter track.
func TestBestCourseAgainstEveryDegree(t *testing.T) {
	random := rand.New(rand.NewPCG(47, 48))
	for range 40 {
		area := longStar(random, 3+random.IntN(12), 400)
		best := plan(t, area, planInput(math.NaN()))
		for degrees := range 180 {
			sin, cos := math.Sincos(float64(degrees) * math.Pi / 180)
			least, most := math.Inf(1), math.Inf(-1)
			for _, p := range area[0][0] {
				d := p[0]*cos - p[1]*sin
				least, most = min(least, d), max(most, d)
			}
			lines := int(math.Ceil((most - least) / 25))
			if lines < best.Lines && math.Abs((most-least)/25-float64(lines)) > 1e-4 {
				t.Errorf("course %d takes %d lines, the best %v takes %d", degrees, lines, best.Parts[0].Course, best.Lines)
			}
			if degrees%9 == 0 {
				other := plan(t, area, planInput(float64(degrees)))
				if other.Lines == best.Lines && other.Track < best.Track-1e-6 {
					t.Errorf("course %d has a track of %v m, the best %v one of %v m", degrees, other.Track, best.Parts[0].Course, best.Track)
				}
			}
		}
	}
}

func TestLeastWidth(t *testing.T) {
	random := rand.New(rand.NewPCG(49, 50))
	for range 60 {
		var points []orb.Point
		for range 3 + random.IntN(60) {
			points = append(points, orb.Point{math.Round(random.NormFloat64() * 20), math.Round(random.NormFloat64() * 7)})
		}
		hull := convexHull(points)
		if len(hull) < 3 {
			continue
		}
		along, width := leastWidth(hull)
		near(t, "width along its course", widthAcross(points, along), width, 1e-9)
		for i := range points { // the course of least width joins two of the points
			for j := range i {
				if points[i] != points[j] {
					if w := widthAcross(points, sequence.Course(points[i], points[j])); w < width-1e-9 {
						t.Fatalf("width %v, but %v across %v–%v", width, w, points[i], points[j])
					}
				}
			}
		}
	}
}

// The strips that the lines stand for must make up the area.
func TestLinesMakeUpTheArea(t *testing.T) {
	random := rand.New(rand.NewPCG(51, 52))
	for range 10 {
		area := longStar(random, 12, 3000)
		p := plan(t, area, planInput(random.Float64()*180))
		var inside float64
		for _, l := range p.Parts[0].Lines {
			inside += l.Inside
		}
		near(t, "area by strips over area", inside*p.LineSpacing/areaOf(area), 1, 0.01)
		near(t, "spacings over width", float64(p.Lines)*p.LineSpacing, p.Parts[0].Width+p.LineSpacing/2, p.LineSpacing/2+1e-6)
	}
}

func TestPlanOfParts(t *testing.T) {
	a, b := rectangle(0, 0, 300, 200), rectangle(1000, 0, 1100, 400)
	in := planInput(math.NaN())
	one, two := plan(t, a, in), plan(t, b, in)
	both := plan(t, append(a, b...), in)
	if len(both.Parts) != 2 || both.Lines != one.Lines+two.Lines || both.Photos != one.Photos+two.Photos {
		t.Errorf("%d lines and %d photos, the parts take %d and %d, %d and %d",
			both.Lines, both.Photos, one.Lines, two.Lines, one.Photos, two.Photos)
	}
	near(t, "track", both.Track, one.Track+two.Track, 0.01)
	near(t, "course of the second part", both.Parts[1].Course, 0, 0.01)
}

func TestPlanAcrossTheAntimeridian(t *testing.T) {
	here, there := rectangle(-150, 0, 150, 200), rectangle(-150, 0, 150, 200)
	want := plan(t, here, planInput(0))
	for i, p := range there[0][0] {
		q := ground.Degrees(p)
		if q[0] += 171; q[0] > 180 {
			q[0] -= 360
		}
		there[0][0][i] = q
	}
	got, err := PlanFlight(there, planInput(0))
	if err != nil {
		t.Fatal(err)
	}
	if got.Lines != want.Lines || got.Photos != want.Photos {
		t.Errorf("%d lines, %d photos, want %d, %d", got.Lines, got.Photos, want.Lines, want.Photos)
	}
	near(t, "track", got.Track, want.Track, 0.01)
}

func TestSpeedOfPlan(t *testing.T) {
	for _, c := range []struct {
		name                    string
		blur, exposure, trigger float64
		wish                    float64
		speed                   float64
		by                      string
		code                    finding.Code
	}{
		{"nothing known", 0, 0, 0, 0, 0, "", ""},
		{"blur without an exposure time", 1, 0, 0, 0, 0, "", ""},
		{"blur", 1, 1.0 / 400, 0, 0, 10, SetByBlur, ""},
		{"trigger", 0, 0, 3, 0, 5, SetByTrigger, ""},
		{"the lower of both", 1, 1.0 / 400, 3, 0, 5, SetByTrigger, ""},
		{"the wish", 1, 1.0 / 400, 1, 9, 9, SetByWish, ""},
		{"the wish alone", 0, 0, 0, 9, 9, SetByWish, ""},
		{"too fast a wish", 1, 1.0 / 400, 1, 12, 10, SetByBlur, finding.SpeedTooHigh},
		{"a slow wish", 1, 1.0 / 400, 1, 5, 5, SetByWish, finding.SpeedToSpare},
		{"faster than the rule", 1, 1.0 / 2000, 0, 0, 50, SetByBlur, finding.SpeedOverLimit},
	} {
		in := planInput(0)
		in.Blur, in.ExposureTime, in.TriggerInterval, in.Speed = c.blur, c.exposure, c.trigger, c.wish
		p := plan(t, rectangle(0, 0, 300, 200), in)
		near(t, c.name, p.Speed, c.speed, 1e-9)
		if p.SpeedSetBy != c.by {
			t.Errorf("%s: set by %q, want %q", c.name, p.SpeedSetBy, c.by)
		}
		if c.speed == 0 && (p.FlightTime != 0 || p.Interval != 0) {
			t.Errorf("%s: a flight time of %v s", c.name, p.FlightTime)
		}
		for _, code := range []finding.Code{finding.SpeedTooHigh, finding.SpeedToSpare, finding.SpeedOverLimit} {
			has := slices.ContainsFunc(p.Findings, func(f finding.Finding) bool { return f.Code == code })
			if has != (code == c.code) {
				t.Errorf("%s: finding %s is %v", c.name, code, has)
			}
		}
	}
}

// 120 m in (EU) 2019/947, UAS.OPEN.010(2), 400 ft = 121.92 m in 14 CFR 107.51(b).
func TestHeightOfPlan(t *testing.T) {
	for _, c := range []struct {
		height float64
		names  []string
	}{
		{120, nil},
		{120.5, []string{"120.5 m", "UAS.OPEN.010(2)", "local rule"}},
		{122, []string{"UAS.OPEN.010(2)", "14 CFR 107.51(b)", "400 ft", "local rule"}},
	} {
		in := planInput(0)
		in.Height = c.height
		text := ""
		for _, f := range plan(t, rectangle(0, 0, 300, 200), in).Findings {
			if f.Code == finding.HeightOverLimit {
				text = f.Text.String()
			}
			if strings.Contains(f.Text.String(), "%!") {
				t.Errorf("text %q", f.Text)
			}
			if !slices.ContainsFunc(finding.Table, func(e finding.Entry) bool { return e.Code == f.Code && e.Severity == f.Severity }) {
				t.Errorf("code %q is in no table", f.Code)
			}
		}
		if (text != "") != (c.names != nil) {
			t.Errorf("%v m: %q", c.height, text)
		}
		for _, name := range c.names {
			if !strings.Contains(text, name) {
				t.Errorf("%v m: %q does not say %q", c.height, text, name)
			}
		}
	}
}

// By derivation: over ground a tenth of the height higher, 80 % falls to
// 1 − 0.2/0.9 = 78 % and 75 % to 1 − 0.25/0.9 = 72 %.
func TestReliefOfPlan(t *testing.T) {
	text := plan(t, rectangle(0, 0, 300, 200), planInput(0)).Findings[0].Text.String()
	for _, want := range []string{"5.0 m higher", "from 80 % to 77.8 %", "from 75 % to 72.2 %"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q does not say %q", text, want)
		}
	}
}

func TestPlanRefused(t *testing.T) {
	good := ground.ToDegrees(rectangle(0, 0, 300, 200))
	nan := math.NaN()
	for _, c := range []struct {
		area   orb.MultiPolygon
		change func(in *PlanInput)
		want   string
	}{
		{nil, nil, "the flight area is empty"},
		{orb.MultiPolygon{{}}, nil, "part 1 of the flight area"},
		{orb.MultiPolygon{good[0], {{}}}, nil, "part 2 of the flight area"},
		{orb.MultiPolygon{{{{9, 0}}}}, nil, "no ground"},
		{orb.MultiPolygon{{{{9, 0}, {9.001, 0}, {9, 0}}}}, nil, "no ground"},
		{orb.MultiPolygon{{{{nan, 0}, {9.001, 0}, {9, 1}, {nan, 0}}}}, nil, "no place on Earth"},
		{orb.MultiPolygon{{{{0, 0}, {5, 0}, {5, 5}, {0, 0}}}}, nil, "200 km"},
		{orb.MultiPolygon{{{{9, 0}, {10, 0}, {10, 1}, {9, 0}}}}, func(in *PlanInput) { in.Height = 1 }, "at most 10000"},
		{orb.MultiPolygon{{{{9, 0}, {10, 0}, {10, 1}, {9, 0}}}}, func(in *PlanInput) { in.Height, in.Course = 1e-6, nan }, "at most 10000"},
		{good, func(in *PlanInput) { in.Height = 0 }, "height"},
		{good, func(in *PlanInput) { in.Blur = -1 }, "motion blur"},
		{good, func(in *PlanInput) { in.ExposureTime = nan }, "exposure time"},
		{good, func(in *PlanInput) { in.TriggerInterval = 4000 }, "trigger interval"},
		{good, func(in *PlanInput) { in.Speed = math.Inf(1) }, "speed"},
		{good, func(in *PlanInput) { in.TurnTime = -1 }, "turn time"},
		{good, func(in *PlanInput) { in.PhotoSize = -1 }, "photo size"},
		{good, func(in *PlanInput) { in.Course = 361 }, "course"},
		{good, func(in *PlanInput) { in.Course = math.Inf(-1) }, "course"},
	} {
		in := planInput(0)
		if c.change != nil {
			c.change(&in)
		}
		if _, err := PlanFlight(c.area, in); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("want %q, got %v", c.want, err)
		}
	}
}

// The rules by which photos and lines are counted differ from book to book.

// filmLinePhotos is the rule of Wolf, Dewitt & Wilkinson, ch. 18 (from memory):
// L/B + 1, and two beyond each end of the area, rounded up.
func filmLinePhotos(length, airBase float64) int {
	return roundedUp(length/airBase + 1 + 2 + 2)
}

// mosaicLinePhotos is the rule of the US Navy, Photography (Advanced),
// NAVEDTRA 14208, ch. 4: L/B, two before the start and two after the end,
// rounded up.
func mosaicLinePhotos(length, airBase float64) int {
	return roundedUp(length/airBase + 4)
}

// filmLines is the rule of Wolf, Dewitt & Wilkinson, ch. 18 (from memory): the
// first and the last line lie (½ − PS)·G within the area, so that a share PS of
// their photos falls outside, and the spaces between them are rounded up.
func filmLines(width, sideOverlap, groundSide float64) int {
	between := width - 2*(0.5-sideOverlap)*groundSide
	return max(0, roundedUp(between/LineSpacing(sideOverlap, groundSide))) + 1
}

// mosaicLines is the rule of NAVEDTRA 14208, ch. 4: the width over the line
// spacing, rounded up, and one more.
func mosaicLines(width, lineSpacing float64) int {
	return roundedUp(width/lineSpacing) + 1
}

// areaPhotos returns how many photos an area takes by the net area of each, the
// ground that no other one is needed for: A/(B·W), rounded up. Nothing is added
// for the edge.
func areaPhotos(area, airBase, lineSpacing float64) int {
	return roundedUp(area / (airBase * lineSpacing))
}
