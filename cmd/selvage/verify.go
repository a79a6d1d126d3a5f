package main

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"selvage/report"
	"selvage/report/compare"
	"selvage/report/verify"
)

func verifyCommand() command {
	return command{
		name: "verify", summary: "recompute a coverage note from the files it names",
		arguments: "NOTE [flags]",
		about: `Recomputes the audit of a coverage note and says whether every figure comes out
again, or what differs. NOTE is its NAME-coverage.json, which tells the files
that were read by their SHA-256, and what was given. The files are looked for in
the folder of NOTE and in those named with --in, where they lay or by their
names, and the photos also with --photos; nothing is read from anywhere else.
Numbers count as equal up to one step of the last decimal that is written.
Exit status 1 says that a file or a figure differs, 2 that a file is missing.`,
		example: "selvage verify job/client-coverage.json --in .\n" +
			"selvage verify from-pilot/client-coverage.json --in boundaries --photos E:\\DCIM",
		define: func(flags *pflag.FlagSet) action {
			f := &verifyFlags{limits: usualLimits()}
			flags.StringArrayVar(&f.folders, "in", nil, "`folder` in which files of the audit are looked for; may be repeated")
			flags.StringArrayVar(&f.photos, "photos", nil, "`folder` of the photos; may be repeated, in the order in which the audit was given them")
			f.machine = jsonFlag(flags)
			f.limits.define(flags)
			return f.run
		},
	}
}

type verifyFlags struct {
	folders, photos []string
	machine         *bool
	limits          *limits
}

func (f *verifyFlags) run(t terminal, args []string) (int, error) {
	if len(args) != 1 {
		return 0, misuse("verify", "verify needs one note, the NAME-coverage.json that audit wrote")
	}
	v, err := f.verify(t, args[0])
	if err != nil {
		return 0, err
	}
	status := allWell
	if !v.Equal() {
		status = needsAnswer
	}
	if *f.machine {
		return status, v.WriteJSON(t.out)
	}
	return status, v.WriteText(t.out, t.style)
}

func (f *verifyFlags) verify(t terminal, note string) (*verify.Result, error) {
	data, err := readRecordFile(note, f.limits.record)
	if err != nil {
		return nil, err
	}
	record, err := compare.Read(note, data, sum(data))
	switch {
	case err != nil:
		return nil, err
	case record.Audit == nil:
		return nil, fmt.Errorf("%s is a plan; give the NAME-coverage.json of an audit", record.Name)
	case record.Audit.Command == nil:
		return nil, fmt.Errorf("%s does not tell what the audit was given: an older version wrote it, or it was changed; do the audit again as the note tells, and hold the two together with selvage compare", record.Name)
	}
	places, err := f.places(note)
	if err != nil {
		return nil, err
	}
	again, args, err := places.audit(record)
	if err != nil {
		return nil, err
	}
	*again.photos.limits = *f.limits
	r, err := again.measure(t, args)
	if err != nil {
		_, broken := err.(stopped)
		if changed := places.changed(record.Audit.Inputs); !broken && len(changed) > 0 {
			return nil, fmt.Errorf("%s, and the audit cannot be run any more: %w", strings.Join(changed, "; "), err)
		}
		return nil, err
	}
	for i, p := range r.parts {
		if p.number != record.Audit.Command.Sensor {
			continue
		}
		var recomputed bytes.Buffer
		if err := report.WriteJSON(&recomputed, *r.notes[i]); err != nil {
			return nil, err
		}
		v, err := verify.Run(record, recomputed.Bytes())
		if err == nil {
			places.checkClient(v)
		}
		return v, err
	}
	sensor := func(n int) string {
		if n == 0 {
			return "of one sensor"
		}
		return fmt.Sprintf("of sensor %d of several", n)
	}
	return nil, fmt.Errorf("the note is %s, and the photos are now %s", sensor(record.Audit.Command.Sensor), sensor(r.parts[0].number))
}

// audit sets the flags as they were given, with the files where they are now.
func (l *places) audit(record *compare.Record) (*auditFlags, []source, error) {
	flags := pflag.NewFlagSet("audit", pflag.ContinueOnError)
	f := newAudit(flags)
	f.out.unasked = true
	c := record.Audit.Command
	for _, given := range c.Flags {
		flag := flags.Lookup(given.Name)
		if flag == nil || outputFlags[given.Name] {
			return nil, nil, fmt.Errorf("%s: the audit was given --%s, which this version (%s) does not know", record.Name, oneLine(given.Name), version)
		}
		value := given.Value
		if pathFlags[given.Name] {
			value = l.file(value, record.Audit.Inputs)
		}
		if err := setAsGiven(flags)(flag, value); err != nil {
			return nil, nil, fmt.Errorf("%s: the audit was given --%s %w", record.Name, given.Name, errors.Unwrap(err))
		}
	}
	args := l.arguments(c.Arguments, record.Audit.Inputs)
	return f, args, l.fault()
}

// checkClient looks at the client's file behind a job record, where it lies in
// one of the folders.
func (l *places) checkClient(v *verify.Result) {
	for i, in := range v.Inputs {
		if in.Role != clientOfJob {
			continue
		}
		if where, hash := l.best(in.Name, []report.Input{{Name: in.Name, SHA256: in.Recorded}}); where != "" {
			v.Inputs[i].Found = hash
		}
	}
}
