// Package finding is the vocabulary in which every part of Selvage says what
// it noticed: a stable code, how grave it is, where it is, and a sentence.
package finding

import "slices"

// A Code names one kind of finding. Codes are kebab-case and never change
// their meaning once published; Table lists them all.
type Code string

// Severity says what a finding asks of the reader.
type Severity string

const (
	Note        Severity = "note"         // worth knowing; nothing to do
	Mended      Severity = "mended"       // a fault that the tool mends by itself
	NeedsAnswer Severity = "needs-answer" // somebody must decide before the job goes on
)

// Place is where a finding lies. Feature, Part, Ring and Vertex count from 1,
// 0 means "does not apply"; ring 1 of a part is its outline, the others its
// holes. Line and Column count from 1 in the file's text.
type Place struct {
	File         string
	Line, Column int
	Feature      int
	Name         string // of the feature, as the file has it
	Part         int    // polygon within the feature
	Ring         int
	Vertex       int
	Located      bool    // whether Lon and Lat are set
	Lon, Lat     float64 // degrees, WGS 84
}

// Finding is one thing noticed. Text is a whole sentence that a client
// understands; Amount and Unit repeat its leading number for machines.
type Finding struct {
	Code     Code
	Severity Severity
	Place    Place
	Text     Text
	Amount   float64
	Unit     string
}

// At returns p with its position set to lon, lat (degrees).
func (p Place) At(lon, lat float64) Place {
	p.Located, p.Lon, p.Lat = true, lon, lat
	return p
}

// rising lists the severities from the least.
var rising = []Severity{Note, Mended, NeedsAnswer}

// Gravest orders findings so that what needs an answer comes first.
func Gravest(a, b Finding) int {
	return slices.Index(rising, b.Severity) - slices.Index(rising, a.Severity)
}

// Worst returns the gravest severity among fs, Note when there are none.
func Worst(fs []Finding) Severity {
	if len(fs) == 0 {
		return Note
	}
	return slices.MinFunc(fs, Gravest).Severity
}
