// Package verify holds the record of an audit against the same audit, done again.
package verify

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"selvage/boundary/finding"
	"selvage/report"
	"selvage/report/compare"
)

// Result holds the record of an audit against the same audit, done again.
type Result struct {
	Name                          string // of the record
	RecordedVersion, FoundVersion string
	Inputs                        []InputCheck
	Values                        int        // that were compared
	Mismatches                    []Mismatch // the most important first
	Reworded                      int        // sentences and keys that differ because the versions do
}

// InputCheck is a file by what was recorded of it and what was read. Either
// hash is empty where the file was not among the inputs.
type InputCheck struct {
	Role, Name      string
	Recorded, Found string // SHA-256 in hexadecimal
}

// Mismatch is a value that did not come out again.
type Mismatch struct {
	Path            string // in the record, as in zones[2].area_m2
	Place           string // in words
	Unit            string // "" without one
	Recorded, Found string // in words
}

// Equal tells whether all files and values are the same.
func (v *Result) Equal() bool { return len(v.Mismatches) == 0 && v.changed() == 0 }

func (v *Result) changed() int {
	n := 0
	for _, i := range v.Inputs {
		if i.Recorded != i.Found {
			n++
		}
	}
	return n
}

// apart are the keys that are compared by themselves or not at all: the version,
// files, and what was given, from which the audit was done again.
var apart = []string{"version", "inputs", "command", "letterhead", "files"}

// order has the keys whose differences come first.
var order = []string{
	"units", "wanted", "parameters", "site_area_m2", "totals", "edge", "zones", "photos", "overlap", "gsd_mm", "points", "certainty", "flown", "refly",
}

// Run compares the record of an audit with the JSON of the audit done again.
func Run(r *compare.Record, recomputed []byte) (*Result, error) {
	before, err := decode(r.Text)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", r.Name, err)
	}
	after, err := decode(recomputed)
	if err != nil {
		return nil, err
	}
	var again compare.Audit
	if err := json.Unmarshal(recomputed, &again); err != nil {
		return nil, err
	}
	v := &Result{
		Name: r.Name, RecordedVersion: brief(r.Audit.Version), FoundVersion: again.Version,
		Inputs: checks(r.Audit.Inputs, again.Inputs),
	}
	for _, object := range []map[string]any{before, after} {
		byName(object)
		for _, key := range apart {
			delete(object, key)
		}
	}
	v.object(before, after, valueAt{}, func(a, b string) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a, b))
	})
	return v, nil
}

func decode(data []byte) (map[string]any, error) {
	var object map[string]any
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	err := d.Decode(&object)
	return object, err
}

// byName turns the list of parameters into an object, without what lay among
// the photos besides: a look into a folder is enough to change that.
func byName(object map[string]any) {
	list, _ := object["parameters"].([]any)
	named, met := map[string]any{}, map[string]int{}
	for _, element := range list {
		p, _ := element.(map[string]any)
		name := fmt.Sprint(p["name"])
		if name == report.NotLookedInto {
			continue
		}
		if met[name]++; met[name] > 1 {
			name += ", again: " + report.Number(met[name])
		}
		named[name] = p["value"]
	}
	object["parameters"] = named
}

func checks(recorded, found []report.Input) []InputCheck {
	var all []InputCheck
	for _, i := range recorded {
		check := InputCheck{brief(i.Role), brief(i.Name), brief(i.SHA256), ""}
		if k := slices.IndexFunc(found, func(f report.Input) bool { return f.Role == i.Role && (f.Name == i.Name || i.Role == "photos") }); k >= 0 {
			check.Found = found[k].SHA256
			found = slices.Delete(slices.Clone(found), k, k+1)
		}
		all = append(all, check)
	}
	for _, f := range found {
		all = append(all, InputCheck{brief(f.Role), brief(f.Name), "", f.SHA256})
	}
	return all
}

func rank(key string) int {
	if i := slices.Index(order, key); i >= 0 {
		return i
	}
	return len(order)
}

// valueAt is where in a record a value stands, and in what it is measured.
type valueAt struct {
	path, words string
	unit        string
	step        float64 // that numbers may differ by
	wording     bool    // another version may choose it otherwise
}

