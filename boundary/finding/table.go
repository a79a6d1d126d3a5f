package finding

import "slices"

//go:generate go test -run ^TestCodesPage$ -update

// Entry describes one code for people. Its texts are whole sentences without
// figures.
type Entry struct {
	Code     Code
	Severity Severity // the usual one
	Meaning  string   // what it says of the file, the site or the photos
	Done     string   // what the tool does about it
	Ask      string   // what to ask the client, or for photos what to do; "" if nothing
}

// Table lists every code once, in the order of the job: reading a file,
// vetting and preparing its shapes, auditing the photos.
var Table = slices.Concat(reading, shape, expanding, photos, flight, terrain, point, audit, certain, refly)
