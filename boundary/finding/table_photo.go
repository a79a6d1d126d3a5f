package finding

// Codes of reading photos.
const (
	PhotosUnreadable   Code = "photos-unreadable"
	PositionsCorrected Code = "positions-corrected"
	PositionsUnmatched Code = "positions-unmatched"
	PositionsMissing   Code = "positions-missing"
	PropertyChosen     Code = "property-chosen"
	PropertyMissing    Code = "property-missing"
	PropertySuggested  Code = "property-suggested"
	AltitudeDatum      Code = "altitude-datum"
	AltitudesTurned    Code = "altitudes-turned"
	PositionDatum      Code = "position-datum"
	SeveralSensors     Code = "several-sensors"
	CameraDoubtful     Code = "camera-doubtful"
	DigitalZoom        Code = "digital-zoom"
)

var photos = []Entry{
	{
		Code: PhotosUnreadable, Severity: NeedsAnswer,
		Meaning: "The system does not let some folders or photos be read.",
		Done:    "They are left out, with the system’s reason, and all others are read.",
		Ask:     "Copy the card anew, or ask for the right to read it, and start again.",
	},
	{
		Code: PositionsCorrected, Severity: Note,
		Meaning: "Positions from a table replace those of the photos.",
		Done:    "Position, and whatever else the table gives, is taken from the row that names the photo.",
		Ask:     "Check that the table is that of this flight, and what its altitudes count from.",
	},
	{
		Code: PositionsUnmatched, Severity: Note,
		Meaning: "Rows of the table of positions name no photo that was read.",
		Done:    "These rows are not used.",
		Ask:     "Check whether a card or folder is missing.",
	},
	{
		Code: PositionsMissing, Severity: NeedsAnswer,
		Meaning: "The table of positions does not name some of the photos.",
		Done:    "These photos keep the positions of their own, which are less exact and can count altitudes from elsewhere.",
		Ask:     "Complete the table, or leave these photos out.",
	},
	{
		Code: PropertyChosen, Severity: Note,
		Meaning: "A value is read from a property of the photos that was named on the command line.",
		Done:    "The property’s number is taken as it stands, in metres or degrees.",
		Ask:     "Check that the property means what it is taken for.",
	},
	{
		Code: PropertyMissing, Severity: NeedsAnswer,
		Meaning: "None of the photos, or not all of them, have a property that was named on the command line.",
		Done:    "Photos without it are read as if it had not been named.",
		Ask:     "Check how the name is spelt.",
	},
	{
		Code: PropertySuggested, Severity: Note,
		Meaning: "The photos carry properties that, by their names, may hold a value that is not known otherwise.",
		Done:    "Nothing is read from them until you say so.",
		Ask:     "Look at the numbers, and name the right property with --xmp.",
	},
	{
		Code: AltitudeDatum, Severity: NeedsAnswer,
		Meaning: "The photos’ altitudes do not count from sea level, or do not say what they count from, and the ground’s may count from elsewhere.",
		Done:    "Heights above ground are the difference of the two, as they stand.",
		Ask:     "Give the geoid’s height above the ellipsoid with --geoid-offset, or say with --altitude-datum what the photos count from.",
	},
	{
		Code: AltitudesTurned, Severity: Note,
		Meaning: "Altitudes above the ellipsoid are turned into altitudes above sea level, or what they count from was given on the command line.",
		Done:    "Heights above ground are worked out from these altitudes.",
		Ask:     "Check the figure for this place.",
	},
	{
		Code: PositionDatum, Severity: NeedsAnswer,
		Meaning: "Photos name another datum than WGS 84 for their positions.",
		Done:    "The positions are taken as they stand.",
		Ask:     "Find out how far that datum lies from WGS 84 here, and correct the positions if it is too far.",
	},
	{
		Code: SeveralSensors, Severity: Note,
		Meaning: "The photos come from several sensors or lenses, which are told apart by camera, lens, image size, focal length and zoom.",
		Done:    "Each sensor with ten photos or more is audited by itself, unless --sensor says otherwise.",
		Ask:     "Audit the sensor that was ordered alone, or all together where several aircraft shared the site.",
	},
	{
		Code: CameraDoubtful, Severity: NeedsAnswer,
		Meaning: "What photos say of their camera can be read in two ways, which give different fields of view.",
		Done:    "The focal-plane resolution decides over the 35 mm equivalent, and a digital zoom narrows the view.",
		Ask:     "Give the camera’s figures with --camera or --fov.",
	},
	{
		Code: DigitalZoom, Severity: Note,
		Meaning: "Photos were taken with digital zoom, and show less ground than the whole sensor would.",
		Done:    "The sensor size is narrowed by the zoom.",
		Ask:     "Check that the zoom was meant, and fly without it otherwise.",
	},
}
