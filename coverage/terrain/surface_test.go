package terrain

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// surfaceOf has the heights of a function of metres at nodes around 0, 0.
func surfaceOf(cells int, spacing float64, height func(x, y float64) float64) *Surface {
	s := &Surface{
		frame: plane.NewFrame(orb.Point{10, 50}), spacing: spacing, columns: cells, rows: cells - 3,
		origin: orb.Point{-spacing * float64(cells) / 2, -spacing * float64(cells-3) / 2},
	}
	for j := range s.rows + 1 {
		for i := range s.columns + 1 {
			s.nodes = append(s.nodes, float32(height(s.origin[0]+float64(i)*spacing, s.origin[1]+float64(j)*spacing)))
		}
	}
	s.index()
	s.misfits = make([]float32, len(s.levels[0].most))
	return s
}

func (s *Surface) mustHeight(t *testing.T, x, y float64) float64 {
	t.Helper()
	h, ok := s.Height(orb.Point{x, y})
	if !ok {
		t.Fatalf("no height at %v, %v", x, y)
	}
	return h
}

// A bilinear patch is exact on a plane z = 5 + x/8 - y/16: a ray from p in
// the direction d meets it at t = (5 + px/8 - py/16 - pz) / (dz - dx/8 + dy/16).
func TestHitPlane(t *testing.T) {
	s := surfaceOf(400, 2, func(x, y float64) float64 { return 5 + x/8 - y/16 })
	rng := rand.New(rand.NewPCG(3, 4))
	struck := 0
	for range 20_000 {
		p := [3]float64{rng.Float64()*300 - 150, rng.Float64()*300 - 150, 150 * rng.Float64()}
		d := [3]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64() - 1}
		got := s.Hit(p, d)
		above := p[2] - (5 + p[0]/8 - p[1]/16)
		at := -above / (d[2] - d[0]/8 + d[1]/16)
		x, y := p[0]+at*d[0], p[1]+at*d[1]
		want := Struck
		switch {
		case above < 0:
			want = Buried
		case at < 0 || !s.Extent().Contains(orb.Point{x, y}):
			want = Beyond
		}
		if got.Outcome != want {
			t.Fatalf("from %v to %v: %v, want %v", p, d, got, want)
		}
		if want != Struck {
			continue
		}
		struck++
		if off := math.Hypot(got.At[0]-x, got.At[1]-y); off > 1e-6 {
			t.Fatalf("from %v to %v: %v, want %v, %v", p, d, got.At, x, y)
		}
		far := math.Hypot(x-p[0], y-p[1])
		if curve := far * far / (2 * 6_371_000); math.Abs(got.Error-curve) > 1e-12 {
			t.Fatalf("error %v, want %v", got.Error, curve)
		}
	}
	if struck < 5000 {
		t.Errorf("only %d rays struck", struck)
	}
}

// A ray meets the sphere of radius R in closed form. Between nodes a patch
// lies below a cap by up to (h²/8)(1/R)(1 + slope²)^1.5 for each axis.
func TestHitSphere(t *testing.T) {
	const radius, spacing = 400.0, 1.0
	s := surfaceOf(400, spacing, func(x, y float64) float64 { return math.Sqrt(radius*radius - x*x - y*y) })
	slope2 := 2.0 // at the corners: 283² / (400² - 283²) = 1
	sag := 2 * spacing * spacing / 8 / radius * math.Pow(1+slope2, 1.5)
	rng := rand.New(rand.NewPCG(5, 6))
	worst := 0.0
	for range 20_000 {
		p := [3]float64{rng.Float64()*360 - 180, rng.Float64()*360 - 180, 420 + 100*rng.Float64()}
		d := [3]float64{rng.NormFloat64() / 3, rng.NormFloat64() / 3, -1}
		a, b, c := 0.0, 0.0, -radius*radius
		for k := range 3 {
			a, b, c = a+d[k]*d[k], b+p[k]*d[k], c+p[k]*p[k]
		}
		at := (-b - math.Sqrt(b*b-a*c)) / a
		got := s.Hit(p, d)
		if got.Outcome != Struck {
			if math.Abs(p[0]+at*d[0]) < 199 && math.Abs(p[1]+at*d[1]) < 197 {
				t.Fatalf("from %v to %v: %v", p, d, got)
			}
			continue
		}
		x, y := got.At[0], got.At[1]
		off := got.At[2] - math.Sqrt(radius*radius-x*x-y*y)
		worst = max(worst, -off)
		if off > 1e-4 || -off > sag {
			t.Fatalf("from %v to %v: %v above the sphere", p, d, off)
		}
	}
	t.Logf("at most %.3g m below the sphere, %.3g m allowed", worst, sag)
}

