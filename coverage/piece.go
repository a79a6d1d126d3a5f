package coverage

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// Ground is ground of one kind: its area in m², and its pieces no smaller than
// Job.MinZone, the largest first.
type Ground struct {
	Area   float64
	Pieces []Piece
}

// Piece is one connected piece of ground.
type Piece struct {
	Area  float64   // m²
	Label orb.Point // a point inside, degrees
	Shape orb.Polygon
}

// groundOf lists the pieces of an area in plane metres.
func groundOf(area orb.MultiPolygon, least float64) Ground {
	g := Ground{Area: areaOf(area)}
	for _, p := range area {
		if size := areaOf(orb.MultiPolygon{p}); size >= least {
			g.Pieces = append(g.Pieces, Piece{Area: size, Label: labelPoint(p), Shape: p})
		}
	}
	slices.SortStableFunc(g.Pieces, func(p, q Piece) int { return cmp.Compare(q.Area, p.Area) })
	return g
}

func (g *Ground) toDegrees(frame plane.Frame) {
	for i := range g.Pieces {
		p := &g.Pieces[i]
		p.Shape = frame.ToDegrees(orb.MultiPolygon{p.Shape})[0]
		p.Label = frame.Degrees(p.Label)
	}
}

// measureGround measures what is known by place: what is certain, what only
// one line saw, how finely the ground is shown. The audit's views, zones, edge
// and shots must be there, all still in plane metres; doubts and sees are those
// of all candidates, used are the shots.
func (a *Audit) measureGround(job Job, site orb.MultiPolygon, doubts []doubt, sees []bool, r *relief, used []*candidate, frame plane.Frame) {
	a.measureCertainty(site, doubts, sees)
	footprints, at := make([]orb.Ring, len(used)), make([]orb.Point, len(used))
	for i, c := range used {
		footprints[i], at[i] = c.footprint, c.at
	}
	least := max(0, job.MinZone)
	if enough := a.Views[len(a.Views)-1].Shape; a.Wanted.Views > 1 {
		a.OneLine = groundOf(oneLine(site, enough, footprints, passes(a.Lines, at, footprints)), least)
	}
	byPlace, cells, best := gsdByPlace(site, r, used, frame, job.Wanted.GSD)
	if limit, unseen := allowedGSD*job.Wanted.GSD, a.Views[0].Shape; limit > 0 {
		if r.onTerrain(used) {
			byPlace.Coarse = groundOf(coarseCells(site, unseen, cells, best, limit), least)
		} else {
			byPlace.Coarse = groundOf(coarseGround(site, unseen, r, used, limit), least)
		}
	}
	a.GSDByPlace = byPlace
	a.Raster = rasterOf(site, footprints, mostCells, frame)
}

// groundToDegrees takes to degrees what measureGround left in plane metres.
func (a *Audit) groundToDegrees(frame plane.Frame) {
	a.OneLine.toDegrees(frame)
	a.GSDByPlace.Coarse.toDegrees(frame)
}
