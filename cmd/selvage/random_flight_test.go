package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage"
	"selvage/coverage/photo"
	"selvage/coverage/sequence"
	"selvage/report"
)

// exact is how far from the rim of a footprint, in metres, a place must lie for
// two ways of counting its views to agree.
const exact = 0.05

// TestRandomJobs prepares invented jobs, flies them, and asks the audit what was
// seen: all of it, until photos are taken away or set aside. SELVAGE_JOBS is
// how many, SELVAGE_JOB the number of a single one.
func TestRandomJobs(t *testing.T) {
	from, to := uint64(1), uint64(100)
	number := func(name string) uint64 {
		n, err := strconv.ParseUint(os.Getenv(name), 10, 64)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return n
	}
	if os.Getenv("SELVAGE_JOBS") != "" {
		to = number("SELVAGE_JOBS")
	}
	if os.Getenv("SELVAGE_JOB") != "" {
		from = number("SELVAGE_JOB")
		to = from
	}
	const each = 25
	for first := from; first <= to; first += each {
		last := min(first+each-1, to)
		t.Run(fmt.Sprintf("%d-%d", first, last), func(t *testing.T) {
			t.Parallel()
			for n := first; n <= last; n++ {
				flyRandomJob(t, n)
			}
		})
	}
}

// flown is a job that was prepared and flown.
type flown struct {
	*testing.T
	*randomJob
	number uint64
	ground *ground
	site   orb.MultiPolygon // metres of frame
	camera photo.Camera
}

func flyRandomJob(t *testing.T, number uint64) {
	j := newRandomJob(number)
	f := flown{T: t, randomJob: j, number: number, camera: j.input.Camera}
	record := f.prepare()
	f.site = j.frame.ToMetres(plane.Unwrap(f.ground.site), 0)
	plan, err := coverage.PlanFlight(f.ground.flight, coverage.PlanInput{Setup: j.input.Setup, Course: j.course})
	if err != nil {
		f.Fatalf("job %d: %v", number, err)
	}
	photos, lineOf := flightFor(f.ground.flight, plan, j.input.WidthAlong)
	if len(photos) != plan.Photos {
		f.Errorf("job %d: %d photos, planned %d", number, len(photos), plan.Photos)
	}
	f.isCaptured(f.audit(photos))
	if number%25 == 0 {
		f.auditByCommand(record, photos)
	}

	lost := j.IntN(len(photos))
	a := f.lacks("a photo", photos, func(i int) bool { return i == lost })
	f.namesMissing(a, photos, lost)
	few := j.between(0.02, 0.3)
	f.lacks("some photos", photos, func(int) bool { return j.Float64() < few })
	line := lineOf[lost]
	f.lacks("a line", photos, func(i int) bool { return lineOf[i] == line })
	f.setAside(photos, plan)
}

// prepare runs the command, and reads the job record as audit does.
func (f *flown) prepare() (record string) {
	name, data := f.file()
	client := filepath.Join(f.TempDir(), name)
	out := filepath.Join(filepath.Dir(client), "job")
	if err := os.WriteFile(client, data, 0o666); err != nil {
		f.Fatal(err)
	}
	buffer, err := coverage.DeriveBuffer(f.input)
	if err != nil {
		f.Fatal(err)
	}
	var printed bytes.Buffer
	status := run(terminal{out: &printed, err: &printed}, []string{
		"prepare", client, "--buffer", fmt.Sprintf("%gm", buffer.Buffer), "--join", []string{"round", "mitre"}[f.IntN(2)], "--out", out,
	})
	if status == couldNotRun {
		f.Fatalf("job %d: prepare does not run: %s", f.number, &printed)
	}
	record = filepath.Join(out, "client.job.geojson")
	if f.ground, err = (&areaFlags{job: record, client: &clientFlags{limits: usualLimits()}}).read(); err != nil {
		f.Fatalf("job %d: %v", f.number, err)
	}
	small := []finding.Code{finding.AreaSmall, finding.Sliver}
	for _, x := range f.ground.findings {
		if x.Severity == finding.NeedsAnswer && !slices.Contains(small, x.Code) {
			f.Errorf("job %d: prepare asks: %s", f.number, x.Text)
		}
	}
	// The client's file has millimetres.
	want, rim := planeMeasures(f.drawn)
	if got := plane.GeodesicArea(f.ground.site); math.Abs(got-want) > 0.001*rim+1e-6*want {
		f.Errorf("job %d: a site area of %.3f m², drawn were %.3f m²", f.number, got, want)
	}
	return record
}

