package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"selvage/boundary/finding"
	"selvage/coverage/photo"
	"selvage/report"
)

// take is the photos of a job as they were read.
type take struct {
	photos    []photo.Photo
	leftOut   []photo.LeftOut
	unlocated []unlocated
	unread    []photo.LeftOut // what the system did not let one read: folders, and photos that are in leftOut too
	repeated  int             // further ways to a photo that was read
	passed    finding.Text    // what was not looked into
	inputs    []report.Input
	findings  []finding.Finding
	suggested map[photo.Quantity]string // the properties that may hold a value
}

// unlocated is a photo that lacks nothing but a position, and why.
type unlocated struct {
	photo photo.Photo
	err   error
}

func (t *take) say(code finding.Code, severity finding.Severity, amount int, unit string, text finding.Text) {
	t.findings = append(t.findings, finding.Finding{
		Code: code, Severity: severity, Amount: float64(amount), Unit: unit, Text: text,
	})
}

// gather reads photos and tables, and puts together what is known of the
// photos. It writes nothing but its progress.
func (f *photoFlags) gather(ctx context.Context, t terminal, args []source) (*take, error) {
	table, err := f.corrections()
	if err != nil {
		return nil, err
	}
	found, err := find(ctx, args)
	if err != nil {
		return nil, err
	}
	if len(found.photos)+len(found.tables)+len(found.unread) == 0 {
		over := ""
		if passed := found.passedOver(); !passed.Empty() {
			over = fmt.Sprintf(" (passed over: %s)", passed)
		}
		return nil, fmt.Errorf("no %s photos in %s%s", photoFormats, strings.Join(paths(args), ", "), over)
	}
	if n, most := len(found.photos), f.limits.table.Rows; n > most {
		return nil, fmt.Errorf("there are %s, more than the limit of %d (--limit photos)", report.Count(n, "photo", "photos"), most)
	}
	progress, done := t.progress(len(found.photos))
	found.head = f.limits.head
	take, err := found.readPhotos(ctx, f.xmp.names, progress)
	done()
	if err != nil {
		return nil, err
	}
	take.passed = found.passedOver()
	take.tellUnread()
	if err := take.correct(table); err != nil {
		return nil, err
	}
	if err := found.readTables(take, f.limits.table); err != nil {
		return nil, err
	}
	take.tellProperties(f.xmp.names)
	take.suggest(found, f.xmp.names)
	f.turn(take)
	return take, nil
}

// corrected is a table of positions that replace those of the photos.
type corrected struct {
	name    string
	rows    []photo.Photo
	leftOut []photo.LeftOut
	input   report.Input
}

func (f *photoFlags) corrections() (*corrected, error) {
	if f.positions == "" {
		return nil, nil
	}
	c := &corrected{name: filepath.Base(f.positions)}
	var err error
	c.rows, c.leftOut, c.input, err = readTable(source{f.positions, c.name}, "corrected positions", f.limits.table)
	return c, err
}

// correct puts the positions of a table in the place of the photos' own. The
// photos that still have none are left out.
func (t *take) correct(c *corrected) error {
	located := len(t.photos)
	for _, u := range t.unlocated {
		t.photos = append(t.photos, u.photo)
	}
	if c != nil {
		if err := t.replace(c); err != nil {
			return err
		}
	}
	kept := t.photos[:0]
	for i, p := range t.photos {
		if i < located || p.Located() {
			kept = append(kept, p)
		} else {
			t.leftOut = append(t.leftOut, photo.LeftOut{File: p.File, Reason: finding.Plain(t.unlocated[i-located].err.Error())})
		}
	}
	clear(t.photos[len(kept):])
	t.photos, t.unlocated = kept, nil
	return nil
}

func (t *take) replace(c *corrected) error {
	all := len(t.photos)
	unmatched, unnamed := photo.Override(t.photos, c.rows)
	if all > 0 && len(unnamed) == all {
		return fmt.Errorf("%s names none of the photos; it has %s, the photos are %s", c.name, firstNames(unmatched), firstNames(unnamed))
	}
	t.inputs = append(t.inputs, c.input)
	t.say(finding.PositionsCorrected, finding.Note, all-len(unnamed), "photos", finding.Say("Positions of %s of %s are taken from %s.",
		finding.Whole(all-len(unnamed)), finding.Counted(all, "photo", "photos"), c.name))
	if n := len(unmatched) + len(c.leftOut); n > 0 {
		text := finding.Either(n == 1, finding.Say("1 row of %s is not used", c.name), finding.Say("%s rows of %s are not used", finding.Whole(n), c.name))
		if len(unmatched) > 0 {
			text = finding.Say("%s: no photo of such a name was read, or more than one (%s)", text, firstNames(unmatched))
		}
		if len(c.leftOut) > 0 {
			text = finding.Say("%s; %s unusable (%s, %s)", text, finding.Counted(len(c.leftOut), "row is", "rows are"), c.leftOut[0].File, c.leftOut[0].Reason)
		}
		t.say(finding.PositionsUnmatched, finding.Note, n, "rows", finding.Say("%s.", text))
	}
	if n := len(unnamed); n > 0 {
		t.say(finding.PositionsMissing, finding.NeedsAnswer, n, "photos", finding.Either(n == 1,
			finding.Say("%s does not name 1 photo, which keeps the position of its own (%s).", c.name, firstNames(unnamed)),
			finding.Say("%s does not name %s photos, which keep the position of their own (%s).", c.name, finding.Whole(n), firstNames(unnamed))))
	}
	return nil
}

// firstNames lists a few of many names.
func firstNames(names []string) finding.Text {
	const most = 3
	var shown []string
	for _, n := range names[:min(len(names), most)] {
		shown = append(shown, oneLine(n))
	}
	list := strings.Join(shown, ", ")
	if more := len(names) - most; more > 0 {
		return finding.Say("%s and %s more", list, finding.Whole(more))
	}
	return finding.Say("%s", list)
}

func (t *take) tellUnread() {
	n := len(t.unread)
	if n == 0 {
		return
	}
	var names []string
	for _, l := range t.unread {
		names = append(names, l.File+": "+l.Reason.String())
	}
	t.say(finding.PhotosUnreadable, finding.NeedsAnswer, n, "files or folders", finding.Either(n == 1,
		finding.Say("1 file or folder could not be read, and is left out (%s).", firstNames(names)),
		finding.Say("%s files or folders could not be read, and are left out (%s).", finding.Whole(n), firstNames(names))))
}
