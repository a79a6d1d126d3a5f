package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/sequence"
	"selvage/coverage/views"
)

const (
	// leastStretch is how long, in metres, a stretch of the edge must be to be
	// flown again for its own sake.
	leastStretch = 1.0
	// usualSpeed is flown over ground when nothing tells how fast, metres a
	// second (common practice, no source).
	usualSpeed = 8.0
	// usualForward and usualSide are the overlaps when none are wanted and none
	// could be measured (common practice, no source).
	usualForward, usualSide = 0.75, 0.70
	// usualReflyBuffer is taken, in metres, where no camera or height tells
	// what a photo would see.
	usualReflyBuffer = 20.0

	mostWidenings = 3
	widening      = 1.25
)

// Refly is an area to fly again. It reaches past the ground of its zones and
// stretches as far as they need, but for keep-out areas. Where one flight would
// not pay, the pieces of a zone are shared among several areas.
type Refly struct {
	Zones     []int // indexes into Audit.Zones: those of which it is to capture ground
	Stretches []int // indexes into Audit.Edge.Stretches, likewise
	Area      float64
	Shape     orb.Polygon // degrees
	Course    float64     // of its lines, degrees clockwise from north
	// Lines, Photos, Track in metres and Time in seconds are those of PlanFlight;
	// 0 lines: it could not be planned.
	Lines, Photos int
	Track, Time   float64
	// Closes tells whether all areas flown as planned leave nothing short of
	// its zones and stretches but pieces smaller than Job.MinZone, or 1 m of edge.
	Closes        bool
	Remaining     float64 // m² that would still fall short
	RemainingEdge float64 // metres
}

// ReflyPlan is how the areas are to be flown again. It is zero where there are
// none, and has no Layout where camera or height of the flight are not known.
type ReflyPlan struct {
	Layout
	Forward, Side float64 // overlaps, shares
	Raised        bool    // the overlaps, since those wanted or flown could not give the wanted views
	WidthAlong    bool    // as in Setup
	Speed         float64 // metres a second
	SpeedAssumed  bool
	Buffer        float64 // metres, the most that an area reaches past ground that falls short
	Lines, Photos int
	Track, Time   float64 // of all areas; no way between them
	Closes        bool
	Remaining     float64 // m²
	RemainingEdge float64 // metres
	KeptOut       float64 // m² taken from the areas for the sake of keep-out areas
}

// replanner makes the areas to fly again. All is in plane metres.
type replanner struct {
	frame    plane.Frame
	site     orb.MultiPolygon
	keepOut  orb.MultiPolygon
	ground   orb.MultiPolygon // what falls short
	paths    []orb.LineString // the edge that falls short, of each stretch; nil for short ones
	seen     []views.Footprint
	relief   *relief
	wanted   int
	least    float64 // m², the smallest zone that counts
	vertices int     // most of an area, 0 for any number
	auto     bool
	planned  bool // camera and height are known
	setup    Setup
	course   float64
	plan     ReflyPlan
	buffers  []float64 // by number of views that are there
}

// planReflights makes areas of the zones and of the edge that fall short, plans
// their flights and flies them in a simulation. Zones must still be in plane
// metres; the areas are, too.
func (a *Audit) planReflights(job Job, s *selection, site orb.MultiPolygon, footprints []orb.Ring, frame plane.Frame) {
	r := &replanner{
		frame: frame, site: site, relief: s.relief,
		keepOut: frame.ToMetres(plane.Unwrap(job.KeepOut), edgeDeviation),
		wanted:  a.Wanted.Views, least: max(0, job.MinZone), vertices: job.MaxVertices,
		auto: math.IsNaN(job.ReflyBuffer),
	}
	for i := range footprints {
		r.seen = append(r.seen, footprints[i:i+1])
	}
	r.gather(a)
	if len(r.ground) == 0 {
		return
	}
	short := r.byViews()
	r.chooseSetup(a, s, short)
	r.chooseBuffers(job.ReflyBuffer)
	needs := r.rough(short)
	var areas []*reflight
	for round := 0; ; round++ {
		areas = r.areas(needs)
		before := r.plan
		r.fly(areas)
		if !r.planned || r.plan.Closes || !r.auto || round == mostWidenings {
			break
		}
		if round > 0 && r.plan.Remaining >= before.Remaining && r.plan.RemainingEdge >= before.RemainingEdge {
			break // more room does not help
		}
		for i := range r.buffers {
			r.buffers[i] = math.Ceil(widening * r.buffers[i])
		}
	}
	r.assign(a, areas)
	a.ReflyPlan = r.plan
}

