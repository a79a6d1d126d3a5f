package main

import (
	"fmt"
	"math"

	"github.com/spf13/pflag"

	"selvage/boundary/finding"
	"selvage/coverage"
)

// reflyFlags say how areas to fly again are drawn.
type reflyFlags struct {
	buffer      reflyBuffer
	maxVertices int
}

func defineRefly(flags *pflag.FlagSet) *reflyFlags {
	f := &reflyFlags{buffer: reflyBuffer{length: zeroOrMore(0), auto: true}}
	flags.Var(&f.buffer, "refly-buffer", "how far areas to fly again reach past their zones, as in 20m; auto is as far as it takes to close them")
	flags.IntVar(&f.maxVertices, "max-vertices", 200, "`number` of vertices that an area to fly again may have; 200 is common practice, 0 is as many as it takes")
	return f
}

func (f *reflyFlags) check() error {
	if f.maxVertices != 0 && (f.maxVertices < 4 || f.maxVertices > mostVertices) {
		return fmt.Errorf("--max-vertices %d: give a number from 4 to %d, or 0 for as many as it takes", f.maxVertices, mostVertices)
	}
	return nil
}

// apply brings the settings and the keep-out areas to a job.
func (f *reflyFlags) apply(job *coverage.Job, g *ground) {
	job.KeepOut, job.MaxVertices, job.ReflyBuffer = g.keepOut, f.maxVertices, f.buffer.metres
	if f.buffer.auto {
		job.ReflyBuffer = math.NaN()
	}
}

// parameter puts the buffer into words.
func (f *reflyFlags) parameter() finding.Text {
	if f.buffer.auto {
		return finding.Say("as far as it takes")
	}
	return finding.Say("%s", finding.Length(f.buffer.metres))
}

// reflyBuffer is a flag for a length, or the word auto.
type reflyBuffer struct {
	length
	auto bool
}

func (b *reflyBuffer) Set(s string) error {
	if b.auto = s == "auto"; b.auto {
		return nil
	}
	return b.length.Set(s)
}

func (b *reflyBuffer) Type() string { return "length|auto" }

func (b *reflyBuffer) String() string {
	if b.auto {
		return "auto"
	}
	return b.length.String()
}
