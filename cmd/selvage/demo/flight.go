package demo

import (
	"bytes"
	"fmt"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"time"

	"github.com/paulmach/orb"

	"selvage/coverage/photo"
)

var camera = photo.Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648}

// The flight keeps a little closer than the overlaps ask: 75 % of the 80 m
// that a photo shows along the line leave 20 m, 70 % of the 120 m across 36 m.
const (
	airBase  = 19.3
	spacing  = 34.1
	airspeed = 8.0 // metres a second
	turn     = 9 * time.Second
	wander   = 0.15 // metres, the most that a photo lies off its place
	reach    = Buffer - 1
)

// exposure is one photo of the flight.
type exposure struct {
	at      site
	heading float64 // degrees clockwise from the site's v axis
	time    time.Time
	lost    bool // planned, and never flown
}

// plan is a lawn-mower flight over the flight area: lines along u, each as
// long as the area is there.
func plan() []exposure {
	var flight []exposure
	now := time.Date(2026, time.May, 12, 8, 40, 0, 0, time.UTC)
	line := 0
	for v := -reach; v < armLength+reach+0.5; v += spacing {
		end := length + reach
		if v > width+reach {
			end = armWidth + reach
		}
		from, to, heading := -reach, end, 90.0
		if line%2 == 1 {
			from, to, heading = to, from, 270
		}
		steps := int(math.Ceil(math.Abs(to-from) / airBase))
		for i := range steps + 1 {
			u := from + (to-from)*float64(i)/float64(steps)
			flight = append(flight, exposure{site{u, v}, heading, now, missed(line, u)})
			now = now.Add(time.Duration(math.Abs(to-from) / float64(steps) / airspeed * float64(time.Second)))
		}
		now = now.Add(turn)
		line++
	}
	return flight
}

// missed says where the flight fell short: a battery was changed and the
// flight taken up too far on, and the last three lines were broken off early.
func missed(line int, u float64) bool {
	return line >= 3 && line <= 5 && u > 150 && u < 330 ||
		line >= 12 && u > 130
}

// Shots are the photos of the flight.
func Shots() ([]File, error) {
	chance := rand.New(rand.NewPCG(1, 2))
	var files []File
	add := func(p photo.Photo, at site, heading float64) error {
		p.File = fmt.Sprintf("%s/flight-%d/IMG_%04d.jpg", Photos, 1+len(files)/200, 1+len(files))
		var data bytes.Buffer
		if err := photo.Encode(&data, picture(at, heading, p.Altitude-Ground), p); err != nil {
			return err
		}
		files = append(files, File{p.File, data.Bytes()})
		return nil
	}

	flight := plan()
	home := site{-55, 395}
	for i := range 3 { // tried out before take-off
		p := shoot(home, 0, Ground+0.6, flight[0].time.Add(time.Duration(i-8)*20*time.Second))
		if err := add(p, home, 0); err != nil {
			return nil, err
		}
	}
	for i, e := range flight {
		if e.lost {
			continue
		}
		off := func(most float64) float64 { return (2*chance.Float64() - 1) * most }
		at := site{e.at.u + off(wander), e.at.v + off(wander)}
		heading := e.heading + off(1.5)
		p := shoot(at, heading, Ground+Height+off(0.3), e.time)
		if i == 40 { // the receiver lost its fix
			p.Position = orb.Point{}
		}
		if err := add(p, at, heading); err != nil {
			return nil, err
		}
	}

	// One photo was copied twice from the card, one lost its metadata on the way.
	copied := files[120]
	files = append(files, File{Photos + "/flight-1/IMG_0121_copy.jpg", copied.Data})
	var bare bytes.Buffer
	if err := jpeg.Encode(&bare, picture(home, 0, 3), nil); err != nil {
		return nil, err
	}
	return append(files, File{Photos + "/flight-2/from the office.jpg", bare.Bytes()}), nil
}

func shoot(at site, heading, altitude float64, when time.Time) photo.Photo {
	p := photo.New("", at.degrees())
	p.Altitude, p.AltitudeDatum = altitude, photo.SeaLevel
	p.Yaw = math.Mod(heading-bearing+360, 360)
	p.Pitch = -90
	p.Time, p.TimeSource = when, photo.TimeFromGPS
	p.ExposureTime = 1.0 / 1000
	p.Camera = camera
	p.CameraModel = "Invented Camera"
	return p
}