// planeMeasures are the area, by Gauss's formula, and the perimeter.
func planeMeasures(mp orb.MultiPolygon) (area, perimeter float64) {
	for _, polygon := range mp {
		for i, ring := range polygon {
			var twice float64
			for k := 1; k < len(ring); k++ {
				twice += ring[k-1][0]*ring[k][1] - ring[k][0]*ring[k-1][1]
				perimeter += math.Hypot(ring[k][0]-ring[k-1][0], ring[k][1]-ring[k-1][1])
			}
			if i > 0 {
				area -= math.Abs(twice) / 2
			} else {
				area += math.Abs(twice) / 2
			}
		}
	}
	return area, perimeter
}

func (f *flown) audit(photos []photo.Photo) *coverage.Audit {
	a, err := coverage.Run(coverage.Job{
		Site: f.ground.site, Flight: f.ground.flight, Photos: photos,
		Height: math.NaN(), Ground: math.NaN(), Camera: f.camera,
		Wanted: coverage.Wanted{Views: f.input.Views}, ReflyBuffer: math.NaN(),
	})
	if err != nil {
		f.Fatalf("job %d: %v", f.number, err)
	}
	return a
}

// isCaptured holds that nothing is missing at all.
func (f *flown) isCaptured(a *coverage.Audit) {
	if s := a.Totals; s.Gap+s.NoStereo+s.Thin > 0 || s.EnoughShare < 1 || len(a.Zones) > 0 || len(a.Refly) > 0 {
		f.Errorf("job %d: not fully covered: %+v, %d zones", f.number, s, len(a.Zones))
	}
	if e := a.Edge; e.Captured < e.Length-1e-6 || len(e.Stretches) > 0 {
		f.Errorf("job %d: %v m of %v m of the edge captured", f.number, e.Captured, e.Length)
	}
	if len(a.Missed) > 0 && f.told() {
		f.Errorf("job %d: %d photos are said to be missing", f.number, a.Missed[0].Count)
	}
}

// told tells whether missing photos can be told from the way to the next line:
// not where it leads to another part, or is no longer than positions are off.
func (f *flown) told() bool {
	const wander = 3 // metres
	layout, err := f.input.Layout()
	return err == nil && layout.LineSpacing > wander && len(f.ground.flight) == 1
}

// auditByCommand has the command say the same of a table of the photos.
func (f *flown) auditByCommand(record string, photos []photo.Photo) {
	table := filepath.Join(f.TempDir(), "positions.csv")
	var rows bytes.Buffer
	if err := report.WritePhotosCSV(&rows, photos, nil); err != nil {
		f.Fatal(err)
	}
	if err := os.WriteFile(table, rows.Bytes(), 0o666); err != nil {
		f.Fatal(err)
	}
	var printed bytes.Buffer
	c := f.camera
	status := run(terminal{out: &printed, err: &printed}, []string{
		"audit", table, "--job", record, "--min-views", strconv.Itoa(f.input.Views),
		"--camera", fmt.Sprintf("%vx%vmm,%vmm,%dx%d", c.SensorWidth, c.SensorHeight, c.FocalLength, c.Columns, c.Rows),
	})
	if status != allWell {
		f.Errorf("job %d: audit ends with %d: %s", f.number, status, &printed)
	}
}

// lacks takes photos away, and holds the audit against a count of its own.
func (f *flown) lacks(what string, photos []photo.Photo, lost func(int) bool) *coverage.Audit {
	var left, gone []photo.Photo
	for i, p := range photos {
		if lost(i) {
			gone = append(gone, p)
		} else {
			left = append(left, p)
		}
	}
	if len(left) == 0 || !f.anySees(left) {
		return nil
	}
	a := f.audit(left)
	what = fmt.Sprintf("job %d without %s", f.number, what)
	f.countsAgree(what, a, left, gone)
	for _, z := range a.Zones {
		label := z.Label
		if !slices.ContainsFunc(gone, func(p photo.Photo) bool { return f.sees(p, label, exact) }) {
			f.Errorf("%s: a zone of %.2f m² at %v, of which no photo was taken away", what, z.Area, label)
		}
	}
	return a
}

