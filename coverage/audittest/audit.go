// Package audittest has the audit of an invented flight, for tests only.
package audittest

import (
	"fmt"
	"math"
	"time"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/coverage/photo"
)

// At turns metres east and north of a corner in the Weald into degrees; a
// degree is 111.2 km and 70.0 km there, near enough for a picture.
func At(x, y float64) orb.Point { return orb.Point{0.25 + x/70_000, 51.05 + y/111_200} }

// Ring joins corners in metres, and closes itself.
func Ring(xy ...float64) orb.Ring {
	var r orb.Ring
	for i := 0; i+1 < len(xy); i += 2 {
		r = append(r, At(xy[i], xy[i+1]))
	}
	return append(r, r[0])
}

// Box is a rectangle from its lower left corner.
func Box(x, y, w, h float64) orb.Ring { return Ring(x, y, x+w, y, x+w, y+h, x, y+h) }

// Site is a field of 400 m by 300 m with a pond.
func Site() orb.MultiPolygon {
	outline := Ring(0, 0, 400, 0, 400, 210, 330, 300, 0, 300)
	pond := Ring(120, 90, 120, 140, 190, 140, 190, 90)
	return orb.MultiPolygon{{outline, pond}}
}

// FlightArea reaches 30 m and more beyond the site.
func FlightArea() orb.MultiPolygon { return orb.MultiPolygon{{Box(-30, -30, 460, 360)}} }

