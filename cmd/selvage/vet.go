package main

import (
	"encoding/json"
	"fmt"
	"io"

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
		about: `Reads the polygons of a boundary file (KML, KMZ, GeoJSON, WKT, a shapefile, GPX
or a CSV table of vertices) and prints a receipt: what is in it, how large it is,
where it lies, everything that is wrong with it, and what mending it changes.
The file is never changed. With --out it also writes NAME-receipt.html and .pdf,
a sheet for the client with a map, and NAME-receipt.txt, the text of an e-mail.
Exit status 1 says that a finding needs an answer.`,
		example: "selvage vet client.kml\n" +
			"selvage vet client.kmz --near 54.7,2.3 --expect-area 12.5ha --out receipt\n" +
			"selvage vet client.zip --crs EPSG:32632 --crossing uncross\n" +
			"selvage vet --explain self-crossing",
		define: defineVet,
	}
}

// vetFlags are the values of the flags.
type vetFlags struct {
	client      *clientFlags
	expected    *expectedFlags
	maxVertices int
	explain     string
	head        *letterheadFlags
	out         *outputs
	csv         bool
	machine     *bool
	units       *unitsValue
}

func defineVet(flags *pflag.FlagSet) action {
	lim := usualLimits()
	f := &vetFlags{expected: defineExpected(flags)}
	flags.IntVar(&f.maxVertices, "max-vertices", 200, "`number` of vertices that the flight controller takes")
	f.client = defineClient(flags, lim)
	flags.StringVar(&f.explain, "explain", "", "tell what a finding's `code` means; all lists the codes")
	f.head = defineLetterhead(flags)
	f.out = outFlags(flags, "`folder` to write the receipt sheet to")
	flags.BoolVar(&f.csv, "csv", false, "also write the tables of the receipt for a spreadsheet, NAME-findings.csv and so on")
	f.machine = jsonFlag(flags)
	f.units = unitsFlag(flags)
	lim.define(flags)
	return f.run
}

func (f *vetFlags) run(t terminal, args []string) (int, error) {
	switch {
	case f.explain != "" && len(args) > 0:
		return 0, misuse("vet", "give a file or --explain, not both")
	case f.explain != "":
		return allWell, explain(t, f.explain, *f.machine)
	case len(args) == 0:
		return 0, misuse("vet", "vet needs a boundary file")
	case len(args) > 1:
		return 0, misuse("vet", "vet takes one boundary file at a time")
	case f.maxVertices < 3:
		return 0, fmt.Errorf("--max-vertices %d: give a number from 3", f.maxVertices)
	case f.out.replace && f.out.folder == "":
		return 0, misuse("vet", "--replace goes with --out")
	case f.csv && f.out.folder == "":
		return 0, misuse("vet", "--csv goes with --out")
	}
	v, err := f.vet(args[0])
	if err != nil {
		return 0, err
	}
	status := statusOf(v.receipt.Findings)
	if *f.machine {
		return status, writeMachine(t.out, v.message())
	}
	return status, v.write(t, f.units.Units)
}

// vetted is what vet found and wrote.
type vetted struct {
	file       *boundary.File
	choices    boundary.Choices
	letterhead report.Letterhead
	receipt    boundary.Receipt
	files      []report.File
}

// vet reads, checks, and writes the receipt sheet where that is asked for.
func (f *vetFlags) vet(path string) (*vetted, error) {
	name := boundary.OutputName(stem(path))
	sheetName, pdfName, mailName := name+"-receipt.html", name+"-receipt.pdf", name+"-receipt.txt"
	head, err := f.head.read()
	if err != nil {
		return nil, err
	}
	f.out.inputs = append([]string{path}, f.head.paths()...)
	tableName := func(t report.Table) string { return name + "-" + t.Name + ".csv" }
	if f.out.folder != "" {
		names := []string{sheetName, pdfName, mailName}
		if f.csv {
			for _, t := range (report.Receipt{}).Tables() {
				names = append(names, tableName(t))
			}
		}
		for _, n := range names {
			if err := f.out.check(n); err != nil {
				return nil, err
			}
		}
	}
	file, err := f.client.read(path)
	if err != nil {
		return nil, err
	}
	expected := f.expected.expected()
	expected.MaxVertices = f.maxVertices
	v := &vetted{file: file, choices: f.client.choices(), letterhead: head}
	v.receipt = boundary.Vet(file, expected, v.choices)
	if f.out.folder == "" {
		return v, nil
	}
	made, err := now()
	if err != nil {
		return nil, err
	}
	sheet := report.Receipt{
		Letterhead: head, Made: made, Tool: "Selvage", Version: version,
		File: file, Receipt: v.receipt, Units: f.units.Units,
	}
	f.out.add("receipt sheet", sheetName, func(w io.Writer) error { return report.WriteReceiptHTML(w, sheet) })
	f.out.add("receipt sheet as PDF", pdfName, func(w io.Writer) error {
		return writePDF(w, sheet.Units, sheet.Made, func(w io.Writer) error { return report.WriteReceiptHTML(w, sheet) })
	})
	f.out.add("text for an e-mail", mailName, func(w io.Writer) error { return report.WriteReceiptText(w, sheet) })
	if f.csv {
		for _, t := range sheet.Tables() {
			f.out.add("table: "+t.About, tableName(t), t.Write)
		}
	}
	v.files = f.out.files()
	return v, f.out.commit()
}

