package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/views"
)

// Errors are what the positions, attitudes and heights of a job's photos may
// be off by. NaN means that it is not known, and then the usual error is taken.
type Errors struct {
	// Position is the horizontal error of photos that do not state one, metres.
	Position float64
	// Attitude is by how many degrees, about any axis, a camera may have been
	// turned otherwise than stated or assumed; MostAttitudeError at most.
	Attitude float64
	// Height is the error of the height above ground, metres; NaN counts as 0. On
	// terrain, how far its surface leaves the files (root mean square) is added.
	Height float64
}

// What is taken where the job does not say. All are common practice, no source.
const (
	usualPosition   = 3.0 // metres: a satellite position without corrections, horizontally
	usualRange      = 2.0 // metres of horizontal error for each unit of dilution of precision
	statedAttitude  = 1.0 // degrees, where the photo says how the camera was turned
	assumedAttitude = 3.0 // degrees, where it does not say all of it

	// MostAttitudeError is the most that Errors.Attitude may be, degrees.
	MostAttitudeError = 20.0
)

// Certainty compares what was measured with what would be if every photo saw
// less ground, or more, by as much as its errors allow.
//
// The reading is the worst one: every photo errs by itself, to whichever side
// does the most harm at each place. Errors that all photos share do less inside
// a site: a shift of all positions moves every footprint alike and opens no
// gap between them. At the edge it counts in full.
type Certainty struct {
	Certain  Short // what is short even if every footprint is as large as can be
	Measured Short
	Possible Short // what is short if every footprint is as small as can be

	Radius                     Spread // metres by which a photo's rim may be off
	Position, Attitude, Height Spread // metres, degrees, metres: the errors that make it up

	sources         [errorSources]int // photos by where their position error is from
	assumedAttitude int               // photos of which a part of the attitude was assumed
}

// Short is ground in m² with too few views, each figure within the next, and
// the length of the edge in metres with fewer than the wanted views.
type Short struct{ NoView, BelowTwo, BelowWanted, Edge float64 }

// errorSource says where a photo's position error was taken from.
type errorSource int

const (
	errorStated errorSource = iota // by the photo
	errorGiven                     // for the job
	errorByDOP
	errorUsual
	errorSources
)

// doubt is what the errors leave open of one photo's footprint, in plane
// metres. Its rim may be off by the radius.
type doubt struct {
	footprint                  orb.Ring // nil where nothing of the site can be in it
	position, attitude, height float64
	radius                     float64
	source                     errorSource
	assumed                    bool // a part of the attitude
}

// less is ground that the footprint, which is not nil, is sure to hold.
func (d doubt) less() views.Footprint {
	if d.radius == 0 {
		return views.Footprint{d.footprint}
	}
	return shrunk(d.footprint, d.radius)
}

// more is all ground that the footprint can hold.
func (d doubt) more() views.Footprint {
	if d.radius == 0 {
		return views.Footprint{d.footprint}
	}
	return grown(d.footprint, d.radius)
}

// positionError returns the horizontal error of a photo's position in metres.
// What the photo states goes first, then what the job says, and only then what
// follows from its dilution of precision: that says how the satellites stood,
// but not whether the position was corrected.
func positionError(p *photo.Photo, given float64) (float64, errorSource) {
	switch {
	case p.PositionError >= 0 && finite(p.PositionError):
		return p.PositionError, errorStated
	case given >= 0 && finite(given):
		return given, errorGiven
	case p.DOP > 0 && finite(p.DOP):
		return p.DOP * usualRange, errorByDOP
	}
	return usualPosition, errorUsual
}

// attitudeError returns by how many degrees a camera may have been turned
// otherwise. It is larger where a part of the attitude was assumed.
func attitudeError(assumed bool, given float64) float64 {
	switch {
	case given >= 0 && finite(given):
		return min(given, MostAttitudeError)
	case assumed:
		return assumedAttitude
	}
	return statedAttitude
}

// rimAngle returns the angle between the vertical and the ray of a camera that
// leaves furthest from it, degrees, of those within steepest.
func rimAngle(c photo.Camera, p pose) float64 {
	axis, right, top := p.axes()
	right = right.scaled(GroundSide(c.SensorWidth, c.FocalLength, 1) / 2)
	top = top.scaled(GroundSide(c.SensorHeight, c.FocalLength, 1) / 2)
	least := 1.0 // cosine
	for _, s := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		ray := axis.plus(right.scaled(s[0])).plus(top.scaled(s[1]))
		least = min(least, -ray[2]/math.Sqrt(ray.dot(ray)))
	}
	return min(steepest, math.Acos(least)*180/math.Pi)
}

