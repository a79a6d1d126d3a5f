package finding

// Codes of auditing photos.
const (
	PhotosLeftOut     Code = "photos-left-out"
	DuplicatePhotos   Code = "duplicate-photos"
	OrderAsListed     Code = "order-as-listed"
	CameraSource      Code = "camera-source"
	MixedCameras      Code = "mixed-cameras"
	HeightSource      Code = "height-source"
	HeightsDisagree   Code = "heights-disagree"
	FlatGround        Code = "flat-ground"
	LensDistortion    Code = "lens-distortion-ignored"
	AssumedNadir      Code = "assumed-nadir"
	HeadingFromTrack  Code = "heading-from-track"
	ObliquePhotos     Code = "oblique-photos"
	RayCut            Code = "ray-cut"
	CentresOutside    Code = "centres-outside"
	HeightOverLimit   Code = "height-over-limit"
	CoverageGap       Code = "gap"
	CoverageNoStereo  Code = "no-stereo"
	CoverageThin      Code = "thin"
	EdgeShort         Code = "edge-short"
	ForwardOverlapLow Code = "forward-overlap-low"
	SideOverlapLow    Code = "side-overlap-low"
	GSDCoarse         Code = "gsd-coarse"
)

// Codes of planning a flight, which shares some of the above.
const (
	SpeedTooHigh   Code = "speed-too-high"
	SpeedToSpare   Code = "speed-to-spare"
	SpeedOverLimit Code = "speed-over-limit"
)