// checkRay follows a ray in fine steps and compares what Hit says of it.
func checkRay(t *testing.T, s *Surface, from, direction [3]float64, step float64) Outcome {
	t.Helper()
	got := s.Hit(from, direction)
	length := math.Sqrt(direction[0]*direction[0] + direction[1]*direction[1] + direction[2]*direction[2])
	end := 900.0
	if got.Outcome != Beyond {
		end = math.Sqrt((got.At[0]-from[0])*(got.At[0]-from[0])+(got.At[1]-from[1])*(got.At[1]-from[1])+(got.At[2]-from[2])*(got.At[2]-from[2])) - 1e-5
	}
	extent := s.Extent()
	// A ray from outside that comes in below the ground, through its side, meets
	// nothing that is known.
	if along, ok := enters(extent, from, direction); ok {
		p := from
		for k := range p {
			p[k] += direction[k] * along
		}
		xy := orb.Point{min(max(p[0], extent.Min[0]), extent.Max[0]), min(max(p[1], extent.Min[1]), extent.Max[1])}
		if h, ok := s.Height(xy); ok && p[2] < h-1e-5 {
			if got.Outcome != Beyond {
				t.Fatalf("from %v to %v: %+v, but it comes in at %v, below the ground at %v", from, direction, got, p, h)
			}
			return got.Outcome
		}
	}
	been := false
	for along := 0.0; along < end; along += step {
		p := from
		for k := range p {
			p[k] += direction[k] / length * along
		}
		xy := orb.Point{p[0], p[1]}
		if !extent.Contains(xy) {
			if been {
				break
			}
			continue
		}
		been = true
		if h, ok := s.Height(xy); ok && p[2] < h-1e-5 {
			t.Fatalf("from %v to %v: %+v, but at %v the ground is at %v", from, direction, got, p, h)
		}
	}
	if got.Outcome == Struck {
		if h := s.mustHeight(t, got.At[0], got.At[1]); math.Abs(h-got.At[2]) > 1e-5 {
			t.Fatalf("from %v to %v: %+v, but the ground is at %v", from, direction, got, h)
		}
	}
	return got.Outcome
}

// enters is where a ray from outside comes into the extent, in parts of the
// direction.
func enters(extent orb.Bound, from, direction [3]float64) (float64, bool) {
	if extent.Contains(orb.Point{from[0], from[1]}) {
		return 0, false
	}
	first, last := 0.0, math.Inf(1)
	for k := range 2 {
		a, b := (extent.Min[k]-from[k])/direction[k], (extent.Max[k]-from[k])/direction[k]
		if direction[k] == 0 {
			if from[k] < extent.Min[k] || from[k] > extent.Max[k] {
				return 0, false
			}
			continue
		}
		first, last = max(first, min(a, b)), min(last, max(a, b))
	}
	return first, first <= last
}

func TestHitRidges(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for name, s := range map[string]*Surface{
		"ridges": surfaceOf(150, 2, func(x, y float64) float64 { return 20*math.Sin(x/9) + 15*math.Sin(y/6+x/30) }),
		"noise":  surfaceOf(61, 5, func(x, y float64) float64 { return 30 * rng.Float64() }),
		"steps":  surfaceOf(61, 5, func(x, y float64) float64 { return 20 * math.Floor(math.Mod(math.Abs(x+y), 40)/20) }),
		"level":  surfaceOf(64, 5, func(x, y float64) float64 { return 7 }),
		"small":  surfaceOf(4, 50, func(x, y float64) float64 { return x / 3 }),
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, uint64(len(name))))
			seen := map[Outcome]int{}
			for k := range 600 {
				from := [3]float64{rng.Float64()*500 - 250, rng.Float64()*500 - 250, 100*rng.Float64() - 10}
				d := [3]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()/2 - 0.3}
				switch k % 6 {
				case 1: // along lines of nodes
					d[k/6%2] = 0
					from[k/6%2] = s.origin[k/6%2] + s.spacing*float64(rng.IntN(s.rows))
				case 2:
					d = [3]float64{0, 0, -1}
				case 3:
					d[2] = 0
				case 4: // through nodes
					d[0], d[1] = float64(rng.IntN(3)-1), float64(rng.IntN(3)-1)
					from[0], from[1] = s.origin[0]+s.spacing*float64(rng.IntN(s.columns)), s.origin[1]+s.spacing*float64(rng.IntN(s.rows))
				}
				if d == [3]float64{} {
					continue
				}
				seen[checkRay(t, s, from, d, 0.11)]++
			}
			if seen[Struck] < 40 || seen[Beyond] < 40 || seen[Unknown] != 0 {
				t.Errorf("outcomes %v", seen)
			}
		})
	}
}

