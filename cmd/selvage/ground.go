package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/report"
)

// areaFlags name a job record, or a boundary file where there is none.
type areaFlags struct {
	job, file string
	client    *clientFlags
}

func defineArea(flags *pflag.FlagSet, lim *limits) *areaFlags {
	f := &areaFlags{}
	flags.StringVar(&f.job, "job", "", "job record, a `file` that prepare wrote")
	flags.StringVar(&f.file, "area", "", "boundary `file`, where there is no job record")
	f.client = defineClient(flags, lim)
	return f
}

func (f *areaFlags) check(command string) error {
	switch {
	case f.job == "" && f.file == "":
		return misuse(command, command+" needs an area, as in --job job/client.job.geojson or --area client.kml")
	case f.job != "" && f.file != "":
		return misuse(command, "give --job or --area, not both")
	case f.job != "" && len(f.client.given()) > 0:
		return misuse(command, "--"+f.client.given()[0]+" says how to read a boundary file; it goes with --area")
	}
	return nil
}

// path is that of whichever was given.
func (f *areaFlags) path() string { return f.job + f.file }

// clientOfJob is the role of a file that the audit does not read.
const clientOfJob = "client's boundary, as the job record names it"

// ground is the areas of a job, and what is known of them.
type ground struct {
	name         string
	areas        []boundary.Area
	site, flight orb.MultiPolygon
	keepOut      orb.MultiPolygon
	findings     []finding.Finding
	inputs       []report.Input
	parameters   []report.Setting
}

// read reads the areas from the job record or the boundary file.
func (f *areaFlags) read() (*ground, error) {
	if f.file != "" {
		file, err := f.client.read(f.file)
		if err != nil {
			return nil, err
		}
		site, err := boundary.Mend(file, f.client.choices())
		if err != nil {
			return nil, noArea(file, site)
		}
		return &ground{
			name: stem(file.Name), areas: site.Areas, site: site.Shape(), findings: site.Findings,
			inputs:     []report.Input{{Role: "boundary", Name: file.Name, SHA256: file.SHA256}},
			parameters: f.client.parameters(),
		}, nil
	}
	data, err := readAtMost(f.job, f.client.limits.shapes.Bytes)
	if err != nil {
		return nil, err
	}
	job, err := boundary.ReadJob(data, f.client.limits.shapes)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.job, err)
	}
	g := &ground{
		name: stem(job.ClientFile), areas: job.Site, findings: job.Findings,
		site:   boundary.Site{Areas: job.Site}.Shape(),
		flight: boundary.Flight{Areas: job.Flight}.Shape(),
		inputs: []report.Input{
			{Role: "job record", Name: filepath.Base(f.job), SHA256: sum(data)},
			{Role: clientOfJob, Name: job.ClientFile, SHA256: job.ClientSHA256},
		},
		parameters: []report.Setting{
			{Name: finding.Say("Buffer of the flight area"), Value: finding.Say("%s, %s joins", finding.Length(job.Buffer), job.Join)},
		},
	}
	for _, own := range job.Margins {
		name := finding.Say("Own buffer, %s", ownerOf(own))
		if own.Feature > 0 && own.Part != "" {
			name = finding.Say("Own buffer, %s (as feature %d of the file says)", own.Part, own.Feature)
		}
		if own.Along != "" {
			name = finding.Say("Own buffer, along %s, within %s of it", own.Along, finding.Length(own.Within))
		}
		g.parameters = append(g.parameters, report.Setting{Name: name, Value: bufferOf(own.Buffer)})
	}
	for _, k := range job.KeepOut {
		g.keepOut = append(g.keepOut, k.Shape...)
		g.parameters = append(g.parameters, report.Setting{Name: finding.Say("Keep-out areas of %s", k.Name), Value: finding.Say("%s of margin", finding.Length(k.Margin))})
	}
	return g, nil
}

// areaNames lists the names of a few areas; of many, the file's name does.
func areaNames(areas []boundary.Area, file string) string {
	var names []string
	for _, a := range areas {
		if a.Name != "" && !slices.Contains(names, a.Name) {
			names = append(names, a.Name)
		}
	}
	if few := 3; len(names) == 0 || len(names) > few {
		return file
	}
	return strings.Join(names, ", ")
}
