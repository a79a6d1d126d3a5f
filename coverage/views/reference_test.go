package views

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"
	"github.com/paulmach/orb/planar"
)

// missing skips a cross-check whose tool is not there, unless
// SELVAGE_REFERENCE_TOOLS says that the reference tools are required.
func missing(t testing.TB, what string, err error) {
	t.Helper()
	message := fmt.Sprintf("no cross-check against %s: %v", what, err)
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		t.Fatal(message)
	}
	t.Skip(message)
}

// geosProgram builds the helper from testdata/geos.c.
func geosProgram(t testing.TB) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "geos")
	if out, err := exec.Command("cc", "-O2", "-o", program, filepath.Join("testdata", "geos.c"), "-lgeos_c").CombinedOutput(); err != nil {
		missing(t, "GEOS", fmt.Errorf("%w\n%s", err, out))
	}
	return program
}

// byGEOS asks the helper for the areas, and the seconds that it took.
func byGEOS(t testing.TB, program, op string, limit int, site orb.MultiPolygon, footprints []Footprint) (seconds float64, areas []float64) {
	t.Helper()
	var in strings.Builder
	fmt.Fprintf(&in, "%s %d\n%s\n", op, limit, wkt.MarshalString(site))
	for _, f := range footprints {
		fmt.Fprintln(&in, wkt.MarshalString(orb.Polygon(f)))
	}
	cmd := exec.Command(program)
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("GEOS %s: %v", op, err)
	}
	for i, field := range strings.Fields(string(out)) {
		var v float64
		if _, err := fmt.Sscan(field, &v); err != nil {
			t.Fatalf("GEOS %s: %q", op, out)
		}
		if i == 0 {
			seconds = v
		} else {
			areas = append(areas, v)
		}
	}
	return seconds, areas
}

func TestBelowAgainstGEOS(t *testing.T) {
	program := geosProgram(t)
	r := rand.New(rand.NewPCG(45, 46))
	for i := range 12 {
		rings, _ := flight(r, 60+r.IntN(100), 0.4)
		site := orb.MultiPolygon{{star(r, orb.Point{150, 100}, 200)}}
		_, want := byGEOS(t, program, "below", 4, site, each(rings))
		_, gaps := byGEOS(t, program, "gaps", 0, site, each(rings))
		got := Below(site, each(rings), []int{1, 2, 4})
		length := 0.0
		for k := range got {
			length += planar.Length(got[k])
		}
		for k := range got {
			// Every rim is moved by a cell of 0.1 mm at most.
			if have := area(got[k]); math.Abs(have-want[k]) > 1e-4*length {
				t.Errorf("case %d, class %d: %v m², by GEOS %v ± %v", i, k, have, want[k], 1e-4*length)
			}
		}
		if have := area(got[0]); math.Abs(have-gaps[0]) > 1e-4*length {
			t.Errorf("case %d: gaps of %v m², by GEOS's union %v", i, have, gaps[0])
		}
	}
}

// BenchmarkBelowAgainstGEOS holds all three classes against GEOS's union and
// difference, which finds the gaps alone, and against its noding and
// polygonizing, which finds the classes; for the larger flight that would take
// many minutes.
func BenchmarkBelowAgainstGEOS(b *testing.B) {
	program := geosProgram(b)
	for _, n := range []int{10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			rings, site := flight(rand.New(rand.NewPCG(43, 44)), n, 0.1)
			footprints := each(rings)
			for b.Loop() {
				Below(site, footprints, []int{1, 2, 5})
			}
			own := b.Elapsed().Seconds() / float64(b.N)
			seconds, _ := byGEOS(b, program, "gaps", 0, site, footprints)
			b.ReportMetric(seconds/own, "×GEOS-union")
			if n == 10_000 {
				seconds, _ = byGEOS(b, program, "below", 5, site, footprints)
				b.ReportMetric(seconds/own, "×GEOS-faces")
			}
		})
	}
}

// BenchmarkBelowAgainstGDAL holds it against adding footprints up in a raster of
// half a metre, which GDAL does in memory; its start and the reading of the
// footprints are taken off by a run at 50 m.
func BenchmarkBelowAgainstGDAL(b *testing.B) {
	tool, err := exec.LookPath("gdal_rasterize")
	if err != nil {
		missing(b, "GDAL", err)
	}
	rings, site := flight(rand.New(rand.NewPCG(43, 44)), 100_000, 0.1)
	footprints := each(rings)
	for b.Loop() {
		Below(site, footprints, []int{1, 2, 5})
	}
	own := b.Elapsed().Seconds() / float64(b.N)
	var file bytes.Buffer
	for i, ring := range rings {
		fmt.Fprintf(&file, "%d;%q\n", i, wkt.MarshalString(orb.Polygon{ring}))
	}
	path := filepath.Join(b.TempDir(), "footprints.csv")
	if err := os.WriteFile(path, append([]byte("id;WKT\n"), file.Bytes()...), 0o666); err != nil {
		b.Fatal(err)
	}
	bound := site.Bound()
	run := func(cell string) float64 {
		start := time.Now()
		out, err := exec.Command(tool, "-q", "-add", "-burn", "1", "-ot", "UInt16", "-init", "0", "-tr", cell, cell,
			"-te", fmt.Sprint(bound.Min[0]), fmt.Sprint(bound.Min[1]), fmt.Sprint(bound.Max[0]), fmt.Sprint(bound.Max[1]),
			path, "/vsimem/views.tif").CombinedOutput()
		if err != nil {
			b.Fatalf("%v: %s", err, out)
		}
		return time.Since(start).Seconds()
	}
	b.ReportMetric((run("0.5")-run("50"))/own, "×GDAL")
}
