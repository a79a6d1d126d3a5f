package verify

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"selvage/report"
)

// mostMismatches is how many are shown of each.
const mostMismatches = 20

// Changed says that a file is another one than that recorded, by the SHA-256
// that was found.
func Changed(i report.Input, found string) string {
	return InputCheck{brief(i.Role), brief(i.Name), brief(i.SHA256), found}.sentence()
}

func (c InputCheck) sentence() string {
	name := c.Name + " (" + c.Role + ")"
	if c.Role == "photos" {
		name = c.Name
	}
	switch {
	case c.Recorded == c.Found:
		return name + ": the same"
	case c.Found == "":
		return name + ": not read any more"
	case c.Recorded == "":
		return name + ": read now, and not recorded"
	case c.Role == "photos":
		return fmt.Sprintf("%s are others now: SHA-256 %s recorded, %s found", name, beginning(c.Recorded), beginning(c.Found))
	}
	return fmt.Sprintf("%s is another file now: SHA-256 %s recorded, %s found", name, beginning(c.Recorded), beginning(c.Found))
}

// beginning is as much of a hash as tells it from others.
func beginning(hash string) string {
	const most = 12
	if len(hash) > most {
		return hash[:most] + "…"
	}
	return hash
}

// Verdict is the outcome in one sentence.
func (v *Result) Verdict() string {
	if v.Equal() {
		return fmt.Sprintf("Equal: all %s of %s come out again, from the same files.", report.Count(v.Values, "value", "values"), v.Name)
	}
	if n := v.changed(); n > 0 {
		return fmt.Sprintf("Not equal: %s not as recorded, and %s of %s.", report.Count(n, "input is", "inputs are"), report.Count(len(v.Mismatches), "value differs", "values differ"), report.Number(v.Values))
	}
	return fmt.Sprintf("Not equal: %s of %s, from the same files.", report.Count(len(v.Mismatches), "value differs", "values differ"), report.Number(v.Values))
}

// notes say what the verdict does not.
func (v *Result) notes() []string {
	var notes []string
	if v.RecordedVersion != v.FoundVersion {
		notes = append(notes, fmt.Sprintf("Version %s wrote the note; this is version %s.", v.RecordedVersion, v.FoundVersion))
	}
	if v.Reworded > 0 {
		notes = append(notes, fmt.Sprintf("%s only in words or keys that this version writes otherwise.", report.Count(v.Reworded, "value differs", "values differ")))
	}
	return append(notes, "Numbers count as equal up to one step of the last decimal that is written (0.01 m², 1 mm, 0.00000001°): another kind of processor may round otherwise.")
}

// WriteText writes the outcome for a terminal.
func (v *Result) WriteText(w io.Writer, style report.Style) error {
	out := bufio.NewWriter(w)
	heading := func(s string) { fmt.Fprintf(out, "\n%s\n", style.Bold(s)) }
	paragraph := func(text string) { report.WriteParagraph(out, "  ", text, nil) }
	verdict := style.Good
	if !v.Equal() {
		verdict = style.Bad
	}
	report.WriteParagraph(out, "", v.Verdict(), verdict)
	heading("Inputs")
	for _, i := range v.Inputs[:min(len(v.Inputs), mostMismatches)] {
		paragraph(i.sentence())
	}
	if more := len(v.Inputs) - mostMismatches; more > 0 {
		paragraph("… and " + report.Number(more) + " more; --json lists all")
	}
	if len(v.Mismatches) > 0 {
		heading("Differences")
		for _, d := range v.Mismatches[:min(len(v.Mismatches), mostMismatches)] {
			paragraph(fmt.Sprintf("%s: %s recorded, %s recomputed", d.Place, d.inUnit(d.Recorded), d.inUnit(d.Found)))
		}
		if more := len(v.Mismatches) - mostMismatches; more > 0 {
			paragraph("… and " + report.Number(more) + " more; --json lists all")
		}
	}
	heading("Notes")
	for _, n := range v.notes() {
		paragraph(n)
	}
	return out.Flush()
}

// inUnit adds the unit to a number.
func (d Mismatch) inUnit(value string) string {
	switch _, err := strconv.ParseFloat(value, 64); {
	case err != nil || d.Unit == "":
		return value
	case d.Unit == "°":
		return value + d.Unit
	}
	return value + " " + d.Unit
}

type verificationJSON struct {
	Equal       bool               `json:"equal"`
	Verdict     string             `json:"verdict"`
	Recorded    string             `json:"version_recorded"`
	Found       string             `json:"version_found"`
	Inputs      []inputCheckJSON   `json:"inputs"`
	Values      int                `json:"values"`
	Differences []unequalValueJSON `json:"differences"`
	Reworded    int                `json:"reworded"`
	Notes       []string           `json:"notes"`
}

type inputCheckJSON struct {
	Role     string `json:"role"`
	Name     string `json:"name"`
	Recorded string `json:"sha256_recorded"` // "" where it was not among the inputs, as the following
	Found    string `json:"sha256_found"`
}

type unequalValueJSON struct {
	Path     string `json:"path"`
	Unit     string `json:"unit"`
	Recorded string `json:"recorded"`
	Found    string `json:"found"`
}

// WriteJSON writes the outcome as one JSON object.
func (v *Result) WriteJSON(w io.Writer) error {
	out := verificationJSON{
		Equal: v.Equal(), Verdict: v.Verdict(), Recorded: v.RecordedVersion, Found: v.FoundVersion,
		Inputs: []inputCheckJSON{}, Values: v.Values, Differences: []unequalValueJSON{}, Reworded: v.Reworded, Notes: v.notes(),
	}
	for _, i := range v.Inputs {
		out.Inputs = append(out.Inputs, inputCheckJSON(i))
	}
	for _, d := range v.Mismatches {
		out.Differences = append(out.Differences, unequalValueJSON{d.Path, d.Unit, d.Recorded, d.Found})
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(out)
}