// doubtRadius returns how far, in metres, the rim of a footprint may lie from
// where it is drawn. position and height are metres, attitude and rim degrees.
//
// Let a point of the rim be seen under the angle t from the vertical. It is
// drawn at H·tan t from the place below the camera. A camera that is turned by
// at most a, about whichever axis, sees it under a ray that leaves the drawn
// one by at most a. Those rays form a cone, which meets the ground in an
// ellipse. Of all that ellipse the outer end lies furthest from the drawn
// point, by H·(tan(t + a) − tan t); that grows with t, so the ray furthest from
// the vertical bounds them all. A height of H + h in place of H moves the drawn
// point by h·tan t, and makes the cone's share that of H + h. A wrong position
// moves all by itself. So no point of the rim moves by more than
//
//	r = position + (H + h)·(tan(t + a) − tan t) + h·tan t.
//
// A point further than r from the drawn rim cannot be crossed by the rim on
// its way from drawn to true, so it stays inside or outside.
//
// This holds for level ground. Where the ground falls away from the camera by
// a slope g, the shares of attitude and height grow by 1/(1 − g·tan t).
func doubtRadius(drop, rim, position, attitude, height float64) float64 {
	t, a := radians(rim), radians(attitude)
	return position + (drop+height)*(math.Tan(t+a)-math.Tan(t)) + height*math.Tan(t)
}

// doubtsOf returns the doubt of every candidate, with footprints for those that
// can see something within bound.
func doubtsOf(e Errors, candidates []*candidate, bound orb.Bound, r *relief) []doubt {
	doubts := make([]doubt, len(candidates))
	views.InParallel(len(candidates), func(i int) {
		c, d := candidates[i], &doubts[i]
		if c.footprint == nil {
			return
		}
		d.position, d.source = positionError(c.Photo, e.Position)
		d.assumed = c.noYaw || c.noPitch || c.noRoll
		d.attitude = attitudeError(d.assumed, e.Attitude)
		d.height = max(0, chooseFinite(e.Height, 0)) + r.misfit()
		d.radius = doubtRadius(r.lowestDrop(c), rimAngle(c.Camera, c.pose()), d.position, d.attitude, d.height)
		if c.footprint.Bound().Pad(d.radius * mostReach).Intersects(bound) {
			d.footprint = c.footprint
		}
	})
	return doubts
}

// drawn draws a footprint for every doubt, and leaves out those that hold nothing.
func drawn(doubts []doubt, draw func(doubt) views.Footprint) []views.Footprint {
	all := make([]views.Footprint, len(doubts))
	views.InParallel(len(doubts), func(i int) {
		if doubts[i].footprint != nil {
			all[i] = draw(doubts[i])
		}
	})
	return slices.DeleteFunc(all, func(f views.Footprint) bool { return len(f) == 0 })
}

// measureCertainty compares the audit's views, zones and edge with those of the
// smallest and of the largest footprints. site is in plane metres, and so are
// the zones still; used tells which doubts are those of photos in the audit.
func (a *Audit) measureCertainty(site orb.MultiPolygon, doubts []doubt, used []bool) {
	out := &a.Certainty
	var radius, position, attitude, height []float64
	exact := true
	for i, d := range doubts {
		exact = exact && d.radius == 0
		if used[i] {
			radius, position = append(radius, d.radius), append(position, d.position)
			attitude, height = append(attitude, d.attitude), append(height, d.height)
			out.sources[d.source]++
			out.assumedAttitude += one(d.assumed)
		}
	}
	never := func(float64) bool { return false }
	out.Radius, out.Position = spread(radius, never), spread(position, never)
	out.Attitude, out.Height = spread(attitude, never), spread(height, never)
	wanted := a.Wanted.Views
	out.Measured = Short{NoView: a.Totals.Gap, BelowTwo: a.Totals.Gap + a.Totals.NoStereo,
		BelowWanted: a.Totals.Gap + a.Totals.NoStereo + a.Totals.Thin, Edge: a.Edge.Length - a.Edge.Captured}
	if wanted == 1 {
		out.Measured.BelowTwo, out.Measured.BelowWanted = out.Measured.NoView, out.Measured.NoView
	}
	if exact {
		out.Certain, out.Possible = out.Measured, out.Measured
		for i := range a.Zones {
			a.Zones[i].Certain = 1
		}
		return
	}
	// One after the other, as the footprints of many photos take much memory.
	out.Possible, _ = shortWith(drawn(doubts, doubt.less), site, wanted)
	var certain []orb.MultiPolygon
	out.Certain, certain = shortWith(drawn(doubts, doubt.more), site, wanted)
	a.markCertain(certain)
}

