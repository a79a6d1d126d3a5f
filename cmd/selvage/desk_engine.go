package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/report"
	"selvage/report/page"
)

// engine does the desk's work with the program's own commands.
type engine struct {
	host string // at which the desk is

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

// Announce writes down where the desk that holds a folder can be opened, in a
// file that this user alone can read. Without it the next desk over the folder
// cannot show the page of this one, which is no fault to stop for.
func (e *engine) Announce(folder, desk, opening string) {
	path, err := announcement(folder)
	if err != nil {
		return
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return
	}
	_ = os.Remove(path) // another's rights to it, too
	_ = os.WriteFile(path, []byte(desk+"\nhttp://"+e.host+opening+"\n"), 0o600)
}

// announced is the address of the page of a desk that holds a folder, or empty.
func announced(folder, desk string) string {
	path, err := announcement(folder)
	if err != nil {
		return ""
	}
	data, err := readAtMost(path, 1<<12)
	if err != nil {
		return ""
	}
	name, address, _ := strings.Cut(strings.TrimSpace(string(data)), "\n")
	if desk == "" || name != desk || !strings.HasPrefix(address, "http://127.0.0.1:") {
		return ""
	}
	return address
}

func announcement(folder string) (string, error) {
	path, err := rememberedFolder()
	return filepath.Join(filepath.Dir(path), "open", sum([]byte(folder))[:16]+".txt"), err
}

func (e *engine) Letterhead(path string) (map[string]string, error) { return readLetterhead(path) }

func (e *engine) Cards() []string { return cards() }

func (e *engine) Run(args []string) ([]byte, int, error) {
	if args[0] == "plan" {
		return e.plan(args)
	}
	var out bytes.Buffer
	status, err := dispatch(terminal{out: &out, err: io.Discard}, args)
	return out.Bytes(), status, err
}

// plan answers with the figures in words too.
func (e *engine) plan(args []string) ([]byte, int, error) {
	flags := pflag.NewFlagSet("plan", pflag.ContinueOnError)
	f := newPlanFlags(flags)
	if err := parse(flags, "plan", args[1:]); err != nil {
		return nil, 0, err
	}
	p, err := f.plan()
	if err != nil {
		return nil, 0, err
	}
	out, err := json.Marshal(struct {
		planMessage
		Rows [][]string `json:"rows"`
	}{p.message(), p.rows(f.units.Units)})
	return out, statusOf(p.findings()), err
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
		Site       string     `json:"site"`
		Flight     string     `json:"flight"`
		Simplified string     `json:"simplified"`
		Derived    string     `json:"derived,omitempty"`
		Short      [][]string `json:"short"` // rows of a table
		Findings   []string   `json:"findings"`
	} `json:"words"`
	Map page.Map `json:"map"`
}

func (p *prepared) drawing(u report.Units) drawing {
	d := drawing{preparedMessage: p.message(), Proof: p.proof(u), Parts: append([]string{}, p.site.PartNames()...)}
	d.Words.Site, d.Words.Flight, d.Words.Simplified = u.AreaBoth(p.site.Area), u.AreaBoth(p.flight.Area), u.Area(p.flight.Simplified)
	if p.asked.derived != nil {
		r := p.asked.derived.result
		d.Words.Derived = u.Length(r.Along) + " along, " + u.Length(r.Across) + " across; " + u.Length(r.Buffer) + " used"
	}
	d.Words.Short, d.Words.Findings = p.shortRows(p.flight.Short, u), []string{}
	for _, f := range p.findings() {
		d.Words.Findings = append(d.Words.Findings, u.Sentence(f.Text))
	}
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
