package coverage

import (
	"errors"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/sequence"
)

const (
	// usualViews is the number of photos that must see every point when the
	// job does not say (common practice, no source; 3 is the least that works).
	usualViews = 5
	// edgeDeviation is how far, in metres, a straight side in degrees may
	// leave the one drawn in the plane.
	edgeDeviation  = 0.005
	greatestBuffer = 10_000 // metres
)

// Run measures what the photos of a job saw of its site. It is an error when
// there is no site area, no photo with a position, no camera or no height to
// work with.
func Run(job Job) (*Audit, error) {
	if job.ReflyBuffer < 0 || job.ReflyBuffer > greatestBuffer {
		return nil, fmt.Errorf("the re-fly buffer must lie between 0 and %d m", greatestBuffer)
	}
	if err := checkPoints(job.Points); err != nil {
		return nil, err
	}
	unwrapped := plane.Unwrap(job.Site)
	frame, err := plane.FrameFor(unwrapped)
	if err != nil {
		return nil, fmt.Errorf("the site area: %w", err)
	}
	site := frame.ToMetres(unwrapped, edgeDeviation)
	if areaOf(site) == 0 {
		return nil, errors.New("the site area holds no ground")
	}
	flight := frame.ToMetres(plane.Unwrap(job.Flight), edgeDeviation)

	r, err := newRelief(job, frame, site)
	if err != nil {
		return nil, err
	}
	s, err := selectPhotos(job, frame, r)
	if err != nil {
		return nil, err
	}
	audit := &Audit{Wanted: job.Wanted}
	if audit.Wanted.Views <= 0 {
		audit.Wanted.Views = usualViews
	}
	wanted := audit.Wanted.Views

	completeAngles(s.candidates, s.trace.Headings)
	lines, number := s.lines()
	r.layAll(s.candidates)
	sees := audit.measureEdge(site, s.candidates, frame)
	f := fieldOf(site, s.candidates, sees)
	forward, side := f.forwardOverlaps(lines), f.sideOverlaps(lines)
	speeds := audit.measureSpeeds(job, s, lines, number)
	audit.weakest(s, lines, forward)
	audit.Overlap.Forward = spread(shares(forward), lowOverlap(job.Wanted.Forward))
	audit.Overlap.Side = spread(side, lowOverlap(job.Wanted.Side))
	doubts := doubtsOf(job.Errors, s.candidates, site.Bound(), r)
	used := audit.takeShots(s, lines, speeds, sees)
	audit.addFlights(s, frame)
	audit.sumSpeeds(s, used)

	footprints := make([]orb.Ring, len(used))
	for i, c := range used {
		footprints[i] = c.footprint
	}
	audit.Views = viewBands(site, footprints, wanted)
	audit.Totals, audit.SiteArea = totalsOf(audit.Views, wanted)
	audit.Zones = zonesOf(audit.Views, wanted, max(0, job.MinZone))

	audit.Photos.Read = len(job.Photos) + len(job.LeftOut)
	audit.Photos.Used = len(used)
	audit.Photos.LeftOut = s.leftOut
	audit.Photos.Duplicates = s.duplicates
	for i, c := range used {
		if !plane.Contains(site, c.at) && !plane.Contains(flight, c.at) {
			audit.Shots[i].Outside = true
			audit.Photos.OutsideCentres++
		}
	}

	audit.GSD = gsdSpread(audit.Shots, job.Wanted.GSD)
	audit.measureGround(job, site, doubts, sees, r, used, frame)
	audit.measureReach(site, used, frame)
	audit.seePoints(job.Points, used, r, site, frame)
	audit.planReflights(job, s, site, footprints, frame)
	unflown := audit.unflown(frame)
	audit.toDegrees(frame)
	audit.Map = degreeRasterOf(unwrapped, audit.Shots, mostCells, frame)
	audit.Findings = judge(job, audit, s, used, unflown)
	return audit, nil
}

// measureEdge walks the edge of the site and returns which candidates see
// something of the site.
func (a *Audit) measureEdge(site orb.MultiPolygon, candidates []*candidate, frame plane.Frame) []bool {
	sees := make([]bool, len(candidates))
	var rings []orb.Ring
	var owner []int
	for i, c := range candidates {
		if c.footprint != nil && c.footprint.Bound().Intersects(site.Bound()) {
			rings = append(rings, c.footprint)
			owner = append(owner, i)
		}
	}
	meets := make([]bool, len(rings))
	a.Edge = walkEdge(site, indexFootprints(rings, site), a.Wanted.Views, frame, meets)
	for i, ring := range rings {
		// A footprint that does not meet the edge lies all inside or all outside.
		sees[owner[i]] = meets[i] || plane.Contains(site, ring[0])
	}
	return sees
}

