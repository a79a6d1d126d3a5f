package boundary

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Prove checks that the flight area is valid, contains the site area, and that
// its boundary keeps the buffer to 1 cm. It returns the least distance in
// metres between the boundaries.
func Prove(site, flight orb.MultiPolygon, buffer float64) (float64, error) {
	if err := plane.Valid(flight); err != nil {
		return 0, fmt.Errorf("the flight area is not valid: %w", err)
	}
	frame, err := plane.FrameFor(flight)
	if err != nil {
		return 0, err
	}
	siteGround, flightGround := frame.ToMetres(site, deviation/2), frame.ToMetres(flight, deviation/2)
	distance := plane.LeastDistance(siteGround, flightGround)
	if distance < buffer-shortfall {
		return 0, fmt.Errorf("the flight area keeps only %s from the site area; %s was asked for", finding.Close(distance), finding.Close(buffer))
	}
	// The boundaries stay apart, so that each piece of one lies wholly inside
	// or outside the other: one vertex of each ring tells.
	inFlight, inSite := plane.NewLocator(flightGround), plane.NewLocator(siteGround)
	for _, p := range siteGround {
		if !inFlight.Contains(p[0][0]) {
			return 0, fmt.Errorf("the flight area does not hold the part of the site area at %s", latLon(frame.Degrees(p[0][0])))
		}
	}
	for _, p := range flightGround {
		for _, ring := range p {
			if inSite.Contains(ring[0]) {
				return 0, fmt.Errorf("the flight area leaves out ground of the site area at %s", latLon(frame.Degrees(ring[0])))
			}
		}
	}
	return distance, nil
}

// prove checks the flight area by the way it was asked for.
func (e *expander) prove(f *Flight) (err error) {
	site, flight := e.site.Shape(), f.Shape()
	for _, a := range f.Areas { // kept separate they may overlap each other
		if err := plane.Valid(a.Shape); err != nil {
			return fmt.Errorf("the flight area is not valid: %w", err)
		}
	}
	if !e.margin.KeepSeparate {
		if err := plane.Valid(flight); err != nil {
			return fmt.Errorf("the flight area is not valid: %w", err)
		}
	} else {
		flight = plane.Union(plane.DegreeGrid(flight.Bound(), decimals), splitParts(flight)...)
	}
	shrunk := len(e.shrunk()) > 0
	if !shrunk && len(e.keepOut) == 0 && len(e.margin.Along) == 0 {
		least, most := math.Inf(1), 0.0
		for _, a := range e.site.Areas {
			least, most = min(least, e.margin.BufferOf(a)), max(most, e.margin.BufferOf(a))
		}
		if f.MinDistance, err = Prove(site, flight, least); err != nil || least == most {
			return err
		}
	}
	f.MinDistance = plane.LeastDistance(e.frame.ToMetres(flight, deviation/2), e.frame.ToMetres(site, deviation/2))
	if shrunk {
		if err := e.proveInward(f, flight); err != nil {
			return err
		}
	}
	return e.proveStretches(f, flight)
}

