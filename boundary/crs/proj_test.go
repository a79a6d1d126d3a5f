package crs

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// tool finds cs2cs or another program of PROJ (package proj-bin in Debian), an independent
// implementation. Without it the test is skipped, unless
// SELVAGE_REFERENCE_TOOLS=required says that it has to be there.
func tool(t *testing.T, name string) func(points []orb.Point, args ...string) []orb.Point {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
			t.Fatalf("%s is required and missing", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return func(points []orb.Point, args ...string) []orb.Point {
		t.Helper()
		var in bytes.Buffer
		for _, p := range points {
			fmt.Fprintf(&in, "%.17g %.17g\n", p[0], p[1])
		}
		run := exec.Command(path, append([]string{"-f", "%.13f"}, args...)...)
		run.Stdin = &in
		out, err := run.Output()
		if err != nil {
			t.Fatalf("%s %v: %v", name, args, err)
		}
		var got []orb.Point
		for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
			var p orb.Point
			if _, err := fmt.Sscan(lines.Text(), &p[0], &p[1]); err != nil {
				t.Fatalf("%s %v: %q", name, args, lines.Text())
			}
			got = append(got, p)
		}
		if len(got) != len(points) {
			t.Fatalf("%s %v: %d points of %d", name, args, len(got), len(points))
		}
		return got
	}
}

// ground is roughly how many metres lie between two positions.
func ground(a, b orb.Point) float64 {
	return 111_320 * math.Hypot(a[1]-b[1], math.Remainder(a[0]-b[0], 360)*math.Cos(a[1]*math.Pi/180))
}

func TestUTMAgainstCS2CS(t *testing.T) {
	cs2cs := tool(t, "cs2cs")
	rng := rand.New(rand.NewPCG(1, 2))
	worst := 0.0
	for _, zone := range []int{1, 18, 32, 33, 60} {
		for _, south := range []bool{false, true} {
			var points []orb.Point
			for range 50 { // 500 in all
				north := rng.Float64() * 9_300_000
				if south {
					north = 10_000_000 - rng.Float64()*8_800_000
				}
				points = append(points, orb.Point{100_000 + rng.Float64()*800_000, north})
			}
			code, half := 32600, []string{"+north"}
			if south {
				code, half = 32700, []string{"+south"}
			}
			args := append([]string{"+proj=utm", fmt.Sprintf("+zone=%d", zone), "+datum=WGS84"}, half...)
			want := cs2cs(points, append(args, "+to", "+proj=longlat", "+datum=WGS84")...)
			s, err := Parse(fmt.Sprintf("EPSG:%d", code+zone))
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range points {
				got, err := s.ToWGS84(p)
				if err != nil {
					t.Fatalf("%s: %v", s.Name(), err)
				}
				worst = max(worst, ground(got, want[i]))
			}
		}
	}
	t.Logf("at most %.2g m apart", worst)
	if worst > 1e-4 {
		t.Errorf("%.6f m apart", worst)
	}
}

