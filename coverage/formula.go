package coverage

// The planning formulas of vertical photographs over flat ground, as in Wolf,
// Dewitt & Wilkinson, Elements of Photogrammetry, 4th ed. (2014), ch. 6 and 18
// (cited from memory). Lengths of one call share their unit where they stand
// for the same thing: image lengths with the focal length, ground lengths with
// the height or the distance. Overlaps are shares, 0.75 for 75 %.

// GroundSide returns the length on the ground that an image side shows:
// G = d·H/f.
func GroundSide(imageSide, focalLength, height float64) float64 {
	return imageSide * height / focalLength
}

// GSD returns the ground sample distance, the ground length of one pixel, at a
// distance from the camera: GSD = p·D/f.
func GSD(pixel, focalLength, distance float64) float64 {
	return GroundSide(pixel, focalLength, distance)
}

// AirBase returns the distance between successive photos of a line that gives
// the forward overlap: B = (1 − PE)·G, G the ground side along the line.
func AirBase(forwardOverlap, groundSide float64) float64 {
	return (1 - forwardOverlap) * groundSide
}

// LineSpacing returns the distance between flight lines that gives the side
// overlap: W = (1 − PS)·G, G the ground side across the line.
func LineSpacing(sideOverlap, groundSide float64) float64 {
	return (1 - sideOverlap) * groundSide
}

// ForwardOverlap returns PE = 1 − B/G, 0 where the photos do not meet.
func ForwardOverlap(airBase, groundSide float64) float64 {
	return max(0, 1-airBase/groundSide)
}

// SideOverlap returns PS = 1 − W/G, 0 where the lines do not meet.
func SideOverlap(lineSpacing, groundSide float64) float64 {
	return max(0, 1-lineSpacing/groundSide)
}

// MeanViews returns how many photos see a point on average far inside an area
// flown with these overlaps: 1/((1 − PE)·(1 − PS)).
func MeanViews(forwardOverlap, sideOverlap float64) float64 {
	return 1 / ((1 - forwardOverlap) * (1 - sideOverlap))
}
