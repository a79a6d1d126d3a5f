package boundary

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
)

// Margin is how far and how the site area is extended.
type Margin struct {
	Buffer     float64 // metres on the ground; a negative one shrinks the site area
	Join       plane.Join
	MitreLimit float64 // 0: 5
	// ArcTolerance is how far round joins may reach beyond the true arc, in
	// metres. 0 means 0.005.
	ArcTolerance float64

	// ByName are other buffers for the parts of these names. They go before what
	// a part's feature asks for, and that before Buffer.
	ByName  map[string]float64
	Along   []Along
	KeepOut []KeepOut

	KeepSeparate bool    // areas whose margins meet stay apart
	FillHoles    bool    // no hole is left out of the flight
	HoleMin      float64 // m²: nor one smaller than this
	// MaxVertices is how many vertices a polygon of the flight area may have;
	// 0 for any number. It is simplified outwards until it has no more, but never
	// past the edge of an area that is shrunk.
	MaxVertices int
}

// Along is a margin of its own for the stretches of the site's boundary that
// lie within Near metres of lines, a road or a river for instance. Parts that
// are shrunk have none.
type Along struct {
	Name   string
	Lines  []orb.LineString // degrees
	Near   float64          // metres
	Buffer float64          // metres, over 0
}

// KeepOut is ground that must not be flown.
type KeepOut struct {
	Name   string
	Shape  orb.MultiPolygon // degrees, valid
	Margin float64          // metres that the flight area stays away from it
}

func (m Margin) check(s Site) error {
	sensible := func(what string, metres float64, least float64) error {
		if !(metres > least && math.Abs(metres) <= mostBuffer) {
			return fmt.Errorf("%s must be over %g m and at most %g km, not %g m", what, least, mostBuffer/1000, metres)
		}
		return nil
	}
	if m.Buffer == 0 {
		return errors.New("the buffer is 0 m: the flight area would stop at the client's edge, which is then seen from one side only")
	}
	err := sensible("the buffer", m.Buffer, -mostBuffer)
	for _, name := range slices.Sorted(maps.Keys(m.ByName)) {
		buffer := m.ByName[name]
		if buffer == 0 {
			err = errors.Join(err, fmt.Errorf("the buffer of %s is 0 m", quote(name)))
		}
		err = errors.Join(err, sensible("the buffer of "+quote(name), buffer, -mostBuffer))
		if !s.hasPart(name) {
			err = errors.Join(err, fmt.Errorf("no part is called %s", quote(name)))
		}
	}
	extended := false
	for _, a := range s.Areas {
		for _, p := range a.Parts {
			err = errors.Join(err, sensible(fmt.Sprintf("the buffer of %s", partName(p.Place)), p.Buffer, -mostBuffer))
		}
		extended = extended || m.BufferOf(a) > 0
	}
	for _, a := range m.Along {
		err = errors.Join(err, sensible("the buffer along "+quote(a.Name), a.Buffer, 0), sensible("the distance from "+quote(a.Name), a.Near, 0))
	}
	for _, k := range m.KeepOut {
		err = errors.Join(err, sensible("the margin of keep-out area "+quote(k.Name), k.Margin, -1e-9))
	}
	if len(m.Along) > 0 && !extended {
		err = errors.Join(err, errors.New("a site area that is shrunk all around has no buffer along lines"))
	}
	if m.MaxVertices != 0 && m.MaxVertices < 4 {
		err = errors.Join(err, fmt.Errorf("%d vertices are too few for an area; 4 are the least", m.MaxVertices))
	}
	return err
}

func (s Site) hasPart(name string) bool {
	return slices.ContainsFunc(s.Areas, func(a Area) bool {
		return slices.ContainsFunc(a.parts(), func(p Part) bool { return p.Name == name })
	})
}

