package finding

// Codes of how the photos were flown.
const (
	OrderByName    Code = "order-by-name"
	ClockSetBack   Code = "clock-set-back"
	FilesMissing   Code = "files-missing"
	TriggersMissed Code = "triggers-missed"
	FlownSlow      Code = "flown-slow"
	SpeedUntold    Code = "speed-untold"
	BlurredPhotos  Code = "blurred-photos"
	LightDrift     Code = "light-drift"
	ExposureJumps  Code = "exposure-jumps"
	GSDVaries      Code = "gsd-varies"
	HeightJumps    Code = "height-jumps"
	HeadingJumps   Code = "heading-jumps"
)

var flight = []Entry{
	{
		Code: OrderByName, Severity: Note,
		Meaning: "Not every photo has a time from the same clock, but every file name has a number.",
		Done:    "The numbers in the file names stand for the order flown.",
		Ask:     "Check that the files still have the names that the camera gave them.",
	},
	{
		Code: ClockSetBack, Severity: Note,
		Meaning: "A photo has an earlier time than the one before it by the numbers in the file names.",
		Done:    "The times decide on the order flown, and so on lines and speeds.",
		Ask:     "Find out whether the clock was set back, or whether the files of two flights are mixed.",
	},
	{
		Code: FilesMissing, Severity: Note,
		Meaning: "The numbers in the file names leave some out within a flight, so files are missing.",
		Done:    "The note lists each place, and coverage is measured without these files.",
		Ask:     "Look for the files on the card, and copy it anew if they were not deleted on purpose.",
	},
	{
		Code: TriggersMissed, Severity: Note,
		Meaning: "Photos within a flight line are twice as far apart as usual, or farther.",
		Done:    "The note lists each place and says what the file names tell of it.",
		Ask:     "If it happens often, fly slower or give the camera a faster card.",
	},
	{
		Code: FlownSlow, Severity: Note,
		Meaning: "Motion blur and the trigger interval would have allowed a much higher speed on the lines.",
		Done:    "The note shows for every line the speed flown, the speed allowed, and the time to be saved.",
		Ask:     "Next time fly faster, as far as the aircraft and the local rule allow.",
	},
	{
		Code: SpeedUntold, Severity: Note,
		Meaning: "The photos do not tell how fast the lines were flown, or how fast they could have been flown.",
		Done:    "What is not known is left open in the note.",
		Ask:     "Give the shortest time between photos that the camera keeps with --trigger, and photos with times and exposure times instead of a bare table.",
	},
	{
		Code: BlurredPhotos, Severity: NeedsAnswer,
		Meaning: "The aircraft moved too far while the shutter was open, so that photos are blurred.",
		Done:    "The note lists these photos; they count like the others.",
		Ask:     "Look at the worst ones at full size, and fly again slower or with a shorter exposure if they are not sharp.",
	},
	{
		Code: LightDrift, Severity: Note,
		Meaning: "The light changed much in the course of a flight.",
		Done:    "Nothing is left out for it.",
		Ask:     "Expect differences in colour and shadow, and process flights in different light apart.",
	},
	{
		Code: ExposureJumps, Severity: Note,
		Meaning: "The exposure changes much from one photo of a line to the next.",
		Done:    "Nothing is left out for it.",
		Ask:     "Look at the photos named, which may be too dark or too bright to match, and set the exposure by hand next time.",
	},
	{
		Code: GSDVaries, Severity: Note,
		Meaning: "The ground sample distance differs widely between photos.",
		Done:    "All photos count alike.",
		Ask:     "Check heights and lenses, as photos of very different scale are harder to match.",
	},
	{
		Code: HeightJumps, Severity: Note,
		Meaning: "The height changes much from one photo of a line to the next.",
		Done:    "The heights are taken as they stand.",
		Ask:     "Look whether the altitudes of the photos named are wrong.",
	},
	{
		Code: HeadingJumps, Severity: Note,
		Meaning: "In some photos the camera is turned otherwise than in the rest of their flight line.",
		Done:    "The headings are taken as they stand.",
		Ask:     "Look whether the headings of the photos named are wrong, which would turn their footprints.",
	},
}
