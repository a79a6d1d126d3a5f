package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
)

// fewPhotos are too few to be a sensor's flight.
const fewPhotos = 10

// sensor tells photos of one camera, lens and setting from others.
type sensor struct {
	model, lens   string
	columns, rows int
	focal, zoom   float64 // in tenths
}

func sensorOf(p photo.Photo) sensor {
	s := sensor{
		model: p.CameraModel, lens: p.Lens, columns: p.Camera.Columns, rows: p.Camera.Rows,
		focal: math.Round(10 * p.Camera.FocalLength),
	}
	if p.DigitalZoom > 1 {
		s.zoom = math.Round(10 * p.DigitalZoom)
	}
	if s.zoom == 10 {
		s.zoom = 0
	}
	return s
}

func (s sensor) words() finding.Text {
	var parts []finding.Text
	add := func(part finding.Text, known bool) {
		if known {
			parts = append(parts, part)
		}
	}
	add(finding.Plain(oneLine(s.model)), s.model != "")
	add(finding.Plain(oneLine(s.lens)), s.lens != "" && s.lens != s.model)
	add(finding.Say("%d × %d pixels", s.columns, s.rows), s.columns > 0 && s.rows > 0)
	add(finding.Say("%s mm lens", finding.Decimal("%.4g", float64(s.focal)/10)), s.focal > 0)
	add(finding.Say("digital zoom %s×", finding.Decimal("%.3g", float64(s.zoom)/10)), s.zoom > 0)
	if len(parts) == 0 {
		return finding.Say("a camera that is not named")
	}
	return finding.Commas(parts)
}

func (s sensor) String() string { return s.words().String() }

// group is the photos of one sensor.
type group struct {
	sensor sensor
	photos []int // indexes
}

// sensors groups photos, those with the finest images first.
func sensors(photos []photo.Photo) []group {
	var groups []group
	index := map[sensor]int{}
	for i, p := range photos {
		s := sensorOf(p)
		k, met := index[s]
		if !met {
			k = len(groups)
			index[s] = k
			groups = append(groups, group{sensor: s})
		}
		groups[k].photos = append(groups[k].photos, i)
	}
	slices.SortStableFunc(groups, func(a, b group) int {
		return cmp.Or(
			b.sensor.columns*b.sensor.rows-a.sensor.columns*a.sensor.rows,
			cmp.Compare(a.sensor.model, b.sensor.model), cmp.Compare(a.sensor.lens, b.sensor.lens),
			cmp.Compare(a.sensor.focal, b.sensor.focal), cmp.Compare(a.sensor.zoom, b.sensor.zoom))
	})
	return groups
}

// apart returns the groups that are audited by themselves: those with more
// than a few photos, if there are several.
func apart(groups []group) []group {
	groups = slices.DeleteFunc(slices.Clone(groups), func(g group) bool {
		return g.sensor == sensor{} || len(g.photos) < fewPhotos
	})
	if len(groups) < 2 {
		return nil
	}
	return groups
}

// sensorList names sensors by their numbers.
func sensorList(groups []group) finding.Text {
	var list finding.Text
	for i, g := range groups {
		next := finding.Say("%d: %s, %s", i+1, g.sensor.words(), finding.Counted(len(g.photos), "photo", "photos"))
		list = finding.Either(i == 0, next, finding.Say("%s; %s", list, next))
	}
	return list
}

// sensorChoice is a flag for one of several sensors, or all of them.
type sensorChoice struct {
	number int // from 1; 0 for none
	all    bool
}

func (c *sensorChoice) Set(s string) error {
	if strings.EqualFold(s, "all") {
		*c = sensorChoice{all: true}
		return nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 {
		return fmt.Errorf("%s: give the number of a sensor, from 1, or all", s)
	}
	*c = sensorChoice{number: n}
	return nil
}

func (c *sensorChoice) Type() string { return "number|all" }

func (c *sensorChoice) String() string {
	switch {
	case c.all:
		return "all"
	case c.number > 0:
		return strconv.Itoa(c.number)
	}
	return ""
}
