package coverage

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

const (
	// usualPointViews is the number of photos that must see a control point when
	// the job does not say (common practice, no source: 3 to 5 or more).
	usualPointViews = 3
	// PointLines is from how many flight lines a control point should be seen
	// (common practice, no source).
	PointLines = 2
	// imageMargin is the share of half an image side within which a point lies
	// near the image's edge (common practice, no source).
	imageMargin = 0.1
	// mostPointFiles is how many of the photos that see a point are named.
	mostPointFiles = 20
)

// Point is a control point, or something else on the ground that must be seen.
type Point struct {
	Name     string    // may be empty
	Position orb.Point // degrees
}

// PointViews is how a point was seen. A photo sees it when its footprint holds
// it or has it on its rim, so the image's edge counts as seen; what a ridge hides
// within the footprint counts as seen too. Only photos that were used count,
// which see something of the site.
type PointViews struct {
	Point
	Number  int // in Job.Points, from 1
	Views   int // photos that see it
	Clear   int // of these, those in which it lies a tenth of half the image side or more within the image
	Lines   int // different flight lines that these photos belong to
	OffLine int // of the views, those of photos that belong to no line
	// Nearest is its distance from the image's edge in the photo in which that
	// is least, Best in the one in which it is greatest; NaN without a view.
	Nearest, Best EdgeDistance
	BestFile      string
	GSD           float64  // metres a pixel in the best photo, at the point; NaN without a view
	Files         []string // that see it, the best first, 20 at most
	Outside       bool     // whether it lies outside the site area
}

// OneLine says whether all photos that see the point are of one flight line.
func (p PointViews) OneLine() bool { return p.Views > 0 && p.Lines < PointLines && p.OffLine == 0 }

// EdgeDistance is how far within an image a point lies: metres on the ground
// from the nearest side of the footprint, and the share of half the image side,
// 0 on the image's edge and 1 in its middle, of the side where that is least.
type EdgeDistance struct{ Metres, Share float64 }

// sight is one photo that sees a point.
type sight struct {
	shot int
	EdgeDistance
	gsd float64
}

// checkPoints is an error when a point has no position.
func checkPoints(points []Point) error {
	for i, p := range points {
		if lon, lat := p.Position[0], p.Position[1]; !finite(lon) || !finite(lat) || math.Abs(lon) > 360 || math.Abs(lat) > 90 {
			return fmt.Errorf("control point %s has no usable position", p.label(i+1))
		}
	}
	return nil
}

func (p Point) label(number int) string {
	if p.Name != "" {
		return p.Name
	}
	return fmt.Sprintf("number %d", number)
}

// seePoints measures how the used photos, which are those of Audit.Shots, see
// the points. The worst come first: those with fewest views, then with fewest
// lines, then those nearest the image's edge.
func (a *Audit) seePoints(points []Point, used []*candidate, r *relief, site orb.MultiPolygon, frame plane.Frame) {
	if len(points) == 0 {
		return
	}
	if a.Wanted.PointViews <= 0 {
		a.Wanted.PointViews = usualPointViews
	}
	bounds := make([]orb.Bound, len(used))
	for i, c := range used {
		bounds[i] = c.footprint.Bound().Pad(onRim)
	}
	for n, p := range points {
		at := frame.Metres(p.Position)
		var sights []sight
		for i, c := range used {
			if bounds[i].Contains(at) && holds(c.footprint, at, onRim) {
				share, depth := c.image(at, r)
				sights = append(sights, sight{i, EdgeDistance{plane.BoundaryDistance(orb.MultiPolygon{{c.footprint}}, at), share},
					GSD(pixelPitch(c.Camera), c.Camera.FocalLength, depth)})
			}
		}
		v := a.viewsOf(sights)
		v.Point, v.Number, v.Outside = p, n+1, !plane.Contains(site, at)
		a.Points = append(a.Points, v)
	}
	slices.SortStableFunc(a.Points, func(p, q PointViews) int {
		return cmp.Or(cmp.Compare(p.Views, q.Views), cmp.Compare(p.Lines, q.Lines), cmp.Compare(p.Clear, q.Clear), cmp.Compare(p.Best.Share, q.Best.Share))
	})
}

