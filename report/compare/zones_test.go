package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/plane"
)

// lattice is classes of ground by squares, of which each zone is made: -1 is
// enough, else the number of a kind. A square has steps of the lattice.
type lattice struct {
	classes  [][]int
	size     int // squares to a side
	at, step int // where the first begins, and how many steps one is wide
}

// The steps of the lattice in degrees, about 5 m; all corners have 8 decimals.
const (
	stepLon = 0.00007
	stepLat = 0.000045
)

func latticePoint(x, y int) orb.Point {
	return orb.Point{10 + stepLon*float64(x), 50 + stepLat*float64(y)}
}

func block(x, y, w, h int) orb.Polygon {
	return orb.Polygon{{latticePoint(x, y), latticePoint(x+w, y), latticePoint(x+w, y+h), latticePoint(x, y+h), latticePoint(x, y)}}
}

func randomLattice(random *rand.Rand, size, at int) lattice {
	l := lattice{size: size, at: at, step: 2}
	for range size {
		row := make([]int, size)
		for i := range row {
			row[i] = random.IntN(5) - 2
			row[i] = max(row[i], -1)
		}
		l.classes = append(l.classes, row)
	}
	return l
}

// pieces numbers the squares of each class that hang together by their sides.
func (l lattice) pieces() (number [][]int, kinds []int) {
	number = make([][]int, l.size)
	for i := range number {
		number[i] = slices.Repeat([]int{-1}, l.size)
	}
	for y := range l.size {
		for x := range l.size {
			if l.classes[y][x] < 0 || number[y][x] >= 0 {
				continue
			}
			kinds = append(kinds, l.classes[y][x])
			open := [][2]int{{x, y}}
			for len(open) > 0 {
				p := open[len(open)-1]
				open = open[:len(open)-1]
				if p[0] < 0 || p[1] < 0 || p[0] >= l.size || p[1] >= l.size ||
					l.classes[p[1]][p[0]] != l.classes[y][x] || number[p[1]][p[0]] >= 0 {
					continue
				}
				number[p[1]][p[0]] = len(kinds) - 1
				open = append(open, [2]int{p[0] + 1, p[1]}, [2]int{p[0] - 1, p[1]}, [2]int{p[0], p[1] + 1}, [2]int{p[0], p[1] - 1})
			}
		}
	}
	return number, kinds
}

func (l lattice) shapes(t *testing.T, site orb.MultiPolygon) *Shapes {
	number, kinds := l.pieces()
	squares := make([][]orb.MultiPolygon, len(kinds))
	for y, row := range number {
		for x, n := range row {
			if n >= 0 {
				squares[n] = append(squares[n], orb.MultiPolygon{block(l.at+x*l.step, l.at+y*l.step, l.step, l.step)})
			}
		}
	}
	s := &Shapes{Site: site}
	grid := plane.DegreeGrid(site.Bound().Pad(0.001), 8)
	for n, kind := range kinds {
		shape := plane.Union(grid, squares[n]...)
		if len(shape) != 1 {
			t.Fatalf("a zone has %d pieces", len(shape))
		}
		s.Zones = append(s.Zones, ZoneShape{string(zoneKinds[kind]), plane.GeodesicArea(shape), shape[0]})
	}
	return s
}

// look tells class and zone of the step x, y.
func (l lattice) look(number [][]int, x, y int) (class, zone int) {
	if x < l.at || y < l.at {
		return -1, -1
	}
	x, y = (x-l.at)/l.step, (y-l.at)/l.step
	if x >= l.size || y >= l.size {
		return -1, -1
	}
	return l.classes[y][x], number[y][x]
}

// Zones that come apart, grow together and change their class, against a count
// of every square of the finest lattice.
func TestZonesAgainstSampling(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	splits, merges := 0, 0
	for round := range 40 {
		const size = 9
		before, after := randomLattice(random, size, 0), randomLattice(random, size, 1)
		if round%4 == 0 { // mostly the same
			for y := range size {
				copy(after.classes[y], before.classes[y])
			}
			after.at = 0
			after.classes[random.IntN(size)][random.IntN(size)] = random.IntN(4) - 1
		}
		all := 2*size + 1
		site := orb.MultiPolygon{block(0, 0, all, all)}
		got, err := comparePlaces(before.shapes(t, site), after.shapes(t, site), [3]bool{true, true, true})
		if err != nil {
			t.Fatal(err)
		}

		wasNumber, wasKinds := before.pieces()
		isNumber, isKinds := after.pieces()
		group := newGroups(len(wasKinds) + len(isKinds))
		common := map[[2]int]float64{}
		var better, worse [3]float64
		for y := range all {
			for x := range all {
				area := plane.GeodesicArea(orb.MultiPolygon{block(x, y, 1, 1)})
				wasClass, was := before.look(wasNumber, x, y)
				isClass, is := after.look(isNumber, x, y)
				if was >= 0 && is >= 0 && wasClass == isClass {
					common[[2]int{was, is}] += area
				}
				for k := range zoneKinds {
					low, lower := wasClass >= 0 && wasClass <= k, isClass >= 0 && isClass <= k
					if low && !lower {
						better[k] += area
					} else if lower && !low {
						worse[k] += area
					}
				}
			}
		}
		for pair := range common {
			group.join(pair[0], len(wasKinds)+pair[1])
		}
		want := map[string]float64{}
		for root := range group {
			if group.root(root) != root {
				continue
			}
			var b, a []int
			shared := 0.0
			for i := range group {
				if group.root(i) != root {
					continue
				}
				if i < len(wasKinds) {
					b = append(b, i+1)
				} else {
					a = append(a, i-len(wasKinds)+1)
				}
			}
			for pair, area := range common {
				if group.root(pair[0]) == root {
					shared += area
				}
			}
			want[fmt.Sprint(b, a)] = shared
			if len(b) == 1 && len(a) > 1 {
				splits++
			}
			if len(b) > 1 && len(a) == 1 {
				merges++
			}
		}
		if len(got.Zones) != len(want) {
			t.Fatalf("round %d: %d changes, want %d", round, len(got.Zones), len(want))
		}
		for _, z := range got.Zones {
			shared, known := want[fmt.Sprint(z.Before, z.After)]
			if !known || math.Abs(z.Shared-shared) > 0.05 {
				t.Errorf("round %d: %+v, want %v m² shared (%v)", round, z, shared, known)
			}
		}
		for k := range zoneKinds {
			if g := got.Below[k]; math.Abs(g.Better-better[k]) > 0.05 || math.Abs(g.Worse-worse[k]) > 0.05 {
				t.Errorf("round %d, class %d: %+v, want %v and %v", round, k, g, better[k], worse[k])
			}
		}
	}
	if splits < 5 || merges < 5 {
		t.Errorf("only %d zones came apart and %d grew together", splits, merges)
	}
}

