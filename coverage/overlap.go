package coverage

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/coverage/sequence"
)

// sameLine is the share of the footprint's width under which two parallel
// lines count as one line flown twice.
const sameLine = 0.05

// field is what overlaps are measured in: candidates in plane metres, and
// whether ground belongs to the site.
type field struct {
	at         []orb.Point
	footprints []orb.Ring
	counted    []bool // whether a candidate sees something of the site
	onSite     func(orb.Point) bool
}

// forwardOverlaps returns, for successive photos of each line, the share of
// the first one's ground that the second sees too: PE = 1 − B/G where both
// photos look straight down and along the line.
func (f field) forwardOverlaps(lines []sequence.Line) []pair {
	var out []pair
	for n, l := range lines {
		for k := 1; k < len(l.Shots); k++ {
			i, j := l.Shots[k-1], l.Shots[k]
			if f.counted[i] && f.counted[j] {
				for _, share := range f.appendOverlap(nil, f.footprints[i], f.footprints[j], f.at[i], f.at[j]) {
					out = append(out, pair{n, i, j, share})
				}
			}
		}
	}
	return out
}

// pair is two successive candidates of a line, and the share of the first
// one's ground that the second sees too.
type pair struct {
	line, i, j int
	share      float64
}

func shares(pairs []pair) []float64 {
	out := make([]float64, len(pairs))
	for k, p := range pairs {
		out[k] = p.share
	}
	return out
}

// sideOverlaps returns, for each photo of a line and the nearest parallel line
// on each side that passes abeam of it, the share of its ground that the
// neighbour saw: its nearest footprint, moved along its track to abeam.
// PS = 1 − W/G where all photos look straight down and along the lines. Over
// terrain the footprint keeps its shape when it is moved.
func (f field) sideOverlaps(lines []sequence.Line) []float64 {
	tracks := make([]track, len(lines))
	reversed := make([]track, len(lines))
	for i, l := range lines {
		tracks[i] = f.trackOf(l)
		reversed[i] = tracks[i].reversed()
	}
	var out []float64
	for i, l := range lines {
		var beside []neighbour // all as if flown the way of l, so that they agree on right and left
		for j, m := range lines {
			if j == i || !sequence.Parallel(l, m) || len(tracks[i].shots) == 0 || len(tracks[j].shots) == 0 {
				continue
			}
			t := &tracks[j]
			if t.unit[0]*tracks[i].unit[0]+t.unit[1]*tracks[i].unit[1] < 0 {
				t = &reversed[j]
			}
			beside = append(beside, neighbour{t, j, t.clearOf(&tracks[i])})
		}
		slices.SortFunc(beside, func(a, b neighbour) int { return cmp.Compare(a.apart, b.apart) })
		for _, shot := range l.Shots {
			if f.counted[shot] {
				out = f.appendSideOverlaps(out, shot, beside)
			}
		}
	}
	return out
}

// neighbour is a track beside a line, and how far across it the line's shots
// lie from its own at least.
type neighbour struct {
	*track
	line  int
	apart float64
}

// appendSideOverlaps takes neighbours with the least apart first.
func (f field) appendSideOverlaps(out []float64, shot int, beside []neighbour) []float64 {
	at, footprint := f.at[shot], f.footprints[shot]
	type found struct {
		offset     float64
		line, shot int
		moved      orb.Point // how far that shot's footprint moves
	}
	nearest := [2]found{{offset: math.Inf(1)}, {offset: math.Inf(1)}}
	for _, t := range beside {
		if t.apart > max(nearest[0].offset, nearest[1].offset) {
			break
		}
		j, along, ok := t.abeam(at)
		if !ok {
			continue
		}
		across := t.across(f.at[j]) - t.across(at)
		if math.Abs(across) < sameLine*t.width(footprint) {
			continue
		}
		n := &nearest[0]
		if across < 0 {
			n = &nearest[1]
		}
		// Of two as near, the line flown first.
		if offset := math.Abs(across); offset < n.offset || offset == n.offset && t.line < n.line {
			*n = found{offset, t.line, j, orb.Point{along * t.unit[0], along * t.unit[1]}}
		}
	}
	for _, n := range nearest {
		if !math.IsInf(n.offset, 1) {
			other := orb.Ring(moved(f.footprints[n.shot], n.moved[0], n.moved[1]))
			centre := orb.Point{f.at[n.shot][0] + n.moved[0], f.at[n.shot][1] + n.moved[1]}
			out = f.appendOverlap(out, footprint, other, at, centre)
		}
	}
	return out
}

// appendOverlap leaves out photos that do not meet where the ground midway
// between them is none of the site's: nothing there had to be seen.
func (f field) appendOverlap(out []float64, a, b orb.Ring, from, to orb.Point) []float64 {
	overlap := sharedWith(a, b)
	if overlap == 0 && !f.onSite(orb.Point{(from[0] + to[0]) / 2, (from[1] + to[1]) / 2}) {
		return out
	}
	return append(out, overlap)
}