// Audit is that of a flight over the site in seven lines, of which the last is
// missing.
func Audit() *coverage.Audit {
	a := &coverage.Audit{
		SiteArea: 113_350,
		Wanted:   coverage.Wanted{Views: 5, Forward: 0.75, Side: 0.65, GSD: 0.02},
		Photos: coverage.Count{Read: 82, Used: 78, OutsideCentres: 2, Duplicates: 1, LeftOut: []photo.LeftOut{
			{File: "A0001.JPG", Reason: finding.Plain("no position in its metadata")},
			{File: "A0002.JPG", Reason: finding.Plain("no position in its metadata")},
			{File: "A0040.JPG", Reason: finding.Plain("repeats A0039.JPG")},
			{File: "A0082.JPG", Reason: finding.Plain("no position in its metadata")},
		}},
		Totals: coverage.Totals{Gap: 1240, NoStereo: 1450.5, Thin: 4210, CoveredShare: 1 - 1240/113_350.0, EnoughShare: 1 - 6900.5/113_350},
		Zones: []coverage.Zone{
			{Kind: coverage.Gap, Area: 840, Label: At(382, 188), Shape: orb.Polygon{Ring(372, 170, 400, 170, 400, 200, 372, 200)}},
			{Kind: coverage.Gap, Area: 400, Label: At(250, 210), Shape: orb.Polygon{Box(240, 200, 20, 20)}},
			{Kind: coverage.NoStereo, Area: 1450.5, Label: At(375, 140), Shape: orb.Polygon{Box(350, 120, 50, 50)}},
			{Kind: coverage.Thin, Area: 4210, Label: At(350, 70), Shape: orb.Polygon{Box(320, 40, 80, 75)}},
		},
		Views: []coverage.ViewBand{
			{From: 0, To: 0, Area: 1240, Shape: orb.MultiPolygon{{Ring(372, 170, 400, 170, 400, 200, 372, 200)}, {Box(240, 200, 20, 20)}}},
			{From: 1, To: 1, Area: 1450.5, Shape: orb.MultiPolygon{{Box(350, 120, 50, 50)}}},
			{From: 2, To: 4, Area: 4210, Shape: orb.MultiPolygon{{Box(320, 40, 80, 75)}}},
			{From: 5, To: 9, Area: 30_000, Shape: orb.MultiPolygon{{Box(0, 0, 120, 300)}}},
			{From: 10, To: -1, Area: 60_000, Shape: orb.MultiPolygon{{Box(190, 0, 130, 200)}}},
		},
		Edge: coverage.Edge{
			Length: 1564.02, Captured: 1533.02,
			Rings: []coverage.EdgeRing{
				{Part: 1, Ring: 1, Start: At(0, 0), Length: 1324.02, Profile: []coverage.Step{
					{From: 0, To: 200, Views: 9}, {From: 200, To: 440, Views: 12}, {From: 440, To: 461, Views: 4}, {From: 461, To: 570, Views: 5},
					{From: 570, To: 580, Views: 0}, {From: 580, To: 900, Views: 22}, {From: 900, To: 1324.02, Views: 8},
				}},
				{Part: 1, Ring: 2, Start: At(120, 90), Length: 240, Profile: []coverage.Step{{From: 0, To: 240, Views: 11}}},
			},
			Stretches: []coverage.Stretch{
				{Ring: 0, From: 440, To: 461, MinViews: 4, Path: orb.LineString{At(400, 40), At(400, 61)}},
				{Ring: 0, From: 570, To: 580, MinViews: 0, Path: orb.LineString{At(400, 170), At(400, 180)}},
			},
		},
		GSD: coverage.Spread{N: 78, Median: 0.0187, Min: 0.0181, Max: 0.0212, Below: 0.05},
		Refly: []coverage.Refly{
			{Zones: []int{0, 2, 3}, Stretches: []int{0, 1}, Area: 14_800, Shape: orb.Polygon{Box(310, 30, 105, 185)},
				Course: 0, Lines: 2, Photos: 20, Track: 412, Time: 61.5, Closes: true},
			{Zones: []int{1}, Area: 2_100, Shape: orb.Polygon{Box(228, 188, 44, 44)},
				Course: 0, Lines: 1, Photos: 3, Track: 44, Time: 10.5, Remaining: 12.5},
		},
		ReflyPlan: coverage.ReflyPlan{
			Layout:  coverage.Layout{Height: 70, GSD: 0.0187, AirBase: 17.5, LineSpacing: 35},
			Forward: 0.75, Side: 0.65, Speed: 8, SpeedAssumed: true, Buffer: 20,
			Lines: 3, Photos: 23, Track: 456, Time: 72, Remaining: 12.5,
		},
		Findings: []finding.Finding{
			{Code: finding.CoverageGap, Severity: finding.NeedsAnswer, Text: finding.Say("%s of the site area (%s) in %s: no photo sees it.", finding.Area(1240), finding.Share(0.011), finding.Counted(2, "piece", "pieces")), Amount: 1240, Unit: "m²", Place: finding.Place{}.At(0.2554, 51.0517)},
			{Code: finding.FlatGround, Severity: finding.Note, Text: finding.Plain("The ground is taken as level.")},
		},
	}
	a.Overlap.Forward = coverage.Spread{N: 72, Median: 0.78, Min: 0.741, Max: 0.81, Below: 0.028}
	a.Overlap.Side = coverage.Spread{N: 130, Median: 0.6, Min: 0.3, Max: 0.7, Below: 0.61}
	a.Overlap.Forward.Bins = []coverage.Bin{{From: 0.74, To: 0.75, N: 4, Missed: 2}, {From: 0.75, To: 0.76}, {From: 0.76, To: 0.78, N: 8}, {From: 0.78, To: 0.82, N: 60}}
	a.Overlap.Side.Bins = []coverage.Bin{{From: 0.3, To: 0.4, N: 9, Missed: 9}, {From: 0.4, To: 0.5, N: 1, Missed: 1}, {From: 0.5, To: 0.6, N: 40, Missed: 40}, {From: 0.6, To: 0.7, N: 80, Missed: 29}}
	a.GSD.Bins = []coverage.Bin{{From: 0.018, To: 0.02, N: 74}, {From: 0.02, To: 0.022, N: 4, Missed: 4}}
	for l := range 6 {
		line := coverage.Line{Course: 0, Length: 360}
		for k := range 13 {
			y := -30 + 30*float64(k)
			if l%2 == 1 {
				y = 330 - 30*float64(k)
			}
			x := -10 + 62*float64(l)
			line.Shots = append(line.Shots, len(a.Shots))
			a.Shots = append(a.Shots, coverage.Shot{
				Photo:  &photo.Photo{File: fmt.Sprintf("A%04d.JPG", len(a.Shots)+3), Position: At(x, y)},
				Height: 70, GSD: 0.0187, Line: l, Footprint: Box(x-50, y-35, 100, 70),
			})
		}
		a.Lines = append(a.Lines, line)
	}
	fly(a)
	mark(a)
	know(a)
	count(a)
	return a
}