// gather finds the ground that calls for another flight: the zones, and a
// narrow strip along each stretch of the edge. Pieces too small to be zones do
// so only along the edge.
func (r *replanner) gather(a *Audit) {
	const strip = 0.05 // metres
	var shapes []orb.MultiPolygon
	for _, z := range a.Zones {
		shapes = append(shapes, orb.MultiPolygon{z.Shape})
	}
	r.paths = make([]orb.LineString, len(a.Edge.Stretches))
	var lines []orb.LineString
	for i, s := range a.Edge.Stretches {
		if s.To-s.From < leastStretch {
			continue
		}
		for _, p := range s.Path {
			r.paths[i] = append(r.paths[i], r.frame.Metres(p))
		}
		lines = append(lines, r.paths[i])
	}
	grid := plane.MetreGrid(r.site.Bound().Pad(1))
	if len(lines) > 0 {
		along := plane.OffsetLines(lines, strip, plane.Style{})
		shapes = append(shapes, plane.Intersection(grid, along, r.site))
	}
	if len(shapes) > 0 {
		r.ground = plane.Union(grid, shapes...)
	}
}

// byViews divides the ground by the views that it has: element v has v, or
// where many are wanted, v and a few more.
func (r *replanner) byViews() []orb.MultiPolygon {
	const mostSteps = 16
	step := (r.wanted + mostSteps - 1) / mostSteps
	var limits []int
	for v := 0; v < r.wanted; v += step {
		limits = append(limits, min(v+step, r.wanted))
	}
	out := make([]orb.MultiPolygon, r.wanted)
	for k, ground := range views.Below(r.ground, r.near(r.ground), limits) {
		out[k*step] = ground
	}
	return out
}

// rough returns the ground in the shape in which areas are made of it: element v
// is to be reached past by buffers[v]. Its outlines are a little wider than they
// are, with fewer vertices, and ground that asks for much the same is together,
// with all that asks for more.
func (r *replanner) rough(short []orb.MultiPolygon) []orb.MultiPolygon {
	const alike = 0.85
	needs := make([]orb.MultiPolygon, len(short))
	var sum []orb.MultiPolygon
	for v := 0; v < len(short); {
		if len(short[v]) == 0 {
			v++
			continue
		}
		first := v
		for ; v < len(short) && r.buffers[v] >= alike*r.buffers[first]; v++ {
			sum = append(sum, short[v])
		}
		needs[first] = r.union(sum)
		corners := 0
		for _, p := range needs[first] {
			corners += cornersOf(p)
		}
		if most := 8*len(needs[first]) + corners/10; corners > most {
			needs[first] = plane.SimplifyOutward(needs[first], most, nil)
		}
	}
	return needs
}

// near returns the footprints that may hold ground.
func (r *replanner) near(ground orb.MultiPolygon) []views.Footprint {
	bound := ground.Bound()
	var out []views.Footprint
	for _, f := range r.seen {
		if f[0].Bound().Intersects(bound) {
			out = append(out, f)
		}
	}
	return out
}

// chooseSetup takes camera, height, course and speed from the flight, and the
// wanted overlaps, or else those flown.
func (r *replanner) chooseSetup(a *Audit, s *selection, short []orb.MultiPolygon) {
	cameras := map[photo.Camera]int{}
	var most int
	var heights []float64
	for _, c := range s.traced {
		if !complete(c.Camera) || !(c.height > 0 && c.height <= greatestHeight) {
			continue
		}
		heights = append(heights, c.height)
		if cameras[c.Camera]++; cameras[c.Camera] > most {
			most, r.setup.Camera = cameras[c.Camera], c.Camera
		}
	}
	if len(heights) == 0 {
		return
	}
	r.setup.Height = sequence.Median(heights)
	r.setup.Forward = overlapToFly(a.Wanted.Forward, a.Overlap.Forward, usualForward)
	r.setup.Side = overlapToFly(a.Wanted.Side, a.Overlap.Side, usualSide)
	r.course = usualCourse(a.Lines)
	r.setup.WidthAlong = a.widthAlong()
	r.plan.Speed = a.Speed.Ground
	if !(r.plan.Speed > 0.1 && r.plan.Speed < 300) {
		r.plan.Speed, r.plan.SpeedAssumed = usualSpeed, true
	}
	r.raiseOverlaps(short)
	layout, err := r.setup.Layout()
	if err != nil {
		return
	}
	r.planned = true
	r.plan.Layout, r.plan.WidthAlong = layout, r.setup.WidthAlong
	r.plan.Forward, r.plan.Side = r.setup.Forward, r.setup.Side
}

// overlapToFly is in whole per cent, as flight controllers take it.
func overlapToFly(wanted float64, flown Spread, usual float64) float64 {
	const most = 0.95
	v := usual
	if wanted > 0 {
		v = wanted
	} else if flown.N > 0 {
		v = flown.Median
	}
	return min(most, math.Round(100*v)/100)
}

