package main

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/report"
	"selvage/report/page"
)

// engine does the desk's work with the program's own commands.
type engine struct {
	sync.Mutex
	vetted vettedFile // the last
}

// vettedFile is what the client's file was found to be.
type vettedFile struct {
	args    []string
	sum     string
	file    *boundary.File
	receipt boundary.Receipt
}

// readingFlags say how the client's file is read and judged.
var readingFlags = []string{"crs", "close-path", "crossing", "hole", "parts", "tolerate", "near", "expect-area", "min-width", "ignore-buffers"}

// Remember keeps the folder of the jobs for the next desk.
func (e *engine) Remember(folder string) error {
	path, err := rememberedFolder()
	if err != nil {
		return err
	}
	out := &outputs{folder: filepath.Dir(path), replace: true}
	out.add("folder of the jobs", filepath.Base(path), func(w io.Writer) error {
		_, err := io.WriteString(w, folder+"\n")
		return err
	})
	return out.commit()
}

// rememberedFolder is the file that names the folder of the jobs.
func rememberedFolder() (string, error) {
	config, err := os.UserConfigDir()
	return filepath.Join(config, "selvage", "jobs-folder.txt"), err
}

func (e *engine) Letterhead(path string) (map[string]string, error) { return readLetterhead(path) }

func (e *engine) Cards() []string { return cards() }

func (e *engine) Run(args []string) ([]byte, int, error) {
	var out bytes.Buffer
	status, err := dispatch(terminal{out: &out, err: io.Discard}, args)
	return out.Bytes(), status, err
}

// Draw is fast enough to follow somebody who types: the client's file is vetted
// anew only when it, or what says how to read it, is another.
func (e *engine) Draw(args []string) (any, error) {
	flags := pflag.NewFlagSet("prepare", pflag.ContinueOnError)
	f := newPrepareFlags(flags)
	if err := parse(flags, "prepare", args[1:]); err != nil {
		return nil, err
	}
	if err := f.margin.check(); err != nil {
		return nil, err
	}
	if !f.margin.buffer.given {
		return nil, errors.New("the buffer is not known yet")
	}
	p, err := f.expand(flags.Arg(0), func(path string) (*boundary.File, boundary.Receipt, error) {
		return e.vet(f, flags, path)
	})
	if err != nil {
		return nil, err
	}
	return p.drawing(f.units.Units), nil
}

// drawing is what prepare would make, with a map of it.
type drawing struct {
	preparedMessage
	Proof string   `json:"proof"`
	Parts []string `json:"part_names"` // of the site area
	Words struct {
		Site       string `json:"site"`
		Flight     string `json:"flight"`
		Simplified string `json:"simplified"`
	} `json:"words"`
	Map page.Map `json:"map"`
}

func (p *prepared) drawing(u report.Units) drawing {
	d := drawing{preparedMessage: p.message(), Proof: p.proof(u), Parts: append([]string{}, p.site.PartNames()...)}
	d.Words.Site, d.Words.Flight, d.Words.Simplified = u.AreaBoth(p.site.Area), u.AreaBoth(p.flight.Area), u.Area(p.flight.Simplified)
	f := report.FlightArea{
		Name: p.file.Name, Site: p.site.Shape(), Flight: p.flight.Shape(),
		SiteSize: p.site.Area, FlightSize: p.flight.Area, Short: p.flight.Short, Units: u,
	}
	for _, k := range p.asked.KeepOut {
		f.KeepOut = append(f.KeepOut, k.Shape...)
	}
	d.Map = report.FlightMap(f)
	return d
}

func (e *engine) vet(f *prepareFlags, flags *pflag.FlagSet, path string) (*boundary.File, boundary.Receipt, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, boundary.Receipt{}, err
	}
	how := []string{path}
	for _, name := range readingFlags {
		if flag := flags.Lookup(name); flag.Changed {
			how = append(how, name, flag.Value.String())
		}
	}
	e.Lock()
	defer e.Unlock()
	if sum := sum(data); sum != e.vetted.sum || !slices.Equal(how, e.vetted.args) {
		file, receipt, err := f.vet(path)
		if err != nil {
			return nil, boundary.Receipt{}, err
		}
		e.vetted = vettedFile{how, sum, file, receipt}
	}
	return e.vetted.file, e.vetted.receipt, nil
}
