package demo

import (
	"bytes"
	"image/jpeg"
	"math"
	"path"
	"slices"
	"strings"
	"testing"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage"
	"selvage/coverage/photo"
)

func TestClientHasTheUsualFaults(t *testing.T) {
	client := Client()
	for range 2 {
		if !bytes.Equal(Client().Data, client.Data) {
			t.Fatal("the client's file is not the same each time")
		}
	}
	if !strings.Contains(string(client.Data), "Invented for a demonstration") {
		t.Error("the file does not say that it is invented")
	}
	file, err := boundary.Read(path.Base(client.Name), client.Data, boundary.Options{})
	if err != nil {
		t.Fatal(err)
	}
	receipt := boundary.Vet(file, boundary.Expected{}, boundary.Choices{})
	for _, want := range []finding.Code{
		finding.SelfCrossing, finding.Spike, finding.RepeatedVertex, finding.WrongWinding,
		finding.AltitudePresent, finding.PartsShareEdge, finding.PathNotArea, finding.PointsNotArea,
	} {
		if !slices.ContainsFunc(receipt.Findings, func(f finding.Finding) bool { return f.Code == want }) {
			t.Errorf("it has no %s", want)
		}
	}
	if receipt.Area < 100_000 || receipt.Area > 150_000 {
		t.Errorf("it has %.0f m²", receipt.Area)
	}
}

func TestShots(t *testing.T) {
	shots, err := Shots()
	if err != nil {
		t.Fatal(err)
	}
	again, err := Shots()
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	located, ground := 0, 0
	for i, s := range shots {
		if names[s.Name] {
			t.Errorf("two photos are called %s", s.Name)
		}
		names[s.Name] = true
		if again[i].Name != s.Name || !bytes.Equal(again[i].Data, s.Data) {
			t.Fatalf("%s is not the same each time", s.Name)
		}
		if img, err := jpeg.Decode(bytes.NewReader(s.Data)); err != nil || img.Bounds().Dx() != columns || img.Bounds().Dy() != rows {
			t.Errorf("%s is no picture: %v", s.Name, err)
		}
		p, err := photo.Read(s.Name, bytes.NewReader(s.Data), int64(len(s.Data)), nil)
		if err != nil {
			continue
		}
		located++
		if p.Altitude < Ground+Height/2 {
			ground++
		}
		if gsd := coverage.GSD(p.Camera.PixelSize(), p.Camera.FocalLength/1000, p.Altitude-Ground); gsd > GSD {
			t.Errorf("%s has a ground sample distance of %.4f m", s.Name, gsd)
		}
		if plane.GeodesicDistance(p.Position, centre) > 400 {
			t.Errorf("%s was taken at %v", s.Name, p.Position)
		}
	}
	if len(shots) < 200 || len(shots)-located != 2 || ground != 3 {
		t.Errorf("%d photos, %d of them with a position, %d on the ground", len(shots), located, ground)
	}
}

// Turning by the bearing keeps lengths, and the long axis points to 90° less it.
func TestAxes(t *testing.T) {
	a, b := site{0, 0}.degrees(), site{length, 0}.degrees()
	if d := plane.GeodesicDistance(a, b); math.Abs(d-length) > 0.01 {
		t.Errorf("the long side measures %.3f m", d)
	}
	m, n := site{0, 0}.metres(), site{1, 0}.metres()
	if azimuth := math.Atan2(n[0]-m[0], n[1]-m[1]) * 180 / math.Pi; math.Abs(azimuth-(90-bearing)) > 1e-9 {
		t.Errorf("the long side runs to %.3f°", azimuth)
	}
}
