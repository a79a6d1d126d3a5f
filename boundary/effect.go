package boundary

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Effect is what the lines and keep-out areas of a Margin do to a site. One
// that does nothing lies elsewhere than was thought.
type Effect struct {
	Along   []float64 // metres of the site's edge that have the buffer of each Margin.Along
	Reached []bool    // whether each Margin.KeepOut is within a buffer of the site
	Unflown float64   // m² of the parts that are extended that lie in keep-out areas
}

// EffectOf works out what the margin that gave a flight area has done. It is
// an error if the site is wider than 200 km, or if the flight area leaves out
// ground of it that no keep-out area takes.
func EffectOf(s Site, m Margin, f Flight) (Effect, error) {
	effect := Effect{Along: make([]float64, len(m.Along)), Reached: make([]bool, len(m.KeepOut))}
	if len(m.Along)+len(m.KeepOut) == 0 {
		return effect, nil
	}
	shape := s.Shape()
	frame, err := plane.FrameFor(shape)
	if err != nil {
		return Effect{}, err
	}
	e := expander{site: s, margin: m, frame: frame}
	widest := 0.0
	for _, a := range e.extended() {
		widest = max(widest, m.BufferOf(a))
		for _, polygon := range frame.ToMetres(a.Shape, deviation) {
			for _, ring := range polygon {
				for _, s := range e.stretches(orb.LineString(ring), m.BufferOf(a)) {
					if s.along >= 0 {
						effect.Along[s.along] += s.To - s.From
					}
				}
			}
		}
	}
	for _, along := range m.Along {
		widest = max(widest, along.Buffer)
	}
	ground := frame.ToMetres(shape, deviation)
	for i, k := range m.KeepOut {
		zone := frame.ToMetres(plane.Unwrap(k.Shape), deviation)
		effect.Reached[i] = plane.LeastDistance(ground, zone) < widest+k.Margin || holdsAny(ground, zone) || holdsAny(zone, ground)
	}
	if areas := e.extended(); len(areas) > 0 {
		extended := Site{Areas: areas}.Shape()
		flight := f.Shape()
		grid := plane.DegreeGrid(extended.Bound().Union(flight.Bound()), decimals)
		effect.Unflown = plane.GeodesicArea(plane.Difference(grid, extended, flight))
	}
	if effect.Unflown > 0 && !slices.Contains(effect.Reached, true) {
		return effect, fmt.Errorf("the flight area leaves out %s of the site area", finding.Area(effect.Unflown))
	}
	return effect, nil
}

// holdsAny reports whether a first vertex of b's polygons lies in a.
func holdsAny(a, b orb.MultiPolygon) bool {
	return slices.ContainsFunc(b, func(p orb.Polygon) bool { return plane.Contains(a, p[0][0]) })
}
