package coverage

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/photo"
	"selvage/coverage/views"
)

// flown puts photos one after the other.
func flown(parts ...[]photo.Photo) []photo.Photo {
	all := slices.Concat(parts...)
	for i := range all {
		all[i].File, all[i].Time = exposure(i, 0, 0).File, exposure(i, 0, 0).Time
	}
	return all
}

// Three lines 80 m apart see 100 m each across: two of them at once on 20 m
// between each two.
func TestOneLineOnly(t *testing.T) {
	site := rectangle(0, 0, 160, 200)
	for _, c := range []struct {
		name   string
		photos []photo.Photo
		views  int
		want   float64
		pieces int
	}{
		{"three lines", serpentine(0, -20, 80, 20, 3, 13), 2, (160 - 2*20) * 200, 3},
		{"too few views anyhow", serpentine(0, -20, 80, 20, 3, 13), 8, 0, 0},
		{"two lines in one place and one beside", flown(serpentine(0, -20, 0.5, 20, 2, 13), serpentine(80, -20, 1, 20, 1, 13)), 3, (130 - 20) * 200, 2},
		{"one view wanted", serpentine(0, -20, 80, 20, 3, 13), 1, 0, 0},
		{"dense lines", serpentine(-40, -20, 40, 20, 7, 13), 2, 0, 0},
	} {
		// Of the lines in one place, the second covers half a metre more.
		slack := 0.5 * 200.0
		if c.name == "three lines" || c.want == 0 {
			slack = 0.1
		}
		a := run(t, jobOf(site, c.photos, c.views))
		near(t, c.name, a.OneLine.Area, c.want, slack)
		if len(a.OneLine.Pieces) != c.pieces {
			t.Errorf("%s: %d pieces", c.name, len(a.OneLine.Pieces))
		}
		f := found(a, finding.OneLineOnly)
		if (f != nil) != (c.want > 0) {
			t.Errorf("%s: %v", c.name, f)
		}
	}
	job := jobOf(site, serpentine(0, -20, 80, 20, 3, 13), 2)
	if f := found(run(t, job), finding.OneLineOnly); f.Severity != finding.Note {
		t.Errorf("without a side overlap wanted: %v", f)
	}
	job.Wanted.Side = 0.6
	if f := found(run(t, job), finding.OneLineOnly); f.Severity != finding.NeedsAnswer || f.Text.String() !=
		"2.40 ha of the site area (75 %), in 3 pieces, are seen by enough photos, but all of one flight line, so heights are weak there." {
		t.Errorf("with one: %v", f)
	}
}

// The ground of one line against passes counted place by place.
func TestOneLineAgainstCounting(t *testing.T) {
	random := rand.New(rand.NewPCG(67, 68))
	const wanted = 3
	for range 20 {
		footprints := ringsOfFootprints(randomFlight(random, 60), ground)
		site := orb.MultiPolygon{star(random)}
		passes := make([][]int, 3+random.IntN(12))
		for i := range footprints {
			n := random.IntN(len(passes))
			passes[n] = append(passes[n], i)
		}
		var seen []views.Footprint
		for i := range footprints {
			seen = append(seen, footprints[i:i+1])
		}
		grid := plane.MetreGrid(site.Bound())
		enough := plane.Difference(grid, site, views.Below(site, seen, []int{wanted})[0])
		got := oneLine(site, enough, footprints, passes)
		if err := plane.Valid(got); err != nil {
			t.Error(err)
		}
		for range 400 {
			p := orb.Point{random.Float64() * 300, random.Float64() * 300}
			photos, lines, onRim := 0, 0, plane.BoundaryDistance(site, p) < 0.001
			for _, pass := range passes {
				before := photos
				for _, i := range pass {
					area := orb.MultiPolygon{{footprints[i]}}
					photos += one(plane.Contains(area, p))
					onRim = onRim || plane.BoundaryDistance(area, p) < 0.001
				}
				lines += one(photos > before)
			}
			want := plane.Contains(site, p) && photos >= wanted && lines == 1
			if !onRim && plane.Contains(got, p) != want {
				t.Fatalf("%v has %d views from %d lines; found %v", p, photos, lines, !want)
			}
		}
	}
}

func TestPasses(t *testing.T) {
	var at []orb.Point
	var footprints []orb.Ring
	line := func(x, y, dx, dy float64, n int) (l Line) {
		for i := range n {
			p := orb.Point{x + dx*float64(i), y + dy*float64(i)}
			l.Shots = append(l.Shots, len(at))
			at = append(at, p)
			footprints = append(footprints, rectangle(p[0]-50, p[1]-40, p[0]+50, p[1]+40)[0][0])
		}
		return l
	}
	lines := []Line{
		line(0, 0, 0, 20, 5),     // 5 photos north
		line(2, 300, 0, -20, 4),  // the same track further on, the other way
		line(40, 0, 0, 20, 5),    // beside it
		line(-40, 40, 20, 0, 5),  // across
		line(1, 120, 1.5, 20, 3), // in between, slightly turned
	}
	single := line(500, 500, 0, 0, 1)
	got := passes(lines, at, footprints)
	sizes := map[int]int{}
	for _, pass := range got {
		sizes[len(pass)]++
	}
	if len(got) != 4 || sizes[12] != 1 || sizes[5] != 2 || sizes[1] != 1 || got[3][0] != single.Shots[0] {
		t.Errorf("passes %v", got)
	}
}
