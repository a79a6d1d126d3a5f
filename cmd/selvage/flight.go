package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary"
)

// flightFlags say in which files the flight area is written.
type flightFlags struct {
	formats formats
	split   bool
	card    string
	out     *outputs
}

func defineFlight(flags *pflag.FlagSet) *flightFlags {
	f := &flightFlags{}
	flags.Var(&f.formats, "format", "kml, kmz, geojson or several of them, as in kml,kmz; kml if not given")
	flags.BoolVar(&f.split, "split", false, "write one polygon a file")
	f.out = outFlags(flags, "`folder` to write to")
	flags.StringVar(&f.card, "sd", "", "`folder` on a memory card to which the flight area is written too")
	return f
}

// formats is a flag for kinds of files, which may be repeated.
type formats []string

// known are the formats that are written, each by its file extension.
var knownFormats = []string{"kml", "kmz", "geojson"}

func (f *formats) Set(s string) (err error) {
	*f, err = addFormats(*f, s, knownFormats)
	return err
}

// addFormats adds those of a list with commas that are not there yet.
func addFormats(to []string, list string, known []string) ([]string, error) {
	for word := range strings.SplitSeq(list, ",") {
		word = strings.ToLower(strings.TrimSpace(word))
		if !slices.Contains(known, word) {
			last := len(known) - 1
			return to, fmt.Errorf("%s: a format is %s or %s", list, strings.Join(known[:last], ", "), known[last])
		}
		if !slices.Contains(to, word) {
			to = append(to, word)
		}
	}
	return to, nil
}

func (f *formats) Type() string { return "list" }

func (f *formats) String() string { return strings.Join(*f, ",") }

// or returns the formats, or the usual one.
func (f formats) orUsual() []string {
	if len(f) == 0 {
		return knownFormats[:1]
	}
	return f
}

// writeFormat writes areas in a format.
func writeFormat(w io.Writer, format, title string, areas []boundary.Area) error {
	switch format {
	case "kmz":
		return boundary.WriteKMZ(w, title, areas)
	case "geojson":
		return boundary.WriteGeoJSON(w, areas)
	}
	return boundary.WriteKML(w, title, areas)
}

// flightFile is one file's name without extension, and what it holds.
type flightFile struct {
	name, title string
	areas       []boundary.Area
}

// flightName is that of the file that holds the whole flight area, without
// extension. Cards and flight controllers take it.
func flightName(stem string) string { return boundary.SafeName(stem, "flight") }

// flightFiles shares the flight area out to files.
func flightFiles(stem string, areas []boundary.Area, split bool) ([]flightFile, error) {
	if !split {
		return []flightFile{{flightName(stem), stem + ", flight area", areas}}, nil
	}
	polygons, err := boundary.SplitAreas(areas)
	if err != nil {
		return nil, err
	}
	names := boundary.PartNames(stem, polygons)
	files := make([]flightFile, len(polygons))
	for i := range polygons {
		files[i] = flightFile{names[i], stem + ", flight area " + polygons[i].Name, polygons[i : i+1]}
	}
	return files, nil
}

// addFlight plans the files of a flight area. All that is written in a format
// is read back and proved together.
func (o *outputs) addFlight(role string, files []flightFile, formats []string, site boundary.Site, margin boundary.Margin) {
	written := map[string][]boundary.Area{}
	for _, format := range formats {
		for _, file := range files {
			name := file.name + "." + format
			o.addProved(role, name,
				func(w io.Writer) error { return writeFormat(w, format, file.title, file.areas) },
				func(data []byte) error {
					back, err := boundary.Reread(name, data, file.areas)
					written[format] = append(written[format], back...)
					return err
				})
		}
	}
	o.proof = func() error {
		for _, format := range formats {
			if _, err := boundary.ProveWritten(site, margin, written[format]); err != nil {
				return err
			}
		}
		return nil
	}
}

// earlier lists files in the folder that look like those of an earlier flight
// area of the same stem, and are not among what was planned.
func (o *outputs) earlier(stem string) []string {
	entries, err := os.ReadDir(o.folder)
	if err != nil {
		return nil // it is told where the files are written
	}
	var old []string
	for _, e := range entries {
		base := strings.TrimSuffix(e.Name(), filepath.Ext(e.Name()))
		extension := strings.TrimPrefix(strings.ToLower(filepath.Ext(e.Name())), ".")
		planned := slices.ContainsFunc(o.planned, func(p planned) bool { return strings.EqualFold(p.name, e.Name()) })
		if !planned && slices.Contains(knownFormats, extension) && (base == flightName(stem) || strings.HasPrefix(base, flightName(stem)+"-")) {
			old = append(old, filepath.Join(o.folder, e.Name()))
		}
	}
	return old
}

// differ makes sure that a card's folder is not the other one.
func differ(folder, card string) error {
	a, errA := os.Stat(folder)
	b, errB := os.Stat(card)
	if errA == nil && errB == nil && os.SameFile(a, b) {
		return errors.New("--out and --sd name the same folder")
	}
	return nil
}