// The rows of the table, every 25th of them or every 10th when the reference tools
// are required, against the same systems in PROJ.
func TestTableAgainstCS2CS(t *testing.T) {
	cs2cs := tool(t, "cs2cs")
	bases := map[string]int{"RGF93 v1": 4171}
	for code, name := range lonlat {
		bases[name] = code
	}
	rows, _ := listed()
	var codes []int
	for code := range rows {
		codes = append(codes, code)
	}
	slices.Sort(codes)
	picked := []int{2277, 3111, 2193, 31370, 2154, 31467, 27700, 26918, 25832, 2222}
	every := 25
	if os.Getenv("SELVAGE_REFERENCE_TOOLS") == "required" {
		every = 10
	}
	for i, code := range codes {
		if i%every == 0 {
			picked = append(picked, code)
		}
	}
	rng := rand.New(rand.NewPCG(3, 4))
	worst := 0.0
	for _, code := range picked {
		s, err := fromCode(code)
		if err != nil {
			t.Fatal(err)
		}
		s.datum.shift = nil // only the projection is compared here
		lat, spread := 0.0, 80.0
		field := strings.Split(rows[code], ",")
		if field[3] != "TM" {
			if _, err := fmt.Sscan(field[7], &lat); err != nil {
				t.Fatal(err)
			}
			if field[3] == "LCC1" {
				if _, err := fmt.Sscan(field[5], &lat); err != nil {
					t.Fatal(err)
				}
			}
			spread = 8
		}
		var points []orb.Point
		for range 8 {
			points = append(points, orb.Point{wrap(s.lon0 + 8*rng.Float64() - 4), lat + spread*(2*rng.Float64()-1)})
		}
		want := cs2cs(points, fmt.Sprintf("+init=epsg:%d", bases[field[2]]), "+to", fmt.Sprintf("+init=epsg:%d", code))
		for i, p := range points {
			got, err := s.ToWGS84(want[i])
			if err != nil {
				t.Fatalf("%d %s: %v", code, s.Name(), err)
			}
			if d := ground(got, p); d > 1e-4 {
				t.Errorf("%d %s: %v comes out as %v, %.4f m off", code, s.Name(), p, got, d)
			} else {
				worst = max(worst, d)
			}
		}
	}
	t.Logf("%d systems at most %.2g m apart", len(picked), worst)
}

// The shifts against PROJ, with the parameters of the EPSG dataset by code.
func TestShiftsAgainstCS2CS(t *testing.T) {
	cs2cs := tool(t, "cs2cs")
	for _, tt := range []struct {
		code, ellipsoid, towgs84 string
		near                     orb.Point
	}{
		{"EPSG:4277", "+ellps=airy", "446.448,-125.157,542.06,0.15,0.247,0.842,-20.489", orb.Point{-2, 53}},                // 1314
		{"EPSG:4299", "+a=6377340.189 +rf=299.3249646", "482.5,-130.6,564.6,-1.042,-0.214,-0.631,8.15", orb.Point{-8, 53}}, // 1641
		{"EPSG:4300", "+a=6377340.189 +rf=299.3249646", "482.5,-130.6,564.6,-1.042,-0.214,-0.631,8.15", orb.Point{-8, 53}}, // 1954
		{"EPSG:4314", "+ellps=bessel", "598.1,73.7,418.2,0.202,0.045,-2.455,6.7", orb.Point{9, 50}},                        // 1777
		{"EPSG:4312", "+ellps=bessel", "577.326,90.129,463.919,5.137,1.474,5.297,2.4232", orb.Point{13, 47.5}},             // 1618
		{"EPSG:4313", "+ellps=intl", "-106.8686,52.2978,-103.7239,0.3366,-0.457,1.8422,-1.2747", orb.Point{4.5, 50.5}},     // 15929, rotations turned to the position vector's sense
	} {
		s, err := Parse(tt.code)
		if err != nil {
			t.Fatal(err)
		}
		var points []orb.Point
		for i := range 9 {
			points = append(points, orb.Point{tt.near[0] + float64(i%3)/4, tt.near[1] + float64(i/3)/4})
		}
		args := append([]string{"+proj=longlat"}, strings.Fields(tt.ellipsoid)...)
		want := cs2cs(points, append(args, "+towgs84="+tt.towgs84, "+to", "+proj=longlat", "+datum=WGS84")...)
		for i, p := range points {
			got, err := s.ToWGS84(p)
			if err != nil {
				t.Fatalf("%s: %v", tt.code, err)
			}
			if d := ground(got, want[i]); d > 1e-4 {
				t.Errorf("%s: %v to %v, want %v, %.5f m off", tt.code, p, got, want[i], d)
			}
			if ground(got, p) < 50 {
				t.Errorf("%s: %v is not shifted", tt.code, p)
			}
			back, err := s.FromWGS84(got)
			// The library turns a shift around by its signs alone, which is
			// good to a few millimetres.
			if err != nil || ground(back, p) > 0.02 {
				t.Errorf("%s: %v comes back as %v (%v)", tt.code, p, back, err)
			}
		}
	}
}
