package main

import (
	"bytes"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"selvage/coverage/photo"
)

// fly FOLDER [KEY=VALUE...]: flies over 0 to 100 m east and north at 80 m above
// ground, which lies at 132 m, and writes the JPEG photos: lines along north
// and back that begin and end 30 m outside. Keys for all photos are base= and
// spacing= in metres, speed= in metres a second, start= as in 09:00:00, counter=
// for the first file, and subseconds=yes. Keys that may stand for some photos
// alone, as in iso@7=400 or iso@7-9=400, are exposure= as in 1/1000, f=, iso=,
// yaw=, altitude=, focal=, later= in seconds, and lost= for what was not
// written: file, or trigger where the camera counts on without it.
func scriptFly(ts *testscript.TestScript, negated bool, args []string) {
	number := func(s string) float64 {
		if top, bottom, fraction := strings.Cut(s, "/"); fraction {
			return mustNumber(ts, top) / mustNumber(ts, bottom)
		}
		return mustNumber(ts, s)
	}
	base, spacing, speed, counter, unit := 15.0, 25.0, 8.0, 1, time.Second
	now := time.Date(2026, 5, 12, 9, 0, 0, 0, time.UTC)
	type change struct {
		from, to   int
		key, value string
	}
	var changes []change
	for _, arg := range args[1:] {
		key, value, _ := strings.Cut(arg, "=")
		switch key {
		case "base":
			base = number(value)
		case "spacing":
			spacing = number(value)
		case "speed":
			speed = number(value)
		case "counter":
			counter = int(number(value))
		case "subseconds":
			unit = time.Millisecond
		case "start":
			start, err := time.Parse(time.TimeOnly, value)
			ts.Check(err)
			now = now.Add(start.Sub(start.Truncate(24*time.Hour)) - 9*time.Hour)
		default:
			c := change{1, math.MaxInt, key, value}
			if name, where, some := strings.Cut(key, "@"); some {
				from, to, both := strings.Cut(where, "-")
				c.key, c.from = name, int(number(from))
				if c.to = c.from; both {
					c.to = int(number(to))
				}
			}
			changes = append(changes, c)
		}
	}
	var norths []float64
	for north := -30.0; north <= 130; north += base {
		norths = append(norths, north)
	}
	n := 0
	for east := -50.0; east <= 150; east += spacing {
		for _, north := range norths {
			n++
			p := photo.New("", onGround(east, north))
			p.Altitude, p.AltitudeDatum, p.Yaw, p.Pitch = 212, photo.SeaLevel, 0, -90
			p.Camera, p.CameraModel = scriptCamera, "Invented Camera"
			p.Time, p.TimeSource = now.Truncate(unit), photo.TimeFromGPS
			lost := ""
			for _, c := range changes {
				if n < c.from || n > c.to {
					continue
				}
				switch c.key {
				case "exposure":
					p.ExposureTime = number(c.value)
				case "f":
					p.FNumber = number(c.value)
				case "iso":
					p.ISO = number(c.value)
				case "yaw":
					p.Yaw = number(c.value)
				case "altitude":
					p.Altitude = number(c.value)
				case "focal":
					p.Camera.FocalLength = number(c.value)
				case "later":
					p.Time = p.Time.Add(time.Duration(number(c.value) * 1e9))
				case "lost":
					lost = c.value
				default:
					ts.Fatalf("no such key: %s", c.key)
				}
			}
			now = now.Add(time.Duration(base / speed * 1e9))
			if lost == "trigger" {
				continue
			}
			counter++
			if lost == "file" {
				continue
			}
			file := filepath.Join(args[0], fmt.Sprintf("IMG_%04d.JPG", (counter-2)%9999+1))
			var data bytes.Buffer
			ts.Check(photo.Encode(&data, image.NewGray(image.Rect(0, 0, 8, 8)), p))
			ts.Check(os.MkdirAll(ts.MkAbs(args[0]), 0o777))
			ts.Check(os.WriteFile(ts.MkAbs(file), data.Bytes(), 0o666))
		}
		slices.Reverse(norths)
		now = now.Add(5 * time.Second)
	}
}

func mustNumber(ts *testscript.TestScript, s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	ts.Check(err)
	return x
}
