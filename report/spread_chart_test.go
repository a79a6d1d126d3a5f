package report

import (
	"encoding/xml"
	"math"
	"strconv"
	"strings"
	"testing"

	"selvage/coverage"
)

// barsOf are the left and right side and the height of the bars of a class, by
// the paths of a chart.
func barsOf(t *testing.T, chart, class string) [][3]float64 {
	t.Helper()
	var out [][3]float64
	for _, e := range elements(t, chart) {
		if e.Name.Local != "path" || attribute(e, "class") != "share "+class {
			continue
		}
		f := strings.FieldsFunc(attribute(e, "d"), func(r rune) bool { return strings.ContainsRune("M v-HZz", r) })
		left, _ := strconv.ParseFloat(f[0], 64)
		high, _ := strconv.ParseFloat(f[2], 64)
		right, _ := strconv.ParseFloat(f[3], 64)
		out = append(out, [3]float64{left, right, high})
	}
	return out
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func TestSpreadCharts(t *testing.T) {
	n := fakeNote()
	charts := drawSpreads(n)
	if len(charts) != 3 {
		t.Fatalf("%d charts", len(charts))
	}
	forward := string(charts[0].SVG)
	all, short := barsOf(t, forward, "e3"), barsOf(t, forward, "v0")
	// Bins of 4, none, 8 and 60 pairs, of which 2 of the first fall short.
	if len(all) != 3 || len(short) != 1 {
		t.Fatalf("bars %v, of them short %v", all, short)
	}
	for i, pairs := range []float64{4, 8, 60} {
		if want := spreadHeight * pairs / 60; math.Abs(all[i][2]-want) > 0.06 {
			t.Errorf("bar %d is %v high, want %v", i+1, all[i][2], want)
		}
	}
	if math.Abs(short[0][2]-spreadHeight*2/60) > 0.06 || short[0][0] != all[0][0] {
		t.Errorf("the part that falls short is %v of %v", short[0], all[0])
	}
	// The wanted 75 % is the end of the first bin.
	wanted := ""
	for _, e := range elements(t, forward) {
		if attribute(e, "class") == "wanted" {
			wanted = attribute(e, "d")
		}
	}
	at, _ := strconv.ParseFloat(strings.TrimPrefix(strings.Fields(wanted)[0], "M"), 64)
	if math.Abs(at-(all[0][1]+0.5)) > 0.11 {
		t.Errorf("the wanted overlap is marked at %v, the bin below it ends at %v", at, all[0][1]+0.5)
	}
	for _, want := range []string{">83.3 % of the pairs<", ">76 %<", ">78 %<"} {
		if !strings.Contains(forward, want) {
			t.Errorf("no %q in %s", want, forward)
		}
	}
	if c := charts[0].Caption; !strings.Contains(c, "The dashed line marks the wanted 75 %. The darker part of a bar falls short.") {
		t.Error(c)
	}
	if c := charts[2]; !strings.Contains(c.Caption, "finest photo of each place") || !strings.Contains(string(c.SVG), "% of the places<") || !strings.Contains(string(c.SVG), " cm/px<") {
		t.Errorf("GSD by place: %v", c)
	}
	n.Units, n.Audit.GSDByPlace.Best = imperial, coverage.Spread{}
	if c := drawSpreads(n)[2]; !strings.Contains(string(c.SVG), " in/px<") || !strings.Contains(string(c.SVG), "% of the photos<") {
		t.Errorf("GSD by photo, imperial: %v", c)
	}
}

// Without values there is no chart, and without a wanted value no line.
func TestSpreadChartsOfLittle(t *testing.T) {
	n := fakeNote()
	n.Audit.Wanted = coverage.Wanted{}
	n.Audit.Overlap.Side = coverage.Spread{}
	n.Audit.GSDByPlace.Best.Bins = n.Audit.GSDByPlace.Best.Bins[:1]
	charts := drawSpreads(n)
	if len(charts) != 2 {
		t.Fatalf("%d charts", len(charts))
	}
	for _, c := range charts {
		if strings.Contains(string(c.SVG), `class="wanted"`) || strings.Contains(c.Caption, "wanted") {
			t.Errorf("nothing was wanted: %v", c)
		}
	}
	if charts := drawSpreads(Note{Audit: &coverage.Audit{}}); len(charts) != 0 {
		t.Errorf("nothing measured: %v", charts)
	}
}
