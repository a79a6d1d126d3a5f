package sequence

import (
	"cmp"
	"path"
	"slices"
	"strconv"
	"strings"
)

// name is what a file name says. Cameras count photos in it: by the standard
// for camera file systems, CIPA DC-009 (JEITA CP-3461), four free characters
// and a number from 0001 to 9999 that then begins anew, in folders DCIM/100XXXXX
// to DCIM/999XXXXX (from memory).
type name struct {
	folder string
	before string // what stands before the number
	after  string // and behind it, the extension left out
	number int    // -1 when there is none
	wrap   int    // the greatest number of so many digits
}

const fewestDigits, mostDigits = 3, 5 // longer numbers are dates and times

// parseName takes the last number of a fitting length as the counter.
func parseName(file string) name {
	folder, base := path.Split(file)
	stem := strings.TrimSuffix(base, path.Ext(base))
	n := name{folder: folder, before: stem, number: -1}
	for end := len(stem); end > 0; {
		for end > 0 && !digit(stem[end-1]) {
			end--
		}
		start := end
		for start > 0 && digit(stem[start-1]) {
			start--
		}
		if digits := end - start; digits >= fewestDigits && digits <= mostDigits {
			n.number, _ = strconv.Atoi(stem[start:end])
			n.before, n.after, n.wrap = stem[:start], stem[end:], 1
			for range digits {
				n.wrap *= 10
			}
			n.wrap--
			break
		}
		end = start
	}
	return n
}

func digit(b byte) bool { return b >= '0' && b <= '9' }

// series is what the files share that one counter counts.
type series struct{ folder, before, after string }

func (n name) series() series { return series{n.folder, n.before, n.after} }

// steps returns how many numbers b is on from a, over the wrap where that is
// the shorter way; below 0 when it lies behind.
func (n name) steps(b name) int {
	step := b.number - n.number
	switch {
	case step < -n.wrap/2:
		return step + n.wrap
	case step > n.wrap/2:
		return step - n.wrap
	}
	return step
}

// nearWrap is how many numbers may be missing where a counter begins anew.
const nearWrap = 50

// ranks returns a place for every name in the order in which cameras count,
// and whether all names have a counter of their own.
func ranks(names []name) (rank []int, counted bool) {
	order := make([]int, len(names))
	for i := range order {
		order[i] = i
	}
	compare := func(i, j int) int {
		a, b := names[i], names[j]
		return cmp.Or(natural(a.folder, b.folder), cmp.Compare(a.before, b.before),
			cmp.Compare(a.after, b.after), cmp.Compare(a.number, b.number))
	}
	slices.SortStableFunc(order, compare)
	counted = true
	for start := 0; start < len(order); {
		end := start + 1
		for end < len(order) && names[order[end]].series() == names[order[start]].series() {
			counted = counted && compare(order[end-1], order[end]) != 0
			end++
		}
		counted = counted && names[order[start]].number >= 0
		unwrap(order[start:end], names)
		start = end
	}
	rank = make([]int, len(names))
	for place, i := range order {
		rank[i] = place
	}
	return rank, counted
}

// unwrap turns a sorted series around, so that it begins where the counter did,
// if it ran over its greatest number.
func unwrap(order []int, names []name) {
	first, last := names[order[0]], names[order[len(order)-1]]
	over := first.number + first.wrap - last.number
	widest, at := nearWrap, 0
	for k := 1; k < len(order); k++ {
		if gap := names[order[k]].number - names[order[k-1]].number; gap > widest {
			widest, at = gap, k
		}
	}
	if at > 0 && over <= nearWrap {
		turned := slices.Concat(order[at:], order[:at])
		copy(order, turned)
	}
}

// natural compares texts with the numbers in them by their value.
func natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		if !digit(x[0]) || !digit(y[0]) {
			if x[0] != y[0] {
				return cmp.Compare(x[0], y[0])
			}
			x, y = x[1:], y[1:]
			continue
		}
		m, n := leadingNumber(x), leadingNumber(y)
		p, q := strings.TrimLeft(x[:m], "0"), strings.TrimLeft(y[:n], "0")
		if c := cmp.Or(cmp.Compare(len(p), len(q)), cmp.Compare(p, q)); c != 0 {
			return c
		}
		x, y = x[m:], y[n:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

func leadingNumber(s string) int {
	n := 0
	for n < len(s) && digit(s[n]) {
		n++
	}
	return n
}

// mostFolders is how many folders are told apart by aircraft.
const mostFolders = 64

// orderByTime sorts by time, and at the same second by name. Folders whose
// times overlap are of two aircraft, one after the other in the order, if a
// single one would have had to fly to and fro between them. stream tells of
// each shot as given which aircraft it is of.
func orderByTime(shots []Shot, names []name, rank []int) (order, stream []int) {
	earlier := func(i, j int) int {
		return cmp.Or(shots[i].Time.Compare(shots[j].Time), rank[i]-rank[j])
	}
	order, stream = make([]int, len(shots)), make([]int, len(shots))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, earlier)
	var folders [][]int
	index := map[string]int{}
	for _, i := range order {
		k, known := index[names[i].folder]
		if !known {
			k = len(folders)
			index[names[i].folder] = k
			folders = append(folders, nil)
		}
		folders[k] = append(folders[k], i)
	}
	if len(folders) == 1 || len(folders) > mostFolders {
		return order, stream
	}
	var flown [][]int // by aircraft
	for _, folder := range folders {
		fits := slices.IndexFunc(flown, func(before []int) bool {
			if earlier(before[len(before)-1], folder[0]) < 0 {
				return true
			}
			const detour = 1.2
			merged := slices.SortedFunc(slices.Values(slices.Concat(before, folder)), earlier)
			return trackLength(shots, merged) <= detour*(trackLength(shots, before)+trackLength(shots, folder))
		})
		if fits < 0 {
			flown = append(flown, folder)
			continue
		}
		flown[fits] = slices.SortedFunc(slices.Values(slices.Concat(flown[fits], folder)), earlier)
	}
	order = order[:0]
	for k, shots := range flown {
		order = append(order, shots...)
		for _, i := range shots {
			stream[i] = k
		}
	}
	return order, stream
}

func trackLength(shots []Shot, order []int) (length float64) {
	for k := 1; k < len(order); k++ {
		length += Distance(shots[order[k-1]].At, shots[order[k]].At)
	}
	return length
}
