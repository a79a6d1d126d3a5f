package coverage

import (
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage/views"
)

// courseWorth is the share of the flight time that another course than that of
// the flight must save.
const courseWorth = 0.05

// fly plans all areas, takes their photos in a simulation, and measures what
// would still fall short.
func (r *replanner) fly(areas []*reflight) {
	r.plan.Lines, r.plan.Photos, r.plan.Track, r.plan.Time = 0, 0, 0, 0
	r.plan.Buffer = r.greatestBuffer(r.all(areas))
	if !r.planned {
		return
	}
	var taken []views.Footprint
	for _, g := range areas {
		taken = append(taken, r.flown(g)...)
		r.plan.Lines += g.Lines
		r.plan.Photos += g.Photos
		r.plan.Track += g.Track
		r.plan.Time += g.Time
	}
	r.prove(areas, taken)
}

// all returns the needs of all areas, by views.
func (r *replanner) all(areas []*reflight) []orb.MultiPolygon {
	out := make([]orb.MultiPolygon, r.wanted)
	for _, g := range areas {
		for v, ground := range g.needs {
			out[v] = append(out[v], ground...)
		}
	}
	return out
}

// flown plans an area, on the course of the flight or on that which is best for
// its shape if that takes clearly less time, and returns the footprints of its photos.
func (r *replanner) flown(g *reflight) []views.Footprint {
	var best Plan
	for _, course := range []float64{r.course, math.NaN()} {
		p, err := PlanFlight(r.frame.ToDegrees(g.shape), PlanInput{
			Setup: r.setup, Course: course, Speed: r.plan.Speed, TurnTime: UsualTurnTime,
		})
		if err == nil && (best.Lines == 0 || p.FlightTime < (1-courseWorth)*best.FlightTime) {
			best = p
		}
	}
	if best.Lines == 0 {
		return nil
	}
	part := best.Parts[0]
	g.Course, g.Lines, g.Photos, g.Track, g.Time = part.Course, best.Lines, best.Photos, best.Track, best.FlightTime
	var out []views.Footprint
	for _, l := range part.Lines {
		for _, at := range r.centres(l, g.shape) {
			if f := r.look(at, part.Course); f != nil {
				out = append(out, f)
			}
		}
	}
	return out
}

// centres places the photos of a line: one air base apart from where it enters
// the area, and none beyond. What the plan takes outside the area does not
// count, since a flight controller may leave it out.
func (r *replanner) centres(l PlannedLine, area orb.MultiPolygon) []orb.Point {
	line := orb.LineString{r.frame.Metres(l.From), r.frame.Metres(l.To)}
	length := distance(line[0], line[1])
	if length == 0 {
		return line[:1]
	}
	var out []orb.Point
	for _, in := range plane.Inside(line, area) {
		for k := range roundedDown((in.To-in.From)/r.plan.AirBase) + 1 {
			out = append(out, between(line[0], line[1], (in.From+float64(k)*r.plan.AirBase)/length))
		}
	}
	return out
}

// look is the footprint of a photo straight down at the planned height, over
// the terrain where that is known.
func (r *replanner) look(at orb.Point, course float64) views.Footprint {
	c := candidate{Camera: r.setup.Camera, Yaw: course, Pitch: -90, at: at, height: r.plan.Height, ground: r.relief.under(at)}
	if r.setup.WidthAlong {
		c.Yaw += 90
	}
	r.relief.lay(&c)
	if c.footprint == nil {
		return nil
	}
	return views.Footprint{c.footprint}
}

// prove measures what falls short when the photos are added to those that are
// there.
func (r *replanner) prove(areas []*reflight, taken []views.Footprint) {
	rest := views.Below(r.ground, append(r.near(r.ground), taken...), []int{r.wanted})[0]
	least := max(r.least, 0.05) // m²; coordinates are rounded to 0.1 mm
	var left orb.MultiPolygon
	for _, p := range rest {
		if areaOf(orb.MultiPolygon{p}) >= least {
			left = append(left, p)
		}
	}
	r.plan.Remaining, r.plan.RemainingEdge = areaOf(left), r.edgeWithin(rest)
	r.plan.Closes = len(left) == 0 && r.plan.RemainingEdge == 0
	for _, g := range areas {
		g.Closes, g.Remaining, g.RemainingEdge = g.Lines > 0, 0, 0
		if r.plan.Closes {
			continue
		}
		own := r.union(g.needs)
		g.Remaining = areaOf(plane.Intersection(r.grid(), left, own))
		g.RemainingEdge = r.edgeWithin(plane.Intersection(r.grid(), rest, own))
		g.Closes = g.Lines > 0 && g.Remaining < least && g.RemainingEdge == 0
	}
}

// edgeWithin is how much of the edge lies in ground, in pieces of leastStretch
// and more.
func (r *replanner) edgeWithin(ground orb.MultiPolygon) float64 {
	sum := 0.0
	if len(ground) == 0 {
		return 0
	}
	for _, path := range r.paths {
		if len(path) == 0 {
			continue
		}
		for _, in := range plane.Inside(path, ground) {
			if in.To-in.From >= leastStretch {
				sum += in.To - in.From
			}
		}
	}
	return sum
}
