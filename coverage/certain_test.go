package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/views"
)

func TestPositionError(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name        string
		stated, dop float64
		given, want float64
		source      errorSource
	}{
		{name: "stated", stated: 0.02, dop: 1.5, given: 1, want: 0.02, source: errorStated},
		{name: "exact", stated: 0, dop: 1.5, given: 1, want: 0, source: errorStated},
		{name: "given", stated: nan, dop: 1.5, given: 0.05, want: 0.05, source: errorGiven},
		{name: "dilution", stated: nan, dop: 1.5, given: nan, want: 3, source: errorByDOP},
		{name: "nothing", stated: nan, dop: nan, given: nan, want: 3, source: errorUsual},
		{name: "nonsense", stated: math.Inf(1), dop: -1, given: -1, want: 3, source: errorUsual},
	} {
		got, source := positionError(&photo.Photo{PositionError: c.stated, DOP: c.dop}, c.given)
		if got != c.want || source != c.source {
			t.Errorf("%s: %v from %v", c.name, got, source)
		}
	}
	for _, c := range []struct {
		assumed     bool
		given, want float64
	}{{false, nan, 1}, {true, nan, 3}, {true, 0.2, 0.2}, {false, 0, 0}, {false, 90, 20}} {
		if got := attitudeError(c.assumed, c.given); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// turnedAbout turns a vector about a unit axis (Rodrigues' formula).
func turnedAbout(v, axis vector, degrees float64) vector {
	sin, cos := math.Sincos(radians(degrees))
	cross := vector{axis[1]*v[2] - axis[2]*v[1], axis[2]*v[0] - axis[0]*v[2], axis[0]*v[1] - axis[1]*v[0]}
	return v.scaled(cos).plus(cross.scaled(sin)).plus(axis.scaled(axis.dot(v) * (1 - cos)))
}

// Corners of cameras that are turned, raised and moved at random, within their
// errors, against the radius; and that it is no larger than needed.
func TestDoubtRadiusBoundsEveryCorner(t *testing.T) {
	random := rand.New(rand.NewPCG(61, 62))
	tightest := 1.0
	for range 300 {
		p := pose{height: 20 + 100*random.Float64(), yaw: 360 * random.Float64(), pitch: -90 + 12*random.Float64(), roll: 5 * random.NormFloat64()}
		position, attitude, height := 3*random.Float64(), 4*random.Float64(), 5*random.Float64()
		c := photo.Camera{SensorWidth: 6 + 10*random.Float64(), SensorHeight: 5 + 8*random.Float64(), FocalLength: 10, Columns: 4000, Rows: 3000}
		drawn, cut := footprint(c, p)
		if cut {
			continue
		}
		r := doubtRadius(p.height, rimAngle(c, p), position, attitude, height)
		farthest := 0.0
		axis, right, top := p.axes()
		for range 400 {
			about := vector{random.NormFloat64(), random.NormFloat64(), 0.3 * random.NormFloat64()}
			about = about.scaled(1 / math.Sqrt(about.dot(about)))
			turn := attitude * []float64{1, random.Float64()}[random.IntN(2)]
			h := p.height + height*[]float64{1, -1, random.Float64()}[random.IntN(3)]
			sin, cos := math.Sincos(2 * math.Pi * random.Float64())
			for k, s := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
				ray := axis.plus(right.scaled(s[0] * c.SensorWidth / 20)).plus(top.scaled(s[1] * c.SensorHeight / 20))
				ray = turnedAbout(ray, about, turn)
				at := orb.Point{position*cos - ray[0]/ray[2]*h, position*sin - ray[1]/ray[2]*h}
				farthest = max(farthest, distance(at, drawn[k]))
			}
		}
		if farthest > r*(1+1e-12) {
			t.Fatalf("a corner moved %v m, the radius is %v m (%+v)", farthest, r, p)
		}
		tightest = min(tightest, r/farthest-1)
	}
	if tightest > 0.02 {
		t.Errorf("the radius is at least %v %% too large", 100*tightest)
	}
}

