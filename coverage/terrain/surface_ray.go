package terrain

import "math"

// Outcome is what became of a ray.
type Outcome uint8

const (
	Beyond  Outcome = iota // it leaves the surface's extent, or rises above all ground
	Struck                 // it meets the ground
	Unknown                // it comes to where the height is unknown, too low to pass over for sure
	Buried                 // it begins below the ground
)

// Strike is where a ray ends.
type Strike struct {
	Outcome Outcome
	At      [3]float64 // metres of the frame and of height; where it was lost if not Struck
	// Error, when Struck, is how far the ground may lie above or below At in
	// metres: the misfit of the surface near by, and the curve of the Earth
	// over the length of the ray. The surface itself is met to a micrometre.
	Error float64
}

// earth is the radius of the Earth in metres, near enough for its curve.
const earth = 6_371_000

// grazing is how far below the ground, in metres, a ray may begin: the
// rounding of heights.
const grazing = 1e-6

// Hit follows a ray from a point, {x, y, height} in metres of the frame, in a
// direction of any length, to the first ground it meets.
//
// Straight rays are followed over flat ground in the frame. The curve of the
// Earth, of which the drop is d²/2R, is 8 cm at 1 km, and part of the Error.
func (s *Surface) Hit(from, direction [3]float64) Strike {
	// Of length 1 in its greatest part, so that no square overflows.
	if most := max(math.Abs(direction[0]), math.Abs(direction[1]), math.Abs(direction[2])); most > 0 && !math.IsInf(most, 1) {
		for k := range direction {
			direction[k] /= most
		}
	}
	r := ray{
		u: (from[0] - s.origin[0]) / s.spacing, v: (from[1] - s.origin[1]) / s.spacing, z: from[2],
		du: direction[0] / s.spacing, dv: direction[1] / s.spacing, dz: direction[2],
	}
	t, outcome := r.march(s)
	strike := Strike{Outcome: outcome, At: from}
	if t > 0 {
		for k := range strike.At {
			strike.At[k] += t * direction[k]
		}
	}
	if outcome == Struck {
		u, v := r.u+t*r.du, r.v+t*r.dv
		first := s.levels[0]
		i, j := min(max(int(u), 0), s.columns-1), min(max(int(v), 0), s.rows-1)
		far := t * math.Hypot(direction[0], direction[1])
		strike.Error = float64(s.misfits[j>>first.shift*first.columns+i>>first.shift]) + far*far/(2*earth)
	}
	return strike
}

// ray runs in units of cells and metres of height.
type ray struct{ u, v, z, du, dv, dz float64 }

// march goes from block to block, over those that the ray passes above in one
// step, down to single cells where it may not.
func (r ray) march(s *Surface) (float64, Outcome) {
	top := len(s.levels) - 1
	highest := float64(s.levels[top].ceiling[0])
	t, last, ok := r.within(s)
	if !ok {
		return 0, Beyond
	}
	if highest != highest { // nothing is known
		return t, Unknown
	}
	if r.dz < 0 && r.z+t*r.dz > highest {
		t = (highest - r.z) / r.dz
	}
	if !(t <= last) || math.IsInf(t, 1) || r.z+t*r.dz > highest && r.dz >= 0 {
		return 0, Beyond
	}
	i := r.cellAt(t, r.u, r.du, s.columns)
	j := r.cellAt(t, r.v, r.dv, s.rows)
	if h := s.patch(i, j).at(r.u+t*r.du-float64(i), r.v+t*r.dv-float64(j)); r.z+t*r.dz < h-grazing {
		if t == 0 {
			return 0, Buried
		}
		return t, Beyond // it comes from outside, through the side of the ground
	}
	for n := top; ; {
		shift := uint(0)
		if n >= 0 {
			shift = s.levels[n].shift
		}
		x, y := i>>shift, j>>shift
		out, alongU := r.leaves(x<<shift, y<<shift, (x+1)<<shift, (y+1)<<shift)
		out = max(out, t)
		if n >= 0 {
			l := &s.levels[n]
			if low := min(r.z+t*r.dz, r.z+out*r.dz); !(low > float64(l.ceiling[y*l.columns+x])) {
				n--
				continue
			}
		} else if at, outcome := r.meets(s, i, j, t, out); outcome != Beyond {
			return at, outcome
		}
		// On to the next block, and to larger ones where it begins one.
		t = out
		oldI, oldJ := i, j
		if alongU {
			i = x << shift
			if r.du > 0 {
				i = (x + 1) << shift
			} else {
				i--
			}
			j = min(max(int(r.v+t*r.dv), y<<shift), (y+1)<<shift-1, s.rows-1)
		} else {
			j = y << shift
			if r.dv > 0 {
				j = (y + 1) << shift
			} else {
				j--
			}
			i = min(max(int(r.u+t*r.du), x<<shift), (x+1)<<shift-1, s.columns-1)
		}
		if i < 0 || j < 0 || i >= s.columns || j >= s.rows || t > last || r.dz >= 0 && r.z+t*r.dz > highest {
			return t, Beyond
		}
		for n < top && (i>>s.levels[n+1].shift != oldI>>s.levels[n+1].shift || j>>s.levels[n+1].shift != oldJ>>s.levels[n+1].shift) {
			n++
		}
	}
}

