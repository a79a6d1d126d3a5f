package main

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/report"
)

func prepareCommand() command {
	return command{
		name: "prepare", summary: "mend a boundary, extend it, and write the flight area",
		arguments: "FILE --buffer LENGTH|auto --out FOLDER [flags]",
		about: `Mends the client's boundary (the site area), extends it on the ground by the
buffer (the flight area), takes keep-out areas away, simplifies it outwards to
what a flight controller takes, and proves that nothing of the site area or its
margin was lost. A feature with a property named buffer, such as 30m or 100ft,
brings a buffer of its own; an area that is shrunk (-5m) is simplified outwards
too, but never past the site's edge. Writes NAME-flight.kml for the flight
controller, which is read back and proved again, and NAME.job.geojson, the job
record from which the audit starts. The client's file is never written to. Exit
status 1 says that a finding needs an answer; the files are written all the same.`,
		example: "selvage prepare client.kml --buffer 30m --out job\n" +
			"selvage prepare client.kml --buffer 100ft --join mitre --crossing uncross --out job\n" +
			"selvage prepare client.kml --buffer auto --sample IMG_0001.jpg --height 80m --overlap 75/70 --out job\n" +
			"selvage prepare client.kml --buffer 30m --margin North:50m --margin-along road.kml:5m --keep-out pond.kml:10m --out job\n" +
			"selvage prepare client.kml --buffer 30m --format kml,kmz --split --out job --sd E:\\",
		define: definePrepare,
	}
}

// prepareFlags are the values of the flags.
type prepareFlags struct {
	margin   *marginFlags
	flight   *flightFlags
	expected *expectedFlags
	client   *clientFlags
	machine  *bool
	units    *unitsValue
}

func definePrepare(flags *pflag.FlagSet) action { return newPrepareFlags(flags).run }

func newPrepareFlags(flags *pflag.FlagSet) *prepareFlags {
	lim := usualLimits()
	f := &prepareFlags{margin: defineMargin(flags, lim), flight: defineFlight(flags)}
	f.expected, f.client = defineExpected(flags), defineClient(flags, lim)
	f.machine = jsonFlag(flags)
	f.units = unitsFlag(flags)
	lim.define(flags)
	return f
}

func (f *prepareFlags) run(t terminal, args []string) (int, error) {
	switch {
	case len(args) == 0:
		return 0, misuse("prepare", "prepare needs a boundary file")
	case len(args) > 1:
		return 0, misuse("prepare", "prepare takes one boundary file at a time")
	case !f.margin.buffer.given:
		return 0, misuse("prepare", "prepare needs a buffer, as in --buffer 30m or --buffer 100ft, or --buffer auto")
	case f.flight.out.folder == "":
		return 0, misuse("prepare", "prepare needs a folder to write to, as in --out job")
	}
	if err := f.margin.check(); err != nil {
		return 0, misuse("prepare", err.Error())
	}
	p, err := f.prepare(args[0])
	if err != nil {
		return 0, err
	}
	for _, old := range p.earlier {
		fmt.Fprintf(t.err, "selvage: %s is from an earlier run; it is no part of this flight area\n", oneLine(old))
	}
	if *f.machine {
		return statusOf(p.findings()), writeMachine(t.out, p.message())
	}
	return statusOf(p.findings()), p.write(t, f.units.Units)
}

// join is a flag for plane.Join.
type join struct{ plane.Join }

func (j *join) Type() string { return "round|mitre" }

func (j *join) Set(s string) error {
	for _, known := range []plane.Join{plane.Round, plane.Mitre} {
		if s == known.String() {
			j.Join = known
			return nil
		}
	}
	return fmt.Errorf("%s: a join is round or mitre", s)
}

// outFlags are those of every command that writes files.
func outFlags(flags *pflag.FlagSet, usage string) *outputs {
	out := &outputs{}
	flags.StringVar(&out.folder, "out", "", usage)
	flags.BoolVar(&out.replace, "replace", false, "write files anew that are already there")
	return out
}

// prepared is what prepare made.
type prepared struct {
	file    *boundary.File
	choices boundary.Choices
	asked   asked
	receipt boundary.Receipt
	site    boundary.Site // of the receipt
	flight  boundary.Flight
	effect  boundary.Effect
	files   []report.File
	earlier []string // files of an earlier run that lie beside them
}

// prepare reads, mends, extends and writes.
func (f *prepareFlags) prepare(path string) (*prepared, error) {
	name := boundary.OutputName(stem(path))
	out, jobName := f.flight.out, name+".job.geojson"
	formats, split := f.flight.formats.orUsual(), f.flight.split || f.margin.keepSeparate
	out.inputs = []string{path}
	if err := f.checkPlaces(name, jobName, formats, split); err != nil {
		return nil, err
	}
	p, err := f.expand(path, f.vet)
	if err != nil {
		return nil, err
	}
	out.inputs = append(out.inputs, p.asked.files...)
	files, err := flightFiles(name, p.flight.Areas, split)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", p.file.Name, err)
	}
	out.addFlight("flight area", files, formats, p.site, p.asked.Margin)
	out.addProved("job record", jobName,
		func(w io.Writer) error { return boundary.WriteJob(w, p.job()) },
		func(data []byte) error {
			_, err := boundary.ReadJob(data, f.client.limits.shapes)
			return err
		})
	p.files = out.files()
	return p, f.commit(p, name, files, formats)
}

