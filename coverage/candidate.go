package coverage

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/sequence"
)

// Why photos are left out, as clauses.
var (
	noPosition   = finding.Say("no usable position")
	repeated     = finding.Say("repeats another photo")
	noCamera     = finding.Say("its sensor size, focal length or pixel numbers are not known")
	noHeight     = finding.Say("its height above ground is not known")
	notAbove     = finding.Say("not above the ground")
	underTerrain = finding.Say("its altitude is not above the terrain, so that the two may count from different levels")
	tooHigh      = finding.Say("a height above ground of more than %s", finding.Stated(greatestHeight))
	takenLow     = finding.Say("taken on the ground, in climb or landing")
	looksUp      = finding.Say("looks too far up to see the ground")
	seesNoGround = finding.Say("sees none of the area")
)

const (
	greatestHeight = 10_000 // metres above ground; more is a fault of the data
	samePlace      = 0.01   // metres
)

// givenForJob is the source of what the job says of the camera.
const givenForJob = "given for the job"

// heightSource says how a height above ground was found.
type heightSource uint8

const (
	overTerrain heightSource = iota // its altitude less that of the terrain below
	stated                          // by the photo itself
	reduced                         // its altitude less that of the ground
	planned                         // the height of the plan
	heightSources
)

// candidate is a photo on its way through the audit. Its own camera and angles,
// completed as they are found, stand before those that the photo gives.
type candidate struct {
	*photo.Photo
	Camera                 photo.Camera
	Yaw, Pitch, Roll       float64
	at                     orb.Point // plane metres
	flown                  int       // its place among the shots of the trace
	ground                 float64   // height of the terrain below; NaN when unknown
	height                 float64   // above ground, metres
	source                 heightSource
	noYaw, noPitch, noRoll bool
	cut                    bool
	footprint              orb.Ring // plane metres
	laid
}

func newCandidate(p *photo.Photo, camera photo.Camera) *candidate {
	return &candidate{Photo: p, Camera: camera, Yaw: p.Yaw, Pitch: p.Pitch, Roll: p.Roll}
}

func (c *candidate) pose() pose {
	return pose{at: c.at, height: c.height, yaw: c.Yaw, pitch: c.Pitch, roll: c.Roll}
}

// selection is what became of a job's photos so far.
type selection struct {
	candidates []*candidate // in the order flown
	trace      sequence.Trace
	traced     []*candidate // all shots of the trace
	leftOut    []photo.LeftOut
	duplicates int
	relief     *relief
}

// remove leaves out the candidates for which reason gives one.
func (s *selection) remove(reason func(c *candidate) finding.Text) {
	kept := s.candidates[:0]
	for _, c := range s.candidates {
		if why := reason(c); !why.Empty() {
			s.leftOut = append(s.leftOut, photo.LeftOut{File: c.File, Reason: why})
		} else {
			kept = append(kept, c)
		}
	}
	s.candidates = kept
}

// selectPhotos finds position, camera and height of every photo, and leaves
// out what can take no part. It is an error when for want of one of them no
// photo is left.
func selectPhotos(job Job, frame plane.Frame, r *relief) (*selection, error) {
	s := &selection{leftOut: slices.Clone(job.LeftOut), relief: r}
	if len(job.Photos)+len(job.LeftOut) == 0 {
		return nil, errors.New("there are no photos")
	}
	s.candidates = make([]*candidate, len(job.Photos))
	for i := range job.Photos {
		p := &job.Photos[i]
		s.candidates[i] = newCandidate(p, overridden(p.Camera, job.Camera))
	}
	s.remove(func(c *candidate) finding.Text {
		if lon, lat := c.Position[0], c.Position[1]; !finite(lon) || !finite(lat) || math.Abs(lon) > 360 || math.Abs(lat) > 90 {
			return noPosition
		}
		return finding.Text{}
	})
	if len(s.candidates) == 0 {
		return nil, fmt.Errorf("none of the photos has a position (%s read)", finding.Counted(len(s.leftOut), "photo", "photos"))
	}
	for _, c := range s.candidates {
		c.at = frame.Metres(c.Position)
		c.ground = r.under(c.at)
		c.height, c.source = preferred(heightsOf(c.Photo, job, c.ground))
	}
	s.removeDuplicates()
	s.arrange(job.Others)
	if missing, known := missingOfCamera(s.candidates); !known {
		return nil, fmt.Errorf("the camera is not known: no photo gives %s, and neither does the job", missing)
	}
	if !slices.ContainsFunc(s.candidates, func(c *candidate) bool { return finite(c.height) }) {
		return nil, errors.New("the height above ground is not known: give the planned height, or the altitude of the ground where the photos have altitudes")
	}
	s.remove(func(c *candidate) finding.Text {
		switch {
		case !complete(c.Camera):
			return noCamera
		case !finite(c.height):
			return noHeight
		case c.height <= 0 && c.source == overTerrain:
			return underTerrain
		case c.height <= 0:
			return notAbove
		case c.height > greatestHeight:
			return tooHigh
		}
		return finding.Text{}
	})
	var heights []float64
	for _, c := range s.candidates {
		heights = append(heights, c.height)
	}
	low := sequence.LowShare * sequence.Median(heights)
	s.remove(func(c *candidate) finding.Text {
		if c.height < low {
			return takenLow
		}
		return finding.Text{}
	})
	return s, nil
}