// anySees tells whether any photo sees the site: an audit of none is an error.
func (f *flown) anySees(photos []photo.Photo) bool {
	for _, at := range f.places(200) {
		if slices.ContainsFunc(photos, func(p photo.Photo) bool { return f.sees(p, at, -exact) }) {
			return true
		}
	}
	return false
}

// sees projects a place on level ground back into the image, and tells whether
// it lies in it, or less than beyond metres outside. Distance and azimuth are by
// Gauss's mid-latitude formulas on WGS 84 (Bomford, Geodesy; from memory), which
// are good to far less than a millimetre here.
func (f *flown) sees(p photo.Photo, at orb.Point, beyond float64) bool {
	const a, e2, radian = 6378137.0, 0.00669437999014, math.Pi / 180
	north := (at[1] - p.Position[1]) * radian
	if math.Abs(north)*6.3e6 > 2*p.Height {
		return false
	}
	east := math.Remainder(at[0]-p.Position[0], 360) * radian
	sin, cos := math.Sincos((at[1] + p.Position[1]) / 2 * radian)
	w := 1 - e2*sin*sin
	x, y := east*cos*a/math.Sqrt(w), north*a*(1-e2)/(w*math.Sqrt(w))
	sin, cos = math.Sincos(p.Yaw*radian + east*sin/2)
	across, along := math.Abs(x*cos-y*sin), math.Abs(x*sin+y*cos)
	scale := p.Height / f.camera.FocalLength / 2
	return across <= f.camera.SensorWidth*scale+beyond && along <= f.camera.SensorHeight*scale+beyond
}

// views are the least and the most photos that may be said to see a place.
func (f *flown) views(photos []photo.Photo, at orb.Point) (least, most int) {
	for _, p := range photos {
		if f.sees(p, at, exact) {
			most++
			if f.sees(p, at, -exact) {
				least++
			}
		}
	}
	return least, most
}

// places are places of the site, in degrees.
func (f *flown) places(n int) (all []orb.Point) {
	r := rand.New(rand.NewPCG(f.number, uint64(n)))
	bound := f.site.Bound()
	for tries := 0; len(all) < n && tries < 100*n; tries++ {
		at := orb.Point{bound.Min[0] + r.Float64()*(bound.Max[0]-bound.Min[0]), bound.Min[1] + r.Float64()*(bound.Max[1]-bound.Min[1])}
		if plane.Contains(f.site, at) && plane.BoundaryDistance(f.site, at) > exact {
			all = append(all, f.frame.Degrees(at))
		}
	}
	return all
}

// countsAgree holds the views that an audit tells against those that photos
// have, place by place: inside, there more of them where photos are gone, and
// along the edge. The ground without any is held against simplefeatures'.
func (f *flown) countsAgree(what string, a *coverage.Audit, photos, gone []photo.Photo) {
	inside := f.places(60)
	for _, at := range f.places(400) {
		if len(inside) < 160 && slices.ContainsFunc(gone, func(p photo.Photo) bool { return f.sees(p, at, 0) }) {
			inside = append(inside, at)
		}
	}
	shapes := make([]orb.MultiPolygon, len(a.Views))
	for i, band := range a.Views {
		shapes[i] = f.frame.ToMetres(plane.Unwrap(band.Shape), 0)
	}
	for _, at := range inside {
		least, most := f.views(photos, at)
		xy := f.frame.Metres(at)
		k := slices.IndexFunc(shapes, func(s orb.MultiPolygon) bool { return plane.Contains(s, xy) })
		if k < 0 || most < a.Views[k].From || a.Views[k].To >= 0 && least > a.Views[k].To {
			f.Errorf("%s: %v has %d to %d views, which band %d does not say", what, at, least, most, k)
		}
	}
	f.edgeAgrees(what, a, photos)
	if a.Totals.Gap > 0 {
		f.gapAgrees(what, a, photos)
	}
}

