package finding

// Codes of extending the site area.
const (
	MarginLost    Code = "margin-lost"
	EdgeInKeepOut Code = "edge-in-keep-out"
	PartVanished  Code = "part-vanished"
	Simplified    Code = "simplified"
)

var expanding = []Entry{
	{
		Code: MarginLost, Severity: Note,
		Meaning: "A keep-out area takes a stretch of the site's edge its margin.",
		Done:    "The flight area stays out of the keep-out area, and the finding gives the stretch from where to where.",
		Ask:     "Will fewer views along this stretch of the edge do?",
	},
	{
		Code: EdgeInKeepOut, Severity: NeedsAnswer,
		Meaning: "A stretch of the site's edge lies in a keep-out area and cannot be captured.",
		Done:    "The flight area stays out of the keep-out area, and the finding gives the stretch from where to where.",
		Ask:     "Can the keep-out area give way here, or may the stretch go uncaptured?",
	},
	{
		Code: PartVanished, Severity: NeedsAnswer,
		Meaning: "Nothing of a part is left in the flight area.",
		Done:    "The part is not flown.",
		Ask:     "Can the job do without this part?",
	},
	{
		Code: Simplified, Severity: Note,
		Meaning: "The flight area has fewer vertices than the exact margin, and is a little larger for it.",
		Done:    "Vertices are taken out only so that the area grows; no ground of the site and none of its margin is lost.",
	},
}
