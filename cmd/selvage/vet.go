package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/paulmach/orb"
	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/boundary/finding"
	"selvage/report"
)

func vetCommand() command {
	return command{
		name: "vet", summary: "check a client's boundary file and print a receipt",
		arguments: "FILE [flags]",
		about: `Reads the polygons of a KML, KMZ or GeoJSON file and prints a receipt: what is
in it, how large it is, where it lies, and everything that is wrong with it.
Nothing is changed. Exit status 1 says that a finding needs an answer.`,
		example: "selvage vet client.kml\nselvage vet client.kmz --near 54.7,2.3 --expect-area 12.5ha",
		define: func(flags *pflag.FlagSet) action {
			var near place
			var expected area
			var width length
			flags.Var(&near, "near", "where the job is, latitude first, as in 54.7,2.3")
			flags.Var(&expected, "expect-area", "how large the site should be, as in 12.5ha")
			flags.Var(&width, "min-width", "ground narrower than this is pointed out; 1m if not given")
			machine := jsonFlag(flags)
			units := unitsFlag(flags)
			return func(t terminal, args []string) (int, error) {
				if len(args) != 1 {
					return 0, vetMisuse(len(args))
				}
				file, err := readBoundary(args[0])
				if err != nil {
					return 0, err
				}
				receipt := boundary.Vet(file, boundary.Expected{
					Near: near.point, Area: expected.squareMetres, MinWidth: width.metres,
				}, boundary.Choices{})
				status := statusOf(receipt.Findings)
				if *machine {
					return status, writeMachine(t.out, receiptJSON(file, receipt))
				}
				return status, writeReceipt(t, file, receipt, units.Units)
			}
		},
	}
}

func vetMisuse(n int) error {
	if n == 0 {
		return misuse("vet", "vet needs a boundary file")
	}
	return misuse("vet", "vet takes one boundary file at a time")
}

// unitsValue is a flag for the measures that people read.
type unitsValue struct{ report.Units }

func (u *unitsValue) Type() string { return "metric|imperial" }

func (u *unitsValue) Set(s string) (err error) {
	u.Units, err = report.ParseUnits(s)
	return err
}

func unitsFlag(flags *pflag.FlagSet) *unitsValue {
	units := &unitsValue{}
	flags.Var(units, "units", "measures in what people read")
	return units
}

func jsonFlag(flags *pflag.FlagSet) *bool {
	return flags.Bool("json", false, "print one JSON object instead of text")
}

func statusOf(findings []finding.Finding) int {
	if finding.Worst(findings) == finding.NeedsAnswer {
		return needsAnswer
	}
	return allWell
}

// readBoundary reads a client's file, whose base name labels its findings.
func readBoundary(path string) (*boundary.File, error) {
	data, err := readAtMost(path, boundary.DefaultLimits.Bytes)
	if err != nil {
		return nil, err
	}
	return boundary.Read(filepath.Base(path), data, boundary.Options{})
}

// readAtMost reads a file whole, or one byte more than most allows, so that
// whoever gets the bytes can tell that it is too large.
func readAtMost(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most+1))
}

func writeReceipt(t terminal, file *boundary.File, r boundary.Receipt, u report.Units) error {
	fmt.Fprintf(t.out, "%s\n\n", t.style.Bold("Receipt for "+oneLine(file.Name)))
	rows := [][]string{
		{"Format", file.Format},
		{"Parts", report.Number(r.Parts)},
		{"Holes", report.Number(r.Holes)},
		{"Vertices", report.Number(r.Vertices)},
	}
	if r.Area > 0 {
		rows = append(rows, [][]string{
			{"Area", u.AreaBoth(r.Area)},
			{"Perimeter", u.Distance(r.Perimeter)},
			{"South-west", report.Position(r.Bound.Min)},
			{"North-east", report.Position(r.Bound.Max)},
			{"Centre", report.Position(r.Centre)},
		}...)
	}
	rows = append(rows, []string{"SHA-256", file.SHA256})
	if err := report.WriteColumns(t.out, rows); err != nil {
		return err
	}
	if len(r.Findings) == 0 {
		fmt.Fprintf(t.out, "\n%s\n", t.style.Good("Nothing is wrong with it."))
		return nil
	}
	return writeFindings(t, "Findings", r.Findings)
}

func writeFindings(t terminal, title string, findings []finding.Finding) error {
	if len(findings) == 0 {
		return nil
	}
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold(title))
	if err := report.WriteFindings(t.out, findings, t.style); err != nil {
		return err
	}
	open := 0
	for _, f := range findings {
		if f.Severity == finding.NeedsAnswer {
			open++
		}
	}
	if open > 0 {
		fmt.Fprintf(t.out, "\n%s\n", t.style.Warn(report.Count(open, "finding needs", "findings need")+" an answer."))
	}
	return nil
}

// decimal is a number in machine output, with no more decimals than are known.
func decimal(x float64, decimals int) json.Number {
	return json.Number(fmt.Sprintf("%.*f", decimals, x))
}

type receiptMessage struct {
	File      string            `json:"file"`
	Format    string            `json:"format"`
	SHA256    string            `json:"sha256"`
	Parts     int               `json:"parts"`
	Holes     int               `json:"holes"`
	Vertices  int               `json:"vertices"`
	Area      json.Number       `json:"area_m2"`
	Perimeter json.Number       `json:"perimeter_m"`
	Bound     []json.Number     `json:"bbox"` // west, south, east, north; null without an area
	Centre    []json.Number     `json:"centre"`
	Findings  []finding.Finding `json:"findings"`
}

func receiptJSON(file *boundary.File, r boundary.Receipt) receiptMessage {
	m := receiptMessage{
		File: file.Name, Format: file.Format, SHA256: file.SHA256,
		Parts: r.Parts, Holes: r.Holes, Vertices: r.Vertices,
		Area: decimal(r.Area, 2), Perimeter: decimal(r.Perimeter, 3),
		Findings: append([]finding.Finding{}, r.Findings...),
	}
	if r.Area > 0 {
		m.Bound = degrees(r.Bound.Min, r.Bound.Max)
		m.Centre = degrees(r.Centre)
	}
	return m
}

func degrees(points ...orb.Point) []json.Number {
	var out []json.Number
	for _, p := range points {
		out = append(out, decimal(p.Lon(), 8), decimal(p.Lat(), 8))
	}
	return out
}

func writeMachine(w io.Writer, message any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(message)
}
