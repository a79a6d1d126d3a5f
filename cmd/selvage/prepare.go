package main

import (
	"encoding/json"
	"fmt"
	"io"
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
		arguments: "FILE --buffer LENGTH --out FOLDER [flags]",
		about: `Mends the client's boundary (the site area), extends it on the ground by the
buffer (the flight area), proves that nothing of the site area was lost, and
writes NAME-flight.kml for the flight controller and NAME.job.geojson, the job
record from which the audit starts. The client's file is never written to.
Exit status 1 says that a finding needs an answer; the files are written all
the same.`,
		example: "selvage prepare client.kml --buffer 30m --out job\n" +
			"selvage prepare client.kml --buffer 100ft --join mitre --crossing uncross --out job",
		define: definePrepare,
	}
}

func definePrepare(flags *pflag.FlagSet) action {
	var buffer length
	joins := join{plane.Round}
	flags.Var(&buffer, "buffer", "how far to extend the site area, as in 30m or 100ft")
	flags.Var(&joins, "join", "how the flight area turns the site's corners")
	expected, client := defineExpected(flags), defineClient(flags)
	out := outFlags(flags, "`folder` to write to")
	machine := jsonFlag(flags)
	units := unitsFlag(flags)
	return func(t terminal, args []string) (int, error) {
		switch {
		case len(args) == 0:
			return 0, misuse("prepare", "prepare needs a boundary file")
		case len(args) > 1:
			return 0, misuse("prepare", "prepare takes one boundary file at a time")
		case !buffer.given:
			return 0, misuse("prepare", "prepare needs a buffer, as in --buffer 30m or --buffer 100ft")
		case out.folder == "":
			return 0, misuse("prepare", "prepare needs a folder to write to, as in --out job")
		}
		p, err := prepare(args[0], client, expected.expected(), boundary.Margin{Buffer: buffer.metres, Join: joins.Join}, *out)
		if err != nil {
			return 0, err
		}
		if *machine {
			return statusOf(p.findings()), writeMachine(t.out, p.message())
		}
		return statusOf(p.findings()), p.write(t, units.Units)
	}
}

// join is a flag for plane.Join.
type join struct{ plane.Join }

func (j *join) Type() string { return "round|mitre" }

func (j *join) String() string { return joinName(j.Join) }

func (j *join) Set(s string) error {
	for _, known := range []plane.Join{plane.Round, plane.Mitre} {
		if s == joinName(known) {
			j.Join = known
			return nil
		}
	}
	return fmt.Errorf("%s: a join is round or mitre", s)
}

func joinName(j plane.Join) string {
	if j == plane.Mitre {
		return "mitre"
	}
	return "round"
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
	margin  boundary.Margin
	receipt boundary.Receipt
	site    boundary.Site // of the receipt
	flight  boundary.Flight
	files   []report.File
}

// prepare reads, mends, extends and writes.
func prepare(path string, client *clientFlags, expected boundary.Expected, margin boundary.Margin, out outputs) (*prepared, error) {
	name := stem(path)
	flightName, jobName := name+"-flight.kml", name+".job.geojson"
	out.inputs = []string{path}
	for _, n := range []string{flightName, jobName} {
		if err := out.check(n); err != nil {
			return nil, err
		}
	}
	file, err := client.read(path)
	if err != nil {
		return nil, err
	}
	p := &prepared{file: file, choices: client.choices(), margin: margin}
	p.receipt = boundary.Vet(file, expected, p.choices)
	p.site = p.receipt.Site
	if len(p.site.Areas) == 0 {
		return nil, noArea(file, p.site)
	}
	if p.flight, err = boundary.Expand(p.site, margin); err != nil {
		return nil, fmt.Errorf("%s: %w", file.Name, err)
	}
	out.add("flight area", flightName, func(w io.Writer) error {
		return boundary.WriteKML(w, name+", flight area", p.flight.Areas)
	})
	out.add("job record", jobName, func(w io.Writer) error {
		return boundary.WriteJob(w, p.job())
	})
	p.files = out.files()
	return p, out.commit()
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
	return append(append([]finding.Finding{}, p.receipt.Findings...), p.flight.Findings...)
}