// vet reads the client's file and mends it.
func (f *prepareFlags) vet(path string) (*boundary.File, boundary.Receipt, error) {
	file, err := f.client.read(path)
	if err != nil {
		return nil, boundary.Receipt{}, err
	}
	if f.margin.ignore {
		file.IgnoreBuffers()
	}
	return file, boundary.Vet(file, f.expected.expected(), f.client.choices()), nil
}

// expand extends what vet makes of the client's file. It writes nothing.
func (f *prepareFlags) expand(path string, vet func(path string) (*boundary.File, boundary.Receipt, error)) (*prepared, error) {
	asked, err := f.margin.read()
	if err != nil {
		return nil, err
	}
	file, receipt, err := vet(path)
	if err != nil {
		return nil, err
	}
	p := &prepared{file: file, choices: f.client.choices(), asked: asked, receipt: receipt, site: receipt.Site}
	if len(p.site.Areas) == 0 {
		return nil, noArea(file, p.site)
	}
	if err := asked.checkNames(p.site); err != nil {
		return nil, err
	}
	if p.flight, err = boundary.Expand(p.site, asked.Margin); err != nil {
		return nil, fmt.Errorf("%s: %w", file.Name, err)
	}
	slices.SortStableFunc(p.flight.Short, func(a, b boundary.ShortEdge) int {
		return cmp.Or(a.Part-b.Part, a.Ring-b.Ring, cmp.Compare(a.From, b.From))
	})
	if p.effect, err = boundary.EffectOf(p.site, asked.Margin, p.flight); err != nil {
		return nil, fmt.Errorf("%s: %w", file.Name, err)
	}
	return p, nil
}

// checkPlaces finds early what would keep files from being written.
func (f *prepareFlags) checkPlaces(name, jobName string, formats []string, split bool) error {
	out, card := f.flight.out, f.flight.card
	var names []string
	if !split {
		for _, format := range formats {
			names = append(names, flightName(name)+"."+format)
		}
	}
	for _, n := range append(names, jobName) {
		if err := out.check(n); err != nil {
			return err
		}
	}
	if card == "" {
		return nil
	}
	if info, err := os.Stat(card); err != nil {
		return fmt.Errorf("the card's folder %s cannot be used: %w", card, plain(err))
	} else if !info.IsDir() {
		return fmt.Errorf("%s is a file, not a card's folder", card)
	}
	return differ(out.folder, card)
}

// commit writes the files, those on the card first: should it be full or gone,
// then nothing is written.
func (f *prepareFlags) commit(p *prepared, name string, files []flightFile, formats []string) error {
	out := f.flight.out
	for _, planned := range out.planned {
		if err := out.check(planned.name); err != nil {
			return err
		}
	}
	p.earlier = out.earlier(name)
	if f.flight.card != "" {
		card := &outputs{folder: f.flight.card, flag: "--sd", replace: out.replace, inputs: out.inputs}
		card.addFlight("on the card", files, formats, p.site, p.asked.Margin)
		p.earlier = append(p.earlier, card.earlier(name)...)
		p.files = append(p.files, card.files()...)
		if err := card.commitToCard(freeSpace); err != nil {
			return err
		}
	}
	return out.commit()
}

// noArea is boundary.ErrNoArea with what stood in the way.
func noArea(file *boundary.File, site boundary.Site) error {
	for _, f := range site.Findings {
		if f.Severity == finding.NeedsAnswer {
			return fmt.Errorf("%s: %w, so nothing is written. %s", file.Name, boundary.ErrNoArea, f.Text)
		}
	}
	return fmt.Errorf("%s: %w, so nothing is written", file.Name, boundary.ErrNoArea)
}

// stem is a file's name without its folder and its last extension.
func stem(path string) string {
	base := filepath.Base(path)
	if s := strings.TrimSuffix(base, filepath.Ext(base)); s != "" {
		return s
	}
	return base
}

func (p *prepared) findings() []finding.Finding {
	return slices.Concat(p.receipt.Findings, p.asked.findings, p.flight.Findings)
}

// otherFindings are those that are not told elsewhere already, as mends or as
// stretches of the edge, the gravest first.
func (p *prepared) otherFindings() []finding.Finding {
	all := slices.DeleteFunc(p.findings(), func(f finding.Finding) bool {
		return f.Code == finding.MarginLost || f.Severity == finding.Mended && slices.ContainsFunc(p.site.Mends, func(m boundary.Mended) bool {
			a, b := f.Place, m.Place
			return f.Code == m.Code && cmp.Or(a.File, b.File) == b.File && a.Feature == b.Feature && a.Part == b.Part && a.Ring == b.Ring
		})
	})
	slices.SortStableFunc(all, finding.Gravest)
	return all
}

func (p *prepared) job() boundary.Job {
	m := p.asked.Margin
	return boundary.Job{
		ToolVersion: version,
		ClientFile:  p.file.Name, ClientSHA256: p.file.SHA256,
		Buffer: m.Buffer, Join: m.Join.String(), MitreLimit: m.MitreLimit,
		Margins: p.margins(), MaxVertices: m.MaxVertices,
		ClientArea: p.site.AreaBefore, SiteArea: p.site.Area, FlightArea: p.flight.Area,
		MinDistance: p.flight.MinDistance,
		Client:      p.file.Parts, Site: p.site.Areas, Flight: p.flight.Areas, KeepOut: m.KeepOut,
		Findings: p.findings(), Mends: p.site.Mends,
	}
}

// margins lists the buffers besides the job's.
func (p *prepared) margins() []boundary.OwnMargin { return p.asked.OwnMargins(p.site) }