// edgeAgrees walks the edge in some two hundred steps.
func (f *flown) edgeAgrees(what string, a *coverage.Audit, photos []photo.Photo) {
	var low, high, widest float64 // short of views for certain, and perhaps
	transitions, step := 0, a.Edge.Length/200
	for _, e := range a.Edge.Rings {
		ring := f.ground.site[e.Part-1][e.Ring-1]
		chainage := 0.0
		for k := 1; k < len(ring); k++ {
			side := plane.GeodesicDistance(ring[k-1], ring[k])
			steps := math.Ceil(side / step)
			widest = max(widest, side/steps)
			for s := 0.5; s < steps; s++ {
				at := betweenDegrees(ring[k-1], ring[k], s/steps)
				least, most := f.views(photos, at)
				if most < f.input.Views {
					low += side / steps
				}
				if least < f.input.Views {
					high += side / steps
				}
				here := chainage + side*s/steps
				if !slices.ContainsFunc(e.Profile, func(p coverage.Step) bool {
					return p.From-exact <= here && here <= p.To+exact && least <= p.Views && p.Views <= most
				}) {
					f.Errorf("%s: the edge at %.2f m has %d to %d views, which the profile does not say", what, here, least, most)
				}
			}
			chainage += side
		}
		transitions += len(e.Profile)
	}
	short, slack := a.Edge.Length-a.Edge.Captured, widest*float64(transitions)
	if short < low-slack || short > high+slack {
		f.Errorf("%s: %.2f m of the edge are short, by count %.2f to %.2f m", what, short, low, high)
	}
}

func betweenDegrees(a, b orb.Point, share float64) orb.Point {
	lon := math.Remainder(b[0]-a[0], 360)
	return plane.WrapPoint(orb.Point{a[0] + share*lon, a[1] + share*(b[1]-a[1])})
}

// gapAgrees takes the footprints from the site with another library.
func (f *flown) gapAgrees(what string, a *coverage.Audit, photos []photo.Photo) {
	var rings []geom.Geometry
	for _, p := range photos {
		at := f.frame.Metres(p.Position)
		sin, cos := math.Sincos(p.Yaw * math.Pi / 180)
		scale := p.Height / f.camera.FocalLength / 2
		x, y := f.camera.SensorWidth*scale, f.camera.SensorHeight*scale
		var flat []float64
		for _, c := range [][2]float64{{-x, -y}, {x, -y}, {x, y}, {-x, y}, {-x, -y}} {
			flat = append(flat, at[0]+c[0]*cos+c[1]*sin, at[1]-c[0]*sin+c[1]*cos)
		}
		rings = append(rings, ringsToPolygon([][]float64{flat}).AsGeometry())
	}
	seen, err := geom.UnaryUnion(geom.NewGeometryCollection(rings).AsGeometry())
	if err != nil {
		f.Fatalf("%s: %v", what, err)
	}
	var parts []geom.Polygon
	for _, polygon := range f.site {
		var flat [][]float64
		for _, ring := range polygon {
			var one []float64
			for _, p := range ring {
				one = append(one, p[0], p[1])
			}
			flat = append(flat, one)
		}
		parts = append(parts, ringsToPolygon(flat))
	}
	gap, err := geom.Difference(geom.NewMultiPolygon(parts).AsGeometry(), seen)
	if err != nil {
		f.Fatalf("%s: %v", what, err)
	}
	if want, rim := gap.Area(), gap.Boundary().Length(); math.Abs(a.Totals.Gap-want) > exact*rim+0.01 {
		f.Errorf("%s: %.3f m² without a view, by simplefeatures %.3f m²", what, a.Totals.Gap, want)
	}
}

