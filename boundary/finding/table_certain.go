package finding

// Codes of what is certain, and of what is known by place.
const (
	PositionErrorAssumed Code = "position-error-assumed"
	AttitudeErrorAssumed Code = "attitude-error-assumed"
	OneLineOnly          Code = "one-line-only"
)

var certain = []Entry{
	{
		Code: PositionErrorAssumed, Severity: Note,
		Meaning: "Not every photo says how far off its position may be.",
		Done:    "A usual error is taken for these photos, and the note shows what falls short for certain and what does so perhaps.",
		Ask:     "Give the error with --position-error if it is known, a smaller one where positions were corrected.",
	},
	{
		Code: AttitudeErrorAssumed, Severity: Note,
		Meaning: "No photo says how far off its attitude may be.",
		Done:    "A usual error is taken, a larger one where the camera is only assumed to have looked straight down or along the track.",
		Ask:     "Give the error with --attitude-error if it is known.",
	},
	{
		Code: OneLineOnly, Severity: Note,
		Meaning: "Enough photos see a part of the site area, but all of them were taken from one flight line.",
		Done:    "The note lists these zones, where heights are weak and seams show.",
		Ask:     "If heights matter there, fly a line beside it.",
	},
}