// shortWith returns what falls short with other footprints than the drawn ones,
// and its classes.
func shortWith(footprints []views.Footprint, site orb.MultiPolygon, wanted int) (Short, []orb.MultiPolygon) {
	classes := views.Below(site, footprints, shortLimits(wanted))
	s := shortOf(classes)
	s.Edge = shortEdge(site, footprints, wanted)
	return s, classes
}

// shortLimits are the numbers of views at which the classes of shortfall end.
func shortLimits(wanted int) []int {
	var limits []int
	for _, b := range bands(wanted) {
		if b.To >= 0 {
			limits = append(limits, b.To+1)
		}
	}
	return limits
}

// shortOf sums up the classes of shortfall.
func shortOf(classes []orb.MultiPolygon) Short {
	s := Short{NoView: areaOf(classes[0])}
	s.BelowTwo = s.NoView
	if len(classes) > 1 {
		s.BelowTwo += areaOf(classes[1])
	}
	s.BelowWanted = s.BelowTwo
	if len(classes) > 2 {
		s.BelowWanted += areaOf(classes[2])
	}
	return s
}

// shortEdge returns how much of the site's edge has fewer than the wanted views.
func shortEdge(site orb.MultiPolygon, footprints []views.Footprint, wanted int) float64 {
	var rings []orb.Ring
	for _, f := range footprints {
		rings = append(rings, f...)
	}
	index := indexFootprints(rings, site)
	seen := make([]bool, len(rings))
	var short float64
	for _, polygon := range site {
		for _, ring := range polygon {
			if len(ring) == 0 {
				continue
			}
			_, profile := index.walk(ring, seen)
			for _, s := range profile {
				if s.Views < wanted {
					short += s.To - s.From
				}
			}
		}
	}
	return short
}

// markCertain gives every zone the share of it that falls short of its class
// even with the largest footprints. classes are those of the largest.
func (a *Audit) markCertain(classes []orb.MultiPolygon) {
	for class, kind := range []ZoneKind{Gap, NoStereo, Thin} {
		var zones []int
		var all, certain []orb.Ring
		for i, z := range a.Zones {
			if z.Kind == kind {
				zones = append(zones, i)
				all = append(all, plane.Oriented(orb.MultiPolygon{z.Shape})...)
			}
		}
		for _, shape := range classes[:min(class+1, len(classes))] {
			certain = append(certain, plane.Oriented(shape)...)
		}
		if len(zones) == 0 || len(certain) == 0 {
			continue
		}
		bound := all[0].Bound()
		for _, ring := range all {
			bound = bound.Union(ring.Bound())
		}
		grid := plane.MetreGrid(bound)
		pieces := plane.Arrange(grid, all, certain).Keep(func(w []int32) bool { return w[0] > 0 && w[1] > 0 })
		for i, area := range shareOut(pieces, a.Zones, zones, 2*grid.Cell()) {
			z := &a.Zones[zones[i]]
			z.Certain = min(1, area/z.Area)
		}
	}
}

// shareOut returns the area of the pieces that lie in each of the zones named.
func shareOut(pieces orb.MultiPolygon, zones []Zone, named []int, slack float64) []float64 {
	areas := make([]float64, len(named))
	bounds := make([]orb.Bound, len(named))
	for i, n := range named {
		bounds[i] = zones[n].Shape.Bound().Pad(slack)
	}
	var possible []int
	for _, p := range pieces {
		b := p.Bound()
		possible = possible[:0]
		for i, zone := range bounds {
			if zone.Contains(b.Min) && zone.Contains(b.Max) {
				possible = append(possible, i)
			}
		}
		if len(possible) > 1 {
			inside := labelPoint(p)
			for _, i := range possible {
				if plane.Contains(orb.MultiPolygon{zones[named[i]].Shape}, inside) {
					possible = append(possible[:0], i)
					break
				}
			}
		}
		if len(possible) == 1 {
			areas[possible[0]] += areaOf(orb.MultiPolygon{p})
		}
	}
	return areas
}
