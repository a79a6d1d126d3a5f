package plane

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Interval is a piece of a line from one chainage to another, in the units of
// the coordinates, counted from the line's first point.
type Interval struct{ From, To float64 }

// Inside returns where the line runs inside the area or along its boundary,
// as intervals in rising order that do not touch.
func Inside(line orb.LineString, area orb.MultiPolygon) []Interval {
	edges := edgesOf(area)
	boxes := make([]orb.Bound, 0, len(edges)+len(line))
	for _, e := range edges {
		boxes = append(boxes, e.box())
	}
	for i := 1; i < len(line); i++ {
		boxes = append(boxes, straightEdge{line[i-1], line[i]}.box())
	}
	cuts := make([][]float64, max(0, len(line)-1)) // shares of each piece at which it meets the boundary
	meets := make([]bool, len(cuts))
	overlappingPairs(boxes, func(i, j int) {
		if i < len(edges) && j >= len(edges) {
			k := j - len(edges)
			if edgesMeet(line[k], line[k+1], edges[i].from, edges[i].to) {
				meets[k] = true
				cuts[k] = appendMeetings(cuts[k], line[k], line[k+1], edges[i])
			}
		}
	})
	var out []Interval
	var start float64
	inside := false
	for k := range cuts {
		a, b := line[k], line[k+1]
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		shares := append(cuts[k], 0, 1)
		slices.Sort(shares)
		for i := 1; i < len(shares); i++ {
			from, to := shares[i-1], shares[i]
			if to <= from {
				continue
			}
			if k == 0 || meets[k] { // else nothing has changed since the piece before
				middle := (from + to) / 2
				inside = Contains(area, orb.Point{a[0] + middle*(b[0]-a[0]), a[1] + middle*(b[1]-a[1])})
			}
			if !inside {
				continue
			}
			piece := Interval{start + from*length, start + to*length}
			if n := len(out); n > 0 && out[n-1].To >= piece.From {
				out[n-1].To = piece.To
			} else {
				out = append(out, piece)
			}
		}
		start += length
	}
	return out
}

// appendMeetings adds the shares of ab at which it crosses or touches e; both
// ends of what they have in common where they run along each other.
func appendMeetings(shares []float64, a, b orb.Point, e straightEdge) []float64 {
	ux, uy := b[0]-a[0], b[1]-a[1]
	vx, vy := e.to[0]-e.from[0], e.to[1]-e.from[1]
	wx, wy := e.from[0]-a[0], e.from[1]-a[1]
	along := func(p orb.Point) {
		if t := ((p[0]-a[0])*ux + (p[1]-a[1])*uy) / (ux*ux + uy*uy); t > 0 && t < 1 {
			shares = append(shares, t)
		}
	}
	if Orient(a, b, e.from) == 0 {
		along(e.from)
	}
	if Orient(a, b, e.to) == 0 {
		along(e.to)
	}
	if denominator := ux*vy - uy*vx; denominator != 0 {
		t, s := (wx*vy-wy*vx)/denominator, (wx*uy-wy*ux)/denominator
		if t > 0 && t < 1 && s >= 0 && s <= 1 {
			shares = append(shares, t)
		}
	}
	return shares
}

// Outside returns the rest of a line of the given length.
func Outside(inside []Interval, length float64) []Interval {
	var out []Interval
	from := 0.0
	for _, in := range inside {
		if in.From > from {
			out = append(out, Interval{from, in.From})
		}
		from = in.To
	}
	if from < length {
		out = append(out, Interval{from, length})
	}
	return out
}

// Piece returns the part of the line between two chainages.
func Piece(line orb.LineString, in Interval) orb.LineString {
	var out orb.LineString
	var start float64
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		from, to := max(in.From-start, 0), min(in.To-start, length)
		if length > 0 && from <= to && in.From <= start+length && in.To >= start {
			for _, d := range [2]float64{from, to} {
				p := orb.Point{a[0] + (b[0]-a[0])*d/length, a[1] + (b[1]-a[1])*d/length}
				if len(out) == 0 || out[len(out)-1] != p {
					out = append(out, p)
				}
			}
		}
		start += length
	}
	return out
}

// OffsetLines returns all ground within distance of the lines, in metres.
func OffsetLines(lines []orb.LineString, distance float64, s Style) orb.MultiPolygon {
	p := newPen(distance, s)
	for _, line := range lines {
		for k := 1; k < len(line); k++ {
			if a, b := line[k-1], line[k]; a != b {
				p.capsule(a, b)
			}
		}
	}
	return p.kept()
}
