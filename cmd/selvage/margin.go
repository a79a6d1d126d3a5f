package main

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/pflag"
	"golang.org/x/text/unicode/norm"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/coverage"
)

// marginFlags say how far, and how, the site area is extended.
type marginFlags struct {
	buffer       buffer
	setup        *setupFlags
	minViews     int
	own          namedLengths
	ignore       bool
	along        namedLengths
	alongWithin  length
	keepOut      namedLengths
	joins        join
	arcTolerance length
	keepSeparate bool
	fillHoles    bool
	holeMin      area
	maxVertices  int

	limits *limits
	flags  *pflag.FlagSet
}

func defineMargin(flags *pflag.FlagSet, lim *limits) *marginFlags {
	f := &marginFlags{
		limits:      lim,
		flags:       flags,
		own:         namedLengths{kind: "name:length", example: "North:50m", inwards: true},
		along:       namedLengths{kind: "file:length", example: "road.kml:5m"},
		keepOut:     namedLengths{kind: "file[:length]", example: "pond.kml:10m", bare: true},
		alongWithin: length{metres: 20, given: true},
	}
	flags.Var(&f.buffer, "buffer", "how far to extend the site area, as in 30m or 100ft; -5m shrinks it; auto works it out from the next seven")
	f.setup = defineSetup(flags, "for auto: ")
	flags.IntVar(&f.minViews, "min-views", 5, "for auto: `number` of photos that must see every point of the edge; 5 is common practice, 0 is as many as inside")
	flags.Var(&f.own, "margin", "a part's own buffer, by its name, as in North:50m; it goes before a buffer that the part's feature brings, and that before --buffer; may be repeated")
	flags.BoolVar(&f.ignore, "ignore-buffers", false, "leave aside the buffers that features bring in a property named buffer")
	flags.Var(&f.along, "margin-along", "the buffer where the edge runs near the lines of a file, as in road.kml:5m; may be repeated")
	flags.Var(&f.alongWithin, "along-within", "how near that is")
	flags.Var(&f.keepOut, "keep-out", "the areas of a file must not be flown over, nor, as in pond.kml:10m, that far about them; may be repeated")
	flags.Var(&f.joins, "join", "how the flight area turns the site's corners")
	flags.Var(&f.arcTolerance, "arc-tolerance", "how far round joins may reach beyond the true arc; 5mm if not given")
	flags.BoolVar(&f.keepSeparate, "keep-separate", false, "parts whose buffers meet stay apart, in a file each")
	flags.BoolVar(&f.fillHoles, "fill-holes", false, "fly over all holes")
	flags.Var(&f.holeMin, "hole-min", "fly over holes that are smaller in the flight area")
	flags.IntVar(&f.maxVertices, "max-vertices", 200, "`number` of vertices that a polygon for the flight controller may have; 200 is common practice, 0 is as many as it takes")
	return f
}

// buffer is a flag for a length, below 0 to shrink, or the word auto.
type buffer struct {
	length
	auto bool
}

func (b *buffer) Set(s string) error {
	if b.auto = s == "auto"; b.auto {
		b.metres, b.given = 0, true
		return nil
	}
	b.least = math.Inf(-1)
	return b.length.Set(s)
}

func (b *buffer) Type() string { return "length|auto" }

func (b *buffer) String() string {
	if b.auto {
		return "auto"
	}
	return b.length.String()
}

// namedLength is a name, of a part or a file, with a length.
type namedLength struct {
	name   string
	metres float64
}

// namedLengths is a flag that may be repeated.
type namedLengths struct {
	all           []namedLength
	kind, example string
	bare          bool // whether the length may be left out
	inwards       bool // whether it may be below 0
}

// Set divides at the last colon, so that names may have others in them.
func (n *namedLengths) Set(s string) error {
	if n.bare && !endsInLength(s) {
		n.all = append(n.all, namedLength{name: s})
		return nil
	}
	colon := strings.LastIndex(s, ":")
	if colon < 1 || colon == len(s)-1 {
		return fmt.Errorf("%s: give a name and a length, as in %s", s, n.example)
	}
	metres, err := parseQuantity(s[colon+1:], lengthUnits, "30m or 100ft")
	if err != nil {
		return fmt.Errorf("%s: %w", s, err)
	}
	switch {
	case n.inwards && metres == 0:
		return fmt.Errorf("%s: a buffer of 0 m would end the flight area at the edge itself", s)
	case !n.inwards && !(metres > 0 || n.bare && metres == 0):
		return fmt.Errorf("%s: the length must be over 0 m", s)
	}
	n.all = append(n.all, namedLength{s[:colon], metres})
	return nil
}

// endsInLength tells pond.kml:10m from pond.kml and from C:\pond.kml.
func endsInLength(s string) bool {
	colon := strings.LastIndex(s, ":")
	return colon > 1 && quantity.MatchString(strings.TrimSpace(s[colon+1:]))
}

func (n *namedLengths) Type() string { return n.kind }

func (n *namedLengths) String() string {
	var words []string
	for _, one := range n.all {
		words = append(words, one.name+":"+amount(one.metres, "m", true))
	}
	return strings.Join(words, ",")
}

// asked is the margin that was asked for.
type asked struct {
	boundary.Margin
	derived  *derived          // where the buffer is
	findings []finding.Finding // about the files besides the client's
	files    []string          // those files
}

// derived is a buffer that follows from the flight, and what from.
type derived struct {
	setup  setup
	result coverage.BufferResult
}

