package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage"
	"selvage/coverage/photo"
)

// randomJob is an invented job: a site anywhere up to 70° of latitude, a camera
// and how to fly with it. Equal numbers give equal jobs.
type randomJob struct {
	*rand.Rand
	frame plane.Frame
	drawn orb.MultiPolygon // what the client means, metres of frame
	input coverage.BufferInput
	// course of the lines, degrees; NaN: the best.
	course float64
}

func newRandomJob(number uint64) *randomJob {
	j := &randomJob{Rand: rand.New(rand.NewPCG(number, 8))}
	at := orb.Point{j.between(-179, 179), j.between(-70, 70)}
	if j.IntN(8) == 0 {
		at[0] = 180 - j.between(-0.002, 0.002) // the site lies across the meridian, or near it
	}
	j.frame = plane.NewFrame(at)
	j.input = j.setup()
	layout, err := j.input.Layout()
	if err != nil {
		panic(err)
	}
	j.drawn = j.site(j.between(0.3, 1.6) * max(layout.FootprintAlong, layout.FootprintAcross))
	j.course = math.NaN()
	if j.IntN(2) == 0 {
		j.course = j.between(0, 360)
	}
	return j
}

func (j *randomJob) between(least, most float64) float64 {
	return least + j.Float64()*(most-least)
}

// setup is a camera, a height, overlaps and as many views as they make sure of,
// or fewer.
func (j *randomJob) setup() coverage.BufferInput {
	width := j.between(6, 36)
	c := photo.Camera{SensorWidth: width, SensorHeight: width * []float64{2. / 3, 3. / 4, 1}[j.IntN(3)]}
	c.FocalLength = width / j.between(0.5, 1.5)
	c.Columns = 3000 + j.IntN(4000)
	c.Rows = int(math.Round(float64(c.Columns) * c.SensorHeight / c.SensorWidth))
	in := coverage.BufferInput{Setup: coverage.Setup{
		Camera: c, Height: j.between(25, 120), WidthAlong: j.IntN(4) == 0,
		Forward: float64(50+j.IntN(36)) / 100, Side: float64(30+j.IntN(51)) / 100,
	}}
	all, err := coverage.DeriveBuffer(in)
	if err != nil {
		panic(err)
	}
	in.Views = 1 + j.IntN(all.Views)
	return in
}

// site is made of one shape or several, of about that radius in metres.
func (j *randomJob) site(radius float64) orb.MultiPolygon {
	if j.IntN(4) > 0 {
		return orb.MultiPolygon{j.shape(radius, orb.Point{})}
	}
	var parts orb.MultiPolygon
	apart := j.between(2.1, 3.5) * radius // so that their buffers meet, or do not
	for i := range 2 + j.IntN(2) {
		parts = append(parts, j.shape(0.6*radius, orb.Point{float64(i) * apart, j.between(-1, 1) * radius}))
	}
	return parts
}

// shape is one polygon within a circle.
func (j *randomJob) shape(radius float64, centre orb.Point) orb.Polygon {
	var p orb.Polygon
	switch j.IntN(5) {
	case 0: // convex
		p = orb.Polygon{j.star(radius, 1, 1)}
	case 1: // concave
		p = orb.Polygon{j.star(radius, 0.3, 1)}
	case 2: // a comb
		p = orb.Polygon{j.comb(radius)}
	case 3: // long and thin
		p = orb.Polygon{j.strip(radius)}
	default: // with a hole
		p = orb.Polygon{j.star(radius, 0.7, 1), j.star(radius, 0.1, 0.4)}
		slices.Reverse(p[1])
	}
	sin, cos := math.Sincos(j.between(0, 2*math.Pi))
	for _, ring := range p {
		for i, v := range ring {
			ring[i] = orb.Point{centre[0] + v[0]*cos - v[1]*sin, centre[1] + v[0]*sin + v[1]*cos}
		}
	}
	return p
}

// star has its vertices at shares of the radius from least to most. That of
// equal shares is convex, and the sides of any keep more than half of the least
// from the centre.
func (j *randomJob) star(radius, least, most float64) orb.Ring {
	n := 6 + j.IntN(12)
	var ring orb.Ring
	for i := range n {
		sin, cos := math.Sincos((float64(i) + j.between(0, 0.7)) * 2 * math.Pi / float64(n))
		r := radius * j.between(least, most)
		ring = append(ring, orb.Point{r * cos, r * sin})
	}
	return append(ring, ring[0])
}

