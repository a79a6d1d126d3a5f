package coverage

import (
	"errors"
	"fmt"

	"selvage/coverage/photo"
)

// greatestOverlap is the most forward or side overlap that a plan takes.
const greatestOverlap = 0.98

// Setup is how a flight is to be flown. Either the height or the GSD is given
// and the other is 0.
type Setup struct {
	Camera        photo.Camera
	Height        float64 // above ground, metres
	GSD           float64 // metres a pixel
	Forward, Side float64 // overlaps as shares, 0.75 for 75 %
	WidthAlong    bool    // the sensor's width lies along the course, and not across it as usual
}

// Layout is the spacing that follows from a Setup over level ground. Lengths
// are metres; along and across are meant to the course.
type Layout struct {
	Height, GSD                     float64
	Scale                           float64 // the n of an image scale of 1:n
	FootprintAlong, FootprintAcross float64
	AirBase, LineSpacing            float64
}

// Layout works out footprint and spacings. It is an error when the camera is
// not complete, when not exactly one of height and GSD is given, or when a
// figure is out of its range.
func (s Setup) Layout() (Layout, error) {
	c := s.Camera
	switch {
	case !c.Complete() || !finite(c.SensorWidth*c.SensorHeight*c.FocalLength):
		return Layout{}, errors.New("the camera's sensor size, focal length and image size must all be known")
	case s.Height != 0 && s.GSD != 0:
		return Layout{}, errors.New("give the height above ground or the ground sample distance, not both: one follows from the other")
	case s.Height == 0 && s.GSD == 0:
		return Layout{}, errors.New("give the height above ground or the ground sample distance")
	case s.GSD != 0 && !(s.GSD > 0 && finite(s.GSD)):
		return Layout{}, errors.New("the ground sample distance must be over 0")
	case !(s.Forward >= 0 && s.Forward <= greatestOverlap):
		return Layout{}, fmt.Errorf("the forward overlap must lie between 0 and %.0f %%", greatestOverlap*100)
	case !(s.Side >= 0 && s.Side <= greatestOverlap):
		return Layout{}, fmt.Errorf("the side overlap must lie between 0 and %.0f %%", greatestOverlap*100)
	}
	l := Layout{Height: s.Height}
	if s.GSD != 0 {
		l.Height = s.GSD / GSD(pixelPitch(c)/1000, c.FocalLength/1000, 1)
	}
	if !(l.Height > 0 && l.Height <= greatestHeight) {
		takes := ""
		if s.GSD != 0 {
			takes = fmt.Sprintf(", and that ground sample distance takes %.0f m", l.Height)
		}
		return Layout{}, fmt.Errorf("the height above ground must be over 0 and at most %d m%s", greatestHeight, takes)
	}
	along, across := c.SensorHeight, c.SensorWidth
	if s.WidthAlong {
		along, across = across, along
	}
	l.GSD = GSD(pixelPitch(c)/1000, c.FocalLength/1000, l.Height)
	l.Scale = l.Height / (c.FocalLength / 1000)
	l.FootprintAlong = GroundSide(along, c.FocalLength, l.Height)
	l.FootprintAcross = GroundSide(across, c.FocalLength, l.Height)
	l.AirBase = AirBase(s.Forward, l.FootprintAlong)
	l.LineSpacing = LineSpacing(s.Side, l.FootprintAcross)
	return l, nil
}

// sureViews returns how many photos of a line, and how many lines, see any
// place at least, wherever the regular pattern happens to lie.
func (l Layout) sureViews() (along, across int) {
	return roundedDown(l.FootprintAlong / l.AirBase), roundedDown(l.FootprintAcross / l.LineSpacing)
}
