package finding

// Codes of the areas to fly again.
const (
	ReflyPlanned   Code = "refly-planned"
	ReflyNotEnough Code = "refly-not-enough"
)

var refly = []Entry{
	{
		Code: ReflyPlanned, Severity: Note,
		Meaning: "Ground or edge falls short, and areas to fly again are made for it.",
		Done:    "The areas are planned with the camera, the height and the speed of the flight, and with the overlaps wanted, or else those flown; then photos are placed along the planned lines to see whether they are enough.",
		Ask:     "Fly each area with the height, course and overlaps given, and audit all photos together.",
	},
	{
		Code: ReflyNotEnough, Severity: NeedsAnswer,
		Meaning: "Even after flying the areas again as planned, ground or edge would have too few views.",
		Done:    "The note says how much, and for which area.",
		Ask:     "Give the areas a wider buffer, fly them with higher overlaps, or agree with the client on what a keep-out area leaves short.",
	},
}
