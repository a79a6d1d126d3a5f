package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/report"
)

// clientFlags say how a client's file is to be read, and what it means where
// that can be read in more than one way.
type clientFlags struct {
	crs            string
	closePath      bool
	crossing, hole oneOf
	together       oneOf
	tolerate       percentage

	limits *limits
	flags  *pflag.FlagSet
}

func defineClient(flags *pflag.FlagSet, lim *limits) *clientFlags {
	f := &clientFlags{
		limits:   lim,
		flags:    flags,
		crossing: oneOf{words: []string{string(boundary.Lobes), string(boundary.Uncross), string(boundary.Outer)}},
		hole:     oneOf{words: []string{string(boundary.Clip), string(boundary.Drop)}},
		together: oneOf{words: []string{string(boundary.Together), string(boundary.InnerHole)}},
	}
	flags.StringVar(&f.crs, "crs", "", "coordinate `system` of the boundary file's numbers, as in EPSG:32632 or \"UTM 32N\"")
	flags.BoolVar(&f.closePath, "close-path", false, "take a path or a row of points as the outline of an area")
	flags.Var(&f.crossing, "crossing", "what a line that crosses itself means: all that it goes around (lobes), its vertices in an order that does not cross (uncross), or all within its outermost line (outer)")
	flags.Var(&f.hole, "hole", "what a hole that crosses the outline means: it ends there (clip), or it is a mistake (drop)")
	flags.Var(&f.together, "parts", "what parts that overlap mean: both as drawn (union), or the one inside is a hole in the other (hole)")
	flags.Var(&f.tolerate, "tolerate", "readings that differ by less of the area need no answer; 0.5% if not given")
	return f
}

// given names those of the flags that were given.
func (f *clientFlags) given() []string {
	return givenOf(f.flags, "crs", "close-path", "crossing", "hole", "parts", "tolerate")
}

// choices are the answers given on the command line.
func (f *clientFlags) choices() boundary.Choices {
	return boundary.Choices{
		Crossing: boundary.Crossing(f.crossing.word),
		Hole:     boundary.CrossingHole(f.hole.word),
		Overlap:  boundary.Overlap(f.together.word),
		Tolerate: f.tolerate.share,
	}
}

// parameters puts what was given into words.
func (f *clientFlags) parameters() []report.Setting {
	var all []report.Setting
	add := func(name finding.Text, value string) {
		if value != "" {
			all = append(all, report.Setting{Name: name, Value: finding.Plain(value)})
		}
	}
	add(finding.Say("Coordinate system of the boundary, as given"), f.crs)
	if f.closePath {
		all = append(all, report.Setting{Name: finding.Say("Paths of the boundary"), Value: finding.Say("taken as outlines")})
	}
	add(finding.Say("Reading of a line that crosses itself, as given"), f.crossing.word)
	add(finding.Say("Reading of a hole that crosses the outline, as given"), f.hole.word)
	add(finding.Say("Reading of parts that overlap, as given"), f.together.word)
	add(finding.Say("Readings that need no answer differ by at most"), f.tolerate.String())
	return all
}

// expectedFlags say what is known of the job beforehand.
type expectedFlags struct {
	near  place
	area  area
	width length
}

func defineExpected(flags *pflag.FlagSet) *expectedFlags {
	f := &expectedFlags{}
	flags.Var(&f.near, "near", "where the job is, latitude first, as in 54.7,2.3")
	flags.Var(&f.area, "expect-area", "how large the site should be, as in 12.5ha")
	flags.Var(&f.width, "min-width", "ground narrower than this is pointed out; 1m if not given")
	return f
}

func (f *expectedFlags) expected() boundary.Expected {
	return boundary.Expected{Near: f.near.point, Area: f.area.squareMetres, MinWidth: f.width.metres}
}

func (f *clientFlags) read(path string) (*boundary.File, error) {
	return readBoundary(path, boundary.Options{Limits: f.limits.shapes, CRS: f.crs, ClosePath: f.closePath})
}

// readBoundary reads a file, and what belongs to it, whose base name labels
// its findings.
func readBoundary(path string, o boundary.Options) (*boundary.File, error) {
	data, err := readAtMost(path, o.Limits.Bytes)
	if err != nil {
		return nil, err
	}
	if o.Beside, err = readBeside(path, o.Limits.Bytes); err != nil {
		return nil, err
	}
	return boundary.Read(filepath.Base(path), data, o)
}

// belonging are the files that a shapefile may have beside it.
var belonging = []string{".prj", ".dbf", ".cpg", ".shx"}

// readBeside reads what belongs to a shapefile that lies loose in a folder,
// whatever the case of the names. A name in the shapefile's own case comes
// first where several differ only in that.
func readBeside(path string, most int64) (map[string][]byte, error) {
	if !strings.EqualFold(filepath.Ext(path), ".shp") {
		return nil, nil
	}
	folder, name := filepath.Dir(path), stem(path)
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, e := range entries {
		extension := strings.ToLower(filepath.Ext(e.Name()))
		if e.IsDir() || !slices.Contains(belonging, extension) || !strings.EqualFold(stem(e.Name()), name) {
			continue
		}
		if names[extension] == "" || stem(e.Name()) == name {
			names[extension] = e.Name()
		}
	}
	beside := map[string][]byte{}
	for extension, name := range names {
		path := filepath.Join(folder, name)
		data, err := readWithin(path, most, "size")
		if err != nil {
			return nil, err
		}
		beside[extension] = data
	}
	return beside, nil
}

// readAtMost reads a file whole, or one byte more than most allows, so that
// whoever gets the bytes can tell that it is too large.
func readAtMost(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var data bytes.Buffer
	if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
		data.Grow(int(min(info.Size(), most+1)) + bytes.MinRead) // so that nothing is copied
	}
	_, err = io.Copy(&data, io.LimitReader(f, most+1))
	return data.Bytes(), err
}

// readWithin reads a file whole, and refuses one that is larger than the limit
// of that name.
func readWithin(path string, most int64, name string) ([]byte, error) {
	data, err := readAtMost(path, most)
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("%s is larger than the limit of %.4g MB (--limit %s)", path, float64(most)/1e6, name)
	}
	return data, err
}
