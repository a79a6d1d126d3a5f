package compare

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"selvage/boundary/plane"
	"selvage/report"
)

// nearly is by how much a height may differ and still be the same, as a share:
// wind and a barometer move it by that (common practice, no source).
const nearly = 0.05

// compareBasis finds what two audits do not rest on alike.
func (c *Result) compareBasis() {
	a, b := c.Before.Audit, c.After.Audit
	c.compareWanted(a, b)
	if len(a.Flown.Cameras) > 0 && len(b.Flown.Cameras) > 0 && !sameCameras(a.Flown.Cameras, b.Flown.Cameras) {
		c.differ("camera", nil, "The cameras differ: %s before, %s after. Ground sample distance and footprints differ by it.",
			cameraNames(c.Units, a.Flown.Cameras), cameraNames(c.Units, b.Flown.Cameras))
	}
	was, is := or(a.Flown.Height.Median), or(b.Flown.Height.Median)
	if math.Abs(is-was) > nearly*was {
		c.differ("height", nil, "The heights above ground differ: %s before, %s after. Ground sample distance and footprints differ by it.",
			c.Units.Length(was), c.Units.Length(is))
	}
	c.compareParameters(a, b)
	if a.Version != b.Version && a.Version != "" && b.Version != "" {
		c.note("The audits are of different versions of Selvage, %s and %s.", report.Clean(a.Version), report.Clean(b.Version))
	}
	_, end := flownFrom(a)
	start, last := flownFrom(b)
	if from, _ := flownFrom(a); !from.IsZero() && !start.IsZero() && last.Before(from) {
		const day = "2 January 2006, 15:04"
		c.note("%s was flown after %s (%s, and %s): the files may be the wrong way round.", c.Before.Name, c.After.Name, end.Format(day), last.Format(day))
	}
}

func (c *Result) compareWanted(a, b *Audit) {
	was, is := wantedViews(a), wantedViews(b)
	if was != is && known(was) && known(is) {
		figures := []string{"thin_m2", "enough_share", "edge_captured_share", "edge_captured_m", "edge_stretches"}
		text := "Thin ground, the share with enough views and the edge do not compare; gaps do."
		if min(was, is) < 2 {
			figures = append(figures, "no_stereo_m2")
		}
		c.differ("wanted-views", figures, "The wanted views differ: %s before, %s after. %s", c.Units.Number(int(was)), c.Units.Number(int(is)), text)
	}
	overlap := func(name, code, key string, was, is amount) {
		if told(was, is) && or(was) != or(is) {
			c.differ(code, []string{key}, "The wanted %s differs: %s before, %s after. The share of pairs that fall short does not compare.",
				name, c.Units.Overlap(*was), c.Units.Overlap(*is))
		}
	}
	overlap("forward overlap", "wanted-forward-overlap", "forward_below_share", a.Wanted.Forward, b.Wanted.Forward)
	overlap("side overlap", "wanted-side-overlap", "side_below_share", a.Wanted.Side, b.Wanted.Side)
	if was, is := a.Wanted.GSD, b.Wanted.GSD; told(was, is) && *was != *is {
		c.differ("wanted-gsd", nil, "The wanted ground sample distance differs: %s before, %s after.", c.Units.GSD(*was/1000), c.Units.GSD(*is/1000))
	}
}

func told(figures ...amount) bool { return !slices.Contains(figures, nil) }

func wantedViews(a *Audit) float64 {
	if a.Wanted.Views != nil {
		return *a.Wanted.Views
	}
	return or(a.Edge.WantedViews)
}

// harmless are the beginnings of the parameters on which no figure that is
// compared hangs, or whose effect is compared itself, as the site area is.
var harmless = []string{
	"Wanted views", "Wanted overlap, forward / side", "Wanted ground sample distance", "Buffer of areas to fly again",
	"Most motion blur", "Least time between photos", "Not looked into", "Hash of the photos",
	"Buffer of the flight area", "Own buffer, ", "Keep-out areas of ",
	"Position error", "Attitude error", "Error of the height above ground",
	"Coordinate system of the boundary", "Paths of the boundary", "Reading of ", "Readings that need no answer",
}

