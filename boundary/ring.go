package boundary

import (
	"fmt"
	"math"
	"slices"
	"strconv"

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

// vertex is a corner of a ring and its number in the file's ring, from 1.
type vertex struct {
	orb.Point
	number int
}

// tidyRing drops what says the same twice: the closing vertex and repeats.
// Every other vertex comes through bit for bit.
func tidyRing(ring orb.Ring, place finding.Place) ([]vertex, []finding.Finding) {
	var found []finding.Finding
	say := func(code finding.Code, severity finding.Severity, v vertex, amount float64, unit, format string, args ...any) {
		at := place.At(v.Point[0], v.Point[1])
		at.Vertex = v.number
		found = append(found, finding.Finding{Code: code, Severity: severity, Place: at, Text: fmt.Sprintf(format, args...), Amount: amount, Unit: unit})
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
			"%s is not closed: its last vertex lies %s from its first. It is closed with a straight side.", ringName(place), metres(gap))
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
			"%s repeats %s directly after itself, first at vertex %d. The %s left out.",
			ringName(place), count(repeats, "vertex", "vertices"), firstRepeat.number, plural(repeats, "repeat is", "repeats are"))
	}
	return kept, found
}

// cutSpikes removes the tips of spikes until none is left.
func cutSpikes(vertices []vertex, place finding.Place, local local) ([]vertex, []finding.Finding) {
	var found []finding.Finding
	xy := make([]orb.Point, len(vertices))
	for i, v := range vertices {
		xy[i] = local.metres(v.Point)
	}
	vertices = slices.Clone(vertices)
	// As far as once around without a spike: what goes last may be a neighbour of the first.
	for i, quiet := 0, 0; quiet < len(vertices) && len(vertices) > 3; {
		n := len(vertices)
		i %= n
		before, after := (i+n-1)%n, (i+1)%n
		length, is := spikeAt(xy[before], xy[i], xy[after])
		if !is {
			i++
			quiet++
			continue
		}
		quiet = 0
		at := place.At(vertices[i].Point[0], vertices[i].Point[1])
		at.Vertex = vertices[i].number
		found = append(found, finding.Finding{Code: finding.Spike, Severity: finding.Mended, Place: at, Amount: length, Unit: "m",
			Text: fmt.Sprintf("%s runs out to vertex %d and straight back: a spike of %s that encloses nothing. Its tip is left out.", ringName(place), at.Vertex, metres(length))})
		vertices = slices.Delete(vertices, i, i+1)
		xy = slices.Delete(xy, i, i+1)
		n--
		// Where the two arms were equally long their ends are now neighbours
		// at one place.
		if j := i % n; vertices[j].Point == vertices[(j+n-1)%n].Point && n > 3 {
			vertices = slices.Delete(vertices, j, j+1)
			xy = slices.Delete(xy, j, j+1)
		}
		i = max(0, i-2)
	}
	return vertices, found
}

// spikeAt reports whether the way before-tip-after runs out and back within
// spikeWidth, and how far the shorter arm reaches.
func spikeAt(before, tip, after orb.Point) (length float64, is bool) {
	a := orb.Point{before[0] - tip[0], before[1] - tip[1]}
	b := orb.Point{after[0] - tip[0], after[1] - tip[1]}
	la, lb := math.Hypot(a[0], a[1]), math.Hypot(b[0], b[1])
	length = min(la, lb)
	if length < spikeLength || a[0]*b[0]+a[1]*b[1] <= 0 {
		return 0, false
	}
	// The shorter arm's end lies this far from the longer arm.
	width := math.Abs(a[0]*b[1]-a[1]*b[0]) / max(la, lb)
	return length, width <= spikeWidth
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
		Text: fmt.Sprintf("%s has %s closer together than %.0f cm, first at vertex %d; the closest are %s apart. They are kept.",
			ringName(place), count(pairs, "pair of vertices", "pairs of vertices"), nearVertices*100, at.Vertex, metres(least))}}
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

// ringName says which ring a place means, as the start of a sentence.
func ringName(p finding.Place) string {
	if p.Ring > 1 {
		return fmt.Sprintf("Hole %d of %s", p.Ring-1, partName(p))
	}
	return "The outline of " + partName(p)
}

func partName(p finding.Place) string {
	name := fmt.Sprintf("feature %d", p.Feature)
	if p.Name != "" {
		name = fmt.Sprintf("“%s”", p.Name)
	}
	if p.Part > 1 {
		name = fmt.Sprintf("part %d of %s", p.Part, name)
	}
	return name
}

// metres writes a length in metres with digits to suit its size.
func metres(m float64) string {
	switch {
	case m < 0.1:
		return fmt.Sprintf("%.1f cm", m*100)
	case m < 10:
		return fmt.Sprintf("%.2f m", m)
	case m < 100:
		return fmt.Sprintf("%.1f m", m)
	}
	return thousands(m) + " m"
}

// squareMetres writes an area with digits to suit its size.
func squareMetres(a float64) string {
	switch {
	case a < 10:
		return fmt.Sprintf("%.2f m²", a)
	case a < 10000:
		return thousands(a) + " m²"
	}
	return fmt.Sprintf("%.2f ha", a/10000)
}

// thousands writes a whole number with a comma between groups of three digits.
func thousands(x float64) string {
	digits := strconv.FormatFloat(x, 'f', 0, 64)
	for i := len(digits) - 3; i > 0 && digits[i-1] != '-'; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	return digits
}

func count(n int, one, many string) string { return fmt.Sprintf("%d %s", n, plural(n, one, many)) }

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