// A pond of which nothing is known, in a hillside.
func TestHitVoid(t *testing.T) {
	slope := func(x, y float64) float64 { return x / 4 }
	s := surfaceOf(200, 2, func(x, y float64) float64 {
		if math.Hypot(x, y) < 20 {
			return math.NaN()
		}
		return slope(x, y)
	})
	for name, test := range map[string]struct {
		from, direction [3]float64
		want            Outcome
	}{
		"down into it":         {[3]float64{0, 0, 50}, [3]float64{0.01, 0.02, -1}, Unknown},
		"beside it":            {[3]float64{0, 30, 50}, [3]float64{0, 0, -1}, Struck},
		"high over it":         {[3]float64{-100, 0, 60}, [3]float64{1, 0, -0.3}, Struck},
		"low over it":          {[3]float64{100, 0, 30}, [3]float64{-1, 0, -0.28}, Unknown},
		"before it":            {[3]float64{-100, 0, 0}, [3]float64{1, 0, -0.3}, Struck},
		"from within":          {[3]float64{0, 0, 40}, [3]float64{1, 0, 0}, Struck},
		"up":                   {[3]float64{0, 0, 40}, [3]float64{0, 0, 1}, Beyond},
		"out of the extent":    {[3]float64{0, 50, 40}, [3]float64{-1, 1, 0}, Beyond},
		"into nothing":         {[3]float64{1000, 50, 40}, [3]float64{1, 1, -1}, Beyond},
		"in from outside":      {[3]float64{1000, 50, 460}, [3]float64{-1, 0, -0.5}, Struck},
		"from within, too low": {[3]float64{0, 0, -5}, [3]float64{0, 0, 1}, Unknown},
	} {
		if got := s.Hit(test.from, test.direction); got.Outcome != test.want {
			t.Errorf("%s: %+v, want outcome %v", name, got, test.want)
		}
	}
	if s.Void(orb.Point{0, 30}) || !s.Void(orb.Point{0, 0}) || !s.Void(orb.Point{19, 0}) || !s.Void(orb.Point{5000, 0}) {
		t.Error("void in the wrong places")
	}
	nothing := surfaceOf(20, 2, func(x, y float64) float64 { return math.NaN() })
	if got := nothing.Hit([3]float64{0, 0, 50}, [3]float64{0, 0, -1}); got.Outcome == Struck {
		t.Errorf("nothing known: %+v", got)
	}
	if _, ok := nothing.Most(nothing.Extent()); ok {
		t.Error("nothing known, and a most")
	}
}

func TestHitHostile(t *testing.T) {
	s := surfaceOf(50, 2, func(x, y float64) float64 { return x / 4 })
	numbers := []float64{0, 1, -1, math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 5e-324, -5e-324, 1e-300, 50}
	rng := rand.New(rand.NewPCG(9, 10))
	pick := func() [3]float64 {
		var v [3]float64
		for k := range v {
			v[k] = numbers[rng.IntN(len(numbers))]
		}
		return v
	}
	for range 100_000 {
		from, direction := pick(), pick()
		got := s.Hit(from, direction)
		if got.Outcome == Struck && !(math.Abs(got.At[2]-got.At[0]/4) < 1e-3) && math.Abs(from[0])+math.Abs(from[1])+math.Abs(from[2]) < 1e6 {
			t.Fatalf("from %v to %v: %+v", from, direction, got)
		}
		s.Height(orb.Point{from[0], from[1]})
		s.Least(orb.Bound{Min: orb.Point{from[0], from[1]}, Max: orb.Point{direction[0], direction[1]}})
	}
}

