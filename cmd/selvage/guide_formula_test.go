package main

import (
	"fmt"
	"go/constant"
	"go/token"
	"go/types"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
	"selvage/coverage"
	"selvage/coverage/photo"
)

// Every result on the page of formulas is what the program works out, and the
// arithmetic before it gives the same where it has no functions in it.
func TestGuideFormulas(t *testing.T) {
	want := formulaResults(t)
	text, err := guidePage("formulas")
	if err != nil {
		t.Fatal(err)
	}
	result := regexp.MustCompile(`^(-?[0-9.]+)( [a-zA-Z²/]+)?$`)
	for _, b := range blocksOf(text) {
		for i, line := range b.lines {
			if b.kind != "example" {
				continue
			}
			at := fmt.Sprintf("formulas.md:%d", b.line+i)
			sides := strings.Split(line, " = ")
			found := result.FindStringSubmatch(sides[len(sides)-1])
			if len(sides) < 2 || found == nil {
				t.Errorf("%s: no result: %s", at, line)
				continue
			}
			shown, err := strconv.ParseFloat(found[1], 64)
			if err != nil {
				t.Errorf("%s: %v", at, err)
				continue
			}
			_, decimals, _ := strings.Cut(found[1], ".")
			near := 0.5000001 * math.Pow10(-len(decimals))
			if got, ok := want[sides[0]]; !ok {
				t.Errorf("%s: nothing works out %q", at, sides[0])
			} else if delete(want, sides[0]); !(math.Abs(got-shown) <= near) {
				t.Errorf("%s: %s, the program says %.12g", at, line, got)
			}
			if len(sides) == 3 && !strings.ContainsAny(sides[1], "√⌈°") && !strings.Contains(sides[1], "log") {
				if got := arithmetic(t, sides[1]); !(math.Abs(got-shown) <= math.Max(near, 1e-3*math.Abs(shown))) {
					t.Errorf("%s: %s is %.12g", at, line, got)
				}
			}
		}
	}
	for name := range want {
		t.Errorf("the page has no %q", name)
	}
}

func arithmetic(t *testing.T, expression string) float64 {
	t.Helper()
	expression = strings.NewReplacer("×", "*", "÷", "/", "−", "-").Replace(expression)
	// Whole numbers divide as such unless they are told not to.
	expression = regexp.MustCompile(`\b[0-9]+(\.[0-9]+)?\b`).ReplaceAllStringFunc(expression, func(n string) string {
		if strings.Contains(n, ".") {
			return n
		}
		return n + ".0"
	})
	v, err := types.Eval(token.NewFileSet(), nil, token.NoPos, expression)
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	got, _ := constant.Float64Val(v.Value)
	return got
}

// formulaResults are the page's examples, worked out by the program.
func formulaResults(t *testing.T) map[string]float64 {
	t.Helper()
	camera := photo.Camera{SensorWidth: 13.2, SensorHeight: 8.8, FocalLength: 8.8, Columns: 5472, Rows: 3648}
	setup := coverage.Setup{Camera: camera, Height: 80, Forward: 0.75, Side: 0.70}
	l, err := setup.Layout()
	if err != nil {
		t.Fatal(err)
	}
	byGSD := setup
	byGSD.Height, byGSD.GSD = 0, 0.025
	lower, err := byGSD.Layout()
	if err != nil {
		t.Fatal(err)
	}
	five, err := coverage.DeriveBuffer(coverage.BufferInput{Setup: setup, Views: 5})
	if err != nil {
		t.Fatal(err)
	}
	inside, err := coverage.DeriveBuffer(coverage.BufferInput{Setup: setup})
	if err != nil {
		t.Fatal(err)
	}
	plan, err := coverage.PlanFlight(groundRectangle(300, 200), coverage.PlanInput{
		Setup: setup, Course: 90, Speed: 8, TurnTime: coverage.UsualTurnTime,
	})
	if err != nil {
		t.Fatal(err)
	}
	blurred, err := coverage.PlanFlight(groundRectangle(300, 200), coverage.PlanInput{
		Setup: setup, Course: 90, Blur: 0.7, ExposureTime: 0.001, TriggerInterval: 2,
	})
	if err != nil {
		t.Fatal(err)
	}
	single := auditOne(t, camera, -90)
	reach := auditOf(t, flightOf(camera, 20, 36)).Edge.Reach
	frame := plane.NewFrame(onGround(0, 0))
	a, b := orb.Point{10_000 / math.Sqrt2, 10_000 / math.Sqrt2}, orb.Point{10_000/math.Sqrt2 - 50, 10_000/math.Sqrt2 + 50}
	stretched := math.Hypot(b[0]-a[0], b[1]-a[1])/plane.GeodesicDistance(frame.Degrees(a), frame.Degrees(b)) - 1
	square := orb.MultiPolygon{{{{0, 0}, {100, 0}, {100, 100}, {0, 100}, {0, 0}}}}
	round := plane.Offset(square, 30, plane.Style{ArcTolerance: 0.005})
	return map[string]float64{
		"G": l.FootprintAlong, "S": l.FootprintAcross,
		"p": camera.SensorWidth / float64(camera.Columns), "GSD": l.GSD, "H for 2.5 cm": lower.Height,
		"reach across the edge of the lines": reach.NeedAlong, "reach beside the lines": reach.NeedAcross,
		"GSD at 10°": auditOne(t, camera, -80).Shots[0].GSD,
		"B":          l.AirBase, "W": l.LineSpacing,
		"PE on higher ground": coverage.ForwardOverlap(l.AirBase, coverage.GroundSide(8.8, 8.8, 80-8)),
		"PS on higher ground": coverage.SideOverlap(l.LineSpacing, coverage.GroundSide(13.2, 8.8, 80-8)),
		"mean views":          coverage.MeanViews(0.75, 0.70), "fewest views": float64(inside.Views),
		"along, 3 photos": five.Along * 3 / float64(five.LinePhotos), "across, 2 lines": five.Across * 2 / float64(five.Lines),
		"buffer for 5 views": five.Buffer,
		"along, all":         inside.Along, "across, all": inside.Across, "buffer for all views": inside.Buffer,
		"lines": float64(plan.Lines), "photos of a line": float64(plan.Parts[0].Lines[0].Photos),
		"photos": float64(plan.Photos), "track": plan.Track,
		"v for 0.7 pixels": blurred.BlurSpeed, "v for 2 s": blurred.TriggerSpeed,
		"blur at 8 m/s": coverage.Blur(8, 0.001, l.GSD),
		"flight time":   plan.FlightTime, "size of a photo": plan.PhotoSize, "storage": plan.Storage,
		"EV at f/4, 1/1000 s, ISO 100": coverage.EV100(4, 0.001, 100),
		"distance":                     plane.GeodesicDistance(orb.Point{-73.8, 40.6}, orb.Point{-0.5, 51.6}),
		"area":                         plane.GeodesicArea(orb.MultiPolygon{{{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0, 0}}}}),
		"share too long at 10 km":      stretched,
		"bow":                          bowOfSide(),
		"sides":                        float64(len(round[0][0])-1) / 4,
		"corner":                       farthestFrom(square, round[0][0]),
		"area as drawn":                math.Abs(planeArea(round[0][0])),
		"area by Steiner":              100*100 + 4*100*30 + math.Pi*30*30,
		"short if drawn inside":        30 * (1 - math.Cos(math.Pi/32)),
		"drop within 100 m":            curvatureDrop(100), "drop within 1 km": curvatureDrop(1000),
		"captured": single.Edge.Captured / single.Edge.Length, "gap": single.Totals.Gap,
		"r": single.Certainty.Radius.Median,
	}
}

