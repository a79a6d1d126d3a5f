package finding

// Codes of vetting, mending and expanding shapes.
const (
	OutOfRange          Code = "out-of-range"
	SwappedCoordinates  Code = "swapped-coordinates"
	UnclosedRing        Code = "unclosed-ring"
	TooFewVertices      Code = "too-few-vertices"
	RepeatedVertex      Code = "repeated-vertex"
	NearVertex          Code = "near-vertex"
	Spike               Code = "spike"
	WrongWinding        Code = "wrong-winding"
	SelfCrossing        Code = "self-crossing"
	MicroLoop           Code = "micro-loop"
	SelfTouch           Code = "self-touch"
	Retraced            Code = "retraced"
	ZeroArea            Code = "zero-area"
	HoleOutside         Code = "hole-outside"
	HoleCrosses         Code = "hole-crosses"
	HoleSharesEdge      Code = "hole-shares-edge"
	HolesOverlap        Code = "holes-overlap"
	InteriorDivided     Code = "interior-divided"
	PartsOverlap        Code = "parts-overlap"
	DuplicatePart       Code = "duplicate-part"
	PartsShareEdge      Code = "parts-share-edge"
	PartsMerged         Code = "parts-merged"
	HoleFilled          Code = "hole-filled"
	Unnamed             Code = "unnamed"
	SameName            Code = "same-name"
	FewDecimals         Code = "few-decimals"
	ManyVertices        Code = "many-vertices"
	Clutter             Code = "clutter"
	CrossesAntimeridian Code = "crosses-antimeridian"
	NearPole            Code = "near-pole"
	FarFromExpected     Code = "far-from-expected"
	AreaDiffers         Code = "area-differs"
	AreaSmall           Code = "area-small"
	AreaLarge           Code = "area-large"
	PartsFarApart       Code = "parts-far-apart"
	GapBetweenParts     Code = "gap-between-parts"
	Sliver              Code = "sliver"
	NarrowNeck          Code = "narrow-neck"
	HoleTouches         Code = "hole-touches"
)

var shape = []Entry{
	{OutOfRange, NeedsAnswer, "Coordinates lie outside the range of longitudes and latitudes, so the part has no place on the earth."},
	{SwappedCoordinates, NeedsAnswer, "Longitude and latitude are evidently exchanged."},
	{UnclosedRing, Mended, "The last vertex of a ring is not its first; the ring is closed with a straight side."},
	{TooFewVertices, NeedsAnswer, "A ring has fewer than three different vertices and encloses nothing, so it is left out."},
	{RepeatedVertex, Mended, "A vertex is given again directly after itself; the repeat is left out."},
	{NearVertex, Note, "Two successive vertices lie closer together than a boundary can be known; both are kept."},
	{Spike, Mended, "The outline runs out to a point and straight back, enclosing nothing; the point is left out."},
	{WrongWinding, Mended, "A ring runs the other way than the formats ask for; it is turned around, which moves nothing."},
	{SelfCrossing, NeedsAnswer, "A ring crosses itself, so that its vertices do not say for certain which ground is meant."},
	{MicroLoop, Mended, "A ring crosses itself in a loop too small to matter; which ground is meant is clear."},
	{SelfTouch, Mended, "A ring touches itself in a point; it is divided there, which moves nothing."},
	{Retraced, Mended, "A ring runs along a side a second time; the double side is left out."},
	{ZeroArea, NeedsAnswer, "A ring encloses no ground, so it is left out."},
	{HoleOutside, NeedsAnswer, "A hole lies outside its part and cuts nothing out, so it is left out."},
	{HoleCrosses, NeedsAnswer, "A hole crosses the outline of its part; what lies inside is cut out."},
	{HoleSharesEdge, Mended, "A hole runs along the outline of its part; it becomes a bay in the outline."},
	{HolesOverlap, Mended, "Two holes of a part overlap or lie one in the other; they become one hole."},
	{InteriorDivided, Mended, "Holes or touching points cut a part in pieces; the pieces become parts of their own."},
	{PartsOverlap, NeedsAnswer, "Two parts overlap; ground that both hold is counted once."},
	{DuplicatePart, Mended, "A part is in the file a second time; it is counted once."},
	{PartsShareEdge, Note, "Two parts share a side; they are kept apart."},
	{PartsMerged, Note, "The buffers of several parts meet, so that they are flown as one."},
	{HoleFilled, Note, "A hole is too small to be left out of the flight once the buffer is added."},
	{Unnamed, Note, "A feature has no name, so that it cannot be told from others."},
	{SameName, Note, "Two features have the same name."},
	{FewDecimals, Note, "The coordinates have few decimals, so that the boundary is known only roughly."},
	{ManyVertices, Note, "A part has more vertices than many flight controllers take."},
	{Clutter, Note, "Vertices lie on the straight line between their neighbours and say nothing."},
	{CrossesAntimeridian, Note, "The site lies across the 180th meridian and is cut there when it is written."},
	{NearPole, NeedsAnswer, "The site lies near a pole, where a position is seldom meant."},
	{FarFromExpected, NeedsAnswer, "The site lies far from where the job is."},
	{AreaDiffers, NeedsAnswer, "The site's area is not the one that was expected."},
	{AreaSmall, NeedsAnswer, "The site is unusually small."},
	{AreaLarge, NeedsAnswer, "The site is unusually large."},
	{PartsFarApart, NeedsAnswer, "A part lies far from all others and may belong to another job."},
	{GapBetweenParts, Note, "Two parts leave a thin gap between them where they probably should touch."},
	{Sliver, NeedsAnswer, "A piece is so narrow everywhere that it may be left over from drawing."},
	{NarrowNeck, Note, "Two pieces of ground are joined by a narrow neck."},
	{HoleTouches, Note, "A hole touches the outline in a point, which is valid but seldom meant."},
}
