package main

import (
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"selvage/report"
)

// asGiven is the annotation of a flag that holds what was given, in its own words.
const asGiven = "as given"

// setAsGiven sets a flag and keeps the words.
func setAsGiven(flags *pflag.FlagSet) func(*pflag.Flag, string) error {
	return func(f *pflag.Flag, value string) error {
		if err := flags.Set(f.Name, value); err != nil {
			return err
		}
		return flags.SetAnnotation(f.Name, asGiven, append(f.Annotations[asGiven], value))
	}
}

// Flags of an audit that name files, and those that change no figure.
var (
	pathFlags   = map[string]bool{"job": true, "area": true, "positions": true, "points": true, "terrain": true}
	outputFlags = map[string]bool{
		"out": true, "replace": true, "json": true, "csv": true, "limit": true, "locale": true,
		"letterhead": true, "operator": true, "client": true, "site": true, "licence": true, "remarks": true, "logo": true,
	}
)

// command is what was given, for the note of a part.
func (f *auditFlags) command(p *part, args []source) report.Command {
	c := report.Command{Name: "audit", Sensor: p.number}
	f.flags.VisitAll(func(flag *pflag.Flag) {
		if outputFlags[flag.Name] {
			return
		}
		for _, value := range flag.Annotations[asGiven] {
			if pathFlags[flag.Name] {
				value = wayTo(f.out.folder, value)
			}
			c.Flags = append(c.Flags, report.Given{Name: flag.Name, Value: value})
		}
	})
	for _, arg := range args {
		c.Arguments = append(c.Arguments, report.Argument{Name: arg.name, Path: wayTo(f.out.folder, arg.path)})
	}
	return c
}

// mostUp is how many folders up a recorded way may lead.
const mostUp = 2

// wayTo leads from a folder to a file or folder nearby, with slashes. Of one
// further off it has the last part only, as it has where the way would pass
// through the user's own folder or above: the folders of a disk are nobody's
// business.
func wayTo(folder, path string) string {
	alone := label(path)
	from, errFrom := filepath.Abs(folder)
	to, errTo := filepath.Abs(path)
	way, err := filepath.Rel(from, to)
	if errFrom != nil || errTo != nil || err != nil {
		return alone
	}
	way = filepath.ToSlash(way)
	up, _ := upward(way)
	shared := from
	for range up {
		shared = filepath.Dir(shared)
	}
	if up > mostUp || up > 0 && holdsHome(shared) {
		return alone
	}
	return way
}

// upward counts how often a way leads up before it leads on.
func upward(way string) (up int, on string) {
	for way == ".." || strings.HasPrefix(way, "../") {
		way = strings.TrimPrefix(way[2:], "/")
		up++
	}
	return up, way
}

// holdsHome tells whether a folder is the user's own or above it.
func holdsHome(folder string) bool {
	home, err := os.UserHomeDir()
	if err != nil {
		return false
	}
	down, err := filepath.Rel(folder, home)
	return err == nil && filepath.IsLocal(down)
}
