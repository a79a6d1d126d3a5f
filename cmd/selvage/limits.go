package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"selvage/boundary"
	"selvage/coverage/photo"
	"selvage/coverage/terrain"
)

// limits bound what is read, so that no file takes up the memory or the time of
// who reads it. A message that a limit was met names it as --limit does.
type limits struct {
	shapes  boundary.Limits
	table   photo.TableLimits
	terrain terrain.Limits
	head    int   // bytes of a photo beyond its first part
	record  int64 // bytes of the JSON of an audit or a plan
	memory  int64 // bytes
}

func usualLimits() *limits {
	return &limits{boundary.DefaultLimits, photo.DefaultTableLimits, terrain.DefaultLimits, photo.UsualHead, 100_000_000, usualMemory}
}

// limit is one of them by its name.
type limit struct {
	name, what string
	units      []unit
	most       float64
	get        func() float64
	set        func(float64)
}

var (
	byteUnits  = []unit{{"bytes", 1}, {"kB", 1e3}, {"MB", 1e6}, {"GB", 1e9}}
	countUnits = []unit{{"", 1}, {"k", 1e3}, {"M", 1e6}}
)

func countLimit(name string, value *int, most float64, what string) limit {
	return limit{name, what, countUnits, most, func() float64 { return float64(*value) }, func(x float64) { *value = int(x) }}
}

func sizeLimit[T int | int64](name string, value *T, most float64, what string) limit {
	return limit{name, what, byteUnits, most, func() float64 { return float64(*value) }, func(x float64) { *value = T(x) }}
}

func (l *limits) all() []limit {
	const many, deep, large = 2e9, 10_000, 1e12 // many and deep are what fits an int of 32 bits, and the stack
	return []limit{
		sizeLimit("size", &l.shapes.Bytes, large, "a file with shapes, or a job record"),
		sizeLimit("unzipped", &l.shapes.UnzippedBytes, large, "what an archive holds"),
		countLimit("depth", &l.shapes.Depth, deep, "elements or lists inside one another"),
		countLimit("vertices", &l.shapes.Vertices, many, "vertices of a file"),
		countLimit("crossings", &l.shapes.Crossings, many, "places where the sides of a file cross or crowd each other"),
		countLimit("points", &l.shapes.Points, many, "points of a file"),
		countLimit("photos", &l.table.Rows, many, "photos, or rows of a positions table"),
		sizeLimit("table", &l.table.Bytes, large, "a positions table"),
		sizeLimit("head", &l.head, many, "what is read of a photo beyond its first 64 KiB"),
		countLimit("heights", &l.terrain.Cells, many, "heights of the terrain around the site"),
		sizeLimit("grid", &l.terrain.Bytes, large, "a terrain file that is text"),
		sizeLimit("record", &l.record, large, "the figures, or the shapes, of an audit"),
		sizeLimit("memory", &l.memory, large, "what all of it may take"),
	}
}

// define adds the flag.
func (l *limits) define(flags *pflag.FlagSet) {
	var list []string
	for _, one := range l.all() {
		list = append(list, fmt.Sprintf("%s=%s (%s)", one.name, one.amount(one.get()), one.what))
	}
	flags.Var(l, "limit", "read more or less than usual, as in size=200MB,vertices=3M; may be repeated; usual are "+strings.Join(list, ", "))
}

// amount is a number in the largest unit that keeps it whole.
func (l limit) amount(x float64) string {
	for _, u := range slices.Backward(l.units) {
		if n := x / u.size; n == math.Trunc(n) {
			return strconv.FormatFloat(n, 'f', -1, 64) + u.word
		}
	}
	return fmt.Sprint(x)
}

// Set takes a list such as size=200MB,vertices=3M.
func (l *limits) Set(s string) error {
	all := l.all()
	for _, word := range strings.Split(s, ",") {
		name, value, _ := strings.Cut(word, "=")
		i := slices.IndexFunc(all, func(k limit) bool { return strings.EqualFold(k.name, strings.TrimSpace(name)) })
		if i < 0 {
			var names []string
			for _, k := range all {
				names = append(names, k.name)
			}
			return fmt.Errorf("%s: the limits are %s, as in size=200MB", word, strings.Join(names, ", "))
		}
		if err := all[i].parse(value); err != nil {
			return err
		}
	}
	return nil
}

func (l limit) parse(s string) error {
	match, k := quantity.FindStringSubmatch(strings.TrimSpace(s)), -1
	if match != nil {
		k = slices.IndexFunc(l.units, func(u unit) bool { return strings.EqualFold(u.word, match[2]) })
	}
	if k < 0 {
		return fmt.Errorf("%s=%s: give it as in %s=%s", l.name, s, l.name, l.amount(l.get()))
	}
	x, err := strconv.ParseFloat(match[1], 64)
	if x *= l.units[k].size; err != nil || !(x >= 1 && x <= l.most) {
		return fmt.Errorf("%s=%s: it must lie between 1 and %s", l.name, s, l.amount(l.most))
	}
	l.set(x)
	return nil
}

func (l *limits) Type() string { return "name=value" }

func (l *limits) String() string { return "" }