// unitsValue is a flag for the measures that people read; it holds the locale too.
type unitsValue struct{ report.Units }

func (u *unitsValue) Type() string   { return "metric|imperial|both" }
func (u *unitsValue) String() string { return u.Measures.String() }

func (u *unitsValue) Set(s string) (err error) {
	u.Measures, err = report.ParseMeasures(s)
	return err
}

type localeValue struct{ *report.Locale }

func (l localeValue) Type() string { return "tag" }

func (l localeValue) Set(s string) (err error) {
	*l.Locale, err = report.ParseLocale(s)
	return err
}

func unitsFlag(flags *pflag.FlagSet) *unitsValue {
	units := &unitsValue{}
	flags.Var(units, "units", "measures in what people read; both gives metric ones, and imperial ones in brackets")
	flags.Var(localeValue{&units.Locale}, "locale", "signs of figures and form of dates in what people read, as in en-US or de; the text stays English")
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

func (v *vetted) write(t terminal, u report.Units) error {
	file, r := v.file, v.receipt
	fmt.Fprintf(t.out, "%s\n\n", t.style.Bold("Receipt for "+oneLine(file.Name)))
	rows := [][]string{
		{"Format", oneLine(file.Format)},
		{"Coordinates", coordinates(file)},
		{"Parts", u.Number(r.Parts)},
		{"Holes", u.Number(r.Holes)},
		{"Vertices", u.Number(r.Vertices)},
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
	if err := writeFindings(t, u, "Findings", r.Findings); err != nil {
		return err
	}
	if len(r.Findings) == 0 {
		fmt.Fprintf(t.out, "\n%s\n", t.style.Good("Nothing is wrong with it."))
	} else {
		fmt.Fprintf(t.out, "\n%s\n", t.style.Dim("What a code means, and what to ask: selvage vet --explain CODE"))
	}
	writeQuestions(t, r.Site.Questions, v.choices, u)
	writeMends(t, r.Site, false, u)
	if len(v.files) == 0 {
		return nil
	}
	return writeFiles(t, v.files)
}

func writeFindings(t terminal, u report.Units, title string, findings []finding.Finding) error {
	if len(findings) == 0 {
		return nil
	}
	fmt.Fprintf(t.out, "\n%s\n", t.style.Bold(title))
	if err := report.WriteFindings(t.out, u, findings, t.style); err != nil {
		return err
	}
	open := 0
	for _, f := range findings {
		if f.Severity == finding.NeedsAnswer {
			open++
		}
	}
	if open > 0 {
		fmt.Fprintf(t.out, "\n%s\n", t.style.Warn(u.Count(open, "finding needs", "findings need")+" an answer."))
	}
	return nil
}

// coordinates says in which system the numbers of a file were read; what the
// findings of reading say of it is more exact.
func coordinates(file *boundary.File) string {
	const lonLat = "longitude and latitude on WGS 84"
	for _, f := range file.Findings {
		switch f.Code {
		case finding.LooksProjected:
			return "of a system that is not known"
		case finding.Transformed:
			return "brought to " + lonLat
		case finding.NoCRS:
			return "taken as " + lonLat
		}
	}
	return lonLat
}

// decimal is a number in machine output, with no more decimals than are known.
func decimal(x float64, decimals int) json.Number {
	return json.Number(fmt.Sprintf("%.*f", decimals, x))
}

type receiptMessage struct {
	File       string                 `json:"file"`
	Letterhead *report.LetterheadJSON `json:"letterhead"` // null without one
	Format     string                 `json:"format"`
	SHA256     string                 `json:"sha256"`
	Parts      int                    `json:"parts"`
	Holes      int                    `json:"holes"`
	Vertices   int                    `json:"vertices"`
	Area       json.Number            `json:"area_m2"`
	Perimeter  json.Number            `json:"perimeter_m"`
	Bound      []json.Number          `json:"bbox"` // west, south, east, north; null without an area
	Centre     []json.Number          `json:"centre"`
	Findings   []finding.Finding      `json:"findings"`
	Questions  []questionMessage      `json:"questions"`
	Mends      []boundary.Mended      `json:"mends"`
	Files      []report.File          `json:"files"`
}

func (v *vetted) message() receiptMessage {
	file, r := v.file, v.receipt
	m := receiptMessage{
		Letterhead: v.letterhead.JSON(), File: file.Name, Format: file.Format, SHA256: file.SHA256,
		Parts: r.Parts, Holes: r.Holes, Vertices: r.Vertices,
		Area: decimal(r.Area, 2), Perimeter: decimal(r.Perimeter, 3),
		Findings:  append([]finding.Finding{}, r.Findings...),
		Questions: questionsJSON(r.Site.Questions),
		Mends:     append([]boundary.Mended{}, r.Site.Mends...),
		Files:     append([]report.File{}, v.files...),
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
