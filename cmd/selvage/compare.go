package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"selvage/report"
	"selvage/report/compare"
)

func compareCommand() command {
	return command{
		name: "compare", summary: "say what changed between two audits, or from plan to flight",
		arguments: "BEFORE AFTER [flags]",
		about: `Holds two audits against each other, such as those before and after a re-flight
or those of two years: gaps and thin ground, the edge, overlaps, ground sample
distance, photos and lines, and which zones are new, gone, grown or shrunk.
BEFORE and AFTER are the NAME-coverage.json of each; the .geojson beside it is
read too. If one of them is what selvage plan --json printed, saved to a file,
the flight is held against the plan. What was not measured alike is said first.
Coverage, the edge, and the medians of overlap and ground sample distance are
judged; the rest is shown. Exit status 1 says that something judged got worse,
or that the two were not measured alike.`,
		example: "selvage compare first/client-coverage.json second/client-coverage.json\n" +
			"selvage plan --job job/client.job.geojson --camera 13.2x8.8mm,8.8mm,5472x3648 --height 80m --overlap 75/70 --json > plan.json\n" +
			"selvage compare plan.json job/client-coverage.json --units imperial",
		define: func(flags *pflag.FlagSet) action {
			machine := jsonFlag(flags)
			units := unitsFlag(flags)
			lim := usualLimits()
			lim.define(flags)
			return func(t terminal, args []string) (int, error) {
				return runCompare(t, args, *machine, units.Units, lim.record)
			}
		},
	}
}

func runCompare(t terminal, args []string, machine bool, u report.Units, most int64) (int, error) {
	if len(args) != 2 {
		return 0, misuse("compare", "compare needs two files: two audits, or a plan and an audit")
	}
	var records [2]*compare.Record
	for i, path := range args {
		var err error
		if records[i], err = readRecord(path, most); err != nil {
			return 0, err
		}
	}
	if machine {
		u = u.Recorded()
	}
	c, err := compare.Records(records[0], records[1], u)
	if err != nil {
		return 0, err
	}
	status := allWell
	if !c.Good() {
		status = needsAnswer
	}
	if machine {
		return status, c.WriteJSON(t.out)
	}
	return status, c.WriteText(t.out, t.style)
}

// readRecordFile reads the bytes of an audit or a plan.
func readRecordFile(file string, most int64) ([]byte, error) {
	if info, err := os.Stat(file); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s is a folder; name the NAME-coverage.json in it", file)
	}
	return readWithin(file, most, "record")
}

// readRecord reads an audit or a plan, and the shapes beside an audit.
func readRecord(file string, most int64) (*compare.Record, error) {
	data, err := readRecordFile(file, most)
	if err != nil {
		return nil, err
	}
	r, err := compare.Read(file, data, sum(data))
	if err != nil || r.Audit == nil {
		return r, err
	}
	for _, beside := range besides(file, r) {
		shapes, err := readWithin(beside, most, "record")
		if errors.Is(err, fs.ErrNotExist) {
			continue
		} else if err != nil {
			return nil, err
		}
		return r, r.ReadShapes(beside, shapes)
	}
	return r, nil
}

// besides lists where the shapes of an audit may lie: under the name of its
// JSON, or, where that was saved under another, under the name it gives.
func besides(file string, r *compare.Record) []string {
	paths := []string{strings.TrimSuffix(file, filepath.Ext(file)) + ".geojson"}
	for _, f := range r.Audit.Files {
		if name := path.Base(strings.ReplaceAll(f.Path, `\`, "/")); f.Role == "shapes" && filepath.IsLocal(name) {
			paths = append(paths, filepath.Join(filepath.Dir(file), name))
		}
	}
	return paths
}
