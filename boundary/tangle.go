package boundary

import (
	"fmt"
	"hash/maphash"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// tangled reports whether the sides of an area, valid or not, cross more often
// than most, which no outline does and which would take long to mend.
func tangled(mp orb.MultiPolygon, most int) bool {
	var bound orb.Bound
	var drawn orb.MultiPolygon
	for _, p := range mp {
		if len(p) == 0 || len(p[0]) == 0 {
			continue
		}
		if len(drawn) == 0 {
			bound = extentOf(p)
		}
		drawn, bound = append(drawn, p), bound.Union(extentOf(p))
	}
	return len(drawn) > 0 && plane.Tangled(plane.DegreeGrid(bound, decimals), drawn, most)
}

func tangledText(most int) string {
	return fmt.Sprintf("the sides cross or crowd each other in more places than the limit of %d (--limit crossings)", most)
}

// checkCrossings is an error when the sides of the parts are tangled, at the
// first part that is so by itself. Parts that are there several times count once.
func (f *File) checkCrossings(most int) error {
	shapes := make([]orb.MultiPolygon, len(f.Parts))
	for i, part := range f.Parts {
		shapes[i] = orb.MultiPolygon{part.Polygon}
	}
	var all orb.MultiPolygon
	for i, first := range firstAlike(shapes) {
		if i == first {
			all = append(all, shapes[i]...)
		}
	}
	if !tangled(all, most) {
		return nil
	}
	err := &ReadError{finding.Place{File: f.Name}, tangledText(most)}
	for i, shape := range shapes {
		if len(shapes) == 1 || tangled(shape, most) {
			err.Place = f.Parts[i].Place
			break
		}
	}
	return err
}

// CheckPaths is an error when the lines of the file cross each other more often
// than Limits.Crossings. Read takes them as they are, since most files that have
// lines are read for something else.
func (f *File) CheckPaths(lim Limits) error {
	var all orb.MultiPolygon
	for _, path := range f.Paths {
		all = append(all, orb.Polygon{orb.Ring(path.Line)})
	}
	if tangled(all, lim.Crossings) {
		return &ReadError{finding.Place{File: f.Name}, tangledText(lim.Crossings)}
	}
	return nil
}

// firstAlike gives for each shape the first one with the same vertices, which is
// the shape itself as a rule.
func firstAlike(shapes []orb.MultiPolygon) []int {
	seed := maphash.MakeSeed()
	first, known := make([]int, len(shapes)), map[uint64]int{}
	for i, shape := range shapes {
		first[i] = i
		var h maphash.Hash
		h.SetSeed(seed)
		for _, p := range shape {
			for _, ring := range p {
				for _, q := range ring {
					maphash.WriteComparable(&h, q)
				}
			}
		}
		if j, there := known[h.Sum64()]; !there {
			known[h.Sum64()] = i
		} else if shapes[j].Equal(shape) {
			first[i] = j
		}
	}
	return first
}
