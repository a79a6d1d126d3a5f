package finding

// Codes of extending the site area.
const (
	MarginLost    Code = "margin-lost"
	EdgeInKeepOut Code = "edge-in-keep-out"
	PartVanished  Code = "part-vanished"
	Simplified    Code = "simplified"
)

var expanding = []Entry{
	{Code: MarginLost, Severity: Note, Meaning: "A keep-out area takes a stretch of the site's edge its margin."},
	{Code: EdgeInKeepOut, Severity: NeedsAnswer, Meaning: "A stretch of the site's edge lies in a keep-out area and cannot be captured."},
	{Code: PartVanished, Severity: NeedsAnswer, Meaning: "Nothing of a part is left in the flight area."},
	{Code: Simplified, Severity: Note, Meaning: "The flight area has fewer vertices than the exact margin, and is a little larger for it."},
}