// comb has its teeth upwards.
func (j *randomJob) comb(radius float64) orb.Ring {
	teeth := 1 + j.IntN(3)
	left, bottom := -0.7*radius, -0.7*radius
	step := 1.4 * radius / float64(2*teeth+1)
	ring := orb.Ring{{left, bottom}, {-left, bottom}}
	for i := 2*teeth + 1; i > 0; i-- {
		top := 0.7 * radius
		if i%2 == 0 {
			top *= j.between(-0.6, 0.6)
		}
		ring = append(ring, orb.Point{left + float64(i)*step, top}, orb.Point{left + float64(i-1)*step, top})
	}
	return append(ring, ring[0])
}

// strip is a band that bends.
func (j *randomJob) strip(radius float64) orb.Ring {
	half, bend := radius*j.between(0.01, 0.1), radius*j.between(0, 0.3)
	var upper, lower orb.Ring
	for i := range 9 {
		x := float64(i-4) / 4
		y := bend * math.Sin(2*x)
		upper, lower = append(upper, orb.Point{radius * x, y + half}), append(lower, orb.Point{radius * x, y - half})
	}
	slices.Reverse(upper)
	return append(append(lower, upper...), lower[0])
}

// file is the client's, with faults that mend by themselves: a vertex twice,
// a ring the wrong way round or open.
func (j *randomJob) file() (name string, data []byte) {
	pair := "%.8f %.8f" // 1 mm
	kind := j.IntN(3)
	if kind > 0 {
		pair = "%.8f,%.8f"
	}
	open, between, end := "(", ", ", ")"
	switch kind {
	case 1:
		pair, open, between, end = "["+pair+"]", "[", ",", "]"
	case 2:
		pair, open, between, end = pair+",12", "", " ", ""
	}
	var polygons []string
	for _, p := range j.frame.ToDegrees(j.drawn) {
		var rings []string
		for k, ring := range p {
			ring = slices.Clone(ring)
			if j.IntN(3) == 0 {
				slices.Reverse(ring)
			}
			if j.IntN(4) == 0 {
				ring = slices.Insert(ring, 2, ring[2])
			}
			if j.IntN(4) == 0 {
				ring = ring[:len(ring)-1]
			}
			var vertices []string
			for _, v := range ring {
				vertices = append(vertices, fmt.Sprintf(pair, v[0], v[1]))
			}
			text := open + strings.Join(vertices, between) + end
			if kind == 2 {
				side := []string{"outerBoundaryIs", "innerBoundaryIs"}[min(k, 1)]
				text = "<" + side + "><LinearRing><coordinates>" + text + "</coordinates></LinearRing></" + side + ">"
			}
			rings = append(rings, text)
		}
		polygons = append(polygons, strings.Join(rings, strings.TrimSpace(between)))
	}
	switch kind {
	case 0:
		return "client.wkt", []byte("MULTIPOLYGON((" + strings.Join(polygons, "), (") + "))")
	case 1:
		return "client.geojson", []byte(`{"type":"MultiPolygon","coordinates":[[` + strings.Join(polygons, "],[") + "]]}")
	}
	return "client.kml", []byte(`<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><Polygon>` +
		strings.Join(polygons, "</Polygon></Placemark><Placemark><Polygon>") + "</Polygon></Placemark></Document></kml>")
}

// flightOf takes the photos of a plan: along every line from its beginning, one
// air base apart, until one lies at its end or beyond. They look straight down
// and are taken one per cent higher than planned, which makes up for rounding.
func flightFor(flight orb.MultiPolygon, plan coverage.Plan, widthAlong bool) (photos []photo.Photo, lineOf []int) {
	now, line := time.Date(2026, 5, 12, 9, 0, 0, 0, time.UTC), 0
	for i, part := range plan.Parts {
		frame, err := plane.FrameFor(plane.Unwrap(flight)[i : i+1])
		if err != nil {
			panic(err)
		}
		for _, l := range part.Lines {
			from, to := frame.Metres(l.From), frame.Metres(l.To)
			dx, dy := to[0]-from[0], to[1]-from[1]
			if l.Length > 0 {
				dx, dy = dx/l.Length, dy/l.Length
			}
			yaw := math.Mod(math.Atan2(dx, dy)*180/math.Pi+360, 360)
			if widthAlong {
				yaw = math.Mod(yaw+90, 360)
			}
			for k := range l.Photos {
				d := float64(k) * plan.AirBase
				p := photo.New(fmt.Sprintf("IMG_%04d.JPG", len(photos)+1), plane.WrapPoint(frame.Degrees(orb.Point{from[0] + d*dx, from[1] + d*dy})))
				p.Height, p.Yaw, p.Pitch, p.Roll = 1.01*plan.Height, yaw, -90, 0
				p.Time, p.TimeSource = now, photo.TimeFromGPS
				photos, lineOf = append(photos, p), append(lineOf, line)
				now = now.Add(2 * time.Second)
			}
			now = now.Add(8 * time.Second)
			line++
		}
	}
	return photos, lineOf
}