// 50 m up, 45° off the vertical, 1°: 50 m · (tan 46° − tan 45°) = 1.7765 m. A
// height 2 m more adds 2 m · tan 45° and 2/50 of that.
func TestDoubtRadiusByHand(t *testing.T) {
	near(t, "attitude", doubtRadius(50, 45, 0, 1, 0), 1.776516, 1e-5)
	near(t, "all", doubtRadius(50, 45, 3, 1, 2), 3+1.776516*1.04+2, 1e-5)
	near(t, "nothing", doubtRadius(50, 45, 0, 0, 0), 0, 0)
	// Half the diagonal of the footprint by the height: 62.5 m of 50 m.
	near(t, "rim angle", math.Tan(radians(rimAngle(lens, pose{height: 50, pitch: -90}))), 62.5/50, 1e-9)
	near(t, "rim angle where rays are cut", rimAngle(lens, pose{height: 50, pitch: -30}), steepest, 0)
}

func TestShrunkAndGrown(t *testing.T) {
	random := rand.New(rand.NewPCG(63, 64))
	square := rectangle(0, 0, 10, 6)[0][0]
	near(t, "shrunk", areaOf(orb.MultiPolygon{orb.Polygon(shrunk(square, 1))}), 8*4, 1e-9)
	near(t, "grown", areaOf(orb.MultiPolygon{orb.Polygon(grown(square, 1))}), 12*8, 1e-9)
	if f := shrunk(square, 3); len(f) > 0 {
		t.Errorf("shrunk to nothing: %v", f)
	}
	var rings []orb.Ring
	for range 40 {
		rings = append(rings, ringsOfFootprints(randomFlight(random, 1), ground)...)
		rings = append(rings, star(random)[0])
	}
	rings = append(rings, orb.Ring{{0, 0}, {80, 0}, {0, 3}, {0, 0}}) // sharp
	for n, ring := range rings {
		area := orb.MultiPolygon{{ring}}
		r := 1 + 6*random.Float64()
		less, more := shrunk(ring, r), grown(ring, r)
		holds := func(f views.Footprint, p orb.Point) (inside bool) {
			for _, ring := range f {
				inside = inside || plane.Contains(orb.MultiPolygon{{ring}}, p)
			}
			return inside
		}
		b := ring.Bound().Pad(2 * r)
		for range 400 {
			p := orb.Point{b.Min[0] + random.Float64()*(b.Max[0]-b.Min[0]), b.Min[1] + random.Float64()*(b.Max[1]-b.Min[1])}
			d, in := plane.BoundaryDistance(area, p), plane.Contains(area, p)
			convex := isConvex(ring)
			switch {
			case holds(less, p) && (!in || d < r-0.001):
				t.Fatalf("ring %d: %v is in the shrunk one, %v from the rim of the ring, r %v", n, p, d, r)
			case convex && in && d > r+0.001 && !holds(less, p):
				t.Fatalf("ring %d: %v is missing in the shrunk one", n, p)
			case (in || d < r-0.001) && !holds(more, p):
				t.Fatalf("ring %d: %v is missing in the grown one", n, p)
			case convex && holds(more, p) && !in && d > r*mostReach+0.001:
				t.Fatalf("ring %d: %v is in the grown one, %v from the ring, r %v", n, p, d, r)
			}
		}
	}
}

