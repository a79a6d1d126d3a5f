package boundary

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
)

// field is a part around a place, in metres east and north of it (to a thousandth).
func field(name string, at orb.Point, west, south, east, north float64) Part {
	l := localAt(at)
	corner := func(x, y float64) orb.Point {
		return orb.Point{at[0] + x/l.perDegree[0], at[1] + y/l.perDegree[1]}
	}
	return Part{Name: name, Polygon: orb.Polygon{{corner(west, south), corner(east, south), corner(east, north), corner(west, north), corner(west, south)}}}
}

// joined draws one outline through corners in metres around a place.
func joined(name string, at orb.Point, xy ...float64) Part {
	l := localAt(at)
	var ring orb.Ring
	for i := 0; i < len(xy); i += 2 {
		ring = append(ring, orb.Point{at[0] + xy[i]/l.perDegree[0], at[1] + xy[i+1]/l.perDegree[1]})
	}
	return Part{Name: name, Polygon: orb.Polygon{append(ring, ring[0])}}
}

func TestConcerns(t *testing.T) {
	here := orb.Point{7.25, 47.5}
	touching := field("Field", here, 0, 0, 200, 200)
	outer := touching.Polygon[0]
	touching.Polygon = append(touching.Polygon, orb.Ring{outer[0], {outer[0][0] + 1e-4, outer[0][1] + 2e-4}, {outer[0][0] + 2e-4, outer[0][1] + 1e-4}, outer[0]})
	coarse := Part{Name: "Field", Polygon: orb.Polygon{{{7.25, 47.5}, {7.26, 47.5}, {7.26, 47.51}, {7.25, 47.51}, {7.25, 47.5}}}}
	many := joined("Field", here, func() (xy []float64) {
		for i := range 300 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 300)
			xy = append(xy, 200*cos, 200*sin)
		}
		return xy
	}()...)
	for _, c := range []struct {
		name   string
		parts  []Part
		e      Expected
		want   string
		phrase string // in some finding's text
	}{
		{"an ordinary site", []Part{field("Field", here, 0, 0, 300, 200)}, Expected{Near: &here, Area: 60000}, "", ""},
		{"without names", []Part{field("", here, 0, 0, 300, 200), field("East", here, 400, 0, 600, 200)}, Expected{}, "unnamed:note", ""},
		{"one without a name", []Part{field("", here, 0, 0, 300, 200)}, Expected{}, "", ""},
		{"same name", []Part{field("Field", here, 0, 0, 300, 200), field("Field", here, 400, 0, 600, 200)}, Expected{}, "same-name:note", ""},
		{"two decimals", []Part{coarse}, Expected{}, "few-decimals:note", "557 m"}, // half of 0.01° × 111.32 km
		{"many vertices", []Part{many}, Expected{}, "many-vertices:note", "300 vertices"},
		{"many allowed", []Part{many}, Expected{MaxVertices: 300}, "", ""},
		{"clutter", []Part{joined("Field", here, 0, 0, 100, 0, 200, 0.005, 300, 0, 300, 200, 0, 200)}, Expected{}, "clutter:note", "2 vertices"},
		{"antimeridian", []Part{field("Field", orb.Point{179.9995, 10}, 0, 0, 300, 200)}, Expected{}, "crosses-antimeridian:note out-of-range:mended", ""},
		{"near the pole", []Part{field("Field", orb.Point{20, 88}, 0, 0, 300, 200)}, Expected{}, "near-pole:needs-answer", ""},
		{"exchanged", []Part{field("Field", orb.Point{47.5, 7.25}, 0, 0, 300, 200)}, Expected{Near: &here}, "far-from-expected:needs-answer", "longitude and latitude exchanged"},
		{"west for east", []Part{field("Field", orb.Point{-7.25, 47.5}, 0, 0, 300, 200)}, Expected{Near: &here}, "far-from-expected:needs-answer", "the longitude’s sign changed"},
		{"south for north", []Part{field("Field", orb.Point{7.25, -47.5}, 0, 0, 300, 200)}, Expected{Near: &here}, "far-from-expected:needs-answer", "the latitude’s sign changed"},
		// by GeodSolve (GeographicLib 2.1.2) 845.003 km
		{"elsewhere", []Part{field("Field", orb.Point{9, 40}, 0, 0, 300, 200)}, Expected{Near: &here}, "far-from-expected:needs-answer", "845 km"},
		{"another area", []Part{field("Field", here, 0, 0, 300, 200)}, Expected{Area: 125000}, "area-differs:needs-answer", "48 %"},
		{"small", []Part{field("Field", here, 0, 0, 9, 9)}, Expected{}, "area-small:needs-answer", "81.0 m²"},
		{"large", []Part{field("Field", here, 0, 0, 12000, 11000)}, Expected{}, "area-large:needs-answer", "13,188 ha"},
		{"far apart", []Part{field("A", here, 0, 0, 300, 200), field("B", here, 400, 0, 600, 200), field("C", here, 20000, 0, 20300, 200)}, Expected{}, "parts-far-apart:needs-answer", "19.4 km"},
		{"gap", []Part{field("A", here, 0, 0, 300, 200), field("B", here, 300.4, 0, 600, 200)}, Expected{}, "gap-between-parts:note", "40.0 cm|0.40 m"},
		{"sliver", []Part{field("A", here, 0, 0, 300, 200), field("B", here, 400, 0, 400.5, 200)}, Expected{}, "sliver:needs-answer", "“B” with 100 m²"},
		{"neck", []Part{joined("Field", here, 0, 0, 100, 0, 100, 50, 150, 50, 150, 0, 250, 0, 250, 100, 150, 100, 150, 50.6, 100, 50.6, 100, 100, 0, 100)}, Expected{}, "narrow-neck:note", ""},
		{"wide neck", []Part{joined("Field", here, 0, 0, 100, 0, 100, 50, 150, 50, 150, 0, 250, 0, 250, 100, 150, 100, 150, 52, 100, 52, 100, 100, 0, 100)}, Expected{}, "", ""},
		{"neck by a wider measure", []Part{joined("Field", here, 0, 0, 100, 0, 100, 50, 150, 50, 150, 0, 250, 0, 250, 100, 150, 100, 150, 52, 100, 52, 100, 100, 0, 100)}, Expected{MinWidth: 3}, "narrow-neck:note", ""},
		{"hole touches", []Part{touching}, Expected{}, "hole-touches:note", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			for i := range c.parts {
				c.parts[i].Place = finding.Place{Feature: i + 1, Part: 1, Name: c.parts[i].Name}
			}
			r := Vet(&File{Name: "a.kml", Parts: c.parts}, c.e, Choices{})
			if got := codesAndSeverities(r.Findings); got != c.want {
				t.Errorf("findings %q, want %q", got, c.want)
			}
			var texts strings.Builder
			for _, f := range r.Findings {
				texts.WriteString(f.Text.String() + "\n")
			}
			for i, phrase := range strings.Split(c.phrase, "|") {
				if strings.Contains(texts.String(), phrase) {
					break
				}
				if i == strings.Count(c.phrase, "|") {
					t.Errorf("%q is not in %q", c.phrase, texts.String())
				}
			}
		})
	}
}

// A corner is narrow at its tip, and no piece left over for that: not even one
// whose rounded tip is a single chord.
func TestCornersAreNoSlivers(t *testing.T) {
	here := orb.Point{7.25, 47.5}
	for corners := 3; corners <= 40; corners++ {
		var xy []float64
		for i := range corners {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(corners))
			xy = append(xy, 150*cos, 150*sin)
		}
		f := &File{Parts: []Part{joined("Field", here, xy...)}}
		for _, found := range Vet(f, Expected{}, Choices{}).Findings {
			if found.Code == finding.Sliver || found.Code == finding.NarrowNeck {
				t.Errorf("%d corners: %s", corners, found.Text)
			}
		}
	}
}