// check finds flags that lack each other before any file is read.
func (f *marginFlags) check() error {
	if given := append(f.setup.given(), givenOf(f.flags, "min-views")...); !f.buffer.auto && len(given) > 0 {
		return fmt.Errorf("--%s goes with --buffer auto", given[0])
	}
	switch {
	case f.minViews < 0 || f.minViews > 1000:
		return fmt.Errorf("--min-views %d: give a number from 0 to 1000", f.minViews)
	case f.maxVertices != 0 && (f.maxVertices < 4 || f.maxVertices > mostVertices):
		return fmt.Errorf("--max-vertices %d: give a number from 4 to %d, or 0 for as many as it takes", f.maxVertices, mostVertices)
	case f.flags.Changed("along-within") && len(f.along.all) == 0:
		return errors.New("--along-within goes with --margin-along")
	case f.arcTolerance.metres > mostArcTolerance:
		return fmt.Errorf("--arc-tolerance: give %g m at most", mostArcTolerance)
	}
	return nil
}

const (
	mostVertices     = 1_000_000
	mostArcTolerance = 1.0 // m
)

// read reads the files that the flags name, and works out the buffer where
// that was asked for.
func (f *marginFlags) read() (asked, error) {
	a := asked{Margin: boundary.Margin{
		Buffer: f.buffer.metres, Join: f.joins.Join, ArcTolerance: f.arcTolerance.metres,
		ByName: map[string]float64{}, KeepSeparate: f.keepSeparate,
		FillHoles: f.fillHoles, HoleMin: f.holeMin.squareMetres, MaxVertices: f.maxVertices,
	}}
	for _, own := range f.own.all {
		name := norm.NFC.String(own.name) // letters with marks can be spelt in two ways
		if _, twice := a.ByName[name]; twice {
			return a, fmt.Errorf("--margin names %s twice", name)
		}
		a.ByName[name] = own.metres
	}
	if f.buffer.auto {
		setup, err := f.setup.setup()
		if err != nil {
			return a, fmt.Errorf("--buffer auto: %w", err)
		}
		result, err := coverage.DeriveBuffer(coverage.BufferInput{Setup: setup.Setup, Views: f.minViews})
		if err != nil {
			return a, fmt.Errorf("--buffer auto: %w", err)
		}
		a.derived, a.Buffer = &derived{setup, result}, result.Buffer
	}
	for _, along := range f.along.all {
		lines, err := f.readLines(along.name)
		if err != nil {
			return a, err
		}
		a.files = append(a.files, along.name)
		a.Along = append(a.Along, boundary.Along{
			Name: filepath.Base(along.name), Lines: lines, Near: f.alongWithin.metres, Buffer: along.metres,
		})
	}
	for _, zone := range f.keepOut.all {
		file, err := readBoundary(zone.name, boundary.Options{Limits: f.limits.shapes})
		if err != nil {
			return a, err
		}
		site, err := boundary.Mend(file, boundary.Choices{})
		if err != nil {
			return a, noArea(file, site)
		}
		a.files = append(a.files, zone.name)
		a.findings = append(a.findings, ofFile(site.Findings, file.Name)...)
		a.KeepOut = append(a.KeepOut, boundary.KeepOut{Name: file.Name, Shape: site.Shape(), Margin: zone.metres})
	}
	return a, nil
}

// ofFile makes sure that each finding says which file it is about. Buffers that
// features of such a file bring have no meaning here.
func ofFile(findings []finding.Finding, name string) []finding.Finding {
	findings = slices.DeleteFunc(slices.Clone(findings), func(f finding.Finding) bool {
		return f.Code == finding.OwnBuffer || f.Code == finding.BufferUnread
	})
	for i := range findings {
		findings[i].Place.File = name
	}
	return findings
}

// readLines reads the lines of a file; the sides of areas are lines too.
func (f *marginFlags) readLines(path string) ([]orb.LineString, error) {
	file, err := readBoundary(path, boundary.Options{Limits: f.limits.shapes})
	if err != nil {
		return nil, err
	}
	var lines []orb.LineString
	for _, p := range file.Paths {
		lines = append(lines, p.Line)
	}
	for _, part := range file.Parts {
		for _, ring := range part.Polygon {
			lines = append(lines, orb.LineString(ring))
		}
	}
	lines = slices.DeleteFunc(lines, func(line orb.LineString) bool { return len(line) < 2 })
	for _, line := range lines {
		for _, p := range line {
			if !(math.Abs(p.Lon()) <= 180 && math.Abs(p.Lat()) <= 90) {
				return nil, fmt.Errorf("%s: its numbers are no longitudes and latitudes, and it does not say in which coordinate system they are", path)
			}
		}
	}
	if len(lines) == 0 {
		return nil, fmt.Errorf("%s holds no lines", path)
	}
	return lines, file.CheckPaths(f.limits.shapes)
}

// checkNames spells names as the parts do, finds those that no part has, and
// says which there are.
func (a asked) checkNames(site boundary.Site) error {
	known := site.PartNames()
	for _, name := range slices.Sorted(maps.Keys(a.ByName)) {
		metres, found := a.ByName[name], false
		delete(a.ByName, name)
		for _, part := range known {
			if norm.NFC.String(part) == name {
				a.ByName[part], found = metres, true
			}
		}
		if found {
			continue
		}
		if len(known) == 0 {
			return fmt.Errorf("--margin %s: no part has a name", name)
		}
		return fmt.Errorf("--margin %s: no part has this name; there are %s", name, strings.Join(known[:min(len(known), 10)], ", "))
	}
	return nil
}
