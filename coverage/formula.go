package coverage

import "math"

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

// BlurSpeed returns the ground speed, in metres a second, at which the image
// moves by so many pixels while the shutter is open: v = b·GSD/t.
func BlurSpeed(pixels, gsd, exposureTime float64) float64 {
	return pixels * gsd / exposureTime
}

// Blur returns by how many pixels the image moves while the shutter is open at
// a ground speed in metres a second: b = v·t/GSD.
func Blur(speed, exposureTime, gsd float64) float64 {
	return speed * exposureTime / gsd
}

// EV100 returns the exposure value of a setting, brought to a sensitivity of
// ISO 100: log2(N²/t) − log2(S/100), as ISO 2720:1974 has it (from memory). One
// more is twice the light.
func EV100(fNumber, exposureTime, iso float64) float64 {
	return math.Log2(fNumber*fNumber/exposureTime) - math.Log2(iso/100)
}

// TriggerSpeed returns the ground speed at which photos an air base apart
// follow each other at the interval, in seconds: v = B/T.
func TriggerSpeed(airBase, interval float64) float64 {
	return airBase / interval
}

// LinePhotos returns how many photos a flight line takes that begins and ends
// with one: L/B rounded up, and one more.
func LinePhotos(length, airBase float64) int {
	return roundedUp(length/airBase) + 1
}

// FlightLines returns how many lines a flight area takes whose outer lines lie
// half a line spacing or less within it: its width over the spacing, rounded up.
func FlightLines(width, lineSpacing float64) int {
	return max(1, roundedUp(width/lineSpacing))
}

// roundedUp takes what is a billionth over a whole number for that number.
func roundedUp(v float64) int { return int(math.Ceil(v - 1e-9*max(1, math.Abs(v)))) }

func roundedDown(v float64) int { return int(math.Floor(v + 1e-9*max(1, math.Abs(v)))) }
