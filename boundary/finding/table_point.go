package finding

// Codes of control points.
const (
	PointsOnly         Code = "points-only"
	PointViewsLow      Code = "point-views-low"
	PointOneLine       Code = "point-one-line"
	PointNearImageEdge Code = "point-near-image-edge"
)

var point = []Entry{
	{
		Code: PointsOnly, Severity: Note,
		Meaning: "The file of control points holds lines or areas as well.",
		Done:    "Only its points are looked at.",
		Ask:     "If a corner of a line or an area has to be seen, add it to the file as a point.",
	},
	{
		Code: PointViewsLow, Severity: NeedsAnswer,
		Meaning: "A control point is seen by fewer photos than were wanted.",
		Done:    "The note lists every point with its views, the worst first.",
		Ask:     "Take further photos of these points, or leave them out when the photos are processed.",
	},
	{
		Code: PointOneLine, Severity: Note,
		Meaning: "A control point has enough views, but all of them from one flight line.",
		Done:    "The note lists for every point from how many lines it is seen.",
		Ask:     "Where the point matters, take photos of it from a second line, so that its rays cross from both sides.",
	},
	{
		Code: PointNearImageEdge, Severity: Note,
		Meaning: "A control point has enough views, but in most of them it lies close to the edge of the image.",
		Done:    "These views count like the others.",
		Ask:     "Check in the photos that the point is really there and sharp, since a small error of position or attitude takes it out of the image.",
	},
}