// PartNames returns the names of the parts of a site area, each once, in the
// order of the areas.
func (s Site) PartNames() []string {
	var names []string
	for _, a := range s.Areas {
		for _, p := range a.parts() {
			if p.Name != "" && !slices.Contains(names, p.Name) {
				names = append(names, p.Name)
			}
		}
	}
	return names
}

// parts returns what the area is made of; an area that tells nothing of it is
// one part.
func (a Area) parts() []Part {
	if len(a.Parts) == 0 {
		return []Part{{Name: a.Name}}
	}
	return a.Parts
}

// ofPart returns the buffer of a part, in metres.
func (m Margin) ofPart(p Part) float64 {
	if own, named := m.ByName[p.Name]; named {
		return own
	}
	return cmp.Or(p.Buffer, m.Buffer)
}

// BufferOf returns the buffer of a site area, in metres: the largest of its parts.
func (m Margin) BufferOf(a Area) float64 {
	largest := math.Inf(-1)
	for _, p := range a.parts() {
		largest = max(largest, m.ofPart(p))
	}
	return largest
}

// sayDiffering tells of areas whose parts have different buffers.
func (m Margin) sayDiffering(s Site) []finding.Finding {
	var found []finding.Finding
	for _, a := range s.Areas {
		largest, differ := m.BufferOf(a), false
		var words []finding.Text
		for _, p := range a.parts() {
			differ = differ || m.ofPart(p) != largest
			words = append(words, finding.Say("%s %s", partName(p.Place), bufferWords(m.ofPart(p))))
		}
		if !differ {
			continue
		}
		if n := len(words); n > maxListed {
			words = append(words[:maxListed:maxListed], finding.Say("%s more", finding.Whole(n-maxListed)))
		}
		at := plane.WrapPoint(a.Shape[0][0][0])
		found = append(found, finding.Finding{Code: finding.BuffersDiffer, Severity: finding.Note, Place: finding.Place{Name: a.Name}.At(at[0], at[1]), Amount: largest, Unit: "m",
			Text: finding.Say("Parts that overlap are one area and have different buffers: %s. All of it gets the largest, %s.", finding.And(words), bufferWords(largest))})
	}
	return found
}

// OwnMargin is the buffer of a part or feature, or of the edge that lies within
// a distance of the lines of a file. Lengths are metres.
type OwnMargin struct {
	Part      string  `json:"part,omitempty"`
	Feature   int     `json:"feature,omitempty"` // of the client's file, which brings the buffer
	Along     string  `json:"along,omitempty"`
	Within    float64 `json:"within_m,omitempty"`
	Buffer    float64 `json:"buffer_m"`
	Overruled float64 `json:"overruled_m,omitempty"` // the buffer that the file brings for the part of this name
}

// OwnMargins lists the buffers of a site besides m.Buffer: those of names, those
// that features bring and no name overrules, and those along lines.
func (m Margin) OwnMargins(s Site) []OwnMargin {
	var parts []Part
	for _, a := range s.Areas {
		for _, p := range a.Parts {
			if p.Buffer != 0 && !slices.ContainsFunc(parts, func(q Part) bool { return q.Place.Feature == p.Place.Feature }) {
				parts = append(parts, p)
			}
		}
	}
	slices.SortStableFunc(parts, func(p, q Part) int { return p.Place.Feature - q.Place.Feature })
	var all []OwnMargin
	for _, name := range slices.Sorted(maps.Keys(m.ByName)) {
		own := OwnMargin{Part: name, Buffer: m.ByName[name]}
		if i := slices.IndexFunc(parts, func(p Part) bool { return p.Name == name }); i >= 0 {
			own.Overruled = parts[i].Buffer
		}
		all = append(all, own)
	}
	for _, p := range parts {
		if _, named := m.ByName[p.Name]; !named {
			all = append(all, OwnMargin{Part: p.Name, Feature: p.Place.Feature, Buffer: p.Buffer})
		}
	}
	for _, along := range m.Along {
		all = append(all, OwnMargin{Along: along.Name, Within: along.Near, Buffer: along.Buffer})
	}
	return all
}