// otherFindings are those that are not listed as mends already, the gravest first.
func (p *prepared) otherFindings() []finding.Finding {
	all := slices.DeleteFunc(p.findings(), func(f finding.Finding) bool {
		return f.Severity == finding.Mended && slices.ContainsFunc(p.site.Mends, func(m boundary.Mended) bool {
			a, b := f.Place, m.Place
			return f.Code == m.Code && a.Feature == b.Feature && a.Part == b.Part && a.Ring == b.Ring
		})
	})
	slices.SortStableFunc(all, func(a, b finding.Finding) int { return grave(b) - grave(a) })
	return all
}

func grave(f finding.Finding) int {
	return slices.Index([]finding.Severity{finding.Note, finding.Mended, finding.NeedsAnswer}, f.Severity)
}

func (p *prepared) job() boundary.Job {
	return boundary.Job{
		ToolVersion: version,
		ClientFile:  p.file.Name, ClientSHA256: p.file.SHA256,
		Buffer: p.margin.Buffer, Join: joinName(p.margin.Join), MitreLimit: p.margin.MitreLimit,
		ClientArea: p.site.AreaBefore, SiteArea: p.site.Area, FlightArea: p.flight.Area,
		MinDistance: p.flight.MinDistance,
		Client:      p.file.Parts, Site: p.site.Areas, Flight: p.flight.Areas,
		Findings: p.findings(), Mends: p.site.Mends,
	}
}

func (p *prepared) write(t terminal, u report.Units) error {
	fmt.Fprintf(t.out, "%s\n\n", t.style.Bold("Prepared "+oneLine(p.file.Name)))
	err := report.WriteColumns(t.out, [][]string{
		{"Client area", u.AreaBoth(p.site.AreaBefore), "as drawn"},
		{"Site area", u.AreaBoth(p.site.Area), "mended"},
		{"Flight area", u.AreaBoth(p.flight.Area), fmt.Sprintf("extended by %s, %s joins, %s",
			u.Length(p.margin.Buffer), joinName(p.margin.Join), report.Count(p.flight.Vertices, "vertex", "vertices"))},
	})
	if err != nil {
		return err
	}
	writeMends(t, p.site, true, u)
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Proof"))
	proof := fmt.Sprintf("The flight area is valid and contains the whole site area; its edge keeps at least %.2f m from the site area's, %g m were asked.",
		p.flight.MinDistance, p.margin.Buffer)
	if u == report.Imperial {
		proof = fmt.Sprintf("The flight area is valid and contains the whole site area; its edge keeps at least %.2f ft from the site area's, %.4g ft were asked.",
			p.flight.MinDistance/foot, p.margin.Buffer/foot)
	}
	for _, line := range report.Wrap(proof, 76) {
		fmt.Fprintf(t.out, "  %s\n", t.style.Good(line))
	}
	if err := writeFindings(t, "Findings", p.otherFindings()); err != nil {
		return err
	}
	writeQuestions(t, p.site.Questions, p.choices, u)
	if statusOf(p.findings()) == needsAnswer {
		fmt.Fprintln(t.out, "The files are written as described above; have the answer before they are flown.")
	}
	return writeFiles(t, p.files)
}

func writeFiles(t terminal, files []report.File) error {
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold("Files"))
	var rows [][]string
	for _, f := range files {
		rows = append(rows, []string{f.Role, oneLine(f.Path)})
	}
	return report.WriteColumns(t.out, rows)
}

type preparedMessage struct {
	ClientArea  json.Number       `json:"client_area_m2"`
	SiteArea    json.Number       `json:"site_area_m2"`
	FlightArea  json.Number       `json:"flight_area_m2"`
	Buffer      json.Number       `json:"buffer_m"`
	MinDistance json.Number       `json:"min_distance_m"`
	Vertices    int               `json:"vertices"`
	Findings    []finding.Finding `json:"findings"`
	Questions   []questionMessage `json:"questions"`
	Mends       []boundary.Mended `json:"mends"`
	Files       []report.File     `json:"files"`
}

func (p *prepared) message() preparedMessage {
	return preparedMessage{
		ClientArea: decimal(p.site.AreaBefore, 2), SiteArea: decimal(p.site.Area, 2), FlightArea: decimal(p.flight.Area, 2),
		Buffer: decimal(p.margin.Buffer, 4), MinDistance: decimal(p.flight.MinDistance, 4),
		Vertices: p.flight.Vertices,
		Findings: p.findings(), Questions: questionsJSON(p.site.Questions),
		Mends: append([]boundary.Mended{}, p.site.Mends...), Files: p.files,
	}
}
