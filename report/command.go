package report

import (
	"slices"
	"strings"
)

// Command is what an audit was given, so that it can be run again. Values are
// in the form in which they were given.
type Command struct {
	Name      string     `json:"name"`
	Sensor    int        `json:"sensor"` // that the note is about, from 1; 0 where there are not several
	Flags     []Given    `json:"flags"`
	Arguments []Argument `json:"arguments"`
}

// Given is a flag by its name, without dashes. One that was repeated is there
// several times.
type Given struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Argument is a folder or file of photos, or a positions table. The names of
// photos begin with its name. The path leads there from the folder of the note,
// with slashes; of what lies far off it has the last part only.
type Argument struct {
	Name string `json:"name"`
	Path string `json:"path"`
}

// orEmpty has lists where there would be none.
func (c Command) orEmpty() Command {
	c.Flags, c.Arguments = append([]Given{}, c.Flags...), append([]Argument{}, c.Arguments...)
	return c
}

// Recompute is the command that does the audit again and compares, for the
// folder of the note; "" where the note does not tell what was given.
func (n Note) Recompute() string {
	i := slices.IndexFunc(n.Files, func(f File) bool { return f.Role == FiguresRole })
	if i < 0 || len(n.Command.Arguments) == 0 {
		return ""
	}
	words := []string{"selvage verify", n.Files[i].Path}
	if strings.ContainsAny(words[1], " &'()") {
		words[1] = `"` + words[1] + `"`
	}
	for _, up := range []string{"../..", ".."} {
		leads := func(way string) bool { return way == up || strings.HasPrefix(way, up+"/") }
		if slices.ContainsFunc(n.Command.Arguments, func(a Argument) bool { return leads(a.Path) }) ||
			slices.ContainsFunc(n.Command.Flags, func(g Given) bool { return leads(g.Value) }) {
			words = append(words, "--in", up)
			break
		}
	}
	return strings.Join(words, " ")
}
