package report

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/coverage"
)

// knowFake adds to the fake note what is certain and what is known by place.
func knowFake(a *coverage.Audit) {
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
	a.OneLine = coverage.Ground{Area: 2_000.5, Pieces: []coverage.Piece{{Area: 2000, Label: local(300, 200), Shape: orb.Polygon{box(290, 150, 20, 100)}}}}
	a.GSDByPlace = coverage.GSDByPlace{
		Cell: 2.5, Best: coverage.Spread{N: 9_000, Median: 0.0186, Min: 0.0181, Max: 0.0205, Below: 0.04, Bins: []coverage.Bin{{From: 0.018, To: 0.019, N: 8_000}, {From: 0.019, To: 0.02, N: 640}, {From: 0.02, To: 0.021, N: 360, Missed: 360}}}, Usual: coverage.Spread{N: 9_000, Median: 0.0188, Min: 0.0183, Max: 0.021, Bins: []coverage.Bin{{From: 0.018, To: 0.022, N: 9_000}}},
		Tenths: []float64{0.0181, 0.0182, 0.0183, 0.0184, 0.0185, 0.0186, 0.0187, 0.0188, 0.0189, 0.019, 0.0205},
		Coarse: coverage.Ground{Area: 5_600, Pieces: []coverage.Piece{{Area: 5_600, Label: local(60, 30), Shape: orb.Polygon{box(20, 10, 80, 70)}}}},
	}
	a.Raster = coverage.Raster{Cell: 2, Columns: 10, Rows: 10, Views: make([]uint16, 100)}
	for i := range a.Raster.Views {
		a.Raster.Views[i] = uint16(i % 17)
	}
	a.Raster.Views[99] = coverage.OffSite
}

func TestCertainSection(t *testing.T) {
	n := fakeNote()
	page := shown(t, n)
	for _, want := range []string{
		"By the errors of position, attitude and height, the rim of a photo may lie 5.6 m and at most 9.1 m off.",
		`<td>Gap: no view</td><td class="figure">310 m²</td><td class="figure">1,240 m²</td><td class="figure">3,050 m²</td>`,
		`<td>Fewer than 5 views</td><td class="figure">3,100 m²</td><td class="figure">6,900 m²</td><td class="figure">1.40 ha</td>`,
		`<td>Edge with fewer than 5 views</td><td class="figure">4.2 m</td><td class="figure">31.0 m</td><td class="figure">88.0 m</td>`,
		`<td>Attitude</td><td class="figure">1.0°</td><td class="figure">3.0°</td>`,
		`<td class="figure">840 m²</td><td class="figure">37.0 %</td>`,
		"On 2,000 m² (1.8 %) enough photos see the ground, but all of them from one flight line.",
		"one flight line only: 2,000 m²", `class="one-line-zone" fill="url(#ruled)"`,
		"By the finest photo of each place: median 1.86 cm/px, on nine tenths of the ground 1.90 cm/px or finer, at the coarsest place 2.05 cm/px.",
		"On 5,600 m² (4.9 %) photos see the ground, but none as finely as the wanted 2.00 cm/px.",
		"Share of the site area by number of views, counted at the middles of cells of 2.0 m. 5 views were wanted.",
		"none fine enough on 4.9 % of the ground",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q", want)
		}
	}
	text := render(t, n, plainText)
	for _, want := range []string{"Certainly a gap: 310 m²; perhaps: 3,050 m².", "Seen from one flight line only"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in the text", want)
		}
	}
}

// Where all is exact, or nothing was found, nothing is said.
func TestNothingUncertain(t *testing.T) {
	n := fakeNote()
	a := n.Audit
	a.Certainty.Radius = coverage.Spread{N: 78}
	a.OneLine, a.GSDByPlace.Coarse, a.Raster = coverage.Ground{}, coverage.Ground{}, coverage.Raster{}
	page := render(t, n, WriteHTML)
	for _, bad := range []string{`id="certain"`, `id="one-line"`, `id="coarse"`, `id="views"`, "one-line-zone\" fill"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page has %q", bad)
		}
	}
	if text := render(t, n, plainText); strings.Contains(text, "Certain and possible") {
		t.Error("the text speaks of certainty")
	}
	if c := n.checkGSD(); c.Met != Yes || !strings.Contains(c.Found, "fine enough") {
		t.Errorf("%+v", c)
	}
	a.GSDByPlace.Coarse.Area = 0.9 * a.SiteArea
	if c := n.checkGSD(); c.Met != No {
		t.Errorf("%+v", c)
	}
}

func TestBars(t *testing.T) {
	even := func(n int) []float64 {
		s := make([]float64, n)
		for i := range s {
			s[i] = 1 / float64(n)
		}
		return s
	}
	for _, c := range []struct{ n, wanted, want int }{{0, 5, 0}, {3, 5, 3}, {17, 5, 17}, {40, 5, 40}, {100, 5, 37}, {600, 5, 40}, {600, 0, 40}, {600, 100, 120}} {
		got := bars(even(c.n), c.wanted)
		sum, next := 0.0, 0
		for _, b := range got {
			if b.from != next || b.from < c.wanted && b.to != b.from {
				t.Errorf("%+v: bar %+v", c, b)
			}
			sum, next = sum+b.share, b.to+1
		}
		if len(got) != c.want || next != c.n || c.n > 0 && math.Abs(sum-1) > 1e-9 {
			t.Errorf("%+v: %d bars up to %d, %v in all", c, len(got), next, sum)
		}
	}
}