// within is the stretch of the ray over the extent.
func (r ray) within(s *Surface) (first, last float64, ok bool) {
	sum := r.u + r.v + r.z + r.du + r.dv + r.dz
	if math.IsNaN(sum-sum) || r.du == 0 && r.dv == 0 && r.dz == 0 {
		return 0, 0, false
	}
	last = math.Inf(1)
	for _, axis := range [2][3]float64{{r.u, r.du, float64(s.columns)}, {r.v, r.dv, float64(s.rows)}} {
		at, by, end := axis[0], axis[1], axis[2]
		if by == 0 {
			if !(at >= 0 && at <= end) {
				return 0, 0, false
			}
			continue
		}
		a, b := -at/by, (end-at)/by
		first, last = max(first, min(a, b)), min(last, max(a, b))
	}
	return first, last, first <= last && !math.IsInf(first, 1)
}

// cellAt is the cell along one axis that the ray is in from t on.
func (r ray) cellAt(t, at, by float64, cells int) int {
	x := at + t*by
	i := math.Floor(x)
	if i == x && by < 0 {
		i--
	}
	return int(min(max(i, 0), float64(cells-1)))
}

// leaves tells when the ray leaves a block, and whether through its east or
// west side.
func (r ray) leaves(i0, j0, i1, j1 int) (t float64, alongU bool) {
	side := func(at, by float64, low, high int) float64 {
		switch {
		case by > 0:
			return (float64(high) - at) / by
		case by < 0:
			return (float64(low) - at) / by
		}
		return math.Inf(1)
	}
	tu, tv := side(r.u, r.du, i0, i1), side(r.v, r.dv, j0, j1)
	if tu <= tv {
		return tu, true
	}
	return tv, false
}

// meets finds where the ray meets the patch of a cell between t and out: the
// first root of z(t) - h(t), a quadratic that is not negative at t.
func (r ray) meets(s *Surface, i, j int, t, out float64) (float64, Outcome) {
	p := s.patch(i, j)
	z := r.z + t*r.dz
	if p.dab != p.dab { // an unknown corner
		if min(z, r.z+out*r.dz) <= s.ceilingOver(i, j) {
			return t, Unknown
		}
		return 0, Beyond
	}
	a, b := r.u+t*r.du-float64(i), r.v+t*r.dv-float64(j)
	c0 := z - p.at(a, b)
	if c0 <= 0 {
		return t, Struck
	}
	c1 := r.dz - p.da*r.du - p.db*r.dv - p.dab*(a*r.dv+b*r.du)
	c2 := -p.dab * r.du * r.dv
	root := math.Inf(1)
	square := c1*c1 - 4*c2*c0
	switch {
	case c1 < 0 && square >= 0:
		root = 2 * c0 / (math.Sqrt(square) - c1)
	case c1 >= 0 && c2 < 0:
		root = -(c1 + math.Sqrt(square)) / (2 * c2)
	}
	if root <= out-t && !math.IsInf(root, 1) {
		return t + root, Struck
	}
	return 0, Beyond
}

func (s *Surface) ceilingOver(i, j int) float64 {
	l := s.levels[0]
	return float64(l.ceiling[j>>l.shift*l.columns+i>>l.shift])
}
