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
	{
		Code: OutOfRange, Severity: NeedsAnswer,
		Meaning: "Coordinates lie outside the range of longitudes and latitudes, so the part has no place on the earth.",
		Done:    "The part is left out; longitudes that merely run on past 180 degrees are taken to continue around the earth.",
		Ask:     "In which coordinate system are the numbers, or can you send the file again with longitude and latitude on WGS 84?",
	},
	{
		Code: SwappedCoordinates, Severity: NeedsAnswer,
		Meaning: "Longitude and latitude are evidently exchanged.",
		Done:    "The part is left out; nothing is exchanged without an answer.",
		Ask:     "Can you send the file again with the longitude before the latitude?",
	},
	{
		Code: UnclosedRing, Severity: Mended,
		Meaning: "The last vertex of a ring is not its first.",
		Done:    "The ring is closed with a straight side from its last vertex to its first.",
	},
	{
		Code: TooFewVertices, Severity: NeedsAnswer,
		Meaning: "A ring has fewer than three different vertices and encloses nothing.",
		Done:    "The ring is left out.",
		Ask:     "Should there be an area here, and where are its corners?",
	},
	{
		Code: RepeatedVertex, Severity: Mended,
		Meaning: "A vertex is given again directly after itself.",
		Done:    "The repeat is left out, which moves nothing.",
	},
	{
		Code: NearVertex, Severity: Note,
		Meaning: "Two successive vertices lie closer together than a boundary can be known.",
		Done:    "Both vertices are kept.",
	},
	{
		Code: Spike, Severity: Mended,
		Meaning: "The outline runs out to a point and straight back, enclosing nothing.",
		Done:    "The point is left out, which takes no ground away.",
	},
	{
		Code: WrongWinding, Severity: Mended,
		Meaning: "A ring runs the other way than the formats ask for.",
		Done:    "The ring is turned around, which moves nothing.",
	},
	{
		Code: SelfCrossing, Severity: NeedsAnswer,
		Meaning: "A ring crosses itself, so that its vertices do not say for certain which ground is meant.",
		Done:    "All ground that the line goes around is kept (lobes), unless --crossing asks for the order of the vertices that does not cross (uncross) or for everything within the outermost line (outer).",
		Ask:     "Which of the drawn readings is the ground that you mean?",
	},
	{
		Code: MicroLoop, Severity: Mended,
		Meaning: "A ring crosses itself in a loop so small that it does not matter how it is read.",
		Done:    "The loop stays where it encloses ground of its own.",
	},
	{
		Code: SelfTouch, Severity: Mended,
		Meaning: "A ring touches itself in a point.",
		Done:    "The ring is divided there, which moves nothing.",
	},
	{
		Code: Retraced, Severity: Mended,
		Meaning: "A ring runs along one of its sides a second time.",
		Done:    "The double side is left out, which takes no ground away.",
	},
	{
		Code: ZeroArea, Severity: NeedsAnswer,
		Meaning: "A ring encloses no ground.",
		Done:    "The ring is left out.",
		Ask:     "Should there be an area here, and where are its corners?",
	},
	{
		Code: HoleOutside, Severity: NeedsAnswer,
		Meaning: "A hole lies outside its part, where it cuts nothing out.",
		Done:    "The hole is left out.",
		Ask:     "What does this ring stand for: more of the site, ground to leave out, or nothing?",
	},
	{
		Code: HoleCrosses, Severity: NeedsAnswer,
		Meaning: "A hole crosses the outline of its part.",
		Done:    "What lies inside the outline is cut out (clip), unless --hole asks for the hole to be left out (drop).",
		Ask:     "Does the hole end at the outline, or is it a mistake?",
	},
	{
		Code: HoleSharesEdge, Severity: Mended,
		Meaning: "A hole runs along the outline of its part.",
		Done:    "The hole becomes a bay in the outline.",
	},
	{
		Code: HolesOverlap, Severity: Mended,
		Meaning: "Two holes of a part overlap, share a side, or lie one in the other.",
		Done:    "The two become one hole.",
	},
	{
		Code: InteriorDivided, Severity: Mended,
		Meaning: "Holes or touching points cut a part in pieces.",
		Done:    "The pieces become parts of their own.",
	},
	{
		Code: PartsOverlap, Severity: NeedsAnswer,
		Meaning: "Two parts overlap.",
		Done:    "The two become one area, in which the ground that both hold is counted once, unless --parts says that a part inside another is a hole in it.",
		Ask:     "Are both parts meant as they are drawn, or is one a hole in the other, or a mistake?",
	},
	{
		Code: DuplicatePart, Severity: Mended,
		Meaning: "A part is in the file a second time.",
		Done:    "The part is counted once.",
	},
	{
		Code: PartsShareEdge, Severity: Note,
		Meaning: "Two parts share a side.",
		Done:    "The parts are kept apart.",
	},
	{
		Code: PartsMerged, Severity: Note,
		Meaning: "The buffers of several parts meet.",
		Done:    "The parts are flown as one area, which has all their names.",
	},
	{
		Code: HoleFilled, Severity: Note,
		Meaning: "A hole is so small that the buffer around the site fills it.",
		Done:    "The hole is flown over with the rest.",
		Ask:     "May the ground in the hole be flown over?",
	},
	{
		Code: Unnamed, Severity: Note,
		Meaning: "A feature has no name, so that it cannot be told from others.",
		Done:    "The feature is called by its number in the file.",
	},
	{
		Code: SameName, Severity: Note,
		Meaning: "Two features have the same name.",
		Done:    "Both are kept under that name.",
	},
	{
		Code: FewDecimals, Severity: Note,
		Meaning: "The coordinates have few decimals, so that the boundary is known only roughly.",
		Done:    "The coordinates are used as they are.",
		Ask:     "Can you send the file again with all the decimals that you have?",
	},
	{
		Code: ManyVertices, Severity: Note,
		Meaning: "A part has more vertices than many flight controllers take.",
		Done:    "All vertices are kept.",
	},
	{
		Code: Clutter, Severity: Note,
		Meaning: "Vertices lie on the straight line between their neighbours and say nothing.",
		Done:    "The vertices are kept.",
	},
	{
		Code: CrossesAntimeridian, Severity: Note,
		Meaning: "The site lies across the 180th meridian.",
		Done:    "Its area is cut in two at the meridian when it is written.",
	},
	{
		Code: NearPole, Severity: NeedsAnswer,
		Meaning: "The site lies near a pole, where a position is seldom meant.",
		Done:    "The site is kept where it is.",
		Ask:     "Does the site really lie there?",
	},
	{
		Code: FarFromExpected, Severity: NeedsAnswer,
		Meaning: "The site lies far from where the job is.",
		Done:    "The site is kept where it is; if exchanged coordinates or another sign would bring it to the job, the finding says so.",
		Ask:     "Is this the right file, and is the position in it right?",
	},
	{
		Code: AreaDiffers, Severity: NeedsAnswer,
		Meaning: "The size of the site is not the one that was expected.",
		Done:    "The site is kept as it is drawn.",
		Ask:     "Is the file complete, and is it the right one?",
	},
	{
		Code: AreaSmall, Severity: NeedsAnswer,
		Meaning: "The site is unusually small.",
		Done:    "The site is kept as it is drawn.",
		Ask:     "Is the whole site in the file?",
	},
	{
		Code: AreaLarge, Severity: NeedsAnswer,
		Meaning: "The site is unusually large.",
		Done:    "The site is kept as it is drawn.",
		Ask:     "Is all of it to be mapped, or does the file hold more than this job?",
	},
	{
		Code: PartsFarApart, Severity: NeedsAnswer,
		Meaning: "A part lies far from all others and may belong to another job.",
		Done:    "All parts are kept.",
		Ask:     "Does the part that lies far away belong to this job?",
	},
	{
		Code: GapBetweenParts, Severity: Note,
		Meaning: "Two parts leave a thin gap between them where they probably should touch.",
		Done:    "The gap is kept.",
		Ask:     "Should the two parts touch?",
	},
	{
		Code: Sliver, Severity: NeedsAnswer,
		Meaning: "A piece of ground is so narrow everywhere that it may be left over from drawing.",
		Done:    "The piece is kept.",
		Ask:     "Is the narrow piece meant, or is it left over from drawing?",
	},
	{
		Code: NarrowNeck, Severity: Note,
		Meaning: "Two pieces of ground are joined by a narrow neck.",
		Done:    "The neck is kept.",
	},
	{
		Code: HoleTouches, Severity: Note,
		Meaning: "A hole touches the outline in a point, which is valid but seldom meant.",
		Done:    "The hole is kept as it is drawn.",
	},
}
