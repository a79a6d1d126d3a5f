package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"selvage/cmd/selvage/demo"
	"selvage/report"
)

func demoCommand() command {
	return command{
		name: "demo", summary: "make up a job and do all of it",
		arguments: "[FOLDER]",
		about: `Makes up a client's boundary file and the photos of a flight, with the faults
that such files and flights have, and runs vet, prepare and audit on them. The
folder (selvage-demo, if none is named) must be new, empty, or an earlier demo.
Exit status 0 says that the demo ran, whatever it found.`,
		example: "selvage demo\nselvage demo try-out",
		define: func(*pflag.FlagSet) action {
			return func(t terminal, args []string) (int, error) {
				if len(args) > 1 {
					return 0, misuse("demo", "demo takes one folder")
				}
				folder := "selvage-demo"
				if len(args) == 1 {
					folder = args[0]
				}
				return allWell, runDemo(t, folder)
			}
		},
	}
}

const (
	demoMark = "about-this-demo.txt"
	demoText = `This is a demonstration made by "selvage demo". The job is invented: there is
no such quarry, the place lies in the open sea, and nobody flew there. The
photos are small drawings whose metadata is that of full-size photos.

client/   the boundary file as a client might send it, faults included
photos/   the photos of the flight, with a missed strip and a short edge
job/      what Selvage wrote

Running the demonstration again writes all of this anew.
`
)

func runDemo(t terminal, folder string) error {
	if err := ownDemo(folder); err != nil {
		return err
	}
	shots, err := demo.Shots()
	if err != nil {
		return err
	}
	for _, f := range append([]demo.File{{Name: demoMark, Data: []byte(demoText)}, demo.Client()}, shots...) {
		path := filepath.Join(folder, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			return err
		}
		if err := os.WriteFile(path, f.Data, 0o666); err != nil {
			return err
		}
	}
	fmt.Fprintf(t.out, "An invented job is in %s: a boundary file and %s.\n", folder, report.Count(len(shots), "photo", "photos"))

	name := strings.TrimSuffix(filepath.Base(demo.Boundary), ".kml")
	client := filepath.Join(folder, filepath.FromSlash(demo.Boundary))
	photos := filepath.Join(folder, demo.Photos)
	job := filepath.Join(folder, "job")
	if err := os.Remove(filepath.Join(job, name+"-refly.kml")); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	head := []string{"--operator", demo.Operator, "--client", demo.ClientName}
	for _, line := range [][]string{
		slices.Concat([]string{"vet", client}, head, []string{"--out", job, "--replace"}),
		{"prepare", client, "--buffer", metres(demo.Buffer), "--out", job, "--replace"},
		slices.Concat([]string{"audit", "--job", filepath.Join(job, name+".job.geojson"), photos,
			"--ground", metres(demo.Ground),
			"--overlap", fmt.Sprintf("%d/%d", demo.Forward, demo.Side),
			"--gsd", fmt.Sprintf("%gcm", demo.GSD*100),
			"--min-views", fmt.Sprint(demo.MinViews)}, head, []string{"--replace"}),
	} {
		fmt.Fprintf(t.out, "\n%s\n\n", t.style.Bold("$ selvage "+shellLine(line)))
		status, err := dispatch(t, line)
		if err != nil {
			return err
		}
		fmt.Fprintf(t.out, "\n%s\n", t.style.Dim(fmt.Sprintf("(exit status %d: %s)", status, statusWords(status))))
	}

	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Open these"))
	return report.WriteColumns(t.out, [][]string{
		{"the receipt sheet", filepath.Join(job, name+"-receipt.html"), "in a browser; it goes to the client"},
		{"the coverage note", filepath.Join(job, name+"-coverage.html"), "in a browser; it prints well"},
		{"the flight area", filepath.Join(job, name+"-flight.kml"), "in a map viewer"},
		{"the zones and the edge", filepath.Join(job, name+"-coverage.kml"), "in a map viewer"},
		{"the views", filepath.Join(job, name+"-coverage-views.kmz"), "in a map viewer"},
		{"the areas to fly again", filepath.Join(job, name+"-refly.kml"), "in a map viewer"},
	})
}

// ownDemo reports whether folder may be written to.
func ownDemo(folder string) error {
	entries, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(entries) == 0 {
		return nil
	}
	if err != nil {
		return err
	}
	if mark, err := os.ReadFile(filepath.Join(folder, demoMark)); err != nil || string(mark) != demoText {
		return fmt.Errorf("%s is not empty and not an earlier demo; name another folder", folder)
	}
	return nil
}

func metres(m float64) string { return fmt.Sprintf("%gm", m) }

// shellLine quotes what a shell would otherwise divide.
func shellLine(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		if quoted[i] = w; strings.ContainsAny(w, " '\"()&;$`*?") {
			quoted[i] = "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
		}
	}
	return strings.Join(quoted, " ")
}

func statusWords(status int) string {
	if status == needsAnswer {
		return "something needs an answer, or coverage falls short"
	}
	return "nothing wrong"
}
