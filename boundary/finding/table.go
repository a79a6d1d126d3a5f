package finding

import "slices"

// Entry describes one code for people.
type Entry struct {
	Code     Code
	Severity Severity // the usual one
	Meaning  string   // one sentence, no figures
}

// Table lists every code once, in the order of the job: reading a file,
// vetting and preparing its shapes, auditing the photos.
var Table = slices.Concat(reading, shape, expanding, audit)