// A regular grid whose photos leave 10 m by 10 m between them, or meet by 10 m:
// what is short for certain and perhaps follows from the sides alone.
func TestCertaintyOfAGrid(t *testing.T) {
	const n, m = 5, 6 // spaces between photos, across and along
	for _, c := range []struct {
		across, along, r float64
	}{{110, 85, 2}, {110, 85, 5}, {90, 65, 4}, {90, 65, 7.5}, {100, 75, 3}} {
		site := rectangle(0, 0, n*c.across, m*c.along)
		job := jobOf(site, serpentine(0, 0, c.across, c.along, n+1, m+1), 1)
		job.Errors = Errors{Position: c.r}
		for i := range job.Photos {
			job.Photos[i].PositionError = math.NaN()
		}
		a := run(t, job)
		// Of each space B·W, what footprints of G by S leave.
		left := func(r float64) float64 {
			wide, high := min(100+2*r, c.across), min(75+2*r, c.along)
			return n * m * (c.across*c.along - wide*high)
		}
		edge := func(r float64) float64 {
			return 2*n*max(0, c.across-100-2*r) + 2*m*max(0, c.along-75-2*r)
		}
		for _, f := range []struct {
			name string
			got  Short
			r    float64
		}{{name: "certain", got: a.Certainty.Certain, r: c.r}, {name: "measured", got: a.Certainty.Measured}, {name: "possible", got: a.Certainty.Possible, r: -c.r}} {
			near(t, f.name+" gap", f.got.NoView, left(f.r), 0.2)
			near(t, f.name+" edge", f.got.Edge, edge(f.r), 0.02)
			if f.got.BelowWanted != f.got.NoView {
				t.Errorf("%s: %+v although one view is wanted", f.name, f.got)
			}
		}
		near(t, "radius", a.Certainty.Radius.Max, c.r, 1e-9)
		for _, z := range a.Zones {
			near(t, "certain share", z.Certain, left(c.r)/left(0), 1e-3)
		}
	}
}

// Photos that see nothing of the site as drawn, but may see some of it.
func TestPhotosThatMaySeeTheSite(t *testing.T) {
	photos := serpentine(10, 10, 50, 37, 2, 2)
	photos = append(photos, exposure(99, 251, 20)) // sees from 201 m on
	job := jobOf(rectangle(0, 0, 200, 40), photos, 1)
	job.Errors.Position = 2
	for i := range photos {
		photos[i].PositionError = math.NaN()
	}
	a := run(t, job)
	near(t, "measured", a.Certainty.Measured.NoView, 90*40, 0.1)
	near(t, "certain", a.Certainty.Certain.NoView, 87*40, 0.1)
	near(t, "possible", a.Certainty.Possible.NoView, 92*40, 0.1)
	near(t, "photos with a radius", float64(a.Certainty.Radius.N), 4, 0)
}