func zone(kind string, p orb.Polygon) ZoneShape {
	return ZoneShape{kind, plane.GeodesicArea(orb.MultiPolygon{p}), p}
}

func TestZoneChanges(t *testing.T) {
	east := func(p orb.Polygon, lon float64) orb.Polygon {
		q := p.Clone()
		for _, ring := range q {
			for i := range ring {
				ring[i][0] += lon
			}
		}
		return q
	}
	gap := block(4, 4, 4, 4)
	for _, test := range []struct {
		name          string
		before, after []ZoneShape
		want          string
	}{
		{"rounding of the last decimal", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("gap", east(gap, 1e-8))}, "unchanged gap [1] [1]"},
		{"as large elsewhere", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("gap", east(gap, 2*stepLon))}, "moved gap [1] [1]"},
		{"grown", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("gap", block(3, 4, 5, 4))}, "grown gap [1] [1]"},
		{"shrunk", []ZoneShape{zone("thin", gap)}, []ZoneShape{zone("thin", block(5, 5, 2, 2))}, "shrunk thin [1] [1]"},
		{"seen enough now", []ZoneShape{zone("gap", gap)}, nil, "gone gap [1] [] enough"},
		{"a better class", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("thin", block(3, 4, 5, 4))}, "new thin [] [1] gap; gone gap [1] [] thin"},
		{"beside it, with a rim in common", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("gap", block(8, 4, 4, 4))}, "new gap [] [1] enough; gone gap [1] [] enough"},
		{"beside it, but for rounding", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("gap", east(block(8, 4, 4, 4), -1e-8))}, "new gap [] [1] enough; gone gap [1] [] enough"},
		{"in two", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("gap", block(4, 4, 1, 4)), zone("gap", block(7, 4, 1, 4))}, "shrunk gap [1] [1 2]"},
		{"with a hole", []ZoneShape{zone("gap", gap)}, []ZoneShape{zone("gap", orb.Polygon{gap[0], block(5, 5, 1, 1)[0]})}, "shrunk gap [1] [1]"},
	} {
		for _, lon := range []float64{0, 170 - 7*stepLon} { // and across the 180th meridian
			move := func(list []ZoneShape) *Shapes {
				s := &Shapes{Site: orb.MultiPolygon{east(block(0, 0, 20, 20), lon)}}
				for _, z := range list {
					z.Shape = east(z.Shape, lon)
					s.Zones = append(s.Zones, z)
				}
				return s
			}
			p, err := comparePlaces(move(test.before), move(test.after), [3]bool{true, true, true})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, z := range p.Zones {
				got = append(got, strings.TrimSpace(fmt.Sprint(z.Change, " ", z.Kind, " ", z.Before, " ", z.After, " ", z.Other)))
			}
			if text := strings.Join(got, "; "); text != test.want || !p.Site.Same {
				t.Errorf("%s, %v° on: %s, want %s; site %+v", test.name, lon, text, test.want, p.Site)
			}
		}
	}
}

func TestSiteChange(t *testing.T) {
	before := &Shapes{Site: orb.MultiPolygon{block(0, 0, 10, 10)}, Zones: []ZoneShape{zone("gap", block(0, 0, 2, 10))}}
	after := &Shapes{Site: orb.MultiPolygon{block(2, 0, 12, 10)}}
	p, err := comparePlaces(before, after, [3]bool{true, true, true})
	if err != nil {
		t.Fatal(err)
	}
	square := plane.GeodesicArea(orb.MultiPolygon{block(0, 0, 1, 1)})
	if s := p.Site; s.Same || math.Abs(s.Removed-20*square) > 0.5 || math.Abs(s.Added-40*square) > 0.5 || math.Abs(s.Shared-80*square) > 0.5 {
		t.Errorf("%+v, of squares of %v m²", s, square)
	}
	if z := p.Zones[0]; z.Change != Gone || z.Other != outside {
		t.Errorf("a gap on ground that fell away: %+v", z)
	}
	if p.Below[0] != (Ground{}) {
		t.Errorf("ground that fell away counts as better: %+v", p.Below)
	}
}