// removeDuplicates keeps the first of photos that share their place to 1 cm,
// and either time or file.
func (s *selection) removeDuplicates() {
	type square [2]int64
	kept := map[square][]*candidate{}
	squareOf := func(p orb.Point) square {
		return square{int64(math.Floor(p[0] / samePlace)), int64(math.Floor(p[1] / samePlace))}
	}
	s.remove(func(c *candidate) finding.Text {
		home := squareOf(c.at)
		for dx := int64(-1); dx <= 1; dx++ {
			for dy := int64(-1); dy <= 1; dy++ {
				if slices.ContainsFunc(kept[square{home[0] + dx, home[1] + dy}], c.repeats) {
					s.duplicates++
					return repeated
				}
			}
		}
		kept[home] = append(kept[home], c)
		return finding.Text{}
	})
}

func (c *candidate) repeats(d *candidate) bool {
	rise := math.Abs(c.Altitude - d.Altitude)
	return distance(c.at, d.at) <= samePlace && !(rise > samePlace) &&
		(c.Time.Equal(d.Time) || c.File != "" && c.File == d.File)
}

// heightsOf returns what each source says of a photo's height above ground, with
// the terrain at the height below it, NaN when unknown.
func heightsOf(p *photo.Photo, job Job, below float64) [heightSources]float64 {
	heights := [heightSources]float64{overTerrain: p.Altitude - below, stated: p.Height, reduced: p.Altitude - job.Ground, planned: job.Height}
	for i, h := range heights {
		if !finite(h) || heightSource(i) == planned && h <= 0 {
			heights[i] = math.NaN()
		}
	}
	return heights
}

func preferred(heights [heightSources]float64) (float64, heightSource) {
	for i, h := range heights {
		if finite(h) {
			return h, heightSource(i)
		}
	}
	return math.NaN(), planned
}

// overridden returns the camera c with every field that the job gives.
func overridden(c, given photo.Camera) photo.Camera {
	set := func(to *float64, v float64) {
		if v > 0 {
			*to = v
		}
	}
	set(&c.SensorWidth, given.SensorWidth)
	set(&c.SensorHeight, given.SensorHeight)
	set(&c.FocalLength, given.FocalLength)
	if given.Columns > 0 {
		c.Columns = given.Columns
	}
	if given.Rows > 0 {
		c.Rows = given.Rows
	}
	return c
}

func complete(c photo.Camera) bool { return len(missingOf(c)) == 0 }

func missingOf(c photo.Camera) []string {
	given := func(v float64) bool { return v > 0 && !math.IsInf(v, 1) }
	var missing []string
	if !given(c.SensorWidth) || !given(c.SensorHeight) {
		missing = append(missing, "the sensor size")
	}
	if !given(c.FocalLength) {
		missing = append(missing, "the focal length")
	}
	if c.Columns <= 0 || c.Rows <= 0 {
		missing = append(missing, "the numbers of pixels")
	}
	return missing
}

// missingOfCamera says what the best known camera lacks.
func missingOfCamera(candidates []*candidate) (missing string, known bool) {
	var least []string
	for i, c := range candidates {
		lacks := missingOf(c.Camera)
		if len(lacks) == 0 {
			return "", true
		}
		if i == 0 || len(lacks) < len(least) {
			least = lacks
		}
	}
	if n := len(least); n > 1 {
		return strings.Join(least[:n-1], ", ") + " and " + least[n-1], false
	}
	return least[0], false
}

// arrange puts the candidates in the order flown and finds flights and lines.
func (s *selection) arrange(others []string) {
	shots := make([]sequence.Shot, len(s.candidates))
	for i, c := range s.candidates {
		shots[i] = sequence.Shot{
			File: c.File, At: c.at, Height: c.height, Altitude: c.Altitude, Time: c.Time, Clock: c.TimeSource,
		}
	}
	present := slices.Clone(others)
	for _, l := range s.leftOut {
		present = append(present, l.File)
	}
	s.trace = sequence.Of(shots, present)
	s.traced = make([]*candidate, len(shots))
	for flown, given := range s.trace.Order {
		s.traced[flown] = s.candidates[given]
		s.traced[flown].flown = flown
	}
	copy(s.candidates, s.traced)
}

// lines returns the flight lines by what is left of their shots, and for each
// its number in the trace.
func (s *selection) lines() (lines []sequence.Line, number []int) {
	left := make([]int, len(s.traced)) // index into candidates and one more, 0 for none
	for i, c := range s.candidates {
		left[c.flown] = i + 1
	}
	for n, l := range s.trace.Lines {
		shots := make([]int, 0, len(l.Shots))
		for _, flown := range l.Shots {
			if left[flown] > 0 {
				shots = append(shots, left[flown]-1)
			}
		}
		if l.Shots = shots; len(shots) > 1 {
			lines, number = append(lines, l), append(number, n)
		}
	}
	return lines, number
}

// completeAngles fills in what the photos do not say: the heading from the
// track, straight down, no roll.
func completeAngles(candidates []*candidate, track []float64) {
	for _, c := range candidates {
		if c.noYaw = !finite(c.Yaw); c.noYaw {
			c.Yaw = track[c.flown]
		}
		if c.noPitch = !finite(c.Pitch); c.noPitch {
			c.Pitch = -90
		}
		if c.noRoll = !finite(c.Roll); c.noRoll {
			c.Roll = 0
		}
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
