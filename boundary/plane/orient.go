package plane

import (
	"cmp"
	"math"
	"math/big"

	"github.com/paulmach/orb"
)

// The error of the floating-point determinant. With e = 2^-53, each of the four
// differences carries one rounding and each product one more, so a product P
// is off by at most ((1+e)^3 - 1)|P| < 3.0001e|P|; taking one product from the
// other keeps the sign of their difference and shrinks it by at most 1+e. Hence
// the sign is right when the determinant exceeds 3.001e(|left| + |right|), and
// 4e leaves room for the rounding of the bound itself. A product that
// underflows is off by up to 2^-1075 besides. (J. R. Shewchuk, "Adaptive
// Precision Floating-Point Arithmetic and Fast Robust Geometric Predicates",
// Discrete & Computational Geometry 18, 1997, has the bound (3 + 16e)e.)
const (
	orientRelativeError = 4 * 0x1p-53
	orientUnderflow     = 0x1p-1070
)

// Orient returns +1 if a, b, c turn counter-clockwise, -1 if clockwise and 0
// if they lie on one line, without any rounding error. It returns 0 if a
// coordinate is not finite.
func Orient(a, b, c orb.Point) int {
	acx, acy := a[0]-c[0], a[1]-c[1]
	bcx, bcy := b[0]-c[0], b[1]-c[1]
	left := float64(acx * bcy) // the conversion forbids a fused multiply-add
	right := float64(acy * bcx)
	determinant := left - right
	bound := float64(orientRelativeError*(math.Abs(left)+math.Abs(right))) + orientUnderflow
	switch {
	case determinant > bound:
		return 1
	case determinant < -bound:
		return -1
	case (acx == 0 || bcy == 0) && (acy == 0 || bcx == 0):
		return 0
	case left == right && left > 0x1p-900 && left < math.MaxFloat64 &&
		isExactDifference(a[0], c[0], acx) && isExactDifference(a[1], c[1], acy) &&
		isExactDifference(b[0], c[0], bcx) && isExactDifference(b[1], c[1], bcy):
		// Points on a common grid: only the rounding of the products is left.
		return cmp.Compare(math.FMA(acx, bcy, -left), math.FMA(acy, bcx, -right))
	}
	return orientExactly(a, b, c)
}

// isExactDifference says whether d, the rounded a - b, has no rounding error
// (the tail of Shewchuk's TWO-DIFF).
func isExactDifference(a, b, d float64) bool {
	bVirtual := a - d
	aVirtual := d + bVirtual
	return a-aVirtual == 0 && bVirtual-b == 0
}

// orientExactly is Orient by arbitrary precision: a difference of two float64
// has at most 2099 bits, so two products and their difference have fewer than
// 4300.
func orientExactly(a, b, c orb.Point) int {
	if !isFinitePoint(a) || !isFinitePoint(b) || !isFinitePoint(c) {
		return 0
	}
	const precision = 4300
	difference := func(x, y float64) *big.Float {
		d := new(big.Float).SetPrec(precision).SetFloat64(x)
		return d.Sub(d, big.NewFloat(y))
	}
	left := difference(a[0], c[0])
	left.Mul(left, difference(b[1], c[1]))
	right := difference(a[1], c[1])
	right.Mul(right, difference(b[0], c[0]))
	return left.Cmp(right)
}

func isFinitePoint(p orb.Point) bool {
	return !math.IsNaN(p[0]) && !math.IsInf(p[0], 0) && !math.IsNaN(p[1]) && !math.IsInf(p[1], 0)
}

// sameDirection says whether p and q lie in the same direction from v; none of
// them equals v.
func sameDirection(v, p, q orb.Point) bool {
	return cmp.Compare(p[0], v[0]) == cmp.Compare(q[0], v[0]) &&
		cmp.Compare(p[1], v[1]) == cmp.Compare(q[1], v[1]) &&
		Orient(v, p, q) == 0
}

// inSector says whether the direction from v to q lies strictly within the
// sector swept counter-clockwise from the direction of p to that of r. The
// sector of two equal directions is empty.
func inSector(v, p, q, r orb.Point) bool {
	if sameDirection(v, p, r) || sameDirection(v, p, q) || sameDirection(v, r, q) {
		return false
	}
	switch Orient(v, p, r) {
	case 1:
		return Orient(v, p, q) > 0 && Orient(v, q, r) > 0
	case -1:
		return !(Orient(v, r, q) > 0 && Orient(v, q, p) > 0)
	}
	return Orient(v, p, q) > 0
}

// sectorsMeet says whether two sectors, each swept counter-clockwise between two
// different directions from v, have a direction strictly inside both.
func sectorsMeet(v, from, to, start, end orb.Point) bool {
	return sameDirection(v, from, start) || inSector(v, start, from, end) || inSector(v, from, start, to)
}

// inBox says whether p lies in the closed box with corners a and b.
func inBox(a, b, p orb.Point) bool {
	return min(a[0], b[0]) <= p[0] && p[0] <= max(a[0], b[0]) &&
		min(a[1], b[1]) <= p[1] && p[1] <= max(a[1], b[1])
}

// onEdge says whether p lies on the closed straight edge from a to b, exactly.
func onEdge(a, b, p orb.Point) bool {
	return inBox(a, b, p) && Orient(a, b, p) == 0
}

// edgesMeet says whether the closed edges ab and cd have a point in common.
func edgesMeet(a, b, c, d orb.Point) bool {
	if onEdge(a, b, c) || onEdge(a, b, d) || onEdge(c, d, a) || onEdge(c, d, b) {
		return true
	}
	return Orient(a, b, c)*Orient(a, b, d) < 0 && Orient(c, d, a)*Orient(c, d, b) < 0
}