// compareParameters compares the settings as they were put into words.
func (c *Result) compareParameters(a, b *Audit) {
	if a.Parameters == nil || b.Parameters == nil {
		return
	}
	if a.Units != b.Units {
		c.note("The settings of one audit are in %s units and those of the other in %s units, so they are not compared; wanted values, cameras and heights are.", report.Clean(a.Units), report.Clean(b.Units))
		return
	}
	before, after := valuesOf(a.Parameters), valuesOf(b.Parameters)
	seen := map[string]bool{}
	for _, p := range append(slices.Clone(a.Parameters), b.Parameters...) {
		was, is := cmp.Or(before[p.Name], "not given"), cmp.Or(after[p.Name], "not given")
		if was == is || seen[p.Name] || slices.ContainsFunc(harmless, func(h string) bool { return strings.HasPrefix(p.Name, h) }) {
			continue
		}
		seen[p.Name] = true
		if p.Name == "Smallest zone listed" {
			c.differ("smallest-zone", nil, "The smallest zone listed differs: %s before, %s after. Zones can be new or gone for that alone; the totals compare.", was, is)
			continue
		}
		c.differ("setting", nil, "A setting differs: %s, %s before, %s after. What changed can be due to that alone.", lower(report.Clean(p.Name)), was, is)
	}
}

// valuesOf are parameters by their names; of several that are called the same
// it has the first.
func valuesOf(list []report.Parameter) map[string]string {
	values := map[string]string{}
	for _, p := range slices.Backward(list) {
		values[p.Name] = report.Clean(p.Value)
	}
	return values
}

func sameCameras(a, b []cameraRecord) bool {
	within := func(a, b []cameraRecord) bool {
		return !slices.ContainsFunc(a, func(c cameraRecord) bool { return !slices.ContainsFunc(b, c.like) })
	}
	return within(a, b) && within(b, a)
}

// like says whether two cameras are one, but for the rounding of their figures.
func (c cameraRecord) like(d cameraRecord) bool {
	const rounding = 0.005
	near := func(x, y float64) bool { return math.Abs(x-y) <= rounding*max(x, y) }
	return near(c.SensorWidth, d.SensorWidth) && near(c.SensorHeight, d.SensorHeight) && near(c.FocalLength, d.FocalLength) &&
		c.Columns == d.Columns && c.Rows == d.Rows
}

func (c cameraRecord) String() string {
	return fmt.Sprintf("%.4g × %.4g mm sensor, %.4g mm lens, %d × %d pixels", c.SensorWidth, c.SensorHeight, c.FocalLength, c.Columns, c.Rows)
}

func cameraNames(u report.Units, list []cameraRecord) string {
	const most = 2
	var names []string
	for _, c := range list[:min(len(list), most)] {
		names = append(names, c.String())
	}
	text := strings.Join(names, " and ")
	if more := len(list) - most; more > 0 {
		text += " and " + u.Count(more, "other", "others")
	}
	return text
}

// comparePlan finds what a flight cannot be held against a plan for.
func (c *Result) comparePlan() {
	plan, audit := c.Before.Plan, c.After.Audit
	if cameras := audit.Flown.Cameras; len(cameras) > 0 && plan.FocalLength > 0 && !slices.ContainsFunc(cameras, plan.cameraRecord.like) {
		c.differ("camera", nil, "The plan is for another camera: %s planned, %s flown.", plan.cameraRecord, cameraNames(c.Units, cameras))
	}
	if plan.Area == nil {
		return
	}
	areas := []float64{or(audit.SiteArea)}
	flight := false
	if c.After.Shapes != nil && len(c.After.Shapes.Flight) > 0 {
		areas, flight = append(areas, plane.GeodesicArea(c.After.Shapes.Flight)), true
	}
	const rounding = 0.01
	if slices.ContainsFunc(areas, func(x float64) bool { return !known(x) || math.Abs(x-*plan.Area) <= rounding*x }) {
		return
	}
	figures := []string{"lines", "line_length_m", "photos", "track_m", "flight_time_s"}
	switch {
	case flight:
		c.differ("area", figures, "The plan is for another area: %s planned, where the audit has a flight area of %s and a site area of %s. Lines, photos, track and time do not compare.",
			c.Units.Area(*plan.Area), c.Units.Area(areas[1]), c.Units.Area(areas[0]))
	case c.After.Shapes != nil:
		c.differ("area", figures, "The plan is for another area: %s planned, where the audit has a site area of %s and no flight area. Lines, photos, track and time do not compare.",
			c.Units.Area(*plan.Area), c.Units.Area(areas[0]))
	default:
		c.note("The plan is for %s, the site area has %s. Without the audit's GeoJSON it cannot be told whether the plan is for its flight area.",
			c.Units.Area(*plan.Area), c.Units.Area(areas[0]))
	}
}