// fly flies the lines at 6 m/s in two flights; the fourth was flown twice as
// fast, and photos of it are blurred.
func fly(a *coverage.Audit) {
	now := time.Date(2025, 6, 3, 9, 30, 0, 0, time.UTC)
	a.Flights = make([]coverage.Flight, 2)
	a.Speed = coverage.Speeds{MaxBlur: 0.7, Ground: 6.5, Flown: 331, Allowed: 8.4, Spare: 85, BlurKnown: 78}
	for i := range a.Lines {
		l := &a.Lines[i]
		l.Flight = i / 4
		f := &a.Flights[l.Flight]
		if l.Flight == 1 && f.Photos == 0 {
			now = now.Add(12 * time.Minute)
		}
		if f.Photos == 0 {
			f.Start, f.Interval = now, 2.5
		}
		v := 6.0
		if i == 3 {
			v = 12
		}
		l.Speed = coverage.LineSpeed{
			Photos: len(l.Shots), Start: now, Length: 360, Flown: 360 / v, Ground: v,
			Blur: 8.4, Trigger: 12, Allowed: 8.4, Limit: coverage.SetByBlur, Spare: max(0, 360/v-360/8.4),
		}
		for _, k := range l.Shots {
			s := &a.Shots[k]
			s.Time, s.Speed, s.ExposureTime, s.Phase = now, v, 1.0/640, "on line"
			s.Blur = v / 640 / s.GSD
			if s.Blur > 0.7 {
				a.Speed.Blurred = append(a.Speed.Blurred, k)
			}
			f.End = now
			now = now.Add(time.Duration(30 / v * 1e9))
		}
		f.Photos += len(l.Shots)
		f.OnLine += len(l.Shots)
		f.Lines++
		now = now.Add(7 * time.Second)
	}
	a.Flights[0].InClimb, a.Flights[0].Photos = 2, a.Flights[0].Photos+2
	a.Missed = []coverage.Missed{
		{Kind: "file missing", Count: 1, After: "A0012.JPG", Before: "A0014.JPG", Position: At(52, 300), Time: a.Shots[20].Time},
		{Kind: "trigger missed", Count: 2, After: "A0059.JPG", Before: "A0060.JPG", Position: At(238, 60), Flight: 1},
	}
	a.Weakest = []coverage.WeakPair{{First: "A0059.JPG", Second: "A0060.JPG", Overlap: 0, Apart: 90, Cause: finding.Say("a photo between them is missing")}}
}

// mark sets out control points, and says how far the centres reach.
func mark(a *coverage.Audit) {
	none := coverage.EdgeDistance{Metres: math.NaN(), Share: math.NaN()}
	a.Wanted.PointViews = 3
	point := func(name string, x, y float64) coverage.Point {
		return coverage.Point{Name: name, Position: At(x, y)}
	}
	a.Points = []coverage.PointViews{
		{Point: point("GCP 4", 395, 190), Number: 4, Nearest: none, Best: none, GSD: math.NaN()},
		{Point: point("", 350, 60), Number: 2, Views: 3, Clear: 3, Lines: 1, Nearest: coverage.EdgeDistance{Metres: 6, Share: 0.12},
			Best: coverage.EdgeDistance{Metres: 9.5, Share: 0.19}, BestFile: "A0050.JPG", GSD: 0.0188, Files: []string{"A0050.JPG", "A0051.JPG", "A0049.JPG"}},
		{Point: point("a name too long for the map", 60, 250), Number: 3, Views: 24, Clear: 20, Lines: 3, OffLine: 1, Outside: true,
			Nearest: coverage.EdgeDistance{Metres: 0.4, Share: 0.011}, Best: coverage.EdgeDistance{Metres: 33.1, Share: 0.95},
			BestFile: "A0012.JPG", GSD: 0.0187, Files: []string{"A0012.JPG", "A0013.JPG"}},
	}
	a.Edge.Reach = coverage.EdgeReach{N: 88, Median: 31.24, Least: 4, At: At(400, 120), Along: 35, Across: 50, NeedAlong: 17.5, NeedAcross: 20, Enough: 0.871}
}

