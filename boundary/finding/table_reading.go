package finding

// Codes of reading a boundary file.
const (
	NoPolygon       Code = "no-polygon"
	PathNotArea     Code = "path-not-area"
	PointsNotArea   Code = "points-not-area"
	NoGeometry      Code = "no-geometry"
	NetworkLink     Code = "network-link"
	SeveralKML      Code = "several-kml"
	AltitudePresent Code = "altitude-present"
)

var reading = []Entry{
	{NoPolygon, NeedsAnswer, "The file holds no polygon, so it has no area to fly."},
	{PathNotArea, Note, "The file also holds paths; a path is not an area, so they are left out."},
	{PointsNotArea, Note, "The file also holds single points; a point is not an area, so they are left out."},
	{NoGeometry, NeedsAnswer, "A feature is listed without a shape."},
	{NetworkLink, NeedsAnswer, "The file points to another file on a network, which is never fetched."},
	{SeveralKML, NeedsAnswer, "The KMZ archive holds more than one KML file; only the main one is read."},
	{AltitudePresent, Note, "The file gives heights for its vertices; a boundary needs none, so they are left out."},
}