// proveStretches holds every stretch of the boundary of areas that are extended
// against its own buffer: what lies inside the flight area shrunk by that buffer has it. What
// has not must be the doing of a keep-out area.
func (e *expander) proveStretches(f *Flight, flight orb.MultiPolygon) error {
	ground := e.frame.ToMetres(flight, deviation/2)
	reached := map[float64]orb.MultiPolygon{} // by buffer: what lies that far inside the flight area
	part := 0
	for _, a := range e.site.Areas {
		for _, polygon := range e.frame.ToMetres(a.Shape, deviation/2) {
			part++
			if e.margin.BufferOf(a) < 0 {
				continue
			}
			for r, ring := range polygon {
				line := orb.LineString(ring)
				lost := plane.Inside(line, e.keepOut)
				kept := plane.Outside(lost, lineLength(line))
				inside := map[float64][]plane.Interval{} // by buffer, along this line
				for _, s := range e.stretches(line, e.margin.BufferOf(a)) {
					if _, known := reached[s.buffer]; !known {
						reached[s.buffer] = plane.Offset(ground, shortfall-s.buffer, plane.Style{ArcTolerance: 0.001})
					}
					if _, known := inside[s.buffer]; !known {
						inside[s.buffer] = plane.Inside(line, reached[s.buffer])
					}
					for _, out := range plane.Outside(overlaps(inside[s.buffer], s.Interval), s.To) {
						for _, short := range overlaps(kept, plane.Interval{From: max(out.From, s.From), To: out.To}) {
							path := plane.Piece(line, short)
							if short.To-short.From > leastStretch && !e.besideKeepOut(path, s.buffer) {
								return fmt.Errorf("%s of the site area's edge at %s lack their buffer of %s", finding.Close(short.To-short.From), latLon(e.frame.Degrees(path[0])), finding.Close(s.buffer))
							}
							e.addShort(f, a, ShortEdge{Part: part, Ring: r + 1, From: short.From, To: short.To, Path: path})
						}
					}
				}
				for _, in := range lost {
					e.addShort(f, a, ShortEdge{Part: part, Ring: r + 1, From: in.From, To: in.To, Lost: true, Path: plane.Piece(line, in)})
				}
			}
		}
	}
	return nil
}

// leastStretch is the shortest stretch of edge that is looked at, in metres: a
// boundary is not known better.
const leastStretch = 0.05

// besideKeepOut reports whether a keep-out area is near enough to take a path its buffer.
func (e *expander) besideKeepOut(path orb.LineString, buffer float64) bool {
	if len(e.keepOut) == 0 {
		return false
	}
	if e.reach == nil {
		e.reach = map[float64]orb.MultiPolygon{}
	}
	near, known := e.reach[buffer]
	if !known {
		near = plane.Offset(e.keepOut, buffer+1, plane.Style{ArcTolerance: 0.5})
		e.reach[buffer] = near
	}
	return len(plane.Outside(plane.Inside(path, near), lineLength(path))) == 0
}

// overlaps cuts the intervals to within one.
func overlaps(all []plane.Interval, within plane.Interval) []plane.Interval {
	var out []plane.Interval
	for _, in := range all {
		if cut := (plane.Interval{From: max(in.From, within.From), To: min(in.To, within.To)}); cut.To > cut.From {
			out = append(out, cut)
		}
	}
	return out
}

func (e *expander) addShort(f *Flight, a Area, s ShortEdge) {
	length := s.To - s.From
	if length < leastStretch {
		return
	}
	for i, p := range s.Path {
		s.Path[i] = plane.WrapPoint(e.frame.Degrees(p))
	}
	f.Short = append(f.Short, s)
	place := finding.Place{Name: a.Name, Part: s.Part, Ring: s.Ring}.At(s.Path[0][0], s.Path[0][1])
	found := finding.Finding{Code: finding.MarginLost, Severity: finding.Note, Place: place, Amount: length, Unit: "m",
		Text: finding.Say("From %s to %s along its edge %s has less than its margin, because of a keep-out area: %s.",
			finding.Tenths(s.From), finding.Tenths(s.To), areaName(a), finding.Close(length))}
	if s.Lost {
		found.Code, found.Severity = finding.EdgeInKeepOut, finding.NeedsAnswer
		found.Text = finding.Say("From %s to %s the edge of %s lies in a keep-out area and cannot be captured: %s.",
			finding.Tenths(s.From), finding.Tenths(s.To), areaName(a), finding.Close(length))
	}
	f.Findings = append(f.Findings, found)
}

func splitParts(mp orb.MultiPolygon) []orb.MultiPolygon {
	parts := make([]orb.MultiPolygon, len(mp))
	for i, p := range mp {
		parts[i] = orb.MultiPolygon{p}
	}
	return parts
}

// latLon writes a place as latitude, longitude.
func latLon(p orb.Point) string {
	p = plane.WrapPoint(p)
	ns, ew := "N", "E"
	if p[1] < 0 {
		ns = "S"
	}
	if p[0] < 0 {
		ew = "W"
	}
	return fmt.Sprintf("%.6f° %s, %.6f° %s", math.Abs(p[1]), ns, math.Abs(p[0]), ew)
}
