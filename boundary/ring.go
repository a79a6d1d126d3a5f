package boundary

import (
	"math"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Lengths in metres that decide what counts as a fault of drawing.
const (
	nearVertices = 0.05 // closer successive vertices are pointed out: no boundary is known better
	spikeWidth   = 0.01 // an out-and-back no wider than this encloses nothing
	spikeLength  = 0.05 // and is at least this long, else it is a pair of near vertices
)

// local turns degrees into metres by one factor each way, so that a side which
// is straight between longitudes and latitudes stays straight. It is true to a
// thousandth within some kilometres: enough to judge small lengths, not to
// measure with.
type local struct {
	origin, perDegree orb.Point
}

func localAt(origin orb.Point) local {
	const step = 1e-3
	lat := min(max(origin[1], -89), 89)
	return local{origin, orb.Point{
		plane.GeodesicDistance(orb.Point{0, lat}, orb.Point{step, lat}) / step,
		plane.GeodesicDistance(orb.Point{0, lat}, orb.Point{0, lat + step}) / step,
	}}
}

func (l local) metres(p orb.Point) orb.Point {
	return orb.Point{(p[0] - l.origin[0]) * l.perDegree[0], (p[1] - l.origin[1]) * l.perDegree[1]}
}

func (l local) degrees(xy orb.Point) orb.Point {
	return orb.Point{l.origin[0] + xy[0]/l.perDegree[0], l.origin[1] + xy[1]/l.perDegree[1]}
}

// extentOf is the extent of all rings: in a file a hole may reach out of its outline.
func extentOf(p orb.Polygon) orb.Bound {
	bound := p[0].Bound()
	for _, ring := range p[1:] {
		if len(ring) > 0 {
			bound = bound.Union(ring.Bound())
		}
	}
	return bound
}

// vertex is a corner of a ring and its number in the file's ring, from 1.
type vertex struct {
	orb.Point
	number int
}

// tidyRing drops what says the same twice: the closing vertex and repeats.
// Every other vertex comes through bit for bit.
func tidyRing(ring orb.Ring, place finding.Place) ([]vertex, []finding.Finding) {
	var found []finding.Finding
	say := func(code finding.Code, severity finding.Severity, v vertex, amount float64, unit string, text finding.Text) {
		at := place.At(v.Point[0], v.Point[1])
		at.Vertex = v.number
		found = append(found, finding.Finding{Code: code, Severity: severity, Place: at, Text: text, Amount: amount, Unit: unit})
	}

	vertices := make([]vertex, len(ring))
	for i, p := range ring {
		vertices[i] = vertex{p, i + 1}
	}
	if n := len(vertices); n > 1 && ring[0] == ring[n-1] {
		vertices = vertices[:n-1]
	} else if n > 2 {
		gap := plane.GeodesicDistance(ring[0], ring[n-1])
		say(finding.UnclosedRing, finding.Mended, vertices[n-1], gap, "m",
			finding.Say("%s is not closed: its last vertex lies %s from its first. It is closed with a straight side.", finding.Start(ringName(place)), finding.Close(gap)))
	}

	var kept []vertex
	repeats := 0
	var firstRepeat vertex
	repeat := func(v vertex) {
		if repeats++; repeats == 1 {
			firstRepeat = v
		}
	}
	for _, v := range vertices {
		if n := len(kept); n > 0 && v.Point == kept[n-1].Point {
			repeat(v)
			continue
		}
		kept = append(kept, v)
	}
	for n := len(kept); n > 1 && kept[0].Point == kept[n-1].Point; n-- {
		repeat(kept[n-1])
		kept = kept[:n-1]
	}
	if repeats > 0 {
		say(finding.RepeatedVertex, finding.Mended, firstRepeat, float64(repeats), "vertices",
			finding.Say("%s repeats %s directly after itself, first at vertex %d. %s",
				finding.Start(ringName(place)), finding.Counted(repeats, "vertex", "vertices"), firstRepeat.number,
				finding.Either(repeats == 1, finding.Say("The repeat is left out."), finding.Say("The repeats are left out."))))
	}
	return kept, found
}

// cutSpikes removes spikes until none is left.
func cutSpikes(vertices []vertex, place finding.Place, local local) ([]vertex, []finding.Finding) {
	r := newLinkedRing(vertices, local)
	var found []finding.Finding
	// As far as once around without a spike: what goes last may be a neighbour
	// of the first.
	for i, quiet := 0, 0; quiet < r.left && r.left > 3; {
		s, is := r.spikeAt(i)
		if !is {
			i = r.after[i]
			quiet++
			continue
		}
		at := place.At(vertices[i].Point[0], vertices[i].Point[1])
		at.Vertex = vertices[i].number
		found = append(found, finding.Finding{Code: finding.Spike, Severity: finding.Mended, Place: at, Amount: s.length, Unit: "m",
			Text: finding.Say("%s runs out to vertex %d and straight back: a spike of %s that encloses nothing. Its tip is left out.", finding.Start(ringName(place)), at.Vertex, finding.Close(s.length))})
		r.cut(s)
		i, quiet = s.before, 0
	}
	if len(found) == 0 {
		return vertices, nil
	}
	kept := make([]vertex, 0, r.left)
	for i, v := range vertices {
		if !r.gone[i] {
			kept = append(kept, v)
		}
	}
	return kept, found
}

// linkedRing is a ring of which vertices can be taken out.
type linkedRing struct {
	xy            []orb.Point
	before, after []int // the neighbours of each vertex
	gone          []bool
	left          int // vertices
}

func newLinkedRing(vertices []vertex, local local) *linkedRing {
	n := len(vertices)
	r := &linkedRing{make([]orb.Point, n), make([]int, n), make([]int, n), make([]bool, n), n}
	for i, v := range vertices {
		r.xy[i], r.before[i], r.after[i] = local.metres(v.Point), (i+n-1)%n, (i+1)%n
	}
	return r
}

// spike runs out from the ring and back: all between the vertices before and
// after, but for base.
type spike struct {
	before, base, after int
	length              float64 // metres
}

// spikeAt follows a spike from its tip as long as the way back lies within
// spikeWidth of the way out as drawn. Sides that go on to part as slowly there
// are no spike but a sharp corner of ground, which stays.
func (r *linkedRing) spikeAt(tip int) (s spike, is bool) {
	s = spike{r.before[tip], tip, r.after[tip], 0}
	out, back := [2]orb.Point{r.xy[s.before], r.xy[tip]}, [2]orb.Point{r.xy[tip], r.xy[s.after]}
	left := r.left
	for left > 3 {
		outLength, backLength, sharp := arms(r.xy[s.before], r.xy[s.base], r.xy[s.after])
		if !sharp {
			break
		}
		// Where the shorter arm ends it must lie beside the longer.
		if backLength <= outLength && distanceToLine(r.xy[s.after], out) > spikeWidth ||
			backLength > outLength && distanceToLine(r.xy[s.before], back) > spikeWidth {
			break
		}
		left--
		switch {
		case r.xy[s.before] == r.xy[s.after] && left > 3: // they end at one place
			left--
			s.before, s.base, s.after = r.before[s.before], s.after, r.after[s.after]
			out, back = [2]orb.Point{r.xy[s.before], r.xy[s.base]}, [2]orb.Point{r.xy[s.base], r.xy[s.after]}
		case backLength <= outLength:
			s.base, s.after = s.after, r.after[s.after]
			back = [2]orb.Point{r.xy[s.base], r.xy[s.after]}
		default:
			s.base, s.before = s.before, r.before[s.before]
			out = [2]orb.Point{r.xy[s.before], r.xy[s.base]}
		}
	}
	if left == r.left || r.sharpAt(s) {
		return spike{}, false
	}
	s.length = math.Hypot(r.xy[s.base][0]-r.xy[tip][0], r.xy[s.base][1]-r.xy[tip][1])
	return s, true
}

// sharpAt reports whether what is left of a spike would be one again.
func (r *linkedRing) sharpAt(s spike) bool {
	before, base, after := r.xy[s.before], r.xy[s.base], r.xy[s.after]
	outLength, backLength, sharp := arms(before, base, after)
	if backLength <= outLength {
		return sharp && distanceToLine(after, [2]orb.Point{before, base}) <= spikeWidth
	}
	return sharp && distanceToLine(before, [2]orb.Point{base, after}) <= spikeWidth
}

// cut joins the vertices before and after a spike through its base.
func (r *linkedRing) cut(s spike) {
	for i := r.after[s.before]; i != s.after; i = r.after[i] {
		if i != s.base {
			r.gone[i] = true
			r.left--
		}
	}
	r.after[s.before], r.before[s.base] = s.base, s.before
	r.after[s.base], r.before[s.after] = s.after, s.base
}

// arms returns the lengths of the sides to and from a vertex, and whether the
// ring turns back there on arms that are long enough for a spike.
func arms(before, tip, after orb.Point) (out, back float64, sharp bool) {
	a := orb.Point{before[0] - tip[0], before[1] - tip[1]}
	b := orb.Point{after[0] - tip[0], after[1] - tip[1]}
	out, back = math.Hypot(a[0], a[1]), math.Hypot(b[0], b[1])
	return out, back, min(out, back) >= spikeLength && a[0]*b[0]+a[1]*b[1] > 0
}

func distanceToLine(p orb.Point, line [2]orb.Point) float64 {
	dx, dy := line[1][0]-line[0][0], line[1][1]-line[0][1]
	return math.Abs(dx*(p[1]-line[0][1])-dy*(p[0]-line[0][0])) / math.Hypot(dx, dy)
}

// enclosesNothing reports whether all of a ring lies within spikeWidth of the
// straight line from its first vertex to the one furthest from that.
func enclosesNothing(ring orb.Ring, local local) bool {
	first := local.metres(ring[0])
	var far orb.Point
	var most float64
	for _, v := range ring {
		p := local.metres(v)
		if d := math.Hypot(p[0]-first[0], p[1]-first[1]); d > most {
			far, most = p, d
		}
	}
	for _, v := range ring {
		p := local.metres(v)
		if math.Abs((far[0]-first[0])*(p[1]-first[1])-(far[1]-first[1])*(p[0]-first[0])) > spikeWidth*most {
			return false
		}
	}
	return true
}

// nearPairs points out successive vertices that lie closer than nearVertices.
func nearPairs(vertices []vertex, place finding.Place, local local) []finding.Finding {
	pairs, least, first := 0, math.Inf(1), vertex{}
	before := local.metres(vertices[len(vertices)-1].Point)
	for _, v := range vertices {
		p := local.metres(v.Point)
		if d := math.Hypot(p[0]-before[0], p[1]-before[1]); d < nearVertices {
			if pairs++; pairs == 1 {
				first = v
			}
			least = min(least, d)
		}
		before = p
	}
	if pairs == 0 {
		return nil
	}
	at := place.At(first.Point[0], first.Point[1])
	at.Vertex = first.number
	return []finding.Finding{{Code: finding.NearVertex, Severity: finding.Note, Place: at, Amount: least, Unit: "m",
		Text: finding.Say("%s has %s closer together than %s, first at vertex %d; the closest are %s apart. They are kept.",
			finding.Start(ringName(place)), finding.Counted(pairs, "pair of vertices", "pairs of vertices"), finding.Close(nearVertices), at.Vertex, finding.Close(least))}}
}

func points(vertices []vertex) orb.Ring {
	ring := make(orb.Ring, 0, len(vertices)+1)
	for _, v := range vertices {
		ring = append(ring, v.Point)
	}
	if len(ring) > 0 {
		ring = append(ring, ring[0])
	}
	return ring
}

// ringName says which ring a place means.
func ringName(p finding.Place) finding.Text {
	if p.Ring > 1 {
		return finding.Say("hole %d of %s", p.Ring-1, partName(p))
	}
	return finding.Say("the outline of %s", partName(p))
}

func partName(p finding.Place) finding.Text {
	name := finding.Say("feature %d", p.Feature)
	if p.Name != "" {
		name = finding.Say("“%s”", p.Name)
	}
	if p.Part > 1 {
		name = finding.Say("part %d of %s", p.Part, name)
	}
	return name
}

func count(n int, one, many string) string { return finding.Counted(n, one, many).String() }
