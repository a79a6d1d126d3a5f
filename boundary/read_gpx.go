package boundary

import (
	"github.com/paulmach/orb"
)

// gpxWalk reads GPX 1.0 and 1.1. Its tracks and routes are paths, its waypoints
// points, each a feature of its own; heights are those of the walk, not of an
// area, and are not looked at.
type gpxWalk struct{ *xmlWalk }

// readGPX reads the file whose root was just begun.
func readGPX(x *xmlWalk) (format string, err error) {
	format = "GPX"
	for _, a := range x.attributes {
		if a.Name.Local == "version" && (a.Value == "1.0" || a.Value == "1.1") {
			format += " " + a.Value
		}
	}
	g := gpxWalk{x}
	return format, g.children(func(name string, at int64) error {
		switch name {
		case "wpt", "rte", "trk":
			return g.feature(name, at)
		}
		return g.skip(name, at)
	})
}

// feature reads a waypoint, route or track.
func (g gpxWalk) feature(kind string, at int64) error {
	g.beginFeature()
	title := ""
	if kind == "wpt" {
		p, err := g.position(at)
		if err != nil {
			return err
		}
		g.addPoint(g.place(at), p)
	}
	named := func(name string, at int64) error {
		if name != "name" {
			return g.skip(name, at)
		}
		text, _, err := g.text()
		title = string(text)
		return err
	}
	var err error
	switch kind {
	case "rte":
		err = g.path(at, "rtept", named)
	case "trk":
		err = g.children(func(name string, at int64) error {
			if name == "trkseg" {
				return g.path(at, "trkpt", g.skip)
			}
			return named(name, at)
		})
	default:
		err = g.children(named)
	}
	if err == nil {
		g.endFeature(at, title)
	}
	return err
}

// path reads the vertices of the route or track segment that began at offset
// at; other elements than vertices are left to visit.
func (g gpxWalk) path(at int64, vertex string, visit func(name string, at int64) error) error {
	place := g.place(at)
	if !g.spend() {
		return g.overspent(at)
	}
	var line []orb.Point
	err := g.children(func(name string, at int64) error {
		if name != vertex {
			return visit(name, at)
		}
		g.vertex = len(line) + 1
		p, err := g.position(at)
		if err != nil {
			return err
		}
		line = append(line, p)
		return g.skip(name, at)
	})
	g.vertex = 0
	if err == nil && len(line) > 0 {
		g.addPath(place, line)
	}
	return err
}

// position reads the attributes of the element that began at offset at.
func (g gpxWalk) position(at int64) (p orb.Point, err error) {
	if !g.spend() {
		return p, g.overspent(at)
	}
	for i, key := range []string{"lon", "lat"} {
		value := ""
		for _, a := range g.attributes {
			if a.Name.Local == key {
				value = a.Value
			}
		}
		if value == "" {
			return p, g.fault(at, "this point has no “%s”; it needs a longitude and a latitude", key)
		}
		x, ok := decimal([]byte(value))
		if !ok {
			return p, g.fault(at, "%s is not a number", quote(value))
		}
		p[i] = x
	}
	return p, nil
}
