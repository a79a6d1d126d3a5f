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

var audit = []Entry{
	{PhotosLeftOut, Note, "Some photos take no part in the audit; each is listed with the reason."},
	{DuplicatePhotos, Note, "Some photos repeat another one and are counted once."},
	{OrderAsListed, Note, "Not every photo has a time, so the order of the list stands for the order flown."},
	{CameraSource, Note, "Says which camera the footprints are drawn for, and where its figures come from."},
	{MixedCameras, Note, "The photos come from several different cameras, and all of them count."},
	{HeightSource, Note, "Says where the heights above ground come from."},
	{HeightsDisagree, Note, "Two sources give clearly different heights above ground."},
	{FlatGround, Note, "The ground is taken as level."},
	{LensDistortion, Note, "Footprints are drawn without lens distortion."},
	{AssumedNadir, Note, "Some photos do not say how they were tilted and are taken to look straight down."},
	{HeadingFromTrack, Note, "Some photos do not say which way they were turned; their heading is that of the track."},
	{ObliquePhotos, Note, "Some photos are tilted well off straight down."},
	{RayCut, Note, "Some photos look so far out that the outer part of what they see is not counted."},
	{CentresOutside, Note, "Some photos were taken from outside the site area and the flight area."},
	{HeightOverLimit, Note, "Some photos were taken higher above ground than common rules allow; the local rule decides."},
	{CoverageGap, NeedsAnswer, "Part of the site area is seen by no photo."},
	{CoverageNoStereo, NeedsAnswer, "Part of the site area is seen by one photo only, so that its shape cannot be measured."},
	{CoverageThin, NeedsAnswer, "Part of the site area is seen by two or more photos, but fewer than wanted."},
	{EdgeShort, NeedsAnswer, "Part of the site area's edge is seen by fewer photos than wanted."},
	{ForwardOverlapLow, NeedsAnswer, "Photos that follow each other overlap less than wanted."},
	{SideOverlapLow, NeedsAnswer, "Photos of neighbouring flight lines overlap less than wanted."},
	{GSDCoarse, NeedsAnswer, "Photos show the ground more coarsely than wanted."},
}