// know adds to the audit what is certain and what is known by place.
func know(a *coverage.Audit) {
	one := func(v float64) coverage.Spread { return coverage.Spread{N: 78, Median: v, Min: v, Max: v} }
	a.Certainty = coverage.Certainty{
		Certain:  coverage.Short{NoView: 310, BelowTwo: 900, BelowWanted: 3_100, Edge: 4.2},
		Measured: coverage.Short{NoView: 1240, BelowTwo: 2690.5, BelowWanted: 6900.5, Edge: 31},
		Possible: coverage.Short{NoView: 3_050, BelowTwo: 5_200, BelowWanted: 14_000, Edge: 88},
		Radius:   coverage.Spread{N: 78, Median: 5.6, Min: 5.1, Max: 9.1}, Position: one(3),
		Attitude: coverage.Spread{N: 78, Median: 1, Min: 1, Max: 3}, Height: one(0),
	}
	for i := range a.Zones {
		a.Zones[i].Certain = []float64{0.37, 0, 0.41, 0.52}[i]
	}
	a.OneLine = coverage.Ground{Area: 2_000.5, Pieces: []coverage.Piece{{Area: 2000, Label: At(300, 200), Shape: orb.Polygon{Box(290, 150, 20, 100)}}}}
	a.GSDByPlace = coverage.GSDByPlace{
		Cell: 2.5, Best: coverage.Spread{N: 9_000, Median: 0.0186, Min: 0.0181, Max: 0.0205, Below: 0.04, Bins: []coverage.Bin{{From: 0.018, To: 0.019, N: 8_000}, {From: 0.019, To: 0.02, N: 640}, {From: 0.02, To: 0.021, N: 360, Missed: 360}}}, Usual: coverage.Spread{N: 9_000, Median: 0.0188, Min: 0.0183, Max: 0.021, Bins: []coverage.Bin{{From: 0.018, To: 0.022, N: 9_000}}},
		Tenths: []float64{0.0181, 0.0182, 0.0183, 0.0184, 0.0185, 0.0186, 0.0187, 0.0188, 0.0189, 0.019, 0.0205},
		Coarse: coverage.Ground{Area: 5_600, Pieces: []coverage.Piece{{Area: 5_600, Label: At(60, 30), Shape: orb.Polygon{Box(20, 10, 80, 70)}}}},
	}
	a.Raster = coverage.Raster{Cell: 2, Columns: 10, Rows: 10, Views: make([]uint16, 100)}
	for i := range a.Raster.Views {
		a.Raster.Views[i] = uint16(i % 17)
	}
	a.Raster.Views[99] = coverage.OffSite
}

// count makes up views of cells, some off the site.
func count(a *coverage.Audit) {
	a.Map = coverage.DegreeRaster{Corner: orb.Point{0.25, 51.05}, Step: orb.Point{0.0001, 0.00006}, Cell: 7, Columns: 57, Rows: 45}
	for k := range a.Map.Columns * a.Map.Rows {
		v := uint16(k * k % 23)
		if k%11 == 3 {
			v = coverage.OffSite
		}
		a.Map.Views = append(a.Map.Views, v)
	}
}
