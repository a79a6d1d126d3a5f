package boundary

import (
	"fmt"
	"hash/maphash"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// tangled is the error about sides that cross more often than most, which no
// outline does and which would take long to mend. Parts that are there several
// times count once.
func (f *File) tangled(most int) error {
	var parts []Part
	var shapes []orb.MultiPolygon
	for _, part := range f.Parts {
		if len(part.Polygon) > 0 && len(part.Polygon[0]) > 0 {
			parts, shapes = append(parts, part), append(shapes, orb.MultiPolygon{part.Polygon})
		}
	}
	var all orb.MultiPolygon
	for i, first := range firstAlike(shapes) {
		if i == first {
			all = append(all, shapes[i]...)
		}
	}
	tangled := func(shape orb.MultiPolygon) bool {
		bound := extentOf(shape[0])
		for _, p := range shape[1:] {
			bound = bound.Union(extentOf(p))
		}
		return plane.Tangled(plane.DegreeGrid(bound, decimals), shape, most)
	}
	if len(all) == 0 || !tangled(all) {
		return nil
	}
	err := &ReadError{finding.Place{File: f.Name}, fmt.Sprintf("the sides cross or crowd each other in more places than the limit of %d (--limit crossings)", most)}
	for i, shape := range shapes {
		if len(shapes) == 1 || tangled(shape) {
			err.Place = parts[i].Place
			break
		}
	}
	return err
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