var audit = []Entry{
	{
		Code: PhotosLeftOut, Severity: Note,
		Meaning: "Some photos take no part in the audit.",
		Done:    "The photos are not counted, and the note lists each with the reason.",
		Ask:     "Read the reasons, and give what is missing where a photo should count.",
	},
	{
		Code: DuplicatePhotos, Severity: Note,
		Meaning: "Some photos repeat another one.",
		Done:    "Only the first of them is counted.",
	},
	{
		Code: OrderAsListed, Severity: Note,
		Meaning: "Not every photo has a time from the same clock.",
		Done:    "The order of the list stands for the order flown.",
		Ask:     "Check that the photos are listed in the order in which they were taken.",
	},
	{
		Code: CameraSource, Severity: Note,
		Meaning: "Says which camera the footprints are drawn for, and where its figures come from.",
		Done:    "Footprints and ground sample distance are worked out for this camera.",
		Ask:     "Check that the figures are those of the camera that was flown.",
	},
	{
		Code: MixedCameras, Severity: Note,
		Meaning: "The photos come from several different cameras or focal lengths.",
		Done:    "All of them count alike, each with the footprint of its own camera.",
		Ask:     "If only one camera is to count, audit its photos alone.",
	},
	{
		Code: HeightSource, Severity: Note,
		Meaning: "Says where the heights above ground come from.",
		Done:    "Footprints and ground sample distance are worked out from these heights.",
		Ask:     "Check that the heights are those that were flown.",
	},
	{
		Code: HeightsDisagree, Severity: Note,
		Meaning: "Two sources give clearly different heights above ground.",
		Done:    "The height that the note names as used decides; the other is only compared with it.",
		Ask:     "Find out which height is true, and audit again with --height or --ground if it is the other one.",
	},
	{
		Code: FlatGround, Severity: Note,
		Meaning: "The ground is taken as level.",
		Done:    "Every footprint is drawn on level ground below its photo.",
		Ask:     "On slopes, over trees and beside walls, expect fewer views than the note says.",
	},
	{
		Code: LensDistortion, Severity: Note,
		Meaning: "Lens distortion is not taken into account.",
		Done:    "Footprints are drawn from the sensor size, the focal length, and the position and attitude of the camera.",
	},
	{
		Code: AssumedNadir, Severity: Note,
		Meaning: "Some photos do not say how the camera was tilted.",
		Done:    "The camera is taken to have looked straight down, and a roll that is not given is taken as none.",
		Ask:     "Check that the camera did look straight down.",
	},
	{
		Code: HeadingFromTrack, Severity: Note,
		Meaning: "Some photos do not say which way the camera was turned.",
		Done:    "The top of the image is taken to point along the track.",
		Ask:     "Check that the camera was mounted with the top of the image towards the front.",
	},
	{
		Code: ObliquePhotos, Severity: Note,
		Meaning: "Some photos are tilted well off straight down.",
		Done:    "The photos count like the others.",
		Ask:     "If tilted photos are not to count, audit the others alone.",
	},
	{
		Code: RayCut, Severity: Note,
		Meaning: "Some photos look far out to the side, where they show little.",
		Done:    "What lies beyond a steep limit is not counted as seen.",
	},
	{
		Code: CentresOutside, Severity: Note,
		Meaning: "Some photos were taken from outside the site area and the flight area.",
		Done:    "What the photos saw of the site counts.",
		Ask:     "Check that flying there was allowed.",
	},
	{
		Code: HeightOverLimit, Severity: Note,
		Meaning: "Photos were taken, or are to be taken, higher above ground than common rules allow.",
		Done:    "Nothing is left out for it; the finding names the rule.",
		Ask:     "Look at the local rule, which decides.",
	},
	{
		Code: CoverageGap, Severity: NeedsAnswer,
		Meaning: "Part of the site area is seen by no photo.",
		Done:    "Each gap that is large enough to be listed is in the note and in the areas to fly again.",
		Ask:     "Fly these areas again, best before you leave the site.",
	},
	{
		Code: CoverageNoStereo, Severity: NeedsAnswer,
		Meaning: "Part of the site area is seen by one photo only, so that its shape cannot be measured.",
		Done:    "Each such zone that is large enough to be listed is in the note and in the areas to fly again.",
		Ask:     "Fly these areas again, best before you leave the site.",
	},
	{
		Code: CoverageThin, Severity: NeedsAnswer,
		Meaning: "Part of the site area is seen by two or more photos, but by fewer than wanted.",
		Done:    "Each such zone that is large enough to be listed is in the note and in the areas to fly again.",
		Ask:     "Fly these areas again, or ask whether fewer views will do.",
	},
	{
		Code: EdgeShort, Severity: NeedsAnswer,
		Meaning: "Part of the site area’s edge is seen by fewer photos than wanted.",
		Done:    "The note lists each stretch of the edge, from where to where.",
		Ask:     "Fly these stretches again with the camera well past the edge.",
	},
	{
		Code: ForwardOverlapLow, Severity: NeedsAnswer,
		Meaning: "Photos that follow each other overlap less than wanted.",
		Done:    "The note gives the usual and the least overlap, and how many pairs fall short.",
		Ask:     "Fly again with photos closer together along the line, or ask whether this overlap will do.",
	},
	{
		Code: SideOverlapLow, Severity: NeedsAnswer,
		Meaning: "Photos of neighbouring flight lines overlap less than wanted.",
		Done:    "The note gives the usual and the least overlap, and how many pairs fall short.",
		Ask:     "Fly again with lines closer together, or ask whether this overlap will do.",
	},
	{
		Code: GSDCoarse, Severity: NeedsAnswer,
		Meaning: "Photos show the ground more coarsely than wanted.",
		Done:    "The note gives the usual and the coarsest ground sample distance.",
		Ask:     "Fly again lower, or ask whether this ground sample distance will do.",
	},
	{
		Code: SpeedTooHigh, Severity: Note,
		Meaning: "The wanted speed is more than motion blur or the trigger interval allow.",
		Done:    "The plan flies slower, as fast as they allow.",
	},
	{
		Code: SpeedToSpare, Severity: Note,
		Meaning: "Motion blur and the trigger interval allow much more than the wanted speed.",
		Done:    "The plan keeps the wanted speed.",
	},
	{
		Code: SpeedOverLimit, Severity: Note,
		Meaning: "The planned speed is more than common rules allow.",
		Done:    "The plan keeps the speed and names the rule.",
		Ask:     "Look at the local rule, which decides.",
	},
}
