package finding

// Codes of extending the site area.
const (
	MarginLost    Code = "margin-lost"
	EdgeInKeepOut Code = "edge-in-keep-out"
	PartVanished  Code = "part-vanished"
	Simplified    Code = "simplified"
	OwnBuffer     Code = "own-buffer"
	BufferUnread  Code = "buffer-unread"
	BuffersDiffer Code = "buffers-differ"
	EdgeNearer    Code = "edge-nearer"
	EdgePassed    Code = "edge-passed"
)

var expanding = []Entry{
	{
		Code: MarginLost, Severity: Note,
		Meaning: "A keep-out area takes a stretch of the site’s edge its margin.",
		Done:    "The flight area stays out of the keep-out area, and the finding gives the stretch from where to where.",
		Ask:     "Will fewer views along this stretch of the edge do?",
	},
	{
		Code: EdgeInKeepOut, Severity: NeedsAnswer,
		Meaning: "A stretch of the site’s edge lies in a keep-out area and cannot be captured.",
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
	{
		Code: OwnBuffer, Severity: Note,
		Meaning: "Features of the file bring a buffer of their own, in a property named buffer.",
		Done:    "It is used for these features in place of the buffer of the job, unless one is given for the part by its name (--margin) or all are left aside (--ignore-buffers).",
	},
	{
		Code: BufferUnread, Severity: NeedsAnswer,
		Meaning: "What a feature brings as its buffer is not a length, or not one that can be meant.",
		Done:    "The feature gets the buffer of the job.",
		Ask:     "How far, in metres or feet, is this part to be extended?",
	},
	{
		Code: BuffersDiffer, Severity: Note,
		Meaning: "Parts that overlap, and are one area for that, have different buffers.",
		Done:    "All of the area gets the largest of them.",
	},
	{
		Code: EdgeNearer, Severity: NeedsAnswer,
		Meaning: "With the vertices that were asked for, a shrunk area comes nearer to the site’s edge than its buffer.",
		Done:    "The area is simplified outwards, so that nothing of it is lost, but never past the site’s edge.",
		Ask:     "May the flight area come that near to the edge, or can the flight controller take more vertices?",
	},
	{
		Code: EdgePassed, Severity: NeedsAnswer,
		Meaning: "The flight area is to stay inside a part’s edge, but the buffer of another part reaches over it.",
		Done:    "The ground that the other part needs is flown.",
		Ask:     "Which goes first, to stay inside the edge or the views of the part beside it?",
	},
}