// raiseOverlaps sees to it that one flight can give all the views that are
// missing anywhere: as many photos of a line as it takes first, as they cost no
// time, and more lines where even 90 % forward is not enough.
func (r *replanner) raiseOverlaps(short []orb.MultiPolygon) {
	missing := 0
	for v, ground := range short {
		if len(ground) > 0 {
			missing = max(missing, r.wanted-v)
		}
	}
	share := func(of int) float64 { return math.Ceil(100*(1-1/float64(of))-1e-9) / 100 }
	photos, lines := overlapViews(r.setup.Forward), overlapViews(r.setup.Side)
	if photos*lines >= missing {
		return
	}
	const mostPhotos, mostLines = 10, 5
	for ; lines <= mostLines; lines++ {
		if photos := (missing + lines - 1) / lines; photos <= mostPhotos {
			r.setup.Forward = max(r.setup.Forward, share(photos))
			r.setup.Side = max(r.setup.Side, share(lines))
			r.plan.Raised = true
			return
		}
	}
}

// overlapViews is how many photos with an overlap are sure to see a place.
func overlapViews(overlap float64) int { return roundedDown(1 / (1 - overlap)) }

// usualCourse is the course, 0 to 180 degrees, on which most of the way on
// lines was flown; 0 where there are no lines.
func usualCourse(lines []Line) float64 {
	const alike = 10 // degrees
	best, longest := 0.0, 0.0
	for _, l := range lines[:min(len(lines), 200)] {
		way := 0.0
		for _, m := range lines {
			if off := math.Abs(math.Remainder(m.Course-l.Course, 180)); off <= alike {
				way += m.Length * (1 - off/alike/2)
			}
		}
		if way > longest+1e-6 {
			best, longest = math.Mod(l.Course+360, 180), way
		}
	}
	return best
}

// widthAlong tells whether most photos of the lines have their width along them.
func (a *Audit) widthAlong() bool {
	along, across := 0, 0
	for _, l := range a.Lines {
		for _, i := range l.Shots {
			if math.Abs(math.Remainder(a.Shots[i].Yaw-l.Course, 180)) > 45 {
				along++
			} else {
				across++
			}
		}
	}
	return along > across
}

// chooseBuffers finds how far an area must reach past ground that some photos
// see already, so that it has the missing views wherever lines and photos fall.
func (r *replanner) chooseBuffers(given float64) {
	r.buffers = make([]float64, r.wanted)
	for v := range r.buffers {
		r.buffers[v] = given
		if !r.auto {
			continue
		}
		r.buffers[v] = usualReflyBuffer
		if !r.planned {
			continue
		}
		in := BufferInput{Setup: r.setup, Views: r.wanted - v}
		if d, err := DeriveBuffer(in); err == nil {
			r.buffers[v] = d.Buffer
			continue
		}
		// No overlap gives that many, so the most that one flight gives must do.
		in.Views = 0
		if d, err := DeriveBuffer(in); err == nil {
			r.buffers[v] = d.Buffer
		}
	}
}

// assign numbers what each area is for, and keeps those that are for something.
func (r *replanner) assign(a *Audit, areas []*reflight) {
	for _, area := range areas {
		out := area.Refly
		own := r.union(area.needs)
		bound := own.Bound().Pad(0.01)
		grid := plane.MetreGrid(bound)
		for i, z := range a.Zones {
			if bound.Intersects(z.Shape.Bound()) && areaOf(plane.Intersection(grid, own, orb.MultiPolygon{z.Shape})) > 0.01*z.Area {
				out.Zones = append(out.Zones, i)
			}
		}
		for i, path := range r.paths {
			if len(path) > 0 && bound.Intersects(path.Bound()) && insideLength(path, own) > 0.01 {
				out.Stretches = append(out.Stretches, i)
			}
		}
		a.Refly = append(a.Refly, out)
	}
}

func insideLength(path orb.LineString, area orb.MultiPolygon) float64 {
	sum := 0.0
	for _, in := range plane.Inside(path, area) {
		sum += in.To - in.From
	}
	return sum
}

func (r *replanner) union(needs []orb.MultiPolygon) orb.MultiPolygon {
	return plane.Union(r.grid(), slices.DeleteFunc(slices.Clone(needs), func(mp orb.MultiPolygon) bool { return len(mp) == 0 })...)
}

// grid serves everything that happens around the ground that falls short.
func (r *replanner) grid() plane.Grid {
	pad := 100.0
	for _, b := range r.buffers {
		pad = max(pad, 8*b)
	}
	return plane.MetreGrid(r.ground.Bound().Pad(pad))
}