// track is a line's shots by how far along it they lie.
type track struct {
	unit  orb.Point
	shots []int     // by along
	along []float64 // metres, ascending
	slack float64   // half the usual leg

	least, most float64 // how far across they lie
}

func (f field) trackOf(l sequence.Line) track {
	sin, cos := math.Sincos(radians(l.Course))
	t := track{unit: orb.Point{sin, cos}, slack: l.Length / float64(len(l.Shots)-1) / 2, least: math.Inf(1), most: math.Inf(-1)}
	for _, i := range l.Shots {
		if f.footprints[i] != nil {
			t.shots = append(t.shots, i)
		}
	}
	slices.SortStableFunc(t.shots, func(i, j int) int {
		return cmp.Compare(t.alongOf(f.at[i]), t.alongOf(f.at[j]))
	})
	for _, i := range t.shots {
		t.along = append(t.along, t.alongOf(f.at[i]))
		v := t.across(f.at[i])
		t.least, t.most = min(t.least, v), max(t.most, v)
	}
	return t
}

// reversed returns t as if flown the other way.
func (t track) reversed() track {
	r := track{unit: orb.Point{-t.unit[0], -t.unit[1]}, slack: t.slack, least: -t.most, most: -t.least}
	for k := range slices.Backward(t.shots) {
		r.shots, r.along = append(r.shots, t.shots[k]), append(r.along, -t.along[k])
	}
	return r
}

// clearOf returns how far across t the shots of u, on one side of all of its own,
// are from them at least; 0 when they are not on one side.
func (t *track) clearOf(u *track) float64 {
	const rounding = 1e-6 // metres
	least, most := math.Inf(1), math.Inf(-1)
	for _, along := range [2]float64{u.along[0], u.along[len(u.along)-1]} {
		for _, across := range [2]float64{u.least, u.most} {
			v := t.across(orb.Point{along*u.unit[0] + across*u.unit[1], along*u.unit[1] - across*u.unit[0]})
			least, most = min(least, v), max(most, v)
		}
	}
	return max(0, least-t.most-rounding, t.least-most-rounding)
}

func (t track) alongOf(p orb.Point) float64 { return p[0]*t.unit[0] + p[1]*t.unit[1] }

func (t track) across(p orb.Point) float64 { return p[0]*t.unit[1] - p[1]*t.unit[0] }

// abeam returns the shot nearest to being abeam of p and how far along the
// track it would have to move; not ok where the track does not pass p.
func (t track) abeam(p orb.Point) (shot int, along float64, ok bool) {
	want := t.alongOf(p)
	last := len(t.along) - 1
	if last < 0 || want < t.along[0]-t.slack || want > t.along[last]+t.slack {
		return 0, 0, false
	}
	k, _ := slices.BinarySearch(t.along, want)
	if k > last || k > 0 && want-t.along[k-1] < t.along[k]-want {
		k--
	}
	return t.shots[k], want - t.along[k], true
}

// width returns how far a ring reaches across the track.
func (t track) width(ring orb.Ring) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range ring {
		least, most = min(least, t.across(p)), max(most, t.across(p))
	}
	return most - least
}

// spread summarises values; missed tells whether one falls short of what was wanted.
func spread(values []float64, missed func(float64) bool) Spread {
	if len(values) == 0 {
		return Spread{}
	}
	s := Spread{N: len(values), Median: sequence.Median(values), Min: slices.Min(values), Max: slices.Max(values)}
	below := 0
	for _, v := range values {
		if missed(v) {
			below++
		}
	}
	s.Below = float64(below) / float64(len(values))
	s.Bins = binsOf(values, s.Min, s.Max, missed)
	return s
}

const (
	mostBins = 40
	// finestBin is a share of the greatest value: a finer one would show noise.
	finestBin = 0.01
)

// binsOf counts values by ranges that begin at multiples of a round number.
func binsOf(values []float64, least, most float64, missed func(float64) bool) []Bin {
	width := roundUp(max((most-least)/mostBins, most*finestBin))
	if !(width > 0) || math.IsInf(width, 1) {
		return nil
	}
	// A value of 29 % counts from 29 % on, although 0.29/0.01 is a little less
	// than 29.
	index := func(v float64) int { return int(math.Floor(v/width + 1e-9)) }
	first := index(least)
	bins := make([]Bin, index(most)-first+1)
	for i := range bins {
		bins[i].From, bins[i].To = float64(first+i)*width, float64(first+i+1)*width
	}
	for _, v := range values {
		b := &bins[index(v)-first]
		b.N++
		b.Missed += one(missed(v))
	}
	return bins
}

// roundUp returns the least 1, 2 or 5 times a power of ten that is no less
// than x.
func roundUp(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, f := range []float64{1, 2, 5} {
		if f*power >= x {
			return f * power
		}
	}
	return 10 * power
}
