package boundary

import (
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Receipt says what a client's file holds. Areas and lengths are geodesic, of
// the site area: what the file means once its faults are mended.
type Receipt struct {
	Parts, Holes, Vertices int     // as the file has them
	Area                   float64 // m²
	Perimeter              float64 // m, of outlines and holes
	Bound                  orb.Bound
	Centre                 orb.Point // of the extent
	Site                   Site      // the site area, with its ledger and questions
	Findings               []finding.Finding
}

// Vet checks the file against the rules and what is expected of it, and
// changes nothing.
func Vet(f *File, e Expected, choices Choices) Receipt {
	site, _ := Mend(f, choices) // a file without a usable part is a finding, and a receipt too
	r := Receipt{Area: site.Area, Perimeter: site.Perimeter, Site: site, Findings: append(site.Findings, concerns(f, site, e)...)}
	var drawn orb.MultiPolygon
	for _, part := range f.Parts {
		r.Parts++
		r.Holes += max(0, len(part.Polygon)-1)
		drawn = append(drawn, part.Polygon)
	}
	r.Vertices = corners(drawn)
	if len(site.Areas) > 0 {
		r.Bound = site.Shape().Bound()
		r.Centre = plane.WrapPoint(r.Bound.Center())
	}
	slices.SortStableFunc(r.Findings, finding.Gravest)
	return r
}