// Flights as they may truly have been, all of their errors within bounds,
// against what is certain and what is possible; and the three readings against
// each other.
func TestCertaintyAgainstTrueFlights(t *testing.T) {
	random := rand.New(rand.NewPCG(65, 66))
	const wanted = 3
	for range 6 {
		photos := randomFlight(random, 45)
		site := orb.MultiPolygon{star(random)}
		job := jobOf(site, photos, wanted)
		job.Errors = Errors{Attitude: 2, Height: 1}
		for i := range photos {
			photos[i].PositionError = 3 * random.Float64()
		}
		a := run(t, job)
		c := a.Certainty
		for _, pair := range [][2]float64{
			{c.Certain.NoView, c.Measured.NoView}, {c.Measured.NoView, c.Possible.NoView},
			{c.Certain.BelowTwo, c.Measured.BelowTwo}, {c.Measured.BelowTwo, c.Possible.BelowTwo},
			{c.Certain.BelowWanted, c.Measured.BelowWanted}, {c.Measured.BelowWanted, c.Possible.BelowWanted},
			{c.Certain.Edge, c.Measured.Edge}, {c.Measured.Edge, c.Possible.Edge},
		} {
			if pair[0] > pair[1]+0.05 {
				t.Fatalf("out of order: %+v", c)
			}
		}
		var certainGap float64
		for _, z := range a.Zones {
			if !(z.Certain >= 0 && z.Certain <= 1) {
				t.Fatalf("share %v", z.Certain)
			}
			if z.Kind == Gap {
				certainGap += z.Certain * z.Area
			}
		}
		near(t, "certain parts of the gaps", certainGap, c.Certain.NoView, 0.05)

		var candidates []*candidate
		for _, p := range photos {
			candidates = append(candidates, laidLevel(p))
		}
		doubts := doubtsOf(job.Errors, candidates, site.Bound(), nil)
		less, more := drawn(doubts, doubt.less), drawn(doubts, doubt.more)
		possible, certain := views.Below(site, less, []int{wanted})[0], views.Below(site, more, []int{wanted})[0]
		sure := views.Below(site, more, []int{1})[0]
		checked := 0
		for range 12 {
			truth := make([]photo.Photo, len(photos))
			for i, p := range photos {
				sin, cos := math.Sincos(2 * math.Pi * random.Float64())
				at := ground.Metres(p.Position)
				p.Position = ground.Degrees(orb.Point{at[0] + p.PositionError*cos, at[1] + p.PositionError*sin})
				p.Height += 2*random.Float64() - 1
				// Together no more than 2° about any axis.
				p.Yaw, p.Pitch, p.Roll = p.Yaw+random.Float64()-0.5, p.Pitch+1.4*random.Float64()-0.7, p.Roll+1.4*random.Float64()-0.7
				truth[i] = p
			}
			for range 300 {
				p := orb.Point{random.Float64() * 300, random.Float64() * 300}
				if !plane.Contains(site, p) {
					continue
				}
				n := 0
				for _, ph := range truth {
					n += one(sawPoint(ph, ground, ph.Height, p))
				}
				checked++
				switch {
				case plane.Contains(sure, p) && n > 0:
					t.Fatalf("%v is a gap for certain, but %d photos saw it", p, n)
				case plane.Contains(certain, p) && n >= wanted:
					t.Fatalf("%v is short for certain, but %d photos saw it", p, n)
				case !plane.Contains(possible, p) && n < wanted:
					t.Fatalf("%v is surely seen often enough, but %d photos saw it", p, n)
				}
			}
		}
		if checked < 500 {
			t.Errorf("only %d places checked", checked)
		}
	}
}

func TestErrorsAreNamed(t *testing.T) {
	nan := math.NaN()
	job := jobOf(rectangle(0, 0, 100, 100), serpentine(10, 10, 30, 30, 4, 4), 1)
	for i := range job.Photos {
		p := &job.Photos[i]
		p.PositionError, p.DOP = nan, nan
		if i < 6 {
			p.DOP = 1.2
		}
		if i < 3 {
			p.PositionError = 0.05
		}
		if i >= 12 {
			p.Roll = nan
		}
	}
	if a := run(t, job); found(a, finding.PositionErrorAssumed) != nil || found(a, finding.AttitudeErrorAssumed) != nil {
		t.Error("named although the job says that nothing is off")
	}
	job.Errors = Errors{Position: nan, Attitude: nan, Height: nan}
	a := run(t, job)
	for code, want := range map[finding.Code]string{
		finding.PositionErrorAssumed: "13 photos do not say how far off the position may be. Taken are 2 m for each unit of its dilution of precision in 3 photos, " +
			"and 3 m in 10 photos, as is usual for satellite positions without corrections (common practice, no source).",
		finding.AttitudeErrorAssumed: "How far off the attitude may be is not given. Taken are 1° for 12 photos that state the attitude itself, " +
			"and 3° for 4 photos of which all or a part of it is assumed (common practice, no source).",
	} {
		if f := found(a, code); f == nil || f.Severity != finding.Note || f.Text.String() != want {
			t.Errorf("%s: %+v", code, f)
		}
	}
	near(t, "least position error", a.Certainty.Position.Min, 0.05, 0)
	near(t, "greatest attitude error", a.Certainty.Attitude.Max, 3, 0)
}
