package boundary

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// wideGap is the share of a path's length from which its two ends lie so far
// apart that a stretch may be missing. Our own choice.
const wideGap = 0.1

// outline says which part was made of a path or of points.
type outline struct {
	part   int // index of the part
	points int // how many points it was made of, 0 for a path
	open   bool
}

// closePaths makes an outline of each path that could enclose ground. Where a
// file has neither polygons nor such paths, it takes the points of each
// feature, or else all points, in the order of the file.
func (r *reading) closePaths() []outline {
	rings := r.paths.takeRings()
	points := len(rings) == 0 && len(r.parts) == 0
	if points {
		if rings = r.points.takeRings(); len(rings) == 0 {
			r.points.join()
			rings = r.points.takeRings()
		}
	}
	type numbered struct {
		Part
		made bool
	}
	var all []numbered
	for _, p := range r.parts {
		all = append(all, numbered{p, false})
	}
	for _, t := range rings {
		all = append(all, numbered{Part{Name: t.place.Name, Place: t.place, Polygon: orb.Polygon{t.vertices}}, true})
	}
	slices.SortStableFunc(all, func(a, b numbered) int { return a.Place.Feature - b.Place.Feature })

	var closed []outline
	r.parts = nil
	for i, p := range all {
		p.Place.Part = 1
		if i > 0 && r.parts[i-1].Place.Feature == p.Place.Feature {
			p.Place.Part = r.parts[i-1].Place.Part + 1
		}
		if p.made {
			o := outline{part: i}
			ring := p.Polygon[0]
			if points {
				o.points = len(ring)
			}
			if first := ring[0]; first != ring[len(ring)-1] {
				p.Polygon[0] = append(ring[:len(ring):len(ring)], first)
				o.open = true
			}
			closed = append(closed, o)
		}
		r.parts = append(r.parts, p.Part)
	}
	return closed
}

// takeRings takes out the traces that could enclose ground.
func (t *tally) takeRings() []trace {
	var rings []trace
	left := tally{}
	for _, one := range t.traces {
		if threeDifferent(one.vertices) {
			rings = append(rings, one)
			continue
		}
		if left.count == 0 {
			left.first = one.place
		}
		left.count += one.count
		left.vertices += len(one.vertices)
		left.longest = max(left.longest, len(one.vertices))
		left.traces = append(left.traces, one)
	}
	*t = left
	return rings
}

// join makes one trace of all.
func (t *tally) join() {
	if len(t.traces) == 0 {
		return
	}
	all := trace{place: t.traces[0].place}
	all.place.Name = "" // that of one point
	for _, one := range t.traces {
		all.vertices = append(all.vertices, one.vertices...)
		all.count += one.count
	}
	t.traces = []trace{all}
}

func threeDifferent(vertices []orb.Point) bool {
	second := -1
	for i, p := range vertices {
		switch {
		case p == vertices[0]:
		case second < 0:
			second = i
		case p != vertices[second]:
			return true
		}
	}
	return false
}

// sayClosed tells of each part that was made of a path or of points.
func sayClosed(parts []Part, closed []outline) []finding.Finding {
	var found []finding.Finding
	for i, o := range closed {
		part := parts[o.part]
		f := finding.Finding{Code: finding.PathClosed, Severity: finding.Mended, Place: part.Place}
		if i == maxListed {
			f.Amount, f.Unit = float64(len(closed)-i), "paths"
			f.Text = finding.Say("%s taken as outlines in the same way.", finding.Counted(len(closed)-i, "more path is", "more paths are"))
			return append(found, f)
		}
		ring := part.Polygon[0]
		var taken finding.Text
		switch {
		case o.points > 0:
			taken = finding.Say("%s taken as the outline of an area, since that was asked for.", finding.Counted(o.points, "point is", "points are"))
		case part.Name != "":
			taken = finding.Say("The path “%s” is taken as the outline of an area, since that was asked for.", part.Name)
		default:
			taken = finding.Say("A path of %s is taken as the outline of an area, since that was asked for.", finding.Counted(len(ring)-1, "side", "sides"))
		}
		f.Text = finding.Sentences(taken, ends(ring, o, &f))
		found = append(found, f)
	}
	return found
}

// ends is a sentence on how far the ends of an outline lay apart, which become
// the amount of the finding.
func ends(ring orb.Ring, o outline, f *finding.Finding) finding.Text {
	if !o.open {
		f.Unit = "m"
		return finding.Say("It ends where it begins.")
	}
	n := len(ring)
	for _, p := range ring {
		if math.Abs(p[0]) > 360 || math.Abs(p[1]) > 90 {
			return finding.Say("Its ends are joined with a straight side.")
		}
	}
	gap := plane.GeodesicDistance(ring[n-2], ring[0])
	length := plane.GeodesicPerimeter(orb.MultiPolygon{{ring}}) - gap
	f.Amount, f.Unit = gap, "m"
	joined := finding.Say("Its ends lay %s apart; they are joined with a straight side.", finding.Close(gap))
	switch {
	case o.points > 0:
		return finding.Say("They are joined in the order of the file; the side from the last to the first is %s long.", finding.Close(gap))
	case gap > wideGap*length:
		return finding.Sentences(joined, finding.Say("That is far for a path of %s: a stretch may be missing.", finding.Close(length)))
	}
	return joined
}
