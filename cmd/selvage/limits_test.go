package main

import (
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

func TestLimitFlag(t *testing.T) {
	l := usualLimits()
	for _, words := range []string{"size=250MB, vertices=3M", "POINTS=20k", "depth=200,record=1.5GB", "head=2.5MB"} {
		if err := l.Set(words); err != nil {
			t.Fatal(err)
		}
	}
	if s := l.shapes; s.Bytes != 250_000_000 || s.Vertices != 3_000_000 || s.Points != 20_000 || s.Depth != 200 || l.record != 1_500_000_000 || l.head != 2_500_000 {
		t.Errorf("set are %+v", l)
	}
	if usual := usualLimits(); l.shapes.UnzippedBytes != usual.shapes.UnzippedBytes || l.table != usual.table || l.terrain != usual.terrain {
		t.Errorf("others changed: %+v", l)
	}
	for words, want := range map[string]string{
		"":               "the limits are size, unzipped, depth",
		"weight=3":       "weight=3: the limits are size, unzipped, depth",
		"size":           "give it as in size=250MB",
		"size=200":       "size=200: give it as in size=250MB",
		"size=200m":      "give it as in",
		"vertices=2MB":   "vertices=2MB: give it as in vertices=3M",
		"vertices=-1":    "must lie between 1 and 2000M",
		"depth=20k":      "must lie between 1 and 10k",
		"photos=1e9":     "give it as in photos=1M",
		"head=3GB":       "must lie between 1 and 2GB",
		"table=99999 GB": "must lie between 1 and 1000GB",
	} {
		if err := l.Set(words); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", words, err, want)
		}
	}
}

// Each limit is in the help with what is usual.
func TestLimitHelp(t *testing.T) {
	flags := pflag.NewFlagSet("", pflag.ContinueOnError)
	usualLimits().define(flags)
	usage := flags.Lookup("limit").Usage
	for _, want := range []string{"size=100MB", "unzipped=300MB", "depth=100 ", "vertices=2M", "points=10k", "photos=1M", "table=200MB", "head=1MB", "heights=64M", "grid=2GB", "record=100MB"} {
		if !strings.Contains(usage, want) {
			t.Errorf("the help lacks %s: %s", want, usage)
		}
	}
}