func ringsToPolygon(flat [][]float64) geom.Polygon {
	var rings []geom.LineString
	for _, xy := range flat {
		rings = append(rings, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
	}
	return geom.NewPolygon(rings)
}

// namesMissing holds that the neighbours of a photo that was taken away are named.
func (f *flown) namesMissing(a *coverage.Audit, photos []photo.Photo, lost int) {
	if a == nil || lost == 0 || lost == len(photos)-1 {
		return
	}
	before, after := photos[lost-1].File, photos[lost+1].File
	named := slices.ContainsFunc(a.Missed, func(m coverage.Missed) bool {
		return m.Kind == string(sequence.File) && m.Count == 1 && m.After == before && m.Before == after
	})
	if !named || len(a.Missed) > 1 && f.told() {
		f.Errorf("job %d without the photo between %s and %s: missing are %+v", f.number, before, after, a.Missed)
	}
}

// setAside moves all photos by as much. A place then has the views of the one
// that lies as far back, so that none falls short of which that one is in the
// site: what does lies on the side away from where they went.
func (f *flown) setAside(photos []photo.Photo, plan coverage.Plan) {
	far := math.Hypot(plan.FootprintAlong, plan.FootprintAcross)
	sin, cos := math.Sincos(f.between(0, 2*math.Pi))
	shift := orb.Point{f.between(0.1, 1.2) * far * cos, 0}
	shift[1] = shift[0] / cos * sin
	moved := slices.Clone(photos)
	for i := range moved {
		at := f.frame.Metres(moved[i].Position)
		moved[i].Position = plane.WrapPoint(f.frame.Degrees(orb.Point{at[0] + shift[0], at[1] + shift[1]}))
	}
	if !f.anySees(moved) {
		return
	}
	what := fmt.Sprintf("job %d with its photos %.1f m east, %.1f m north", f.number, shift[0], shift[1])
	a := f.audit(moved)
	f.countsAgree(what, a, moved, nil)
	for _, s := range a.Edge.Stretches {
		for _, p := range s.Path {
			at := f.frame.Metres(p)
			back := orb.Point{at[0] - shift[0], at[1] - shift[1]}
			if plane.Contains(f.site, back) && plane.BoundaryDistance(f.site, back) > exact {
				f.Errorf("%s: the edge falls short at %v, which is not on the side away from them", what, p)
			}
		}
	}
}

// By hand: 200 m by 100 m and 30 m more all around, flown to north and south in
// lines 25 m apart, photos 15 m apart that see 101 m across and 75.75 m along, so
// that each line gives a place 5 or 6 views, and 8 take two lines. They come to
// lie 5 m within the flight area, 25 m west of the site, on its edge, and so on.
// 80 m further east the first two see nothing west of 4.5 and 29.5 m.
func TestFlightSetAside(t *testing.T) {
	frame := plane.NewFrame(orb.Point{10, 0})
	area := func(x0, y0, x1, y1 float64) orb.MultiPolygon {
		return frame.ToDegrees(orb.MultiPolygon{{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}})
	}
	site, flight := area(0, 0, 200, 100), area(-30, -30, 230, 130)
	setup := coverage.Setup{
		Camera: photo.Camera{SensorWidth: 20, SensorHeight: 15, FocalLength: 10, Columns: 4000, Rows: 3000},
		Height: 50, Forward: 0.80, Side: 0.75,
	}
	plan, err := coverage.PlanFlight(flight, coverage.PlanInput{Setup: setup})
	if err != nil {
		t.Fatal(err)
	}
	photos, _ := flightFor(flight, plan, false)
	for i := range photos {
		at := frame.Metres(photos[i].Position)
		photos[i].Position = frame.Degrees(orb.Point{at[0] + 80, at[1]})
	}
	a, err := coverage.Run(coverage.Job{
		Site: site, Flight: flight, Photos: photos, Camera: setup.Camera,
		Height: math.NaN(), Ground: math.NaN(), ReflyBuffer: math.NaN(), Wanted: coverage.Wanted{Views: 8},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what            string
		got, want, near float64
	}{
		{"ground without a view, m²", a.Totals.Gap, 4.5 * 100, 3},
		{"ground with one, m²", a.Totals.NoStereo, 0, 0},
		{"ground with less than eight, m²", a.Totals.Thin, 25 * 100, 5},
		{"edge that falls short, m", a.Edge.Length - a.Edge.Captured, 100 + 2*29.5, 0.1},
	} {
		if !(math.Abs(c.got-c.want) <= c.near) {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
}