func fieldOf(site orb.MultiPolygon, candidates []*candidate, sees []bool) field {
	f := field{counted: sees, onSite: func(p orb.Point) bool { return plane.Contains(site, p) }}
	for _, c := range candidates {
		f.at = append(f.at, c.at)
		f.footprints = append(f.footprints, c.footprint)
	}
	return f
}

// takeShots makes shots and lines of the candidates that see something of the
// site, and leaves the others out. Footprints of shots are in plane metres still.
func (a *Audit) takeShots(s *selection, lines []sequence.Line, speeds []LineSpeed, sees []bool) []*candidate {
	number := make([]int, len(s.candidates)) // of the shot, -1 for none
	a.Shots = slices.Grow(a.Shots, len(s.candidates))
	for i, c := range s.candidates {
		number[i] = -1
		if sees[i] {
			number[i] = len(a.Shots)
			a.Shots = append(a.Shots, Shot{
				Photo: c.Photo, Camera: c.Camera, Height: c.height, Line: -1,
				Footprint: c.footprint,
				GSD:       c.gsd(),
				Phase:     string(s.trace.Phases[c.flown]),
				Speed:     s.trace.Speeds[c.flown].Usual,
				Blur:      blurOf(c, s.trace.Speeds[c.flown].Usual),
			})
		}
	}
	for n, l := range lines {
		line := Line{Course: l.Course, Flight: l.Flight, Speed: speeds[n]}
		last := -1
		for _, i := range l.Shots {
			if number[i] < 0 {
				continue
			}
			if last >= 0 {
				line.Length += distance(s.candidates[last].at, s.candidates[i].at)
			}
			last = i
			line.Shots = append(line.Shots, number[i])
		}
		if len(line.Shots) < 2 {
			continue
		}
		for _, i := range line.Shots {
			if a.Shots[i].Line < 0 {
				a.Shots[i].Line = len(a.Lines)
			}
		}
		a.Lines = append(a.Lines, line)
	}
	i := -1
	s.remove(func(c *candidate) finding.Text {
		i++
		switch {
		case sees[i]:
			return finding.Text{}
		case c.footprint == nil:
			return looksUp
		}
		return seesNoGround
	})
	return s.candidates
}

// lowOverlap tells whether an overlap misses the wanted one, both rounded to
// whole per cent: no flight keeps a spacing better than that.
func lowOverlap(wanted float64) func(float64) bool {
	return func(v float64) bool { return wanted > 0 && v < wanted-0.005 }
}

// gsdSpread allows 1 % over the wanted GSD, which heights are not known to.
func gsdSpread(shots []Shot, wanted float64) Spread {
	values := make([]float64, len(shots))
	for i, s := range shots {
		values[i] = s.GSD
	}
	return spread(values, func(v float64) bool { return wanted > 0 && v > 1.01*wanted })
}

// unflown compares the edge with the re-fly areas, still in plane metres.
func (a *Audit) unflown(frame plane.Frame) (u unflownEdge) {
	const touching = 0.001 // metres; a re-fly area without a buffer has the edge as its rim
	for _, s := range a.Edge.Stretches {
		path := make([]orb.Point, len(s.Path))
		for i, p := range s.Path {
			path[i] = frame.Metres(p)
		}
		chainages := chainagesOf(path)
		missed := 0.0
		for _, step := range a.Edge.Rings[s.Ring].Profile {
			from, to := max(step.From, s.From), min(step.To, s.To)
			if from >= to {
				continue
			}
			middle := along(path, chainages, (from+to)/2-s.From, (from+to)/2-s.From)[0]
			if !slices.ContainsFunc(a.Refly, func(r Refly) bool {
				area := orb.MultiPolygon{r.Shape}
				return area.Bound().Pad(touching).Contains(middle) &&
					(plane.Contains(area, middle) || plane.BoundaryDistance(area, middle) <= touching)
			}) {
				missed += to - from
			}
		}
		if missed > 0 {
			u.stretches++
			u.length += missed
		}
	}
	return u
}

// toDegrees takes the shapes that are still in plane metres to degrees.
func (a *Audit) toDegrees(frame plane.Frame) {
	a.groundToDegrees(frame)
	polygon := func(p *orb.Polygon) { *p = frame.ToDegrees(orb.MultiPolygon{*p})[0] }
	for i := range a.Shots {
		s := &a.Shots[i]
		s.Footprint = frame.ToDegrees(orb.MultiPolygon{{s.Footprint}})[0][0]
	}
	for i := range a.Zones {
		polygon(&a.Zones[i].Shape)
		a.Zones[i].Label = frame.Degrees(a.Zones[i].Label)
	}
	for i := range a.Views {
		a.Views[i].Shape = frame.ToDegrees(a.Views[i].Shape)
	}
	for i := range a.Refly {
		polygon(&a.Refly[i].Shape)
	}
}
