package plane

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"
	"github.com/paulmach/orb/planar"
)

// geos is a running helper program that answers with the GEOS library.
type geos struct {
	in  io.Writer
	out *bufio.Reader
}

// startGEOS builds the helper from testdata/geos.c. Where no C compiler or no
// GEOS is installed the test is skipped, unless SELVAGE_REFERENCE_TOOLS says
// that the reference tools are required.
func startGEOS(t testing.TB) *geos {
	t.Helper()
	program := filepath.Join(t.TempDir(), "geos")
	if out, err := exec.Command("cc", "-O2", "-o", program, filepath.Join("testdata", "geos.c"), "-lgeos_c").CombinedOutput(); err != nil {
		message := fmt.Sprintf("no cross-check against GEOS: %v\n%s", err, out)
		if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
			t.Fatal(message)
		}
		t.Skip(message)
	}
	cmd := exec.Command(program)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { in.Close(); cmd.Wait() })
	return &geos{in, bufio.NewReader(out)}
}

// ask returns validity and area of op's result on a, and on b where it takes two.
func (g *geos) ask(t testing.TB, op string, d float64, a, b orb.MultiPolygon) (valid bool, area float64) {
	t.Helper()
	valid, area, _ = g.time(t, op, d, a, b)
	return valid, area
}

// time is ask, and tells how many seconds the operation itself took.
func (g *geos) time(t testing.TB, op string, d float64, a, b orb.MultiPolygon) (valid bool, area, seconds float64) {
	t.Helper()
	fmt.Fprintf(g.in, "%s\t%g\t%s\t%s\n", op, d, geosText(a), geosText(b))
	line, err := g.out.ReadString('\n')
	if err != nil {
		t.Fatalf("GEOS %s: %v", op, err)
	}
	var ok int
	if _, err := fmt.Sscan(line, &ok, &area, &seconds); err != nil {
		t.Fatalf("GEOS %s: %q", op, line)
	}
	return ok == 1, area, seconds
}

func geosText(mp orb.MultiPolygon) string {
	if len(mp) == 0 {
		return "MULTIPOLYGON EMPTY"
	}
	return strings.TrimSpace(wkt.MarshalString(mp))
}

func TestRepairAgainstGEOS(t *testing.T) {
	g := startGEOS(t)
	r := rand.New(rand.NewPCG(11, 12))
	differ := 0
	const n = 4000
	for i := range n {
		p := hostilePolygon(r)
		got := Repair(MetreGrid(orb.MultiPolygon{p}.Bound()), p)
		valid, area := g.ask(t, "self", 0, got, nil)
		if !valid {
			t.Fatalf("case %d: not valid for GEOS\nin  %v\nout %v", i, p, got)
		}
		if have := planar.Area(got); math.Abs(have-area) > 1e-9 {
			t.Fatalf("case %d: we measure %v, GEOS %v", i, have, area)
		}
		// The structure method reads most inputs as we do: nonzero winding in
		// each ring, holes cut out. It differs on purpose where holes lie
		// outside their shell, and is no oracle there.
		if len(p) == 1 {
			if _, want := g.ask(t, "structure", 0, orb.MultiPolygon{p}, nil); math.Abs(planar.Area(got)-want) > 1e-4*planar.Length(p) {
				differ++
			}
		}
	}
	if differ > 0 {
		t.Errorf("%d of %d outlines without holes have another area than by GEOS's structure method", differ, n)
	}
}

func TestOverlayAgainstGEOS(t *testing.T) {
	g := startGEOS(t)
	r := rand.New(rand.NewPCG(13, 14))
	for i := range 2000 {
		p, q := hostilePolygon(r), hostilePolygon(r)
		grid := MetreGrid(orb.MultiPolygon{p, q}.Bound())
		a, b := Repair(grid, p), Repair(grid, q)
		for op, ours := range map[string]orb.MultiPolygon{
			"union": Union(grid, a, b), "intersection": Intersection(grid, a, b), "difference": Difference(grid, a, b),
		} {
			if valid, _ := g.ask(t, "self", 0, ours, nil); !valid {
				t.Fatalf("case %d: %s is not valid for GEOS: %v", i, op, ours)
			}
			// Each edge moves by less than a cell along its length.
			_, want := g.ask(t, op, 0, a, b)
			if bound := 1e-4 * (planar.Length(a) + planar.Length(b)); math.Abs(planar.Area(ours)-want) > bound {
				t.Fatalf("case %d: %s has %v m², by GEOS %v ± %v\na %v\nb %v", i, op, planar.Area(ours), want, bound, a, b)
			}
		}
	}
}

func TestOffsetAgainstGEOS(t *testing.T) {
	g := startGEOS(t)
	r := rand.New(rand.NewPCG(15, 16))
	for i := range 1000 {
		p := hostilePolygon(r)
		a := Repair(MetreGrid(orb.MultiPolygon{p}.Bound()), p)
		if len(a) == 0 {
			continue
		}
		d := []float64{0.3, 1, 5, -0.2, -0.7}[r.IntN(5)]
		op, style := "buffer", Style{ArcTolerance: 1e-4}
		if d > 0 && r.IntN(2) == 0 {
			op, style = "mitre", Style{Join: Mitre, MitreLimit: 5}
		}
		got := Offset(a, d, style)
		if valid, _ := g.ask(t, "self", 0, got, nil); !valid {
			t.Fatalf("case %d by %v: not valid for GEOS: %v", i, d, got)
		}
		// GEOS's arcs of 200 segments a quadrant lie inside the true arc, ours
		// outside by the tolerance, both along no more than the result's rim.
		bound := planar.Length(got)*(1e-4+math.Abs(d)*(1-math.Cos(math.Pi/800))) + 1e-4*planar.Length(a)
		if _, want := g.ask(t, op, d, a, nil); math.Abs(planar.Area(got)-want) > bound {
			t.Errorf("case %d, %s by %v: %v m², by GEOS %v ± %v: %v", i, op, d, planar.Area(got), want, bound, a)
		}
	}
}
