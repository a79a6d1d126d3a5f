package report

import (
	"math"
	"strings"
	"testing"

	"selvage/coverage"
)

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