// groundRectangle lies along east, in degrees.
func groundRectangle(east, north float64) orb.MultiPolygon {
	frame := plane.NewFrame(onGround(0, 0))
	x, y := east/2, north/2
	return frame.ToDegrees(orb.MultiPolygon{{{{-x, -y}, {x, -y}, {x, y}, {-x, y}, {-x, -y}}}})
}

// auditOne audits a photo taken over the middle of the site.
func auditOne(t *testing.T, camera photo.Camera, pitch float64) *coverage.Audit {
	t.Helper()
	return auditOf(t, []photo.Photo{photoOver(camera, 0, 0, pitch)})
}

// auditOf audits photos of a square of 100 m.
func auditOf(t *testing.T, photos []photo.Photo) *coverage.Audit {
	t.Helper()
	audit, err := coverage.Run(coverage.Job{
		Site: groundRectangle(100, 100), Photos: photos,
		Height: math.NaN(), Ground: math.NaN(), ReflyBuffer: math.NaN(),
		Wanted: coverage.Wanted{Views: 1},
		Errors: coverage.Errors{Position: 3, Attitude: 1, Height: 0},
	})
	if err != nil {
		t.Fatal(err)
	}
	return audit
}

// photoOver is taken 80 m above the ground, so far from the middle of the site.
func photoOver(camera photo.Camera, east, north, pitch float64) photo.Photo {
	at := plane.NewFrame(onGround(0, 0)).Degrees(orb.Point{east, north})
	p := photo.New(fmt.Sprintf("IMG_%.0f_%.0f.jpg", east, north), at)
	p.Height, p.Yaw, p.Pitch, p.Roll, p.Camera = 80, 0, pitch, 0, camera
	return p
}

// flightOf has lines along north over the site and 60 m past it.
func flightOf(camera photo.Camera, base, spacing float64) []photo.Photo {
	var photos []photo.Photo
	for east := -3 * spacing; east <= 3*spacing; east += spacing {
		for north := -110.0; north <= 110; north += base {
			photos = append(photos, photoOver(camera, east, north, -90))
		}
	}
	return photos
}

// curvatureDrop is how far a sphere lies below a plane that touches it, so many
// metres along its surface away.
func curvatureDrop(metres float64) float64 {
	const radius = 6_371_009
	return radius * (1 - math.Cos(metres/radius))
}

// bowOfSide is how far the middle of a side of 1 km at 48° N, straight in
// degrees, lies from the plane's straight line.
func bowOfSide() float64 {
	frame := plane.NewFrame(orb.Point{10, 48})
	half := frame.Degrees(orb.Point{500, 0})[0] - 10
	return math.Abs(frame.Metres(orb.Point{10 + half, 48})[1])
}

func farthestFrom(shape orb.MultiPolygon, ring orb.Ring) float64 {
	most := 0.0
	for _, p := range ring {
		most = max(most, plane.BoundaryDistance(shape, p))
	}
	return most
}

func planeArea(ring orb.Ring) float64 {
	twice := 0.0
	for i := 1; i < len(ring); i++ {
		twice += ring[i-1][0]*ring[i][1] - ring[i][0]*ring[i-1][1]
	}
	return twice / 2
}