func TestLeastAndMost(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for _, voids := range []float64{0, 0.02, 0.9} {
		s := surfaceOf(77, 3, func(x, y float64) float64 {
			if rng.Float64() < voids {
				return math.NaN()
			}
			return 100 * rng.NormFloat64()
		})
		for range 3000 {
			b := orb.Point{rng.Float64()*260 - 130, rng.Float64()*260 - 130}.Bound()
			b = b.Extend(orb.Point{b.Min[0] + 60*rng.Float64()*rng.Float64(), b.Min[1] + 60*rng.Float64()})
			least, most := math.Inf(1), math.Inf(-1)
			for j := range s.rows + 1 {
				for i := range s.columns + 1 {
					x, y := s.origin[0]+3*float64(i), s.origin[1]+3*float64(j)
					h := float64(s.nodes[j*(s.columns+1)+i])
					if x > b.Min[0]-3 && x < b.Max[0]+3 && y > b.Min[1]-3 && y < b.Max[1]+3 && h == h {
						least, most = min(least, h), max(most, h)
					}
				}
			}
			gotLeast, ok := s.Least(b)
			gotMost, ok2 := s.Most(b)
			if known := !math.IsInf(least, 1); s.Extent().Intersects(b) && (ok != known || ok2 != known || known && (gotLeast != least || gotMost != most)) {
				t.Fatalf("%v: %v to %v, want %v to %v", b, gotLeast, gotMost, least, most)
			}
		}
	}
}

// placing is how far, in metres on the ground, a node may stand from where it
// should in the grids: measured in the middle between places that are exact.
func placing(s *Surface, m *Mosaic) (most float64) {
	r := newResampler(s, m)
	if r.tile == 1 {
		return 0
	}
	half := float64(r.tile) / 2 * s.spacing
	for c := range r.across * (s.rows/r.tile + 1) {
		column, row := c%r.across, c/r.across
		if column == r.across-1 {
			continue
		}
		lonlat := s.frame.Degrees(orb.Point{s.origin[0] + float64(2*column+1)*half, s.origin[1] + float64(2*row+1)*half})
		for k, g := range m.grids {
			at, ok := r.between(k, c, 0.5, 0.5)
			exact, ok2 := g.lattice.cell(lonlat)
			if ok && ok2 {
				most = max(most, math.Hypot(exact[0]-at[0], exact[1]-at[1])*g.Source.Resolution)
			}
		}
	}
	return most
}

// A surface made of a file agrees with it within its stated misfit, at other
// places than those where the misfit is measured.
func TestSurfaceMisfit(t *testing.T) {
	f := plain()
	f.scale = []float64{0.0004, 0.0003, 0}
	g := mustGrid(t, "a.tif", encodeTIFF(hills(120, 120), f), Options{})
	m := NewMosaic(g)
	frame := plane.NewFrame(orb.Point{10.024, 49.982})
	extent := orb.Bound{Min: orb.Point{-800, -700}, Max: orb.Point{900, 800}}
	before := math.Inf(1)
	for _, spacing := range []float64{20, 10, 0, 5} {
		s, err := NewSurface(frame, m, extent, spacing)
		if err != nil {
			t.Fatal(err)
		}
		if spacing == 0 && s.Spacing() > m.Resolution()/3.9 {
			t.Errorf("spacing %v of a resolution of %v", s.Spacing(), m.Resolution())
		}
		rng := rand.New(rand.NewPCG(13, 14))
		worst, squares, beyond := 0.0, 0.0, 0
		const n = 20_000
		for range n {
			p := orb.Point{rng.Float64()*1700 - 800, rng.Float64()*1500 - 700}
			want, ok := m.Elevation(frame.Degrees(p))
			got, ok2 := s.Height(p)
			if !ok || !ok2 {
				t.Fatalf("at %v: %v, %v", p, ok, ok2)
			}
			off := math.Abs(got - want)
			worst, squares = max(worst, off), squares+off*off
			if off > s.Misfit().Most {
				beyond++
			}
		}
		rms := math.Sqrt(squares / n)
		t.Logf("spacing %.1f m: stated most %.3f RMS %.3f, found most %.3f RMS %.3f, %d of %d above", s.Spacing(), s.Misfit().Most, s.Misfit().RMS, worst, rms, beyond, n)
		if rms > s.Misfit().RMS*1.1 || worst > s.Misfit().Most*1.5 || s.Misfit().RMS > before {
			t.Error("more than stated")
		}
		before = s.Misfit().RMS
		if off := placing(s, m); off > 0.001 {
			t.Errorf("places are off by %v m", off)
		}
	}
	if _, err := NewSurface(frame, m, extent, 0.01); err == nil {
		t.Error("25 billion nodes accepted")
	}
	if _, err := NewSurface(frame, NewMosaic(), extent, 0); err == nil {
		t.Error("no grids accepted")
	}
	far := orb.Bound{Min: orb.Point{50_000, 0}, Max: orb.Point{50_100, 100}}
	if _, err := NewSurface(frame, m, far, 0); err == nil {
		t.Error("an extent without heights accepted")
	}
}
