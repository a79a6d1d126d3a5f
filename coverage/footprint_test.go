package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"selvage/boundary/plane"
	"selvage/coverage/photo"
)

func TestFootprintStraightDown(t *testing.T) {
	for _, c := range []struct {
		name    string
		yaw     float64
		corners orb.Ring // from the image's lower left, counter-clockwise
	}{
		{"top to the north", 0, orb.Ring{{-50, -37.5}, {50, -37.5}, {50, 37.5}, {-50, 37.5}}},
		{"top to the east", 90, orb.Ring{{-37.5, 50}, {-37.5, -50}, {37.5, -50}, {37.5, 50}}},
		{"top to the south", 180, orb.Ring{{50, 37.5}, {-50, 37.5}, {-50, -37.5}, {50, -37.5}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			ring, cut := footprint(lens, pose{at: orb.Point{1000, -2000}, height: 50, yaw: c.yaw, pitch: -90})
			if cut || !ring.Closed() || len(ring) != 5 {
				t.Fatalf("got %v, cut %v", ring, cut)
			}
			for i, p := range c.corners {
				near(t, "corner", distance(ring[i], orb.Point{p[0] + 1000, p[1] - 2000}), 0, 1e-9)
			}
			if ring.Orientation() != orb.CCW {
				t.Error("not counter-clockwise")
			}
		})
	}
}

// By derivation: tilting the axis by 5° at 100 m moves its point on the ground
// by H·tan τ = 8.75 m, in the direction of the top of the image.
func TestTiltMovesTheCentre(t *testing.T) {
	narrow := photo.Camera{SensorWidth: 1e-6, SensorHeight: 1e-6, FocalLength: 10, Columns: 1, Rows: 1}
	ring, _ := footprint(narrow, pose{height: 100, yaw: 90, pitch: -85})
	centre, _ := planar.CentroidArea(ring)
	near(t, "east", centre[0], 8.75, 0.005)
	near(t, "north", centre[1], 0, 0.005)
	// Rolled clockwise, seen from behind, the right of the image goes down; a
	// camera that looks north and level-ish then sees ground tilted, not moved.
	wide, _ := footprint(lens, pose{height: 100, pitch: -45, roll: 90})
	tall := photo.Camera{SensorWidth: 15, SensorHeight: 20, FocalLength: 10, Columns: 3, Rows: 4}
	same, _ := footprint(tall, pose{height: 100, pitch: -45})
	near(t, "area of a camera rolled a quarter", planar.Area(wide), planar.Area(same), 1e-6)
}

// A positive roll is clockwise seen from behind the camera: looking down, with
// the top of the image to the north, the top turns to the east.
func TestRollIsClockwise(t *testing.T) {
	rolled, _ := footprint(lens, pose{height: 50, pitch: -90, roll: 30})
	turned, _ := footprint(lens, pose{height: 50, pitch: -90, yaw: 30})
	for i := range rolled {
		near(t, "corner", distance(rolled[i], turned[i]), 0, 1e-9)
	}
}

// Footprints against the way back: points of the ground projected into the image.
func TestFootprintAgainstProjection(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	cuts, empty := 0, 0
	for range 400 {
		p := exposure(0, random.Float64()*1000, random.Float64()*1000)
		p.Yaw = random.Float64() * 360
		p.Pitch = -90 + random.ExpFloat64()*25
		p.Roll = random.NormFloat64() * 30
		height := 20 + 100*random.Float64()
		at := ground.Metres(p.Position)
		ring, cut := footprint(p.Camera, pose{at, height, p.Yaw, p.Pitch, p.Roll})
		cuts += one(cut)
		if ring == nil {
			empty++
		} else if ring.Orientation() != orb.CCW || !convex(ring) {
			t.Fatalf("%+v: not convex and counter-clockwise: %v", p, ring)
		}
		for range 200 {
			angle, reach := random.Float64()*2*math.Pi, random.Float64()*2*height
			q := orb.Point{at[0] + reach*math.Cos(angle), at[1] + reach*math.Sin(angle)}
			// The sides that stand for the circle run inside it by 1 − cos(π/72).
			radius := height * math.Tan(math.Pi/3)
			if cut && reach > radius*math.Cos(math.Pi/rimSides)-0.01 && reach < radius+0.01 {
				continue
			}
			holds := ring != nil && plane.Contains(orb.MultiPolygon{{ring}}, q)
			if holds != sawPoint(p, ground, height, q) && (ring == nil || plane.BoundaryDistance(orb.MultiPolygon{{ring}}, q) > 0.001) {
				t.Fatalf("yaw %v pitch %v roll %v: footprint says %v of %v", p.Yaw, p.Pitch, p.Roll, holds, q)
			}
		}
	}
	if cuts < 50 || empty < 1 {
		t.Errorf("only %d cut and %d empty footprints tried", cuts, empty)
	}
}

func convex(ring orb.Ring) bool {
	for i := 1; i < len(ring); i++ {
		next := ring[1]
		if i+1 < len(ring) {
			next = ring[i+1]
		}
		if planar.Area(orb.Ring{ring[i-1], ring[i], next, ring[i-1]}) < -1e-6 {
			return false
		}
	}
	return true
}

func TestCentreGSD(t *testing.T) {
	// 2.4 µm pixels, 8.8 mm, 100 m: 2.727 cm by the identity GSD = p·H/f.
	c := photo.Camera{SensorWidth: 13.1328, SensorHeight: 8.7552, FocalLength: 8.8, Columns: 5472, Rows: 3648}
	near(t, "straight down", centreGSD(c, pose{height: 100, pitch: -90}), 0.02727, 5e-6)
	near(t, "30° off", centreGSD(c, pose{height: 100, pitch: -60}), 0.02727/math.Cos(math.Pi/6), 1e-5)
	near(t, "level", centreGSD(c, pose{height: 100, pitch: 0}), 2*0.02727, 1e-5)
	c.Rows /= 2
	near(t, "the longer side of a pixel", centreGSD(c, pose{height: 100, pitch: -90}), 2*0.02727, 1e-5)
}
