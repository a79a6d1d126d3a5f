package finding

// Codes of the terrain that footprints are drawn on.
const (
	TerrainSource  Code = "terrain-source"
	TerrainMissing Code = "terrain-missing"
	HiddenGround   Code = "hidden-ground"
)

var terrain = []Entry{
	{
		Code: TerrainSource, Severity: Note,
		Meaning: "Says which terrain the footprints are drawn on, how fine it is, and what its heights count from.",
		Done:    "Heights above ground, footprints and ground sample distance are worked out over this terrain.",
		Ask:     "Check that the terrain’s heights and the photos’ altitudes count from the same, and give --geoid-offset if they do not.",
	},
	{
		Code: TerrainMissing, Severity: Note,
		Meaning: "Some photos see ground that the terrain files do not reach, or where they know no height.",
		Done:    "The ground under these photos is taken as level.",
		Ask:     "Add the neighbouring terrain files, or terrain without voids.",
	},
	{
		Code: HiddenGround, Severity: Note,
		Meaning: "Ridges and steps hide ground within some footprints.",
		Done:    "The hidden ground counts as seen; the finding says about how much it is.",
		Ask:     "Look at the ground behind ridges and steps in the photos themselves, and fly it again from the other side if it does not show.",
	},
}