// figureUnits are the ends of keys that tell a unit, longer ones first, with
// one step of the last decimal that is written.
var figureUnits = []struct {
	end, unit string
	step      float64
}{
	{"_m_s", "m/s", 1e-3}, {"_m2", "m²", 1e-2}, {"_mm", "mm", 1e-3}, {"_deg", "°", 1e-3}, {"_px", "px", 1e-3}, {"_m", "m", 1e-3},
	{"exposure_s", "s", 1e-6}, {"_s", "s", 1e-3}, {"minutes", "min", 1e-3},
	{"lon", "°", 1e-8}, {"lat", "°", 1e-8}, {"share", "", 1e-6}, {"shares", "", 1e-6}, {"overlap", "", 1e-6},
}

// sentences are the keys of words.
var sentences = []string{"text", "verdict", "reason", "cause", "parameters"}

func (s valueAt) key(key string, object map[string]any) valueAt {
	s.path = strings.TrimPrefix(s.path+"."+key, ".")
	word := key
	for _, u := range figureUnits {
		if rest, ends := strings.CutSuffix(key, u.end); ends && (u.end[0] == '_' || rest == "" || strings.HasSuffix(rest, "_")) {
			s.unit, s.step = u.unit, u.step
			if u.end[0] == '_' {
				word = rest
			}
			break
		}
	}
	if unit, ok := object["unit"].(string); ok && key == "amount" {
		s.unit, s.step = brief(unit), math.Pow10(-finding.Decimals(unit))
	}
	s.wording = s.wording || slices.Contains(sentences, key)
	s.words = strings.TrimPrefix(s.words+", "+strings.ReplaceAll(brief(word), "_", " "), ", ")
	return s
}

func (s valueAt) element(i int) valueAt {
	s.path += fmt.Sprintf("[%d]", i)
	s.words += " " + report.Number(i+1)
	return s
}

// value compares two values.
func (v *Result) value(before, after any, at valueAt) {
	a, number := before.(json.Number)
	b, numbers := after.(json.Number)
	list, isList := before.([]any)
	lists, areLists := after.([]any)
	object, isObject := before.(map[string]any)
	objects, areObjects := after.(map[string]any)
	switch {
	case isObject && areObjects:
		v.object(object, objects, at, strings.Compare)
		return
	case isList && areLists && len(list) == len(lists):
		for i := range list {
			v.value(list[i], lists[i], at.element(i))
		}
		return
	}
	v.Values++
	switch {
	case number && numbers:
		x, errX := a.Float64()
		y, errY := b.Float64()
		same := a == b // also where it is too large for a float64
		if !same && (errX != nil || errY != nil || !(math.Abs(x-y) <= 1.001*at.step)) {
			v.differ(at, before, after)
		}
	case isList || areLists || isObject || areObjects || before != after:
		v.differ(at, before, after)
	}
}

// absent stands for a key that is not there.
type absent struct{}

func (v *Result) object(before, after map[string]any, at valueAt, order func(a, b string) int) {
	all := maps.Clone(before)
	maps.Copy(all, after)
	delete(all, "said") // again what stands beside it
	for _, key := range slices.SortedFunc(maps.Keys(all), order) {
		a, was := before[key]
		b, is := after[key]
		if was && is {
			v.value(a, b, at.key(key, after))
			continue
		}
		if !was {
			a = absent{}
		}
		if !is {
			b = absent{}
		}
		v.Values++
		where := at.key(key, after)
		where.wording = true
		v.differ(where, a, b)
	}
}

// differ notes a difference. What only tells that another version wrote the
// record is counted.
func (v *Result) differ(at valueAt, before, after any) {
	if at.wording && v.RecordedVersion != v.FoundVersion {
		v.Reworded++
		return
	}
	v.Mismatches = append(v.Mismatches, Mismatch{at.path, at.words, at.unit, standing(before), standing(after)})
}

// standing is a value in the form of JSON, a list by its length.
func standing(value any) string {
	switch value := value.(type) {
	case absent:
		return "nothing"
	case []any:
		return report.Count(len(value), "entry", "entries")
	case map[string]any:
		return "an entry"
	case nil:
		return "not known"
	case string:
		return brief(value)
	}
	return brief(fmt.Sprint(value))
}

// brief is text of a record as it is shown, whatever its length there.
func brief(text string) string { return report.Shortened(report.Clean(text), 120) }
