package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/coverage"
	"selvage/report"
)

// pointFlags name files with points that must be seen.
type pointFlags struct {
	files []string
	crs   string
	views int

	limits *limits
	flags  *pflag.FlagSet
}

func definePoints(flags *pflag.FlagSet, lim *limits) *pointFlags {
	f := &pointFlags{limits: lim, flags: flags}
	flags.StringArrayVar(&f.files, "points", nil, "`file` with control points, or others that must be seen (CSV with columns lon and lat, KML, GeoJSON and more); may be repeated")
	flags.StringVar(&f.crs, "points-crs", "", "coordinate `system` of these files' numbers, as in EPSG:32632 or \"UTM 32N\"")
	flags.IntVar(&f.views, "point-views", 3, "`number` of photos that must see every control point; 3 to 5 is common practice")
	return f
}

func (f *pointFlags) check() error {
	if given := givenOf(f.flags, "points-crs", "point-views"); len(f.files) == 0 && len(given) > 0 {
		return misuse("audit", "--"+given[0]+" goes with --points")
	}
	if f.views < 1 || f.views > 1000 {
		return fmt.Errorf("--point-views %d: give a number from 1 to 1000", f.views)
	}
	return nil
}

// markers are the points of all files.
type markers struct {
	points   []coverage.Point
	inputs   []report.Input
	findings []finding.Finding
}

func (f *pointFlags) read() (*markers, error) {
	m := &markers{}
	for _, path := range f.files {
		data, err := readAtMost(path, f.limits.shapes.Bytes)
		if err != nil {
			return nil, err
		}
		beside, err := readBeside(path, f.limits.shapes.Bytes)
		if err != nil {
			return nil, err
		}
		name := filepath.Base(path)
		points, found, err := boundary.ReadPoints(name, data, boundary.Options{Limits: f.limits.shapes, CRS: f.crs, Beside: beside})
		if err != nil {
			return nil, ownFlag{err}
		}
		for _, p := range points {
			m.points = append(m.points, coverage.Point{Name: p.Name, Position: p.Position})
		}
		m.findings = append(m.findings, ofFile(found, name)...)
		m.inputs = append(m.inputs, report.Input{Role: "control points", Name: name, SHA256: sum(data)})
	}
	return m, nil
}

// ownFlag names the flag that is for points where an error names that for
// boundaries.
type ownFlag struct{ error }

func (e ownFlag) Error() string { return strings.ReplaceAll(e.error.Error(), "--crs", "--points-crs") }

func (e ownFlag) Unwrap() error { return e.error }

// add puts the points into a job.
func (f *pointFlags) add(job *coverage.Job, m *markers) {
	if len(m.points) > 0 {
		job.Points, job.Wanted.PointViews = m.points, f.views
	}
}

// parameters puts what was given into words.
func (f *pointFlags) parameters() []report.Setting {
	if len(f.files) == 0 {
		return nil
	}
	all := []report.Setting{{Name: finding.Say("Wanted views of control points"), Value: finding.Say("%s", finding.Whole(f.views))}}
	if f.crs != "" {
		all = append(all, report.Setting{Name: finding.Say("Coordinate system of the control points, as given"), Value: finding.Plain(f.crs)})
	}
	return all
}
