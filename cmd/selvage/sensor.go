package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"selvage/coverage/photo"
	"selvage/report"
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

// String is the sensor in words.
func (s sensor) String() string {
	var parts []string
	add := func(part string, known bool) {
		if known {
			parts = append(parts, oneLine(part))
		}
	}
	add(s.model, s.model != "")
	add(s.lens, s.lens != "" && s.lens != s.model)
	add(fmt.Sprintf("%d × %d pixels", s.columns, s.rows), s.columns > 0 && s.rows > 0)
	add(fmt.Sprintf("%.4g mm lens", s.focal/10), s.focal > 0)
	add(fmt.Sprintf("digital zoom %.3g×", s.zoom/10), s.zoom > 0)
	if len(parts) == 0 {
		return "a camera that is not named"
	}
	return strings.Join(parts, ", ")
}

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
func sensorList(groups []group) string {
	var list []string
	for i, g := range groups {
		list = append(list, fmt.Sprintf("%d: %s, %s", i+1, g.sensor, report.Count(len(g.photos), "photo", "photos")))
	}
	return strings.Join(list, "; ")
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
