package finding

// Codes of reading a boundary file.
const (
	NoPolygon         Code = "no-polygon"
	PathNotArea       Code = "path-not-area"
	PointsNotArea     Code = "points-not-area"
	NoGeometry        Code = "no-geometry"
	NetworkLink       Code = "network-link"
	SeveralKML        Code = "several-kml"
	AltitudePresent   Code = "altitude-present"
	WrongEncoding     Code = "wrong-encoding"
	RowsAsOutline     Code = "rows-as-outline"
	PathClosed        Code = "path-closed"
	Transformed       Code = "transformed"
	SystemOverruled   Code = "system-overruled"
	LooksProjected    Code = "looks-projected"
	NoCRS             Code = "no-crs"
	SeveralShapefiles Code = "several-shapefiles"
	NamesUnread       Code = "names-unread"
	LooksGeographic   Code = "looks-geographic"
)

var reading = []Entry{
	{
		Code: NoPolygon, Severity: NeedsAnswer,
		Meaning: "The file holds no polygon, so that it has no area to fly.",
		Done:    "Nothing can be prepared from the file; a path or points around the site are taken as its outline only with --close-path.",
		Ask:     "Can you send the area as a polygon, or does a path or a row of points in the file run around it?",
	},
	{
		Code: PathNotArea, Severity: Note,
		Meaning: "The file also holds paths, and a path is not an area.",
		Done:    "Paths are left out; with --close-path each one is taken as an outline.",
		Ask:     "Does one of the paths run around ground that belongs to the site?",
	},
	{
		Code: PointsNotArea, Severity: Note,
		Meaning: "The file also holds single points, and a point is not an area.",
		Done:    "Points are left out.",
	},
	{
		Code: NoGeometry, Severity: NeedsAnswer,
		Meaning: "A feature is listed without a shape.",
		Done:    "The feature is left out.",
		Ask:     "Is something missing from the file?",
	},
	{
		Code: NetworkLink, Severity: NeedsAnswer,
		Meaning: "The file points to another file on a network.",
		Done:    "The other file is never fetched.",
		Ask:     "Is part of the site in the other file, and can you send it?",
	},
	{
		Code: SeveralKML, Severity: NeedsAnswer,
		Meaning: "The KMZ archive holds more than one KML file.",
		Done:    "Only the main one is read.",
		Ask:     "Is the whole site in the file that was read?",
	},
	{
		Code: AltitudePresent, Severity: Note,
		Meaning: "The file gives heights for its vertices, and a boundary needs none.",
		Done:    "The heights are left out.",
	},
	{
		Code: WrongEncoding, Severity: Note,
		Meaning: "The text is not in the encoding that the file declares or that is usual, so that names may look wrong.",
		Done:    "The text is read in the encoding that fits best; positions cannot suffer from it.",
	},
	{
		Code: RowsAsOutline, Severity: Note,
		Meaning: "The rows of a table are the vertices of outlines.",
		Done:    "The vertices are joined in the order of the rows.",
		Ask:     "Do the rows stand in the order in which one walks around the site?",
	},
	{
		Code: PathClosed, Severity: Mended,
		Meaning: "A path or a row of points is taken as the outline of an area, as was asked for.",
		Done:    "Its ends are joined with a straight side.",
		Ask:     "Does the path run around the site, and is no stretch of it missing?",
	},
	{
		Code: Transformed, Severity: Note,
		Meaning: "The coordinates are in another system than longitude and latitude on WGS 84.",
		Done:    "The coordinates are brought to longitude and latitude on WGS 84, as exactly as the finding says.",
	},
	{
		Code: SystemOverruled, Severity: NeedsAnswer,
		Meaning: "The file names another coordinate system than the one that was asked for.",
		Done:    "The file is read in the system that was asked for.",
		Ask:     "Which of the two coordinate systems are the numbers in?",
	},
	{
		Code: LooksProjected, Severity: NeedsAnswer,
		Meaning: "The numbers are no longitudes and latitudes but probably metres or feet of a map grid, and the file does not say of which.",
		Done:    "No system is guessed; --crs names the one to read the file in.",
		Ask:     "In which coordinate system are the numbers (its name or EPSG code)?",
	},
	{
		Code: NoCRS, Severity: NeedsAnswer,
		Meaning: "The file does not say in which coordinate system its numbers are.",
		Done:    "The numbers are taken as longitude and latitude on WGS 84, unless --crs names another system.",
		Ask:     "In which coordinate system are the numbers (its name or EPSG code)?",
	},
	{
		Code: SeveralShapefiles, Severity: NeedsAnswer,
		Meaning: "The ZIP archive holds more than one shapefile.",
		Done:    "Only one of them is read, and the finding names it.",
		Ask:     "Is the whole site in the shapefile that was read?",
	},
	{
		Code: NamesUnread, Severity: Note,
		Meaning: "The table that names the features of a shapefile is missing or does not fit.",
		Done:    "The shapes are read all the same; names are missing or uncertain.",
	},
	{
		Code: LooksGeographic, Severity: NeedsAnswer,
		Meaning: "The file says that its numbers are eastings and northings, but they look like longitudes and latitudes.",
		Done:    "The file is read as it says, unless --crs names another system.",
		Ask:     "Are the numbers longitude and latitude, or in which coordinate system are they?",
	},
}