// image returns how far within the image a point of the ground lies, as the
// share of EdgeDistance, and its distance along the optical axis in metres.
func (c *candidate) image(at orb.Point, r *relief) (share, depth float64) {
	down := c.height
	if h := r.under(at); finite(h) && finite(c.ground) && !c.unmapped {
		down = c.ground + c.height - h
	}
	axis, right, top := c.pose().axes()
	ray := vector{at[0] - c.at[0], at[1] - c.at[1], -down}
	depth = ray.dot(axis)
	x := ray.dot(right) / GroundSide(c.Camera.SensorWidth, c.Camera.FocalLength, depth) * 2
	y := ray.dot(top) / GroundSide(c.Camera.SensorHeight, c.Camera.FocalLength, depth) * 2
	return max(0, 1-max(math.Abs(x), math.Abs(y))), depth
}

// viewsOf sums up the photos that see a point.
func (a *Audit) viewsOf(sights []sight) PointViews {
	v := PointViews{Views: len(sights), GSD: math.NaN()}
	v.Nearest = EdgeDistance{math.NaN(), math.NaN()}
	v.Best = v.Nearest
	slices.SortStableFunc(sights, func(p, q sight) int { return cmp.Compare(q.Share, p.Share) })
	lines := map[int]bool{}
	for i, s := range sights {
		shot := a.Shots[s.shot]
		if i == 0 {
			v.Best, v.BestFile, v.GSD = s.EdgeDistance, shot.File, s.gsd
		}
		v.Nearest = s.EdgeDistance
		v.Clear += one(s.Share >= imageMargin)
		v.OffLine += one(shot.Line < 0)
		if shot.Line >= 0 {
			lines[shot.Line] = true
		}
		if i < mostPointFiles {
			v.Files = append(v.Files, shot.File)
		}
	}
	v.Lines = len(lines)
	return v
}

// points says which control points were not seen well enough. Where a point
// lacks views, nothing further is said of it.
func (j *judgement) points(a *Audit) {
	if len(a.Points) == 0 {
		return
	}
	wanted := a.Wanted.PointViews
	var low, oneLine, nearEdge []PointViews
	for _, p := range a.Points {
		if p.Views < wanted {
			low = append(low, p)
			continue
		}
		if p.OneLine() && wanted > 1 {
			oneLine = append(oneLine, p)
		}
		if p.Clear < wanted {
			nearEdge = append(nearEdge, p)
		}
	}
	all, least := finding.Counted(len(a.Points), "control point", "control points"), photos(wanted)
	tell := func(code finding.Code, severity finding.Severity, few []PointViews, say func(n finding.Number, names finding.Text) finding.Text) {
		if len(few) == 0 {
			return
		}
		var names []finding.Text
		for _, p := range few[:min(mostListed, len(few))] {
			name := finding.Say("%s", p.Name)
			if p.Name == "" {
				name = finding.Say("number %d", p.Number)
			}
			switch {
			case code != finding.PointViewsLow:
			case p.Outside:
				name = finding.Say("%s (%s, outside the site area)", name, finding.Whole(p.Views))
			default:
				name = finding.Say("%s (%s)", name, finding.Whole(p.Views))
			}
			names = append(names, name)
		}
		list := finding.Commas(names)
		if more := len(few) - len(names); more > 0 {
			list = finding.Say("%s and %s more", list, finding.Whole(more))
		}
		f := j.say(code, severity, float64(len(few)), "points", say(finding.Whole(len(few)), list))
		at := plane.WrapPoint(few[0].Position)
		f.Place = f.Place.At(at[0], at[1])
	}
	tell(finding.PointViewsLow, finding.NeedsAnswer, low, func(n finding.Number, names finding.Text) finding.Text {
		return finding.Either(len(low) == 1,
			finding.Say("%s of %s is seen by fewer than the %s wanted: %s.", n, all, least, names),
			finding.Say("%s of %s are seen by fewer than the %s wanted: %s.", n, all, least, names))
	})
	tell(finding.PointOneLine, finding.Note, oneLine, func(n finding.Number, names finding.Text) finding.Text {
		return finding.Either(len(oneLine) == 1,
			finding.Say("%s of %s is seen from one flight line only: %s.", n, all, names),
			finding.Say("%s of %s are seen from one flight line only: %s.", n, all, names))
	})
	tell(finding.PointNearImageEdge, finding.Note, nearEdge, func(n finding.Number, names finding.Text) finding.Text {
		margin := finding.Share(imageMargin)
		return finding.Either(len(nearEdge) == 1,
			finding.Say("%s of %s is seen by fewer than %s in which it lies at least %s of half an image side within the image: %s.", n, all, least, margin, names),
			finding.Say("%s of %s are seen by fewer than %s in which they lie at least %s of half an image side within the image: %s.", n, all, least, margin, names))
	})
}
