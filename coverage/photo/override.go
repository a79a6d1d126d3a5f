package photo

import (
	"math"
	"path"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// Override replaces, in place, the positions (and what else the table gives:
// altitude, height, attitude, position error) of the photos by those of a
// table's rows. A photo without a position gets one.
//
// A row belongs to the photo of the same file name, without regard to case and
// to how letters with marks are spelt, and,
// where no photo has the row's extension, to that. Where several photos or rows
// have the name, the path has to tell them apart: the longest common end of
// both paths wins. It returns the names of the rows and of the photos that
// remain without a match, or without one alone; nothing is done with these.
func Override(photos []Photo, table []Photo) (unmatched, unnamed []string) {
	paths := make([][]string, len(photos))
	byName, byStem := map[string][]int{}, map[string][]int{}
	for i, p := range photos {
		paths[i] = elements(p.File)
		name := paths[i][len(paths[i])-1]
		byName[name] = append(byName[name], i)
		byStem[stem(name)] = append(byStem[stem(name)], i)
	}
	// Both sides have to choose each other.
	ofPhoto := make([]choice, len(photos))
	ofRow := make([]choice, len(table))
	for k, row := range table {
		full := elements(row.File)
		name := full[len(full)-1]
		candidates := byName[name]
		if candidates == nil {
			candidates = byStem[name]
		}
		if candidates == nil {
			candidates = byStem[stem(name)]
		}
		for _, i := range candidates {
			agreement := commonEnd(full, paths[i])
			ofRow[k].offer(i, agreement)
			ofPhoto[i].offer(k, agreement)
		}
	}
	matched := make([]bool, len(photos))
	for k, row := range table {
		i, ok := ofRow[k].taken()
		if ok {
			back, alone := ofPhoto[i].taken()
			ok = alone && back == k
		}
		if !ok {
			unmatched = append(unmatched, row.File)
			continue
		}
		matched[i] = true
		photos[i].correct(row)
	}
	for i, p := range photos {
		if !matched[i] {
			unnamed = append(unnamed, p.File)
		}
	}
	return unmatched, unnamed
}

// choice is the best of what was offered.
type choice struct {
	best, agreement int
	tied            bool
}

func (c *choice) offer(index, agreement int) {
	switch {
	case agreement > c.agreement:
		*c = choice{index, agreement, false}
	case agreement == c.agreement:
		c.tied = true
	}
}

func (c choice) taken() (index int, ok bool) { return c.best, c.agreement > 0 && !c.tied }

// elements splits a path of any system.
func elements(file string) []string {
	return strings.Split(strings.ToLower(path.Clean(strings.ReplaceAll(norm.NFC.String(file), `\`, "/"))), "/")
}

func stem(name string) string { return strings.TrimSuffix(name, path.Ext(name)) }

// commonEnd counts the elements that two paths end in alike, the file names
// taken as alike; a path that is the other throughout counts once more.
func commonEnd(a, b []string) int {
	n := 1
	for n < min(len(a), len(b)) && a[len(a)-1-n] == b[len(b)-1-n] {
		n++
	}
	if n == len(a) && n == len(b) {
		n++
	}
	return n
}

// correct takes over what a row of a table knows.
func (p *Photo) correct(row Photo) {
	p.Position, p.Sources.Position = row.Position, Corrected
	p.MapDatum = row.MapDatum
	// The receiver's own figures are those of the position that is replaced.
	p.PositionError, p.Sources.PositionError = row.PositionError, ifKnown(row.PositionError, Corrected)
	p.DOP = row.DOP
	for _, v := range []struct {
		to     *float64
		source *Source
		value  float64
	}{
		{&p.Altitude, &p.Sources.Altitude, row.Altitude},
		{&p.Height, &p.Sources.Height, row.Height},
		{&p.Yaw, &p.Sources.Yaw, row.Yaw},
		{&p.Pitch, &p.Sources.Pitch, row.Pitch},
		{&p.Roll, &p.Sources.Roll, row.Roll},
	} {
		if !math.IsNaN(v.value) {
			*v.to, *v.source = v.value, Corrected
		}
	}
	if p.Sources.Altitude == Corrected {
		p.AltitudeDatum = UnknownDatum
	}
}
